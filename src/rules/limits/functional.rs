//! Checks that were made and failed: buttons, pilot, polarity.

use super::{danger_unless_off, is_left_off, is_settled, is_settled_at_origin};
use crate::finding::Grade;
use crate::path;
use crate::record::{Polarity, ReadingKey, Works};
use crate::rules::protection;
use crate::rules::view::{CircuitView, JobView};
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::Edition;

pub(super) const RCD_BUTTON: Rule = Rule {
    id: "rcd-button-fails",
    family: Family::Limits,
    grade: Grade::Breach,
    title: "The test button does not trip the RCD",
    looks_at: "`rcd_button: fails`. A danger where the RCD gives the fault protection (TT, or `gives_fault_protection: true`). Quiet where a \
               fault of the visit leaves the circuit isolated, unless it is a danger there.",
    why: "The button works the whole mechanism. A device that does not answer it cannot be relied on, whatever a tester read.",
    sources: &["BS 7671:2018 643.10; BS 7671:2008 612.13.2 (clause numbers from memory)"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {rcd_button: fails}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {rcd_button: works}}]"),
    cure: "Replace the device.",
    check: Check::Circuit(check_rcd_button),
};

pub(super) const AFDD_BUTTON: Rule = Rule {
    id: "afdd-button-fails",
    family: Family::Limits,
    grade: Grade::Breach,
    title: "The test button does not trip the arc fault detection device",
    looks_at: "`afdd_button: fails`. Quiet where a fault of the visit leaves the circuit isolated.",
    why: "There is no other field test of the arc detection.",
    sources: &["BS 7671:2018+A2:2022 643.10 (clause number from memory)", "BS EN 62606"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {afdd_button: fails}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {afdd_button: works}}]"),
    cure: "Replace the device.",
    check: Check::Circuit(check_afdd_button),
};

pub(super) const PILOT: Rule = Rule {
    id: "pilot-check-fails",
    family: Family::Limits,
    grade: Grade::Breach,
    title: "A control-pilot check of a charge point failed",
    looks_at: "`pilot`: each check that `fails`. A danger when it is the reaction to an earth fault. Quiet where a fault of the visit leaves \
               the circuit isolated, unless it is a danger there.",
    why: "The pilot decides when the connector is live. A point that does not answer it may stay live when it must not.",
    sources: &["IEC 61851-1 Annex A", "BS 7671:2018 643.10 (clause number from memory)"],
    bad: Example::Keys("circuits: [{id: main/1, readings: {pilot: {error: fails}}}]"),
    good: Example::Keys("circuits: [{id: main/1, readings: {pilot: {error: works}}}]"),
    cure: "Take the point out of use, check the adapter on a known good point, and claim on the maker.",
    check: Check::Circuit(check_pilot),
};

pub(super) const POLARITY: Rule = Rule {
    id: "polarity-reversed",
    family: Family::Limits,
    grade: Grade::Danger,
    title: "Line and neutral are exchanged",
    looks_at: "`polarity: reversed` at the supply and on each circuit. Quiet where the visit reported it and a later one checked polarity \
               again; a breach while a fault of the visit leaves the circuit isolated.",
    why: "Switches and fuses then open the neutral, and what looks dead is live.",
    sources: &["BS 7671:2018 643.6; BS 7671:2008 612.6 (clause numbers from memory)"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {polarity: reversed}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {polarity: correct}}]"),
    cure: "Isolate and put the connections right, then test polarity again. At the supply: isolate and call the network operator.",
    check: Check::Job(check_polarity),
};

/// A clause by the visit's edition: Part 6 was numbered anew in 2018.
fn clause(job: JobView<'_>, since_2018: &str, before: &str) -> String {
    match job.edition() {
        Some(edition) if edition < Edition::Y2018 => format!("BS 7671:2008 {before}"),
        _ => format!("BS 7671:2018 {since_2018}"),
    }
}

fn check_rcd_button(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if circuit.readings().rcd_button != Some(Works::Fails) || is_settled(circuit, ReadingKey::RcdButton) {
        return;
    }
    let protects = protection::is_by_rcd(circuit) == Some(true);
    if is_left_off(circuit) && !protects {
        return;
    }
    let place = circuit.reading_place("rcd_button");
    let words = if protects { ", and it gives the fault protection" } else { "" };
    let grade = if protects { danger_unless_off(circuit) } else { Grade::Breach };
    report.raise(place, format!("RCD does not trip by its test button{words}")).grade(grade).label("fails").source(clause(
        circuit.job,
        "643.10",
        "612.13.2",
    ));
}

fn check_afdd_button(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let failed = circuit.readings().afdd_button == Some(Works::Fails);
    if failed && !is_left_off(circuit) && !is_settled(circuit, ReadingKey::AfddButton) {
        report
            .raise(circuit.reading_place("afdd_button"), "arc fault detection device does not trip by its test button")
            .label("fails")
            .source(clause(circuit.job, "643.10", "612.13.2"));
    }
}

fn check_pilot(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(pilot) = circuit.readings().pilot.as_ref().filter(|_| !is_settled(circuit, ReadingKey::Pilot)) else { return };
    let checks = [
        ("a", pilot.a, "state A, no vehicle"),
        ("b", pilot.b, "state B, vehicle connected"),
        ("c", pilot.c, "state C, charging"),
        ("d", pilot.d, "state D, charging with ventilation"),
        ("error", pilot.error, "reaction to a pilot error"),
        ("fault", pilot.fault, "reaction to an earth fault"),
    ];
    for (key, _, words) in checks.into_iter().filter(|(_, result, _)| *result == Some(Works::Fails)) {
        let is_protective = key == "fault";
        if is_left_off(circuit) && !is_protective {
            continue;
        }
        let place = circuit.job.place(circuit.path().at("readings").at("pilot").at(key));
        let grade = if is_protective { danger_unless_off(circuit) } else { Grade::Breach };
        report.raise(place, format!("pilot check failed: {words}")).grade(grade).label("fails").source("IEC 61851-1 Annex A");
    }
}

fn check_polarity(job: JobView<'_>, report: &mut Report<'_>) {
    let supply = job.data().supply.as_ref().and_then(|supply| supply.polarity);
    if supply == Some(Polarity::Reversed) && !is_settled_at_origin(job, |later| later.polarity.is_some()) {
        report
            .raise(job.place(path!["supply", "polarity"]), "polarity is reversed at the supply")
            .label("line and neutral exchanged")
            .source(clause(job, "643.6", "612.6"));
    }
    let reversed = job.circuits().filter(|circuit| circuit.readings().polarity == Some(Polarity::Reversed));
    for circuit in reversed.filter(|circuit| !is_settled(*circuit, ReadingKey::Polarity)) {
        report
            .raise(circuit.reading_place("polarity"), "polarity is reversed")
            .grade(danger_unless_off(circuit))
            .subject(circuit.id())
            .label("line and neutral exchanged")
            .source(clause(job, "643.6", "612.6"));
    }
}
