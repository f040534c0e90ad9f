//! Stories for people: a site's, a unit's, and what changed. Wide enough for file and line beside each entry, or narrow for a telephone.

use std::fmt::Write;

use super::counted;
use super::place::visible;
use crate::history::{At, Change, Entry, FaultStory, Heading, SerialStory, SiteStory, VisitStory, short};

/// Columns from which places are shown with their whole path; below it with the file's name.
const WIDE: usize = 72;

/// A site's story.
pub fn site_story(story: &SiteStory, width: usize) -> String {
    let mut page = Page::new(width);
    let name = story.name.as_deref().filter(|name| *name != story.id).map(|name| format!(": {name}"));
    page.line(0, 2, &format!("{}{}", story.id, name.unwrap_or_default()));
    page.line(0, 2, &format!("{}{}", counted(story.visits.len(), "visit", "visits"), page.folder(&story.id)));
    for visit in &story.visits {
        page.gap();
        page.visit(visit);
    }
    page.out
}

/// A unit's story.
pub fn serial_story(story: &SerialStory, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(0, 2, &format!("unit {}: {}", story.serial, counted(story.visits.len(), "visit", "visits")));
    for (heading, entries) in &story.visits {
        page.gap();
        page.line(0, 4, &format!("{} {}", heading.site, heading_words(heading)));
        entries.iter().for_each(|entry| page.entry(2, entry, false));
        if entries.is_empty() {
            page.placed(2, 4, "named", &heading.at);
        }
    }
    if !story.faults.is_empty() {
        page.gap();
    }
    story.faults.iter().for_each(|fault| page.fault(0, fault));
    if !story.recalls.is_empty() {
        page.gap();
    }
    story.recalls.iter().for_each(|entry| page.entry(0, entry, true));
    page.out
}

/// The readings that changed by more than so many percent.
pub fn changed(site: &str, percent: f64, changes: &[Change], width: usize) -> String {
    let mut page = Page::new(width);
    let count = if changes.is_empty() { "no reading".to_owned() } else { counted(changes.len(), "reading", "readings") };
    page.line(0, 2, &format!("{site}: {count} changed by more than {percent} % between the last two visits that took it"));
    for change in changes {
        let unit = change.key.unit();
        let share = change.percent.map(|percent| {
            let sign = if change.is_off_scale() { "at least " } else { "" };
            format!(" ({sign}{percent:+.0} %)")
        });
        let words = format!(
            "{} {} from {} {unit} on {} to {} {unit} on {}{}",
            change.circuit,
            short(change.key),
            change.before,
            change.before_day,
            change.now,
            change.day,
            share.unwrap_or_default()
        );
        page.placed(0, 2, &words, &change.at);
    }
    page.out
}

/// `2024-10-29 callout, complete: Charge point trips`.
pub(crate) fn heading_words(heading: &Heading) -> String {
    let day = heading.day.map_or_else(|| heading.visit.clone(), |day| day.to_string());
    let kind = heading.kind.map(|kind| kind.to_string());
    let status = heading.status.map(|status| status.to_string());
    let both = [kind, status].into_iter().flatten().collect::<Vec<_>>().join(", ");
    let title = if heading.title.is_empty() { String::new() } else { format!(": {}", heading.title) };
    format!("{day} {both}{title}")
}

/// Text being set to a width.
pub(super) struct Page {
    /// What is set so far.
    pub(super) out: String,
    /// Columns to fit into.
    pub(super) width: usize,
}

impl Page {
    pub(super) fn new(width: usize) -> Page {
        Page { out: String::new(), width }
    }

    pub(super) fn is_wide(&self) -> bool {
        self.width >= WIDE
    }

    /// An empty line.
    pub(super) fn gap(&mut self) {
        self.out.push('\n');
    }

    /// A text from column `first`, its further lines from column `hang`.
    pub(super) fn line(&mut self, first: usize, hang: usize, text: &str) {
        self.words(first, hang, visible(text).split_whitespace());
    }

    /// The same, with the place where it stands at its end.
    pub(super) fn placed(&mut self, first: usize, hang: usize, text: &str, at: &At) {
        let text = visible(text);
        let place = visible(&self.place(at)).replace(char::is_whitespace, " ");
        self.words(first, hang, text.split_whitespace().chain([place.as_str()]));
    }

    fn words<'w>(&mut self, first: usize, hang: usize, words: impl Iterator<Item = &'w str>) {
        let mut column = first;
        let mut is_first = true;
        self.out.push_str(&" ".repeat(first));
        for word in words {
            let length = word.chars().count();
            if is_first {
                is_first = false;
            } else if column + 1 + length > self.width {
                let _ = write!(self.out, "\n{}", " ".repeat(hang));
                column = hang;
            } else {
                self.out.push(' ');
                column += 1;
            }
            self.out.push_str(word);
            column += length;
        }
        self.out.push('\n');
    }

    /// `sites/oak-lane/2026-11-02-shed.md:12`, or without the folder where there is no room for it.
    pub(super) fn place(&self, at: &At) -> String {
        let file = if self.is_wide() { at.file.as_str() } else { at.file.rsplit('/').next().unwrap_or_default() };
        format!("{file}:{}", at.line)
    }

    /// Where the files are, where their places do not say it.
    fn folder(&self, site: &str) -> String {
        if self.is_wide() { String::new() } else { format!(" in sites/{site}") }
    }

    /// One entry, with its day where that is asked for.
    pub(super) fn entry(&mut self, first: usize, entry: &Entry, dated: bool) {
        let day = entry.day.filter(|_| dated).map(|day| format!("{day} ")).unwrap_or_default();
        let hang = if self.is_wide() && dated { first + day.len() } else { first + 2 };
        self.placed(first, hang, &format!("{day}{}: {}", entry.topic.as_str(), entry.words), &entry.at);
    }

    fn visit(&mut self, visit: &VisitStory) {
        self.line(0, 4, &heading_words(&visit.heading));
        if let Some(before) = &visit.continues {
            self.line(2, 4, &format!("continues {before}"));
        }
        if visit.is_broken {
            self.placed(2, 4, "not all of this record can be read; `ampledger check` says where", &visit.heading.at);
        }
        visit.entries.iter().for_each(|entry| self.entry(2, entry, false));
        visit.faults.iter().for_each(|fault| self.fault(2, fault));
        for id in &visit.again {
            self.line(2, 4, &format!("takes up {id} again, told whole above"));
        }
        if visit.entries.is_empty() && visit.faults.is_empty() && visit.again.is_empty() {
            self.placed(2, 4, "nothing more is recorded", &visit.heading.at);
        }
    }

    /// A fault's whole story.
    pub(super) fn fault(&mut self, first: usize, fault: &FaultStory) {
        let on = [fault.circuit.clone(), fault.unit.as_ref().map(|unit| format!("unit {unit}")), Some(fault.words.clone())];
        let on = on.into_iter().flatten().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
        let visits = if fault.visits.len() > 1 { format!(" ({} visits)", fault.visits.len()) } else { String::new() };
        self.line(first, first + 2, &format!("fault {}: {on}{visits}", fault.id));
        fault.entries.iter().for_each(|entry| self.entry(first + 2, entry, true));
    }
}
