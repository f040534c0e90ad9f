//! From bytes to lines and columns. Lines and columns count from 1, columns in characters.

use std::ops::Range;

use crate::book::SourceFile;
use crate::finding::Place;

/// A line and a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// The line, from 1.
    pub line: usize,
    /// The column, from 1, in characters.
    pub column: usize,
}

/// Where a place begins and ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spot {
    /// Its bytes, within the text and on character borders.
    pub span: Range<usize>,
    /// Its first character.
    pub start: Position,
    /// The character after its last.
    pub end: Position,
}

impl Spot {
    /// Finds a place in its text; whatever the span says, the spot lies within the text.
    pub fn of(place: &Place) -> Spot {
        let text = &place.file.text;
        let span = clamp(text, place.span.clone().unwrap_or(0..0));
        let start = position(&place.file, span.start);
        let end = position(&place.file, span.end);
        Spot { span, start, end }
    }
}

/// The range moved to lie within the text and on character borders.
pub fn clamp(text: &str, span: Range<usize>) -> Range<usize> {
    let start = text.floor_char_boundary(span.start.min(text.len()));
    let end = text.floor_char_boundary(span.end.clamp(start, text.len()));
    start..end
}

fn position(file: &SourceFile, at: usize) -> Position {
    let line = line_number(file, at);
    let before = &file.text[file.line_starts()[line - 1]..at];
    Position { line, column: before.chars().count() + 1 }
}

/// Shows control characters instead of obeying them, so that a record cannot steer the terminal it is printed on. Line breaks stay.
pub fn visible(text: &str) -> String {
    text.chars().map(visible_char).collect()
}

/// The character that stands for `c` on a screen; a tab would upset every column behind it.
pub fn visible_char(c: char) -> char {
    match c {
        '\t' => ' ',
        c if is_steering(c) => '\u{fffd}',
        c => c,
    }
}

/// Control characters, and those that turn the direction of the text around.
pub fn is_steering(c: char) -> bool {
    (c.is_control() && c != '\n' && c != '\t')
        || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{2028}' | '\u{2029}' | '\u{feff}')
}

/// A text on one line, nothing of it lost that can be shown: line breaks and tabs as `\\n`, `\\r` and `\\t`, a backslash as two, and every
/// other control character as U+FFFD.
pub fn one_line(text: &str) -> String {
    if !text.chars().any(|c| c == '\\' || c == '\n' || c == '\t' || is_steering(c)) {
        return text.to_owned();
    }
    let mut line = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '\\' => line.push_str("\\\\"),
            '\n' => line.push_str("\\n"),
            '\r' => line.push_str("\\r"),
            '\t' => line.push_str("\\t"),
            c if is_steering(c) => line.push('\u{fffd}'),
            c => line.push(c),
        }
    }
    line
}

/// The line on which a byte of a file stands, from 1.
pub fn line_number(file: &SourceFile, at: usize) -> usize {
    file.line_starts().partition_point(|start| *start <= at).max(1)
}
