//! Operating times of residual current devices, at the residual current they were tested with.

use super::{danger_unless_off, is_left_off, is_settled, over, under};
use crate::finding::Grade;
use crate::record::{HalfTest, Rcd, Reading, ReadingKey};
use crate::rules::protection;
use crate::rules::view::{CircuitView, Known};
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::rcd::{self, Multiple, OperatingTime, Protection};
use crate::tables::{DeviceStandard, Limit};

pub(super) const TOO_SLOW: Rule = Rule {
    id: "rcd-too-slow",
    family: Family::Limits,
    grade: Grade::Breach,
    title: "An RCD takes longer to open than its kind may",
    looks_at: "`rcd_ms` at the rated residual current: 300 ms for a general device, 500 ms for a delayed one, 200 ms for BS 4293 and BS 7288; \
               `rcd_5x_ms` at five times: 40 ms up to 30 mA, 150 ms delayed. A danger where the RCD gives the fault protection (TT, or \
               `gives_fault_protection: true`); at 5 x a question since A2:2022, which no longer asks for that test. Quiet where a fault \
               of the visit leaves the circuit isolated, unless it is a danger there.",
    why: "Somebody who touches a live part is held by it for as long as the RCD takes.",
    sources: &[
        "BS EN 61008-1 and BS EN 61009-1 Table 1",
        "BS 7671:2018+A2:2022 643.7.3 and 643.8; to A1:2020 643.8 and 415.1.1 (40 ms at 5 x)",
        "BS 4293, BS 7288",
    ],
    bad: Example::Keys("circuits: [{id: main/2, readings: {rcd_ms: 320}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {rcd_ms: 300}}]"),
    cure: "Operate it a few times by its button, test again with the load off, and replace it if it stays slow.",
    check: Check::Circuit(check_slow),
};

pub(super) const TOO_FAST: Rule = Rule {
    id: "rcd-too-fast",
    family: Family::Limits,
    grade: Grade::Breach,
    title: "A delayed RCD does not wait as long as it must",
    looks_at: "`rcd_ms` and `rcd_5x_ms` of a delayed (S) device under its shortest time, 130 ms and 50 ms.",
    why: "A delayed device that does not wait takes the whole board out with one circuit.",
    sources: &["BS EN 61008-1 and BS EN 61009-1 Table 1"],
    bad: Example::Keys(DELAYED_TOO_FAST),
    good: Example::Keys(DELAYED),
    cure: "Make sure that the device is the delayed one the record says, and test again with the load off.",
    check: Check::Circuit(check_fast),
};

const DELAYED_TOO_FAST: &str = "
circuits:
  - id: main/3
    serves: outbuilding
    use: sub-main
    new: true
    design_a: 20
    ocpd: {standard: BS EN 60898, curve: B, rating_a: 32, breaking_ka: 10, poles: 1, maker: M1}
    rcd: {standard: BS EN 61008-1, type: A, trip_ma: 100, delayed: true, device: delayed-1}
    cable: {make_up: armoured-90, cores: 3, line_mm2: 6, cpc_mm2: 6, cpc: core, length_m: 20, length_by: measured, method: C}
    readings: {r1_r2_ohm: 0.13, ir_test_v: 500, ir_live_live_mohm: 610, ir_live_earth_mohm: 540, ir_with_unit: false,
               polarity: correct, zs_ohm: 0.34, zs_by: measured, zs_mode: no-trip, rcd_ms: 90, rcd_button: works}";
const DELAYED: &str = "
circuits:
  - id: main/3
    serves: outbuilding
    use: sub-main
    new: true
    design_a: 20
    ocpd: {standard: BS EN 60898, curve: B, rating_a: 32, breaking_ka: 10, poles: 1, maker: M1}
    rcd: {standard: BS EN 61008-1, type: A, trip_ma: 100, delayed: true, device: delayed-1}
    cable: {make_up: armoured-90, cores: 3, line_mm2: 6, cpc_mm2: 6, cpc: core, length_m: 20, length_by: measured, method: C}
    readings: {r1_r2_ohm: 0.13, ir_test_v: 500, ir_live_live_mohm: 610, ir_live_earth_mohm: 540, ir_with_unit: false,
               polarity: correct, zs_ohm: 0.34, zs_by: measured, zs_mode: no-trip, rcd_ms: 130, rcd_button: works}";

pub(super) const NO_TIME: Rule = Rule {
    id: "rcd-in-no-time",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "An RCD is said to have opened in hardly any time",
    looks_at: "`rcd_ms` and `rcd_5x_ms` under 5 ms.",
    why: "No mechanism opens in no time: the device had tripped already, leakage was helping, or nobody measured.",
    sources: &["common practice (5 ms; 6 and 9 ms have been reported as real)"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {rcd_ms: 0}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {rcd_ms: 9}}]"),
    cure: "Reset it, switch the load off and test again; 10 to 40 ms is usual at 1 x for a general device.",
    check: Check::Circuit(check_no_time),
};

pub(super) const TRIPS_AT_HALF: Rule = Rule {
    id: "rcd-trips-at-half",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "An RCD tripped at half its rated residual current",
    looks_at: "`rcd_half: tripped`.",
    why: "It should hold at half. Either the device is too sensitive or the circuit leaks already, and both mean trips for no reason.",
    sources: &["BS EN 61008-1 operating range", "Guidance Note 3 (half-current test; never a requirement of BS 7671)"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {rcd_half: tripped}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {rcd_half: held}}]"),
    cure: "Test again with the outgoing conductors disconnected: if it holds, look for the leakage; if not, replace the device.",
    check: Check::Circuit(check_half),
};

pub(super) const DC_TOO_SLOW: Rule = Rule {
    id: "rcd-dc-too-slow",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "The 6 mA d.c. detection of a charge point takes long to open",
    looks_at: "`rcd_dc_ms` over 10 s. Only ever a question: the time is known from memory.",
    why: "Smooth d.c. can blind the RCD upstream; the detection has to come first.",
    sources: &["IEC 62955:2018 Table 2 (memory)"],
    bad: Example::Keys("circuits: [{id: main/1, readings: {rcd_dc_ms: 11000}}]"),
    good: Example::Keys("circuits: [{id: main/1, readings: {rcd_dc_ms: 10000}}]"),
    cure: "Test again with the instrument's 6 mA d.c. ramp; compare with the maker's figure and tell the maker if it stays slow.",
    check: Check::Circuit(check_dc),
};

/// Below this, ms, no mechanism is believed to have opened. Common practice, and a screening threshold of this program's own: 6 and 9 ms
/// have been reported as real.
const NO_TIME_MS: f64 = 5.0;

/// The times allowed to the circuit's RCD. Where nothing is recorded of the RCD, those of a delayed one, so that what is slower than they
/// allow is slower than any may be.
pub(super) fn times(circuit: CircuitView<'_>, multiple: Multiple) -> Option<OperatingTime> {
    let is_unreadable = |key| circuit.job.is_unreadable(&circuit.path().at("rcd").at(key));
    if !circuit.job.is_whole() && (is_unreadable("delayed") || is_unreadable("standard")) {
        return None;
    }
    let edition = circuit.job.edition()?;
    let Some(known) = circuit.rcd() else {
        return (multiple == Multiple::One).then(|| rcd::operating_time(None, true, 30.0, multiple, edition)).flatten();
    };
    // At its rated current the time is the same for every trip current.
    let trip_ma = known.value.trip_ma.map(|trip| *trip).or((multiple == Multiple::One).then_some(30.0))?;
    let standard = known.value.standard.as_deref().and_then(DeviceStandard::parse);
    rcd::operating_time(standard, known.value.delayed == Some(true), trip_ma, multiple, edition)
}

fn kind_words(known: Option<Known<'_, Rcd>>) -> &'static str {
    match known {
        Some(known) if known.value.delayed == Some(true) => "a delayed RCD",
        Some(known) if matches!(standard(known), Some(DeviceStandard::Bs4293 | DeviceStandard::Bs7288)) => "an RCD of the old standard",
        Some(_) => "a general RCD",
        None => "any RCD",
    }
}

fn standard(known: Known<'_, Rcd>) -> Option<DeviceStandard> {
    known.value.standard.as_deref().and_then(DeviceStandard::parse)
}

fn check_slow(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if let Some(reading) = circuit.readings().rcd_ms {
        let protects = protection::is_by_rcd(circuit) == Some(true);
        let limit = times(circuit, Multiple::One).map(|times| times.max);
        // A device that is not said to be delayed, and may be.
        let may_be_delayed = circuit.rcd().is_some_and(|rcd| rcd.value.delayed.is_none()) && !over(&reading, 500.0);
        let grade = if protects && !may_be_delayed { danger_unless_off(circuit) } else { Grade::Breach };
        tell_slow(circuit, ReadingKey::RcdMs, reading, limit, "1 x", grade, report);
    }
    if let (Some(reading), Some(edition)) = (circuit.readings().rcd_5x_ms, circuit.job.edition()) {
        let is_asked = rcd::test_asked(Protection::Additional, Multiple::Five, edition).is_some();
        let limit = times(circuit, Multiple::Five).map(|times| times.max);
        let grade = if is_asked { Grade::Breach } else { Grade::Doubt };
        tell_slow(circuit, ReadingKey::Rcd5xMs, reading, limit, "5 x", grade, report);
    }
}

fn tell_slow(
    circuit: CircuitView<'_>,
    key: ReadingKey,
    reading: Reading,
    limit: Option<Limit>,
    multiple: &str,
    grade: Grade,
    report: &mut Report<'_>,
) {
    let Some(limit) = limit.filter(|limit| over(&reading, limit.value)) else { return };
    // Where it would have been a danger the grade has fallen to breach, and it is told all the same.
    let would_be_danger = protection::is_by_rcd(circuit) == Some(true);
    if is_settled(circuit, key) || is_left_off(circuit) && !would_be_danger {
        return;
    }
    let known = circuit.rcd();
    let message = format!("RCD opened in {reading} ms at {multiple}, over the {limit} allowed to {}", kind_words(known));
    let finding = report.raise(circuit.reading_place(key.as_str()), message);
    finding.grade(grade).label("measured here").source(limit.source);
    if let Some(known) = known {
        let (key, words) = match known.value.delayed {
            Some(true) => ("delayed", "recorded as delayed"),
            _ => ("trip_ma", "this RCD"),
        };
        finding.because(known.place_of(circuit.site(), key), words);
    }
    match (key, known.map(|known| known.value.delayed)) {
        (ReadingKey::Rcd5xMs, _) if grade == Grade::Doubt => {
            finding.help(
                "This test has not been asked for since A2:2022, and on an instrument's type A setting it can read long on a sound device. \
                 Judge the device by its time at 1 x.",
            );
        }
        (ReadingKey::RcdMs, Some(None)) => {
            finding.help("If it is a delayed (S) device, record `delayed: true`; otherwise test again and replace it if it stays slow.");
        }
        _ => {}
    }
}

/// The two operating times: the key, the reading, the multiple, and words for it.
fn both_times(circuit: CircuitView<'_>) -> impl Iterator<Item = (ReadingKey, Reading, Multiple, &'static str)> {
    let readings = circuit.readings();
    let both =
        [(ReadingKey::RcdMs, readings.rcd_ms, Multiple::One, "1 x"), (ReadingKey::Rcd5xMs, readings.rcd_5x_ms, Multiple::Five, "5 x")];
    both.into_iter().filter_map(|(key, reading, multiple, words)| Some((key, reading?, multiple, words)))
}

fn check_fast(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(known) = circuit.rcd().filter(|known| known.value.delayed == Some(true)) else { return };
    for (key, reading, multiple, words) in both_times(circuit) {
        let Some(min) = times(circuit, multiple).and_then(|times| times.min) else { continue };
        if !under(&reading, min.value) || is_hardly_any(&reading) || is_left_off(circuit) || is_settled(circuit, key) {
            continue;
        }
        let message = format!("delayed RCD opened in {reading} ms at {words}, sooner than the {min} it has to hold");
        report
            .raise(circuit.reading_place(key.as_str()), message)
            .label("measured here")
            .source(min.source)
            .because(known.place_of(circuit.site(), "delayed"), "recorded as delayed");
    }
}

fn is_hardly_any(reading: &Reading) -> bool {
    under(reading, NO_TIME_MS)
}

fn check_no_time(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    for (key, reading, _, words) in both_times(circuit).filter(|(_, reading, _, _)| is_hardly_any(reading)) {
        if !is_settled(circuit, key) {
            let message = format!("RCD opened in {reading} ms at {words}: had it tripped already, or was it not measured?");
            report.raise(circuit.reading_place(key.as_str()), message).label("hardly any time").source("common practice");
        }
    }
}

fn check_half(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if circuit.readings().rcd_half != Some(HalfTest::Tripped) || is_left_off(circuit) || is_settled(circuit, ReadingKey::RcdHalf) {
        return;
    }
    let rated = circuit.rcd().and_then(|rcd| rcd.value.trip_ma);
    let half = rated.map_or(String::new(), |trip| format!(" ({} mA)", *trip / 2.0));
    report
        .raise(circuit.reading_place("rcd_half"), format!("RCD tripped at half its rated residual current{half}: does the circuit leak?"))
        .label("should have held")
        .source("BS EN 61008-1; Guidance Note 3");
}

fn check_dc(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(reading) = circuit.readings().rcd_dc_ms else { return };
    let Some(limit) = rcd::dc_detection(6.0).filter(|limit| over(&reading, limit.value)) else { return };
    if is_left_off(circuit) || is_settled(circuit, ReadingKey::RcdDcMs) {
        return;
    }
    let message = format!("d.c. detection opened in {reading} ms at 6 mA; it should be within {limit}, a figure from memory");
    report.raise(circuit.reading_place("rcd_dc_ms"), message).label("measured here").source(format!("{} (memory)", limit.source));
}
