//! A record as it may be handed over: private words cut out, names of what stays behind or was renamed put right, and still a record.

use std::ops::Range;

use super::private::{Guard, Level, Secret, mark_in, marked};
use crate::book::{self, FieldPath, SourceFile, Written};
use crate::record::{Kind, withheld};

/// What becomes of a value or a link.
pub enum Swap {
    /// Another name takes its place.
    Name(String),
    /// A mark takes its place.
    Mark(&'static str),
    /// A mark for a visit that stays behind takes its place: the day of the visit.
    Visit(String),
}

impl Swap {
    /// What stands in its place, and what was left out; another name leaves nothing out.
    fn text(self) -> (String, Option<&'static str>) {
        match self {
            Swap::Name(text) => (text, None),
            Swap::Mark(what) => (withheld(what), Some(what)),
            // Told of once, where the visit itself is left out.
            Swap::Visit(day) => (withheld(&format!("visit of {day}")), None),
        }
    }
}

/// What stays the same and what does not in a copy of a record.
pub struct Rules<'g, 'b> {
    /// What is private.
    pub guard: &'g Guard<'b>,
    /// How much of it may be told.
    pub level: Level,
    /// The site it belongs to; empty for the registers.
    pub site: &'g str,
    /// What becomes of a value of the front matter.
    pub value: &'g dyn Fn(&FieldPath, &str) -> Option<Swap>,
    /// What becomes of what a link of the body points at.
    pub link: &'g dyn Fn(&str) -> Option<Swap>,
}

/// The copy of a record, and what was left out of it; nothing when it could not be cleaned without harm to what it says.
pub fn record<T: serde::de::DeserializeOwned + Default + Kind>(
    source: &SourceFile,
    rules: &Rules<'_, '_>,
) -> Option<(String, Vec<&'static str>)> {
    let mut left_out = Vec::new();
    let swapped = swap_values(source, rules, &mut left_out);
    let swapped = swap_links(&source.path, swapped, rules);
    let (text, cut) = cut_secrets(&source.path, &swapped, rules);
    left_out.extend(cut);
    if !rules.guard.finds(&text, rules.level, rules.site).is_empty() {
        return None;
    }
    let read = |text: &str| book::record_from_text::<T>(&source.path, text.to_owned(), String::new(), Vec::new());
    let (before, after) = (read(&source.text), read(&text));
    let no_worse = after.lost == before.lost && after.faults.len() <= before.faults.len();
    (no_worse && keys(&before.source) == keys(&after.source)).then_some((text, left_out))
}

/// The paths of all values: a copy has the same.
fn keys(source: &SourceFile) -> Vec<FieldPath> {
    Written::of(source).map(|written| written.leaves().into_iter().map(|leaf| leaf.path).collect()).unwrap_or_default()
}

fn parsed(path: &str, text: &str) -> SourceFile {
    if path.ends_with(".yaml") {
        SourceFile::yaml(path.to_owned(), text.to_owned())
    } else {
        SourceFile::markdown(path.to_owned(), text.to_owned(), &mut Vec::new())
    }
}

/// A value as YAML that reads as these words, whatever is in them.
fn quoted(words: &str) -> String {
    serde_json::Value::from(words).to_string()
}

/// Puts other text in the place of these bytes, which do not overlap.
fn edited(text: &str, mut edits: Vec<(Range<usize>, String)>) -> String {
    edits.sort_by_key(|(span, _)| span.start);
    let mut out = String::with_capacity(text.len());
    let mut from = 0;
    for (span, new) in edits {
        if span.start < from || text.get(from..span.start).is_none() {
            continue;
        }
        out.push_str(&text[from..span.start]);
        out.push_str(&new);
        from = span.end;
    }
    out.push_str(&text[from..]);
    out
}

fn swap_values(source: &SourceFile, rules: &Rules<'_, '_>, left_out: &mut Vec<&'static str>) -> String {
    let Some(written) = Written::of(source) else { return source.text.clone() };
    let edits = written.leaves().into_iter().filter(|leaf| !leaf.span.is_empty()).filter_map(|leaf| {
        let (text, what) = (rules.value)(&leaf.path, leaf.text)?.text();
        left_out.extend(what);
        Some((leaf.span, quoted(&text)))
    });
    let edits = edits.collect();
    edited(&source.text, edits)
}

fn swap_links(path: &str, text: String, rules: &Rules<'_, '_>) -> String {
    let source = parsed(path, &text);
    let links = book::links(source.body_text(), source.body.start);
    let edits = links.into_iter().filter_map(|link| {
        let shown = &text[link.span.clone()];
        let new = match (rules.link)(&link.target)? {
            Swap::Name(name) => shown.replace(&link.target, &name),
            swap => {
                let words = shown.split_once('[').and_then(|(_, rest)| rest.rsplit_once("](")).map_or("", |(words, _)| words);
                format!("{words} {}", swap.text().0).trim().to_owned()
            }
        };
        Some((link.span, new))
    });
    let edits = edits.collect();
    edited(&text, edits)
}

fn cut_secrets(path: &str, text: &str, rules: &Rules<'_, '_>) -> (String, Vec<&'static str>) {
    let find = |text: &str| rules.guard.finds(text, rules.level, rules.site);
    let found = find(text);
    if found.is_empty() {
        return (text.to_owned(), Vec::new());
    }
    let source = parsed(path, text);
    let mut edits: Vec<(Range<usize>, String)> = Vec::new();
    let mut left: Vec<&Secret> = found.iter().collect();
    if let Some(written) = Written::of(&source) {
        for leaf in written.leaves().into_iter().filter(|leaf| !leaf.span.is_empty()) {
            let here: Vec<Secret> = found.iter().filter(|secret| overlap(&secret.span, &leaf.span)).cloned().collect();
            // In a block of text a mark does no harm, and is put in like one in the body.
            if here.is_empty() || is_block(text, leaf.span.start) {
                continue;
            }
            left.retain(|secret| !overlap(&secret.span, &leaf.span));
            edits.push((leaf.span.clone(), quoted(&cut_value(text, leaf.text, &leaf.span, &here))));
        }
    }
    // Comments, blocks of text, the body, and front matter that is no YAML.
    edits.extend(left.into_iter().map(|secret| (secret.span.clone(), mark_in(text, secret))));
    (edited(text, edits), found.iter().map(|secret| secret.what).collect())
}

/// A value without what is private in it: cut out where it is written as it reads, and all of it marked where it is not.
fn cut_value(text: &str, value: &str, span: &Range<usize>, here: &[Secret]) -> String {
    let shown = &text[span.clone()];
    let skipped = if shown == value {
        Some(0)
    } else {
        // In quotes, nothing escaped.
        (shown.len() == value.len() + 2 && shown.get(1..shown.len() - 1) == Some(value)).then_some(1)
    };
    let start = skipped.map(|skipped| span.start + skipped);
    let inner = start.and_then(|start| {
        let inside = |secret: &Secret| secret.span.start >= start && secret.span.end <= start + value.len();
        here.iter().all(inside).then(|| {
            let moved = |secret: &Secret| Secret { span: secret.span.start - start..secret.span.end - start, what: secret.what };
            here.iter().map(moved).collect::<Vec<Secret>>()
        })
    });
    match inner {
        Some(inner) => marked(value, &inner),
        None => withheld(here.first().map_or("private", |secret| secret.what)),
    }
}

/// Whether the value that begins there is a block of text, behind `|` or `>`.
fn is_block(text: &str, start: usize) -> bool {
    let before = text[..start].trim_end();
    before.len() < start && before.rsplit([' ', '\n']).next().is_some_and(|word| word.starts_with(['|', '>']))
}

fn overlap(a: &Range<usize>, b: &Range<usize>) -> bool {
    a.start < b.end && b.start < a.end
}
