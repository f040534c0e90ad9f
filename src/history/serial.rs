//! A unit's story: where it was fitted, seen and removed, its faults and claims, and what was read on its circuit while it was there.

use super::faults::figures;
use super::site::unit_words;
use super::{Entry, FaultStory, Heading, Lines, Topic, faults, said};
use crate::book::Book;
use crate::path;
use crate::record::{Date, UnitEvent};
use crate::rules::identity::same_serial;
use crate::rules::view::SiteView;
use crate::sheets;

/// A unit's story.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SerialStory {
    /// The serial as the records write it.
    pub serial: String,
    /// Visit by visit in order of their days.
    pub visits: Vec<(Heading, Vec<Entry>)>,
    /// Its faults, each told whole.
    pub faults: Vec<FaultStory>,
    /// The safety notices that name it as dealt with.
    pub recalls: Vec<Entry>,
}

/// The story of a serial, however its dashes and capitals are written; nothing where no record has it.
pub fn serial(book: &Book, serial: &str, since: Option<Date>, today: Date) -> Option<SerialStory> {
    // What has no letter and no digit would be equal to every blank.
    if !serial.chars().any(char::is_alphanumeric) {
        return None;
    }
    let mut story = SerialStory { serial: String::new(), visits: Vec::new(), faults: Vec::new(), recalls: Vec::new() };
    for recall in book.recalls.values() {
        for (index, done) in recall.data.done.iter().enumerate() {
            if let Some(written) = done.serial.as_deref().filter(|written| same_serial(written, serial)) {
                written.clone_into(&mut story.serial);
                let places = crate::book::Places::of(&recall.source);
                let span = places.span(&recall.source, &path!["done", index]);
                let at = super::At { file: recall.source.path.clone(), line: crate::render::line_number(&recall.source, span.start) };
                let by = said(&done.by).map(|by| format!("done by {by}"));
                let advice = said(&recall.data.advice);
                let words = super::joined([Some(recall.id.clone()), advice, by]);
                story.recalls.push(Entry { topic: Topic::Recall, day: recall.data.issued, words, at });
            }
        }
    }
    let sites: Vec<&crate::book::SiteFiles> = book.sites.iter().collect();
    let of_site = |files: &crate::book::SiteFiles| {
        let (records, _) = book.read_site(files);
        at_site(&SiteView::new(book, &records, today), serial)
    };
    sheets::each_site(&sites, of_site, |AtSite { written, visits, faults }| {
        if let Some(written) = written {
            story.serial = written;
        }
        story.visits.extend(visits);
        story.faults.extend(faults);
        true
    });
    if story.serial.is_empty() {
        return None;
    }
    let in_time = |day: Option<Date>| since.is_none_or(|since| day.is_none_or(|day| day >= since));
    story.visits.retain(|(heading, _)| in_time(heading.day));
    story.faults.retain(|fault| fault.entries.iter().any(|entry| in_time(entry.day)));
    story.visits.sort_by(|(a, _), (b, _)| (a.day, &a.at).cmp(&(b.day, &b.at)));
    Some(story)
}

/// What one site tells of a unit.
struct AtSite {
    /// The serial as it writes it; nothing where it does not.
    written: Option<String>,
    visits: Vec<(Heading, Vec<Entry>)>,
    faults: Vec<FaultStory>,
}

fn at_site(site: &SiteView<'_>, serial: &str) -> AtSite {
    let is_it = |written: &Option<String>| written.as_deref().is_some_and(|written| same_serial(written, serial));
    let mut written = None;
    let mut visits = Vec::new();
    // The circuit it is on, from visit to visit.
    let mut on: Option<String> = None;
    for job in site.jobs() {
        let lines = Lines::of(job);
        let mut entries = Vec::new();
        let mut is_here = false;
        let mut leaves = false;
        for (index, unit) in job.data().units.iter().enumerate().filter(|(_, unit)| is_it(&unit.serial)) {
            written = written.or_else(|| said(&unit.serial));
            is_here = true;
            if let Some((topic, words)) = unit_words(unit) {
                entries.push(lines.entry(topic, &path!["units", index], words));
            }
            leaves = unit.event == Some(UnitEvent::Removed);
            on = said(&unit.circuit).or(on);
        }
        for circuit in job.circuits() {
            if circuit.circuit.ev.as_ref().is_some_and(|ev| is_it(&ev.unit)) {
                written = written.or_else(|| circuit.circuit.ev.as_ref().and_then(|ev| said(&ev.unit)));
                is_here = true;
                on = Some(circuit.id().to_owned());
            }
        }
        // Another unit named on the circuit has taken its place, whoever forgot to write that this one went.
        let others = |id: &str| {
            job.circuit(id).and_then(|circuit| circuit.circuit.ev.as_ref()?.unit.as_ref()).is_some_and(|unit| !same_serial(unit, serial))
        };
        leaves |= on.as_deref().is_some_and(others);
        if job.data().faults.iter().any(|fault| is_it(&fault.unit)) {
            written = written.or_else(|| job.data().faults.iter().find(|fault| is_it(&fault.unit)).and_then(|fault| said(&fault.unit)));
            is_here = true;
        }
        if let Some(circuit) = on.as_deref().and_then(|id| job.circuit(id)) {
            let figures = figures(circuit.readings());
            if !figures.is_empty() {
                let path = path!["circuits", circuit.index, "readings"];
                entries.push(lines.entry(Topic::Read, &path, format!("{}: {figures}", circuit.id())));
            }
        }
        if leaves {
            on = None;
        }
        if is_here || !entries.is_empty() {
            visits.push((Heading::of(job), entries));
        }
    }
    let mut of_unit = if written.is_some() { faults(site) } else { Vec::new() };
    of_unit.retain(|fault| is_it(&fault.unit));
    AtSite { written, visits, faults: of_unit }
}
