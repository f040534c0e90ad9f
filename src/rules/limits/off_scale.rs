//! Readings off the scale that leave open whether the limit is kept.

use std::fmt;

use super::{insulation, is_left_off, leaves_open, rcd, zs};
use crate::finding::Grade;
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
    // Limits are looked up only for readings that are off the scale, and for insulation that is every other one.
    let is_off_scale = |reading: &Option<Reading>| reading.is_some_and(|reading| reading.exact().is_none());
    let insulation_is = [readings.ir_live_live_mohm, readings.ir_live_earth_mohm].iter().any(is_off_scale);
    let (zs_is, rcd_is) = (is_off_scale(&readings.zs_ohm), is_off_scale(&readings.rcd_ms));
    if !(zs_is || insulation_is || rcd_is) || is_left_off(circuit) {
        return;
    }
    let mut tell = |what: fmt::Arguments<'_>, reading: Reading, unit: &str, limit: &Limit, key: &'static str| {
        if leaves_open(&reading, limit.value) {
            let message = format!("{what} {reading} {unit} leaves open whether the limit of {limit} is kept");
            report.raise(circuit.reading_place(key), message).label("off the scale").source(limit.source.clone());
        }
    };
    if zs_is && let Some((reading, limit)) = zs::reading_and_limit(circuit) {
        tell(format_args!("Zs"), reading, "ohm", &limit, "zs_ohm");
    }
    if insulation_is && let Some(minimum) = insulation::minimum(circuit) {
        for (key, reading, words) in insulation::readings(circuit) {
            tell(format_args!("insulation {words}"), reading, "Mohm", &minimum, key.as_str());
        }
    }
    if rcd_is && let (Some(reading), Some(times)) = (readings.rcd_ms, rcd::times(circuit, Multiple::One)) {
        tell(format_args!("RCD operating time"), reading, "ms", &times.max, "rcd_ms");
    }
}
