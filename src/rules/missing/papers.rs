//! Papers that must have left, and references that must have come back.

use super::super::view::JobView;
use super::super::words::says;
use super::super::{Check, Example, Family, Report, Rule};
use super::{Gaps, has_hole};
use crate::finding::Grade;
use crate::path;
use crate::record::{JobKind, Nation, NoticeTo};

pub const ISSUED_WITHOUT_PAPER: Rule = Rule {
    id: "issued-without-paper",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A visit is issued, and no paper is recorded",
    looks_at: "Work and reports with `status: issued`: at least one entry in `papers`.",
    why: "`issued` says that the customer has a paper; without its number nobody can find which.",
    sources: &["BS 7671:2018+A2:2022 Reg 644.1 and 644.4", "record format, version 1"],
    bad: Example::Keys("papers: []"),
    good: Example::Keys("{status: complete, papers: []}"),
    cure: "Write the paper under `papers`, or set `status: complete` until it is issued.",
    check: Check::Job(check_issued),
};

pub const PAPER_NOT_GIVEN: Rule = Rule {
    id: "paper-not-given",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "Nothing says that a paper was given to anybody",
    looks_at: "`papers` of visits with `status: issued`: to whom, how and on which day.",
    why: "The person who ordered the work is owed the original; a paper that cannot be shown to have been given was not.",
    sources: &["BS 7671:2018+A2:2022 Reg 644.4 and notes of Appendix 6"],
    bad: Example::Keys("papers: [{kind: installation-certificate, number: \"LE-0142\", issued: 2026-11-03}]"),
    good: Example::Keys(
        "papers: [{kind: installation-certificate, number: \"LE-0142\", issued: 2026-11-03, given_to: landlord, how: post, on: 2026-11-04}]",
    ),
    cure: "Give it, then write `given_to`, `how` and `on`.",
    check: Check::Job(check_given),
};

pub const BUILDING_CONTROL_REFERENCE_MISSING: Rule = Rule {
    id: "building-control-reference-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A new circuit in a home has no building control reference",
    looks_at: "Finished visits in England and Wales that made a new circuit in a home, from 30 days after the work. Quiet in Scotland and Northern Ireland, \
               whose rules are others, and elsewhere than in homes.",
    why: "A new circuit in a home is notifiable, and the buyer's solicitor asks for the certificate when the house is sold.",
    sources: &[
        "Building Regulations 2010 reg 12(6A) and 20 (England, Approved Document P 2013)",
        "Building Regulations 2010 Schedule 4 (Wales)",
    ],
    bad: Example::Keys(
        "{dates: {designed: 2026-09-20, installed: 2026-10-02, tested: 2026-10-02, energised: 2026-10-02}, circuits: [{id: main/1, ev: {load_limit: {proved: 2026-10-02}}}], notices: [{to: network-operator, route: notify, sent: 2026-10-10, answered: 2026-10-14, ref: \"EV-118\"}, {to: building-control, sent: 2026-10-12}]}",
    ),
    good: Example::Keys(
        "{notices: [{to: network-operator, route: notify, sent: 2026-11-10, answered: 2026-11-14, ref: \"EV-118\"}, {to: building-control, sent: 2026-11-12}]}",
    ),
    cure: "Notify through your scheme or the building control body, and write the notice with its `ref`.",
    check: Check::Job(check_building_control),
};

fn check_issued(job: JobView<'_>, report: &mut Report<'_>) {
    let owes = job.is_kind(&[JobKind::Install, JobKind::Alter, JobKind::Swap, JobKind::Inspect]);
    let path = path!["papers"];
    if job.is_issued() && owes && job.data().papers.is_empty() && !has_hole(job.record, &path) {
        report.raise(job.place(path), "this visit is issued, and no paper is recorded").source("BS 7671:2018+A2:2022 Reg 644.1");
    }
}

fn check_given(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_issued() {
        return;
    }
    for (index, paper) in job.data().papers.iter().enumerate() {
        let mut gaps = Gaps::of(job.record);
        gaps.need(says(&paper.given_to), path!["papers", index, "given_to"], "to whom it was given");
        gaps.need(paper.how.is_some(), path!["papers", index, "how"], "how it was given");
        gaps.need(paper.on.is_some(), path!["papers", index, "on"], "the day it was given");
        let kind = paper.kind.map_or("paper", |kind| kind.as_str());
        if let Some(finding) = gaps.raise(report, "BS 7671:2018+A2:2022 Reg 644.4", |list| format!("of this {kind}, {list} not recorded")) {
            finding.subject(paper.number.as_deref().unwrap_or_default());
        }
    }
}

fn check_building_control(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(((new, done, allowed), nation)) = job.untold_home_circuit().zip(job.site.nation()) else { return };
    let age = job.site.today.days_since(done);
    if f64::from(age) <= allowed.value {
        return;
    }
    let path = match job.notices_to(NoticeTo::BuildingControl).next() {
        Some((index, _)) => path!["notices", index, "ref"],
        None => path!["notices"],
    };
    if has_hole(job.record, &path) {
        return;
    }
    let source = match nation {
        Nation::Wales => "Building Regulations 2010 reg 20 and Schedule 4 (Wales)",
        _ => "Building Regulations 2010 reg 12(6A) and 20",
    };
    let message = format!("a new circuit in a home, {age} days old, has no building control reference");
    report.raise(job.place(path), message).subject(new.id()).source(source).because(new.place_of("new"), "new here");
}
