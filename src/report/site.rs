//! The page of one site: what is dangerous and owed there, what was found, the installation as last recorded, its readings over the
//! years, its equipment, and its story.

use std::collections::BTreeMap;

use maud::{Markup, html};

use super::layout::{self, Here, UNITS, anchor};
use super::pictures::{self, Picture};
use super::words::Section;
use super::{Page, Report, SiteLine, Use, circuits, installation, story};
use crate::book::SiteFiles;
use crate::due::Item;
use crate::history::{self, CircuitStory};
use crate::record::{Date, ReadingKey, Reads};
use crate::render::units::{doubt_words, event_words, fault_words, known, places};
use crate::rules::instruments::{function_for, that_take};
use crate::rules::view::SiteView;

const HERE: Here = Here::Site;

/// The page with the site's photographs, and what other pages need of the site.
pub fn page(report: &Report<'_>, files: &SiteFiles) -> (Vec<Page>, SiteLine) {
    let (records, strays) = report.book.read_site(files);
    let view = SiteView::new(report.book, &records, report.on);
    let stories: Vec<CircuitStory> = history::circuit_ids(&view).into_iter().filter_map(|id| history::circuit(&view, id, None)).collect();
    let strays: Vec<String> = strays.iter().map(|stray| stray.source.path.clone()).collect();
    let line = line(report, &view, &stories);
    let photographs = pictures::of(report.book, &view);
    let text = text(report, &view, &line, &Parts { stories: &stories, strays: &strays, photographs: &photographs });
    let page = Page { path: layout::site_path(&files.id), bytes: text.into_bytes() };
    (std::iter::once(page).chain(photographs.into_iter().filter_map(Picture::into_page)).collect(), line)
}

/// What has been made of the site's records and files.
struct Parts<'p> {
    stories: &'p [CircuitStory],
    strays: &'p [String],
    photographs: &'p [Picture],
}

fn text(report: &Report<'_>, view: &SiteView<'_>, line: &SiteLine, of: &Parts<'_>) -> String {
    let stories = of.stories;
    let id = view.id();
    let of_site = report.of_site(id);
    let items: Vec<&Item> = of_site.owed.iter().filter_map(|at| report.owed.items.get(*at)).collect();
    let (dangers, owed): (Vec<&Item>, Vec<&Item>) = items.into_iter().partition(|item| item.danger);
    let findings = report.findings_of(id);
    let none = |_: &Item| Vec::new();
    let private = report.private.as_ref().map(|private| private.get(id).map_or(&[][..], Vec::as_slice));
    let one_by_one = circuits::one_by_one(stories);
    let mut parts: Vec<(Section, Option<usize>, Markup)> = Vec::new();
    if !dangers.is_empty() {
        parts.push((Section::Danger, Some(dangers.len()), layout::owed(report, HERE, &dangers, &none)));
    }
    if let Some(private) = private {
        let body = if private.is_empty() {
            html! { p { "None are kept for this site." } }
        } else {
            layout::facts(private)
        };
        parts.push((Section::Private, None, body));
    }
    parts.push((
        Section::Owed,
        Some(owed.len()),
        html! {
            @if owed.is_empty() { p { "Nothing that the records name." } } @else { (layout::owed(report, HERE, &owed, &none)) }
        },
    ));
    parts.push((
        Section::Findings,
        Some(findings.len()),
        html! {
            @if findings.is_empty() { p { "Nothing found in what could be read." } }
            @else { ol.entries { @for finding in &findings { (layout::finding(HERE, finding, true, None)) } } }
        },
    ));
    parts.push((Section::Supply, None, installation::supply(report, view)));
    parts.push((Section::Boards, None, installation::boards(view)));
    parts.push((Section::Circuits, Some(stories.len()), circuits::table(stories)));
    if let Some(one_by_one) = one_by_one {
        parts.push((Section::Readings, None, one_by_one));
    }
    if !of_site.lives.is_empty() {
        parts.push((Section::Equipment, Some(of_site.lives.len()), equipment(report, &of_site.lives)));
    }
    parts.push((Section::Story, Some(line.visits), story::visits(view)));
    if let Some(photographs) = pictures::shown(HERE, view, of.photographs) {
        parts.push((Section::Photographs, None, photographs));
    }
    let sections: Vec<Section> = parts.iter().map(|(section, ..)| *section).collect();
    let body = html! {
        (layout::facts(&head(view, line)))
        (layout::unread(of.strays, "what stands in it is not told here"))
        (layout::contents(&sections))
        @for (section, count, body) in &parts { (layout::section(*section, *count, body)) }
    };
    let title = if line.name == id { id.to_owned() } else { format!("{} ({id})", line.name) };
    layout::document(report, HERE, &title, &body)
}

/// What is to be known of the place at a glance.
fn head(view: &SiteView<'_>, line: &SiteLine) -> Vec<(String, String)> {
    let mut facts = Vec::new();
    let mut say = |name: &str, value: Option<String>| facts.extend(value.map(|value| (name.to_owned(), value)));
    let site = view.site();
    say("Folder", Some(format!("sites/{}", view.id())));
    say("Premises", Some(line.premises.clone()).filter(|premises| !premises.is_empty()));
    say("Storeys", site.and_then(|site| site.storeys).map(|storeys| storeys.to_string()));
    say("Nation", view.nation().map(|nation| nation.to_string()));
    say("Installed", site.and_then(|site| site.installed.clone()));
    say("Alterations", site.and_then(|site| site.alterations.clone()));
    let first = view.jobs().filter_map(|job| job.day()).min();
    let days = match (first, line.last) {
        (Some(first), Some(last)) if first != last => format!("{} ({first} to {last})", line.visits),
        (Some(first), _) => format!("{} ({first})", line.visits),
        _ => line.visits.to_string(),
    };
    say("Visits", Some(days));
    say("Keep the record until", site.and_then(|site| site.keep_until).map(|day| day.to_string()));
    let privacy = site.and_then(|site| site.privacy.as_ref());
    let share = privacy.and_then(|privacy| privacy.share).map(|share| format!("share {share}"));
    let photographs = privacy.and_then(|privacy| privacy.photographs).map(|photographs| format!("photographs {photographs}"));
    let words: Vec<String> = share.into_iter().chain(photographs).chain(privacy.and_then(|privacy| privacy.why.clone())).collect();
    say("Privacy", Some(words.join(", ")).filter(|words| !words.is_empty()));
    facts
}

/// Units that are or were there, with all that happened to them.
fn equipment(report: &Report<'_>, lives: &[usize]) -> Markup {
    html! {
        ul.units {
            @for at in lives {
                @if let Some(life) = report.life(*at) {
                    li.unit id=(unit_anchor(*at)) {
                        p.lead { a href=(HERE.to_part(UNITS, &unit_anchor(*at))) { (life.name()) } }
                        @for place in places(life, report.on) { p { (place) } }
                        @let known = known(life, report.on);
                        @if !known.is_empty() { p.help { (known) } }
                        @for fault in report.fleet.faults_of(*at) { p { (fault_words(fault)) } }
                        @for doubt in &life.doubts { p.doubt { "Doubt: " (doubt_words(doubt)) } }
                        ul.events { @for event in &life.events { li { (event_words(event)) } } }
                    }
                }
            }
        }
    }
}

/// The id of a unit in a page. Serials may be lacking, or be two units'.
pub fn unit_anchor(life: usize) -> String {
    anchor("unit", &(life + 1).to_string())
}

/// What other pages need of the site.
fn line(report: &Report<'_>, view: &SiteView<'_>, stories: &[CircuitStory]) -> SiteLine {
    let site = view.site();
    let mut words: Vec<&str> = stories.iter().map(|story| story.serves.as_str()).collect();
    let of_site = report.of_site(view.id());
    let lives = of_site.lives.iter().filter_map(|at| report.life(*at));
    words.extend(lives.flat_map(|life| [life.serial.as_deref(), life.model.as_deref()]).flatten());
    words.retain(|word| !word.is_empty());
    words.sort_unstable();
    words.dedup();
    let name = site.and_then(|site| site.name.as_deref()).map(str::trim).filter(|name| !name.is_empty());
    SiteLine {
        id: view.id().to_owned(),
        name: name.unwrap_or(view.id()).to_owned(),
        premises: site.and_then(|site| site.premises).map(|premises| premises.to_string().replace('-', " ")).unwrap_or_default(),
        visits: view.records.jobs.len(),
        last: view.jobs().filter_map(|job| job.day()).filter(|day| *day <= report.on).max(),
        words: words.join(" "),
        readings: uses(view),
    }
}

/// What each visit read with which instrument.
fn uses(view: &SiteView<'_>) -> Vec<Use> {
    let mut uses = Vec::new();
    for job in view.jobs() {
        let mut of_job: BTreeMap<&str, Vec<Reads>> =
            job.data().instruments.iter().map(|instrument| (instrument.as_str(), Vec::new())).collect();
        for circuit in job.circuits() {
            for key in ReadingKey::ALL.iter().copied().filter(|key| key.is_in(circuit.readings())) {
                let Some(function) = function_for(key) else { continue };
                for instrument in that_take(job, key) {
                    let reads = of_job.entry(instrument).or_default();
                    if !reads.contains(&function) {
                        reads.push(function);
                    }
                }
            }
        }
        let day: Option<Date> = job.day();
        uses.extend(of_job.into_iter().map(|(instrument, mut reads)| {
            reads.sort_unstable_by_key(|reads| reads.as_str());
            Use { instrument: instrument.to_owned(), visit: job.id().to_owned(), day, reads }
        }));
    }
    uses
}
