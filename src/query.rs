//! Field filters: JSONPath (RFC 9535) on the published form of a record.

use serde_json::Value;
use serde_json_path::{JsonPath, PathElement};

use crate::book::{FieldPath, Step};

/// More characters than any filter needs.
pub const MAX_LENGTH: usize = 2000;
/// Brackets within brackets that no filter comes near; the parser's own stack grows with them.
pub const MAX_DEPTH: usize = 16;
/// `..` more often than any filter needs, one within brackets counted twice: each multiplies the work by the size of a record.
pub const MAX_DESCENTS: usize = 4;
/// Selectors side by side in brackets, over the whole filter: each bracket multiplies the work by its own.
pub const MAX_SELECTORS: usize = 16;

/// Patterns that one filter may look for; each is made anew for every value that it is held against.
pub const MAX_PATTERNS: usize = 4;
/// Bytes that a pattern may take once it is made: three times `\w+` and some text, in well under a hundredth of a second.
const MAX_PATTERN_BYTES: usize = 256 * 1024;
/// `..` and selectors side by side in a filter that looks for patterns: what multiplies the values multiplies the patterns that are made.
const MAX_PLACES_OF_PATTERNS: usize = 2;

/// A filter that has been read.
#[derive(Debug, Clone)]
pub struct Query {
    path: JsonPath,
}

/// A value that a filter selects.
#[derive(Debug)]
pub struct Selected<'v> {
    /// Its path in the record's JSON.
    pub path: FieldPath,
    /// The value.
    pub value: &'v Value,
}

impl Query {
    /// Reads a filter, or says what is wrong with it and where.
    pub fn new(text: &str) -> Result<Query, String> {
        let asked = within_bounds(text)?;
        if !text.starts_with('$') {
            return Err("a JSONPath begins with $, as in $.circuits[?@.use == 'ev']".to_owned());
        }
        let path = JsonPath::parse(text).map_err(|error| {
            // The parser counts bytes from 0, people characters from 1.
            let character = text.get(..error.position()).unwrap_or(text).chars().count() + 1;
            format!("it stops being JSONPath at character {character}: {}", error.message())
        })?;
        let patterns = patterns(text)?;
        // A comma stands between a value and its pattern, too.
        let is_spread = asked.descents > MAX_PLACES_OF_PATTERNS || asked.commas.saturating_sub(patterns.len()) > MAX_PLACES_OF_PATTERNS;
        if patterns.len() > MAX_PATTERNS || is_spread && !patterns.is_empty() {
            return Err("it looks for patterns in too many places".to_owned());
        }
        patterns.iter().try_for_each(|pattern| can_be_made(pattern))?;
        Ok(Query { path })
    }

    /// What it selects in a record's JSON, in document order.
    pub fn select<'v>(&self, record: &'v Value) -> Vec<Selected<'v>> {
        let found = self.path.query_located(record);
        found
            .iter()
            .map(|node| {
                let steps = node.location().iter().map(|element| match element {
                    PathElement::Name(name) => Step::from((*name).to_owned()),
                    PathElement::Index(index) => Step::from(*index),
                });
                Selected { path: steps.collect(), value: node.node() }
            })
            .collect()
    }
}

/// What multiplies the work of a filter.
struct Multipliers {
    descents: usize,
    commas: usize,
}

/// Refuses what would cost the parser its stack or the search its evening.
fn within_bounds(text: &str) -> Result<Multipliers, String> {
    if text.chars().count() > MAX_LENGTH {
        return Err(format!("it is longer than {MAX_LENGTH} characters"));
    }
    let (mut depth, mut descents, mut commas, mut nots) = (0_usize, 0, 0, 0);
    let mut quote = None;
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        match (quote, c) {
            (Some(_), '\\') => {
                rest.next();
            }
            (Some(open), c) if c == open => quote = None,
            (Some(_), _) => {}
            (None, '\'' | '"') => quote = Some(c),
            (None, '[' | '(') => depth += 1,
            (None, ']' | ')') => depth = depth.saturating_sub(1),
            (None, ',') => commas += 1,
            (None, '!') => nots += 1,
            (None, '.') if rest.next_if_eq(&'.').is_some() => descents += if depth > 0 { 2 } else { 1 },
            _ => {}
        }
        if depth > MAX_DEPTH {
            return Err(format!("its brackets stand more than {MAX_DEPTH} deep"));
        }
    }
    // The parser wants more of a text that ends within an escape, and has nothing to say when there is no more.
    if let Some(open) = quote {
        return Err(format!("a text in it has no closing {open}"));
    }
    if descents > MAX_DESCENTS {
        return Err("it goes down by .. too often".to_owned());
    }
    if commas > MAX_SELECTORS || nots > MAX_SELECTORS {
        return Err(format!("it names more than {MAX_SELECTORS} things side by side"));
    }
    Ok(Multipliers { descents, commas })
}

/// The patterns of `match` and `search` in a filter that is well-formed, their escapes undone. They have to be written out: what a
/// record says is no pattern, since it can say anything.
fn patterns(text: &str) -> Result<Vec<String>, String> {
    let mut patterns = Vec::new();
    // Brackets whose end has not come yet; true for those of a call that looks for a pattern.
    let mut open: Vec<bool> = Vec::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let at = text.len() - rest.len();
        rest = &rest[c.len_utf8()..];
        match c {
            '\'' | '"' => rest = quoted(rest, c).1,
            '(' => open.push(text[..at].ends_with("match") || text[..at].ends_with("search")),
            '[' => open.push(false),
            ')' | ']' => drop(open.pop()),
            ',' if open.last() == Some(&true) => {
                let argument = rest.trim_start();
                let quote = argument.chars().next().filter(|quote| matches!(quote, '\'' | '"'));
                let Some(quote) = quote else { return Err("match and search want their pattern in quotes".to_owned()) };
                let (pattern, after) = quoted(&argument[1..], quote);
                patterns.push(pattern);
                rest = after;
            }
            _ => {}
        }
    }
    Ok(patterns)
}

/// A text up to its closing quote, its escapes undone, and what stands behind it.
fn quoted(text: &str, quote: char) -> (String, &str) {
    // As JSON writes it, which has the same escapes but one.
    let mut json = String::from('"');
    let mut letters = text.char_indices();
    while let Some((at, c)) = letters.next() {
        match c {
            c if c == quote => {
                json.push('"');
                return (serde_json::from_str(&json).unwrap_or_default(), &text[at + 1..]);
            }
            '\\' => match letters.next() {
                Some((_, '\'')) => json.push('\''),
                Some((_, escaped)) => json.extend(['\\', escaped]),
                None => break,
            },
            '"' => json.push_str("\\\""),
            other => json.push(other),
        }
    }
    (String::new(), "")
}

/// Says why a pattern cannot be looked for: it would match nothing, and in silence.
fn can_be_made(pattern: &str) -> Result<(), String> {
    match regex::RegexBuilder::new(&format!("(?R)^({pattern})$")).size_limit(MAX_PATTERN_BYTES).build() {
        Ok(_) => Ok(()),
        Err(regex::Error::CompiledTooBig(_)) => {
            Err("its pattern is too large: a smaller number in {} or . for \\w makes it smaller".to_owned())
        }
        Err(_) => Err("its pattern is no regular expression".to_owned()),
    }
}
