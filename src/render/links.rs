//! Paths and rules in finished text made into links that a terminal can follow.

use std::fmt::Write;

/// What begins and ends the address of a link, and ends the link (OSC 8).
const OPEN: &str = "\x1b]8;;";
const SHUT: &str = "\x1b\\";

/// `text` with every word that has an address, a path or a rule, made into a link, a path's line and column with it. Done last, so that no
/// width is miscounted.
///
/// A path is taken as it is printed. One that had to be changed to be printed has no address and stays plain, so that nothing of a name
/// can end a link early.
pub fn linked(text: &str, address: &dyn Fn(&str) -> Option<String>) -> String {
    let mut out = String::with_capacity(text.len() * 2);
    let mut rest = text;
    while !rest.is_empty() {
        // Colours are copied as they are: an m that ends one is no part of a word.
        if rest.starts_with("\x1b[") {
            let end = rest.find('m').map_or(rest.len(), |at| at + 1);
            out.push_str(&rest[..end]);
            rest = &rest[end..];
            continue;
        }
        let end = rest.find(is_between).unwrap_or(rest.len());
        if end == 0 {
            let width = rest.chars().next().map_or(1, char::len_utf8);
            out.push_str(&rest[..width]);
            rest = &rest[width..];
            continue;
        }
        put(&mut out, &rest[..end], address);
        rest = &rest[end..];
    }
    out
}

/// What cannot stand within a path that is linked.
fn is_between(c: char) -> bool {
    c.is_whitespace() || c.is_control() || matches!(c, '[' | ']' | '(' | ')' | ',' | ';' | '`' | '"' | '\'')
}

/// One word: `sites/oak-lane/site.md:12:3`, or no path.
fn put(out: &mut String, word: &str, address: &dyn Fn(&str) -> Option<String>) {
    let word_alone = word.trim_end_matches([':', '.']);
    let (path, place) = word_alone.split_at(word_alone.find(':').unwrap_or(word_alone.len()));
    let is_place = place.chars().all(|c| c == ':' || c.is_ascii_digit());
    match address(path) {
        Some(address) => {
            let shown = if is_place { word_alone } else { path };
            let _ = write!(out, "{OPEN}{address}{SHUT}{shown}{OPEN}{SHUT}{}", &word[shown.len()..]);
        }
        None => out.push_str(word),
    }
}
