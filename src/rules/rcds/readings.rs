//! RCD readings that do not look like readings, and leakage that takes up too much of a device.

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::Grade;
use crate::record::Reading;
use crate::rules::view::{CircuitView, JobView};
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::{DeviceStandard, Edition, rcd};

pub(super) const SAME_TIMES: Rule = Rule {
    id: "rcd-times-identical",
    family: Family::Rcds,
    grade: Grade::Doubt,
    title: "Several RCDs are said to have opened in exactly the same time",
    looks_at: "`rcd_ms` of three or more separate devices at one visit, to the last digit; for whole milliseconds they must be more than \
               half of the devices tested, as a few agree by chance. Quiet where one device covers the circuits.",
    why: "Mechanisms do not agree like that. One reading copied down the column hides the device that would have been slow.",
    sources: &["common practice (three devices)"],
    bad: Example::Keys(THREE_ALIKE),
    good: Example::Keys("circuits: [{id: main/1, readings: {rcd_ms: 18.0}}, {id: main/2, readings: {rcd_ms: 18.0}}]"),
    cure: "Look in the instrument's memory or test them again, and write down what each one did.",
    check: Check::Job(check_same),
};

const THREE_ALIKE: &str = "
circuits:
  - {id: main/1, readings: {rcd_ms: 18.0}}
  - {id: main/2, readings: {rcd_ms: 18.0}}
  - id: main/3
    serves: heater in the shed
    use: heating
    new: true
    design_a: 9
    ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 16, breaking_ka: 10, poles: 1, maker: M1}
    rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/3}
    cable: {make_up: flat-70, cores: 3, line_mm2: 2.5, cpc_mm2: 1.5, cpc: core, length_m: 15, length_by: measured, method: C}
    readings: {r1_r2_ohm: 0.29, ir_test_v: 500, ir_live_live_mohm: 610, ir_live_earth_mohm: 540, ir_with_unit: false,
               polarity: correct, zs_ohm: 0.49, zs_by: measured, zs_mode: no-trip, rcd_ms: 18.0, rcd_button: works}";

pub(super) const LEAKAGE: Rule = Rule {
    id: "leakage-over-rcd-budget",
    family: Family::Rcds,
    grade: Grade::Doubt,
    title: "Standing leakage is over 30 % of what trips the RCD",
    looks_at: "`leakage_ma`, added up over the circuits of one device at a visit, against 30 % of `rcd.trip_ma`.",
    why: "The rest of the way to a trip is short: switching, damp or one more appliance will do it.",
    sources: &["BS 7671:2018 531.3.2"],
    bad: Example::Keys("circuits: [{id: main/1, readings: {leakage_ma: 12}}]"),
    good: Example::Keys("circuits: [{id: main/1, readings: {leakage_ma: 9.0}}]"),
    cure: "Find what leaks, or spread the circuits over more devices.",
    check: Check::Job(check_leakage),
};

/// What stands for a circuit's device: its name, or for a breaker with residual element that is not named, the circuit itself.
fn device<'a>(circuit: CircuitView<'a>) -> Option<&'a str> {
    let rcd = circuit.rcd()?.value;
    let combined = rcd.standard.as_deref().and_then(DeviceStandard::parse) == Some(DeviceStandard::Bs61009);
    rcd.device.as_deref().or_else(|| combined.then(|| circuit.id()))
}

/// How many separate devices it takes. Common practice.
const ALIKE: usize = 3;

/// The readings of one time to its last digit, each with its device.
type ByTime<'a> = BTreeMap<(u64, u8), Vec<(&'a str, CircuitView<'a>, Reading)>>;

fn check_same(job: JobView<'_>, report: &mut Report<'_>) {
    let mut by_time = ByTime::new();
    let mut tested = BTreeSet::new();
    for circuit in job.circuits() {
        let read = circuit.readings().rcd_ms.filter(|reading| reading.exact().is_some_and(|ms| ms >= 5.0));
        let Some((name, reading)) = device(circuit).zip(read) else { continue };
        if tested.insert(name) {
            by_time.entry((reading.value.to_bits(), reading.decimals)).or_default().push((name, circuit, reading));
        }
    }
    for ((_, decimals), alike) in by_time {
        let by_chance = decimals == 0 && alike.len() * 2 <= tested.len();
        let Some((_, first, reading)) = alike.first().filter(|_| alike.len() >= ALIKE && !by_chance) else { continue };
        let message = format!("{} separate RCDs opened in exactly {reading} ms: was each of them tested?", alike.len());
        let finding = report.raise(first.reading_place("rcd_ms"), message);
        finding.subject(first.id()).label("the first of them").source("common practice");
        for (_, other, _) in alike.iter().skip(1) {
            finding.because(other.reading_place("rcd_ms"), "the same");
        }
    }
}

fn check_leakage(job: JobView<'_>, report: &mut Report<'_>) {
    // Good sense before the 2018 edition said so; that edition's figure serves for both.
    let Some(share) = rcd::leakage_share(job.edition().unwrap_or(Edition::Y2018).max(Edition::Y2018)) else { return };
    let mut by_device: BTreeMap<&str, Vec<(CircuitView<'_>, Reading)>> = BTreeMap::new();
    for circuit in job.circuits() {
        let name = circuit.rcd().map(|rcd| rcd.value.device.as_deref().unwrap_or(circuit.id()));
        if let Some((name, reading)) = name.zip(circuit.readings().leakage_ma) {
            by_device.entry(name).or_default().push((circuit, reading));
        }
    }
    for circuits in by_device.into_values() {
        let measured = circuits.iter().filter(|(_, reading)| reading.scale != crate::record::Scale::Below);
        let total: f64 = measured.map(|(_, reading)| reading.value).sum();
        let Some((worst, _)) = circuits.iter().max_by(|a, b| a.1.value.total_cmp(&b.1.value)) else { continue };
        let Some((rcd, trip)) = worst.rcd().and_then(|rcd| Some((rcd, rcd.value.trip_ma?))) else { continue };
        let budget = *trip * share.value;
        if total <= budget + 1e-6 {
            continue;
        }
        let over = if circuits.len() > 1 { format!(" over {} circuits", circuits.len()) } else { String::new() };
        let message = format!("leakage {total:.1} mA{over} is over {budget:.1} mA, 30 % of {trip} mA: does this RCD trip for no reason?");
        let finding = report.raise(worst.reading_place("leakage_ma"), message);
        finding.subject(worst.id()).label("measured here").source(share.source.clone());
        finding.because(rcd.place_of(job.site, "trip_ma"), "this RCD");
    }
}
