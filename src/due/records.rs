//! Records not finished, and papers not issued or not given.

use super::item::{Basis, Draft, Kind};
use crate::finding::Grade;
use crate::path;
use crate::record::{JobKind, PaperKind, Status};
use crate::rules::view::{JobView, SiteView};
use crate::rules::words::says;

pub(super) fn collect(site: &SiteView<'_>, drafts: &mut Vec<Draft>) {
    for job in site.jobs().filter(|job| !job.record.lost) {
        unfinished(job, drafts);
        not_issued(job, drafts);
        not_given(job, drafts);
    }
}

fn title(job: JobView<'_>) -> String {
    let title = job.data().title.as_deref().filter(|_| says(&job.data().title)).unwrap_or("a visit without a title");
    title.trim().to_owned()
}

/// A draft, a plan or a job on hold, until a finished visit continues it. A plan is owed on its own day.
fn unfinished(job: JobView<'_>, drafts: &mut Vec<Draft>) {
    let (words, planned) = match job.data().status {
        Some(Status::Draft) => ("draft", false),
        Some(Status::Planned) => ("planned", true),
        Some(Status::OnHold) => ("on hold", false),
        _ => return,
    };
    if job.continued_by().any(JobView::can_close) {
        return;
    }
    let day = job.record.day();
    let mut draft = Draft::of_visit(Kind::Record, job, path!["status"], format!("{words}: {}", title(job))).key("status");
    draft = if planned { draft.due(day, Basis::Record) } else { draft.since(day) };
    if job.data().status == Some(Status::Draft) {
        draft = draft.quieted_by("still-draft", Grade::Tidy);
    }
    drafts.push(draft);
}

/// Finished work or a finished report, and no paper is recorded for it.
fn not_issued(job: JobView<'_>, drafts: &mut Vec<Draft>) {
    if !job.lacks_paper() {
        return;
    }
    let paper = if job.is_kind(&[JobKind::Inspect]) { "report" } else { "certificate" };
    let by = job.days_to_give_report().zip(job.day()).map(|(days, day)| day.plus_days(days));
    let mut draft = Draft::of_visit(Kind::Paper, job, path!["papers"], format!("no {paper} issued: {}", title(job)))
        .key("issue")
        .due(by, Basis::Law)
        .since(job.day())
        .note(if by.is_some() { "the law's day for a let home" } else { "" });
    if job.is_issued() {
        draft = draft.quieted_by("issued-without-paper", Grade::Breach);
    }
    drafts.push(draft);
}

/// A paper on record, and nothing says on which day it was given, here or at another visit.
fn not_given(job: JobView<'_>, drafts: &mut Vec<Draft>) {
    if !job.is_finished() {
        return;
    }
    for (index, paper) in job.data().papers.iter().enumerate() {
        let number = paper.number.as_deref().filter(|_| says(&paper.number));
        let elsewhere =
            |visit: JobView<'_>| visit.data().papers.iter().any(|other| other.on.is_some() && other.number.as_deref() == number);
        if paper.on.is_some() || job.has_hole(&path!["papers", index]) || number.is_some() && job.site.jobs().any(elsewhere) {
            continue;
        }
        let is_report = paper.kind == Some(PaperKind::ConditionReport);
        let by = job.days_to_give_report().filter(|_| is_report).zip(job.day()).map(|(days, day)| day.plus_days(days));
        let kind = paper.kind.map_or("paper".to_owned(), |kind| kind.as_str().replace('-', " "));
        let name = number.map_or(String::new(), |number| format!(" {number}"));
        let missing = if paper.issued.is_none() { "issued or given" } else { "given" };
        let mut draft = Draft::of_visit(Kind::Paper, job, path!["papers", index], format!("{kind}{name} not {missing}: {}", title(job)))
            .key(format!("{index}.{name}"))
            .subject(number.unwrap_or_default())
            .due(by, Basis::Law)
            .since(paper.issued.or(job.day()))
            .note(if by.is_some() { "the law's day for a let home" } else { "" });
        if job.is_issued() {
            draft = draft.quieted_by("paper-not-given", Grade::Breach);
        }
        drafts.push(draft);
    }
}
