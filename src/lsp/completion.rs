//! What may be typed at the cursor: keys, words of a vocabulary, and the ids that the book knows.

use gen_lsp_types as lsp;

use super::cursor::{Cursor, Role};
use super::definition::{Thing, thing_at};
use super::keys::{self, Shape, meaning};
use super::page::{Page, is_at};
use crate::book::{FieldPath, Step};
use crate::record::Job;
use crate::rules;

/// Something that may stand at the cursor.
struct Offer {
    label: String,
    /// What is written; the label where nothing is said.
    text: Option<String>,
    detail: String,
    documentation: String,
    kind: lsp::CompletionItemKind,
}

impl Offer {
    fn id(label: impl Into<String>, detail: impl Into<String>) -> Offer {
        let kind = lsp::CompletionItemKind::Reference;
        Offer { label: label.into(), text: None, detail: detail.into(), documentation: String::new(), kind }
    }
}

/// What may be typed at a byte of a document.
pub fn complete(page: &Page<'_>, at: usize) -> Option<lsp::CompletionList> {
    let cursor = page.cursor(at)?;
    if at > cursor.token.end && !page.slice(&(cursor.token.end..at)).trim().is_empty() {
        return None;
    }
    let shape = keys::at(page.kind?, &cursor.path)?;
    let offers = match cursor.role {
        Role::Value => values(page, &cursor.path, shape),
        Role::Key if shape.is_map() => keys_of(page, &cursor, shape, ""),
        Role::Key if shape.allows("array") => {
            // A list that has no dash here yet.
            let inner = cursor.path.at(usize::MAX);
            let item = keys::at(page.kind?, &inner)?;
            if item.is_map() {
                keys_of(page, &Cursor { path: inner, ..cursor.clone() }, item, "- ")
            } else {
                values(page, &inner, item).into_iter().map(|offer| Offer { text: Some(format!("- {}", offer.label)), ..offer }).collect()
            }
        }
        Role::Key if matches!(cursor.path.steps().last(), Some(Step::Index(_))) => values(page, &cursor.path, shape),
        Role::Key => Vec::new(),
    };
    // Nothing may stand directly behind a colon or a comma.
    let start = cursor.token.start.min(at);
    let gap = if page.text[..start].ends_with([':', ',']) { " " } else { "" };
    let span = start..if cursor.role == Role::Key && !cursor.has_colon { at.max(start) } else { cursor.token.end.max(at) };
    let range = page.range(span);
    let item = |(index, offer): (usize, Offer)| lsp::CompletionItem {
        sort_text: Some(format!("{index:04}")),
        filter_text: Some(offer.label.clone()),
        text_edit: Some(lsp::TextEdit { range, new_text: format!("{gap}{}", offer.text.as_ref().unwrap_or(&offer.label)) }.into()),
        label: offer.label,
        kind: Some(offer.kind),
        detail: (!offer.detail.is_empty()).then_some(offer.detail),
        documentation: (!offer.documentation.is_empty()).then_some(lsp::Documentation::MarkupContent(lsp::MarkupContent {
            kind: lsp::MarkupKind::Markdown,
            value: offer.documentation,
        })),
        ..Default::default()
    };
    let items = offers.into_iter().enumerate().map(item).collect();
    Some(lsp::CompletionList { is_incomplete: false, items, item_defaults: None, apply_kind: None })
}

/// The keys that may stand in a map and do not stand there yet.
fn keys_of(page: &Page<'_>, cursor: &Cursor, shape: Shape, dash: &str) -> Vec<Offer> {
    let typed = page.slice(&cursor.token);
    let places = page.places().map(|(_, places)| places);
    let is_there = |name: &str| {
        let path = cursor.path.at(name.to_owned());
        name != typed && places.as_ref().is_some_and(|places| places.has(&path))
    };
    let offer = |(name, inner): (&'static str, Shape)| {
        let description = inner.description().unwrap_or_default();
        let colon = match (cursor.has_colon, inner.is_map() || inner.allows("array")) {
            (true, _) => "",
            (false, true) => ":",
            (false, false) => ": ",
        };
        Offer {
            label: name.to_owned(),
            text: Some(format!("{dash}{name}{colon}")),
            detail: description.lines().next().unwrap_or_default().to_owned(),
            documentation: description.to_owned(),
            kind: lsp::CompletionItemKind::Property,
        }
    };
    shape.keys().filter(|(name, _)| !is_there(name)).map(offer).collect()
}

/// The values that may stand at a path.
fn values(page: &Page<'_>, path: &FieldPath, shape: Shape) -> Vec<Offer> {
    let shape = if shape.allows("array") { keys::at(page.kind.unwrap_or_default(), &path.at(usize::MAX)).unwrap_or(shape) } else { shape };
    let description = shape.description().unwrap_or_default();
    let word = |word: &'static str| Offer {
        label: word.to_owned(),
        text: None,
        detail: meaning(description, word).unwrap_or_default().to_owned(),
        documentation: String::new(),
        kind: lsp::CompletionItemKind::EnumMember,
    };
    let mut offers: Vec<Offer> = shape.words().map(word).collect();
    if shape.allows("boolean") {
        offers.extend(["true", "false"].map(word));
    }
    if path.last_key() == Some("rule") {
        offers.extend(rules::all().map(|rule| Offer {
            documentation: rule.looks_at.to_owned(),
            ..Offer::id(rule.id, format!("{}: {}", rule.grade, rule.title))
        }));
    }
    offers.extend(ids(page, path));
    offers
}

/// The ids that may stand at a path.
fn ids(page: &Page<'_>, path: &FieldPath) -> Vec<Offer> {
    let book = &page.desk.book;
    let Some(thing) = thing_at(path) else { return Vec::new() };
    match thing {
        Thing::Instrument => book.instruments.iter().map(|(id, record)| Offer::id(id, said(&record.data.kind))).collect(),
        Thing::Model => book.models.iter().map(|(id, record)| Offer::id(id, said(&record.data.kind))).collect(),
        Thing::Person => {
            let people = book.settings.data.people.iter();
            people.filter_map(|person| Some(Offer::id(person.id.as_deref()?, person.role.as_deref().unwrap_or_default()))).collect()
        }
        Thing::Circuit => circuits(page, path),
        Thing::Board => boards(page),
        Thing::Serial => serials(page),
        Thing::Visit => visits(page, |_, id| vec![Offer::id(id, "")]),
        Thing::Fault => visits(page, |job, id| {
            let faults = job.faults.iter().filter_map(|fault| Some((fault.id.as_deref()?, fault)));
            faults.map(|(fault, data)| Offer::id(format!("{id}#{fault}"), said(&data.symptom))).collect()
        }),
        Thing::Site => book.sites.iter().map(|site| Offer::id(&site.id, "")).collect(),
        Thing::Supply => Vec::new(),
    }
}

fn said(word: &Option<impl ToString>) -> String {
    word.as_ref().map(ToString::to_string).unwrap_or_default()
}

/// The circuits of the site, as they were last described, and its boards with a stroke behind them for a new one.
fn circuits(page: &Page<'_>, path: &FieldPath) -> Vec<Offer> {
    let known = page.with_site(|site| {
        let mut known = std::collections::BTreeMap::new();
        for circuit in site.jobs().flat_map(|job| job.circuits()).filter(|circuit| !circuit.id().is_empty()) {
            let serves = circuit.circuit.serves.as_deref();
            let entry: &mut String = known.entry(circuit.id().to_owned()).or_default();
            if let Some(serves) = serves {
                *entry = serves.to_owned();
            }
        }
        known
    });
    let mut offers: Vec<Offer> = known.unwrap_or_default().into_iter().map(|(id, serves)| Offer::id(id, serves)).collect();
    if is_at(path, &["circuits", "id"]) {
        offers.extend(boards(page).into_iter().map(|board| Offer { label: format!("{}/", board.label), ..board }));
    }
    if path.last_key() == Some("fed_from") {
        offers.insert(0, Offer::id("origin", "the supply's own terminals"));
    }
    offers
}

fn boards(page: &Page<'_>) -> Vec<Offer> {
    let known = page.with_site(|site| {
        let boards = site.site().map(|site| site.boards.as_slice()).unwrap_or_default().iter();
        boards.filter_map(|board| Some(Offer::id(board.id.as_deref()?, "board"))).collect()
    });
    known.unwrap_or_default()
}

/// The serials seen at the site, quoted as they should be.
fn serials(page: &Page<'_>) -> Vec<Offer> {
    let known = page.with_site(|site| {
        let units = site.jobs().flat_map(|job| job.data().units.iter());
        let mut serials: Vec<(String, String)> =
            units.filter_map(|unit| Some((unit.serial.clone()?, unit.model.clone().unwrap_or_default()))).collect();
        serials.sort();
        serials.dedup_by(|a, b| a.0 == b.0);
        serials
    });
    let is_number = |serial: &str| serial.bytes().all(|byte| byte.is_ascii_digit() || b".eE+-_".contains(&byte));
    let offer = |(serial, model): (String, String)| {
        let quoted = is_number(&serial).then(|| format!("\"{serial}\""));
        Offer { text: quoted, ..Offer::id(serial, model) }
    };
    known.unwrap_or_default().into_iter().map(offer).collect()
}

/// Something of each visit of the site, the latest first.
fn visits(page: &Page<'_>, offers: impl Fn(&Job, &str) -> Vec<Offer>) -> Vec<Offer> {
    let known = page.with_site(|site| {
        let others = site.jobs().rev().filter(|job| job.record.source.path != page.path);
        let titled = |job: crate::rules::view::JobView<'_>| {
            let title = job.data().title.clone().unwrap_or_default();
            offers(job.data(), job.id()).into_iter().map(move |offer| Offer { documentation: title.clone(), ..offer })
        };
        others.flat_map(titled).collect()
    });
    known.unwrap_or_default()
}
