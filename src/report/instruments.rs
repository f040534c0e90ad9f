//! The page of instruments: calibrations, checks, and what each has read.

use std::collections::{BTreeMap, BTreeSet};

use maud::{Markup, html};

use super::layout::{self, Here, INSTRUMENTS, anchor};
use super::words::Section;
use super::{Report, SiteLine, Use};
use crate::book::Record;
use crate::due::Item;
use crate::finding::Finding;
use crate::record::{Date, Instrument, Reads};

const HERE: Here = Here::Top(INSTRUMENTS);

/// What one instrument read, site by site.
type Uses<'a> = BTreeMap<&'a str, Vec<&'a Use>>;

/// The page.
pub fn page(report: &Report<'_>, sites: &[SiteLine]) -> String {
    let mut uses: BTreeMap<&str, Uses<'_>> = BTreeMap::new();
    for site in sites {
        for one in &site.readings {
            uses.entry(&one.instrument).or_default().entry(&site.id).or_default().push(one);
        }
    }
    let register = &report.book.instruments;
    let unknown: Vec<(&str, &Uses<'_>)> =
        uses.iter().filter(|(id, _)| !register.contains_key(**id)).map(|(id, uses)| (*id, uses)).collect();
    let body = html! {
        (overview(report))
        (layout::section(Section::Instruments, Some(register.len()), &html! {
            @if register.is_empty() { p { "The register is empty." } }
            @for (id, record) in register { (told(report, id, record, uses.get(id.as_str()))) }
        }))
        @if !unknown.is_empty() {
            (layout::section(Section::Unknown, Some(unknown.len()), &html! {
                @for (id, uses) in &unknown { h3 id=(anchor("instrument", id)) { (id) } (used(id, uses)) }
            }))
        }
    };
    layout::document(report, HERE, "Instruments", &body)
}

/// Every instrument on a line, with what it owes.
fn overview(report: &Report<'_>) -> Markup {
    let last = |record: &Record<Instrument>| record.data.calibrations.iter().filter_map(|calibration| calibration.on).max();
    let due = |record: &Record<Instrument>| record.data.calibrations.iter().filter_map(|calibration| calibration.due).max();
    let check =
        |record: &Record<Instrument>| record.data.checks.iter().filter(|check| check.on.is_some()).max_by_key(|check| check.on).cloned();
    let state = |record: &Record<Instrument>| match (record.data.retired, due(record)) {
        (Some(day), _) => format!("withdrawn {day}"),
        (None, Some(day)) if day < report.on => "calibration overdue".to_owned(),
        _ => String::new(),
    };
    let body = html! {
        tbody {
            @for (id, record) in &report.book.instruments {
                tr {
                    th scope="row" { a href=(format!("#{}", anchor("instrument", id))) { (id) } }
                    td { (record.data.kind.map(|kind| kind.to_string().replace('-', " ")).unwrap_or_default()) }
                    td { @if let Some(day) = last(record) { (layout::day(day)) } }
                    td { @if let Some(day) = due(record) { (layout::day(day)) } }
                    td { @if let Some(check) = check(record) {
                        @if let Some(day) = check.on { (layout::day(day)) } @if let Some(result) = check.result { ", " (result) }
                    } }
                    td { (state(record)) }
                }
            }
        }
    };
    let names = ["Instrument", "Kind", "Last calibrated", "Due", "Last check", "State"];
    layout::table("instruments-of", "The register of instruments and tools", &layout::heads(&names), &body)
}

fn told(report: &Report<'_>, id: &str, record: &Record<Instrument>, uses: Option<&Uses<'_>>) -> Markup {
    let data = &record.data;
    let file = record.source.path.as_str();
    let owed: Vec<&Item> = report.owed.items.iter().filter(|item| item.file == file).collect();
    let findings: Vec<&Finding> = report.verdict.findings.iter().filter(|finding| finding.place.file.path == file).collect();
    let mut facts: Vec<(String, String)> = Vec::new();
    let mut say = |name: &str, value: Option<String>| facts.extend(value.map(|value| (name.to_owned(), value)));
    say("Kind", data.kind.map(|kind| kind.to_string().replace('-', " ")));
    say("Serial", data.serial.clone());
    say("Reads", Some(reads_words(&data.reads)).filter(|words| !words.is_empty()));
    say("Highest insulation reading", data.ranges.as_ref().and_then(|ranges| ranges.ir_top_mohm).map(|top| format!("{top} Mohm")));
    say("Withdrawn", data.retired.map(|day| day.to_string()));
    say("Record", Some(file.to_owned()));
    let none = |_: &Item| Vec::new();
    let day = |day: Option<Date>| day.map(|day| day.to_string()).unwrap_or_default();
    html! {
        article.instrument aria-labelledby=(anchor("instrument", id)) {
            h3 id=(anchor("instrument", id)) { (id) }
            @if record.lost || !record.unreadable.is_empty() { p.unread { "Not all of this record can be read." } }
            (layout::facts(&facts))
            @if !owed.is_empty() { (layout::owed(report, HERE, &owed, &none)) }
            @if !findings.is_empty() { ol.entries { @for finding in &findings { (layout::finding(HERE, finding, true, None)) } } }
            @if !data.calibrations.is_empty() {
                (layout::table(&anchor("calibrations", id), &format!("Calibrations of {id}"), &layout::heads(&["Made", "Next due", "Certificate"]), &html! {
                    tbody {
                        @for calibration in &data.calibrations {
                            tr { td { (day(calibration.on)) } td { (day(calibration.due)) } td { (calibration.certificate.as_deref().unwrap_or_default()) } }
                        }
                    }
                }))
            }
            @if !data.checks.is_empty() {
                details {
                    summary { "Checks " span.count { "(" (data.checks.len()) ")" } }
                    (layout::table(&anchor("checks", id), &format!("Checks of {id}"), &layout::heads(&["Made", "Result", "Against"]), &html! {
                        tbody {
                            @for check in &data.checks {
                                tr {
                                    td { (day(check.on)) }
                                    td { (check.result.map(|result| result.to_string()).unwrap_or_default()) }
                                    td { (check.against.as_deref().unwrap_or_default()) }
                                }
                            }
                        }
                    }))
                }
            }
            @match uses { Some(uses) => (used(id, uses)), None => p { "No visit names it." } }
        }
    }
}

fn reads_words(reads: &[Reads]) -> String {
    reads.iter().map(|reads| reads.as_str()).collect::<Vec<_>>().join(", ")
}

/// Where it was used, and for what.
fn used(id: &str, uses: &Uses<'_>) -> Markup {
    let visits: usize = uses.values().map(Vec::len).sum();
    let body = html! {
        tbody {
            @for (site, uses) in uses {
                @let days = || uses.iter().filter_map(|one| one.day);
                @let reads: BTreeSet<&str> = uses.iter().flat_map(|one| &one.reads).map(|reads| reads.as_str()).collect();
                tr {
                    th scope="row" { a href=(HERE.to_site(site)) { (site) } }
                    td.figure { (uses.len()) }
                    td { @if let Some(day) = days().min() { (layout::day(day)) } }
                    td { @if let Some(day) = days().max() { (layout::day(day)) } }
                    td { (reads.into_iter().collect::<Vec<_>>().join(", ")) }
                }
            }
        }
    };
    let caption = format!(
        "What {id} was used for: {} at {}",
        crate::render::counted(visits, "visit", "visits"),
        crate::render::counted(uses.len(), "site", "sites")
    );
    layout::table(&anchor("used", id), &caption, &layout::heads(&["Site", "Visits", "First", "Last", "Read"]), &body)
}
