//! Faults said to be fixed, units changed, and entries that do not say enough or say two things at once.

use crate::finding::Grade;
use crate::path;
use crate::record::{Cause, FaultState, JobKind, Left, ReadingKey, Symptom, UnitEvent, Use};
use crate::rules::story::{FaultView, Standing};
use crate::rules::view::{CircuitView, JobView};
use crate::rules::words::{listed, says};
use crate::rules::{Check, Example, Family, Report, Rule};

pub const FIXED_WITHOUT_RETEST: Rule = Rule {
    id: "fixed-without-retest",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "A fault is closed and its circuit was not tested afterwards",
    looks_at: "The latest entry of each fixed fault that names a circuit, against what the visit that fixed it (or a later one) read there: continuity or Zs and insulation after a termination; insulation after water or damaged insulation; continuity, insulation and Zs after a cable; Zs, and the RCD where there is one, after a device; any reading after another cause; the RCD's time after trips. Quiet when the cause is the supply, the load, the user or not found, when a later visit has read it, and for a reading whose absence `not_taken` explains.",
    why: "A conductor that was disturbed, and perhaps heated, goes back into use: only a test shows that the repair holds and that nothing else was hurt.",
    sources: &["BS 7671:2018 Part 6, 643 (memory)", "common practice"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: neutral loose in the bar, cause: termination, circuit: main/3, code: C3, state: fixed, left: live, fixed_by: 2026-11-02-shed}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: neutral loose in the bar, cause: termination, circuit: main/2, code: C3, state: fixed, left: live, fixed_by: 2026-11-02-shed}]",
    ),
    cure: "Go back and test that circuit, or add the readings to the visit that fixed it.",
    check: Check::Job(check_retest),
};

pub const NEW_SERIAL_MISSING: Rule = Rule {
    id: "new-serial-missing",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "A unit was replaced and the new one has no serial",
    looks_at: "Units fitted at a swap, or fitted on a circuit from which the same visit removed one. Quiet when the serial is there.",
    why: "Without its serial a recall does not find the unit, the warranty cannot be claimed, and the old serial seems still in place.",
    sources: &["common practice"],
    bad: Example::Keys(
        "units: [{event: removed, serial: CP-100200, model: plover-7, circuit: main/1, why: lock seized}, {event: fitted, model: plover-7, circuit: main/1, firmware: \"4.1\", warranty_until: 2029-11-02, supplied_by: us, smart_statement: true}]",
    ),
    good: Example::Keys("units: [{event: removed, serial: CP-100200, model: plover-7, circuit: main/1, why: lock seized}]"),
    cure: "Read it off the unit or its box and add `serial`, quoted.",
    check: Check::Job(check_new_serial),
};

pub const REMOVED_AND_NOT_ISOLATED: Rule = Rule {
    id: "removed-and-not-isolated",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "Something was taken away, nothing is in its place, and nothing says that its circuit is off",
    looks_at: "Units removed, and faults left `removed`, with nothing fitted on that circuit then or later. A danger when a fault on that circuit says that it was left live. Quiet when a fault there was left isolated or made safe, and when the way is recorded as spare.",
    why: "The ends of the cable are where the unit was. If the circuit is on, somebody finds them with a finger.",
    sources: &["Electricity at Work Regulations 1989, regs 12 and 13 (memory)", "common practice"],
    bad: Example::Keys("units: [{event: removed, serial: CP-100200, model: plover-7, circuit: main/2, why: sent to the maker}]"),
    good: Example::Keys("units: [{event: removed, serial: CP-100200, model: plover-7, circuit: main/1, why: sent to the maker}]"),
    cure: "Record how the circuit was made safe in a fault (`left: isolated`, `made_safe`), or what was fitted instead.",
    check: Check::Job(check_removed),
};

pub const FAULT_STATE_CONTRADICTS: Rule = Rule {
    id: "fault-state-contradicts",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "A fault says two things about itself",
    looks_at: "Faults that are open or watched and name the finished visit that fixed them; that are fixed by a visit not yet finished, or earlier than their own; that are fixed, were left isolated or taken away, and name no visit that fixed them. Quiet when the visit itself fixed the fault and left it in use.",
    why: "Whoever looks for what is still open reads one of the two, and half of the time the wrong one.",
    sources: &["record format, version 1"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: loose, cause: termination, circuit: main/1, code: C3, state: open, left: live, fixed_by: 2026-11-02-shed}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: loose, cause: termination, circuit: main/1, code: C3, state: fixed, left: live, fixed_by: 2026-11-02-shed}]",
    ),
    cure: "Make `state`, `left` and `fixed_by` agree; `fixed_by` names the visit that put it right, this one or a later one.",
    check: Check::Job(check_contradiction),
};

pub const FAULT_INCOMPLETE: Rule = Rule {
    id: "fault-incomplete",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "A fault lacks its id, its circuit or unit, its state or how it was left",
    looks_at: "Faults of finished visits. Quiet about the circuit when the unit is named or the cause is the supply, the load or the user, and about how it was left when it is fixed.",
    why: "Without an id no later visit can take it up, without a circuit nobody knows what to test, and without a state it is neither open nor closed.",
    sources: &["record format, version 1"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: loose, cause: termination, code: C3, state: fixed, left: live, fixed_by: 2026-11-02-shed}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: operator's fuse, cause: supply, code: C3, state: fixed, left: live, fixed_by: 2026-11-02-shed}]",
    ),
    cure: "Add the key.",
    check: Check::Job(check_complete),
};

const CONTINUITY: &[ReadingKey] = &[ReadingKey::R1R2, ReadingKey::R2, ReadingKey::RingR1, ReadingKey::RingRn, ReadingKey::RingR2];
const CONTINUITY_OR_LOOP: &[ReadingKey] =
    &[ReadingKey::R1R2, ReadingKey::R2, ReadingKey::RingR1, ReadingKey::RingRn, ReadingKey::RingR2, ReadingKey::Zs];
const LOOP: &[ReadingKey] = &[ReadingKey::Zs];
const INSULATION: &[ReadingKey] = &[ReadingKey::IrLiveEarth, ReadingKey::IrLiveLive];
const RCD: &[ReadingKey] = &[ReadingKey::RcdMs, ReadingKey::Rcd5xMs];

/// What is to be read after a repair: what it is called, and any one of these.
type Wanted = (&'static str, &'static [ReadingKey]);

/// The tests that show a repair of this cause to hold; common practice.
fn wanted(fault: FaultView<'_>, has_rcd: bool) -> Vec<Wanted> {
    let mut wanted: Vec<Wanted> = match fault.fault.cause {
        Some(Cause::NotFound | Cause::User | Cause::Supply | Cause::Load) => return Vec::new(),
        Some(Cause::Termination) => vec![("continuity or Zs", CONTINUITY_OR_LOOP), ("insulation resistance", INSULATION)],
        Some(Cause::Insulation | Cause::Water) => vec![("insulation resistance", INSULATION)],
        Some(Cause::Cable) => vec![("continuity", CONTINUITY), ("insulation resistance", INSULATION), ("Zs", LOOP)],
        Some(Cause::Device) => vec![("Zs", LOOP)],
        Some(Cause::Other) | None => vec![("any test", ReadingKey::ALL)],
    };
    let trips = matches!(fault.fault.symptom, Some(Symptom::TripsAtOnce | Symptom::TripsLater | Symptom::TripsWhenWet));
    if has_rcd && (trips || fault.fault.cause == Some(Cause::Device)) {
        wanted.push(("RCD operating time", RCD));
    }
    wanted
}

fn has_any(circuit: CircuitView<'_>, keys: &[ReadingKey]) -> bool {
    keys.iter().any(|key| {
        let excused = circuit.circuit.not_taken.get(key).is_some_and(|why| !why.trim().is_empty());
        let unreadable = circuit.job.has_hole(&circuit.path().at("readings").at(key.as_str()));
        key.is_in(circuit.readings()) || excused || unreadable
    })
}

/// The visit that fixed a fault: the one it names, or its own.
fn fixing_visit(fault: FaultView<'_>) -> Option<JobView<'_>> {
    if fault.fault.fixed_by.is_some() { fault.fixer() } else { Some(fault.job) }
}

fn check_retest(job: JobView<'_>, report: &mut Report<'_>) {
    for fault in job.faults().filter(|fault| fault.standing() == Standing::Fixed && !fault.is_superseded()) {
        let Some(id) = fault.fault.circuit.as_deref() else { continue };
        let Some(fixer) = fixing_visit(fault).filter(|fixer| fixer.is_finished() && fixer.index >= job.index) else { continue };
        let no_word_on_who = fault.fault.fixed_by.is_none() && fault.fault.left != Some(Left::Live) && fault.fault.left.is_some();
        if no_word_on_who || fault.has_hole(&["state", "fixed_by", "cause"]) || fixer.is_unreadable(&path!["circuits"]) {
            continue;
        }
        let since: Vec<CircuitView<'_>> = std::iter::once(fixer).chain(fixer.later()).filter_map(|visit| visit.circuit(id)).collect();
        let known = since.first().copied().or_else(|| fixer.earlier().find_map(|visit| visit.circuit(id)));
        let has_rcd = known.is_some_and(|circuit| circuit.rcd().is_some());
        let missing = wanted(fault, has_rcd).into_iter().filter(|(_, keys)| !since.iter().any(|circuit| has_any(*circuit, keys)));
        let missing: Vec<&str> = missing.map(|(what, _)| what).collect();
        if missing.is_empty() {
            continue;
        }
        let cause = fault.fault.cause.map_or(String::new(), |cause| format!(" (cause: {})", cause.as_str().replace('-', " ")));
        let message = format!("{}fixed{cause}, and {id} was not tested since: {} missing", fault.lead(), listed(&missing, "and"));
        let finding = report.raise(fault.place("state"), message);
        finding.subject(fault.id()).help(format!("Test {id} and record it: {}.", listed(&missing, "and")));
        if fixer.index != job.index {
            finding.because(fixer.place(path!["circuits"]), "fixed at this visit");
        }
    }
}

fn check_new_serial(job: JobView<'_>, report: &mut Report<'_>) {
    let units = &job.data().units;
    for (index, unit) in units.iter().enumerate() {
        if unit.event != Some(UnitEvent::Fitted) || says(&unit.serial) || !job.is_finished() {
            continue;
        }
        let old = units.iter().position(|old| old.event == Some(UnitEvent::Removed) && old.circuit == unit.circuit);
        if old.is_none() && !job.is_kind(&[JobKind::Swap]) {
            continue;
        }
        let finding = report.raise(job.place(path!["units", index, "serial"]), "a unit was replaced, and the one now fitted has no serial");
        finding.subject(unit.circuit.as_deref().unwrap_or_default());
        if let Some(old) = old {
            finding.because(job.place(path!["units", old]), "in place of this one");
        }
    }
}

/// Whether the record accounts for a circuit from which something was taken: a unit fitted then or later, the circuit off, or spare.
fn is_accounted_for(job: JobView<'_>, circuit: &str) -> bool {
    std::iter::once(job).chain(job.later()).any(|visit| {
        let on_it = |name: &Option<String>| name.as_deref() == Some(circuit);
        let fitted = visit.data().units.iter().any(|unit| unit.event == Some(UnitEvent::Fitted) && on_it(&unit.circuit));
        let off = visit.faults().any(|fault| {
            let made_safe = fault.fault.made_safe.as_ref().is_some_and(|made_safe| says(&made_safe.how));
            on_it(&fault.fault.circuit) && (fault.fault.left == Some(Left::Isolated) || made_safe)
        });
        let spare = visit.circuit(circuit).is_some_and(|circuit| circuit.circuit.usage == Some(Use::Spare));
        fitted || off || spare || visit.has_hole(&path!["units"]) || visit.has_hole(&path!["faults"])
    })
}

fn check_removed(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    let removed = job.data().units.iter().enumerate().filter(|(_, unit)| unit.event == Some(UnitEvent::Removed));
    let mut told: Vec<&str> = Vec::new();
    for (index, unit) in removed {
        let Some(circuit) = unit.circuit.as_deref().filter(|circuit| !is_accounted_for(job, circuit)) else { continue };
        told.push(circuit);
        let live =
            job.faults().find(|fault| fault.fault.circuit.as_deref() == Some(circuit) && fault.is_left_live() && fault.may_be_pending());
        let message = "a unit was taken away, nothing is fitted here since, and nothing says that the circuit is off";
        let finding = report.raise(job.place(path!["units", index]), message);
        finding.subject(circuit);
        if let Some(live) = live {
            finding.grade(Grade::Danger).because(live.place("left"), "left live");
        }
    }
    for fault in job.faults().filter(|fault| fault.fault.left == Some(Left::Removed) && fault.is_pending()) {
        let Some(circuit) = fault.fault.circuit.as_deref().filter(|circuit| !told.contains(circuit)) else { continue };
        if !is_accounted_for(job, circuit) && !fault.has_hole(&["made_safe", "left"]) {
            let message = format!("{}the part was taken away, and nothing says that {circuit} is off", fault.lead());
            report.raise(fault.place("made_safe"), message).subject(fault.id());
        }
    }
}

fn check_contradiction(job: JobView<'_>, report: &mut Report<'_>) {
    for fault in job.faults() {
        let Some(state) = fault.fault.state else { continue };
        let named = fault.fault.fixed_by.as_deref();
        let fixer = fault.fixer();
        if fault.has_hole(&["state", "fixed_by", "left"]) || named.is_some() && fixer.is_none() {
            continue;
        }
        let lead = fault.lead();
        let message = match (state, named.zip(fixer)) {
            (_, Some((named, fixer))) if fixer.index < job.index => format!("{lead}fixed by {named}, which was before this visit"),
            (FaultState::Fixed, Some((named, fixer))) if !fixer.can_close() => {
                format!("{lead}fixed by {named}, which is not finished: it is still open")
            }
            (FaultState::Open | FaultState::Watching, Some((named, fixer))) if fixer.can_close() => {
                format!("{lead}{state}, and fixed by {named}: only one can be so")
            }
            (FaultState::Fixed, None) if matches!(fault.fault.left, Some(Left::Isolated | Left::Removed)) && !fault.is_superseded() => {
                let left = if fault.fault.left == Some(Left::Isolated) { "left isolated" } else { "its part taken away" };
                format!("{lead}fixed, yet {left}, and no visit is named that fixed it")
            }
            _ => continue,
        };
        let finding = report.raise(fault.place("state"), message);
        finding.subject(fault.id());
        if named.is_some() {
            finding.because(fault.place("fixed_by"), "names the visit that fixed it");
        }
    }
}

fn check_complete(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    for fault in job.faults() {
        let entry = fault.fault;
        let elsewhere = matches!(entry.cause, Some(Cause::Supply | Cause::Load | Cause::User));
        // A C1 that says nothing of how it was left is told as the danger it is.
        let c1_told = entry.code == Some(crate::record::Code::C1) && entry.made_safe.is_none() && entry.advice.is_none();
        let missing = [
            ("id", entry.id.is_none(), "has no id, so no later visit can take it up"),
            ("circuit", entry.circuit.is_none() && entry.unit.is_none() && !elsewhere, "names neither its circuit nor its unit"),
            ("state", entry.state.is_none(), "does not say whether it is open, watched or fixed"),
            ("left", entry.left.is_none() && fault.is_pending() && !c1_told, "does not say how it was left: live, isolated or removed"),
        ];
        for (key, _, words) in missing.into_iter().filter(|(_, missing, _)| *missing) {
            report.raise(fault.place(key), format!("{}{words}", fault.lead())).subject(fault.id());
        }
    }
}
