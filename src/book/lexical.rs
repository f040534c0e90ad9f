//! Faults that can be seen in the characters of a front matter, before and beside any parser.

use std::ops::Range;

use super::fault::{Fault, FaultKind};
use super::mend::Mend;
use super::source::lines;

/// Brackets within brackets that no record comes near.
const MAX_DEPTH: usize = 64;

/// The byte at which brackets stand deeper than any record needs.
pub fn too_deep(front: &str) -> Option<usize> {
    let mut depth = 0_usize;
    for (at, byte) in front.bytes().enumerate() {
        match byte {
            b'[' | b'{' => depth += 1,
            b']' | b'}' => depth = depth.saturating_sub(1),
            _ => continue,
        }
        if depth > MAX_DEPTH {
            return Some(at);
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
    front.bytes().all(|byte| matches!(byte, b' '..=b'~' | b'\n' | b'\r'))
}

fn is_control(c: char) -> bool {
    (c.is_control() && !matches!(c, '\n' | '\r' | '\t')) || matches!(c, '\u{2028}' | '\u{2029}' | '\u{feff}')
}

fn is_odd_space(c: char) -> bool {
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
    for (at, c) in front.char_indices().filter(|(_, c)| is_control(*c)) {
        let span = at..at + c.len_utf8();
        found.push(Fault::at(FaultKind::Control { code: c.into() }, span.clone()));
        mend.replace(span, " ");
    }
    for (range, line) in lines(front) {
        if line.is_ascii() {
            continue;
        }
        let mut told = false;
        let indent = line.len() - line.trim_start().len();
        for (at, c) in line.char_indices().filter(|(_, c)| is_odd_space(*c)) {
            // Within text a no-break space is the owner's business; as indent or after a key's colon it changes what is read.
            let before = &line[..at];
            let after_colon = before.trim_end_matches(|c| c == ' ' || is_odd_space(c)).ends_with([':', '-', ',', '{', '[']);
            if at >= indent && !after_colon {
                continue;
            }
            let span = range.start + at..range.start + at + c.len_utf8();
            if !told {
                found.push(Fault::at(FaultKind::NoBreakSpace, span.clone()));
                told = true;
            }
            mend.replace(span, " ");
        }
        mend_curly(line, range.start, mend, found);
    }
}

/// A value that begins and ends with curly quotes is one that a phone rewrote.
fn mend_curly(line: &str, start: usize, mend: &mut Mend, found: &mut Vec<Fault>) {
    let mut from = 0;
    while let Some((at, open)) = line[from..].char_indices().map(|(at, c)| (from + at, c)).find(|(_, c)| curly_pair(*c).is_some()) {
        let after_open = at + open.len_utf8();
        from = after_open;
        let begins_value = line[..at].trim_end().ends_with([':', '-', ',', '{', '[']) || line[..at].trim().is_empty();
        let Some(closers) = curly_pair(open).filter(|_| begins_value) else { continue };
        // The last closer before the value's end: end of line, or a comma or bracket outside the quotes.
        let close = line[after_open..].char_indices().map(|(at, c)| (after_open + at, c)).find(|(at, c)| {
            let rest = line[at + c.len_utf8()..].trim_start();
            closers.contains(c) && (rest.is_empty() || rest.starts_with([',', '}', ']', '#']))
        });
        let Some((end, closer)) = close else { continue };
        let after_close = end + closer.len_utf8();
        let text = line[after_open..end].to_owned();
        let plain = format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""));
        found.push(Fault::at(FaultKind::CurlyQuotes { text }, start + at..start + after_close));
        mend.replace(start + at..start + after_close, plain);
        from = after_close;
    }
}

/// Faults of whole lines that stop a YAML parser, cured in the reading copy where the cure is certain.
pub fn mend_lines(front: &str, mend: &mut Mend, found: &mut Vec<Fault>) {
    mend_conflicts(front, mend, found);
    let mut tab_told = false;
    for (range, line) in lines(front) {
        let indent = line.len() - line.trim_start_matches([' ', '\t']).len();
        if line[..indent].contains('\t') {
            if !tab_told {
                let at = range.start + line.find('\t').unwrap_or(0);
                found.push(Fault::at(FaultKind::TabIndent, at..at + 1));
                tab_told = true;
            }
            mend.replace(range.start..range.start + indent, line[..indent].replace('\t', "  "));
        }
        mend_off_scale(line, range.start, mend, found);
        mend_colon(line, range.start, mend, found);
    }
}

/// Both sides of a conflict are taken out: which of them is true is not for a program to say.
fn mend_conflicts(front: &str, mend: &mut Mend, found: &mut Vec<Fault>) {
    let mut open: Option<Range<usize>> = None;
    for (range, line) in lines(front) {
        if line.starts_with("<<<<<<<") && open.is_none() {
            open = Some(range);
        } else if line.starts_with(">>>>>>>") {
            let mark = open.take().unwrap_or(range.clone());
            found.push(Fault::at(FaultKind::ConflictMarks, mark.clone()));
            mend.replace(mark.start..range.end, "");
        }
    }
    if let Some(mark) = open {
        found.push(Fault::at(FaultKind::ConflictMarks, mark.clone()));
        mend.replace(mark, "");
    }
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
            found.push(Fault::at(FaultKind::OffScaleUnquoted { text: text.clone() }, start + at..start + end));
            mend.replace(start + at..start + end, format!("\"{text}\""));
            from = end;
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
    found.push(Fault::at(FaultKind::ColonInText { text: text.to_owned() }, at..at + text.len()));
    mend.replace(at..at + text.len(), format!("'{}'", text.replace('\'', "''")));
}

/// Digits that begin with a nought and are not quoted: other programs drop the nought or read octal.
pub fn leading_zeros(front: &str, offset: usize) -> impl Iterator<Item = Fault> {
    front.match_indices(": 0").filter_map(move |(at, _)| {
        let start = at + 2;
        let length = front[start..].bytes().take_while(u8::is_ascii_digit).count();
        let after = front[start + length..].bytes().next();
        let ends = matches!(after, None | Some(b'\n' | b'\r' | b',' | b'}' | b']'));
        let line_start = front[..at].rfind('\n').map_or(0, |at| at + 1);
        let in_comment = front[line_start..at].contains('#');
        (length > 1 && ends && !in_comment).then(|| {
            let text = front[start..start + length].to_owned();
            Fault::at(FaultKind::LeadingZero { text }, offset + start..offset + start + length)
        })
    })
}

/// The entries at the left margin, each with the lines that belong to it.
pub fn top_level_blocks(text: &str) -> Vec<Range<usize>> {
    let mut starts: Vec<usize> = lines(text)
        .filter(|(_, line)| !line.is_empty() && !line.starts_with([' ', '\t', '-', '#', '}', ']']))
        .map(|(range, _)| range.start)
        .collect();
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

/// A decoder's message without its path and position.
pub fn plain_message(message: &str) -> String {
    let message = message.rsplit_once(" at line ").map_or(message, |(message, _)| message);
    let path_like = |path: &str| !path.contains(' ');
    let message = message.split_once(": ").filter(|(path, _)| path_like(path)).map_or(message, |(_, message)| message);
    message.replace("unit value", "nothing").replace("sequence", "list")
}
