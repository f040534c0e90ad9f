//! Records found by words, by fields, by site, kind and day.

use serde_json::Value;

use crate::book::{Book, SiteFiles, SourceFile, Written};
use crate::flat::Forms;
use crate::query::Query;
use crate::record::Date;
use crate::render::line_number;
use crate::search::{Memory, Misfit, Words};
use crate::sheets::{self, Sheet, SheetKind};

/// What is asked for. Everything given must hold.
#[derive(Debug, Default)]
pub struct Asked {
    /// Words that the record holds.
    pub words: Words,
    /// Filters on its fields; each must select something.
    pub filters: Vec<Query>,
    /// Sites, by id; all where none are given.
    pub sites: Vec<String>,
    /// Kinds of record or of visit, as spelt in records; all where none are given.
    pub kinds: Vec<String>,
    /// The first day; a record without a day is then left out.
    pub from: Option<Date>,
    /// The last day; likewise.
    pub to: Option<Date>,
}

/// A record that was asked for.
#[derive(Debug)]
pub struct Hit {
    /// Its file, relative to the book's root.
    pub file: String,
    /// Its site, for a site and its visits.
    pub site: Option<String>,
    /// Its day, for a visit and a recall.
    pub day: Option<Date>,
    /// What kind of record it is.
    pub kind: SheetKind,
    /// The kind of visit, of instrument or of model.
    pub sort: Option<&'static str>,
    /// Its id.
    pub id: String,
    /// Its one line for lists.
    pub title: String,
    /// The words of the record taken for words asked for with a slip of spelling.
    pub slips: Vec<String>,
    /// Where what was asked for stands; at least one.
    pub spots: Vec<Spot>,
    order: (Misfit, usize),
}

/// A place in a record that answers what was asked.
#[derive(Debug)]
pub struct Spot {
    /// Its line, from 1.
    pub line: usize,
    /// The line's text, or the selected value in brief.
    pub text: String,
    /// The byte of the text that matters most.
    pub at: usize,
    /// For a selected value, its JSON Pointer and the value.
    pub value: Option<(String, Value)>,
}

/// The answer.
#[derive(Debug, Default)]
pub struct Found {
    /// The hits, the best first.
    pub hits: Vec<Hit>,
    /// Records looked at: those that the other filters let through.
    pub looked_at: usize,
    /// For each word, how many of these hold it.
    pub holding: Vec<usize>,
}

/// Looks through a book.
pub fn find(book: &Book, asked: &Asked) -> Found {
    let forms = Forms::new();
    let mut found = Found { holding: vec![0; asked.words.iter().count()], ..Found::default() };
    if asked.sites.is_empty() {
        let of_registers = look(sheets::registers(book), asked, &forms);
        found.add(of_registers);
    }
    let sites: Vec<&SiteFiles> = book.sites.iter().filter(|files| asked.sites.is_empty() || asked.sites.contains(&files.id)).collect();
    let make = |files: &SiteFiles| {
        let (records, _) = book.read_site(files);
        look(sheets::of_site(&records), asked, &forms)
    };
    sheets::each_site(&sites, make, |of_site| {
        found.add(of_site);
        true
    });
    found.hits.sort_by(|a, b| (a.order, std::cmp::Reverse(a.day), &a.file).cmp(&(b.order, std::cmp::Reverse(b.day), &b.file)));
    found
}

impl Found {
    fn add(&mut self, more: Found) {
        self.hits.extend(more.hits);
        self.looked_at += more.looked_at;
        for (all, some) in self.holding.iter_mut().zip(more.holding) {
            *all += some;
        }
    }
}

fn look(sheets: Vec<Sheet>, asked: &Asked, forms: &Forms) -> Found {
    let memory = Memory::default();
    let mut found = Found { holding: vec![0; asked.words.iter().count()], ..Found::default() };
    for sheet in sheets.iter().filter(|sheet| asked.lets_through(sheet)) {
        let written = Written::of(&sheet.source);
        found.looked_at += 1;
        let Some(mut spots) = selected(sheet, written.as_ref(), asked, forms) else { continue };
        let mut order = (0, 0);
        let mut slips = Vec::new();
        if !asked.words.is_empty() {
            let looked = asked.words.look_in(sheet, written.as_ref(), &memory);
            for (count, holds) in found.holding.iter_mut().zip(&looked.holds) {
                *count += usize::from(*holds);
            }
            let Some(hit) = looked.found else { continue };
            order = (hit.misfit, hit.scattered);
            slips = hit.slips;
            spots.insert(0, line_of(&sheet.source, hit.at));
        }
        if spots.is_empty() {
            // Asked for by site, kind or day alone: the record is shown at its top.
            let front = sheet.source.front.start;
            spots.push(Spot { text: sheet.title.clone(), ..line_of(&sheet.source, front) });
        }
        found.hits.push(Hit {
            file: sheet.source.path.clone(),
            site: sheet.site.clone(),
            day: sheet.day,
            kind: sheet.kind,
            sort: sheet.sort,
            id: sheet.id.clone(),
            title: sheet.title.clone(),
            slips,
            spots,
            order,
        });
    }
    found
}

impl Asked {
    fn lets_through(&self, sheet: &Sheet) -> bool {
        let named = |kind: &String| kind == sheet.kind.as_str() || sheet.kind == SheetKind::Job && sheet.sort == Some(kind.as_str());
        let kind = self.kinds.is_empty() || self.kinds.iter().any(named);
        let from = self.from.is_none_or(|from| sheet.day.is_some_and(|day| day >= from));
        let to = self.to.is_none_or(|to| sheet.day.is_some_and(|day| day <= to));
        kind && from && to
    }
}

/// What the filters select of a record; nothing when one of them selects nothing.
fn selected(sheet: &Sheet, written: Option<&Written<'_>>, asked: &Asked, forms: &Forms) -> Option<Vec<Spot>> {
    if asked.filters.is_empty() {
        return Some(Vec::new());
    }
    let record = forms.json(sheet, written);
    let mut spots: Vec<(usize, Spot)> = Vec::new();
    for filter in &asked.filters {
        let selected = filter.select(&record);
        if selected.is_empty() {
            return None;
        }
        for node in selected {
            let pointer = node.path.to_string();
            if spots.iter().any(|(_, spot)| spot.value.as_ref().is_some_and(|(known, _)| *known == pointer)) {
                continue;
            }
            let at = match node.path.last_key() {
                Some("body") if node.path.steps().len() == 1 => sheet.source.body.start,
                _ => written.map_or(sheet.source.front.start, |written| written.span_to_show(&node.path).start),
            };
            let key = node.path.last_key().map_or(String::new(), |key| format!("{key}: "));
            let text = format!("{key}{}", brief(node.value));
            spots.push((at, Spot { line: 0, text, at: 0, value: Some((pointer, node.value.clone())) }));
        }
    }
    spots.sort_by_key(|(at, _)| *at);
    Some(spots.into_iter().map(|(at, spot)| Spot { line: line_number(&sheet.source, at), ..spot }).collect())
}

/// A value in few words: `id: shed/1, serves: charge point, rcd: {...}`.
fn brief(value: &Value) -> String {
    let short = |value: &Value| match value {
        Value::Object(_) => "{...}".to_owned(),
        Value::Array(items) => format!("[{}]", items.len()),
        single => brief(single),
    };
    match value {
        Value::Null => "(nothing)".to_owned(),
        Value::String(text) => text.clone(),
        Value::Object(keys) => keys.iter().map(|(key, value)| format!("{key}: {}", short(value))).collect::<Vec<_>>().join(", "),
        Value::Array(items) => items.iter().map(short).collect::<Vec<_>>().join(", "),
        single => single.to_string(),
    }
}

/// The line of a file on which a byte stands.
fn line_of(file: &SourceFile, at: usize) -> Spot {
    let number = line_number(file, at);
    let starts = file.line_starts();
    let start = starts.get(number - 1).copied().unwrap_or_default();
    let end = starts.get(number).copied().unwrap_or(file.text.len());
    let line = file.text.get(start..end).unwrap_or_default().trim_end();
    let bare = line.trim_start();
    let indent = line.len() - bare.len();
    Spot { line: number, text: bare.to_owned(), at: at.saturating_sub(start + indent), value: None }
}
