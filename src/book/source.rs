//! One file of the book as text, split into its front matter and its body.

use std::ops::Range;

use super::fault::{Fault, FaultKind};
use super::mend::Mend;

/// A file of the book.
#[derive(Debug, Default)]
pub struct SourceFile {
    /// Path relative to the book's root, with `/`.
    pub path: String,
    /// The text, without a byte-order mark; bytes that are not UTF-8 are shown as U+FFFD.
    pub text: String,
    /// The bytes of the front matter, between the fences.
    pub front: Range<usize>,
    /// The bytes of the body.
    pub body: Range<usize>,
    /// The reading copy of a damaged front matter.
    pub mended: Option<Mend>,
}

impl SourceFile {
    /// The front matter as written.
    pub fn front_text(&self) -> &str {
        self.text.get(self.front.clone()).unwrap_or_default()
    }

    /// The body as written.
    pub fn body_text(&self) -> &str {
        self.text.get(self.body.clone()).unwrap_or_default()
    }

    /// The file's name without folder and ending.
    pub fn stem(&self) -> &str {
        let name = self.path.rsplit('/').next().unwrap_or_default();
        name.rsplit_once('.').map_or(name, |(stem, _)| stem)
    }

    /// A whole file that is YAML without fences, such as `book.yaml`.
    pub fn yaml(path: String, text: String) -> Self {
        let front = 0..text.len();
        let body = text.len()..text.len();
        SourceFile { path, text, front, body, mended: None }
    }

    /// A Markdown file: finds the fences, also when a phone has rewritten them.
    pub fn markdown(path: String, text: String, faults: &mut Vec<Fault>) -> Self {
        let (front, body) = split(&text, faults);
        SourceFile { path, text, front, body, mended: None }
    }
}

/// Lines with their byte ranges, line ends left out.
pub(super) fn lines(text: &str) -> impl Iterator<Item = (Range<usize>, &str)> {
    let mut start = 0;
    text.split_inclusive('\n').map(move |line| {
        let at = start;
        start += line.len();
        let bare = line.strip_suffix('\n').unwrap_or(line);
        let bare = bare.strip_suffix('\r').unwrap_or(bare);
        (at..at + bare.len(), bare)
    })
}

/// A line that somebody typed as a fence: only dashes of any sort, as phones make of `---`.
fn damaged_fence(line: &str) -> bool {
    let line = line.trim();
    let dash = |c: char| matches!(c, '-' | '\u{2010}'..='\u{2015}' | '\u{2212}');
    !line.is_empty() && line != "-" && line.chars().all(|c| dash(c) || c == ' ') && line.chars().any(dash)
}

fn proper_fence(line: &str) -> bool {
    line.trim_end() == "---"
}

/// Finds front matter and body, and tells what is wrong with the fences.
fn split(text: &str, faults: &mut Vec<Fault>) -> (Range<usize>, Range<usize>) {
    let nothing = (0..0, 0..text.len());
    if text.trim().is_empty() {
        faults.push(Fault::at(FaultKind::Empty, 0..0));
        return nothing;
    }
    let Some((first, opening)) = lines(text).find(|(_, line)| !line.trim().is_empty()) else { return nothing };
    if !damaged_fence(opening) {
        faults.push(Fault::at(FaultKind::NoFrontMatter, first));
        return nothing;
    }
    if !proper_fence(opening) || first.start > 0 {
        faults.push(Fault::at(FaultKind::FenceDamaged { found: opening.trim().to_owned() }, first.clone()));
    }
    let front_start = text[first.end..].find('\n').map_or(text.len(), |at| first.end + at + 1);
    let rest = &text[front_start..];
    let shift = |range: Range<usize>| range.start + front_start..range.end + front_start;
    let closing = lines(rest).find(|(_, line)| proper_fence(line)).or_else(|| {
        let damaged = lines(rest).find(|(_, line)| damaged_fence(line))?;
        faults.push(Fault::at(FaultKind::FenceDamaged { found: damaged.1.trim().to_owned() }, shift(damaged.0.clone())));
        Some(damaged)
    });
    if let Some((closing, _)) = closing {
        let closing = shift(closing);
        let body_start = text[closing.end..].find('\n').map_or(text.len(), |at| closing.end + at + 1);
        return (front_start..closing.start, body_start..text.len());
    }
    let end = front_start + end_of_unclosed(rest);
    let last = text[..end].trim_end();
    let last_line = last.rfind('\n').map_or(0, |at| at + 1);
    faults.push(Fault::at(FaultKind::Unclosed, last_line..last.len()));
    (front_start..end, end..text.len())
}

/// Where the front matter ends when nothing closes it: before the first prose that follows an empty line.
fn end_of_unclosed(rest: &str) -> usize {
    let mut after_empty = false;
    for (range, line) in lines(rest) {
        let key_like =
            line.split_once(':').is_some_and(|(key, _)| !key.is_empty() && key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_'));
        if after_empty && !line.is_empty() && !key_like && !line.starts_with([' ', '-']) {
            return range.start;
        }
        after_empty = line.trim().is_empty();
    }
    rest.len()
}
