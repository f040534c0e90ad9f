//! What a document holds: circuits, faults, units, headings.

use std::ops::Range;

use gen_lsp_types as lsp;
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

use super::page::Page;
use crate::book::{Node, NodeKind, Written};

/// The lists whose items are shown, with the keys that name an item and those that say more of it.
const LISTS: [(&str, lsp::SymbolKind, &[&str], &[&str]); 8] = [
    ("boards", lsp::SymbolKind::Module, &["id"], &["standard"]),
    ("circuits", lsp::SymbolKind::Object, &["id"], &["serves", "use"]),
    ("units", lsp::SymbolKind::Struct, &["serial"], &["event", "model"]),
    ("joints", lsp::SymbolKind::Field, &["where"], &["kind"]),
    ("faults", lsp::SymbolKind::Event, &["id"], &["symptom", "found"]),
    ("observations", lsp::SymbolKind::Event, &["id"], &["code", "what"]),
    ("follow_ups", lsp::SymbolKind::Event, &["what"], &["due"]),
    ("calibrations", lsp::SymbolKind::Event, &["on"], &["certificate"]),
];

/// The symbols of a document, in the order in which they stand there.
pub fn symbols(page: &Page<'_>) -> Vec<lsp::DocumentSymbol> {
    let mut symbols = items(page).unwrap_or_default();
    symbols.extend(headings(page));
    symbols
}

fn items(page: &Page<'_>) -> Option<Vec<lsp::DocumentSymbol>> {
    let source = page.desk.book.reread(page.path)?;
    let written = Written::of(&source)?;
    let NodeKind::Map(entries, _) = &written.root().kind else { return None };
    let mut symbols = Vec::new();
    for entry in entries {
        let Some((_, kind, naming, telling)) = LISTS.iter().find(|(list, ..)| *list == entry.key) else { continue };
        let NodeKind::List(items, _) = &entry.value.kind else { continue };
        let children = items.iter().filter_map(|item| {
            let named = naming.iter().find_map(|name| scalar(item, name))?;
            let told: Vec<&str> = telling.iter().filter_map(|name| scalar(item, name).map(|(text, _)| text)).collect();
            let selection = written.span(&named.1);
            let whole = union(written.span(&item.span), &selection);
            symbol(page, named.0, &told.join(", "), *kind, whole, selection, Vec::new())
        });
        let children: Vec<_> = children.collect();
        let selection = written.span(&entry.key_span);
        let whole = union(written.span(&entry.value.span), &selection);
        symbols.extend(symbol(page, &entry.key, "", lsp::SymbolKind::Array, whole, selection, children));
    }
    Some(symbols)
}

/// A single value of a map, and its bytes in the tree.
fn scalar<'n>(node: &'n Node, name: &str) -> Option<(&'n str, Range<usize>)> {
    let NodeKind::Map(entries, _) = &node.kind else { return None };
    let entry = entries.iter().find(|entry| entry.key == name)?;
    match &entry.value.kind {
        NodeKind::Scalar(text) if !text.is_empty() => Some((text, entry.value.span.clone())),
        _ => None,
    }
}

fn union(a: Range<usize>, b: &Range<usize>) -> Range<usize> {
    a.start.min(b.start)..a.end.max(b.end)
}

fn symbol(
    page: &Page<'_>,
    name: &str,
    detail: &str,
    kind: lsp::SymbolKind,
    whole: Range<usize>,
    selection: Range<usize>,
    children: Vec<lsp::DocumentSymbol>,
) -> Option<lsp::DocumentSymbol> {
    // Editors refuse a symbol without a name.
    if name.trim().is_empty() {
        return None;
    }
    #[allow(deprecated, reason = "the protocol's struct still has the field")]
    Some(lsp::DocumentSymbol {
        name: name.to_owned(),
        detail: (!detail.is_empty()).then(|| detail.to_owned()),
        kind,
        tags: None,
        deprecated: None,
        range: page.range(whole),
        selection_range: page.range(selection),
        children: (!children.is_empty()).then_some(children),
    })
}

/// The headings of the body; each reaches to the end of its line.
fn headings(page: &Page<'_>) -> Vec<lsp::DocumentSymbol> {
    let start = page.source.body.start;
    let mut symbols = Vec::new();
    let mut open: Option<(Range<usize>, String)> = None;
    for (event, span) in Parser::new_ext(page.source.body_text(), Options::empty()).into_offset_iter() {
        match event {
            Event::Start(Tag::Heading { .. }) => open = Some((span.start + start..span.end + start, String::new())),
            Event::Text(text) | Event::Code(text) => {
                if let Some((_, name)) = &mut open {
                    name.push_str(&text);
                }
            }
            Event::End(TagEnd::Heading(_)) => {
                if let Some((span, name)) = open.take() {
                    let line = span.start..span.start + page.slice(&span).trim_end().len();
                    symbols.extend(symbol(page, &name, "", lsp::SymbolKind::String, line.clone(), line, Vec::new()));
                }
            }
            _ => {}
        }
    }
    symbols
}
