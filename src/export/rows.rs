//! The things that rows are made of, and how their facts become cells.

use std::fmt::Display;

use super::{Cell, scale_of};
use crate::book::{Book, FieldPath, Holes, Record};
use crate::finding::Place;
use crate::path;
use crate::record::{Count, Date, Instrument, Num, Reading};
use crate::rules::view::{CircuitView, JobView, Known, SiteView};

/// One of a visit's list.
pub struct Item<'a, T> {
    /// The visit.
    pub job: JobView<'a>,
    /// Its list.
    pub list: &'static str,
    /// Its place in the list.
    pub index: usize,
    /// What it says.
    pub says: &'a T,
}

impl<'a, T> Item<'a, T> {
    /// Its values that stand there and could not be read.
    pub fn unreadable(&self) -> Cell {
        holes(&self.job.record.unreadable, &path![self.list, self.index])
    }
}

/// Every item of one list of every visit of a site.
pub fn items<'a, T>(site: &'a SiteView<'a>, list: &'static str, of: impl Fn(&JobView<'a>) -> &'a [T]) -> Vec<Item<'a, T>> {
    let of_job = |job: JobView<'a>| of(&job).iter().enumerate().map(move |(index, says)| Item { job, list, index, says });
    site.jobs().flat_map(of_job).collect()
}

/// A calibration of an instrument, or a check between calibrations.
pub struct InstrumentEvent<'a> {
    /// The instrument.
    pub id: &'a str,
    /// `calibration` or `check`.
    pub event: &'static str,
    /// The day.
    pub on: Option<Date>,
    /// The day the next is due.
    pub due: Option<Date>,
    /// What came of it.
    pub result: Cell,
    /// What it was checked against.
    pub against: Option<&'a String>,
    /// Number of its certificate.
    pub certificate: Option<&'a String>,
}

/// Every calibration and check of every instrument.
pub fn events_of_instruments(book: &Book) -> Vec<InstrumentEvent<'_>> {
    let mut events = Vec::new();
    for Record { id, data: Instrument { calibrations, checks, .. }, .. } in book.instruments.values() {
        events.extend(calibrations.iter().map(|one| InstrumentEvent {
            id,
            event: "calibration",
            on: one.on,
            due: one.due,
            result: Cell::Empty,
            against: None,
            certificate: one.certificate.as_ref(),
        }));
        events.extend(checks.iter().map(|one| InstrumentEvent {
            id,
            event: "check",
            on: one.on,
            due: None,
            result: word(one.result),
            against: one.against.as_ref(),
            certificate: None,
        }));
    }
    events
}

/// Words as they are written.
pub fn text(value: Option<&String>) -> Cell {
    value.map_or(Cell::Empty, |value| Cell::Text(value.clone()))
}

/// A word of a vocabulary, or an id.
pub fn word(value: Option<impl Display>) -> Cell {
    value.map_or(Cell::Empty, |value| Cell::Text(value.to_string()))
}

/// A figure.
pub fn number(value: Option<Num>) -> Cell {
    value.map_or(Cell::Empty, |value| Cell::Number(*value))
}

/// A whole number.
pub fn whole(value: Option<Count>) -> Cell {
    value.map_or(Cell::Empty, |value| Cell::Whole(*value))
}

/// True or false.
pub fn flag(value: Option<bool>) -> Cell {
    value.map_or(Cell::Empty, Cell::Flag)
}

/// A day.
pub fn day(value: Option<Date>) -> Cell {
    value.map_or(Cell::Empty, Cell::Day)
}

/// The figure of a reading: the end of the scale when it is off it.
pub fn value(reading: Option<Reading>) -> Cell {
    reading.map_or(Cell::Empty, |reading| Cell::Number(reading.value))
}

/// Whether the true value is the figure, above it or below it.
pub fn scale(reading: Option<Reading>) -> Cell {
    reading.map_or(Cell::Empty, |reading| Cell::Text(scale_of(&reading).to_owned()))
}

/// Several words in one cell.
pub fn joined(words: impl IntoIterator<Item = impl AsRef<str>>, between: &str) -> Cell {
    let words: Vec<String> = words.into_iter().map(|word| word.as_ref().to_owned()).collect();
    if words.is_empty() { Cell::Empty } else { Cell::Text(words.join(between)) }
}

/// The visit that recorded what is known of a circuit: this one, or an earlier one.
pub fn from<T>(circuit: &CircuitView<'_>, known: Option<Known<'_, T>>) -> Cell {
    known.map_or(Cell::Empty, |known| visit_of(&known.place(circuit.site())))
}

fn visit_of(place: &Place) -> Cell {
    Cell::Text(place.file.stem().to_owned())
}

/// The values within `within` that stand there and could not be read, as JSON Pointers; `/` alone is the whole record.
pub fn holes(unreadable: &Holes, within: &FieldPath) -> Cell {
    let mut pointers: Vec<String> =
        unreadable.near(within).map(|hole| if hole.is_root() { "/".to_owned() } else { hole.to_string() }).collect();
    pointers.sort();
    pointers.dedup();
    joined(pointers, " ")
}
