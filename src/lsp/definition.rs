//! Where the thing under the cursor is described, and where else it is named.

use gen_lsp_types as lsp;
use rayon::prelude::*;

use super::cursor::Role;
use super::page::{Page, is_at};
use crate::book::{FieldPath, SourceFile, Step, Written};
use crate::finding::Place;
use crate::path;
use crate::rules::view::{CircuitView, SiteView};

/// What an id at a place in a record names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Thing {
    /// A circuit, `<board>/<way>`.
    Circuit,
    /// A distribution board.
    Board,
    /// The serial of a piece of equipment.
    Serial,
    /// An instrument.
    Instrument,
    /// A model.
    Model,
    /// A visit to the same site.
    Visit,
    /// A fault of an earlier visit, `<visit>#<fault>`.
    Fault,
    /// A person of the book's own.
    Person,
    /// A site, in `<site>/<visit>` of a recall.
    Site,
    /// The supply, as `site.md` describes it.
    Supply,
}

/// What the value at a path names.
pub fn thing_at(path: &FieldPath) -> Option<Thing> {
    let keys: Vec<&str> = path
        .steps()
        .iter()
        .filter_map(|step| match step {
            Step::Key(key) => Some(key.as_ref()),
            Step::Index(_) => None,
        })
        .collect();
    Some(match keys.as_slice() {
        ["circuits", "id"] | ["units" | "faults" | "joints", "circuit"] | ["circuits", "rcd", "device"] => Thing::Circuit,
        ["answers", "at"] | ["boards", "fed_from"] | ["observations", "where"] => Thing::Circuit,
        ["boards", "id"] => Thing::Board,
        ["units", "serial"] | ["circuits", "ev", "unit"] | ["faults", "unit"] | ["done", "serial"] => Thing::Serial,
        ["instruments"] => Thing::Instrument,
        ["units", "model"] | ["model"] => Thing::Model,
        ["continues"] | ["faults", "fixed_by"] | ["observations", "cleared_by"] => Thing::Visit,
        ["faults", "repeats"] => Thing::Fault,
        ["people", "designed" | "built" | "tested"] | ["answers", "by"] => Thing::Person,
        ["done", "by"] => Thing::Site,
        ["supply", ..] => Thing::Supply,
        _ => return None,
    })
}

/// Something named at the cursor.
struct Named<'p> {
    thing: Thing,
    /// Its id as written; for a fault with its visit.
    id: &'p str,
}

/// What is named at a byte of a document. On the board's part of a circuit's id, the board.
fn named<'p>(page: &'p Page<'_>, at: usize) -> Option<Named<'p>> {
    let cursor = page.cursor(at)?;
    let id = page.slice(&cursor.token);
    if at > cursor.token.end {
        return None;
    }
    let is_item = matches!(cursor.path.steps().last(), Some(Step::Index(_)));
    let path = match cursor.role {
        Role::Key if is_item => cursor.path.clone(),
        Role::Key => cursor.value_path(page.text),
        Role::Value => cursor.path.clone(),
    };
    let thing = thing_at(&path)?;
    if cursor.role == Role::Key && !is_item && thing != Thing::Supply {
        return None;
    }
    if thing == Thing::Circuit
        && let Some((board, _)) = id.split_once('/')
        && at <= cursor.token.start + board.len()
    {
        return Some(Named { thing: Thing::Board, id: board });
    }
    Some(Named { thing, id })
}

/// Where the thing under the cursor is described: a circuit at its visit before this one, a unit where it was seen before.
pub fn definition(page: &Page<'_>, at: usize) -> Option<Vec<lsp::Location>> {
    let Named { thing, id } = named(page, at)?;
    let book = &page.desk.book;
    let found = match thing {
        Thing::Instrument => book.instruments.get(id).map(|record| page.top_of(&record.source.path)).into_iter().collect(),
        Thing::Model => book.models.get(id).map(|record| page.top_of(&record.source.path)).into_iter().collect(),
        Thing::Person => {
            let index = book.settings.data.people.iter().position(|person| person.id.as_deref() == Some(id))?;
            vec![page.location(Place::at(&book.settings.source, path!["people", index, "id"]))]
        }
        Thing::Site => {
            let (site, visit) = id.split_once('/').unwrap_or((id, "site"));
            let path = format!("sites/{site}/{visit}.md");
            book.site(site).filter(|files| files.is_record(&path)).map(|_| page.top_of(&path)).into_iter().collect()
        }
        Thing::Serial => sightings(page, thing, id).into_iter().filter(|location| !is_under(page, location, at)).collect(),
        Thing::Circuit | Thing::Board | Thing::Visit | Thing::Fault | Thing::Supply => {
            let place = page.with_site(|site| in_site(page, site, thing, id))?;
            place.map(|place| page.location(place)).into_iter().collect()
        }
    };
    Some(found)
}

/// Whether a location is the one under the cursor.
fn is_under(page: &Page<'_>, location: &lsp::Location, at: usize) -> bool {
    let here = page.lines.position(at);
    location.uri == page.uri() && location.range.start <= here && here <= location.range.end
}

/// Where something of a site is described.
fn in_site(page: &Page<'_>, site: &SiteView<'_>, thing: Thing, id: &str) -> Option<Place> {
    match thing {
        Thing::Supply => site.supply().map(|_| site.place(path!["supply"])),
        Thing::Board => site.board(id).map(|(index, _)| site.place(path!["boards", index, "id"])),
        Thing::Visit => site.job(id).map(|job| Place::bytes(&job.record.source, FieldPath::root(), 0..0)),
        Thing::Fault => {
            let (visit, fault) = id.split_once('#')?;
            let job = site.job(visit)?;
            let index = job.data().faults.iter().position(|data| data.id.as_deref() == Some(fault))?;
            Some(job.place(path!["faults", index, "id"]))
        }
        Thing::Circuit => {
            let before = |circuit: &CircuitView<'_>| circuit.job.record.source.path.as_str() < page.path;
            let all: Vec<_> = site.jobs().filter_map(|job| job.circuit(id)).collect();
            let own = |circuit: &&CircuitView<'_>| circuit.job.record.source.path != page.path;
            let circuit = all.iter().rev().find(|circuit| before(circuit)).or_else(|| all.iter().rev().find(own)).or(all.last());
            circuit.map(|circuit| circuit.place_of("id"))
        }
        Thing::Serial | Thing::Instrument | Thing::Model | Thing::Person | Thing::Site => None,
    }
}

/// Everywhere the thing under the cursor is named.
pub fn references(page: &Page<'_>, at: usize) -> Option<Vec<lsp::Location>> {
    let Named { thing, id } = named(page, at)?;
    Some(sightings(page, thing, id))
}

/// Everywhere a thing is named: in its own site for what belongs to a site, in the whole book for the rest.
fn sightings(page: &Page<'_>, thing: Thing, id: &str) -> Vec<lsp::Location> {
    if id.is_empty() || thing == Thing::Supply {
        return Vec::new();
    }
    let book = &page.desk.book;
    let of_site = |site: &crate::book::SiteFiles| site.site.iter().chain(&site.jobs).cloned().collect::<Vec<_>>();
    let is_of_site = matches!(thing, Thing::Circuit | Thing::Board | Thing::Visit | Thing::Fault);
    let paths: Vec<String> = if is_of_site {
        book.site_of(page.path).map(of_site).unwrap_or_default()
    } else {
        let records = book.recalls.values().map(|record| record.source.path.clone());
        book.sites.iter().flat_map(of_site).chain(records).collect()
    };
    // Most files do not hold the word at all, and are not decoded.
    let places: Vec<Vec<Place>> = paths
        .par_iter()
        .map(|path| {
            let has_word = book.text(path).is_some_and(|text| text.contains(id));
            has_word.then(|| book.reread(path)).flatten().map(|source| places_in(&source, thing, id)).unwrap_or_default()
        })
        .collect();
    places.into_iter().flatten().map(|place| page.location(place)).collect()
}

/// Where a file names a thing.
fn places_in(source: &std::sync::Arc<SourceFile>, thing: Thing, id: &str) -> Vec<Place> {
    let Some(written) = Written::of(source) else { return Vec::new() };
    let leaves = written.leaves().into_iter();
    leaves
        .filter(|leaf| {
            let named = thing_at(&leaf.path);
            let is_it = named == Some(thing) && leaf.text == id;
            let on_board = thing == Thing::Board
                && is_at(&leaf.path, &["circuits", "id"])
                && leaf.text.split_once('/').is_some_and(|(board, _)| board == id);
            is_it || on_board
        })
        .map(|leaf| Place::bytes(source, leaf.path.clone(), leaf.span.clone()))
        .collect()
}
