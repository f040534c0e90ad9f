//! The ends of a ring against one another, and the cross-connected reading against them.

use super::fit::ohms;
use super::{LEADS_OHM, is_outside, is_too_high, r1_r2};
use crate::finding::Grade;
use crate::record::CpcKind;
use crate::rules::view::CircuitView;
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables;
use crate::wiring::ring;

pub(super) const RATIO: Rule = Rule {
    id: "ring-cpc-does-not-fit",
    family: Family::Loops,
    grade: Grade::Doubt,
    title: "The ends of a ring's protective conductor do not fit its size",
    looks_at: "`ring_r2_ohm` over `ring_r1_ohm` against the ratio of the two table resistances (1.63 for 2.5/1.5). Quiet within a tenth of \
               it and within 0.03 ohm, where a size is missing, where line and neutral do not agree and are asked about themselves, and \
               where armour or conduit is the protective conductor.",
    why: "A thinner conductor of the same length reads higher. Equal ends say that line was read twice, or that the protective conductor \
          has metal in parallel; ends too far apart say that one is loose.",
    sources: &["Guidance Note 3 (ring test, step 1)", "IEC 60228 Tables 1 and 2", "common practice: a tenth is this program's own"],
    bad: Example::Keys(RATIO_BAD),
    good: Example::Keys(GOOD),
    cure: "Read the ends again, each conductor by its colour; then check the sizes as written and the cpc terminals.",
    check: Check::Circuit(check_ratio),
};

const RATIO_BAD: &str = "
circuits:
  - id: main/2
    use: ring
    ocpd: {rating_a: 32}
    cable: {line_mm2: 2.5, cpc_mm2: 1.5, length_m: 50}
    readings: {ring_r1_ohm: 0.37, ring_rn_ohm: 0.38, ring_r2_ohm: 0.37, r1_r2_ohm: 0.19, zs_ohm: 0.40}";
const GOOD: &str = "
circuits:
  - id: main/2
    use: ring
    ocpd: {rating_a: 32}
    cable: {line_mm2: 2.5, cpc_mm2: 1.5, length_m: 50}
    readings: {ring_r1_ohm: 0.37, ring_rn_ohm: 0.38, ring_r2_ohm: 0.61, r1_r2_ohm: 0.24, zs_ohm: 0.44}";

pub(super) const QUARTER: Rule = Rule {
    id: "ring-quarter-does-not-fit",
    family: Family::Loops,
    grade: Grade::Doubt,
    title: "R1+R2 of a ring does not fit its ends",
    looks_at: "`r1_r2_ohm` of a ring against what its ends give with line and protective conductor cross-connected: from r1 r2/(r1+r2) at \
               the board to (r1+r2)/4 half way round. Quiet up to 1.5 of the highest and down to 0.6 of the lowest, which leaves room for \
               a short spur, and within 0.03 ohm.",
    why: "The highest reading at the sockets is close to a quarter of the two ends together. Far over it is a long spur, a loose terminal \
          or a ring that is none; far under it was not read on this ring.",
    sources: &["Guidance Note 3 (ring test, steps 2 and 3)", "common practice: 0.6 and 1.5 are this program's own"],
    bad: Example::Keys(QUARTER_BAD),
    good: Example::Keys(GOOD),
    cure: "Read every socket with line and cpc cross-connected and write the highest. Say in an answer where a long spur is.",
    check: Check::Circuit(check_quarter),
};

const QUARTER_BAD: &str = "
circuits:
  - id: main/2
    use: ring
    ocpd: {rating_a: 32}
    cable: {line_mm2: 2.5, cpc_mm2: 1.5, length_m: 50}
    readings: {ring_r1_ohm: 0.37, ring_rn_ohm: 0.38, ring_r2_ohm: 0.61, r1_r2_ohm: 0.61, zs_ohm: 0.82}";

fn check_ratio(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some(r1), Some(r2), Some(cable)) = (circuit.readings().ring_r1_ohm, circuit.readings().ring_r2_ohm, circuit.cable()) else {
        return;
    };
    let (Some(line), Some(cpc)) = (r1.exact(), r2.exact()) else { return };
    let (Some(line_mm2), Some(cpc_mm2)) = (cable.value.line_mm2, cable.value.cpc_mm2) else { return };
    if matches!(cable.value.cpc, Some(CpcKind::Armour | CpcKind::Conduit)) {
        return;
    }
    let (Ok(ratio), Some((low, high))) = (ring::expected_ratio(*line_mm2, *cpc_mm2), tables::ring::r2_r1_band()) else { return };
    let expected = line * ratio.value;
    // Where line and neutral do not agree that is asked first: there is no telling which of them the protective conductor should fit.
    let neutral = circuit.readings().ring_rn_ohm.and_then(|reading| reading.exact());
    let agreement = tables::ring::r1_rn_agreement();
    if neutral.zip(agreement).is_some_and(|(neutral, limit)| (line - neutral).abs() > limit.value + 1e-9) {
        return;
    }
    let fits = (expected * low.value - LEADS_OHM..=expected * high.value + LEADS_OHM).contains(&cpc);
    if fits {
        return;
    }
    let message = format!("cpc {r2} ohm end to end beside line {r1}: {line_mm2}/{cpc_mm2} should give about {}", ohms(expected));
    let finding = report.raise(circuit.reading_place("ring_r2_ohm"), message);
    finding
        .label("cpc, end to end")
        .source(ratio.sources.join("; "))
        .because(circuit.reading_place("ring_r1_ohm"), "line, end to end")
        .because(cable.place_of(circuit.site(), "cpc_mm2"), "for this size");
    if (cpc - line).abs() <= LEADS_OHM {
        finding.help("Equal ends: was line read twice? Or the cpc has metalwork in parallel. Read both again, disconnected.");
    }
}

fn check_quarter(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some(r1), Some(r2)) = (circuit.readings().ring_r1_ohm, circuit.readings().ring_r2_ohm) else { return };
    let (Some(line), Some(cpc), Some((read, read_ohm))) = (r1.exact(), r2.exact(), r1_r2(circuit)) else { return };
    let (Ok(at_board), Ok(half_way)) = (ring::cross_connected(line, cpc, 0.0), ring::quarter(line, cpc)) else { return };
    if !is_outside(read_ohm, at_board, half_way) {
        return;
    }
    let message = if is_too_high(read_ohm, half_way) {
        format!("ring R1+R2 reads {read} ohm; a quarter of {r1} + {r2} is {}. A long spur, or a loose end?", ohms(half_way))
    } else {
        format!("ring R1+R2 reads {read} ohm; with ends of {r1} and {r2} no point of the ring reads under {}", ohms(at_board))
    };
    report
        .raise(circuit.reading_place("r1_r2_ohm"), message)
        .label("cross-connected")
        .because(circuit.reading_place("ring_r1_ohm"), "line, end to end")
        .because(circuit.reading_place("ring_r2_ohm"), "cpc, end to end");
}
