//! What was promised: claims, follow-ups, open work in the text; and visits that leave nothing for the next one to go by.

use super::ago;
use super::left::is_asked_as_nothing_found;
use crate::finding::Grade;
use crate::path;
use crate::record::{Cause, Claim, Photographs, Symptom};
use crate::rules::owed::task_words;
use crate::rules::story::FaultView;
use crate::rules::view::{JobView, SiteView};
use crate::rules::words::says;
use crate::rules::{Check, Example, Family, Report, Rule};

pub const NOTHING_FOUND_NOTHING_MEASURED: Rule = Rule {
    id: "nothing-found-nothing-measured",
    family: Family::Faults,
    grade: Grade::Doubt,
    title: "No fault found, nothing measured and no day to look again",
    looks_at: "Faults with `cause: not-found` that are not fixed. Quiet when the visit read anything on that circuit, and when a watch or return date is set.",
    why: "Nothing was learned and nothing promised: the third visit starts where the first one did.",
    sources: &["common practice"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: trips-later, found: nothing, cause: not-found, circuit: main/3, code: C3, state: open, left: live}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: trips-later, found: nothing, cause: not-found, circuit: main/2, code: C3, state: open, left: live}]",
    ),
    cure: "Set `watch_until` and ring that day. Next time read at least insulation, RCD time, leakage and supply voltage, and note the weather and the load.",
    check: Check::Job(check_nothing_found),
};

pub const HEAT_DAMAGE_NOT_SHOWN: Rule = Rule {
    id: "heat-damage-not-shown",
    family: Family::Faults,
    grade: Grade::Doubt,
    title: "Heat damage without the length cut back or a photograph",
    looks_at: "Faults with a burning smell or heat whose cause was found in a termination, device, cable, insulation or load. Quiet when `cut_back_mm` (0 will do) and a photograph are there; the photograph is not asked for where the site allows none, nor when the text says why there is none.",
    why: "A claim cannot be argued and the conductor cannot be judged later: once it is cut away, the picture and the length are all that is left of it.",
    sources: &["common practice"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: burning-smell, found: terminal brown, cause: termination, circuit: main/1, code: C2, state: fixed, left: live, fixed_by: 2026-11-02-shed}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: burning-smell, found: terminal brown, cut_back_mm: 40, cause: termination, circuit: main/1, code: C2, state: fixed, left: live, fixed_by: 2026-11-02-shed}]",
    ),
    cure: "Add `cut_back_mm` (0 when nothing was cut) and a photograph, or say in the text why there is none.",
    check: Check::Job(check_heat),
};

pub const CLAIM_WITHOUT_CHASE: Rule = Rule {
    id: "claim-without-chase",
    family: Family::Faults,
    grade: Grade::Tidy,
    title: "A claim is waiting for an answer, and no day is set to chase it",
    looks_at: "Claims that were sent and have neither an answer nor an outcome. Quiet when `chase` is set, and when a later entry of the fault carries the claim on.",
    why: "A claim that nobody chases dies quietly, and the warranty with it. The seller answers to a consumer for longer than the maker's warranty runs.",
    sources: &["common practice", "Consumer Rights Act 2015; six years, in Scotland five (common practice)"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: noise, found: hums, cause: device, circuit: main/1, code: C3, state: open, left: live, return_by: 2026-12-01, claim: {with: wholesaler, sent: 2026-11-02, ref: R-88, part_kept: true}}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: noise, found: hums, cause: device, circuit: main/1, code: C3, state: open, left: live, return_by: 2026-12-01, claim: {with: wholesaler, sent: 2026-11-02, ref: R-88, chase: 2026-12-01, part_kept: true}}]",
    ),
    cure: "Set `chase`; when they have answered, `answered` and `outcome`.",
    check: Check::Job(check_claims_without_chase),
};

pub const CLAIM_CHASE_GONE_BY: Rule = Rule {
    id: "claim-chase-gone-by",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "The day to chase a claim has passed",
    looks_at: "Claims that were sent and have neither an answer nor an outcome, with a `chase` before today. Quiet when a later entry of the fault carries the claim on.",
    why: "A claim that nobody chases dies quietly, and the warranty with it.",
    sources: &["common practice"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: noise, found: hums, cause: device, circuit: main/1, code: C3, state: open, left: live, return_by: 2026-12-01, claim: {with: wholesaler, sent: 2026-11-02, ref: R-88, chase: 2026-11-16, part_kept: true}}]",
    ),
    good: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: noise, found: hums, cause: device, circuit: main/1, code: C3, state: open, left: live, return_by: 2026-12-01, claim: {with: wholesaler, sent: 2026-11-02, ref: R-88, chase: 2026-11-16, answered: 2026-11-15, part_kept: true}}]",
    ),
    cure: "Ring them today with the reference, then set the next `chase` or what came of it.",
    check: Check::Job(check_claims_gone_by),
};

pub const PROMISE_PAST_DATE: Rule = Rule {
    id: "promise-past-date",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "A promise is past its date and not done",
    looks_at: "`follow_ups` with a `due` before today. Quiet when `done` is set.",
    why: "What was promised to a customer, a maker or a network operator is waited for at the other end.",
    sources: &["common practice"],
    bad: Example::Keys("follow_ups: [{what: send the photographs, with: customer, due: 2026-11-09}]"),
    good: Example::Keys("follow_ups: [{what: send the photographs, with: customer, due: 2026-11-09, done: 2026-11-08}]"),
    cure: "Do it and set `done`, or agree another day and change `due`.",
    check: Check::Job(check_promises),
};

pub const TASK_PAST_DATE: Rule = Rule {
    id: "task-past-date",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "Open work in the text is past its date",
    looks_at: "`- [ ]` items with `(by YYYY-MM-DD)` before today, in visits and in site records. Quiet when the box is ticked, and for items without a date.",
    why: "The box was drawn so that it would not be forgotten.",
    sources: &["record format, version 1"],
    bad: Example::Keys("body: \"No photographs were needed.\\n\\n- [ ] label the isolator (by 2026-11-16)\\n\""),
    good: Example::Keys("body: \"No photographs were needed.\\n\\n- [x] label the isolator (by 2026-11-16)\\n\""),
    cure: "Do it and tick the box, or give it another date.",
    check: Check::Site(check_tasks),
};

pub const TASK_DATE_UNREADABLE: Rule = Rule {
    id: "task-date-unreadable",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "The date of open work in the text cannot be read",
    looks_at: "`- [ ]` items whose `(by ...)` holds figures and is not a date as YYYY-MM-DD. Quiet when the box is ticked, and when there are no figures in it, as in `(by the door)`.",
    why: "A date that is not one never comes, and the work is never called overdue.",
    sources: &["record format, version 1"],
    bad: Example::Keys("body: \"No photographs were needed.\\n\\n- [ ] label the isolator (by 16/11/26)\\n\""),
    good: Example::Keys("body: \"No photographs were needed.\\n\\n- [ ] label the isolator (by 2026-12-16)\\n\""),
    cure: "Write the date as YYYY-MM-DD: `(by 2026-12-01)`.",
    check: Check::Site(check_task_dates),
};

fn check_nothing_found(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    for fault in job.faults().filter(FaultView::may_be_pending) {
        let dated = fault.fault.watch_until.is_some() || fault.fault.return_by.is_some();
        if dated || !is_asked_as_nothing_found(fault) || fault.has_hole(&["watch_until", "return_by", "cause", "circuit"]) {
            continue;
        }
        let on = fault.fault.circuit.as_deref().map_or(String::new(), |circuit| format!(" on {circuit}"));
        let message = format!("{}no fault found, nothing measured{on}, and no day to look again", fault.lead());
        report.raise(fault.place("watch_until"), message).subject(fault.id());
    }
}

fn check_heat(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    for fault in job.faults() {
        let hot = matches!(fault.fault.symptom, Some(Symptom::BurningSmell | Symptom::Heat));
        let found = matches!(fault.fault.cause, Some(Cause::Termination | Cause::Device | Cause::Cable | Cause::Insulation | Cause::Load));
        if !(hot && found) || fault.has_hole(&["cut_back_mm"]) {
            continue;
        }
        let cut = fault.fault.cut_back_mm.is_some();
        let shown = photographs_settled(job);
        let missing = match (cut, shown) {
            (true, true) => continue,
            (false, true) => "how much conductor was cut back",
            (true, false) => "a photograph",
            (false, false) => "how much conductor was cut back, nor a photograph",
        };
        let place = if cut { fault.place("symptom") } else { fault.place("cut_back_mm") };
        let verb = if cut { "heat damage without" } else { "heat damage, and the record does not say" };
        report.raise(place, format!("{}{verb} {missing}", fault.lead())).subject(fault.id());
    }
}

/// Whether there is a photograph, none is allowed, or the text speaks of photographs and so of why there is none.
fn photographs_settled(job: JobView<'_>) -> bool {
    let privacy = job.site.site().and_then(|site| site.privacy.as_ref());
    let none_allowed = privacy.is_some_and(|privacy| privacy.photographs == Some(Photographs::None));
    let pictured = job.record.body.links.iter().any(|link| link.image);
    let of_joint = job.data().joints.iter().any(|joint| says(&joint.photo));
    none_allowed || pictured || of_joint || job.record.source.body_text().to_lowercase().contains("photo")
}

/// Whom the claim is with and under which reference.
fn claim_words(claim: &Claim) -> String {
    let with = claim.with.as_deref().map_or(String::new(), |with| format!(" with {with}"));
    let reference = claim.reference.as_deref().map_or(String::new(), |reference| format!(" ({reference})"));
    format!("the claim{with}{reference}")
}

/// When the maker's warranty of the fault's unit ends, as the site's visits recorded it.
fn warranty_words(fault: FaultView<'_>) -> String {
    let ends = fault.fault.unit.as_deref().and_then(|serial| fault.job.site.warranty_of(serial));
    ends.map_or(String::new(), |(_, _, ends)| format!("; the warranty ends {ends}"))
}

fn check_claims_without_chase(job: JobView<'_>, report: &mut Report<'_>) {
    for (fault, claim) in job.waiting_claims().filter(|(_, claim)| claim.chase.is_none()) {
        let sent = claim.sent.map_or(String::new(), |sent| format!(", sent {sent}{},", ago(job.site.today, sent)));
        let message = format!("{}{}{sent} has no answer and no day to chase it{}", fault.lead(), claim_words(claim), warranty_words(fault));
        report.raise(job.place(fault.path("claim").at("chase")), message).subject(fault.id());
    }
}

fn check_claims_gone_by(job: JobView<'_>, report: &mut Report<'_>) {
    for (fault, claim) in job.waiting_claims() {
        let Some(chase) = claim.chase.filter(|chase| claim.sent.is_some() && *chase < job.site.today) else { continue };
        let gone = ago(job.site.today, chase);
        let message = format!("{}{} was to be chased by {chase}{gone}{}", fault.lead(), claim_words(claim), warranty_words(fault));
        report.raise(job.place(fault.path("claim").at("chase")), message).subject(fault.id());
    }
}

fn check_promises(job: JobView<'_>, report: &mut Report<'_>) {
    for (index, promise) in job.data().follow_ups.iter().enumerate() {
        let Some(due) = promise.due.filter(|due| *due < job.site.today && promise.done.is_none()) else { continue };
        if job.has_hole(&path!["follow_ups", index, "done"]) {
            continue;
        }
        let with = promise.with.as_deref().map_or(String::new(), |with| format!(" with {with}"));
        let message = format!("promised{with} for {due}{}, and not done", ago(job.site.today, due));
        report.raise(job.place(path!["follow_ups", index, "due"]), message).subject(promise.what.as_deref().unwrap_or_default());
    }
}

fn check_tasks(site: &SiteView<'_>, report: &mut Report<'_>) {
    for (_, place, task) in site.open_tasks() {
        if let Some(Ok(by)) = &task.by
            && *by < site.today
        {
            report.raise(place, format!("was due {by}{}, and its box is open", ago(site.today, *by))).subject(task_words(task));
        }
    }
}

fn check_task_dates(site: &SiteView<'_>, report: &mut Report<'_>) {
    for (_, place, task) in site.open_tasks() {
        if let Some(Err(by)) = &task.by
            && by.contains(|letter: char| letter.is_ascii_digit())
        {
            report.raise(place, format!("\"{by}\" is not a date")).subject(task_words(task));
        }
    }
}
