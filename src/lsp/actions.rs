//! What can be done about a finding where it stands: a fault of form put right, the readings it misses as keys to fill in, or a dated answer whose reason its owner
//! writes. Nothing is made up: every value that only the owner knows is left blank.

use std::collections::{BTreeMap, HashMap};
use std::ops::Range;

use gen_lsp_types as lsp;
use serde_json::json;

use super::desk::site_id;
use super::keys;
use super::page::{Page, is_at};
use crate::book::{FieldPath, Node, NodeKind, Step, Written};
use crate::finding::{Finding, Grade};
use crate::fix::{self, Fix};
use crate::path;
use crate::record::ReadingKey;
use crate::rules::{self, Check};

/// The rule that tells of readings which are not there.
const MISSING_READING: &str = "missing-reading";

/// The actions for what stands within some bytes of a document.
pub fn actions(page: &Page<'_>, within: Range<usize>) -> Vec<lsp::CodeAction> {
    let of_site = site_id(page.path).map(|id| page.desk.verdict_of(id).findings);
    let here: Vec<&Finding> = of_site
        .as_deref()
        .unwrap_or(page.desk.standing())
        .iter()
        .filter(|finding| finding.place.file.path == page.path)
        .filter(|finding| {
            let span = finding.place.span.clone().unwrap_or(0..0);
            let lines = page.range(span);
            let wanted = page.range(within.clone());
            lines.start.line <= wanted.end.line && wanted.start.line <= lines.end.line
        })
        .collect();
    let mut actions: Vec<lsp::CodeAction> = here.iter().flat_map(|finding| mendings(page, finding)).collect();
    // A damaged front matter is put right first: what would be added to it has no certain place.
    let Some(written) = Written::of(&page.source) else { return actions };
    let missing = missing_readings(page, &written, &here);
    let answers = here.iter().filter_map(|finding| answer(page, &written, finding));
    actions.extend(missing.into_iter().chain(answers));
    actions
}

/// The fixes of a fault of form; each has been read again and found good.
fn mendings(page: &Page<'_>, finding: &Finding) -> Vec<lsp::CodeAction> {
    let of_fix = |fix: Fix| {
        let guess = if fix.is_safe() { "" } else { " (a guess: look at what it writes)" };
        let edits = fix.edits.iter().map(|edit| lsp::TextEdit { range: page.range(edit.range.clone()), new_text: edit.text.clone() });
        let is_preferred = fix.is_safe().then_some(true);
        lsp::CodeAction { is_preferred, ..with_edits(page, format!("Fix: {}{guess}", fix.title), &[finding], edits.collect()) }
    };
    fix::fixes(&page.desk.book, finding).into_iter().map(of_fix).collect()
}

fn action(page: &Page<'_>, title: String, findings: &[&Finding], at: usize, text: String) -> lsp::CodeAction {
    with_edits(page, title, findings, vec![lsp::TextEdit { range: page.range(at..at), new_text: text }])
}

fn with_edits(page: &Page<'_>, title: String, findings: &[&Finding], edits: Vec<lsp::TextEdit>) -> lsp::CodeAction {
    let mut teller = page.teller();
    let diagnostics = findings.iter().map(|finding| teller.diagnostic(finding)).collect();
    lsp::CodeAction {
        title,
        kind: Some(lsp::CodeActionKind::QuickFix),
        diagnostics: Some(diagnostics),
        edit: Some(lsp::WorkspaceEdit { changes: Some(HashMap::from([(page.uri(), edits)])), ..Default::default() }),
        ..Default::default()
    }
}

/// The missing readings of each circuit, all of them in one go.
fn missing_readings(page: &Page<'_>, written: &Written<'_>, findings: &[&Finding]) -> Vec<lsp::CodeAction> {
    let mut by_circuit: BTreeMap<usize, Vec<&Finding>> = BTreeMap::new();
    for finding in findings {
        let path = &finding.place.path;
        if let [Step::Key(list), Step::Index(circuit), Step::Key(map), Step::Key(_)] = path.steps()
            && (list.as_ref(), map.as_ref()) == ("circuits", "readings")
            && keys::at("job", path).is_some()
            && !written.has(path)
        {
            by_circuit.entry(*circuit).or_default().push(finding);
        }
    }
    let action_for = |(circuit, findings): (usize, Vec<&Finding>)| {
        let circuit = path!["circuits", circuit];
        let mut names: Vec<String> = Vec::new();
        for finding in &findings {
            // One finding tells of all readings that a circuit lacks, and stands where the first would.
            let all = match finding.rule == MISSING_READING {
                true => page.with_circuit(&finding.place.path, crate::rules::missing::missing_readings).unwrap_or_default(),
                false => Vec::new(),
            };
            let own = finding.place.path.last_key().map(str::to_owned);
            names.extend(all.iter().map(ToString::to_string).chain(own));
        }
        names.sort_by_key(|name| ReadingKey::ALL.iter().position(|key| key.as_str() == name));
        names.dedup();
        let lines: Vec<String> = names.iter().map(|key| format!("{key}: ")).collect();
        let (at, text) = insertion(page, written, &circuit.at("readings"), &lines)
            .or_else(|| under_new_key(page, written, &circuit, "readings", &lines))?;
        let title = format!("Add {} to fill in", names.join(", "));
        Some(action(page, title, &findings, at, text))
    };
    by_circuit.into_iter().filter_map(action_for).collect()
}

/// An answer to a finding that may have one, its reason left to be written.
fn answer(page: &Page<'_>, written: &Written<'_>, finding: &Finding) -> Option<lsp::CodeAction> {
    let is_judging = rules::by_id(finding.rule).is_none_or(|rule| matches!(rule.check, Check::Judging));
    if finding.grade == Grade::Danger || is_judging || keys::at(page.kind?, &path!["answers"]).is_none() {
        return None;
    }
    let at = if finding.subject.is_empty() { String::new() } else { format!("at: {}, ", quoted(&finding.subject)) };
    // A breach is quiet only until a day, and the owner says which.
    let until = if finding.grade == Grade::Breach { ", until: " } else { "" };
    let entry = format!("{{rule: {}, {at}why: , on: {}{until}}}", finding.rule, page.desk.today());
    let (at, text) = insertion(page, written, &path!["answers"], std::slice::from_ref(&entry))
        .or_else(|| under_new_key(page, written, &FieldPath::root(), "answers", &[format!("- {entry}")]))?;
    let title = format!("Answer {} with a reason to write", finding.rule);
    Some(action(page, title, &[finding], at, text))
}

/// A value as a flow map can hold it.
fn quoted(text: &str) -> String {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || "/-_".contains(c);
    let is_word = text.starts_with(|c: char| c.is_ascii_alphabetic()) && text.chars().all(is_plain);
    if is_word { text.to_owned() } else { json!(text).to_string() }
}

/// Where and how lines are added to a map or list that is there.
fn insertion(page: &Page<'_>, written: &Written<'_>, path: &FieldPath, lines: &[String]) -> Option<(usize, String)> {
    let found = written.root().find(path);
    if found.depth < path.steps().len() {
        return None;
    }
    let (is_list, is_flow, is_empty) = match &found.node.kind {
        NodeKind::Map(entries, style) => (false, style.is_flow(), entries.is_empty()),
        NodeKind::List(items, style) => (true, style.is_flow(), items.is_empty()),
        // The key stands there with nothing behind it.
        NodeKind::Scalar(text) if text.is_empty() => {
            let key = written.span(&found.key?.key_span);
            let indent = indent_of(page, key.start) + 2;
            let dash = if is_at(path, &["answers"]) { "- " } else { "" };
            let end = line_end(page, key.end);
            return Some((end, block(page, indent, dash, lines)));
        }
        NodeKind::Scalar(_) => return None,
    };
    let span = written.span(&found.node.span);
    if is_flow {
        let last = span.end.checked_sub(1).filter(|at| page.text[*at..].starts_with(['}', ']']))?;
        let before = page.text[span.start..last].trim_end();
        let gap = if is_empty || before.ends_with(',') { "" } else { ", " };
        return Some((span.start + before.len(), format!("{gap}{}", lines.join(", ").trim_end())));
    }
    let first = first_of(found.node)?;
    let column = column_of(page, written.span(&first).start);
    // Items stand behind their dash.
    let (indent, dash) = if is_list { (column.checked_sub(2)?, "- ") } else { (column, "") };
    Some((line_end(page, last_of(page, span)), block(page, indent, dash, lines)))
}

/// Where and how lines are added under a key that is not there yet, at the end of a block map.
fn under_new_key(page: &Page<'_>, written: &Written<'_>, path: &FieldPath, key: &str, lines: &[String]) -> Option<(usize, String)> {
    let found = written.root().find(path);
    if found.depth < path.steps().len() {
        return None;
    }
    let NodeKind::Map(entries, style) = &found.node.kind else { return None };
    let span = written.span(&found.node.span);
    if style.is_flow() {
        let last = span.end.checked_sub(1).filter(|at| page.text[*at..].starts_with('}'))?;
        return Some((last, format!(", {key}: {{{}}}", lines.join(", "))));
    }
    let column = column_of(page, written.span(&entries.first()?.key_span).start);
    let inner = block(page, column + 2, "", lines);
    Some((line_end(page, last_of(page, span)), format!("{}{}{key}:{inner}", page.line_break(), " ".repeat(column))))
}

/// The first key or item of a node.
fn first_of(node: &Node) -> Option<Range<usize>> {
    match &node.kind {
        NodeKind::Map(entries, _) => entries.first().map(|entry| entry.key_span.clone()),
        NodeKind::List(items, _) => items.first().map(|item| match &item.kind {
            NodeKind::Map(entries, style) if !style.is_flow() => entries.first().map_or(item.span.clone(), |entry| entry.key_span.clone()),
            _ => item.span.clone(),
        }),
        NodeKind::Scalar(_) => None,
    }
}

/// Lines of a block, each after a line break.
fn block(page: &Page<'_>, indent: usize, dash: &str, lines: &[String]) -> String {
    lines.iter().map(|line| format!("{}{}{dash}{line}", page.line_break(), " ".repeat(indent))).collect()
}

/// The column of a byte, in spaces.
fn column_of(page: &Page<'_>, at: usize) -> usize {
    let start = page.text[..at].rfind('\n').map_or(0, |end| end + 1);
    page.text[start..at].chars().count()
}

/// The indent of the line on which a byte stands.
fn indent_of(page: &Page<'_>, at: usize) -> usize {
    let start = page.text[..at].rfind('\n').map_or(0, |end| end + 1);
    page.text[start..].len() - page.text[start..].trim_start_matches([' ', '-']).len()
}

/// The end of what some bytes say: a block of text has its last line break within it.
fn last_of(page: &Page<'_>, span: Range<usize>) -> usize {
    span.start + page.slice(&span).trim_end().len()
}

/// The end of the line on which a byte stands, before its line break.
fn line_end(page: &Page<'_>, at: usize) -> usize {
    let end = page.text[at..].find('\n').map_or(page.text.len(), |end| at + end);
    if page.text[..end].ends_with('\r') { end - 1 } else { end }
}
