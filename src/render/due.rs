//! What is owed: three short lines an item for people, one object for programs.

use std::fmt::Write;

use miette::GraphicalTheme;
use serde::Serialize;

use super::human::Look;
use super::json::escaped;
use super::place::{one_line, visible};
use super::{counted, wrapped};
use crate::due::{Item, Selection};
use crate::record::Date;
use crate::rules::words::days;

/// Items in four parts, dangers first, then a line of counts.
pub fn due(selection: &Selection, look: Look) -> String {
    let mut out = String::new();
    let styles = if look.colour { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() }.styles;
    let on = selection.on;
    let until = selection.until.map_or("Later".to_owned(), |until| format!("Due by {until}"));
    let titles = ["Danger", "Overdue", &until, "No day set"];
    for (part, title) in titles.into_iter().enumerate() {
        let items: Vec<&Item> = selection.items.iter().filter(|item| part_of(item, on) == part).collect();
        if items.is_empty() {
            continue;
        }
        let style = if part == 0 { styles.error } else { styles.advice };
        let _ = writeln!(out, "{}", style.style(format!("{title} ({})", items.len())));
        for item in items {
            print(&mut out, item, on, look.width);
        }
        out.push('\n');
    }
    for file in &selection.unread {
        let _ = writeln!(out, "{}: not read in full, and what is owed there is not known", one_line(file));
    }
    let _ = writeln!(out, "{}", wrapped(&summary(selection), 0, look.width));
    out
}

/// When, what kind and where; what, in the record's own words; the place to open.
fn print(out: &mut String, item: &Item, on: Date, width: usize) {
    // Under its own heading that there is no day need not be said again.
    let none = if item.danger { "no day set" } else { "" };
    let day = item.day.map_or(none.to_owned(), |day| day.to_string());
    let site = item.site.as_deref().unwrap_or("instruments");
    let head = [day, left(item, on), item.kind.as_str().to_owned(), one_line(site)];
    let head: Vec<String> = head.into_iter().filter(|part| !part.is_empty()).collect();
    let on_one_line = format!("  {}", head.join("  "));
    let fits = on_one_line.chars().count() <= width;
    let _ = writeln!(out, "{}", if fits { on_one_line } else { wrapped(&head.join(", "), 2, width) });
    let _ = writeln!(out, "{}", wrapped(&shown(&item.what), 4, width));
    if !item.notes.is_empty() {
        let _ = writeln!(out, "{}", wrapped(&shown(&item.notes.join("; ")), 4, width));
    }
    let _ = writeln!(out, "    {}:{}", one_line(&item.file), item.line);
}

/// A text of a record as a terminal may have it.
fn shown(text: &str) -> String {
    visible(text).replace('\n', " ")
}

/// How far off its day is; how long it has stood where it has none.
pub(crate) fn left(item: &Item, on: Date) -> String {
    match (item.day.map(|day| day.days_since(on)), item.since.map(|since| on.days_since(since))) {
        (Some(0), _) => "today".to_owned(),
        (Some(ahead), _) if ahead > 0 => format!("in {}", days(ahead)),
        (Some(over), _) => format!("{} over", days(over.saturating_neg())),
        (None, Some(gone)) if gone > 0 => format!("{} so far", days(gone)),
        (None, _) => String::new(),
    }
}

/// The part of the list that an item stands in: danger, overdue, ahead, without a day.
fn part_of(item: &Item, on: Date) -> usize {
    match item.day {
        _ if item.danger => 0,
        Some(day) if day < on => 1,
        Some(_) => 2,
        None => 3,
    }
}

/// How many items stand in each part.
fn counts(selection: &Selection) -> [usize; 4] {
    let mut counts = [0; 4];
    selection.items.iter().for_each(|item| counts[part_of(item, selection.on)] += 1);
    counts
}

/// `6 dangers, 3 overdue, 5 due by 2027-02-23, 2 without a day; 4 later`.
fn summary(selection: &Selection) -> String {
    let [danger, overdue, ahead, undated] = counts(selection);
    let mut parts = Vec::new();
    if danger > 0 {
        parts.push(counted(danger, "danger", "dangers"));
    }
    let until = selection.until.map_or(String::new(), |until| format!(" by {until}"));
    let others = [(overdue, "overdue".to_owned()), (ahead, format!("due{until}")), (undated, "without a day".to_owned())];
    parts.extend(others.into_iter().filter(|(count, _)| *count > 0).map(|(count, words)| format!("{count} {words}")));
    let mut text = if parts.is_empty() { format!("nothing owed{until} that is on record") } else { parts.join(", ") };
    if selection.later > 0 {
        let _ = write!(text, "; {} later", selection.later);
    }
    if selection.other_dangers > 0 {
        let _ = write!(text, "; {} of other kinds not shown", counted(selection.other_dangers, "danger", "dangers"));
    }
    if selection.answered > 0 {
        let _ = write!(text, "; {} answered", selection.answered);
    }
    text
}

#[derive(Serialize)]
struct Report<'a> {
    format: u32,
    on: String,
    until: Option<String>,
    items: Vec<Entry<'a>>,
    unread: &'a [String],
    summary: SummaryEntry,
    #[serde(skip_serializing_if = "Option::is_none")]
    calendar: Option<CalendarEntry>,
}

#[derive(Serialize)]
struct Entry<'a> {
    kind: &'a str,
    danger: bool,
    code: Option<&'a str>,
    day: Option<String>,
    days_left: Option<i32>,
    basis: Option<&'a str>,
    since: Option<String>,
    site: Option<&'a str>,
    visit: Option<&'a str>,
    file: &'a str,
    line: usize,
    pointer: String,
    subject: &'a str,
    what: &'a str,
    notes: &'a [String],
    uid: &'a str,
}

#[derive(Serialize)]
struct SummaryEntry {
    danger: usize,
    overdue: usize,
    due: usize,
    undated: usize,
    later: usize,
    other_dangers: usize,
    answered: usize,
}

#[derive(Serialize)]
struct CalendarEntry {
    events: usize,
    undated: usize,
}

/// One JSON object, version 1. With a calendar written, how many events are in it and how many items had no day.
pub fn due_json(selection: &Selection, calendar: Option<(usize, usize)>) -> String {
    let [danger, overdue, ahead, undated] = counts(selection);
    let report = Report {
        format: 1,
        on: selection.on.to_string(),
        until: selection.until.map(|until| until.to_string()),
        items: selection.items.iter().map(|item| entry(item, selection.on)).collect(),
        unread: &selection.unread,
        summary: SummaryEntry {
            danger,
            overdue,
            due: ahead,
            undated,
            later: selection.later,
            other_dangers: selection.other_dangers,
            answered: selection.answered,
        },
        calendar: calendar.map(|(events, undated)| CalendarEntry { events, undated }),
    };
    // Nothing in the report can fail to be written as JSON: strings, numbers and lists of them.
    let mut text = escaped(&serde_json::to_string_pretty(&report).unwrap_or_default());
    text.push('\n');
    text
}

fn entry(item: &Item, on: Date) -> Entry<'_> {
    Entry {
        kind: item.kind.as_str(),
        danger: item.danger,
        code: item.code.map(|code| code.as_str()),
        day: item.day.map(|day| day.to_string()),
        days_left: item.day.map(|day| day.days_since(on)),
        basis: item.basis.map(|basis| basis.as_str()),
        since: item.since.map(|day| day.to_string()),
        site: item.site.as_deref(),
        visit: item.visit.as_deref(),
        file: &item.file,
        line: item.line,
        pointer: item.path.to_string(),
        subject: &item.subject,
        what: &item.what,
        notes: &item.notes,
        uid: &item.uid,
    }
}
