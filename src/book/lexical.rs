//! Faults that can be seen in the characters of a front matter, before and beside any parser.

use std::ops::Range;

use memchr::memmem;

use super::fault::{Fault, FaultKind};
use super::mend::{Edit, Mend};
use super::source::{is_fence, lines};
use super::syntax::Syntax;
use super::tree::{self, MAX_DEPTH, Node};

/// Bytes that are looked at together, without a branch between them.
const CHUNK: usize = 64;

/// The byte at which brackets stand deeper than any record needs.
pub fn too_deep(front: &str) -> Option<usize> {
    let mut depth = 0_usize;
    for (number, chunk) in front.as_bytes().chunks(CHUNK).enumerate() {
        // All four brackets are these two with or without one bit.
        if !chunk.iter().fold(false, |any, byte| any | matches!(byte | 0x20, b'{' | b'}')) {
            continue;
        }
        for (at, byte) in chunk.iter().enumerate() {
            match byte {
                b'[' | b'{' => depth += 1,
                b']' | b'}' => depth = depth.saturating_sub(1),
                _ => continue,
            }
            if depth > MAX_DEPTH {
                return Some(number * CHUNK + at);
            }
        }
    }
    None
}

/// Whether there is nothing but comments and white space.
pub fn is_blank(front: &str) -> bool {
    front.lines().all(|line| {
        let line = line.trim();
        line.is_empty() || line.starts_with('#')
    })
}

/// Whether the text holds only printing ASCII and line ends, so that no look at single characters is needed.
pub fn is_plain(front: &str) -> bool {
    let is_plain = |byte: &u8| matches!(byte, b' '..=b'~' | b'\n' | b'\r');
    front.as_bytes().chunks(CHUNK).all(|chunk| chunk.iter().fold(true, |all, byte| all & is_plain(byte)))
}

fn is_control(c: char) -> bool {
    (c.is_control() && !matches!(c, '\n' | '\r' | '\t')) || matches!(c, '\u{2028}' | '\u{2029}' | '\u{feff}')
}

/// Whether it looks like a space and is none.
pub fn is_odd_space(c: char) -> bool {
    matches!(c, '\u{a0}' | '\u{2000}'..='\u{200b}' | '\u{202f}' | '\u{205f}' | '\u{3000}')
}

fn curly_pair(open: char) -> Option<&'static [char]> {
    match open {
        '\u{201c}' | '\u{201d}' | '\u{201e}' => Some(&['\u{201d}', '\u{201c}']),
        '\u{2018}' | '\u{2019}' => Some(&['\u{2019}', '\u{2018}']),
        _ => None,
    }
}

/// Control characters, no-break spaces and curly quotes: told, and replaced in the reading copy.
pub fn mend_characters(front: &str, mend: &mut Mend, found: &mut Vec<Fault>) {
    let mut control: Option<(usize, Fault)> = None;
    let mut is_structure = structure_of_lines();
    for (range, line) in lines(front) {
        let structure = is_structure(line);
        if line.bytes().all(|byte| matches!(byte, b' '..=b'~')) {
            continue;
        }
        let indent = line.len() - line.trim_start().len();
        let mut odd: Option<Fault> = None;
        let mut chars = line.char_indices().peekable();
        while let Some((at, c)) = chars.next() {
            let steering = is_control(c);
            if !steering && !(structure && (is_odd_space(c) || c == '\t')) {
                continue;
            }
            // A run of them is one fault and one replacement.
            let mut end = at + c.len_utf8();
            let mut count = 1;
            while let Some((next, c)) = chars.next_if(|(_, next)| if steering { is_control(*next) } else { *next == c }) {
                end = next + c.len_utf8();
                count += 1;
            }
            let span = range.start + at..range.start + end;
            if steering {
                // At the end of a line nothing is lost with them; what stood between words nobody knows.
                let trailing = line[end..].trim().is_empty();
                let edit = Edit::new(span.clone(), if trailing { "" } else { " " });
                let first = control.get_or_insert_with(|| {
                    (0, Fault::at(FaultKind::Control { code: c.into(), count: 0 }, span.clone()).cured_by(Vec::new(), true))
                });
                first.0 += count;
                mend.replace(span, " ");
                if let Some(cure) = &mut first.1.cure {
                    cure.certain &= trailing;
                    cure.edits.push(edit);
                }
                continue;
            }
            // Within text such a space is the owner's business; as indent or after a key's colon it changes what is read.
            let before = line[..at].trim_end_matches(|c| c == ' ' || is_odd_space(c));
            let in_indent = at < indent;
            if c == '\t' {
                if !in_indent && before.ends_with(':') && odd.is_none() {
                    // Read as it stands: only other programs stumble.
                    let edit = Edit::new(span.clone(), " ");
                    odd = Some(Fault::at(FaultKind::TabAfterColon, span).cured_by(vec![edit], true));
                }
                continue;
            }
            if in_indent || before.ends_with([':', '-', ',', '{', '[']) {
                let edit = Edit::new(span.clone(), " ".repeat(count));
                mend.make(&edit);
                let fault = odd.get_or_insert_with(|| Fault::at(FaultKind::NoBreakSpace, span).cured_by(Vec::new(), true));
                fault.cure.iter_mut().for_each(|cure| cure.edits.push(edit.clone()));
            }
        }
        found.extend(odd);
        if structure {
            mend_curly(line, range.start, mend, found);
        }
    }
    if let Some((count, mut fault)) = control {
        if let FaultKind::Control { code, .. } = fault.kind {
            fault.kind = FaultKind::Control { code, count };
        }
        found.push(fault);
    }
}

/// A value that begins and ends with curly quotes is one that a phone rewrote.
fn mend_curly(line: &str, start: usize, mend: &mut Mend, found: &mut Vec<Fault>) {
    let mut from = 0;
    while let Some((at, open)) = line[from..].char_indices().map(|(at, c)| (from + at, c)).find(|(_, c)| curly_pair(*c).is_some()) {
        let after_open = at + open.len_utf8();
        from = after_open;
        let begins_value = line[..at].trim_end().ends_with([':', '-', ',', '{', '[']);
        let Some(closers) = curly_pair(open).filter(|_| begins_value) else { continue };
        if let Some(end) = curly_end(line, after_open, closers) {
            put_straight(line, start, at..end, after_open, mend, found);
            from = end;
        }
    }
}

/// Characters of a quoted value that are looked through for its end.
const MAX_QUOTED: usize = 1000;

/// The end of a value that a curly quote closes: before the line's end, or a comma or bracket outside the quotes.
fn curly_end(line: &str, from: usize, closers: &[char]) -> Option<usize> {
    line[from..].char_indices().take(MAX_QUOTED).map(|(at, c)| (from + at + c.len_utf8(), c)).find_map(|(end, c)| {
        let rest = line[end..].trim_start();
        (closers.contains(&c) && (rest.is_empty() || rest.starts_with([',', '}', ']', '#']))).then_some(end)
    })
}

/// Replaces the quotes around `value` with straight ones.
fn put_straight(line: &str, start: usize, value: Range<usize>, inner: usize, mend: &mut Mend, found: &mut Vec<Fault>) {
    let closer = line[..value.end].chars().next_back().map_or(0, char::len_utf8);
    let text: String = line[inner..value.end - closer].chars().map(|c| if is_control(c) { ' ' } else { c }).collect();
    let plain = format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""));
    let span = start + value.start..start + value.end;
    cure(FaultKind::CurlyQuotes { text }, Edit::new(span, plain), true, mend, found);
}

/// Tells of a fault that one replacement cures, and makes it.
fn cure(kind: FaultKind, edit: Edit, certain: bool, mend: &mut Mend, found: &mut Vec<Fault>) {
    mend.make(&edit);
    found.push(Fault::at(kind, edit.range.clone()).cured_by(vec![edit], certain));
}

/// The lines that YAML reads as structure: all but those of block texts, which begin below a `|` or `>`.
fn structural(front: &str) -> impl Iterator<Item = (Range<usize>, &str)> {
    let mut is_structure = structure_of_lines();
    lines(front).filter(move |(_, line)| is_structure(line))
}

/// Tells, line after line, whether YAML reads it as structure.
fn structure_of_lines() -> impl FnMut(&str) -> bool {
    let mut text_below: Option<usize> = None;
    move |line| {
        let column = line.len() - line.trim_start_matches(' ').len();
        if let Some(key) = text_below {
            if line.trim().is_empty() || column > key {
                return false;
            }
            text_below = None;
        }
        let value = line.trim_end();
        let header = value.trim_end_matches(['+', '-']);
        if header.strip_suffix(['|', '>']).is_some_and(|before| before.ends_with(": ") || before.ends_with("- ")) {
            // A key's text stands deeper than the key, also where the key follows the dash of an item.
            text_below = Some(line.len() - line.trim_start_matches([' ', '-']).len());
        }
        true
    }
}

/// Faults of whole lines that stop a YAML parser, cured in the reading copy where the cure is certain.
pub fn mend_lines(front: &str, mend: &mut Mend, found: &mut Vec<Fault>) {
    mend_fences(front, mend, found);
    for (range, line) in structural(front) {
        mend_off_scale(line, range.start, mend, found);
        mend_half_curly(line, range.start, mend, found);
        if line.trim_start_matches([' ', '-']).contains(['{', '[']) {
            mend_flow_colons(line, range.start, mend, found);
        }
        mend_colon(line, range.start, mend, found);
    }
    // Last: how wide a tab was is asked of the parser, and nothing else should stop it.
    mend_tabs(front, mend, found);
}

/// Takes out the lines that end a document for YAML, though keys follow.
fn mend_fences(front: &str, mend: &mut Mend, found: &mut Vec<Fault>) {
    for (range, line) in lines(front).filter(|(_, line)| is_fence(line) || line.trim_end() == "...") {
        // A document may begin with a fence, and end with one that nothing follows.
        if !is_blank(&front[..range.start]) && !is_blank(&front[range.end..]) {
            found.push(Fault::at(FaultKind::FenceInside { found: line.trim_end().to_owned() }, range.clone()));
        }
        mend.replace(range, "");
    }
}

/// How many columns a tab was meant to be, where that can be asked of the parser.
const TAB_WIDTHS: [Option<usize>; 4] = [None, Some(2), Some(4), Some(8)];

/// Tabs as indent. What one was meant to be is the first of these with which the text reads furthest: level with the line above, or
/// two, four or eight columns.
fn mend_tabs(front: &str, mend: &mut Mend, found: &mut Vec<Fault>) {
    let indent_of = |line: &str| line.len() - line.trim_start_matches([' ', '\t']).len();
    let Some((first, line)) = structural(front).find(|(_, line)| line[..indent_of(line)].contains('\t')) else { return };
    let at = first.start + line.find('\t').unwrap_or(0);
    let fault = Fault::at(FaultKind::TabIndent, at..at + 1);
    let tries = TAB_WIDTHS.map(|width| {
        let mut tried = mend.clone();
        let mut edits = Vec::new();
        let mut level = 0;
        for (range, line) in structural(front) {
            let bare = &line[indent_of(line)..];
            let indent = &line[..indent_of(line)];
            let column = match width {
                _ if !indent.contains('\t') => indent.len(),
                None if bare.starts_with('-') => level.max(2) - 2,
                None => level,
                Some(width) => indent.bytes().map(|byte| if byte == b'\t' { width } else { 1 }).sum(),
            };
            if indent.contains('\t') {
                let edit = Edit::new(range.start..range.start + indent.len(), " ".repeat(column));
                tried.make(&edit);
                edits.push(edit);
            }
            if !bare.is_empty() {
                let dashes = bare.len() - bare.trim_start_matches(['-', ' ']).len();
                level = column + dashes + if bare.trim_end().ends_with(':') { 2 } else { 0 };
            }
        }
        let (reach, tree) = match tree::parse(&tried.text()) {
            Ok(tree) => (usize::MAX, Some(tree)),
            Err(broken) => (tried.original_offset(broken.at), None),
        };
        Tabs { reach, tree, mend: tried, edits }
    });
    let furthest = tries.iter().map(|tabs| tabs.reach).max().unwrap_or_default();
    let mut equal = tries.into_iter().filter(|tabs| tabs.reach == furthest);
    let Some(best) = equal.next() else { return };
    // Where another width reads as well, both must say the same.
    let values = |tabs: &Tabs| {
        tabs.tree.as_ref().map(|tree| tree.values().map(|(path, node, _)| (path, node.text().map(str::to_owned))).collect::<Vec<_>>())
    };
    let read = values(&best);
    let certain = read.is_some() && equal.all(|tabs| values(&tabs) == read);
    *mend = best.mend;
    found.push(fault.cured_by(best.edits, certain));
}

/// What came of taking tabs to be so wide.
struct Tabs {
    /// How far the text reads.
    reach: usize,
    tree: Option<Node>,
    mend: Mend,
    edits: Vec<Edit>,
}

/// The regions between git's conflict marks. In the reading copy the first version stands, so that its keys can be found and taken
/// out: which version is true is not for a program to say.
pub fn mend_conflicts(front: &str, mend: &mut Mend, found: &mut Vec<Fault>) -> Vec<Range<usize>> {
    let mut regions = Vec::new();
    let mut open: Option<(Range<usize>, Option<usize>)> = None;
    let with_end = |range: Range<usize>| range.start..line_around(front, range.start).end;
    for (range, line) in lines(front) {
        if line.starts_with("<<<<<<<") {
            if let Some((mark, _)) = open.replace((range.clone(), None)) {
                found.push(Fault::at(FaultKind::ConflictMarks, mark));
            }
            mend.replace(with_end(range), "");
        } else if line.starts_with("=======") || line.starts_with("|||||||") {
            match &mut open {
                Some((_, middle)) => {
                    middle.get_or_insert(range.start);
                }
                None => found.push(Fault::at(FaultKind::ConflictMarks, range.clone())),
            }
            mend.replace(with_end(range), "");
        } else if line.starts_with(">>>>>>>") {
            let end = with_end(range.clone());
            match open.take() {
                Some((mark, middle)) => {
                    let middle = middle.unwrap_or(end.start);
                    regions.push(line_around(front, mark.start).end..middle);
                    found.push(Fault::at(FaultKind::ConflictMarks, mark));
                    mend.replace(middle..end.end, "");
                }
                None => {
                    found.push(Fault::at(FaultKind::ConflictMarks, range));
                    mend.replace(end, "");
                }
            }
        }
    }
    if let Some((mark, _)) = open {
        found.push(Fault::at(FaultKind::ConflictMarks, mark));
    }
    regions
}

/// `>999` and `> 999` without quotes.
fn mend_off_scale(line: &str, start: usize, mend: &mut Mend, found: &mut Vec<Fault>) {
    let mut from = 0;
    while let Some(at) = line[from..].find('>').map(|at| from + at) {
        from = at + 1;
        let begins_value = line[..at].trim_end().ends_with(':') && line[..at].ends_with([' ', ':']);
        let rest = &line[from..];
        let digits = rest.trim_start_matches(' ');
        let length = digits.bytes().take_while(|byte| byte.is_ascii_digit() || *byte == b'.').count();
        let tail = digits[length..].trim_start();
        if begins_value && length > 0 && (tail.is_empty() || tail.starts_with([',', '}', ']', '#'])) {
            let end = from + (rest.len() - digits.len()) + length;
            let text = format!(">{}", &digits[..length]);
            let edit = Edit::new(start + at..start + end, format!("\"{text}\""));
            cure(FaultKind::OffScaleUnquoted { text }, edit, true, mend, found);
            from = end;
        }
    }
}

/// A value that a straight quote opens and a curly one closes.
fn mend_half_curly(line: &str, start: usize, mend: &mut Mend, found: &mut Vec<Fault>) {
    if line.is_ascii() {
        return;
    }
    let mut from = 0;
    while let Some(at) = line[from..].find('"').map(|at| from + at) {
        let begins_value = line[..at].trim_end().ends_with([':', '-', ',', '{', '[']);
        from = at + 1;
        if !begins_value {
            continue;
        }
        let straight = line[from..].find('"').map(|end| from + end + 1);
        match curly_end(line, from, &['\u{201d}', '\u{201c}']).filter(|end| straight.is_none_or(|straight| *end < straight)) {
            Some(end) => {
                put_straight(line, start, at..end, at + 1, mend, found);
                from = end;
            }
            None => from = straight.unwrap_or(line.len()),
        }
    }
}

/// `found: trips: only in rain` on a line of its own: the text is quoted.
fn mend_colon(line: &str, start: usize, mend: &mut Mend, found: &mut Vec<Fault>) {
    let bare = line.trim_start_matches([' ', '-']);
    let Some((key, value)) = bare.split_once(": ") else { return };
    let plain_key = !key.is_empty() && key.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_');
    let value = value.trim_start();
    let comment = value.find(" #").unwrap_or(value.len());
    let text = value[..comment].trim_end();
    let opens_otherwise = text.starts_with(['"', '\'', '{', '[', '|', '>', '&', '*', '!', '#']);
    if !plain_key || opens_otherwise || !(text.contains(": ") || text.ends_with(':')) {
        return;
    }
    let at = start + (line.len() - value.len());
    quote_text(text, at, true, mend, found);
}

fn quote_text(text: &str, at: usize, certain: bool, mend: &mut Mend, found: &mut Vec<Fault>) {
    let edit = Edit::new(at..at + text.len(), format!("'{}'", text.replace('\'', "''")));
    cure(FaultKind::ColonInText { text: text.to_owned() }, edit, certain, mend, found);
}

/// `{how: raised: seen to back off}`: the text in the brackets is quoted.
fn mend_flow_colons(line: &str, start: usize, mend: &mut Mend, found: &mut Vec<Fault>) {
    let mut value: Option<usize> = None;
    for piece in Pieces::of(line).filter(|piece| piece.depth > 0) {
        match piece.kind {
            PieceKind::Colon => {
                value.get_or_insert(piece.at + 1);
            }
            PieceKind::Comma | PieceKind::Close => {
                let Some(begin) = value.take() else { continue };
                let text = line[begin..piece.at].trim();
                if !text.contains(": ") || text.starts_with(['"', '\'', '&', '*', '!']) {
                    continue;
                }
                let at = start + begin + (line[begin..].len() - line[begin..].trim_start().len());
                match key_without_comma(text) {
                    Some(key) => {
                        let key = at + key.start..at + key.end;
                        let name = line[key.start - start..key.end - start].to_owned();
                        let edit = Edit::new(key.start - 1..key.start, ", ");
                        mend.make(&edit);
                        found.push(Fault::at(FaultKind::NotYaml(Syntax::NoComma { key: name }), key).cured_by(vec![edit], false));
                    }
                    // In brackets it may also be a comma that is missing.
                    None => quote_text(text, at, false, mend, found),
                }
            }
            PieceKind::Open | PieceKind::Quoted | PieceKind::QuoteOpen => value = None,
        }
    }
}

/// The key in `3 line_mm2: 6`, where a comma was forgotten: behind a number, or a word that only a key can be.
fn key_without_comma(text: &str) -> Option<Range<usize>> {
    let colon = text.find(": ")?;
    let start = text[..colon].rfind(' ')? + 1;
    let behind_number = text[..start].trim().bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    (behind_number || text[start..colon].contains('_')).then_some(start..colon)
}

/// The marks of a line that give it its structure, quoted text left out.
pub struct Pieces<'l> {
    line: &'l str,
    at: usize,
    depth: usize,
    /// Whether a quote here would begin a value.
    fresh: bool,
}

/// A mark of structure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// What it is.
    pub kind: PieceKind,
    /// Its first byte in the line.
    pub at: usize,
    /// The byte after its last.
    pub end: usize,
    /// Brackets open around it; for a bracket itself, with it.
    pub depth: usize,
}

/// What a mark of structure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PieceKind {
    /// `{` or `[`.
    Open,
    /// `}` or `]`.
    Close,
    /// A colon that ends a key.
    Colon,
    /// A comma in brackets.
    Comma,
    /// The end of a quoted text.
    Quoted,
    /// A quote that nothing on the line closes.
    QuoteOpen,
}

impl<'l> Pieces<'l> {
    /// Takes a line apart.
    pub fn of(line: &'l str) -> Self {
        Pieces { line, at: 0, depth: 0, fresh: true }
    }
}

impl Iterator for Pieces<'_> {
    type Item = Piece;
    fn next(&mut self) -> Option<Piece> {
        let bytes = self.line.as_bytes();
        while let Some(byte) = bytes.get(self.at).copied() {
            let at = self.at;
            let fresh = self.fresh;
            self.at += 1;
            self.fresh = match byte {
                b' ' => fresh,
                b'-' => fresh && self.depth == 0,
                b'{' | b'[' | b',' | b':' => true,
                _ => false,
            };
            let ends_key = || bytes.get(self.at).is_none_or(|next| *next == b' ');
            let kind = match byte {
                b'{' | b'[' => {
                    self.depth += 1;
                    PieceKind::Open
                }
                b'}' | b']' => {
                    let depth = self.depth;
                    self.depth = depth.saturating_sub(1);
                    return Some(Piece { kind: PieceKind::Close, at, end: self.at, depth });
                }
                b',' if self.depth > 0 => PieceKind::Comma,
                b':' if ends_key() => PieceKind::Colon,
                b'#' if at > 0 && bytes[at - 1] == b' ' => return None,
                b'"' | b'\'' if fresh => match end_of_quoted(bytes, at) {
                    Some(end) => {
                        self.at = end;
                        PieceKind::Quoted
                    }
                    None => {
                        self.at = bytes.len();
                        PieceKind::QuoteOpen
                    }
                },
                _ => continue,
            };
            return Some(Piece { kind, at, end: self.at, depth: self.depth });
        }
        None
    }
}

/// The byte after a quoted text that begins at `at`.
fn end_of_quoted(bytes: &[u8], at: usize) -> Option<usize> {
    let quote = bytes[at];
    let mut next = at + 1;
    while let Some(byte) = bytes.get(next).copied() {
        next += 1;
        if byte == b'\\' && quote == b'"' {
            next += 1;
        } else if byte == quote {
            if quote == b'\'' && bytes.get(next) == Some(&b'\'') {
                next += 1;
            } else {
                return Some(next);
            }
        }
    }
    None
}

/// Digits that begin with a nought and are not quoted: other programs drop the nought or read octal.
pub fn leading_zeros(front: &str) -> impl Iterator<Item = Fault> {
    memmem::find_iter(front.as_bytes(), b": 0").filter_map(move |at| {
        let start = at + 2;
        let length = front[start..].bytes().take_while(u8::is_ascii_digit).count();
        if length < 2 {
            return None;
        }
        let line = line_around(front, at);
        let rest = front[start + length..line.end].trim_end();
        let ends = rest.is_empty() || rest.starts_with([',', '}', ']']) || rest.trim_start().starts_with('#');
        let before = &front[line.start..at];
        let key = before.rsplit([' ', '{', ',']).next().unwrap_or_default().to_owned();
        (ends && !before.contains('#')).then(|| {
            let text = front[start..start + length].to_owned();
            Fault::at(FaultKind::LeadingZero { key, text }, start..start + length)
        })
    })
}

/// The entries at the left margin, each with the lines that belong to it.
pub fn top_level_blocks(text: &str) -> Vec<Range<usize>> {
    let mut starts: Vec<usize> = lines(text)
        .filter(|(_, line)| !line.is_empty() && !line.starts_with([' ', '\t', '-', '#', '}', ']']))
        .map(|(range, _)| range.start)
        .collect();
    if starts.first().is_none_or(|first| *first > 0) {
        starts.insert(0, 0);
    }
    starts.push(text.len());
    starts.windows(2).map(|pair| pair[0]..pair[1]).collect()
}

/// The line around a byte, with its line end.
pub fn line_around(text: &str, at: usize) -> Range<usize> {
    let at = at.min(text.len());
    let start = text.as_bytes()[..at].iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    let end = text.as_bytes()[at..].iter().position(|byte| *byte == b'\n').map_or(text.len(), |end| at + end + 1);
    start..end
}

/// The range without white space at its ends.
pub fn trimmed(text: &str, range: Range<usize>) -> Range<usize> {
    let part = text.get(range.clone()).unwrap_or_default();
    let start = range.start + (part.len() - part.trim_start().len());
    start..(start + part.trim().len())
}

/// The first line of a range.
pub fn first_line(text: &str, range: Range<usize>) -> Range<usize> {
    let part = text.get(range.clone()).unwrap_or_default();
    let line = part.split('\n').next().unwrap_or_default().trim_end();
    range.start..range.start + line.len()
}

/// Whether there may be anchors and aliases in the text.
pub fn may_hold_aliases(front: &str) -> bool {
    front.contains('&') && front.contains('*')
}
