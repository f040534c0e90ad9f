//! Readings off the scale that leave open whether the limit is kept.

use super::{insulation, is_left_off, leaves_open, rcd, zs};
use crate::finding::{Grade, Place};
use crate::record::Reading;
use crate::rules::view::CircuitView;
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::Limit;
use crate::tables::rcd::Multiple;

pub(super) const DECIDES_NOTHING: Rule = Rule {
    id: "reading-decides-nothing",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "A reading off the scale leaves open whether the limit is kept",
    looks_at: "`zs_ohm`, the insulation readings and `rcd_ms` written with `>` or `<` when the limit lies on that side: over 0.50 ohm where \
               up to 1.37 is allowed says nothing. Quiet where the sign decides it: >999 Mohm passes, >300 ms fails.",
    why: "It looks like a result, and it is none.",
    sources: &["BS 7671:2018 643.1", "common practice"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {rcd_ms: '>200'}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {rcd_ms: '<40', ir_live_earth_mohm: '>499'}}]"),
    cure: "Read it again on the next range up or down.",
    check: Check::Circuit(check),
};

fn check(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let readings = circuit.readings();
    let limited = [readings.zs_ohm, readings.ir_live_live_mohm, readings.ir_live_earth_mohm, readings.rcd_ms];
    if is_left_off(circuit) || limited.iter().flatten().all(|reading| reading.exact().is_some()) {
        return;
    }
    let mut tell = |what: &str, reading: Reading, unit: &str, limit: Limit, place: Place| {
        if leaves_open(&reading, limit.value) {
            let message = format!("{what} {reading} {unit} leaves open whether the limit of {limit} is kept");
            report.raise(place, message).label("off the scale").source(limit.source);
        }
    };
    if let Some((reading, limit)) = zs::reading_and_limit(circuit) {
        tell("Zs", reading, "ohm", limit, circuit.reading_place("zs_ohm"));
    }
    if let Some(minimum) = insulation::minimum(circuit) {
        for (reading, place, words) in insulation::readings_with_places(circuit) {
            tell(&format!("insulation {words}"), reading, "Mohm", minimum.clone(), place);
        }
    }
    if let (Some(reading), Some(times)) = (circuit.readings().rcd_ms, rcd::times(circuit, Multiple::One)) {
        tell("RCD operating time", reading, "ms", times.max, circuit.reading_place("rcd_ms"));
    }
}
