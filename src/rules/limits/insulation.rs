//! Insulation resistance against the minimum, with the voltage it was tested at.

use super::{is_left_off, is_settled, under};
use crate::record::{Reading, ReadingKey};
use crate::rules::view::CircuitView;
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::Limit;
use crate::tables::insulation::{self, Band};

pub(super) const UNDER_MINIMUM: Rule = Rule {
    id: "ir-under-minimum",
    family: Family::Limits,
    grade: crate::finding::Grade::Breach,
    title: "Insulation resistance is under the minimum",
    looks_at: "`ir_live_live_mohm` and `ir_live_earth_mohm` against the minimum of the edition the visit cites: 1.0 Mohm since 2008, \
               0.5 Mohm before; the same at 250 V. Quiet where a fault of the visit leaves the circuit isolated, and where the visit \
               reported the circuit and a later one took the reading again.",
    why: "Insulation this low leaks, heats and trips, and is on its way to a fault.",
    sources: &["BS 7671:2018 643.3.2 with Table 64", "BS 7671:2008 Table 61", "BS 7671:1992 Table 71A"],
    bad: Example::Keys("circuits: [{id: main/2, new: ~, readings: {ir_live_earth_mohm: 0.6}}]"),
    good: Example::Keys("circuits: [{id: main/2, new: ~, readings: {ir_live_earth_mohm: 120}}]"),
    cure: "Disconnect equipment and surge protection, split the circuit and test again until the low part is found.",
    check: Check::Circuit(check_minimum),
};

pub(super) const ZERO: Rule = Rule {
    id: "ir-zero",
    family: Family::Limits,
    grade: crate::finding::Grade::Breach,
    title: "Insulation resistance is written as zero",
    looks_at: "`ir_live_live_mohm` and `ir_live_earth_mohm` of exactly 0. Quiet where a fault of the visit leaves the circuit isolated, and \
               where the visit reported the circuit and a later one took the reading again.",
    why: "Zero is a short circuit, a load left connected, or a test that was not made. None of them is a pass.",
    sources: &["BS 7671:2018 643.3.2 with Table 64"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {ir_live_live_mohm: 0.00}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {ir_live_live_mohm: 120}}]"),
    cure: "Test again with loads out and switches closed. If it was not tested, take the figure out and say why under `not_taken`.",
    check: Check::Circuit(check_zero),
};

pub(super) const REDUCED_VOLTAGE: Rule = Rule {
    id: "ir-250-without-reason",
    family: Family::Limits,
    grade: crate::finding::Grade::Doubt,
    title: "Insulation was tested below 500 V and nothing says why",
    looks_at: "`ir_test_v` under the test voltage for a circuit of up to 500 V, without `ir_250_why`. Quiet where `ir_with_unit: true` says \
               that equipment stayed connected.",
    why: "Weak insulation that 500 V finds can look well at 250 V. The lower voltage is only for what would upset the test or be damaged.",
    sources: &["BS 7671:2018+A2:2022 643.3.2, 643.3.3 and Table 64", "BS 7671:2008 612.3.2 and Table 61"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {ir_test_v: 250}}]"),
    good: Example::Keys(
        "circuits: [{id: main/2, readings: {ir_test_v: 250, ir_250_why: dimmer could not be taken out, live conductors joined}}]",
    ),
    cure: "Say in `ir_250_why` what could not be disconnected, or disconnect it and test at 500 V.",
    check: Check::Circuit(check_voltage),
};

/// The two readings: the key, its name in a record, and words for it.
pub(super) fn readings(circuit: CircuitView<'_>) -> impl Iterator<Item = (ReadingKey, Reading, &'static str)> {
    let readings = circuit.readings();
    [
        (ReadingKey::IrLiveLive, readings.ir_live_live_mohm, "between live conductors"),
        (ReadingKey::IrLiveEarth, readings.ir_live_earth_mohm, "live to earth"),
    ]
    .into_iter()
    .filter_map(|(key, reading, words)| Some((key, reading?, words)))
}

/// For other rules: the minimum of the visit's edition.
pub(super) fn minimum(circuit: CircuitView<'_>) -> Option<Limit> {
    insulation::test(Band::Low, circuit.job.edition()?).map(|test| test.minimum)
}

fn check_minimum(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(minimum) = minimum(circuit).filter(|_| !is_left_off(circuit)) else { return };
    for (key, reading, words) in readings(circuit) {
        if !under(&reading, minimum.value) || reading.exact() == Some(0.0) || is_settled(circuit, key) {
            continue;
        }
        let tested_at = circuit.readings().ir_test_v.map_or(String::new(), |volts| format!(" (tested at {volts} V)"));
        let message = format!("insulation {words} {reading} Mohm{tested_at} is under the minimum of {minimum}");
        let finding = report.raise(circuit.reading_place(key.as_str()), message).label("measured here").source(minimum.source.clone());
        if circuit.readings().ir_with_unit == Some(true) {
            finding
                .because(circuit.reading_place("ir_with_unit"), "equipment was still connected")
                .help("Disconnect the equipment and test again: it may be what reads low.");
        }
    }
}

fn check_zero(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    for (key, reading, words) in readings(circuit).filter(|(_, reading, _)| reading.exact() == Some(0.0)) {
        let Some(minimum) = minimum(circuit) else { return };
        if !is_left_off(circuit) && !is_settled(circuit, key) {
            let message = format!("insulation {words} is written {reading} Mohm: a short circuit, or a test not made");
            report.raise(circuit.reading_place(key.as_str()), message).label("zero").source(minimum.source.clone());
        }
    }
}

fn check_voltage(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some(volts), Some(edition)) = (circuit.readings().ir_test_v, circuit.job.edition()) else { return };
    let Some(test) = insulation::test(Band::Low, edition).filter(|test| *volts < test.test_v) else { return };
    let has_reason = circuit.readings().ir_250_why.as_deref().is_some_and(|why| !why.trim().is_empty());
    let with_unit = circuit.path().at("readings").at("ir_with_unit");
    if has_reason || circuit.readings().ir_with_unit == Some(true) || circuit.job.is_unreadable(&with_unit) {
        return;
    }
    let message = format!("insulation was tested at {volts} V instead of {} V, and nothing says why", test.test_v);
    report
        .raise(circuit.reading_place("ir_250_why"), message)
        .source(test.minimum.source)
        .because(circuit.reading_place("ir_test_v"), "reduced voltage");
}
