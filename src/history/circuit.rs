//! A circuit over the years: what is known of it and since when, its readings side by side, and each reading as a series.

use std::collections::BTreeMap;

use super::{At, Entry, FaultStory, Heading, Lines, faults, said};
use crate::book::FieldPath;
use crate::finding::Place;
use crate::path;
use crate::record::{Date, Reading, ReadingKey, ZsBy};
use crate::rules::limits::{self, Bound};
use crate::rules::view::{CircuitView, SiteView};
use crate::rules::{instruments, trends};
use crate::statistics::DAYS_A_YEAR;
use crate::statistics::trend::{Trend, trend};

/// A circuit's story.
pub struct CircuitStory {
    /// The site.
    pub site: String,
    /// The circuit's id.
    pub id: String,
    /// What it serves; empty where nobody said.
    pub serves: String,
    /// What is known of it, each with the visit that says so.
    pub known: Vec<Fact>,
    /// The readings that ever occur, in the order of the record format.
    pub columns: Vec<ReadingKey>,
    /// One row a visit that read something or installed the circuit, the newest first. What stands behind the first that installed it
    /// was another circuit.
    pub rows: Vec<Row>,
    /// One series for each reading that an instrument shows as a figure.
    pub series: Vec<Series>,
    /// The faults on it, each told whole.
    pub faults: Vec<FaultStory>,
    /// The units fitted to it, seen on it and taken off it.
    pub units: Vec<Entry>,
}

/// Something known of a circuit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// What it is about: `use`, `device`, `RCD`, `cable`, `charging`.
    pub name: &'static str,
    /// What is known.
    pub words: String,
    /// Since when: the day of the visit that last said so.
    pub since: Option<Date>,
    /// Where it stands.
    pub at: At,
}

/// What one visit read.
pub struct Row {
    /// The visit.
    pub heading: Heading,
    /// Where its instruments are named.
    pub instruments_at: At,
    /// Whether the visit installed the circuit: what stood there before was another.
    pub is_new: bool,
    /// What was read, or why it was not.
    pub cells: BTreeMap<ReadingKey, Cell>,
}

/// One reading of one visit.
pub struct Cell {
    /// The reading as written; nothing where it was not taken.
    pub written: Option<String>,
    /// The figure, where it is one.
    pub figure: Option<Reading>,
    /// Why it was not taken.
    pub not_taken: Option<String>,
    /// What is to be known of it: calculated, or read with the unit connected.
    pub remark: Option<&'static str>,
    /// The instruments named by the visit that take such a reading.
    pub instruments: Vec<String>,
    /// What it is held against on that day.
    pub bound: Option<Bound>,
    /// Where it stands.
    pub at: At,
}

impl Cell {
    /// Whether it was worked out and not read.
    pub fn is_calculated(&self) -> bool {
        self.remark == Some(CALCULATED)
    }
}

/// One reading over the years.
pub struct Series {
    /// The reading.
    pub key: ReadingKey,
    /// The figures on the scale, the oldest first.
    pub points: Vec<Point>,
    /// The figures that are no points, the oldest first.
    pub left_out: Vec<LeftOut>,
    /// What the newest reading is held against.
    pub bound: Option<Bound>,
    /// The trend of the points, where there are enough; its times are years since the first point.
    pub trend: Option<Trend>,
    /// Whether the points lie so close together that instruments and days can make the difference; nothing where no threshold is held.
    pub within_scatter: Option<bool>,
}

/// A figure on a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// The day of the tests.
    pub day: Date,
    /// Years since the first point.
    pub years: f64,
    /// The reading.
    pub reading: Reading,
}

/// A figure that is no point of a trend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftOut {
    /// The day of the tests; nothing where the visit has none.
    pub day: Option<Date>,
    /// The reading.
    pub reading: Reading,
    /// Why it is left out.
    pub why: &'static str,
}

/// Why a figure is no point.
const OFF_SCALE: &str = "off the scale";
pub(super) const CALCULATED: &str = "calculated";
pub(super) const WITH_UNIT: &str = "unit connected";
pub(super) const ANOTHER: &str = "another circuit or cable then";
const NO_DAY: &str = "no day";

/// The ids of the circuits that a site's visits record.
pub fn circuit_ids<'a>(site: &'a SiteView<'a>) -> Vec<&'a str> {
    let mut ids: Vec<&str> = site.jobs().flat_map(|job| job.circuits()).map(|circuit| circuit.id()).filter(|id| !id.is_empty()).collect();
    ids.sort_unstable();
    ids.dedup();
    ids
}

/// A circuit's story since a day; nothing where no visit records it.
pub fn circuit(site: &SiteView<'_>, id: &str, since: Option<Date>) -> Option<CircuitStory> {
    let visits: Vec<CircuitView<'_>> = site.jobs().rev().filter_map(|job| job.circuit(id)).collect();
    let latest = *visits.first()?;
    let shown = |circuit: &&CircuitView<'_>| since.is_none_or(|since| circuit.job.day().is_none_or(|day| day >= since));
    let rows: Vec<(CircuitView<'_>, Row)> = visits.iter().filter(shown).map(|circuit| (*circuit, row(*circuit))).collect();
    let occurs = |key: &&ReadingKey| rows.iter().any(|(_, row)| row.cells.contains_key(key));
    let columns: Vec<ReadingKey> = ReadingKey::ALL.iter().filter(occurs).copied().collect();
    let series = columns.iter().filter_map(|key| series(*key, latest, &rows)).collect();
    let serves = |circuit: &CircuitView<'_>| said(&circuit.circuit.serves);
    let mut faults = faults(site);
    let in_time = |entry: &Entry| since.is_none_or(|since| entry.day.is_none_or(|day| day >= since));
    faults.retain(|fault| fault.circuit.as_deref() == Some(id) && fault.entries.iter().any(in_time));
    let mut units = units(site, id);
    units.retain(in_time);
    Some(CircuitStory {
        site: site.id().to_owned(),
        id: id.to_owned(),
        serves: serves(&latest).or_else(|| latest.previous().find_map(|circuit| serves(&circuit))).unwrap_or_default(),
        known: known(latest),
        columns,
        rows: rows.into_iter().map(|(_, row)| row).filter(|row| !row.cells.is_empty() || row.is_new).collect(),
        series,
        faults,
        units,
    })
}

fn row(circuit: CircuitView<'_>) -> Row {
    let lines = Lines::of(circuit.job);
    let mut cells = BTreeMap::new();
    for key in ReadingKey::ALL.iter().copied() {
        let written = key.shown_in(circuit.readings());
        let not_taken = circuit.circuit.not_taken.get(&key).map(|why| why.trim().to_owned());
        if written.is_none() && not_taken.is_none() {
            continue;
        }
        let list = if written.is_some() { "readings" } else { "not_taken" };
        let path: FieldPath = path!["circuits", circuit.index, list, key.as_str()];
        let is_read = written.is_some() && remark(circuit, key) != Some(CALCULATED);
        let instruments = if is_read { instruments::that_take(circuit.job, key) } else { Vec::new() };
        let cell = Cell {
            written,
            figure: key.figure_in(circuit.readings()),
            not_taken,
            remark: remark(circuit, key),
            instruments: instruments.into_iter().map(str::to_owned).collect(),
            bound: limits::bound(circuit, key),
            at: lines.at(&path),
        };
        cells.insert(key, cell);
    }
    let instruments_at = lines.at(&path!["instruments"]);
    Row { heading: Heading::of(circuit.job), instruments_at, is_new: circuit.is_new(), cells }
}

fn remark(circuit: CircuitView<'_>, key: ReadingKey) -> Option<&'static str> {
    let readings = circuit.readings();
    let is_insulation = matches!(key, ReadingKey::IrLiveLive | ReadingKey::IrLiveEarth);
    match key {
        ReadingKey::Zs if readings.zs_by == Some(ZsBy::Calculated) => Some(CALCULATED),
        _ if is_insulation && readings.ir_with_unit == Some(true) => Some(WITH_UNIT),
        _ => None,
    }
}

/// The figures of one reading, the newest visit first in `rows`. Only those of the circuit and the cable as they are now are points.
fn series(key: ReadingKey, latest: CircuitView<'_>, rows: &[(CircuitView<'_>, Row)]) -> Option<Series> {
    let same: Vec<usize> = std::iter::once(latest).chain(trends::earlier(latest)).map(|circuit| circuit.job.index).collect();
    let (mut points, mut left_out): (Vec<Point>, Vec<LeftOut>) = (Vec::new(), Vec::new());
    let mut newest = None;
    for (circuit, row) in rows.iter().rev() {
        let Some(reading) = key.figure_in(circuit.readings()) else { continue };
        newest = Some(*circuit);
        let why = match (row.cells.get(&key).and_then(|cell| cell.remark), reading.exact()) {
            _ if !same.contains(&circuit.job.index) => Some(ANOTHER),
            (Some(remark), _) => Some(remark),
            (None, None) => Some(OFF_SCALE),
            (None, Some(_)) => None,
        };
        match (why, circuit.job.day()) {
            (None, Some(day)) => points.push(Point { day, years: 0.0, reading }),
            (why, day) => left_out.push(LeftOut { day, reading, why: why.unwrap_or(NO_DAY) }),
        }
    }
    let newest = newest?;
    // The day of the tests need not be that of the file's name.
    points.sort_by_key(|point| point.day);
    if let Some(first) = points.first().map(|point| point.day) {
        points.iter_mut().for_each(|point| point.years = f64::from(point.day.days_since(first)) / DAYS_A_YEAR);
    }
    let figures: Vec<(f64, f64)> = points.iter().map(|point| (point.years, point.reading.value)).collect();
    let values = || points.iter().map(|point| point.reading.value);
    let within_scatter = match (values().min_by(f64::total_cmp), values().max_by(f64::total_cmp)) {
        (Some(low), Some(high)) if points.len() > 1 => trends::differ_beyond_scatter(key, low, high).map(|differ| !differ),
        _ => None,
    };
    Some(Series { key, trend: trend(&figures), points, left_out, bound: limits::bound(newest, key), within_scatter })
}

/// What is known of the circuit as it was last recorded, each with the first visit since which it has been so.
fn known(circuit: CircuitView<'_>) -> Vec<Fact> {
    let since = |(name, words, place): (&'static str, String, Place)| {
        let same = |before: &CircuitView<'_>| stated(*before).into_iter().find(|(other, said, _)| *other == name && *said == words);
        let first = circuit.previous().map_while(|before| same(&before)).last();
        let place = first.map_or(place, |(_, _, place)| place);
        let job = circuit.site().jobs().find(|job| job.record.source.path == place.file.path)?;
        Some(Fact { name, words, since: job.day(), at: Lines::of(job).at(&place.path) })
    };
    stated(circuit).into_iter().filter_map(since).collect()
}

/// What a visit knows of the circuit: its name here, the words, and where they stand.
fn stated(circuit: CircuitView<'_>) -> Vec<(&'static str, String, Place)> {
    let site = circuit.site();
    let spaced = |parts: Vec<Option<String>>| parts.into_iter().flatten().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
    let mut facts = Vec::new();
    if let Some(usage) = circuit.usage_known() {
        facts.push(("use", super::plain(usage.value), usage.place(site)));
    }
    if let Some(ocpd) = circuit.ocpd() {
        let of = ocpd.value;
        let rating = of.rating_a.map(|rating| format!("{rating} A")).unwrap_or_default();
        let curve = of.curve.as_deref().map(str::trim).unwrap_or_default();
        let breaking = of.breaking_ka.map(|ka| format!("{ka} kA"));
        facts.push(("device", spaced(vec![Some(format!("{curve}{rating}")), said(&of.standard), breaking]), ocpd.place(site)));
    }
    if let Some(rcd) = circuit.rcd() {
        let of = rcd.value;
        let kind = of.kind.map(|kind| format!("type {kind}"));
        let trip = of.trip_ma.map(|trip| format!("{trip} mA"));
        let delayed = (of.delayed == Some(true)).then(|| "delayed".to_owned());
        facts.push(("RCD", spaced(vec![kind, trip, delayed, said(&of.standard)]), rcd.place(site)));
    }
    if let Some(cable) = circuit.cable() {
        let of = cable.value;
        let cpc = of.cpc_mm2.map(|cpc| format!("/{cpc}")).unwrap_or_default();
        let area = of.line_mm2.map(|line| format!("{line}{cpc} mm2"));
        let length = of.length_m.map(|length| format!("{length} m"));
        let method = said(&of.method).map(|method| format!("method {method}"));
        facts.push(("cable", spaced(vec![of.make_up.map(|kind| kind.to_string()), area, length, method]), cable.place(site)));
    }
    if let Some(ev) = circuit.ev() {
        let of = ev.value;
        let mode = of.mode.map(|mode| format!("mode {mode}"));
        let unit = said(&of.unit).map(|unit| format!("unit {unit}"));
        let set = of.set_a.map(|set| format!("set to {set} A"));
        facts.push(("charging", super::joined([mode, unit, set]), ev.place(site)));
    }
    facts.retain(|(_, words, _)| !words.is_empty());
    facts
}

/// What was fitted to the circuit, seen on it and taken off it.
fn units(site: &SiteView<'_>, id: &str) -> Vec<Entry> {
    let mut entries = Vec::new();
    for job in site.jobs() {
        for (index, unit) in job.data().units.iter().enumerate().filter(|(_, unit)| unit.circuit.as_deref() == Some(id)) {
            let Some((topic, words)) = super::site::unit_words(unit) else { continue };
            entries.push(Lines::of(job).entry(topic, &path!["units", index], words));
        }
    }
    entries
}
