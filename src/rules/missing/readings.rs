//! Readings that a circuit owes its record.

use super::super::protection;
use super::super::view::{CircuitView, JobView};
use super::super::words::{listed, says};
use super::super::{Check, Example, Family, Report, Rule};
use super::{Gaps, has_hole, owes_all};
use crate::book::FieldPath;
use crate::finding::Grade;
use crate::record::{DcDetection, Earthing, JobKind, ReadingKey, Use, ZsBy};
use crate::tables::required::{self, Asked, Owed, RcdRole, Work};
use crate::tables::{Edition, rcd};

pub const MISSING_READING: Rule = Rule {
    id: "missing-reading",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A reading that this circuit needs is not there",
    looks_at: "New circuits and circuits of a condition report, by use, RCD, charge point and edition. Quiet for spare ways, for a reading with a \
               reason in `not_taken`, for one that a shared RCD has from another circuit of the visit, for a circuit that a limitation with a \
               reason names by its id, and until the visit is `complete`. Asks only, where guidance and not the standard wants the reading.",
    why: "What was not measured on the day cannot be measured afterwards, and nobody can judge the circuit without it.",
    sources: &[
        "BS 7671:2018+A2:2022 Section 643 (initial verification)",
        "BS 7671:2018+A2:2022 Chapter 65 (condition reports)",
        "BS 7671:2008 to +A3:2015 Section 612; the chapter for condition reports from memory",
        "numbering of BS 7671:2018+A4:2026 not confirmed",
    ],
    bad: Example::Keys("circuits: [{id: main/1, readings: {rcd_ms: ~}}]"),
    good: Example::Keys("circuits: [{id: main/1, readings: {rcd_dc_ms: ~}, not_taken: {rcd_dc_ms: tester has no d.c. test}}]"),
    cure: "Take the reading and write it under `readings`. If it cannot be taken, `not_taken` holds the reason.",
    check: Check::Circuit(check_readings),
};

pub const NEW_WORK_TEST_SKIPPED: Rule = Rule {
    id: "new-work-test-skipped",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A test of new work was left out, with a reason",
    looks_at: "`not_taken` of new circuits: continuity, ring ends, insulation and polarity. A reason is enough for existing work, and for Zs, RCD and \
               d.c. tests that wait for something.",
    why: "A limitation is for what was there already. New work that was not proved is not finished, whatever the reason.",
    sources: &[
        "BS 7671:2018+A2:2022 Reg 643.2.1, 643.3, 643.6",
        "guidance of contractors' bodies: a limitation cannot cover new work (2015)",
    ],
    bad: Example::Keys("circuits: [{id: main/2, readings: {r1_r2_ohm: ~}, not_taken: {r1_r2_ohm: fittings already up}}]"),
    good: Example::Keys(
        "circuits: [{id: main/2, readings: {zs_ohm: ~, zs_mode: ~, zs_by: ~}, not_taken: {zs_ohm: supply not yet connected}}]",
    ),
    cure: "Go back and take it before the circuit is used; a reason does not stand in for it on new work.",
    check: Check::Circuit(check_skipped),
};

pub const NOT_TAKEN_WITHOUT_REASON: Rule = Rule {
    id: "not-taken-without-reason",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A reading is said not to be taken, and nothing says why",
    looks_at: "`not_taken` of finished visits.",
    why: "A limitation without its reason cannot be told from a forgotten test.",
    sources: &["guidance on condition reports: only limitations that can be justified belong on one", "record format, version 1"],
    bad: Example::Keys("circuits: [{id: main/1, readings: {rcd_dc_ms: ~}, not_taken: {rcd_dc_ms: \"\"}}]"),
    good: Example::Keys("circuits: [{id: main/1, readings: {rcd_dc_ms: ~}, not_taken: {rcd_dc_ms: tester has no d.c. test}}]"),
    cure: "Write the reason, or take the reading.",
    check: Check::Circuit(check_reasons),
};

pub const TT_RCD_NOT_TESTED: Rule = Rule {
    id: "tt-rcd-not-tested",
    family: Family::Missing,
    grade: Grade::Danger,
    title: "On TT earthing, an RCD that is the fault protection has no operating time",
    looks_at: "Circuits with an RCD on a TT supply, and charge points with a TT earth of their own, when they are new or reported on. Quiet for existing \
               work with a reason in `not_taken` or a limitation that names it, for a shared RCD timed on another circuit, and where `gives_fault_protection: false` leaves \
               it to another RCD that stands upstream.",
    why: "On TT the loop is too high for a breaker or fuse. If the RCD does not trip, metalwork stays live after an earth fault.",
    sources: &["BS 7671:2018+A2:2022 Reg 411.5.3 and 643.7.3", "BS 7671:2008 to +A3:2015 Section 612"],
    bad: Example::Keys(
        "{sites/elm-row/site.md: {supply: {earthing: TT, electrode: {kind: rod, where: by the gate}}}, supply: {ze_ohm: 62, electrode_ohm: 60, electrode_by: three-terminal}, circuits: [{id: main/1, ev: {open_pen: tt}, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 62.1}}, {id: main/2, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 62.4, rcd_ms: ~}}]}",
    ),
    good: Example::Keys("{}"),
    cure: "Do not leave it in use untested: time the RCD at its rated residual current, press its button, and write both.",
    check: Check::Circuit(check_tt),
};

pub const LOOP_TEST_MODE_MISSING: Rule = Rule {
    id: "loop-test-mode-missing",
    family: Family::Missing,
    grade: Grade::Tidy,
    title: "A loop was measured behind an RCD, and nothing says in which mode",
    looks_at: "Measured Zs of circuits with an RCD of 30 mA or less, once a visit.",
    why: "A no-trip test can read some tenths of an ohm high; without the mode a later reading cannot be compared.",
    sources: &["common practice"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {zs_mode: ~}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {zs_mode: ~, zs_by: calculated}}]"),
    cure: "Write `zs_mode: no-trip` or `zs_mode: high-current`.",
    check: Check::Job(check_loop_mode),
};

fn path_of(circuit: CircuitView<'_>, list: &'static str, key: ReadingKey) -> FieldPath {
    circuit.path().at(list).at(key.as_str())
}

/// The reason given for a reading that was not taken.
fn reason<'a>(circuit: CircuitView<'a>, key: ReadingKey) -> Option<&'a str> {
    circuit.circuit.not_taken.get(&key).map(|why| why.trim())
}

/// Another circuit of the visit that is on the same physical RCD and has the reading.
pub fn shared_rcd<'a>(circuit: CircuitView<'a>, key: ReadingKey) -> Option<CircuitView<'a>> {
    let of_device = matches!(key, ReadingKey::RcdMs | ReadingKey::Rcd5xMs | ReadingKey::RcdButton | ReadingKey::RcdHalf);
    let device = |circuit: CircuitView<'a>| circuit.rcd().and_then(|rcd| rcd.value.device.as_deref());
    let own = device(circuit).filter(|_| of_device)?;
    circuit.job.circuits().find(|other| key.is_in(other.readings()) && device(*other) == Some(own))
}

/// Whether the reading is there, or stands there and cannot be read, or is known from the circuit that shares the RCD.
fn is_there(circuit: CircuitView<'_>, key: ReadingKey) -> bool {
    key.is_in(circuit.readings()) || shared_rcd(circuit, key).is_some() || has_hole(circuit.job.record, &path_of(circuit, "readings", key))
}

/// Whether a limitation of the visit names the circuit and says why.
fn is_limited(circuit: CircuitView<'_>) -> bool {
    let names = |what: &str| what.split([' ', ',', ';', ':']).any(|word| word.trim_end_matches('.') == circuit.id());
    let mut limitations = circuit.job.data().limitations.iter();
    !circuit.id().is_empty() && limitations.any(|limit| limit.what.as_deref().is_some_and(names) && says(&limit.why))
}

/// Whether an RCD of that trip current, mA, gives additional protection.
fn is_additional(circuit: CircuitView<'_>, trip_ma: f64) -> bool {
    let most = circuit.job.edition().and_then(rcd::additional_protection);
    most.is_some_and(|most| trip_ma <= most.value)
}

fn rcd_role(circuit: CircuitView<'_>) -> RcdRole {
    let Some(rcd) = circuit.rcd() else { return RcdRole::None };
    let trip_ma = rcd.value.trip_ma.map(|trip_ma| *trip_ma);
    match (trip_ma, protection::is_by_own_rcd(circuit)) {
        (None, _) => RcdRole::Unknown,
        (Some(trip_ma), true) if is_additional(circuit, trip_ma) => RcdRole::FaultAndAdditional,
        (Some(trip_ma), false) if is_additional(circuit, trip_ma) => RcdRole::Additional,
        (Some(_), _) => RcdRole::Fault,
    }
}

/// What a circuit owes at a visit; nothing when the visit owes nothing, or when the circuit's use or the edition is not known.
fn owed(circuit: CircuitView<'_>) -> Vec<Owed> {
    if !owes_all(circuit) || has_hole(circuit.job.record, &circuit.path().at("rcd")) {
        return Vec::new();
    }
    let work = if circuit.job.is_kind(&[JobKind::Inspect]) { Work::Report } else { Work::New };
    owed_as(circuit, work)
}

/// For papers: the readings that the standard asks of a circuit as such work and that it has neither taken nor excused.
pub fn lacking(circuit: CircuitView<'_>, work: Work) -> Vec<Owed> {
    let mut owed = owed_as(circuit, work);
    let excused = |key: &ReadingKey| reason(circuit, *key).is_some_and(|why| !why.is_empty());
    owed.retain(|owed| owed.required && !owed.any_of.iter().any(|key| is_there(circuit, *key) || excused(key)));
    owed
}

/// What a circuit owes as such work, whether its record is finished or not.
fn owed_as(circuit: CircuitView<'_>, work: Work) -> Vec<Owed> {
    let (Some(usage), Some(edition)) = (circuit.usage(), circuit.job.edition()) else { return Vec::new() };
    let ev = circuit.ev().map(|ev| ev.value);
    let mode_3 = usage == Use::Ev && ev.and_then(|ev| ev.mode).is_some_and(|mode| *mode == 3);
    let detection = ev.and_then(|ev| ev.dc_detection);
    let asked = Asked {
        work,
        usage,
        rcd: rcd_role(circuit),
        mode_3,
        dc_detection: mode_3 && matches!(detection, Some(DcDetection::InUnit | DcDetection::Separate)),
        unit_connected: circuit.readings().ir_with_unit == Some(true),
    };
    let mut owed = required::readings(&asked, edition);
    if asked.work == Work::Report && is_limited(circuit) {
        owed.clear();
    }
    owed
}

/// Whether the danger of an untested RCD is told of this circuit, so that nothing milder need be.
fn is_tt_danger(circuit: CircuitView<'_>) -> bool {
    let times = [ReadingKey::RcdMs, ReadingKey::Rcd5xMs];
    let in_use = circuit.usage().is_some_and(|usage| usage != Use::Spare);
    let excused = circuit.job.is_kind(&[JobKind::Inspect])
        && (is_limited(circuit) || times.iter().any(|key| reason(circuit, *key).is_some_and(|why| !why.is_empty())));
    owes_all(circuit)
        && in_use
        && circuit.rcd().is_some()
        && protection::is_by_own_rcd(circuit)
        && !times.iter().any(|key| is_there(circuit, *key))
        && !excused
}

fn check_tt(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if !is_tt_danger(circuit) {
        return;
    }
    let is_tt = circuit.site().earthing() == Some(Earthing::Tt);
    let why = if is_tt { "the supply is TT" } else { "it is earthed by its own electrode" };
    let message = format!("the RCD is the fault protection ({why}) and has no operating time");
    let finding = report.raise(circuit.reading_place("rcd_ms"), message);
    finding.label("missing here");
    if let Some(edition) = circuit.job.edition() {
        let clause = if edition >= Edition::Y2018 { "Reg 411.5.3 and 643.7.3" } else { "Section 612" };
        finding.source(format!("{} {clause}", edition.min(Edition::LAST_CONFIRMED)));
    }
    if is_tt {
        finding.because(circuit.site().place(crate::path!["supply", "earthing"]), "TT earthing");
    }
}

/// What a circuit owes and has not, and that nothing is said of.
fn absent(circuit: CircuitView<'_>) -> Vec<Owed> {
    let tt_danger = is_tt_danger(circuit);
    let is_absent = |owed: &Owed| {
        let rcd_time = owed.any_of.iter().any(|key| matches!(key, ReadingKey::RcdMs | ReadingKey::Rcd5xMs));
        let spoken_of = owed.any_of.iter().any(|key| {
            // A reason, good or empty, is spoken of by another rule or accepted.
            is_there(circuit, *key) || reason(circuit, *key).is_some() || has_hole(circuit.job.record, &path_of(circuit, "not_taken", *key))
        });
        !(spoken_of || tt_danger && rcd_time)
    };
    owed(circuit).into_iter().filter(is_absent).collect()
}

/// The readings that [`MISSING_READING`] finds missing, for whoever helps to fill them in.
pub fn missing_readings(circuit: CircuitView<'_>) -> Vec<ReadingKey> {
    absent(circuit).iter().filter_map(|owed| owed.any_of.first().copied()).collect()
}

fn check_readings(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let absent = absent(circuit);
    let Some(first) = absent.iter().find(|owed| owed.required).or(absent.first()) else { return };
    let Some(key) = first.any_of.first() else { return };
    let words: Vec<&str> = absent.iter().filter_map(|owed| owed.any_of.first()).map(|key| key.words()).collect();
    let of = if circuit.job.is_kind(&[JobKind::Inspect]) { "the report of this circuit" } else { "this new circuit" };
    let message = match words.as_slice() {
        [only] => format!("{of} lacks {only}: {}", first.why),
        many => format!("{of} lacks {} readings: {}", many.len(), listed(many, "and")),
    };
    let keys: Vec<&str> = absent.iter().filter_map(|owed| owed.any_of.first()).map(|key| key.as_str()).collect();
    let all_excusable = absent.iter().all(|owed| owed.reason_will_do);
    let help = match (all_excusable, keys.len()) {
        (true, 1) => format!("Take it and write `{}`, or give the reason under `not_taken`.", listed(&keys, "and")),
        (true, _) => format!("Take them and write {}, or give each its reason under `not_taken`.", listed(&keys, "and")),
        (false, 1) => format!("Take it and write `{}`: on new work a reason does not stand in for it.", listed(&keys, "and")),
        (false, _) => {
            format!("Take them and write {}. On new work no reason stands in for the dead tests and polarity.", listed(&keys, "and"))
        }
    };
    let by_rcd = absent.iter().any(|owed| matches!(owed.any_of, [ReadingKey::RcdMs | ReadingKey::Rcd5xMs | ReadingKey::RcdButton]));
    let finding = report.raise(circuit.reading_place(key.as_str()), message);
    finding.help(help).label("missing here").source(sources(&absent));
    if !first.required {
        finding.grade(Grade::Doubt);
    }
    if let Some(rcd) = circuit.rcd().filter(|_| by_rcd) {
        finding.because(rcd.place(circuit.site()), "asked for because of this RCD");
    }
}

/// The authorities for some readings, each edition named once: `BS 7671:2018+A2:2022 Reg 643.2.1, 643.3; IEC 62955:2018 9.9.2`.
fn sources(owed: &[Owed]) -> String {
    let mut grouped: Vec<(&str, Vec<&str>)> = Vec::new();
    let cited: Vec<String> = owed.iter().map(Owed::source).collect();
    for source in &cited {
        let (text, clause) = source.split_once(" Reg ").unwrap_or((source, ""));
        match grouped.iter_mut().find(|(known, clauses)| *known == text && clauses.is_empty() == clause.is_empty()) {
            Some((_, clauses)) if clause.is_empty() || clauses.contains(&clause) => {}
            Some((_, clauses)) => clauses.push(clause),
            None => grouped.push((text, if clause.is_empty() { Vec::new() } else { vec![clause] })),
        }
    }
    let text = |(text, clauses): &(&str, Vec<&str>)| {
        if clauses.is_empty() { (*text).to_owned() } else { format!("{text} Reg {}", clauses.join(", ")) }
    };
    grouped.iter().map(text).collect::<Vec<_>>().join("; ")
}

fn check_skipped(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if circuit.circuit.not_taken.is_empty() {
        return;
    }
    for owed in owed(circuit).iter().filter(|owed| !owed.reason_will_do) {
        if owed.any_of.iter().any(|key| is_there(circuit, *key)) {
            continue;
        }
        let given = owed.any_of.iter().find_map(|key| reason(circuit, *key).filter(|why| !why.is_empty()).map(|why| (key, why)));
        let Some((key, why)) = given else { continue };
        let message = format!("{} of this new circuit was not taken ({why}): {}", key.words(), owed.why);
        report.raise(circuit.job.place(path_of(circuit, "not_taken", *key)), message).label("new work").source(owed.source());
    }
}

fn check_reasons(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if !circuit.job.is_finished() {
        return;
    }
    for (key, _) in circuit.circuit.not_taken.iter().filter(|(key, why)| why.trim().is_empty() && !key.is_in(circuit.readings())) {
        let message = format!("{} was not taken, and nothing says why", key.words());
        report.raise(circuit.job.place(path_of(circuit, "not_taken", *key)), message);
    }
}

fn check_loop_mode(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    let mut gaps = Gaps::of(job.record);
    for circuit in job.circuits() {
        let readings = circuit.readings();
        let measured = readings.zs_ohm.is_some() && readings.zs_by != Some(ZsBy::Calculated);
        let behind_rcd = circuit.rcd().and_then(|rcd| rcd.value.trip_ma).is_some_and(|trip_ma| is_additional(circuit, *trip_ma));
        if measured && behind_rcd {
            gaps.need(readings.zs_mode.is_some(), circuit.path().at("readings").at("zs_mode"), circuit.id());
        }
    }
    gaps.raise(report, "common practice", |list| format!("behind an RCD, {list} measured without saying in which loop test mode"));
}
