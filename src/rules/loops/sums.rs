//! Loop impedance against the loop it starts from and the circuit's own R1+R2.

use super::fit::{self, ohms};
use super::{Start, is_tn, measured_zs, r1_r2, start_of};
use crate::finding::Grade;
use crate::record::{Reading, ZsBy};
use crate::rules::view::{CircuitView, JobView};
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::conductors;
use crate::wiring::resistance;

/// What two loop readings may differ by in the hand of one person on one day, ohm (common practice: a threshold of this program's own).
const SCATTER_OHM: f64 = 0.05;
/// How far Zs must be over Ze + R1+R2 to be asked about, ohm, and as a share of it. A test in no-trip mode reads through the coil of the
/// RCD and may show a tenth or two more (common practice: thresholds of this program's own).
const EXCESS_OHM: f64 = 0.20;
const EXCESS_SHARE: f64 = 1.3;
/// What a sum written to two decimals may be off by, ohm.
const ROUNDING_OHM: f64 = 0.015;
/// By how much, as a standard deviation in ohm, a Zs that was read differs from the sum of a Ze and an R1+R2 that were read: two loop
/// tests and a continuity test with their leads and contacts (a screening assumption of this program's own; instruments are held to
/// less). The larger the scatter, the rarer a chance agreement.
const SUM_SCATTER_OHM: f64 = 0.02;
/// How rare so many agreements must be by chance, before it is asked how R1+R2 was obtained: once in so many visits (a screening
/// threshold of this program's own).
const CHANCE_ONE_IN: f64 = 5000.0;

pub(super) const UNDER_R1: Rule = Rule {
    id: "zs-under-r1",
    family: Family::Loops,
    grade: Grade::Doubt,
    title: "Loop impedance is less than the line conductor alone",
    looks_at: "Measured `zs_ohm` against R1, taken from `r1_r2_ohm` by the resistances of the two sizes. Quiet within 0.03 ohm, where a \
               size is missing, on TT, and for a calculated Zs.",
    why: "The fault current has to pass along the line conductor whatever else lies in parallel. One of the two figures is not this \
          circuit's.",
    sources: &["IEC 60228 Tables 1 and 2 (the share of the line conductor)"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {zs_ohm: 0.06}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {zs_ohm: 0.24}}]"),
    cure: "Read both again; look for a slip of the decimal point first.",
    check: Check::Circuit(check_under_r1),
};

pub(super) const UNDER_ORIGIN: Rule = Rule {
    id: "zs-under-ze",
    family: Family::Loops,
    grade: Grade::Doubt,
    title: "Loop impedance at the end of a circuit is lower than where it starts",
    looks_at: "Measured `zs_ohm` against the loop at the circuit's board at the same visit, or Ze for a board fed from the origin. Quiet \
               within 0.05 ohm, on TT (bonding brings the loop of a board under that of its rod), and where Ze was not measured.",
    why: "Metalwork in parallel lowers Zs towards Ze. Below it one of the two readings is wrong, or Ze was read with less connected than \
          there is.",
    sources: &["common practice: 0.05 ohm is a threshold of this program's own"],
    bad: Example::Keys("circuits: [{id: main/1, readings: {zs_ohm: 0.12}}]"),
    good: Example::Keys("circuits: [{id: main/1, readings: {zs_ohm: 0.19}}]"),
    cure: "Read both again. If it stands, answer with what lies in parallel.",
    check: Check::Circuit(check_under_origin),
};

pub(super) const OVER_SUM: Rule = Rule {
    id: "zs-over-sum",
    family: Family::Loops,
    grade: Grade::Doubt,
    title: "Loop impedance is far over Ze + R1+R2",
    looks_at: "Measured `zs_ohm` against the loop where the circuit starts plus `r1_r2_ohm`. Quiet up to 0.20 ohm or 1.3 of the sum, on TT, \
               where R1+R2 does not fit its cable and is asked about itself, and where Zs is over what its device allows and is told so.",
    why: "What the sum does not explain is a joint that only the loop test went through, or a Ze that has changed.",
    sources: &["common practice: 0.20 ohm and 1.3 are thresholds of this program's own"],
    bad: Example::Keys("circuits: [{id: main/1, readings: {zs_ohm: 0.72}}]"),
    good: Example::Keys("circuits: [{id: main/1, readings: {zs_ohm: 0.46}}]"),
    cure: "Read Zs again in the two-wire high-current mode where nothing trips, and R1+R2 with the same points; then look at the joints.",
    check: Check::Circuit(check_over_sum),
};

pub(super) const NOT_THE_SUM: Rule = Rule {
    id: "calculated-zs-is-not-the-sum",
    family: Family::Loops,
    grade: Grade::Doubt,
    title: "A calculated loop impedance is not the sum it is said to be",
    looks_at: "`zs_ohm` with `zs_by: calculated` against `r1_r2_ohm` plus the loop at the board, Ze as read or as declared. Quiet where one \
               of them gives the sum, cold or with R1+R2 at any working temperature up to 90 C, and on TT.",
    why: "A calculated Zs is Ze + R1+R2. If it is another figure, one of the three was changed afterwards or belongs elsewhere.",
    sources: &["BS 7671:2018 643.7.3 with Guidance Note 3 (Zs by calculation)"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {zs_ohm: 0.49, zs_by: calculated, zs_mode: ~}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {zs_ohm: 0.63, zs_by: calculated, zs_mode: ~}}]"),
    cure: "Add it up again from the Ze and the R1+R2 of this visit.",
    check: Check::Circuit(check_sum),
};

pub(super) const BY_SUBTRACTION: Rule = Rule {
    id: "r1-r2-by-subtraction",
    family: Family::Loops,
    grade: Grade::Doubt,
    title: "Zs is Ze + R1+R2 to the last digit on circuit after circuit",
    looks_at: "Circuits of one visit with a measured `zs_ohm` and `r1_r2_ohm` that add up exactly from the loop at the board, or all from Ze: \
               so many of those that can be compared that chance would do it less than once in 5000 visits. To 0.01 ohm that is six of \
               six, seven of eight or eight of ten. Quiet with fewer, and where Zs is declared `zs_by: calculated`.",
    why: "Real readings disagree by a few hundredths. Figures that always add up were made by subtraction, and then continuity was never \
          tested: an open protective conductor has been hidden this way.",
    sources: &["BS 7671:2018 643.2.1 (continuity is tested)", "common practice: once in 5000 visits is a threshold of this program's own"],
    bad: Example::Keys(SUBTRACTED),
    good: Example::Keys(READ),
    cure: "Test R1+R2 on each, or say `zs_by: calculated` where it was Zs that was worked out.",
    check: Check::Job(check_subtraction),
};

const SUBTRACTED: &str = "
circuits:
- {id: main/1, readings: {zs_ohm: 0.32}}
- {id: main/2, readings: {zs_ohm: 0.63}}
- {id: main/3, use: lighting, ocpd: {standard: BS EN 60898, curve: B, rating_a: 6}, readings: {r1_r2_ohm: 0.74, zs_ohm: 0.94, zs_by: measured}}
- {id: main/4, use: lighting, ocpd: {standard: BS EN 60898, curve: B, rating_a: 6}, readings: {r1_r2_ohm: 0.90, zs_ohm: 1.10, zs_by: measured}}
- {id: main/5, use: lighting, ocpd: {standard: BS EN 60898, curve: B, rating_a: 6}, readings: {r1_r2_ohm: 0.28, zs_ohm: 0.48, zs_by: measured}}
- {id: main/6, use: lighting, ocpd: {standard: BS EN 60898, curve: B, rating_a: 6}, readings: {r1_r2_ohm: 0.51, zs_ohm: 0.71, zs_by: measured}}";
const READ: &str = "
circuits:
- {id: main/1, readings: {zs_ohm: 0.32}}
- {id: main/2, readings: {zs_ohm: 0.63}}
- {id: main/3, use: lighting, ocpd: {standard: BS EN 60898, curve: B, rating_a: 6}, readings: {r1_r2_ohm: 0.74, zs_ohm: 0.96, zs_by: measured}}
- {id: main/4, use: lighting, ocpd: {standard: BS EN 60898, curve: B, rating_a: 6}, readings: {r1_r2_ohm: 0.90, zs_ohm: 1.10, zs_by: measured}}
- {id: main/5, use: lighting, ocpd: {standard: BS EN 60898, curve: B, rating_a: 6}, readings: {r1_r2_ohm: 0.28, zs_ohm: 0.48, zs_by: measured}}
- {id: main/6, use: lighting, ocpd: {standard: BS EN 60898, curve: B, rating_a: 6}, readings: {r1_r2_ohm: 0.51, zs_ohm: 0.71, zs_by: measured}}";

/// R1 out of an R1+R2 reading, ohm, by the resistances of the two sizes; nothing where the sizes are not known.
fn r1_of(circuit: CircuitView<'_>) -> Option<f64> {
    let (_, both) = r1_r2(circuit)?;
    let cable = circuit.cable()?.value;
    // Armour and conduit are no copper core: the core's share of them is not known well enough.
    if cable.cpc.is_some_and(|cpc| cpc != crate::record::CpcKind::Core) {
        return None;
    }
    let (line, cpc) = (conductors::resistance(*cable.line_mm2?)?, conductors::resistance(*cable.cpc_mm2?)?);
    Some(both * line.value / (line.value + cpc.value))
}

fn is_under_r1(circuit: CircuitView<'_>, zs_ohm: f64) -> Option<f64> {
    r1_of(circuit).filter(|r1| zs_ohm < r1 - super::LEADS_OHM)
}

fn check_under_r1(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some((zs, zs_ohm)), Some((both, _))) = (measured_zs(circuit), r1_r2(circuit)) else { return };
    let Some(r1) = is_under_r1(circuit, zs_ohm) else { return };
    let message = format!("Zs {zs} ohm cannot be: of R1+R2 {both}, the line conductor alone is {}. Which one is wrong?", ohms(r1));
    report
        .raise(circuit.reading_place("zs_ohm"), message)
        .label("measured here")
        .because(circuit.reading_place("r1_r2_ohm"), "with this R1+R2");
}

fn check_under_origin(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some((zs, zs_ohm)), Some(start)) = (measured_zs(circuit), start_of(circuit)) else { return };
    if zs_ohm >= start.reading.value - SCATTER_OHM || is_under_r1(circuit, zs_ohm).is_some() {
        return;
    }
    let Start { reading, name, place } = start;
    let message = format!("Zs {zs} ohm is under the {reading} ohm {name}, where the circuit starts. What lies in parallel?");
    report.raise(circuit.reading_place("zs_ohm"), message).label("end of the circuit").because(place, name);
}

fn check_over_sum(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some((zs, zs_ohm)), Some(start), Some((both, both_ohm))) = (measured_zs(circuit), start_of(circuit), r1_r2(circuit)) else {
        return;
    };
    let Ok(sum) = resistance::expected_zs(start.reading.value, both_ohm) else { return };
    let is_far_over = zs_ohm > sum + EXCESS_OHM && zs_ohm > sum * EXCESS_SHARE;
    if !is_far_over || fit::is_in_doubt(circuit) || crate::rules::limits::zs_is_over_limit(circuit) {
        return;
    }
    let Start { reading, name, place } = start;
    let message = format!("Zs {zs} ohm; {reading} {name} and R1+R2 {both} make about {}. Where is the rest?", ohms(sum));
    report
        .raise(circuit.reading_place("zs_ohm"), message)
        .label("measured here")
        .because(place, name)
        .because(circuit.reading_place("r1_r2_ohm"), "R1+R2");
}

fn check_sum(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let readings = circuit.readings();
    if readings.zs_by != Some(ZsBy::Calculated) || !is_tn(circuit) {
        return;
    }
    let (Some(zs), Some((both, both_ohm)), Some(start)) = (readings.zs_ohm, r1_r2(circuit), start_of(circuit)) else { return };
    let Some(zs_ohm) = zs.exact() else { return };
    // The hottest a conductor works, of any cable: what is over the sum at that temperature is over every sum.
    let hottest = conductors::printed_temperature_factors().map(|(_, factor)| factor.value).fold(1.0, f64::max);
    let is_sum_from = |start: f64| {
        let (Ok(cold), Ok(hot)) = (resistance::expected_zs(start, both_ohm), resistance::expected_zs(start, both_ohm * hottest)) else {
            return true;
        };
        (cold - ROUNDING_OHM..=hot + ROUNDING_OHM).contains(&zs_ohm)
    };
    if other_starts(circuit).any(|start| is_sum_from(start.value)) || is_sum_from(start.reading.value) {
        return;
    }
    let sum = start.reading.value + both_ohm;
    let message = format!("Zs {zs} ohm is said to be calculated; {} {} and R1+R2 {both} make {}", start.reading, start.name, ohms(sum));
    report
        .raise(circuit.reading_place("zs_ohm"), message)
        .label("calculated")
        .because(start.place, start.name)
        .because(circuit.reading_place("r1_r2_ohm"), "R1+R2");
}

/// Other figures that a calculated Zs may have started from: Ze, however obtained, and what the operator declares.
fn other_starts<'a>(circuit: CircuitView<'a>) -> impl Iterator<Item = Reading> + 'a {
    let read = circuit.job.data().supply.as_ref().and_then(|supply| supply.ze_ohm);
    let declared = circuit.site().supply().and_then(|supply| supply.declared.as_ref()?.ze_ohm);
    read.into_iter().filter(|reading| reading.exact().is_some()).chain(declared.map(|ohm| Reading::on_scale(*ohm, 2)))
}

/// The chance that one honest circuit agrees to the printed digit, where readings are printed in steps of `step_ohm`: the share of the
/// scatter, taken as normal, that falls into one step at its middle, where it is greatest. In steps of 0.01 ohm against a scatter of
/// 0.02 ohm: 0.01 / (0.02 x sqrt(2 pi)) = 0.20. A parallel path or a no-trip test moves the middle away and only lowers it.
fn chance_of_one(step_ohm: f64) -> f64 {
    (step_ohm / (SUM_SCATTER_OHM * std::f64::consts::TAU.sqrt())).min(1.0)
}

/// The chance that at least `exact` of `compared` honest circuits agree, each with the chance `one`: the upper end of a binomial
/// distribution, twice over, since Ze and the loop at the board are both tried. With `one` 0.20: six of six 0.00013 (once in 7800
/// visits), five of five 0.00064 (once in 1600), seven of eight 0.00017, six of eight 0.0025.
fn chance_of(exact: usize, compared: usize, one: f64) -> f64 {
    let mut ways = 1.0;
    let mut sum = 0.0;
    for hits in 0..=compared {
        if hits >= exact {
            sum += ways * one.powi(hits as i32) * (1.0 - one).powi((compared - hits) as i32);
        }
        ways *= (compared - hits) as f64 / (hits + 1) as f64;
    }
    2.0 * sum
}

fn check_subtraction(job: JobView<'_>, report: &mut Report<'_>) {
    let ze = job.data().supply.as_ref().and_then(|supply| supply.ze_ohm?.exact());
    let (mut compared, mut decimals) = (0, 0);
    let (mut from_board, mut from_ze) = (Vec::new(), Vec::new());
    for circuit in job.circuits() {
        let (Some((reading, zs)), Some((_, both)), Some(start)) = (measured_zs(circuit), r1_r2(circuit), start_of(circuit)) else {
            continue;
        };
        compared += 1;
        decimals = reading.decimals.max(decimals);
        let adds_up = |start: f64| (zs - start - both).abs() < 1e-6;
        if adds_up(start.reading.value) {
            from_board.push(circuit);
        }
        if ze.is_some_and(adds_up) {
            from_ze.push(circuit);
        }
    }
    let exact = if from_ze.len() > from_board.len() { from_ze } else { from_board };
    // In coarse steps agreement is cheap. Noughts at the end are left out by hand, so the finest Zs of the visit tells the step.
    let chance = chance_of(exact.len(), compared, chance_of_one(if decimals < 2 { 0.1 } else { 0.01 }));
    let Some(first) = exact.first().filter(|_| chance * CHANCE_ONE_IN < 1.0) else { return };
    let message =
        format!("on {} of {compared} circuits Zs is Ze + R1+R2 to the last digit: was R1+R2 measured, or taken from Zs?", exact.len());
    let finding = report.raise(first.reading_place("r1_r2_ohm"), message);
    finding.label("adds up exactly");
    for circuit in &exact {
        finding.because(circuit.reading_place("zs_ohm"), format!("{}: adds up exactly", circuit.id()));
    }
}
