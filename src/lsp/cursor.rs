//! What stands under the cursor in a front matter, also in one that is half typed and no YAML yet.
//!
//! A reader of lines, indents and brackets that never gives up: it follows the front matter down to the cursor and says which key's
//! place that is. Records are judged by the real decoder; this serves only to know what is being typed.

use std::ops::Range;

use crate::book::{FieldPath, Step};

/// What is being typed at the cursor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// A key of the map at the path; in a list of single values, an item that is begun.
    Key,
    /// The value at the path.
    Value,
}

/// The place of the cursor in a front matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cursor {
    /// For a key the map it stands in, for a value its own place.
    pub path: FieldPath,
    /// Whether a key or a value stands there.
    pub role: Role,
    /// The bytes of the key or value as far as it is typed, without quotes; empty where nothing is typed yet.
    pub token: Range<usize>,
    /// Whether the key has its colon already.
    pub has_colon: bool,
}

impl Cursor {
    /// The path of the value under the cursor, or of the key's.
    pub fn value_path(&self, text: &str) -> FieldPath {
        match self.role {
            Role::Value => self.path.clone(),
            Role::Key => self.path.at(text.get(self.token.clone()).unwrap_or_default().to_owned()),
        }
    }
}

/// A block that the lines so far have opened.
struct Frame {
    indent: usize,
    step: Step,
}

/// A bracket that is open.
enum Bracket {
    Map { key: Option<String> },
    List { index: usize },
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
    frames: Vec<Frame>,
    brackets: Vec<Bracket>,
    /// The indent of the key whose block of text is being read.
    literal: Option<usize>,
}

/// Finds the place of byte `at` of a front matter; nothing in a comment or a block of text.
pub fn find(front: &str, at: usize) -> Option<Cursor> {
    let at = front.floor_char_boundary(at.min(front.len()));
    let mut reader = Reader { text: front, at, frames: Vec::new(), brackets: Vec::new(), literal: None };
    let mut start = 0;
    for line in front.split_inclusive('\n') {
        let end = start + line.trim_end_matches(['\n', '\r']).len();
        let is_here = at <= start + line.len() && (at < start + line.len() || !line.ends_with('\n'));
        if is_here {
            return reader.line(start..end, true);
        }
        reader.line(start..end, false);
        start += line.len();
    }
    reader.line(start..start, true)
}

impl Reader<'_> {
    /// Reads a line; on the cursor's own, says what stands at the cursor.
    fn line(&mut self, line: Range<usize>, is_here: bool) -> Option<Cursor> {
        let text = &self.text[line.clone()];
        let bare = text.trim_start_matches(' ');
        let mut column = text.len() - bare.len();
        if let Some(indent) = self.literal {
            if bare.is_empty() || column > indent {
                return None;
            }
            self.literal = None;
        }
        if !self.brackets.is_empty() {
            return self.flow(line.start, line.end, is_here);
        }
        if is_here && (bare.is_empty() || self.at < line.start + column) {
            // On an empty line the cursor's own column says which map is meant.
            let column = self.at - line.start;
            self.close_to(column);
            return Some(self.cursor(Role::Key, self.at..self.at, false));
        }
        if bare.is_empty() || bare.starts_with('#') {
            return None;
        }
        let mut rest = bare;
        while let Some(after) = rest.strip_prefix('-').filter(|after| after.is_empty() || after.starts_with(' ')) {
            self.item(column);
            let inner = after.trim_start_matches(' ');
            column += rest.len() - inner.len();
            rest = inner;
        }
        let start = line.start + column;
        if rest.starts_with(['{', '[']) {
            return self.flow(start, line.end, is_here);
        }
        let Some(colon) = colon_of(rest) else {
            if is_here && self.at >= start.min(line.end) {
                let token = self.token(start, line.end);
                self.close_to(column);
                return Some(self.cursor(Role::Key, token, false));
            }
            return None;
        };
        let key = rest[..colon].trim_end().trim_matches(['"', '\'']).to_owned();
        self.close_to(column);
        if is_here && self.at <= start + colon {
            return Some(self.cursor(Role::Key, start..start + rest[..colon].trim_end().len(), true));
        }
        self.frames.push(Frame { indent: column, step: key.into() });
        let value = &rest[colon + 1..];
        let inner = value.trim_start_matches(' ');
        let value_start = start + colon + 1 + (value.len() - inner.len());
        if inner.starts_with(['{', '[']) && (!is_here || self.at >= value_start) {
            return self.flow(value_start, line.end, is_here);
        }
        if inner.starts_with(['|', '>']) {
            self.literal = Some(column);
            return None;
        }
        if !is_here || (inner.starts_with('#') && self.at > value_start) {
            return None;
        }
        let value_start = if inner.starts_with('#') { self.at.min(value_start) } else { value_start };
        let end = if inner.starts_with('#') { value_start } else { line.end };
        let token = self.token(value_start.min(end), end);
        if self.at > token.end + 1 && self.text[token.end..self.at].contains('#') {
            return None;
        }
        Some(self.cursor(Role::Value, token, true))
    }

    /// Closes what a key at this column does not stand in.
    fn close_to(&mut self, column: usize) {
        while self.frames.last().is_some_and(|frame| frame.indent >= column) {
            self.frames.pop();
        }
    }

    /// Opens the next item of the list whose dashes stand at this column.
    fn item(&mut self, column: usize) {
        let mut index = 0;
        while let Some(frame) = self.frames.last() {
            match &frame.step {
                Step::Index(last) if frame.indent == column => {
                    index = last + 1;
                    self.frames.pop();
                    break;
                }
                // A list may stand at the indent of its own key.
                Step::Key(_) if frame.indent <= column => break,
                Step::Index(_) if frame.indent < column => break,
                _ => {
                    self.frames.pop();
                }
            }
        }
        self.frames.push(Frame { indent: column, step: index.into() });
    }

    /// Reads on within brackets.
    fn flow(&mut self, start: usize, end: usize, is_here: bool) -> Option<Cursor> {
        let text = &self.text[start..end];
        let mut word = start;
        let mut quote: Option<char> = None;
        let mut before = ' ';
        for (offset, letter) in text.char_indices() {
            let here = start + offset;
            if let Some(mark) = quote {
                if letter == mark {
                    quote = None;
                }
                before = letter;
                continue;
            }
            let ends_key = letter == ':' && text[offset + 1..].chars().next().is_none_or(|next| next == ' ' || "{}[],".contains(next));
            let is_structure = "{}[],".contains(letter) || ends_key || (letter == '#' && before == ' ');
            if is_structure {
                let has_key = matches!(self.brackets.last(), Some(Bracket::Map { key: Some(_) }));
                if is_here && self.at <= here && self.at >= word && !self.brackets.is_empty() && !(ends_key && has_key) {
                    return Some(self.in_brackets(word, here, ends_key));
                }
                match letter {
                    '#' => return None,
                    '{' => self.brackets.push(Bracket::Map { key: None }),
                    '[' => self.brackets.push(Bracket::List { index: 0 }),
                    '}' | ']' => {
                        self.brackets.pop();
                        if self.brackets.is_empty() {
                            return None;
                        }
                    }
                    ',' => match self.brackets.last_mut() {
                        Some(Bracket::Map { key }) => *key = None,
                        Some(Bracket::List { index }) => *index += 1,
                        None => {}
                    },
                    _ => {
                        if let Some(Bracket::Map { key }) = self.brackets.last_mut()
                            && key.is_none()
                        {
                            *key = Some(self.text[word..here].trim().trim_matches(['"', '\'']).to_owned());
                        }
                    }
                }
                word = here + letter.len_utf8();
            } else if matches!(letter, '"' | '\'') && self.text[word..here].trim().is_empty() {
                quote = Some(letter);
            }
            before = letter;
        }
        (is_here && self.at >= word && !self.brackets.is_empty()).then(|| self.in_brackets(word, end, false))
    }

    /// The cursor on a word within brackets.
    fn in_brackets(&self, start: usize, end: usize, has_colon: bool) -> Cursor {
        let inner = &self.text[start..end];
        let start = start + (inner.len() - inner.trim_start().len()).min(self.at.saturating_sub(start));
        let token = self.token(start, end);
        let role = match self.brackets.last() {
            Some(Bracket::Map { key: None }) => Role::Key,
            _ => Role::Value,
        };
        self.cursor(role, token, has_colon || role == Role::Value)
    }

    /// A word without the spaces, quotes and comment around it.
    fn token(&self, start: usize, end: usize) -> Range<usize> {
        let text = &self.text[start..end];
        let text = match text.find(" #") {
            Some(comment) if !text.starts_with(['"', '\'']) => &text[..comment],
            _ => text,
        };
        let text = text.trim_end();
        let bare = text.trim_start();
        let mut range = start + (text.len() - bare.len())..start + text.len();
        if let Some(mark) = bare.chars().next().filter(|mark| matches!(mark, '"' | '\'')) {
            let inner = &bare[1..];
            range.start += 1;
            range.end = range.start + inner.find(mark).unwrap_or(inner.len());
        }
        range
    }

    fn cursor(&self, role: Role, token: Range<usize>, has_colon: bool) -> Cursor {
        let blocks = self.frames.iter().map(|frame| frame.step.clone());
        let brackets = self.brackets.iter().filter_map(|bracket| match bracket {
            Bracket::Map { key } => key.clone().map(Step::from),
            Bracket::List { index } => Some(Step::from(*index)),
        });
        Cursor { path: blocks.chain(brackets).collect(), role, token, has_colon }
    }
}

/// The colon that ends a key at the beginning of a text.
fn colon_of(text: &str) -> Option<usize> {
    let from = match text.chars().next() {
        Some(mark @ ('"' | '\'')) => text[1..].find(mark)? + 2,
        _ => 0,
    };
    let colon = text[from..].match_indices(':').map(|(at, _)| at + from);
    colon.into_iter().find(|at| text[at + 1..].is_empty() || text[at + 1..].starts_with(' '))
}
