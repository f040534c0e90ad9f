//! A site's story, visit by visit, each fault told whole, with the notes that stand below a record's front matter.

use maud::{Markup, html};

use super::layout::{self, anchor};
use crate::history::{self, Entry, FaultStory, VisitStory};
use crate::html::markdown;
use crate::render::history::heading_words;
use crate::rules::view::SiteView;

/// Every visit in order of days.
pub fn visits(view: &SiteView<'_>) -> Markup {
    let story = history::site(view, None, false);
    html! {
        @if story.visits.is_empty() { p { "No visit is recorded." } }
        @for visit in &story.visits { (told(view, visit)) }
    }
}

fn told(view: &SiteView<'_>, visit: &VisitStory) -> Markup {
    let id = anchor("visit", &visit.heading.visit);
    let notes = view.job(&visit.heading.visit).map(|job| job.record.source.body_text().trim()).filter(|notes| !notes.is_empty());
    html! {
        article.visit aria-labelledby=(id) {
            h3 id=(id) { (heading_words(&visit.heading)) }
            p.where { span.place { (visit.heading.at.file) } }
            @if let Some(before) = &visit.continues { p { "Continues " (before) "." } }
            @if visit.is_broken { p.unread { "Not all of this record can be read." } }
            (entries(&visit.entries, false))
            @for fault in &visit.faults { (told_fault(fault)) }
            @for again in &visit.again { p { "Takes up " (again) " again, told whole above." } }
            @if visit.entries.is_empty() && visit.faults.is_empty() && visit.again.is_empty() { p { "Nothing more is recorded." } }
            @if let Some(notes) = notes { details { summary { "Notes of " (visit.heading.visit) } div.notes { (markdown(notes)) } } }
        }
    }
}

fn told_fault(fault: &FaultStory) -> Markup {
    let on = [fault.circuit.clone(), fault.unit.as_ref().map(|unit| format!("unit {unit}")), Some(fault.words.clone())];
    let on = on.into_iter().flatten().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
    html! {
        div.fault.pending[fault.is_pending] {
            h4 { "Fault " (fault.id) ": " (on) @if fault.visits.len() > 1 { span.count { " (" (fault.visits.len()) " visits)" } } }
            (entries(&fault.entries, true))
        }
    }
}

fn entries(entries: &[Entry], dated: bool) -> Markup {
    html! {
        @if !entries.is_empty() {
            ul.told {
                @for entry in entries {
                    li {
                        @if dated { @if let Some(day) = entry.day { (layout::day(day)) " " } }
                        span.topic { (entry.topic.as_str()) } " " (entry.words) " " (layout::place(&entry.at.file, entry.at.line))
                    }
                }
            }
        }
    }
}
