//! What a search found: two lines a hit for people, JSON and paths for programs.

use std::fmt::Write;

use serde::Serialize;

use super::place::{clamp, one_line};
use crate::find::{Found, Hit, Spot};

/// A telephone held upright shows about so many characters.
const LEAST_TEXT: usize = 36;
/// Places shown of one record; more are counted.
const SPOTS_SHOWN: usize = 5;

/// Two lines a hit: what it is, then where with what stands there. Shows the first `limit` hits.
pub fn hits(found: &Found, words: &[String], limit: usize, width: usize) -> String {
    let mut out = String::new();
    for hit in found.hits.iter().take(limit) {
        let site = hit.site.clone().unwrap_or_else(|| hit.kind.as_str().to_owned());
        let day = hit.day.map_or(String::new(), |day| format!(" {day}"));
        let slips = if hit.slips.is_empty() { String::new() } else { format!(" (for {})", hit.slips.join(", ")) };
        let _ = writeln!(out, "{}", cut(&one_line(&format!("{site}{day} {}{slips}", hit.title)), 0, width));
        for spot in hit.spots.iter().take(SPOTS_SHOWN) {
            let place = format!("  {}:{} ", one_line(&hit.file), spot.line);
            let room = width.saturating_sub(place.chars().count()).max(LEAST_TEXT);
            let _ = writeln!(out, "{place}{}", shown(spot, room));
        }
        if hit.spots.len() > SPOTS_SHOWN {
            let _ = writeln!(out, "  and {} more in this record", hit.spots.len() - SPOTS_SHOWN);
        }
    }
    let more = found.hits.len().saturating_sub(limit);
    if more > 0 {
        let _ = writeln!(out, "and {more} more; --limit {} shows all", found.hits.len());
    }
    if found.hits.is_empty() {
        out.push_str(&nothing(found, words));
    }
    out
}

/// Why there is no hit, word by word.
fn nothing(found: &Found, words: &[String]) -> String {
    let records = |count: usize| match count {
        0 => "in none".to_owned(),
        1 => "in 1 record".to_owned(),
        many => format!("in {many} records"),
    };
    let each: Vec<String> =
        words.iter().zip(&found.holding).map(|(word, count)| format!("{} {}", one_line(word), records(*count))).collect();
    if each.len() > 1 && found.looked_at > 0 {
        format!("No record holds all of these: {}.\n", each.join(", "))
    } else {
        format!("Nothing found in {} looked at.\n", super::counted(found.looked_at, "record", "records"))
    }
}

fn shown(spot: &Spot, room: usize) -> String {
    let before = clamp(&spot.text, 0..spot.at).end;
    let at = one_line(&spot.text[..before]).chars().count();
    cut(&one_line(&spot.text), at, room)
}

/// At most `room` characters of a text, with the one at `at` among them.
fn cut(text: &str, at: usize, room: usize) -> String {
    let count = text.chars().count();
    if count <= room {
        return text.to_owned();
    }
    let inner = room.saturating_sub(6).max(1);
    // A third of the room goes to what stands before.
    let start = if at < inner { 0 } else { at.saturating_sub(inner / 3).min(count - inner) };
    let take = if start == 0 { room.saturating_sub(3) } else { inner };
    let body: String = text.chars().skip(start).take(take).collect();
    let head = if start > 0 { "..." } else { "" };
    let tail = if start + take < count { "..." } else { "" };
    format!("{head}{}{tail}", body.trim())
}

/// The files of the hits, one a line.
pub fn hit_paths(found: &Found, limit: usize) -> String {
    found.hits.iter().take(limit).fold(String::new(), |mut out, hit| {
        let _ = writeln!(out, "{}", one_line(&hit.file));
        out
    })
}

#[derive(Serialize)]
struct Report<'a> {
    format: u32,
    total: usize,
    hits: Vec<Entry<'a>>,
}

#[derive(Serialize)]
struct Entry<'a> {
    file: &'a str,
    record: &'a str,
    site: Option<&'a str>,
    date: Option<String>,
    id: &'a str,
    kind: Option<&'a str>,
    title: &'a str,
    slips: &'a [String],
    spots: Vec<EntrySpot<'a>>,
}

#[derive(Serialize)]
struct EntrySpot<'a> {
    line: usize,
    text: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pointer: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    value: Option<&'a serde_json::Value>,
}

/// One JSON object, version 1.
pub fn hits_json(found: &Found, limit: usize) -> String {
    let report = Report { format: 1, total: found.hits.len(), hits: found.hits.iter().take(limit).map(entry).collect() };
    // Nothing in the report can fail to be written as JSON: strings, numbers and lists of them.
    let mut text = serde_json::to_string_pretty(&report).unwrap_or_default();
    text.push('\n');
    text
}

fn entry(hit: &Hit) -> Entry<'_> {
    let spots = hit.spots.iter().map(|spot| EntrySpot {
        line: spot.line,
        text: &spot.text,
        pointer: spot.value.as_ref().map(|(pointer, _)| pointer.as_str()),
        value: spot.value.as_ref().map(|(_, value)| value),
    });
    Entry {
        file: &hit.file,
        record: hit.kind.as_str(),
        site: hit.site.as_deref(),
        date: hit.day.map(|day| day.to_string()),
        id: &hit.id,
        kind: hit.sort,
        title: &hit.title,
        slips: &hit.slips,
        spots: spots.collect(),
    }
}
