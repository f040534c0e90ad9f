//! Tests and facts that a finished visit owes its reader.

use super::view::JobView;
use super::{Check, Example, Family, Report, Rule};
use crate::finding::Grade;
use crate::path;
use crate::record::Status;

/// The rules of this family.
pub const RULES: &[&Rule] = &[&DRAFT];

/// The id of the one thing that is said of a draft, beside its dangers.
pub const STILL_DRAFT: &str = "still-draft";

const DRAFT: Rule = Rule {
    id: STILL_DRAFT,
    family: Family::Missing,
    grade: Grade::Tidy,
    title: "A record is still a draft",
    looks_at: "Visits with `status: draft`. Nothing else is said of them, save dangers.",
    why: "A half-finished note is legal; forgetting that it is half finished is how readings get lost.",
    sources: &["common practice"],
    bad: Example::Keys("status: draft"),
    good: Example::Keys("status: complete"),
    cure: "Finish the record while the visit is fresh, then set `status: complete`.",
    check: Check::Job(check_draft),
};

fn check_draft(job: JobView<'_>, report: &mut Report<'_>) {
    if job.data().status == Some(Status::Draft) {
        let age = job.day().map(|day| job.site.today.days_since(day)).filter(|days| *days > 0);
        let age = age.map_or(String::new(), |days| format!(" after {days} days"));
        report.raise(job.place(path!["status"]), format!("this record is still a draft{age}"));
    }
}
