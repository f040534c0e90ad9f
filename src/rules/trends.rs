//! Readings against those of earlier visits: what passes today and is on its way.
//!
//! Only the latest visit that took a reading is judged, against the best of the same circuit before it; nothing older than the circuit as
//! it is now counts, nor anything read before its cable was changed. How much two instruments on two days may differ is common practice.

use super::insulation::{is_reported, pairs};
use super::view::{CircuitView, JobView};
use super::{Check, Example, Family, Report, Rule, limits, loops};
use crate::finding::Grade;
use crate::path;
use crate::record::{Reading, ReadingKey, Readings, ZsBy};

/// The rules of this family.
pub const RULES: &[&Rule] = &[&IR_FALLEN, &R1_R2_RISEN, &ZS_RISEN, &LEAKAGE_RISEN, &ELECTRODE_RISEN];

/// How many times lower insulation has to read to be asked about: it swings severalfold with the weather (common practice: a threshold of
/// this program's own).
const IR_FALL: f64 = 10.0;
/// What continuity and loop readings of two days may differ by, as a share: the operating error that BS EN 61557-3 and -4 allow an
/// instrument is 30 % (from memory; common practice as a threshold).
const SCATTER_SHARE: f64 = 1.3;
/// And at least, ohm, for R1+R2 and for Zs (common practice: thresholds of this program's own).
const R1_R2_SCATTER_OHM: f64 = 0.05;
const ZS_SCATTER_OHM: f64 = 0.15;
/// How many times its lowest an electrode has to read to be asked about, and by how much, ohm: soil dries and wets (common practice:
/// thresholds of this program's own).
const ELECTRODE_RISE: f64 = 1.5;
const ELECTRODE_RISE_OHM: f64 = 10.0;
/// How many times its lowest standing leakage has to read to be asked about, and by how much, mA (common practice: thresholds of this
/// program's own).
const LEAKAGE_RISE: f64 = 2.0;
const LEAKAGE_RISE_MA: f64 = 2.0;

macro_rules! later_visit {
    ($more:literal) => {
        Example::Keys(concat!(
            "sites/elm-row/2026-11-18-check.md: {record: job, kind: survey, status: complete, title: Look at the drive, regulations: BS 7671:2018+A4:2026, dates: {tested: 2026-11-18}, people: {tested: jd}, instruments: [mft-1], minutes_on_site: 60, ",
            $more,
            "}"
        ))
    };
}

const IR_FALLEN: Rule = Rule {
    id: "ir-fallen-tenfold",
    family: Family::Trends,
    grade: Grade::Doubt,
    title: "Insulation has fallen to a tenth of what it was",
    looks_at: "The latest insulation readings of a circuit against the best at earlier visits, pair by pair; `>999` counts as 999. Quiet \
               where the unit was connected, where a fault of the visit names the circuit, under the minimum, and after its cable changed.",
    why: "It passes, and it is going: damp, heat or a damaged cable. It is the only warning before the trip.",
    sources: &["common practice: tenfold is a threshold of this program's own"],
    bad: later_visit!(
        "circuits: [{id: main/1, readings: {ir_test_v: 500, ir_live_live_mohm: '>999', ir_live_earth_mohm: 64, ir_with_unit: false}}]"
    ),
    good: later_visit!(
        "circuits: [{id: main/1, readings: {ir_test_v: 500, ir_live_live_mohm: '>999', ir_live_earth_mohm: 140, ir_with_unit: false}}]"
    ),
    cure: "Test again with everything disconnected, then length by length. If the weather did it, answer with that and test when dry.",
    check: Check::Circuit(check_ir),
};

const R1_R2_RISEN: Rule = Rule {
    id: "r1-r2-risen",
    family: Family::Trends,
    grade: Grade::Doubt,
    title: "R1+R2 has risen since an earlier visit",
    looks_at: "The latest `r1_r2_ohm` of a circuit against the lowest at earlier visits. Quiet within 30 % or 0.05 ohm, where a fault of the \
               visit names the circuit, and after its cable or its length changed.",
    why: "The cable is no longer than it was. What has grown is a joint.",
    sources: &["common practice: 30 % and 0.05 ohm are thresholds of this program's own"],
    bad: later_visit!("circuits: [{id: main/2, readings: {r1_r2_ohm: 0.60}}]"),
    good: later_visit!("circuits: [{id: main/2, readings: {r1_r2_ohm: 0.50}}]"),
    cure: "Null the leads and read it again at the same point; then open the joints between, the last disturbed first.",
    check: Check::Circuit(check_r1_r2),
};

const ZS_RISEN: Rule = Rule {
    id: "zs-risen",
    family: Family::Trends,
    grade: Grade::Doubt,
    title: "Loop impedance has risen since an earlier visit",
    looks_at: "The latest measured `zs_ohm` of a circuit on a TN system against the lowest at earlier visits, less what the loop at the board \
               or the origin has risen by where both visits read it. Quiet within 30 % or 0.15 ohm, where R1+R2 has risen too and is told, \
               where a fault of the visit names the circuit, over what the device allows, and after its cable or its length changed.",
    why: "A joint in line or protective conductor is working loose, here or in the supply.",
    sources: &["common practice: 30 % and 0.15 ohm are thresholds of this program's own"],
    bad: later_visit!("circuits: [{id: main/2, readings: {zs_ohm: 0.95, zs_by: measured, zs_mode: no-trip}}]"),
    good: later_visit!("circuits: [{id: main/2, readings: {zs_ohm: 0.76, zs_by: measured, zs_mode: no-trip}}]"),
    cure: "Read Ze and R1+R2: they say on which side of the board it is. Then look at the joints there.",
    check: Check::Circuit(check_zs),
};

const LEAKAGE_RISEN: Rule = Rule {
    id: "leakage-risen",
    family: Family::Trends,
    grade: Grade::Doubt,
    title: "Standing leakage has risen since an earlier visit",
    looks_at: "The latest `leakage_ma` of a circuit against the lowest at earlier visits. Quiet up to twice and up to 2 mA more, and where a \
               fault of the visit names the circuit.",
    why: "It eats the margin of the RCD, and it is insulation or a filter that is changing.",
    sources: &["common practice: twice and 2 mA are thresholds of this program's own"],
    bad: later_visit!("circuits: [{id: main/1, readings: {leakage_ma: 4.1}}]"),
    good: later_visit!("circuits: [{id: main/1, readings: {leakage_ma: 3.1}}]"),
    cure: "Clamp it again with the loads out one by one. If new equipment did it, answer with what.",
    check: Check::Circuit(check_leakage),
};

const ELECTRODE_RISEN: Rule = Rule {
    id: "electrode-drifting",
    family: Family::Trends,
    grade: Grade::Doubt,
    title: "The earth electrode reads higher than it did",
    looks_at: "The latest `electrode_ohm` at a site against the lowest at earlier visits by the same method. Quiet up to half as much again \
               and up to 10 ohm more, and where the methods differ or are not recorded.",
    why: "A rod corrodes, a clamp loosens, ground dries out, and the next dry summer takes it over the limit.",
    sources: &["common practice: half as much again and 10 ohm are thresholds of this program's own"],
    bad: Example::Keys(ELECTRODE_BAD),
    good: Example::Keys(ELECTRODE_GOOD),
    cure: "Look at the clamp and the conductor first, then read it again; in dry weather, say so. A second rod if it goes on.",
    check: Check::Job(check_electrode),
};

const ELECTRODE_BAD: &str = "
supply: {electrode_ohm: 40, electrode_by: three-terminal}
sites/elm-row/2026-11-18-check.md: {record: job, kind: survey, status: complete, title: Look at the drive, regulations: BS 7671:2018+A4:2026, dates: {tested: 2026-11-18}, people: {tested: jd}, instruments: [mft-1], minutes_on_site: 60, supply: {electrode_ohm: 85, electrode_by: three-terminal}}";
const ELECTRODE_GOOD: &str = "
supply: {electrode_ohm: 40, electrode_by: three-terminal}
sites/elm-row/2026-11-18-check.md: {record: job, kind: survey, status: complete, title: Look at the drive, regulations: BS 7671:2018+A4:2026, dates: {tested: 2026-11-18}, people: {tested: jd}, instruments: [mft-1], minutes_on_site: 60, supply: {electrode_ohm: 52, electrode_by: three-terminal}}";

/// Whether no later visit took the reading again: only the state of things now is asked about.
fn is_latest(circuit: CircuitView<'_>, key: ReadingKey) -> bool {
    !circuit.job.later().any(|job| job.circuit(circuit.id()).is_some_and(|later| key.is_in(later.readings())))
}

/// Whether two readings of one circuit differ by more than instruments and days do, by the thresholds of the rules here. Nothing for
/// readings that none is held for.
pub fn differ_beyond_scatter(key: ReadingKey, one: f64, other: f64) -> Option<bool> {
    let (low, high) = (one.min(other), one.max(other));
    match key {
        ReadingKey::R1R2 | ReadingKey::R2 | ReadingKey::RingR1 | ReadingKey::RingRn | ReadingKey::RingR2 => {
            Some(is_beyond(low, high, SCATTER_SHARE, R1_R2_SCATTER_OHM))
        }
        ReadingKey::Zs => Some(is_beyond(low, high, SCATTER_SHARE, ZS_SCATTER_OHM)),
        ReadingKey::IrLiveLive | ReadingKey::IrLiveEarth => Some(low <= high / IR_FALL),
        ReadingKey::Leakage => Some(is_beyond(low, high, LEAKAGE_RISE, LEAKAGE_RISE_MA)),
        _ => None,
    }
}

/// Whether a reading is over another by more than that share and by more than that much.
fn is_beyond(low: f64, high: f64, share: f64, least: f64) -> bool {
    high > low * share && high > low + least
}

/// The same circuit at earlier visits, as long as it had the cable that it has now.
pub fn earlier<'a>(circuit: CircuitView<'a>) -> impl Iterator<Item = CircuitView<'a>> {
    let cable_of = |circuit: CircuitView<'a>| circuit.cable().map(|known| known.value);
    circuit.previous().take_while(move |before| match (cable_of(circuit), cable_of(*before)) {
        (Some(now), Some(then)) => now.length_m == then.length_m && now.line_mm2 == then.line_mm2 && now.cpc_mm2 == then.cpc_mm2,
        _ => true,
    })
}

/// The earlier visit at which a reading on the scale was lowest; of equals, the latest.
fn lowest_before<'a>(circuit: CircuitView<'a>, of: impl Fn(&Readings) -> Option<Reading>) -> Option<(CircuitView<'a>, Reading, f64)> {
    let on_scale = earlier(circuit).filter_map(|before| {
        let reading = of(before.readings())?;
        Some((before, reading, reading.exact()?))
    });
    on_scale.min_by(|a, b| a.2.total_cmp(&b.2))
}

/// The day of a visit, for a message.
fn day_of(job: JobView<'_>) -> String {
    job.day().map_or("an earlier visit".to_owned(), |day| day.to_string())
}

fn check_ir(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if circuit.readings().ir_with_unit == Some(true) || is_reported(circuit) || limits::insulation_is_under_minimum(circuit) {
        return;
    }
    let keys = [ReadingKey::IrLiveLive, ReadingKey::IrLiveEarth];
    let mut worst = None;
    for (key, words, now) in pairs(circuit.readings()) {
        let is_now = keys.iter().any(|of| of.as_str() == key && is_latest(circuit, *of));
        let before = earlier(circuit).flat_map(|before| {
            let same = pairs(before.readings()).find(|(other, _, _)| *other == key);
            same.map(|(_, _, reading)| (before, reading))
        });
        // The true value of `>999` is higher still, that of `<1` is not known.
        let known = before.filter(|(_, reading)| reading.scale != crate::record::Scale::Below);
        let Some((before, then)) = known.max_by(|a, b| a.1.value.total_cmp(&b.1.value)).filter(|_| is_now) else { continue };
        if now.surely_under(then.value / IR_FALL) || now.exact() == Some(then.value / IR_FALL) {
            let fall = then.value / now.value;
            if worst.as_ref().is_none_or(|(_, _, _, _, _, so_far)| fall > *so_far) {
                worst = Some((key, words, now, before, then, fall));
            }
        }
    }
    let Some((key, words, now, before, then, _)) = worst else { return };
    let message = format!("insulation {words} {now} Mohm; it read {then} on {}. What has changed?", day_of(before.job));
    report.raise(circuit.reading_place(key), message).label("now").because(before.reading_place(key), format!("{then} Mohm then"));
}

/// R1+R2 now and at the earlier visit where it was lowest, when it has risen by more than scatter.
fn risen_r1_r2<'a>(circuit: CircuitView<'a>) -> Option<(Reading, CircuitView<'a>, Reading)> {
    let now = circuit.readings().r1_r2_ohm?;
    let now_ohm = now.exact().filter(|_| is_latest(circuit, ReadingKey::R1R2) && !is_reported(circuit))?;
    let (before, then, then_ohm) = lowest_before(circuit, |readings| readings.r1_r2_ohm)?;
    is_beyond(then_ohm, now_ohm, SCATTER_SHARE, R1_R2_SCATTER_OHM).then_some((now, before, then))
}

fn check_r1_r2(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some((now, before, then)) = risen_r1_r2(circuit) else { return };
    let message = format!("R1+R2 {now} ohm; it read {then} on {}. Which joint has grown?", day_of(before.job));
    report
        .raise(circuit.reading_place("r1_r2_ohm"), message)
        .label("now")
        .because(before.reading_place("r1_r2_ohm"), format!("{then} ohm then"));
}

fn check_zs(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let measured = |readings: &Readings| readings.zs_ohm.filter(|_| readings.zs_by != Some(ZsBy::Calculated));
    let Some(now) = measured(circuit.readings()).filter(|_| loops::is_tn(circuit) && is_latest(circuit, ReadingKey::Zs)) else { return };
    let (Some(now_ohm), Some((before, then, then_ohm))) = (now.exact(), lowest_before(circuit, measured)) else { return };
    // What the supply has risen by is not this circuit's.
    let starts = loops::start_of(circuit).zip(loops::start_of(before)).filter(|(now, then)| now.name == then.name);
    let supply = starts.map_or(0.0, |(now, then)| (now.reading.value - then.reading.value).max(0.0));
    let own = now_ohm - supply;
    if !is_beyond(then_ohm, own, SCATTER_SHARE, ZS_SCATTER_OHM) {
        return;
    }
    if is_reported(circuit) || risen_r1_r2(circuit).is_some() || limits::zs_is_over_limit(circuit) {
        return;
    }
    let message = format!("Zs {now} ohm; it read {then} on {}. Where has it grown?", day_of(before.job));
    report.raise(circuit.reading_place("zs_ohm"), message).label("now").because(before.reading_place("zs_ohm"), format!("{then} ohm then"));
}

fn check_leakage(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(now) = circuit.readings().leakage_ma.filter(|_| is_latest(circuit, ReadingKey::Leakage) && !is_reported(circuit)) else {
        return;
    };
    let (Some(now_ma), Some((before, then, then_ma))) = (now.exact(), lowest_before(circuit, |readings| readings.leakage_ma)) else {
        return;
    };
    if is_beyond(then_ma, now_ma, LEAKAGE_RISE, LEAKAGE_RISE_MA) {
        let message = format!("standing leakage {now} mA; it read {then} on {}. What leaks now?", day_of(before.job));
        report
            .raise(circuit.reading_place("leakage_ma"), message)
            .label("now")
            .because(before.reading_place("leakage_ma"), format!("{then} mA then"));
    }
}

fn check_electrode(job: JobView<'_>, report: &mut Report<'_>) {
    let read = |job: JobView<'_>| {
        let supply = job.data().supply.as_ref()?;
        let reading = supply.electrode_ohm?;
        Some((reading, reading.exact()?, supply.electrode_by?))
    };
    let Some((now, now_ohm, by)) = read(job).filter(|_| !job.later().any(|later| read(later).is_some())) else { return };
    let before = job.earlier().filter_map(|earlier| Some((earlier, read(earlier).filter(|(_, _, method)| *method == by)?)));
    let Some((before, (then, then_ohm, _))) = before.min_by(|a, b| a.1.1.total_cmp(&b.1.1)) else { return };
    if is_beyond(then_ohm, now_ohm, ELECTRODE_RISE, ELECTRODE_RISE_OHM) {
        let message = format!("earth electrode {now} ohm; it read {then} on {}. Is it drying out, or its clamp loose?", day_of(before));
        report
            .raise(job.place(path!["supply", "electrode_ohm"]), message)
            .subject("electrode")
            .label("now")
            .because(before.place(path!["supply", "electrode_ohm"]), format!("{then} ohm then"));
    }
}
