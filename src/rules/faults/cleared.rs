//! Observations of condition reports: cleared in time, and agreeing with the outcome.

use super::ago;
use crate::finding::Grade;
use crate::path;
use crate::record::{Code, Outcome};
use crate::rules::owed::{ClearBy, DAYS_TO_CLEAR};
use crate::rules::story::{ObservationView, Standing};
use crate::rules::view::JobView;
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::Edition;

pub const OBSERVATION_PAST_DUE: Rule = Rule {
    id: "observation-past-due",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "A C1, C2 or FI was not cleared in time",
    looks_at: "Observations coded C1, C2 or FI: against their own `due`, against 28 days in let homes in England and Northern Ireland, and with neither, as a doubt, against 28 days. Quiet when `cleared_by` names a finished visit, and when a later condition report has looked again.",
    why: "In a let home the landlord's clock runs from the report. Anywhere else it is a danger that somebody was told of and nobody closed.",
    sources: &[
        "Electrical Safety Standards in the Private Rented Sector (England) Regulations 2020, reg 3(4)-(6)",
        "Electrical Safety Standards for Private Tenancies Regulations (Northern Ireland) 2024",
        "28 days elsewhere: common practice",
    ],
    bad: Example::Keys(
        "observations: [{id: o1, code: C2, what: gas bond cut off short of the meter, where: meter cupboard, clause: \"411.3.1.2\", due: 2026-11-20}]",
    ),
    good: Example::Keys(
        "observations: [{id: o1, code: C2, what: gas bond cut off short of the meter, where: meter cupboard, clause: \"411.3.1.2\", due: 2026-11-25}]",
    ),
    cure: "Do the work or have it done, and name that visit under `cleared_by`; in a let home the written confirmation goes to tenant and council.",
    check: Check::Job(check_past_due),
};

pub const SATISFACTORY_WITH_OPEN_CODE: Rule = Rule {
    id: "satisfactory-with-open-code",
    family: Family::Faults,
    grade: Grade::Breach,
    title: "The report says satisfactory and holds an open C1, C2 or FI",
    looks_at: "Condition reports with `outcome: satisfactory`. Quiet for C3, and for what the same visit cleared. An FI alone is a breach up to BS 7671:2018+A3:2024 and a doubt from A4:2026, whose guidance is said to leave it to the inspector.",
    why: "Outcome and codes contradict one another, and a landlord, a buyer or a court will read the outcome only.",
    sources: &[
        "BS 7671 Appendix 6, guidance on the condition report (memory)",
        "BS 7671:2018+A4:2026 Appendix 6: only C1 and C2 make a report unsatisfactory (seen in one discussion, disputed there)",
    ],
    bad: Example::Keys(
        "{outcome: satisfactory, observations: [{id: o1, code: C2, what: no RCD on the outdoor socket, where: main/2, clause: \"411.3.3\", due: 2026-12-20}]}",
    ),
    good: Example::Keys(
        "{outcome: unsatisfactory, observations: [{id: o1, code: C2, what: no RCD on the outdoor socket, where: main/2, clause: \"411.3.3\", due: 2026-12-20}]}",
    ),
    cure: "Change the outcome, or name the visit that cleared it before the report was finished; if the code was wrong, code it again.",
    check: Check::Job(check_outcome),
};

fn check_past_due(job: JobView<'_>, report: &mut Report<'_>) {
    for observation in job.observations() {
        let entry = observation.observation;
        let Some(code) = observation.open_code().filter(|_| !observation.has_hole(&["due", "cleared_by"])) else { continue };
        let Some(by) = observation.clear_by().filter(|by| by.day() < job.site.today) else { continue };
        let day = by.day();
        let open = if code == Code::Fi { "not looked into" } else { "not cleared" };
        let gone = ago(job.site.today, day);
        let what = entry.what.as_deref().map_or(String::new(), |what| format!(": {what}"));
        let lead = observation.lead();
        let message = if matches!(by, ClearBy::Habit(_)) {
            format!("{lead}{code} without a due date and {open}, {DAYS_TO_CLEAR} days were over on {day}{gone}{what}")
        } else {
            format!("{lead}{code} {open}, due {day}{gone}{what}")
        };
        let finding = report.raise(observation.place(if entry.due.is_some() { "due" } else { "code" }), message);
        finding.subject(observation.id());
        match by {
            ClearBy::Law(_, law) => {
                finding.source(law);
                if entry.due.is_some() {
                    finding.label("later than the law allows");
                }
            }
            ClearBy::Habit(_) => {
                finding.grade(Grade::Doubt).source("common practice");
            }
            ClearBy::Report(_) => {}
        }
    }
}

fn check_outcome(job: JobView<'_>, report: &mut Report<'_>) {
    if job.data().outcome != Some(Outcome::Satisfactory) || !job.is_finished() {
        return;
    }
    let open = |observation: &ObservationView<'_>| !observation.is_cleared_at_once() && !observation.has_hole(&["code", "cleared_by"]);
    let observed = job.observations().filter(open).map(|observation| {
        let what = observation.observation.what.as_deref();
        (observation.lead(), observation.observation.code, observation.place("code"), observation.id(), what)
    });
    let faults =
        job.faults().filter(|fault| matches!(fault.standing(), Standing::Open | Standing::Watching) && !fault.has_hole(&["code", "state"]));
    let found = faults.map(|fault| (fault.lead(), fault.fault.code, fault.place("code"), fault.id(), fault.fault.found.as_deref()));
    let edition = job.edition();
    for (lead, code, place, id, what) in observed.chain(found) {
        let Some(code) = code.filter(|code| *code != Code::C3) else { continue };
        let what = what.map_or(String::new(), |what| format!(": {what}"));
        let finding = report.raise(place, format!("{lead}an open {code}, and the report says satisfactory{what}"));
        finding.subject(id).because(job.place(path!["outcome"]), "satisfactory here");
        if code == Code::Fi && edition.is_none_or(|edition| edition >= Edition::A4Y2026) {
            finding.grade(Grade::Doubt).help(
                "Up to A3:2024 an FI made a report unsatisfactory; A4:2026 is said to leave it to you. Check the printed book, then say why.",
            );
        }
    }
}
