//! Whether a circuit's RCD is of the kind that its use asks for.

use super::{has_last_word, raise_at_rcd};
use crate::finding::Grade;
use crate::record::{DcDetection, Premises, RcdType, Use};
use crate::rules::view::CircuitView;
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::{DeviceStandard, Edition, rcd};

pub(super) const TYPE_AC: Rule = Rule {
    id: "ev-rcd-type-ac",
    family: Family::Rcds,
    grade: Grade::Danger,
    title: "The RCD of a charging circuit is of type AC",
    looks_at: "`rcd.type: AC` on circuits used for vehicles. Quiet for visits judged by an edition before 2018, and where a later visit \
               records another RCD.",
    why: "A vehicle's charger can leak pulsating and smooth direct current, and a type AC device may never open on it.",
    sources: &["BS 7671:2018+A1:2020 722.531.3.101"],
    bad: Example::Keys("circuits: [{id: main/1, rcd: {type: AC}}]"),
    good: Example::Keys("circuits: [{id: main/1, rcd: {type: F}}]"),
    cure: "Keep the point switched off until it has a type A, F or B device of 30 mA or less of its own.",
    check: Check::Circuit(check_type_ac),
};

pub(super) const OVER_30_MA: Rule = Rule {
    id: "rcd-over-30-ma",
    family: Family::Rcds,
    grade: Grade::Danger,
    title: "A charging or socket-outlet circuit has an RCD of more than 30 mA",
    looks_at: "`rcd.trip_ma` over 30 on circuits used for vehicles, on rings, and on socket circuits up to 32 A, from the 2018 edition on. \
               A question for sockets outside dwellings, where a risk assessment may allow it, and for those of an older installation.",
    why: "A device of 100 mA guards against fire. It does not open for a shock.",
    sources: &["BS 7671:2018 411.3.3", "BS 7671:2018+A1:2020 722.531.3.101"],
    bad: Example::Keys("circuits: [{id: main/1, rcd: {trip_ma: 100}}]"),
    good: Example::Keys("circuits: [{id: main/2, rcd: {trip_ma: 100}}]"),
    cure: "Fit a device of 30 mA or less for this circuit, and keep it off until then.",
    check: Check::Circuit(check_over_30),
};

pub(super) const NO_DC_DETECTION: Rule = Rule {
    id: "ev-dc-not-detected",
    family: Family::Rcds,
    grade: Grade::Danger,
    title: "Nothing opens on smooth d.c. from the vehicle",
    looks_at: "Mode 3 circuits with an RCD of type A or F: `ev.dc_detection: none`, or `in-unit` where the model register says the unit has \
               none. A breach where `type-b` is written and the RCD is not. Quiet for a 13 A outlet, and before the 2018 edition.",
    why: "More than 6 mA of smooth d.c. can blind a type A or F device, and then it opens for nothing.",
    sources: &["BS 7671:2018+A1:2020 722.531.3.101", "BS IEC 62955:2018 (6 mA)"],
    bad: Example::Keys("circuits: [{id: main/1, ev: {dc_detection: none}, readings: {rcd_dc_ms: ~}}]"),
    good: Example::Keys("circuits: [{id: main/1, ev: {dc_detection: separate}}]"),
    cure: "Keep the point off until it has a type B RCD, or a type A or F with a device that opens at 6 mA d.c.",
    check: Check::Circuit(check_dc),
};

pub(super) const NOT_ALL_POLES: Rule = Rule {
    id: "ev-rcd-leaves-a-pole",
    family: Family::Rcds,
    grade: Grade::Breach,
    title: "The RCD of a charging circuit does not open every live conductor",
    looks_at: "A breaker with residual element (BS EN 61009-1) with `ocpd.poles: 1` on a circuit for vehicles. Quiet where the RCD is \
               another device than the breaker, and before the 2018 edition.",
    why: "With the neutral left in, a fault between neutral and earth goes on feeding the vehicle's body.",
    sources: &["BS 7671:2018+A1:2020 722.531.3.101"],
    bad: Example::Keys("circuits: [{id: main/1, ocpd: {poles: 1}}]"),
    good: Example::Keys(
        "circuits: [{id: main/1, ocpd: {standard: BS EN 60898, poles: 1}, rcd: {standard: BS EN 61008-1, device: point-rccb}}]",
    ),
    cure: "Fit a device that opens line and neutral; if it does, write `poles: 2`.",
    check: Check::Circuit(check_poles),
};

pub(super) const TYPE_AC_ON_NEW_WORK: Rule = Rule {
    id: "rcd-type-ac-on-new-work",
    family: Family::Rcds,
    grade: Grade::Breach,
    title: "A new circuit has an RCD of type AC where its load may leak direct current",
    looks_at: "`rcd.type: AC` on new circuits judged by A2:2022 or later. A question for lighting and sub-mains. Quiet for heating and one \
               item of fixed equipment, where the load can be known to have no d.c. part, and for existing circuits.",
    why: "Nobody knows what will be plugged in, and most of it now has electronics.",
    sources: &["BS 7671:2018+A2:2022 531.3.3"],
    bad: Example::Keys("circuits: [{id: main/2, rcd: {type: AC}}]"),
    good: Example::Keys("circuits: [{id: main/2, use: fixed, rcd: {type: AC}}]"),
    cure: "Fit type A; or answer with the load and its maker's word that it has no d.c. part.",
    check: Check::Circuit(check_new_type_ac),
};

fn is_since(circuit: CircuitView<'_>, edition: Edition) -> bool {
    circuit.job.edition().is_some_and(|cited| cited >= edition)
}

/// Whether the circuit charges vehicles, this visit has the last word on it, and the 2018 edition or a later one judges it.
fn is_judged_charging(circuit: CircuitView<'_>) -> bool {
    circuit.usage() == Some(Use::Ev) && has_last_word(circuit) && is_since(circuit, Edition::Y2018)
}

fn check_type_ac(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(rcd) = circuit.rcd().filter(|rcd| rcd.value.kind == Some(RcdType::Ac) && is_judged_charging(circuit)) else { return };
    let message = "the RCD of this charging circuit is of type AC; it has to be type A, F or B".to_owned();
    raise_at_rcd(circuit, rcd, "type", message, report).label("type AC").source("BS 7671:2018+A1:2020 722.531.3.101");
}

fn check_over_30(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if !has_last_word(circuit) || !is_since(circuit, Edition::Y2018) {
        return;
    }
    let Some(edition) = circuit.job.edition() else { return };
    let Some(most) = rcd::additional_protection(edition) else { return };
    let Some((rcd, trip)) = circuit.rcd().and_then(|rcd| Some((rcd, rcd.value.trip_ma.filter(|trip| **trip > most.value)?))) else {
        return;
    };
    let rating = circuit.ocpd().and_then(|ocpd| ocpd.value.rating_a);
    let small = rating.zip(rcd::sockets_up_to(edition)).is_some_and(|(rating, most)| *rating <= most.value);
    let (what, source, grade) = match circuit.usage() {
        Some(Use::Ev) => ("charging circuit", "BS 7671:2018+A1:2020 722.531.3.101", Grade::Danger),
        Some(Use::Ring | Use::Sockets) if small => {
            let premises = circuit.site().site().and_then(|site| site.premises);
            let home = matches!(premises, Some(Premises::Dwelling | Premises::DwellingLet | Premises::Hmo));
            let grade = if home && circuit.is_new() { Grade::Danger } else { Grade::Doubt };
            ("socket-outlet circuit", "BS 7671:2018 411.3.3", grade)
        }
        _ => return,
    };
    let message = match grade {
        Grade::Doubt => format!("the only RCD recorded for this {what} is of {trip} mA: is there another of 30 mA or less?"),
        _ => format!("the RCD of this {what} is of {trip} mA; it has to be 30 mA or less"),
    };
    let finding = raise_at_rcd(circuit, rcd, "trip_ma", message, report);
    finding.grade(grade).label("over 30 mA").source(source);
    if grade == Grade::Doubt {
        finding.help("Fit one of 30 mA or less; outside a dwelling a written risk assessment may stand for it: answer with it.");
    }
}

fn check_dc(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let is_fooled = |kind| matches!(kind, Some(RcdType::A | RcdType::F));
    let Some(rcd) = circuit.rcd().filter(|rcd| is_fooled(rcd.value.kind) && is_judged_charging(circuit)) else { return };
    // A 13 A outlet is no connector of BS EN 62196, and a mode 4 point has its own separation.
    let Some(ev) = circuit.ev().filter(|ev| ev.value.mode.is_none_or(|mode| *mode == 3)) else { return };
    let kind = rcd.value.kind.map_or("", RcdType::as_str);
    let register = circuit.unit_model().filter(|model| model.data.dc_detection == Some(false));
    let (message, grade) = match (ev.value.dc_detection, register) {
        (Some(DcDetection::None), _) => (format!("type {kind} RCD, and nothing detects 6 mA d.c."), Grade::Danger),
        (Some(DcDetection::InUnit), Some(_)) => {
            (format!("type {kind} RCD, and the model register says that this unit detects no d.c."), Grade::Danger)
        }
        (Some(DcDetection::TypeB), _) => {
            (format!("d.c. detection is said to be by a type B RCD, and the RCD is of type {kind}"), Grade::Breach)
        }
        _ => return,
    };
    let older = ev.is_older_than(circuit.job);
    let at = ev.place_of(circuit.site(), "dc_detection");
    let finding = report.raise(if older { circuit.place() } else { at.clone() }, message);
    finding.grade(grade).label("d.c. detection").source("BS 7671:2018+A1:2020 722.531.3.101");
    finding.because(rcd.place_of(circuit.site(), "type"), "this RCD");
    if older {
        finding.because(at, "recorded at an earlier visit");
    }
    if let Some(model) = register {
        finding.because(crate::finding::Place::at(&model.source, crate::path!["dc_detection"]), "said of the model");
    }
    if grade == Grade::Breach {
        finding
            .help("Read the type off the device and put the record right. If it is type A or F and the unit detects no d.c., keep it off.");
    }
}

fn check_poles(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(ocpd) = circuit.ocpd().filter(|_| is_judged_charging(circuit)) else { return };
    let is_combined = |standard: &Option<String>| standard.as_deref().and_then(DeviceStandard::parse) == Some(DeviceStandard::Bs61009);
    let one_device = is_combined(&ocpd.value.standard) && circuit.rcd().is_none_or(|rcd| is_combined(&rcd.value.standard));
    if !one_device || ocpd.value.poles.is_none_or(|poles| *poles != 1) {
        return;
    }
    let place = if ocpd.is_older_than(circuit.job) { circuit.place() } else { ocpd.place_of(circuit.site(), "poles") };
    let finding = report.raise(place, "the device of this charging circuit opens one pole; it has to open every live conductor");
    finding.label("one pole").source("BS 7671:2018+A1:2020 722.531.3.101");
}

fn check_new_type_ac(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if !circuit.is_new() || !has_last_word(circuit) || !is_since(circuit, Edition::A2Y2022) {
        return;
    }
    let Some(rcd) = circuit.rcd().filter(|rcd| rcd.value.kind == Some(RcdType::Ac)) else { return };
    let (message, grade) = match circuit.usage() {
        Some(Use::Ring | Use::Sockets) => ("type AC on a new socket-outlet circuit; what is plugged in may leak d.c.", Grade::Breach),
        Some(Use::Lighting | Use::SubMain | Use::Other) => {
            ("type AC on a new circuit: is every load on it known to leak no d.c.? Most electronics do.", Grade::Doubt)
        }
        _ => return,
    };
    let finding = raise_at_rcd(circuit, rcd, "type", message.to_owned(), report);
    finding.grade(grade).label("type AC").source("BS 7671:2018+A2:2022 531.3.3");
}
