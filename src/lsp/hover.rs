//! What stands under the cursor: what a key means, what a reading is held against, what a rule says.

use std::fmt::Write;

use gen_lsp_types as lsp;

use super::cursor::Role;
use super::keys::{self, meaning};
use super::page::{Page, is_at};
use crate::book::{FieldPath, Step};
use crate::record::ReadingKey;
use crate::rules::loops::expected;
use crate::rules::view::CircuitView;
use crate::rules::{self, Rule, limits};

/// The hover at a byte of a document.
pub fn hover(page: &Page<'_>, at: usize) -> Option<lsp::Hover> {
    let cursor = page.cursor(at)?;
    let word = page.slice(&cursor.token);
    if word.is_empty() || at > cursor.token.end {
        return None;
    }
    let mut parts = Vec::new();
    if cursor.role == Role::Value && cursor.path.last_key() == Some("rule") {
        parts.extend(rules::by_id(word).map(rule_page));
    } else {
        let path = if cursor.role == Role::Key && matches!(cursor.path.steps().last(), Some(Step::Index(_))) {
            // A word of a list of words, or a key of an item.
            let key = cursor.value_path(page.text);
            if keys::at(page.kind?, &key).is_some() { key } else { cursor.path.clone() }
        } else {
            cursor.value_path(page.text)
        };
        let description = keys::at(page.kind?, &path)?.description();
        match description.and_then(|text| meaning(text, word).filter(|_| cursor.role == Role::Value)) {
            Some(meaning) => parts.push(format!("`{word}`: {meaning}")),
            None => parts.extend(description.map(str::to_owned)),
        }
        parts.extend(page.with_circuit(&path, |circuit| held_against(circuit, &path)).into_iter().flatten());
    }
    if parts.is_empty() {
        return None;
    }
    let contents = lsp::MarkupContent { kind: lsp::MarkupKind::Markdown, value: parts.join("\n\n") };
    Some(lsp::Hover { contents: contents.into(), range: Some(page.range(cursor.token)) })
}

/// What a circuit's reading is held against, and what its cable lets expect.
fn held_against(circuit: CircuitView<'_>, path: &FieldPath) -> Vec<String> {
    let mut parts = Vec::new();
    let Some(key) = path.last_key().filter(|_| is_at(path, &["circuits", "readings", path.last_key().unwrap_or_default()])) else {
        return parts;
    };
    let Ok(key) = key.parse::<ReadingKey>() else { return parts };
    if let Some(bound) = limits::bound(circuit, key) {
        parts.push(format!("**{}**, by {}", bound.words(), bound.limit.source));
    }
    if let Some(expected) = expected(circuit).filter(|expected| expected.key == key) {
        parts.push(format!("{} {}, by {}", expected.run, expected.words(), expected.sources()));
    }
    parts
}

/// A rule in a few paragraphs.
fn rule_page(rule: &Rule) -> String {
    let mut page = format!("**{}** ({})", rule.title, rule.grade);
    for (head, text) in [("Looks at", rule.looks_at), ("Why it matters", rule.why), ("How to put it right", rule.cure)] {
        let _ = write!(page, "\n\n{head}: {text}");
    }
    let _ = write!(page, "\n\nSources: {}", rule.sources.join("; "));
    page
}
