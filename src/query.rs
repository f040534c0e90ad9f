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
        within_bounds(text)?;
        if !text.starts_with('$') {
            return Err("a JSONPath begins with $, as in $.circuits[?@.use == 'ev']".to_owned());
        }
        let path = JsonPath::parse(text)
            .map_err(|error| format!("it stops being JSONPath at character {}: {}", error.position(), error.message()))?;
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

/// Refuses what would cost the parser its stack or the search its evening.
fn within_bounds(text: &str) -> Result<(), String> {
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
    if descents > MAX_DESCENTS {
        return Err("it goes down by .. too often".to_owned());
    }
    if commas > MAX_SELECTORS || nots > MAX_SELECTORS {
        return Err(format!("it names more than {MAX_SELECTORS} things side by side"));
    }
    Ok(())
}
