//! Charging circuits: earthing measure, d.c. detection, load limiting, statements and labels. What is merely not recorded is told in
//! [`super::missing`]; here is what cannot be, or must not be.

use super::view::CircuitView;
use super::words::says;
use super::{Check, Example, Family, Report, Rule};
use crate::finding::Grade;
use crate::path;
use crate::record::{Earthing, Ev, EvPlace, Export, JobKind, OpenPen, Status, Use};
use crate::tables::{self, Edition};

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &OPEN_PEN_UNPROTECTED,
    &OPEN_PEN_NOT_IN_MODEL,
    &OPEN_PEN_CANNOT_APPLY,
    &OPEN_PEN_VOLTAGE_TOO_HIGH,
    &EARTHS_WITHIN_REACH,
    &SET_OVER_DEVICE,
    &DEVICE_OVER_MODEL,
    &LOAD_LIMIT_OVER_CUTOUT,
    &OUTLET_NOT_MARKED,
    &CHARGING_SHARES_CIRCUIT,
    &CHARGING_MODE_1,
    &FEED_BACK_NOT_PROVIDED_FOR,
];

const REG_722_411: &str = "BS 7671:2018+A2:2022 Reg 722.411.4.1; the wording of A4:2026 was not seen";

const OPEN_PEN_UNPROTECTED: Rule = Rule {
    id: "open-pen-unprotected",
    family: Family::Ev,
    grade: Grade::Danger,
    title: "A vehicle is charged on a PME earth with no measure against a broken PEN conductor",
    looks_at: "Charging circuits on TN-C-S with no `open_pen`, at the visit that installed them, altered them or reported on them, since the \
               2018 edition: a danger with `place: outdoor`; with `place: indoor` a question, since a lead may reach a vehicle outdoors. \
               Quiet indoors with the reason in `open_pen_why`, on TT, and where any measure is named; whether it can apply is another rule's.",
    why: "With the supply's PEN conductor broken the vehicle's body is at a dangerous voltage against the ground that its user stands on.",
    sources: &["BS 7671:2018+A1:2020 and +A2:2022 Reg 722.411.4.1"],
    bad: Example::Keys("circuits: [{id: main/1, ev: {open_pen: ~, pen_statement: ~}}]"),
    good: Example::Keys(
        "circuits: [{id: main/1, ev: {open_pen: not-needed, open_pen_why: lead ends inside the garage, pen_statement: ~, place: indoor}}]",
    ),
    cure: "Do not let it be used until one of the measures of 722.411.4.1 (i) to (v), a TT earth or separation is there; then write `open_pen`.",
    check: Check::Circuit(check_unprotected),
};

const OPEN_PEN_NOT_IN_MODEL: Rule = Rule {
    id: "open-pen-not-in-model",
    family: Family::Ev,
    grade: Grade::Danger,
    title: "A measure against a broken PEN conductor is claimed that the unit's model does not have",
    looks_at: "`open_pen: iii`, `iv` or `v` on a point whose model is in the register without that measure. Quiet where `pen_statement` names another document.",
    why: "The circuit relies on a device that is not there.",
    sources: &["BS 7671:2018+A2:2022 Reg 722.411.4.1 (iii) to (v)", "common practice: the maker's declaration names the indent"],
    bad: Example::Keys("circuits: [{id: main/1, ev: {pen_statement: ~}}]\nmodels/plover-7.md: {open_pen: [v]}"),
    good: Example::Keys("models/plover-7.md: {open_pen: [v]}"),
    cure: "Read the maker's declaration: correct the register if the unit has it; otherwise fit a device and do not let the point be used meanwhile.",
    check: Check::Circuit(check_model),
};

const OPEN_PEN_CANNOT_APPLY: Rule = Rule {
    id: "open-pen-cannot-apply",
    family: Family::Ev,
    grade: Grade::Breach,
    title: "A measure against a broken PEN conductor is named that cannot work on this supply",
    looks_at: "`open_pen: i` on a single-phase supply, and `open_pen: iv` on a three-phase one.",
    why: "Balance needs three phases; and a single-phase voltage window on a three-phase supply can stay within its limits while the earth is live.",
    sources: &["BS 7671:2018+A2:2022 Reg 722.411.4.1 (i) and (iv) with Annex A722"],
    bad: Example::Keys("circuits: [{id: main/1, ev: {open_pen: i, pen_calc_v: 40}}]"),
    good: Example::Keys("circuits: [{id: main/1, ev: {open_pen: v}}]"),
    cure: "Choose a measure that fits the supply, and prove it before the point is used.",
    check: Check::Circuit(check_applies),
};

const OPEN_PEN_VOLTAGE_TOO_HIGH: Rule = Rule {
    id: "open-pen-voltage-too-high",
    family: Family::Ev,
    grade: Grade::Danger,
    title: "The calculated voltage with the PEN conductor broken is over the limit",
    looks_at: "`pen_calc_v` under indents (i) and (ii).",
    why: "The calculation says that the measure does not hold the vehicle's body down.",
    sources: &["BS 7671:2018+A1:2020 Reg 722.411.4.1 (i), (ii) and Annex A722: 70 V"],
    bad: Example::Keys(
        "{circuits: [{id: main/1, ev: {open_pen: ii, pen_calc_v: 82}}], supply: {electrode_ohm: 2.8, electrode_by: three-terminal}}",
    ),
    good: Example::Keys(
        "{circuits: [{id: main/1, ev: {open_pen: ii, pen_calc_v: 70}}], supply: {electrode_ohm: 2.4, electrode_by: three-terminal}}",
    ),
    cure: "Lower the electrode's resistance or choose another measure; do not let the point be used meanwhile.",
    check: Check::Circuit(check_voltage),
};

const EARTHS_WITHIN_REACH: Rule = Rule {
    id: "earths-within-reach",
    family: Family::Ev,
    grade: Grade::Danger,
    title: "Metal on a TT earth and metal on the supply's earth can be touched together",
    looks_at: "`earths_apart_m` of a point with `open_pen: tt` on a TN site. A breach, not a danger, where `open_pen_why` says what keeps the \
               two from being touched together.",
    why: "Somebody between them bridges two earths that may be far apart in voltage.",
    sources: &["BS 7671:2018+A2:2022 Reg 411.3.1.1; 2.5 m is the working rule (common practice)"],
    bad: Example::Keys(
        "{circuits: [{id: main/1, ev: {open_pen: tt, pen_statement: ~, earths_apart_m: 1.8}, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 60}}], supply: {electrode_ohm: 59, electrode_by: three-terminal}}",
    ),
    good: Example::Keys(
        "{circuits: [{id: main/1, ev: {open_pen: tt, pen_statement: ~, earths_apart_m: 2.5}, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 60}}], supply: {electrode_ohm: 59, electrode_by: three-terminal}}",
    ),
    cure: "Move one of them and measure again, or choose another measure; if a barrier of insulation stands between, say so in `open_pen_why`.",
    check: Check::Circuit(check_reach),
};

const SET_OVER_DEVICE: Rule = Rule {
    id: "set-over-device",
    family: Family::Ev,
    grade: Grade::Danger,
    title: "A point is set to more current than its protective device is rated for",
    looks_at: "`set_a` against the rating of the circuit's overcurrent device.",
    why: "The load runs for hours: the device and its terminals overheat before it trips.",
    sources: &["BS 7671:2018+A2:2022 Reg 433.1.1"],
    bad: Example::Keys("circuits: [{id: main/1, ocpd: {rating_a: 20}, design_a: 20}]"),
    good: Example::Keys("circuits: [{id: main/1, ocpd: {rating_a: 32}}]"),
    cure: "Set the point down today, or put in the device and the cable that it needs.",
    check: Check::Circuit(check_setting),
};

const DEVICE_OVER_MODEL: Rule = Rule {
    id: "device-over-model",
    family: Family::Ev,
    grade: Grade::Breach,
    title: "The overcurrent device is larger than the point's maker allows",
    looks_at: "The device's rating against `max_ocpd_a` of the unit's model.",
    why: "The unit's own conductors are protected by that device and no other.",
    sources: &["BS 7671:2018+A2:2022 Reg 134.1.1: the maker's instructions"],
    bad: Example::Keys("models/plover-7.md: {max_ocpd_a: 32}"),
    good: Example::Keys("models/plover-7.md: {max_ocpd_a: 40}"),
    cure: "Fit the largest device that the maker allows and that still carries the load.",
    check: Check::Circuit(check_model_device),
};

const LOAD_LIMIT_OVER_CUTOUT: Rule = Rule {
    id: "load-limit-over-cutout",
    family: Family::Ev,
    grade: Grade::Danger,
    title: "Load limiting is set above the cut-out",
    looks_at: "`load_limit.limit_a` against the rating of the site's cut-out.",
    why: "The limiter then limits nothing that matters: the service fuse and what feeds it overheat first.",
    sources: &["BS 7671:2018+A2:2022 Reg 311.1 and 722.311.201"],
    bad: Example::Keys("circuits: [{id: main/1, ev: {load_limit: {limit_a: 100}}}]"),
    good: Example::Keys("circuits: [{id: main/1, ev: {load_limit: {limit_a: 80}}}]"),
    cure: "Set the limit at or below the cut-out's rating and prove it again.",
    check: Check::Circuit(check_limit),
};

const OUTLET_NOT_MARKED: Rule = Rule {
    id: "outlet-not-marked",
    family: Family::Ev,
    grade: Grade::Breach,
    title: "A 13 A outlet for charging is not of the kind marked for it",
    looks_at: "Charging circuits in mode 2 without `outlet_marked_ev: true`.",
    why: "An ordinary socket-outlet is not made for hours of full load; plugs and outlets have melted.",
    sources: &[
        "BS 7671:2018+A2:2022 Reg 722.55.101; BS 1363-2:2016, the EV marking on the back",
        "common practice: about 10 A for hours of load",
    ],
    bad: Example::Keys(
        "circuits: [{id: main/1, ev: {mode: 2, dc_detection: ~, outlet_marked_ev: false}, readings: {rcd_dc_ms: ~, pilot: ~}}]",
    ),
    good: Example::Keys(
        "circuits: [{id: main/1, ev: {mode: 2, dc_detection: ~, outlet_marked_ev: true}, readings: {rcd_dc_ms: ~, pilot: ~}}]",
    ),
    cure: "Fit an outlet with the marking, and photograph it before it is screwed back; until then, charging from it only attended and at no more than 10 A, in writing.",
    check: Check::Circuit(check_outlet),
};

const CHARGING_SHARES_CIRCUIT: Rule = Rule {
    id: "charging-shares-circuit",
    family: Family::Ev,
    grade: Grade::Doubt,
    title: "A vehicle is charged from a circuit that feeds other outlets",
    looks_at: "Rings and socket circuits that carry an `ev` entry.",
    why: "Each point has a final circuit of its own; a ring that charges a car all night has little left for the house.",
    sources: &["BS 7671:2018+A2:2022 Section 722: a dedicated final circuit; the number of the regulation was not confirmed"],
    bad: Example::Keys(
        "circuits: [{id: main/1, use: sockets, ev: {mode: 2, dc_detection: ~, outlet_marked_ev: true}, readings: {rcd_dc_ms: ~, pilot: ~}}]",
    ),
    good: Example::Keys("circuits: [{id: main/1, use: sockets, ev: ~, readings: {rcd_dc_ms: ~, pilot: ~}}]"),
    cure: "Give the point its own circuit, or put the advice in writing and answer this with it.",
    check: Check::Circuit(check_shared),
};

const CHARGING_MODE_1: Rule = Rule {
    id: "charging-mode-1",
    family: Family::Ev,
    grade: Grade::Breach,
    title: "A vehicle is charged in mode 1",
    looks_at: "`mode: 1`.",
    why: "Mode 1 has neither a control pilot nor a device in the lead; it is not for use here.",
    sources: &["BS EN 61851-1 (the modes)", "common practice: mode 1 is not used in the UK"],
    bad: Example::Keys("circuits: [{id: main/1, ev: {mode: 1, dc_detection: ~}, readings: {rcd_dc_ms: ~, pilot: ~}}]"),
    good: Example::Keys("circuits: [{id: main/1, ev: {mode: 3}}]"),
    cure: "Advise in writing that it stop, and offer a point in mode 3 or an outlet marked for mode 2.",
    check: Check::Circuit(check_mode),
};

const FEED_BACK_NOT_PROVIDED_FOR: Rule = Rule {
    id: "feed-back-not-provided-for",
    family: Family::Ev,
    grade: Grade::Breach,
    title: "A point that can feed back has a device for one direction, or no word to the network operator",
    looks_at: "Points whose model is `bidirectional`: `two_way` of the device and `export`. A danger where the device is recorded as one for \
               one direction. Quiet for a model that cannot feed back, and with `export: none`.",
    why: "A device marked for one direction may not clear a fault fed from its other side, and the network must know of every source.",
    sources: &["BS 7671:2018+A3:2024 Reg 530.3.201", "ENA Engineering Recommendations G98 and G99"],
    bad: Example::Keys("models/plover-7.md: {bidirectional: true}\ncircuits: [{id: main/1, ev: {export: g98}}]"),
    good: Example::Keys("models/plover-7.md: {bidirectional: true}\ncircuits: [{id: main/1, ocpd: {two_way: true}, ev: {export: g98}}]"),
    cure: "Fit a device that may be fed from either side (`two_way: true`), and notify or apply under G98 or G99 (`export`).",
    check: Check::Circuit(check_feed_back),
};

/// The charging facts of a circuit that this visit answers for: it installed them, states them anew, or reports on the circuit.
fn charging(circuit: CircuitView<'_>) -> Option<&Ev> {
    let job = circuit.job;
    let happened = !matches!(job.data().status, None | Some(Status::Planned | Status::OnHold));
    let answers = circuit.is_new() || circuit.circuit.ev.is_some() || job.is_kind(&[JobKind::Inspect]);
    circuit.ev().filter(|_| happened && answers).map(|ev| ev.value)
}

fn is_tn(earthing: Option<Earthing>) -> bool {
    matches!(earthing, Some(Earthing::TnS | Earthing::TnCS))
}

fn check_unprotected(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(ev) = charging(circuit) else { return };
    let current = circuit.job.edition().is_some_and(|edition| edition >= Edition::Y2018);
    let pme = circuit.site().earthing() == Some(Earthing::TnCS);
    if ev.open_pen.is_some() || !pme || !current {
        return;
    }
    let place = circuit.job.place(circuit.path().at("ev").at("open_pen"));
    if ev.place == Some(EvPlace::Indoor) && !says(&ev.open_pen_why) {
        let finding = report.raise(
            place,
            "indoors on a PME earth, and no measure against a broken PEN conductor is named: can the lead reach a vehicle outdoors?",
        );
        finding.grade(Grade::Doubt).label("no open_pen here").source(REG_722_411);
        finding.because(circuit.site().place(path!["supply", "earthing"]), "the PME earth");
        finding.help("If it can, treat the point as outdoors. If not, write `open_pen: not-needed` and say why in `open_pen_why`.");
        return;
    }
    if ev.place != Some(EvPlace::Outdoor) {
        return;
    }
    let finding =
        report.raise(place, "a vehicle is charged outdoors on a PME earth, and no measure against a broken PEN conductor is named");
    finding.label("no open_pen here").source(REG_722_411).because(circuit.site().place(path!["supply", "earthing"]), "the PME earth");
}

fn check_model(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(ev) = charging(circuit) else { return };
    let Some(measure) = ev.open_pen.filter(|measure| matches!(measure, OpenPen::Iii | OpenPen::Iv | OpenPen::V)) else { return };
    let Some(model) = circuit.unit_model() else { return };
    let unsure = model.lost || model.is_unreadable(&path!["open_pen"]);
    let document = ev.pen_statement.as_deref().is_some_and(|text| !text.trim().is_empty());
    if unsure || document || model.data.open_pen.contains(&measure) {
        return;
    }
    let has: Vec<&str> = model.data.open_pen.iter().map(|measure| measure.as_str()).collect();
    let has = if has.is_empty() { "none".to_owned() } else { has.join(", ") };
    let Some(known) = circuit.ev() else { return };
    let place = known.place_of(circuit.site(), "open_pen");
    let finding = report.raise(place, format!("the measure ({measure}) is relied on, and the register gives model {} {has}", model.id));
    finding.label("relied on here").source(REG_722_411);
    finding.because(crate::finding::Place::at(&model.source, path!["open_pen"]), "what the model has");
}

fn check_applies(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(measure) = charging(circuit).and_then(|ev| ev.open_pen) else { return };
    let Some(phases) = circuit.site().supply().and_then(|supply| supply.phases) else { return };
    let message = match (measure, *phases) {
        (OpenPen::I, 1) => "indent (i) rests on balanced three-phase loads, and this supply has one phase",
        (OpenPen::Iv, 3) => "indent (iv) is for single-phase supplies, and this one has three phases",
        _ => return,
    };
    let Some(known) = circuit.ev() else { return };
    let finding = report.raise(known.place_of(circuit.site(), "open_pen"), message);
    finding.source(REG_722_411).because(circuit.site().place(path!["supply", "phases"]), "the supply");
}

fn check_voltage(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(ev) = charging(circuit).filter(|ev| matches!(ev.open_pen, Some(OpenPen::I | OpenPen::Ii))) else { return };
    let (Some(volts), Some(edition)) = (ev.pen_calc_v, circuit.job.edition()) else { return };
    let Some(limit) = tables::ev::open_pen_voltage(edition).filter(|limit| *volts > limit.value) else { return };
    let Some(known) = circuit.ev() else { return };
    let message = format!("{volts} V is calculated with the PEN conductor broken; {} V is the most", limit.value);
    report.raise(known.place_of(circuit.site(), "pen_calc_v"), message).source(limit.source);
}

fn check_reach(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(ev) = charging(circuit).filter(|ev| ev.open_pen == Some(OpenPen::Tt)) else { return };
    let (Some(apart), Some(edition)) = (ev.earths_apart_m, circuit.job.edition()) else { return };
    let Some(limit) = tables::ev::earths_apart(edition).filter(|limit| *apart < limit.value) else { return };
    let Some(known) = circuit.ev().filter(|_| is_tn(circuit.site().earthing())) else { return };
    let message = format!("the two earths are {apart} m apart; {} m is the working rule for what can be touched together", limit.value);
    let finding = report.raise(known.place_of(circuit.site(), "earths_apart_m"), message);
    finding.label("within reach").source(limit.source);
    if says(&ev.open_pen_why) {
        finding.grade(Grade::Breach).because(known.place_of(circuit.site(), "open_pen_why"), "what is said of it");
    }
}

fn check_setting(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(set) = charging(circuit).and_then(|ev| ev.set_a) else { return };
    let (Some(ocpd), Some(known)) = (circuit.ocpd(), circuit.ev()) else { return };
    let Some(rating) = ocpd.value.rating_a.filter(|rating| *set > **rating) else { return };
    let finding = report.raise(known.place_of(circuit.site(), "set_a"), format!("set to {set} A on a {rating} A device"));
    finding.label("set here").source("BS 7671:2018+A2:2022 Reg 433.1.1").because(ocpd.place_of(circuit.site(), "rating_a"), "the device");
}

fn check_model_device(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if charging(circuit).is_none() {
        return;
    }
    let (Some(ocpd), Some(model)) = (circuit.ocpd(), circuit.unit_model()) else { return };
    let (Some(rating), Some(most)) = (ocpd.value.rating_a, model.data.max_ocpd_a) else { return };
    if *rating > *most {
        let message = format!("a {rating} A device, and the maker of {} allows {most} A", model.id);
        let finding = report.raise(ocpd.place_of(circuit.site(), "rating_a"), message);
        finding.source("BS 7671:2018+A2:2022 Reg 134.1.1");
        finding.because(crate::finding::Place::at(&model.source, path!["max_ocpd_a"]), "what the maker allows");
    }
}

fn check_limit(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(limit) = charging(circuit).and_then(|ev| ev.load_limit.as_ref()).and_then(|limit| limit.limit_a) else { return };
    let cutout = circuit.site().supply().and_then(|supply| supply.cutout.as_ref()).and_then(|cutout| cutout.rating_a);
    let Some(cutout) = cutout.filter(|cutout| *limit > **cutout) else { return };
    let place = circuit.job.place(circuit.path().at("ev").at("load_limit").at("limit_a"));
    let finding = report.raise(place, format!("the load is limited to {limit} A, and the cut-out is {cutout} A"));
    finding
        .source("BS 7671:2018+A2:2022 Reg 722.311.201")
        .because(circuit.site().place(path!["supply", "cutout", "rating_a"]), "the cut-out");
}

fn check_outlet(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(ev) = charging(circuit).filter(|ev| ev.mode.is_some_and(|mode| *mode == 2)) else { return };
    if ev.outlet_marked_ev == Some(true) {
        return;
    }
    let place = circuit.job.place(circuit.path().at("ev").at("outlet_marked_ev"));
    let said =
        if ev.outlet_marked_ev.is_some() { "the outlet has no EV marking" } else { "nothing says that the outlet has the EV marking" };
    report
        .raise(place, format!("a vehicle is charged from a 13 A outlet, and {said}"))
        .source("BS 7671:2018+A2:2022 Reg 722.55.101; BS 1363-2:2016");
}

fn check_shared(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if charging(circuit).is_none() || !matches!(circuit.usage(), Some(Use::Ring | Use::Sockets)) {
        return;
    }
    let finding =
        report.raise(circuit.place_of("ev"), "a vehicle is charged from a circuit that feeds other outlets: is that meant to stay?");
    finding.source("BS 7671:2018+A2:2022 Section 722");
}

fn check_mode(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if charging(circuit).and_then(|ev| ev.mode).is_some_and(|mode| *mode == 1)
        && let Some(known) = circuit.ev()
    {
        report
            .raise(known.place_of(circuit.site(), "mode"), "a vehicle is charged in mode 1, which is not used in the UK")
            .source("BS EN 61851-1");
    }
}

fn check_feed_back(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(ev) = charging(circuit) else { return };
    let Some(model) = circuit.unit_model().filter(|model| model.data.bidirectional == Some(true)) else { return };
    let two_way = circuit.ocpd().is_some_and(|ocpd| ocpd.value.two_way == Some(true));
    let told = matches!(ev.export, Some(Export::G98 | Export::G99));
    // A point that can feed back and is kept from it says so with `export: none`.
    let kept = ev.export == Some(Export::None);
    if kept || (two_way && told) {
        return;
    }
    let one_way = circuit.ocpd().filter(|ocpd| ocpd.value.two_way == Some(false));
    let lacks = match (two_way, told) {
        _ if one_way.is_some() => "its device is for one direction only",
        (false, false) => "its device is not said to be for both directions, and nothing says how the network was told",
        (false, true) => "its device is not said to be for both directions",
        _ => "nothing says how the network was told",
    };
    let key = if two_way { circuit.path().at("ev").at("export") } else { circuit.path().at("ocpd").at("two_way") };
    let finding = report.raise(circuit.job.place(key), format!("this point can feed back, and {lacks}"));
    finding.source("BS 7671:2018+A3:2024 Reg 530.3.201; ENA G98, G99");
    if let Some(ocpd) = one_way {
        finding.grade(Grade::Danger).because(ocpd.place_of(circuit.site(), "two_way"), "this device");
        finding.help("Keep the point from feeding back (`export: none`) until a device that may be fed from either side is fitted.");
    }
    finding.because(crate::finding::Place::at(&model.source, path!["bidirectional"]), "what the model can do");
}
