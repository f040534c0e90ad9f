//! What is owed as a calendar, RFC 5545: one all-day event an item that has a day.
//!
//! A calendar goes to telephones and to whoever shares it. Of each item it holds the kind, the day and the site's id; the item's text only
//! where [`crate::due::Item::shared`] allows it, and a serial or anything from `private/` never.

use crate::due::{Item, Kind, Selection};
use crate::record::Date;
use crate::rules::words::days;

/// What says that a calendar is this program's own, and may be replaced by it.
pub const PRODUCT: &str = "PRODID:-//ampledger//due//EN";
/// Octets of a line, without its end (RFC 5545, 3.1).
const LINE_OCTETS: usize = 75;

/// The items with a day that a calendar gets.
pub fn dated(selection: &Selection) -> impl Iterator<Item = (&Item, Date)> {
    selection.items.iter().filter_map(|item| Some((item, item.day?)))
}

/// The whole calendar, as the file holds it.
pub fn ical(selection: &Selection) -> String {
    let mut out = Lines::default();
    out.put("BEGIN:VCALENDAR");
    out.put("VERSION:2.0");
    out.put(PRODUCT);
    out.put("CALSCALE:GREGORIAN");
    let mut events = dated(selection).peekable();
    if events.peek().is_none() {
        no_event(&mut out);
    }
    for (item, day) in events {
        event(&mut out, item, day, selection.on);
    }
    out.put("END:VCALENDAR");
    out.text
}

fn event(out: &mut Lines, item: &Item, day: Date, on: Date) {
    out.put("BEGIN:VEVENT");
    out.put(&format!("UID:{}@ampledger", item.uid));
    out.put(&format!("DTSTAMP:{}T000000Z", compact(on)));
    out.put(&format!("DTSTART;VALUE=DATE:{}", compact(day)));
    out.put(&format!("DTEND;VALUE=DATE:{}", compact(day.plus_days(1))));
    out.put(&format!("SUMMARY:{}", escaped(&summary(item))));
    out.put(&format!("DESCRIPTION:{}", escaped(&description(item, day, on))));
    out.put(&format!("CATEGORIES:{}", if item.danger { "danger" } else { item.kind.as_str() }));
    out.put("CLASS:PRIVATE");
    out.put("TRANSP:TRANSPARENT");
    if let Some(trigger) = alarm(item).filter(|_| day >= on) {
        out.put("BEGIN:VALARM");
        out.put("ACTION:DISPLAY");
        out.put(&format!("DESCRIPTION:{}", escaped(&summary(item))));
        out.put(&format!("TRIGGER:{trigger}"));
        out.put("END:VALARM");
    }
    out.put("END:VEVENT");
}

/// `danger, return: moss-farm`, and the text where it may be shown.
fn summary(item: &Item) -> String {
    let danger = if item.danger { "danger, " } else { "" };
    let place = match &item.site {
        Some(site) if item.site_shared => format!(": {site}"),
        Some(_) => ": a site".to_owned(),
        None => String::new(),
    };
    let text = if item.shared { format!(": {}", item.what) } else { String::new() };
    format!("{danger}{}{place}{text}", item.kind.as_str())
}

/// Since when it is over; with the text allowed, what else there is and the place to open.
fn description(item: &Item, day: Date, on: Date) -> String {
    let over = on.days_since(day);
    let mut lines = Vec::new();
    if over > 0 {
        lines.push(format!("Overdue since {day}; {} over on {on}.", days(over)));
    }
    if item.shared {
        lines.extend(item.notes.iter().cloned());
        lines.push(format!("{}:{}", item.file, item.line));
    } else {
        lines.push("The record says what it is: ampledger due.".to_owned());
    }
    lines.join("\n")
}

/// When to remind: a fortnight before what has to be booked, at eight on the day before for the rest.
fn alarm(item: &Item) -> Option<&'static str> {
    match item.kind {
        Kind::Inspection | Kind::Calibration | Kind::Warranty => Some("-P14D"),
        _ => Some("-PT16H"),
    }
}

/// A calendar must hold a component (RFC 5545, 3.4): with nothing to tell, the definition of universal time.
fn no_event(out: &mut Lines) {
    for line in [
        "BEGIN:VTIMEZONE",
        "TZID:UTC",
        "BEGIN:STANDARD",
        "DTSTART:19700101T000000",
        "TZOFFSETFROM:+0000",
        "TZOFFSETTO:+0000",
        "END:STANDARD",
        "END:VTIMEZONE",
    ] {
        out.put(line);
    }
}

fn compact(day: Date) -> String {
    day.to_string().replace('-', "")
}

/// A text value (RFC 5545, 3.3.11); control characters, and those that turn text around, are shown as U+FFFD.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in super::visible(&text.replace("\r\n", "\n")).chars() {
        match c {
            '\\' | ';' | ',' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            c => out.push(c),
        }
    }
    out
}

/// Content lines, folded at 75 octets and never within a character.
#[derive(Default)]
struct Lines {
    text: String,
}

impl Lines {
    fn put(&mut self, line: &str) {
        let mut used = 0;
        for c in line.chars() {
            if used + c.len_utf8() > LINE_OCTETS {
                self.text.push_str("\r\n ");
                used = 1;
            }
            self.text.push(c);
            used += c.len_utf8();
        }
        self.text.push_str("\r\n");
    }
}
