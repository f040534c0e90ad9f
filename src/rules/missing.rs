//! Tests and facts that a finished visit owes its reader.

mod circuits;
mod ev;
mod origin;
mod papers;
mod readings;
mod visit;

pub use readings::missing_readings;

use super::view::{CircuitView, JobView, SiteView};
use super::words::{days, listed};
use super::{Check, Example, Family, Report, Rule};
use crate::book::{FieldPath, Record};
use crate::finding::{Finding, Grade, Place};
use crate::path;
use crate::record::{JobKind, Status};

pub use readings::{lacking, shared_rcd};

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &DRAFT,
    &readings::MISSING_READING,
    &readings::NEW_WORK_TEST_SKIPPED,
    &readings::NOT_TAKEN_WITHOUT_REASON,
    &readings::TT_RCD_NOT_TESTED,
    &readings::LOOP_TEST_MODE_MISSING,
    &circuits::CIRCUIT_FACTS_MISSING,
    &circuits::DEVICE_FACTS_MISSING,
    &circuits::CABLE_FACTS_MISSING,
    &circuits::RCD_FACTS_MISSING,
    &circuits::TORQUE_NOT_RECORDED,
    &origin::SUPPLY_FACTS_MISSING,
    &origin::EARTHING_NOT_SHOWN,
    &origin::CUTOUT_NOT_KNOWN,
    &origin::BONDING_NOT_DESCRIBED,
    &origin::BOARD_FACTS_MISSING,
    &origin::ORIGIN_READING_MISSING,
    &origin::ELECTRODE_NOT_MEASURED,
    &origin::BOARD_READING_MISSING,
    &ev::EV_FACTS_MISSING,
    &ev::OPEN_PEN_NOT_EVIDENCED,
    &ev::EARTHS_APART_NOT_RECORDED,
    &ev::LOAD_LIMIT_NOT_PROVED,
    &ev::SMART_STATEMENT_MISSING,
    &ev::EV_CIRCUIT_NOT_LABELLED,
    &visit::VISIT_FACTS_MISSING,
    &visit::EDITION_NOT_CITED,
    &visit::PERSON_NOT_NAMED,
    &visit::INSTRUMENT_NOT_NAMED,
    &visit::PREMISES_NOT_GIVEN,
    &papers::ISSUED_WITHOUT_PAPER,
    &papers::PAPER_NOT_GIVEN,
    &papers::BUILDING_CONTROL_REFERENCE_MISSING,
];

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
        let age = age.map_or(String::new(), |gone| format!(" after {}", days(gone)));
        report.raise(job.place(path!["status"]), format!("this record is still a draft{age}"));
    }
}

/// The keys that one thing lacks, told together: ten blanks in one circuit are one finding and not ten.
struct Gaps<'r, T> {
    record: &'r Record<T>,
    found: Vec<(FieldPath, String)>,
}

impl<'r, T> Gaps<'r, T> {
    fn of(record: &'r Record<T>) -> Self {
        Gaps { record, found: Vec::new() }
    }

    /// Notes the key at `path` as missing unless it is `there`, or something stands in its place that could not be read.
    fn need(&mut self, there: bool, path: FieldPath, words: impl Into<String>) {
        if !there && !has_hole(self.record, &path) {
            self.found.push((path, words.into()));
        }
    }

    /// Raises one finding for all gaps, at the first of them. `message` is given their list with its verb: `Ze and Ipf are`.
    fn raise<'f>(&self, report: &'f mut Report<'_>, source: &str, message: impl FnOnce(&str) -> String) -> Option<&'f mut Finding> {
        let (first, _) = self.found.first()?;
        let words: Vec<&str> = self.found.iter().map(|(_, words)| words.as_str()).collect();
        let verb = if words.len() == 1 { "is" } else { "are" };
        let finding = report.raise(Place::at(&self.record.source, first.clone()), message(&format!("{} {verb}", listed(&words, "and"))));
        finding.label("missing here").source(source);
        Some(finding)
    }
}

/// Whether something stands at `path`, around it or within it that could not be read.
fn has_hole<T>(record: &Record<T>, path: &FieldPath) -> bool {
    record.unreadable.touch(path)
}

/// Whether a visit owes a whole set of readings and facts: a condition report, or one that made new circuits.
fn owes_all(circuit: CircuitView<'_>) -> bool {
    let kind = circuit.job.data().kind;
    let inspected = kind == Some(JobKind::Inspect);
    circuit.job.is_finished() && kind != Some(JobKind::Survey) && (inspected || circuit.is_new())
}

/// Whether anybody has finished work or a report at a site, so that its supply must be known.
fn is_worked_on(site: &SiteView<'_>) -> bool {
    site.jobs().any(|job| job.is_finished() && !job.record.lost && job.is_kind(&[JobKind::Install, JobKind::Alter, JobKind::Inspect]))
}
