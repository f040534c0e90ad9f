//! Instruments: in calibration, and what their failed checks touch.

use super::facts::{SuspectFact, file_of};
use super::view::{BookView, CircuitView, JobView};
use super::{Check, Example, Family, Report, Rule};
use crate::finding::{Grade, Place};
use crate::path;
use crate::record::{CheckResult, Date, Instrument, Joint, LengthBy, Reading, ReadingKey, Readings, Reads, SupplyBy, ZsBy};
use crate::wiring::resistance::{self, Coefficient, Protective, Run};

/// The rules of this family.
pub const RULES: &[&Rule] = &[&OUT_OF_CALIBRATION, &NEVER_CHECKED, &RETIRED_IN_USE, &FAILED_CHECK, &LEADS_NOT_NULLED];

const OUT_OF_CALIBRATION: Rule = Rule {
    id: "instrument-out-of-calibration",
    family: Family::Instruments,
    grade: Grade::Doubt,
    title: "A reading was taken with an instrument past its calibration date",
    looks_at: "The instruments of a finished visit against their calibrations in force on the day of the tests. Quiet for an instrument that read nothing there, and for one with no calibration on record at all.",
    why: "Nobody can say afterwards whether the readings were right. BS 7671 sets no period; what is owed is that accuracy is known on the day.",
    sources: &["BS 7671:2018 643.1", "common practice: accuracy is confirmed from one calibration or check to the next"],
    bad: Example::Keys("instruments/mft-1.md: {calibrations: [{on: 2025-02-01, due: 2026-02-01, certificate: \"C-70\"}]}"),
    good: Example::Keys("instruments/mft-1.md: {calibrations: [{on: 2025-11-20, due: 2026-11-20, certificate: \"C-71\"}]}"),
    cure: "Have it calibrated, and answer with the result; if it was out, repeat the readings.",
    check: Check::Job(check_calibration),
};

const NEVER_CHECKED: Rule = Rule {
    id: "instrument-never-checked",
    family: Family::Instruments,
    grade: Grade::Doubt,
    title: "An instrument has neither a calibration nor a passed check on record",
    looks_at: "Instruments that read something and are not retired. Quiet when either is there: a check box used on dates written down is a system too.",
    why: "Nothing in the book says that its readings are right.",
    sources: &["BS 7671:2018 643.1", "common practice: calibration certificates or a log of checks"],
    bad: Example::Keys("instruments/torque-1.md: {calibrations: ~}"),
    good: Example::Keys("instruments/torque-1.md: {calibrations: ~, checks: [{on: 2026-03-01, result: passed, against: test rig}]}"),
    cure: "Enter its last calibration, or check it against something known and enter that.",
    check: Check::Book(check_never),
};

const RETIRED_IN_USE: Rule = Rule {
    id: "retired-instrument-used",
    family: Family::Instruments,
    grade: Grade::Doubt,
    title: "A reading was taken with an instrument after it was withdrawn",
    looks_at: "The instruments of a finished visit against the day they were retired.",
    why: "Either the visit names the wrong instrument, or readings come from one that was put aside for a reason.",
    sources: &["common practice"],
    bad: Example::Keys("instruments/torque-1.md: {retired: 2026-10-01}"),
    good: Example::Keys("instruments/torque-1.md: {retired: 2026-11-10}"),
    cure: "Name the instrument that was used; if it was this one, repeat the readings.",
    check: Check::Job(check_retired),
};

const FAILED_CHECK: Rule = Rule {
    id: "failed-check-touches-visits",
    family: Family::Instruments,
    grade: Grade::Doubt,
    title: "An instrument failed a check, and readings were taken with it since its last good one",
    looks_at: "Each failed check: the finished visits after the last calibration or passed check that used the instrument for what it reads, up to the next good one. Told once for each failed check, in the instrument's record, with every visit named; when all of it has been read again with another instrument or after the repair, only as a tidy. Quiet for visits on the day of a good check, and for those that took no reading of the instrument's kind.",
    why: "Everything measured in between is suspect, and only the customers concerned can be told.",
    sources: &["common practice: readings since the last good check are repeated or accounted for"],
    bad: Example::Keys(
        "instruments/torque-1.md: {checks: [{on: 2026-09-01, result: passed, against: test rig}, {on: 2026-11-20, result: failed, against: test rig}]}",
    ),
    good: Example::Keys(
        "instruments/torque-1.md: {checks: [{on: 2026-11-02, result: passed, against: test rig}, {on: 2026-11-20, result: failed, against: test rig}]}",
    ),
    cure: "Go through the visits, most doubtful readings first: repeat them, or answer here why the fault cannot have touched them.",
    check: Check::Book(check_failed),
};

const LEADS_NOT_NULLED: Rule = Rule {
    id: "leads-not-nulled",
    family: Family::Instruments,
    grade: Grade::Doubt,
    title: "R1+R2 reads the same amount too high on every circuit",
    looks_at: "Visits with three circuits or more whose R1+R2 can be worked out from a measured length and copper cores of an unarmoured cable: every reading 0.10 ohm or more over it, and by nearly the same amount while the lengths differ. Quiet for estimated lengths, for armour and conduit, and where the excess grows with the length.",
    why: "A bad joint or a wrong length is one circuit's; the same excess on all of them is in the test leads or a clip.",
    sources: &[
        "IEC 60228 Table 1 and Table 2 (conductor resistance at 20 C)",
        "common practice: 0.10 ohm is a threshold of this program's own",
    ],
    bad: Example::Keys(OFFSET),
    good: Example::Keys(NO_OFFSET),
    cure: "Null the leads and read one circuit again: if it falls by that amount, correct or repeat the others.",
    check: Check::Job(check_offset),
};

/// Three lights on 1.5/1.0 of 20, 24 and 28 m.
macro_rules! three_lights {
    ($a:literal, $b:literal, $c:literal, $za:literal, $zb:literal, $zc:literal) => {
        concat!(
            "sites/elm-row/site.md: {boards: [{id: main, ways: 4}]}\ncircuits:\n",
            "- {id: main/2, cable: {length_m: 20}, readings: {r1_r2_ohm: ", $a, ", zs_ohm: ", $za, "}}\n",
            "- {id: main/3, serves: light in the porch, use: lighting, new: true, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/3}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 24, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}, readings: {r1_r2_ohm: ", $b, ", ir_test_v: 500, ir_live_live_mohm: \">999\", ir_live_earth_mohm: \">999\", ir_with_unit: false, polarity: correct, zs_ohm: ", $zb, ", zs_by: measured, zs_mode: no-trip, rcd_ms: 28, rcd_button: works}}\n",
            "- {id: main/4, serves: light in the loft, use: lighting, new: true, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/4}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 28, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}, readings: {r1_r2_ohm: ", $c, ", ir_test_v: 500, ir_live_live_mohm: \">999\", ir_live_earth_mohm: \">999\", ir_with_unit: false, polarity: correct, zs_ohm: ", $zc, ", zs_by: measured, zs_mode: no-trip, rcd_ms: 26, rcd_button: works}}\n",
        )
    };
}

const OFFSET: &str = three_lights!("0.81", "0.93", "1.05", "1.03", "1.10", "1.22");
const NO_OFFSET: &str = three_lights!("0.61", "0.74", "0.85", "0.83", "0.91", "1.06");

/// What an instrument must read to take a reading; nothing for what is looked at or tried by hand.
pub fn function_for(key: ReadingKey) -> Option<Reads> {
    match key {
        ReadingKey::R1R2 | ReadingKey::R2 | ReadingKey::RingR1 | ReadingKey::RingRn | ReadingKey::RingR2 => Some(Reads::Continuity),
        ReadingKey::IrTestV | ReadingKey::IrLiveLive | ReadingKey::IrLiveEarth => Some(Reads::Insulation),
        ReadingKey::Zs => Some(Reads::Loop),
        ReadingKey::RcdMs | ReadingKey::Rcd5xMs | ReadingKey::RcdHalf | ReadingKey::RcdDcMs => Some(Reads::Rcd),
        ReadingKey::Leakage => Some(Reads::Current),
        ReadingKey::Pilot => Some(Reads::Pilot),
        ReadingKey::Polarity | ReadingKey::RcdButton | ReadingKey::AfddButton => None,
    }
}

/// The instruments of a visit that take such a reading, by id; one that the register does not describe may have taken it too.
pub fn that_take<'a>(job: JobView<'a>, key: ReadingKey) -> Vec<&'a str> {
    let Some(function) = function_for(key) else { return Vec::new() };
    let takes = |name: &&String| {
        let record = job.site.book.instruments.get(*name);
        record.is_none_or(|record| record.data.reads.is_empty() || record.data.reads.contains(&function))
    };
    job.data().instruments.iter().filter(takes).map(String::as_str).collect()
}

/// The readings of a circuit that an instrument for `reads` takes; everything where the register does not say what it reads.
fn circuit_readings(readings: &Readings, reads: &[Reads]) -> impl Iterator<Item = Reading> {
    ReadingKey::ALL.iter().filter_map(move |key| {
        let calculated = *key == ReadingKey::Zs && readings.zs_by == Some(ZsBy::Calculated);
        let taken = reads.is_empty() || function_for(*key).is_some_and(|function| reads.contains(&function));
        key.figure_in(readings).filter(|_| taken && !calculated)
    })
}

/// Whether anything was read on a circuit.
pub fn has_any_reading(readings: &Readings) -> bool {
    circuit_readings(readings, &[]).next().is_some()
}

/// Whether something was read at the origin or at a board that an instrument for `reads` takes.
fn reads_at_origin(job: JobView<'_>, reads: &[Reads]) -> bool {
    let does = |function: Reads| reads.is_empty() || reads.contains(&function);
    let supply = job.data().supply.as_ref();
    let measured = |by: Option<SupplyBy>| by.is_none_or(|by| by == SupplyBy::Measured);
    let ze = supply.is_some_and(|supply| supply.ze_ohm.is_some() && measured(supply.ze_by));
    let ipf = supply.is_some_and(|supply| supply.ipf_ka.is_some() && measured(supply.ipf_by));
    let boards = job.data().boards.iter().any(|board| board.zdb_ohm.is_some() || board.ipf_ka.is_some());
    (does(Reads::Loop) && (ze || ipf || boards))
        || (does(Reads::Electrode) && supply.is_some_and(|supply| supply.electrode_ohm.is_some()))
        || (does(Reads::Voltage) && supply.is_some_and(|supply| supply.supply_v.is_some()))
}

/// Whether a visit has a reading that an instrument for `reads` takes.
pub fn reads_something(job: JobView<'_>, reads: &[Reads]) -> bool {
    let torque = (reads.is_empty() || reads.contains(&Reads::Torque)) && job.data().joints.iter().any(|joint| joint.torque_nm.is_some());
    let pilot = reads.contains(&Reads::Pilot) && job.circuits().any(|circuit| circuit.readings().pilot.is_some());
    torque
        || pilot
        || reads_at_origin(job, reads)
        || job.circuits().any(|circuit| circuit_readings(circuit.readings(), reads).next().is_some())
}

/// The days on which an instrument cannot be trusted, because it failed the check at their end.
#[derive(Debug, Clone, Copy)]
pub struct SuspectSpan {
    /// The failed check, by its place in the instrument's list.
    pub check: usize,
    /// The last good calibration or check; nothing when there was none.
    pub good: Option<Date>,
    /// The day of the failed check.
    pub failed: Date,
    /// The next good calibration or check; nothing when there has been none.
    pub good_again: Option<Date>,
}

impl SuspectSpan {
    /// Whether readings of that day are suspect.
    pub fn holds(&self, day: Date) -> bool {
        self.good.is_none_or(|good| day > good) && self.good_again.is_none_or(|again| day < again)
    }
}

/// The spans of an instrument's failed checks, in order of their dates. A second failed check before a good one adds nothing to the first.
pub fn suspect_spans(instrument: &Instrument) -> Vec<SuspectSpan> {
    // A check that failed sorts before a calibration of the same day: the instrument was put right that day.
    let good = instrument.calibrations.iter().filter_map(|calibration| Some((calibration.on?, 1, None)));
    let checks = instrument.checks.iter().enumerate().filter_map(|(index, check)| match check.result? {
        CheckResult::Passed => Some((check.on?, 1, None)),
        CheckResult::Failed => Some((check.on?, 0, Some(index))),
    });
    let mut events: Vec<(Date, u8, Option<usize>)> = good.chain(checks).collect();
    events.sort_unstable();
    let mut spans: Vec<SuspectSpan> = Vec::new();
    let (mut last_good, mut open) = (None, false);
    for (day, _, failed) in events {
        match failed {
            Some(check) if !open => {
                spans.push(SuspectSpan { check, good: last_good, failed: day, good_again: None });
                open = true;
            }
            Some(_) => {}
            None => {
                if let Some(span) = spans.last_mut().filter(|_| open) {
                    span.good_again = Some(day);
                }
                open = false;
                last_good = Some(day);
            }
        }
    }
    spans
}

/// Whether everything that a visit read with an instrument has been read again at later visits that are not suspect themselves.
pub fn has_been_repeated(job: JobView<'_>, instrument: &str, reads: &[Reads], span: &SuspectSpan) -> bool {
    let trusted = |later: &JobView<'_>| {
        let again = later.day().is_some_and(|day| !span.holds(day));
        later.is_finished() && (again || !later.data().instruments.iter().any(|name| name == instrument))
    };
    let touched = |circuit: &CircuitView<'_>| circuit_readings(circuit.readings(), reads).next().is_some();
    let circuits_again = job
        .circuits()
        .filter(touched)
        .all(|circuit| job.later().filter(trusted).filter_map(|later| later.circuit(circuit.id())).any(|later| touched(&later)));
    let origin_again = !reads_at_origin(job, reads) || job.later().filter(trusted).any(|later| reads_at_origin(later, reads));
    let torqued = |visit: JobView<'_>, joint: &Joint| {
        let same = |other: &Joint| other.torque_nm.is_some() && other.circuit == joint.circuit && other.place == joint.place;
        visit.data().joints.iter().any(same)
    };
    let does_torque = reads.is_empty() || reads.contains(&Reads::Torque);
    let joints = job.data().joints.iter().filter(|joint| does_torque && joint.torque_nm.is_some());
    let torque_again = joints.into_iter().all(|joint| job.later().filter(trusted).any(|later| torqued(later, joint)));
    circuits_again && origin_again && torque_again
}

/// The instruments of a visit that are in the register and read something there, with their place in the visit's list.
fn used<'a>(job: JobView<'a>) -> impl Iterator<Item = (usize, &'a str, &'a crate::book::Record<Instrument>)> {
    let instruments = job.data().instruments.iter().enumerate();
    let known = instruments.filter_map(move |(index, name)| Some((index, name.as_str(), job.site.book.instruments.get(name)?)));
    known.filter(move |(_, _, record)| !record.lost && job.is_finished() && reads_something(job, &record.data.reads))
}

fn check_calibration(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(day) = job.day() else { return };
    for (index, name, record) in used(job) {
        let calibrations = &record.data.calibrations;
        // An entry without a readable date may be the very one in force.
        if calibrations.is_empty() || calibrations.iter().any(|calibration| calibration.on.is_none() || calibration.due.is_none()) {
            continue;
        }
        let in_force = calibrations.iter().enumerate().filter(|(_, calibration)| calibration.on.is_some_and(|on| on <= day));
        let latest = in_force.max_by_key(|(_, calibration)| calibration.due);
        let place = job.place(path!["instruments", index]);
        let (message, reason) = match latest {
            Some((entry, calibration)) => {
                let Some(due) = calibration.due.filter(|due| *due < day) else { continue };
                let late = day.days_since(due);
                let message = format!("was due for calibration on {due}, and these tests are of {day}, {late} days later");
                (message, Some((path!["calibrations", entry, "due"], "due here")))
            }
            None => (format!("has no calibration on record before these tests of {day}"), None),
        };
        let passed = record.data.checks.iter().filter(|check| check.result == Some(CheckResult::Passed)).filter_map(|check| check.on);
        let next_good = calibrations.iter().filter_map(|calibration| calibration.on).chain(passed).filter(|on| *on >= day).min();
        let finding = report.raise(place, message);
        finding.subject(name).label("used here");
        if let Some(next) = next_good {
            finding.help(format!("{name} was found good on {next}: if that covers these readings, answer with it."));
        }
        if let Some((path, words)) = reason {
            finding.because(Place::at(&record.source, path), words);
        }
    }
}

fn check_never(view: BookView<'_>, report: &mut Report<'_>) {
    for (id, record) in view.book.instruments.iter().filter(|(_, record)| !record.lost) {
        let instrument = &record.data;
        let passed = instrument.checks.iter().any(|check| check.result != Some(CheckResult::Failed));
        if instrument.calibrations.is_empty() && !passed && !instrument.reads.is_empty() && instrument.retired.is_none() {
            let message = "has neither a calibration nor a passed check on record";
            report.raise(Place::at(&record.source, path!["calibrations"]), message).subject(id);
        }
    }
}

fn check_retired(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(day) = job.day() else { return };
    for (index, name, record) in used(job) {
        if let Some(retired) = record.data.retired.filter(|retired| *retired < day) {
            let message = format!("was withdrawn on {retired}, and these tests are of {day}");
            let finding = report.raise(job.place(path!["instruments", index]), message);
            finding.subject(name).because(Place::at(&record.source, path!["retired"]), "withdrawn here");
        }
    }
}

fn check_failed(view: BookView<'_>, report: &mut Report<'_>) {
    for (place, (id, record)) in view.book.instruments.iter().enumerate() {
        for span in suspect_spans(&record.data) {
            let of_this = |fact: &SuspectFact| fact.instrument as usize == place && fact.check as usize == span.check;
            let touched = view.facts.iter().enumerate().flat_map(|(site, facts)| facts.suspects.iter().map(move |fact| (site, fact)));
            let mut visits: Vec<(usize, &SuspectFact)> = touched.filter(|(_, fact)| of_this(fact)).collect();
            if visits.is_empty() {
                continue;
            }
            visits.sort_by_key(|(site, fact)| (fact.day, *site, fact.spot));
            let since = span.good.map_or("with no good check before it".to_owned(), |good| format!("last good on {good}"));
            let open = visits.iter().filter(|(_, fact)| !fact.repeated).count();
            let count = if visits.len() == 1 { "1 visit".to_owned() } else { format!("{} visits", visits.len()) };
            let again = match (open, visits.len()) {
                (0, _) => "; all has been read again since, which is not to say that it read the same".to_owned(),
                (open, all) if open == all => String::new(),
                (open, _) => format!("; {open} not read again since"),
            };
            let message = format!("failed the check of {}, {since}: the readings of {count} are suspect{again}", span.failed);
            let finding = report.raise(Place::at(&record.source, path!["checks", span.check]), message);
            finding.subject(id).label("failed here");
            if open == 0 {
                finding.grade(Grade::Tidy).help("Compare the readings then and since, and answer here with what came of it.");
            }
            for (site, fact) in visits {
                let file = file_of(view.book, site, fact.spot.job);
                let visit = file.strip_prefix("sites/").and_then(|file| file.strip_suffix(".md")).unwrap_or(file);
                let path = path!["instruments", fact.spot.item as usize];
                let again = if fact.repeated { ", read again since" } else { "" };
                finding.because(Place::in_file_named(file, path), format!("{visit}, tested {}{again}", fact.day));
            }
        }
    }
}

/// Excess of R1+R2 over its length that is no scatter, ohm. A threshold of this program's own.
const OFFSET_OHM: f64 = 0.10;
/// Circuits that must agree on it.
const OFFSET_CIRCUITS: usize = 3;

fn check_offset(job: JobView<'_>, report: &mut Report<'_>) {
    // Expected and read, of each circuit where both are sure.
    let mut pairs: Vec<(CircuitView<'_>, f64, f64)> = Vec::new();
    for circuit in job.circuits() {
        let Some(read) = circuit.readings().r1_r2_ohm.and_then(|reading| reading.exact()) else { continue };
        let Some(cable) = circuit.cable().map(|cable| cable.value).filter(|cable| cable.length_by == Some(LengthBy::Measured)) else {
            continue;
        };
        let Some(run) = Run::of(cable).filter(|run| matches!(run.protective, Protective::Core { .. })) else { continue };
        if run.with_armour(cable).is_some() {
            continue;
        }
        if let Ok(expected) = resistance::r1_r2(&run, 20.0, Coefficient::Tables) {
            pairs.push((circuit, expected.value, read));
        }
    }
    let excess = |pair: &(CircuitView<'_>, f64, f64)| pair.2 - pair.1;
    let range = |values: &mut dyn Iterator<Item = f64>| {
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), value| (least.min(value), most.max(value)))
    };
    let (least, most) = range(&mut pairs.iter().map(excess));
    let (shortest, longest) = range(&mut pairs.iter().map(|pair| pair.1));
    // Lengths that are nearly one cannot tell an amount that is added from one that grows with the length.
    let agree = most - least <= (least / 3.0).max(0.05) && longest - shortest >= least.max(OFFSET_OHM);
    let Some((first, _, _)) = pairs.first().filter(|_| pairs.len() >= OFFSET_CIRCUITS && least >= OFFSET_OHM && agree) else { return };
    let message =
        format!("R1+R2 on all {} circuits reads {least:.2} to {most:.2} ohm over what the lengths give: are the leads in it?", pairs.len());
    let finding = report.raise(first.reading_place("r1_r2_ohm"), message);
    for (circuit, expected, read) in &pairs {
        finding.because(circuit.reading_place("r1_r2_ohm"), format!("{}: {read:.2} read, about {expected:.2} expected", circuit.id()));
    }
}
