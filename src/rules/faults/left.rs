//! How something dangerous was left, and whether anybody goes back.

use super::ago;
use crate::finding::Grade;
use crate::path;
use crate::record::{Cause, Code, How, Left, ReadingKey};
use crate::rules::story::{FaultView, ObservationView, Standing};
use crate::rules::view::JobView;
use crate::rules::words::{days, listed, says};
use crate::rules::{Check, Example, Family, Report, Rule};

pub const FAULT_LEFT_LIVE: Rule = Rule {
    id: "fault-left-live",
    family: Family::Faults,
    grade: Grade::Danger,
    title: "Something dangerous was left live without written, acknowledged advice",
    looks_at: "The latest entry of each fault that is not fixed and was left live: coded C1 or C2, or with a burning smell, heat or a spark; and, as a doubt, coded FI. Quiet when the advice was written and acknowledged, when the fault is fixed, and for faults coded C3 without such a symptom.",
    why: "An electrician cannot cut a customer off. What can be done is to put it right, to isolate it with consent, or to say in writing that it must not be used and have that acknowledged: after a fire the words said at the door are worth nothing.",
    sources: &["common practice", "Electricity at Work Regulations 1989, reg 4 (memory)"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: burning-smell, found: terminal brown, cut_back_mm: 0, cause: termination, circuit: main/1, code: C2, state: open, left: live, return_by: 2026-12-01, advice: {words: leave it off, how: verbal, on: 2026-11-02}}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: burning-smell, found: terminal brown, cut_back_mm: 0, cause: termination, circuit: main/1, code: C2, state: open, left: live, return_by: 2026-12-01, advice: {words: leave it off, how: written, on: 2026-11-02, acknowledged: true}}]",
    ),
    cure: "Go back and isolate it with consent, or put it right. Until then: advice in writing today, and keep the acknowledgement.",
    check: Check::Job(check_left_live),
};

pub const ISOLATED_NOT_SECURED: Rule = Rule {
    id: "isolated-not-secured",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "Isolated without a lock, a notice, a person told or a date to go back",
    looks_at: "The latest entry of each fault that is not fixed and was left isolated. A danger where the fault is coded C1 or C2, or burned, heated or sparked, and neither lock, disconnection nor notice keeps it off. Quiet when a lock or disconnection, a notice, the person told and a date are all there.",
    why: "What is only switched off is switched on again by the next person who finds it off, and what has no date is not gone back to.",
    sources: &["Electricity at Work Regulations 1989, regs 12 and 13 (memory)", "common practice"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: no output, cause: device, circuit: main/1, code: C3, state: open, left: isolated, made_safe: {how: locked off at main/1, told: customer, on: 2026-11-02}, return_by: 2026-12-01}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: no output, cause: device, circuit: main/1, code: C3, state: open, left: isolated, made_safe: {how: locked off at main/1, notice: true, told: customer, on: 2026-11-02}, return_by: 2026-12-01}]",
    ),
    cure: "Lock it off or disconnect it, leave a notice, say whom you told, and set `return_by`.",
    check: Check::Job(check_isolated),
};

pub const C1_WITHOUT_ACTION: Rule = Rule {
    id: "c1-without-action",
    family: Family::Faults,
    grade: Grade::Danger,
    title: "Danger present, and nothing says what was done before leaving",
    looks_at: "Observations and faults coded C1. Quiet when it was made safe (how, whom told, when), when it was cleared at the visit, and when written advice was acknowledged; a doubt when a later visit cleared it; a breach when only the person told or the day is missing.",
    why: "C1 means that somebody can be hurt now. The visit does not end before it is made safe, or isolated with consent, or put in writing.",
    sources: &["BS 7671 Appendix 6, classification codes (memory)", "common practice"],
    bad: Example::Keys(
        "observations: [{id: o1, code: C1, what: live conductor within reach, where: main/2, clause: \"416.2.1\", due: 2026-12-02}]",
    ),
    good: Example::Keys(
        "observations: [{id: o1, code: C1, what: live conductor within reach, where: main/2, clause: \"416.2.1\", due: 2026-12-02, made_safe: {how: main/2 locked off, notice: true, told: customer, on: 2026-11-02}}]",
    ),
    cure: "If it was made safe, add `made_safe` with how, whom you told and when. If it was not, go back today.",
    check: Check::Job(check_c1),
};

pub const RETURN_DATE_MISSING: Rule = Rule {
    id: "return-date-missing",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "A fault is left open or watched, and no date says when somebody looks again",
    looks_at: "The latest entry of each fault that is being watched, or that is open, was left live or taken away, and is dangerous. Quiet when `return_by` or `watch_until` is set, when the fault is fixed, and where another rule asks for the date already.",
    why: "Told and forgotten: without a day and an owner the thing told about stays as it is until it burns.",
    sources: &["common practice"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: trips-later, found: holds on test, cause: device, circuit: main/1, code: C3, state: watching, left: live}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: trips-later, found: holds on test, cause: device, circuit: main/1, code: C3, state: watching, left: live, watch_until: 2026-12-02}]",
    ),
    cure: "Set `watch_until` or `return_by`, and keep the day.",
    check: Check::Job(check_no_return_date),
};

pub const RETURN_DATE_GONE_BY: Rule = Rule {
    id: "return-date-gone-by",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "The day to go back has passed and nobody went",
    looks_at: "`return_by` and `watch_until` of the latest entry of each fault that is not fixed. A danger when it is dangerous and was left live. Quiet from the day that a later visit continues this one, lists the fault under `repeats` or is named by `fixed_by`.",
    why: "What was told not to be used and never gone back to is the open end that hurts people.",
    sources: &["common practice"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: trips-later, found: holds on test, cause: device, circuit: main/1, code: C3, state: watching, left: live, watch_until: 2026-11-16}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: trips-later, found: holds on test, cause: device, circuit: main/1, code: C3, state: watching, left: live, watch_until: 2026-11-25}]",
    ),
    cure: "Go back, or ring and set a new day; record it as a visit that `continues` this one.",
    check: Check::Job(check_return_gone_by),
};

pub const NOT_MENTIONED_AGAIN: Rule = Rule {
    id: "fault-not-mentioned-again",
    family: Family::Faults,
    grade: Grade::Doubt,
    title: "A later visit went back and says nothing of the fault",
    looks_at: "Faults left open or watched whose visit is continued by a later finished one. Quiet when that visit lists the fault under `repeats`, or is named by `fixed_by`.",
    why: "The fault still stands as open: either it is, or the visit that fixed it left no trace of that.",
    sources: &["common practice"],
    bad: Example::Keys(
        "{faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: no output, cause: device, circuit: main/1, code: C3, state: open, left: live, return_by: 2026-11-20}], sites/elm-row/2026-11-19-callout.md: {record: job, kind: callout, status: complete, title: Looked again, regulations: BS 7671:2018+A4:2026, dates: {tested: 2026-11-19}, people: {tested: jd}, continues: 2026-11-02-shed}}",
    ),
    good: Example::Keys(
        "{faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: no output, cause: device, circuit: main/1, code: C3, state: open, left: live, return_by: 2026-11-20}], sites/elm-row/2026-11-19-callout.md: {record: job, kind: callout, status: complete, title: Looked again, regulations: BS 7671:2018+A4:2026, dates: {tested: 2026-11-19}, people: {tested: jd}, continues: 2026-11-02-shed, faults: [{id: f1, reported: 2026-11-02, symptom: dead, found: works again, cause: load, circuit: main/1, code: C3, state: fixed, left: live, fixed_by: 2026-11-19-callout, repeats: 2026-11-02-shed#f1}]}}",
    ),
    cure: "Set `fixed_by` here, or list the fault there with `repeats` and its state.",
    check: Check::Job(check_mentioned_again),
};

fn check_left_live(job: JobView<'_>, report: &mut Report<'_>) {
    for fault in job.faults().filter(|fault| fault.is_left_live() && fault.may_be_pending()) {
        let unsure = fault.fault.code == Some(Code::Fi);
        if !(fault.is_dangerous() || unsure) {
            continue;
        }
        // A word that cannot be read may say that all is well; a danger is told until it can be read that it is.
        let wants = match fault.has_hole(&["state", "fixed_by", "advice"]) {
            true if !fault.is_dangerous() => continue,
            true => ", and what was done or advised cannot be read".to_owned(),
            false => match fault.advice_wants() {
                Some(wants) => format!(" with {wants}"),
                None => continue,
            },
        };
        let since = fault.left_since();
        let since_words = since.map_or(String::new(), |day| format!(" since {day}"));
        let gone = since.map(|day| job.site.today.days_since(day)).filter(|gone| *gone > 0);
        let mut what = vec![fault.words()];
        what.extend(gone.map(days));
        what.retain(|word| !word.is_empty());
        let lead = fault.lead();
        let finding = report.raise(fault.place("left"), format!("{lead}left live{since_words}{wants} ({})", what.join(", ")));
        finding.subject(fault.id()).label("left live here");
        if !fault.is_dangerous() {
            finding.grade(Grade::Doubt).help("Nobody knows yet whether it is dangerous: look into it, or put the advice in writing.");
        }
        if fault.fault.advice.is_some() {
            finding.because(fault.place("advice"), "what was said");
        }
    }
}

/// Words that speak of something which stays off by itself.
const KEEPS_OFF: [&str; 12] =
    ["lock", "disconnect", "withdr", "remov", "taken out", "took out", "pulled", "cut off", "cut back", "blank", "unplug", "link"];

fn check_isolated(job: JobView<'_>, report: &mut Report<'_>) {
    for fault in job.faults().filter(|fault| fault.fault.left == Some(Left::Isolated) && fault.may_be_pending()) {
        // A draft is half written, but what is dangerous must be off for good before anybody drives away.
        if !(job.is_finished() || fault.is_dangerous()) || fault.has_hole(&["state", "fixed_by", "made_safe", "return_by", "watch_until"]) {
            continue;
        }
        let made_safe = fault.fault.made_safe.as_ref();
        let how = made_safe.and_then(|made_safe| made_safe.how.as_deref()).map(str::trim).filter(|how| !how.is_empty());
        let stays_off = how.is_some_and(|how| KEEPS_OFF.iter().any(|word| how.to_lowercase().contains(word)));
        let notice = made_safe.is_some_and(|made_safe| made_safe.notice == Some(true));
        let told = made_safe.is_some_and(|made_safe| says(&made_safe.told));
        let date = fault.fault.return_by.is_some() || fault.fault.watch_until.is_some();
        let inside = |key: &'static str| if made_safe.is_some() { fault.path("made_safe").at(key) } else { fault.path("made_safe") };
        let wants = [
            (stays_off, "a lock or disconnection", inside("how")),
            (notice, "a notice", inside("notice")),
            (told, "a person told", inside("told")),
            (date, "a date to go back", fault.path("return_by")),
        ];
        let Some((_, _, first)) = wants.iter().find(|(there, ..)| !there) else { continue };
        let missing: Vec<&str> = wants.iter().filter(|(there, ..)| !there).map(|(_, what, _)| *what).collect();
        let since = fault.left_since().map_or(String::new(), |day| format!(" on {day}{}", ago(job.site.today, day)));
        let words = fault.words();
        let words = if words.is_empty() { words } else { format!(" ({words})") };
        let message = format!("{}isolated{since} without {}{words}", fault.lead(), listed(&missing, "or"));
        let finding = report.raise(job.place(first.clone()), message);
        finding.subject(fault.id());
        if !stays_off && !notice && fault.is_dangerous() {
            finding.grade(Grade::Danger);
        } else if missing == ["a lock or disconnection"] && how.is_some() {
            let asked = "Say what keeps it off: a lock, a disconnection, a fuse taken out. Switched off is not isolated.";
            finding.grade(Grade::Doubt).help(asked);
        }
    }
}

fn check_c1(job: JobView<'_>, report: &mut Report<'_>) {
    for observation in job.observations().filter(|observation| observation.observation.code == Some(Code::C1)) {
        check_c1_observation(observation, report);
    }
    let faults = job.faults().filter(|fault| fault.fault.code == Some(Code::C1) && fault.may_be_pending());
    for fault in faults {
        let entry = fault.fault;
        let untold = entry.left.is_none() && entry.made_safe.is_none() && entry.advice.is_none();
        if untold && !fault.has_hole(&["left", "made_safe", "advice", "state", "fixed_by"]) {
            let message = format!("{}C1, and nothing says how it was left", fault.lead());
            report.raise(fault.place("code"), message).subject(fault.id()).label("danger present");
        }
    }
}

fn check_c1_observation(observation: ObservationView<'_>, report: &mut Report<'_>) {
    if observation.is_cleared_at_once() || observation.has_hole(&["made_safe", "advice", "cleared_by"]) {
        return;
    }
    let entry = observation.observation;
    let advised = entry
        .advice
        .as_ref()
        .is_some_and(|advice| says(&advice.words) && !matches!(advice.how, None | Some(How::Verbal)) && advice.acknowledged == Some(true));
    if advised {
        return;
    }
    let lead = observation.lead();
    let done = entry.made_safe.as_ref().filter(|made_safe| says(&made_safe.how));
    if let Some(done) = done {
        let missing = match (says(&done.told), done.on.is_some()) {
            (true, true) => return,
            (false, true) => "told",
            (_, false) => "on",
        };
        let words = if missing == "told" { "who was told" } else { "on which day" };
        let place = observation.job.place(observation.path("made_safe").at(missing));
        report.raise(place, format!("{lead}C1 made safe, and nothing says {words}")).subject(observation.id()).grade(Grade::Breach);
        return;
    }
    let finding = report.raise(observation.place("code"), format!("{lead}C1, and nothing says what was done before leaving"));
    finding.subject(observation.id()).label("danger present");
    if observation.is_cleared() || observation.reported_again().is_some() {
        finding.grade(Grade::Doubt).help("It is gone since. Say what was done on the day, or answer why that is not known.");
    }
}

/// Whether `nothing-found-nothing-measured` asks for the date.
pub fn is_asked_as_nothing_found(fault: FaultView<'_>) -> bool {
    fault.fault.cause == Some(Cause::NotFound) && !was_measured(fault)
}

/// Whether the visit read anything on the fault's circuit; on any circuit where it names none. Readings that could not be read count.
pub fn was_measured(fault: FaultView<'_>) -> bool {
    let mut on_it = fault.job.circuits().filter(|circuit| fault.fault.circuit.as_deref().is_none_or(|id| id == circuit.id()));
    on_it.any(|circuit| ReadingKey::ALL.iter().any(|key| key.is_in(circuit.readings()))) || fault.job.has_hole(&path!["circuits"])
}

fn check_no_return_date(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    for fault in job.faults().filter(FaultView::is_pending) {
        let watched = fault.standing() == Standing::Watching;
        // An isolated fault, and one left live without advice, are asked for their date where they are told.
        let told_elsewhere = fault.fault.left == Some(Left::Isolated)
            || fault.is_left_live() && fault.is_dangerous() && fault.advice_wants().is_some()
            || is_asked_as_nothing_found(fault);
        if told_elsewhere || !(watched || fault.is_dangerous()) || fault.has_hole(&["return_by", "watch_until", "state"]) {
            continue;
        }
        if fault.fault.return_by.is_some() || fault.fault.watch_until.is_some() {
            continue;
        }
        let key = if watched { "watch_until" } else { "return_by" };
        let state = if watched { "being watched" } else { "left open" };
        let message = format!("{}{state}, and no date says when somebody looks again", fault.lead());
        report.raise(fault.place(key), message).subject(fault.id());
    }
}

fn check_return_gone_by(job: JobView<'_>, report: &mut Report<'_>) {
    for fault in job.faults().filter(FaultView::may_be_pending) {
        let Some((key, day)) = fault.looks_again() else { continue };
        if day >= job.site.today || fault.followed_by().is_some() || fault.has_hole(&["state", "fixed_by", "return_by", "watch_until"]) {
            continue;
        }
        let promised = if key == "watch_until" { "watched until" } else { "to be gone back to by" };
        let gone = ago(job.site.today, day);
        let words = fault.words();
        let words = if words.is_empty() { words } else { format!(": {words}") };
        let left = match fault.fault.left {
            Some(Left::Live) => ", left live",
            Some(Left::Isolated) => ", left isolated",
            Some(Left::Removed) => ", part taken away",
            None => "",
        };
        let message = format!("{}{promised} {day}{gone}, and no later visit follows{words}{left}", fault.lead());
        let finding = report.raise(fault.place(key), message);
        finding.subject(fault.id()).label("this day has passed");
        if fault.is_dangerous() && fault.is_left_live() {
            finding.grade(Grade::Danger);
        }
    }
}

fn check_mentioned_again(job: JobView<'_>, report: &mut Report<'_>) {
    for fault in job.faults().filter(FaultView::is_pending) {
        let Some(later) = job.continued_by().find(|later| later.is_finished()) else { continue };
        if fault.has_hole(&["state", "fixed_by", "id"]) || later.has_hole(&path!["faults"]) {
            continue;
        }
        let message = format!("{}still open here, and {} went back without a word on it", fault.lead(), later.id());
        report.raise(fault.place("state"), message).subject(fault.id()).because(later.place(path!["continues"]), "went back here");
    }
}
