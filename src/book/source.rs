//! One file of the book as text, split into its front matter and its body.

use std::ops::Range;
use std::sync::OnceLock;

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
    /// Where each line begins, once somebody has asked.
    line_starts: OnceLock<Vec<usize>>,
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

    /// A file whose text is not in memory.
    pub fn unread(path: String) -> Self {
        SourceFile { path, ..SourceFile::default() }
    }

    /// A whole file that is YAML without fences, such as `book.yaml`.
    pub fn yaml(path: String, text: String) -> Self {
        let front = 0..text.len();
        let body = text.len()..text.len();
        SourceFile { path, text, front, body, ..SourceFile::default() }
    }

    /// A Markdown file: finds the fences, also when a phone has rewritten them.
    pub fn markdown(path: String, text: String, faults: &mut Vec<Fault>) -> Self {
        let (front, body) = split(&text, faults);
        SourceFile { path, text, front, body, ..SourceFile::default() }
    }

    /// The first byte of each line.
    pub fn line_starts(&self) -> &[usize] {
        let find = || std::iter::once(0).chain(self.text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        self.line_starts.get_or_init(find)
    }
}

/// Lines with their byte ranges, line ends left out.
pub(super) fn lines(text: &str) -> impl Iterator<Item = (Range<usize>, &str)> {
    let mut start = 0;
    let last = Some(text.len()).filter(|_| !text.is_empty() && !text.ends_with('\n'));
    memchr::memchr_iter(b'\n', text.as_bytes()).chain(last).map(move |end| {
        let bare = &text[start..end];
        let bare = bare.strip_suffix('\r').unwrap_or(bare);
        let at = start..start + bare.len();
        start = end + 1;
        (at, bare)
    })
}

/// A line that somebody typed as a fence: only dashes of any sort, as phones make of `---`.
fn damaged_fence(line: &str) -> bool {
    let line = line.trim_end();
    let dash = |c: char| matches!(c, '-' | '\u{2010}'..='\u{2015}' | '\u{2212}');
    !line.is_empty() && line != "-" && line.chars().all(dash)
}

/// A fence as it should be: three hyphens on a line of their own.
pub(super) fn is_fence(line: &str) -> bool {
    line.trim_end() == "---"
}

/// `key:` or `key: value` at the left margin.
fn is_key_line(line: &str) -> bool {
    line.split_once(':').is_some_and(|(key, value)| {
        let word = !key.is_empty() && key.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_');
        word && (value.is_empty() || value.starts_with([' ', '\t']))
    })
}

/// A phone that loses its power while saving leaves a file of noughts.
fn is_void(text: &str) -> bool {
    text.chars().all(|c| c.is_whitespace() || c == '\0')
}

/// Finds front matter and body, and tells what is wrong with the fences.
fn split(text: &str, faults: &mut Vec<Fault>) -> (Range<usize>, Range<usize>) {
    let nothing = (0..0, 0..text.len());
    if is_void(text) {
        faults.push(Fault::at(FaultKind::Empty, 0..0));
        return nothing;
    }
    let Some((first, opening)) = lines(text).find(|(_, line)| !line.trim().is_empty()) else { return nothing };
    let line_after = |at: usize| text[at..].find('\n').map_or(text.len(), |end| at + end + 1);
    let front_start = if damaged_fence(opening.trim_start()) {
        if !is_fence(opening) || first.start > 0 {
            faults.push(Fault::at(FaultKind::FenceDamaged { found: opening.trim().to_owned() }, first.clone()));
        }
        line_after(first.end)
    } else if opening.starts_with("record:") && lines(text).any(|(_, line)| damaged_fence(line)) {
        // The keys are there and only the line above them is not.
        faults.push(Fault::at(FaultKind::FenceMissing, first.clone()));
        first.start
    } else {
        faults.push(Fault::at(FaultKind::NoFrontMatter, first));
        return nothing;
    };
    let fences = lines(&text[front_start..]).filter(|(_, line)| damaged_fence(line));
    let mut fences = fences.map(|(range, line)| (range.start + front_start..range.end + front_start, line)).peekable();
    let mut closing = fences.next();
    if let (Some((first_end, _)), Some((second, _))) = (&closing, fences.peek()) {
        // A fence with keys on both sides of it, of one record, closes nothing; the repair takes it out and tells of it.
        let between = &text[line_after(first_end.end)..second.start];
        if starts_with_key(between) && !between.trim_start().starts_with("record:") && reads_as_keys(between) {
            closing = fences.next();
        }
    }
    if let Some((closing, line)) = closing {
        if !is_fence(line) {
            faults.push(Fault::at(FaultKind::FenceDamaged { found: line.trim().to_owned() }, closing.clone()));
        }
        let body_start = line_after(closing.end);
        if let Some((second, line)) = lines(&text[body_start..]).find(|(_, line)| !line.trim().is_empty())
            && line.starts_with("record:")
        {
            faults.push(Fault::at(FaultKind::SecondRecord, second.start + body_start..second.end + body_start));
        }
        return (front_start..closing.start, body_start..text.len());
    }
    let end = front_start + end_of_unclosed(&text[front_start..]);
    let last = text[..end].trim_end();
    let last_line = last.rfind('\n').map_or(0, |at| at + 1);
    faults.push(Fault::at(FaultKind::Unclosed, last_line..last.len()));
    (front_start..end, end..text.len())
}

fn starts_with_key(text: &str) -> bool {
    lines(text).find(|(_, line)| !line.trim().is_empty()).is_some_and(|(_, line)| is_key_line(line))
}

/// Whether a text has the look of front matter: every line at the left margin is a key, an item or a comment.
fn reads_as_keys(text: &str) -> bool {
    lines(text).all(|(_, line)| line.trim().is_empty() || line.starts_with([' ', '-', '#']) || is_key_line(line))
}

/// Where the front matter ends when nothing closes it: before the first prose that follows an empty line.
fn end_of_unclosed(rest: &str) -> usize {
    let mut after_empty = false;
    for (range, line) in lines(rest) {
        if after_empty && !line.is_empty() && !is_key_line(line) && !line.starts_with([' ', '-']) {
            return range.start;
        }
        after_empty = line.trim().is_empty();
    }
    rest.len()
}
