//! Writing the files that the program keeps itself, `seals.yaml` and `backlog.yaml`: one entry a line, sorted, always the same bytes for
//! the same entries.
//!
//! One line an entry is what lets git merge two branches that both wrote: with `merge=union` for the file in the book's
//! `.gitattributes`, it keeps the lines of both. A seal is never changed, only added, so nothing can be lost by that. Of two counts of
//! the backlog for the same thing, the lower holds.

use std::fmt::Write;

use crate::book::{Book, Roll, RollFile};
use crate::new::scalar;
use crate::record::{Accepted, Date, Seal};
use crate::system;
use crate::write::{self, WriteError};

/// The line for `.gitattributes`.
pub fn union_line(file: &str) -> String {
    format!("{file} merge=union")
}

/// Whether the book's `.gitattributes` lets git keep both sides of `file`.
pub fn is_union(book: &Book, file: &str) -> bool {
    let text = system::read_text(&book.root.join(".gitattributes")).unwrap_or_default();
    text.lines().any(|line| line.split_whitespace().next() == Some(file) && line.contains("merge=union"))
}

/// The text of `seals.yaml`. Its head is the same on every day and branch, so that two people may each begin the file.
pub fn seals(since: Option<Date>, seals: &[&Seal]) -> String {
    let mut text =
        "# What each record said when it was sealed. `ampledger seal` writes this file; comments are not kept.\nformat: 1\n".to_owned();
    if let Some(since) = since {
        let _ = writeln!(text, "since: {since}");
    }
    text.push_str("seals:\n");
    for seal in seals {
        let mut line = Line::default();
        line.text("file", seal.file.as_deref());
        line.plain("seal", seal.seal);
        line.plain("on", seal.on);
        line.text("why", seal.why.as_deref());
        line.plain("form", seal.form);
        line.plain("digest", seal.digest.as_deref().map(quoted));
        for (key, digests) in [("parts", &seal.parts), ("photographs", &seal.photographs)] {
            let digests: Vec<String> = digests.iter().map(|(name, digest)| format!("{}: {}", scalar(name), quoted(digest))).collect();
            line.plain(key, (!digests.is_empty()).then(|| format!("{{{}}}", digests.join(", "))));
        }
        line.end(&mut text);
    }
    text
}

/// The text of `backlog.yaml`.
pub fn backlog(accepted: &[Accepted]) -> String {
    let mut text =
        "# What this book began with. `ampledger check --accept` writes this file; comments are not kept.\nformat: 1\naccepted:\n"
            .to_owned();
    for entry in accepted {
        let mut line = Line::default();
        line.text("file", entry.file.as_deref());
        line.text("rule", entry.rule.as_deref());
        line.text("at", entry.at.as_deref());
        line.plain("grade", entry.grade);
        line.plain("count", entry.count);
        line.plain("on", entry.on);
        line.plain("until", entry.until);
        line.text("why", entry.why.as_deref());
        line.end(&mut text);
    }
    text
}

/// One entry, as a map in braces.
#[derive(Default)]
struct Line(Vec<String>);

impl Line {
    fn plain(&mut self, key: &str, value: Option<impl std::fmt::Display>) {
        self.0.extend(value.map(|value| format!("{key}: {value}")));
    }

    fn text(&mut self, key: &str, value: Option<&str>) {
        self.plain(key, value.map(scalar));
    }

    fn end(self, text: &mut String) {
        let _ = writeln!(text, "- {{{}}}", self.0.join(", "));
    }
}

/// Digits that no reader can take for a number.
fn quoted(digits: &str) -> String {
    format!("\"{digits}\"")
}

/// Writes such a file in place of the one that was read.
pub fn save<R: Roll>(book: &Book, read: &RollFile<R>, text: &str) -> Result<(), WriteError> {
    let is_sound = |written: String| RollFile::<R>::of(written, Vec::new()).faults.is_empty();
    write::renew(&book.root, R::FILE, &read.source.text, text, is_sound)
}
