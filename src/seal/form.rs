//! A record's canonical form; what it is stands at the head of `seal`.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

use crate::book::{self, FieldPath, Node, NodeKind, Record, SourceFile, Step, Written};
use crate::digest::of_text;
use crate::finding::Place;
use crate::record::Job;
use crate::render::is_steering;

/// Digits of a part's digest: it only has to tell which part changed.
const PART_DIGITS: usize = 8;

/// Keys of a list's items that are written after the visit by their nature.
const LATER: [(&str, &str); 4] = [("faults", "fixed_by"), ("observations", "cleared_by"), ("follow_ups", "done"), ("notices", "answered")];

/// Where a part of a record stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum At {
    /// A value of the front matter.
    Value(FieldPath),
    /// Bytes of the text.
    Text(Range<usize>),
}

impl At {
    /// As the place of a finding.
    pub fn place(&self, file: &Arc<SourceFile>) -> Place {
        match self {
            At::Value(path) => Place::at(file, path.clone()),
            At::Text(span) => Place::bytes(file, FieldPath::root(), span.clone()),
        }
    }
}

/// A part of a record that can be told apart in a seal.
#[derive(Debug, Clone)]
pub struct Part {
    /// The first digits of its digest.
    pub digest: String,
    /// Where it begins.
    pub at: At,
}

struct Line {
    text: String,
    part: String,
    at: At,
}

/// A record's canonical form.
pub struct Form {
    lines: Vec<Line>,
}

impl Form {
    /// The form of a record; of one whose front matter cannot be read, of what stands there.
    pub fn of(record: &Record<Job>) -> Form {
        let mut lines = match Written::of(&record.source) {
            Some(written) => front(written.root()),
            None => unreadable(&record.source),
        };
        lines.sort_by(|a, b| a.text.cmp(&b.text));
        lines.extend(body(&record.source));
        Form { lines }
    }

    /// The whole text.
    pub fn text(&self) -> String {
        self.lines.iter().fold(String::new(), |text, line| text + &line.text + "\n")
    }

    /// SHA-256 of the text, as 64 hexadecimal digits.
    pub fn digest(&self) -> String {
        of_text(&self.text())
    }

    /// The parts by their names: a top-level key (`title`), an item of a list by its id (`circuits main/1`, its readings apart as
    /// `circuits main/1 readings`), a section of the text by its heading (`# What was done`).
    pub fn parts(&self) -> BTreeMap<String, Part> {
        let mut texts: BTreeMap<&str, (String, &At)> = BTreeMap::new();
        for line in &self.lines {
            let (text, _) = texts.entry(&line.part).or_insert_with(|| (String::new(), &line.at));
            text.push_str(&line.text);
            text.push('\n');
        }
        let part = |text: &str, at: &At| Part { digest: of_text(text)[..PART_DIGITS].to_owned(), at: at.clone() };
        texts.into_iter().map(|(name, (text, at))| (name.to_owned(), part(&text, at))).collect()
    }
}

/// One space for every run of white space, none at the ends, and what would steer a terminal as an escape.
fn plain(text: &str) -> String {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if !text.chars().any(is_steering) {
        return text;
    }
    text.chars().fold(String::with_capacity(text.len() + 8), |mut text, c| {
        if is_steering(c) {
            text.extend(c.escape_unicode());
        } else {
            text.push(c);
        }
        text
    })
}

/// A node that is still to be gone through.
struct Open<'n> {
    node: &'n Node,
    pointer: String,
    part: String,
    path: FieldPath,
    /// The part is shown at its top, not at each of its lines.
    top: FieldPath,
}

fn front(root: &Node) -> Vec<Line> {
    let mut lines = Vec::new();
    // A stack of our own: the depth of a record must never become the depth of ours.
    let first = Open { node: root, pointer: String::new(), part: String::new(), path: FieldPath::root(), top: FieldPath::root() };
    let mut open = vec![first];
    while let Some(Open { node, pointer, part, path, top }) = open.pop() {
        match &node.kind {
            NodeKind::Scalar(text) => {
                let value = plain(text);
                if !matches!(value.as_str(), "" | "~" | "null") {
                    lines.push(Line { text: format!("{pointer}\t{value}"), part, at: At::Value(top) });
                }
            }
            NodeKind::Map(entries, _) => {
                for entry in entries.iter().filter(|entry| !is_later(&path, &entry.key)) {
                    let key = plain(&entry.key);
                    let path = path.at(entry.key.clone());
                    let (part, top) = match path.steps() {
                        [_] => (key.clone(), path.clone()),
                        [Step::Key(_), Step::Index(_), Step::Key(key)] if key == "readings" => (format!("{part} readings"), path.clone()),
                        _ => (part.clone(), top.clone()),
                    };
                    open.push(Open { node: &entry.value, pointer: format!("{pointer}/{}", escaped(&key)), part, path, top });
                }
            }
            NodeKind::List(items, _) => {
                let ids = ids(items);
                for (index, item) in items.iter().enumerate() {
                    let id = ids.as_ref().map(|ids| ids[index].clone());
                    let path = path.at(index);
                    let (part, top) = match (&id, path.steps()) {
                        (Some(id), [_, _]) => (format!("{part} {id}"), path.clone()),
                        _ => (part.clone(), top.clone()),
                    };
                    let step = id.map_or_else(|| index.to_string(), |id| escaped(&id));
                    open.push(Open { node: item, pointer: format!("{pointer}/{step}"), part, path, top });
                }
            }
        }
    }
    lines
}

/// The ids of a list's items, when every one has one of its own.
fn ids(items: &[Node]) -> Option<Vec<String>> {
    let id = |item: &Node| {
        let NodeKind::Map(entries, _) = &item.kind else { return None };
        let entry = entries.iter().find(|entry| entry.key == "id")?;
        let NodeKind::Scalar(text) = &entry.value.kind else { return None };
        Some(plain(text)).filter(|id| !id.is_empty())
    };
    let ids: Vec<String> = items.iter().map(id).collect::<Option<_>>()?;
    let own: BTreeSet<&String> = ids.iter().collect();
    (own.len() == ids.len()).then_some(ids)
}

fn is_later(path: &FieldPath, key: &str) -> bool {
    match path.steps() {
        [] => key == "answers",
        [Step::Key(list), Step::Index(_)] => LATER.iter().any(|(of, later)| *of == list.as_ref() && *later == key),
        _ => false,
    }
}

fn escaped(step: &str) -> String {
    step.replace('~', "~0").replace('/', "~1")
}

fn unreadable(source: &SourceFile) -> Vec<Line> {
    let words: Vec<String> = book::front_lines(source).map(|(_, line)| plain(line)).collect();
    vec![Line { text: format!("/\t{}", words.join(" ")), part: "front matter".to_owned(), at: At::Value(FieldPath::root()) }]
}

/// The sections of the text, in order.
fn body(source: &SourceFile) -> Vec<Line> {
    let mut sections = vec![("#".to_owned(), Vec::new(), source.body.start..source.body.start)];
    for (span, line) in book::body_lines(source) {
        let heading = line.trim_start_matches('#');
        let depth = line.len() - heading.len();
        if (1..=6).contains(&depth) && (heading.is_empty() || heading.starts_with([' ', '\t'])) {
            sections.push((plain(line), Vec::new(), span));
        } else if let Some((_, words, _)) = sections.last_mut() {
            words.push(with_open_box(&plain(line)));
        }
    }
    let said = |(index, (_, words, _)): &(usize, (String, Vec<String>, Range<usize>))| *index > 0 || !words.is_empty();
    let line = |(_, (heading, words, span)): (usize, (String, Vec<String>, Range<usize>))| Line {
        text: format!("{heading}\t{}", words.join(" ")),
        part: heading,
        at: At::Text(span),
    };
    sections.into_iter().enumerate().filter(said).map(line).collect()
}

/// A line with its ticked box opened.
fn with_open_box(line: &str) -> String {
    let mark = line.get(..5).filter(|mark| mark.starts_with(['-', '*', '+']) && mark[1..].eq_ignore_ascii_case(" [x]"));
    mark.map_or_else(|| line.to_owned(), |mark| format!("{} [ ]{}", &mark[..1], &line[5..]))
}
