//! Ring final circuits: open ends, and ends that should agree.

use super::{is_left_off, is_settled, over};
use crate::finding::Grade;
use crate::record::{Reading, ReadingKey, Scale};
use crate::rules::view::CircuitView;
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::ring;

pub(super) const OPEN: Rule = Rule {
    id: "ring-open",
    family: Family::Limits,
    grade: Grade::Danger,
    title: "A ring is not a ring",
    looks_at: "`ring_r1_ohm`, `ring_rn_ohm` and `ring_r2_ohm` written as off the scale upwards. A danger for line or neutral, a breach for \
               the protective conductor alone. Quiet where the device is rated at or under what one leg may carry (20 A), where a fault of \
               the visit leaves the circuit isolated, and where the visit reported it and a later one read the ends again.",
    why: "One leg then carries what two were meant to share, behind a device that does not notice.",
    sources: &["BS 7671:2018 433.1.204", "BS 7671:2018 643.2.1", "Guidance Note 3 (ring test, step 1)"],
    bad: Example::Keys(RING_OPEN),
    good: Example::Keys(RING_DERATED),
    cure: "Isolate it, or put it on a 20 A device, until the break is found and the ends are read again.",
    check: Check::Circuit(check_open),
};

const RING_OPEN: &str = "
circuits:
  - id: main/2
    use: ring
    ocpd: {rating_a: 32}
    cable: {line_mm2: 2.5, cpc_mm2: 1.5, length_m: 50}
    readings: {ring_r1_ohm: 0.37, ring_rn_ohm: '>19.99', ring_r2_ohm: 0.60, r1_r2_ohm: 0.24, zs_ohm: 0.44}";
const RING_DERATED: &str = "
circuits:
  - id: main/2
    use: ring
    ocpd: {rating_a: 20}
    cable: {line_mm2: 2.5, cpc_mm2: 1.5, length_m: 50}
    readings: {ring_r1_ohm: 0.37, ring_rn_ohm: '>19.99', ring_r2_ohm: 0.60, r1_r2_ohm: 0.24, zs_ohm: 0.44}";

pub(super) const ENDS_DIFFER: Rule = Rule {
    id: "ring-ends-differ",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "The line and neutral ends of a ring do not agree",
    looks_at: "`ring_r1_ohm` against `ring_rn_ohm`. Quiet up to 0.05 ohm apart, and where either is off the scale.",
    why: "Line and neutral of one cable are of one length and size. A difference is a loose terminal or two circuits mixed.",
    sources: &["Guidance Note 3 (ring test, step 1)"],
    bad: Example::Keys(RING_APART),
    good: Example::Keys(RING_NEAR),
    cure: "Read both ends again; then look at the terminals of the higher one.",
    check: Check::Circuit(check_ends),
};

const RING_APART: &str = "
circuits:
  - id: main/2
    use: ring
    ocpd: {rating_a: 32}
    cable: {line_mm2: 2.5, cpc_mm2: 1.5, length_m: 50}
    readings: {ring_r1_ohm: 0.37, ring_rn_ohm: 0.45, ring_r2_ohm: 0.60, r1_r2_ohm: 0.24, zs_ohm: 0.44}";
const RING_NEAR: &str = "
circuits:
  - id: main/2
    use: ring
    ocpd: {rating_a: 32}
    cable: {line_mm2: 2.5, cpc_mm2: 1.5, length_m: 50}
    readings: {ring_r1_ohm: 0.37, ring_rn_ohm: 0.42, ring_r2_ohm: 0.60, r1_r2_ohm: 0.24, zs_ohm: 0.44}";

fn check_open(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let readings = circuit.readings();
    let ends = [
        (ReadingKey::RingR1, readings.ring_r1_ohm, "line"),
        (ReadingKey::RingRn, readings.ring_rn_ohm, "neutral"),
        (ReadingKey::RingR2, readings.ring_r2_ohm, "protective conductor"),
    ];
    let is_open = |reading: &Reading| reading.scale == Scale::Above;
    let open: Vec<_> = ends.iter().filter(|(_, reading, _)| reading.as_ref().is_some_and(is_open)).collect();
    let Some((key, Some(reading), _)) = open.first() else { return };
    if is_left_off(circuit) || is_settled(circuit, *key) {
        return;
    }
    let one_leg = circuit.job.edition().and_then(ring::least_iz_a);
    let rating = circuit.ocpd().and_then(|ocpd| Some((ocpd, *ocpd.value.rating_a?)));
    let is_derated = rating.zip(one_leg.as_ref()).is_some_and(|((_, rating), leg)| rating <= leg.value);
    if is_derated {
        return;
    }
    let carries_load = open.iter().any(|(key, _, _)| *key != ReadingKey::RingR2);
    let names: Vec<&str> = open.iter().map(|(_, _, name)| *name).collect();
    let behind = rating.map_or(String::new(), |(_, rating)| format!(", behind a {rating} A device"));
    let message = format!("ring {} reads open ({reading} ohm end to end){behind}", names.join(" and "));
    let finding = report.raise(circuit.reading_place(key.as_str()), message);
    finding.grade(if carries_load { Grade::Danger } else { Grade::Breach }).label("open");
    if let Some(leg) = one_leg {
        finding.source(leg.source);
    }
    if let Some((ocpd, _)) = rating {
        finding.because(ocpd.place_of(circuit.site(), "rating_a"), "one leg has to carry this");
    }
}

fn check_ends(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some(r1), Some(rn)) = (circuit.readings().ring_r1_ohm, circuit.readings().ring_rn_ohm) else { return };
    let (Some(line), Some(neutral)) = (r1.exact(), rn.exact()) else { return };
    let apart = Reading::on_scale(((line - neutral).abs() * 1e6).round() / 1e6, r1.decimals.max(rn.decimals));
    let Some(limit) = ring::r1_rn_agreement().filter(|limit| over(&apart, limit.value)) else { return };
    if is_left_off(circuit) || is_settled(circuit, ReadingKey::RingRn) {
        return;
    }
    let message = format!("ring line {r1} and neutral {rn} ohm end to end are {apart} ohm apart; within {limit} is usual. A loose end?");
    report
        .raise(circuit.reading_place("ring_rn_ohm"), message)
        .label("neutral, end to end")
        .source(limit.source)
        .because(circuit.reading_place("ring_r1_ohm"), "line, end to end");
}
