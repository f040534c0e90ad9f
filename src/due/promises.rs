//! What was promised: `follow_ups`, and open work in the text.

use super::item::{Basis, Draft, Kind};
use crate::finding::Grade;
use crate::path;
use crate::rules::owed::task_words;
use crate::rules::view::SiteView;
use crate::rules::words::says;

pub(super) fn collect(site: &SiteView<'_>, drafts: &mut Vec<Draft>) {
    follow_ups(site, drafts);
    tasks(site, drafts);
}

fn follow_ups(site: &SiteView<'_>, drafts: &mut Vec<Draft>) {
    for job in site.jobs() {
        let open = job.data().follow_ups.iter().enumerate().filter(|(_, promise)| promise.done.is_none());
        for (index, promise) in open {
            if job.has_hole(&path!["follow_ups", index, "done"]) {
                continue;
            }
            let what = promise.what.as_deref().filter(|_| says(&promise.what)).unwrap_or("a promise without words").trim();
            let with = promise.with.as_deref().filter(|_| says(&promise.with)).map_or(String::new(), |with| format!("with {with}"));
            let path = if promise.due.is_some() { path!["follow_ups", index, "due"] } else { path!["follow_ups", index] };
            drafts.push(
                Draft::of_visit(Kind::Promise, job, path, what)
                    .key(what)
                    .subject(promise.what.clone().unwrap_or_default())
                    .due(promise.due, Basis::Record)
                    .note(with)
                    .quieted_by("promise-past-date", Grade::Breach),
            );
        }
    }
}

fn tasks(site: &SiteView<'_>, drafts: &mut Vec<Draft>) {
    for (job, place, task) in site.open_tasks() {
        let words = task_words(task);
        let (day, note) = match &task.by {
            Some(Ok(day)) => (Some(*day), String::new()),
            Some(Err(by)) if by.contains(|c: char| c.is_ascii_digit()) => (None, format!("\"{by}\" is not a date")),
            _ => (None, String::new()),
        };
        let mut draft = Draft::new(Kind::Task, place, if words.is_empty() { "open work without words" } else { words })
            .of(site)
            .key(words)
            .subject(words)
            .due(day, Basis::Record)
            .note(note)
            .quieted_by("task-past-date", Grade::Breach);
        draft.item.visit = job.map(|job| job.id().to_owned());
        drafts.push(draft);
    }
}
