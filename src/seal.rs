//! Seals: what a record said when its paper was issued, kept as digests, so that a later change can be told, and which part changed.
//!
//! # The canonical form, version 1
//!
//! A digest is the SHA-256 of a text that says what the record means and not how it is written. It is UTF-8, each line ends in a line
//! feed, and a tab stands between the two halves of a line. `ampledger seal --form` prints it, and `sha256sum` over that gives the digest.
//!
//! **White space**, in keys, values and text: every run of white space is one space, none at the ends. A control character, and one that turns the
//! direction of the text, stands by its number, as `\u{1b}`: the form can be read on a terminal and steers none.
//!
//! **The front matter**, one line a single value: its JSON Pointer (RFC 6901), a tab, the value as YAML reads it as text, quotes and
//! folding undone. `0.30` stays `0.30`: the precision of a reading is part of it. In a list whose items are all maps with an `id` of
//! their own, the id stands in the pointer; in every other list the place, counted from 0. So circuits may change places; joints may
//! not. A value that is empty, `~` or `null`, and a list or map with nothing in it, says nothing and has no line. The lines are
//! sorted by their bytes.
//!
//! **What is written later by its nature** has no line: `answers`; `fixed_by` of faults, `cleared_by` of observations, `done` of follow-ups,
//! `answered` of notices.
//!
//! **The text** after that, one line a section: the heading with its `#`, a tab, and the words below it. What stands above the first
//! heading comes first, under `#`, when there is any. A heading is a line that begins with one to six `#` and a space. A ticked box
//! (`- [x]`) reads as an open one (`- [ ]`).
//!
//! Comments, key order, indents, line ends and quoting are no part of it. Aliases are taken as written. Photographs have digests of their
//! own, of their bytes.

mod form;
mod make;

use crate::book::{Book, Record, RollEntry, RollFile};
use crate::record::{Job, Seal, Seals};
use crate::rules::{privacy::is_picture, references::within};

use crate::digest::of_file;
pub use form::{At, Form, Part};
pub use make::{Asked, Outcome, standing, weigh, write};

/// The version of the canonical form that this program makes.
pub const FORM: u32 = 1;

/// SHA-256 of a record's canonical form, as 64 hexadecimal digits: for a paper to bear.
pub fn digest(record: &Record<Job>) -> String {
    Form::of(record).digest()
}

/// The seals of a record that hold: those with the highest number. More than one when two people sealed it on two branches.
pub fn holding<'s>(seals: &'s RollFile<Seals>, file: &str) -> Vec<&'s RollEntry<Seal>> {
    let number = |entry: &RollEntry<Seal>| entry.data.seal.map_or(0, |number| *number);
    let highest = seals.about(file).map(number).max();
    seals.about(file).filter(|entry| Some(number(entry)) == highest).collect()
}

/// A photograph that a record names.
#[derive(Debug, Clone)]
pub struct Photograph {
    /// Its path in the book.
    pub path: String,
    /// Where the record names it.
    pub at: At,
}

/// The photographs that a record names: those of its joints, and the pictures in its text. Each once.
pub fn photographs(site: &str, record: &Record<Job>) -> Vec<Photograph> {
    let folder = format!("sites/{site}");
    let joints = record.data.joints.iter().enumerate();
    let joints = joints.filter_map(|(index, joint)| Some((joint.photo.as_deref()?, At::Value(crate::path!["joints", index, "photo"]))));
    let links = record.body.links.iter().filter(|link| link.image || is_picture(&link.target));
    let links = links.filter(|link| !link.target.contains("://")).map(|link| (link.target.as_str(), At::Text(link.span.clone())));
    let mut named: Vec<Photograph> = Vec::new();
    for (target, at) in joints.chain(links) {
        // Whoever is behind a site is in no seal, not even as a digest.
        let Some(path) = within(&folder, target).filter(|path| !path.starts_with("private/")) else { continue };
        if named.iter().all(|other| other.path != path) {
            named.push(Photograph { path, at });
        }
    }
    named
}

/// What has become of a sealed photograph.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// It is as it was.
    Same,
    /// Its bytes are others.
    Changed,
    /// It is no longer there, or cannot be read.
    Gone,
}

/// Compares a photograph with its digest, or with those of several seals.
pub fn compare_photograph(book: &Book, path: &str, digests: &[&str]) -> Kept {
    match digest_of_photograph(book, path) {
        Some(now) if digests.contains(&now.as_str()) => Kept::Same,
        Some(_) => Kept::Changed,
        None => Kept::Gone,
    }
}

/// A photograph's digest; nothing when it is not there, cannot be read, or lies outside the book.
pub fn digest_of_photograph(book: &Book, path: &str) -> Option<String> {
    of_file(book.open_plain(path)?).ok()
}

/// What of a record is no longer as its seal has it.
#[derive(Debug, Default)]
pub struct Changes {
    /// Parts that say something else now, or were not there, with where to look.
    pub changed: Vec<(String, At)>,
    /// Parts that are gone.
    pub gone: Vec<String>,
}

/// Compares a record with its seal; nothing when it says what it said.
pub fn compare(form: &Form, seal: &Seal) -> Option<Changes> {
    if seal.digest.as_deref() == Some(form.digest().as_str()) {
        return None;
    }
    let parts = form.parts();
    let changed = parts.iter().filter(|(name, part)| seal.parts.get(*name) != Some(&part.digest));
    Some(Changes {
        changed: changed.map(|(name, part)| (name.clone(), part.at.clone())).collect(),
        gone: seal.parts.keys().filter(|name| !parts.contains_key(*name)).cloned().collect(),
    })
}

/// A part's name for people: `circuits main/1 readings`, `text under "What was done"`.
pub fn part_in_words(name: &str) -> String {
    match name.strip_prefix('#') {
        Some("") => "the text".to_owned(),
        Some(heading) => format!("the text under \"{}\"", heading.trim_start_matches('#').trim()),
        None => name.to_owned(),
    }
}
