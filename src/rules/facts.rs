//! What rules across sites need of each site, kept small: the records themselves are gone when those rules run.
//!
//! A visit costs a few dozen bytes here, mostly one fingerprint for each run of its circuits. Places are numbers; the book turns them
//! back into files, and a rule that has found something reads the two sites concerned again.

use std::collections::HashMap;
use std::hash::{DefaultHasher, Hash, Hasher};

use serde::{Deserialize, Serialize};

use super::identity::{self, readings_on_scale};
use super::instruments;
use super::view::{JobView, SiteView};
use crate::book::Book;
use crate::record::{Date, JobKind, UnitEvent};

/// The facts of one site, in the order of the book's sites.
#[derive(Debug, Default, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SiteFacts {
    /// Serials that stand in place at the end of the site's last visit.
    pub serials: Box<[SerialFact]>,
    /// Runs of circuits by their readings.
    pub runs: Box<[RunFact]>,
    /// Inspections.
    pub inspections: Box<[InspectionFact]>,
    /// Visits made with an instrument that later failed its check.
    pub suspects: Box<[SuspectFact]>,
}

/// An entry of a list in a visit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Spot {
    /// The visit, by its place among the site's files.
    pub job: u32,
    /// The entry's place in its list.
    pub item: u32,
}

/// A serial in place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct SerialFact {
    /// The serial, hashed as [`identity::same_serial`] compares it.
    pub serial: u64,
    /// The model, hashed; 0 where none is given.
    pub model: u64,
    /// The `units` entry.
    pub spot: Spot,
}

/// A run of circuits with enough readings that chance will not repeat it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunFact {
    /// The readings, in order, hashed.
    pub readings: u64,
    /// The first circuit of the run.
    pub spot: Spot,
}

/// An inspection.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct InspectionFact {
    /// The day of the tests.
    #[serde(with = "day")]
    pub day: Date,
    /// Who tested, hashed; 0 where nobody is named.
    pub tester: u64,
    /// Circuits tested.
    pub circuits: u32,
    /// Minutes on site, where given.
    pub minutes: Option<u32>,
    /// The visit, by its place among the site's files.
    pub job: u32,
}

/// A visit made with an instrument between its last good check and a failed one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct SuspectFact {
    /// The instrument, by its place in the register.
    pub instrument: u32,
    /// The failed check, by its place in the instrument's list.
    pub check: u32,
    /// The day of the tests.
    #[serde(with = "day")]
    pub day: Date,
    /// The visit, by its place among the site's files; `item` is the instrument's place in its list.
    pub spot: Spot,
    /// Whether everything read with it has been read again since.
    pub repeated: bool,
}

/// A day in a form that is read back without knowing that it is one: year, month, day.
pub mod day {
    use jiff::civil;
    use serde::de::Error;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    use crate::record::Date;

    /// Writes it.
    pub fn serialize<S: Serializer>(day: &Date, to: S) -> Result<S::Ok, S::Error> {
        (day.0.year(), day.0.month(), day.0.day()).serialize(to)
    }

    /// Reads it back; an error when there is no such day.
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Date, D::Error> {
        let (year, month, day) = <(i16, i8, i8)>::deserialize(from)?;
        civil::Date::new(year, month, day).map(Date).map_err(D::Error::custom)
    }
}

/// A hash that is the same in every run of a build.
pub fn digest(value: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}

impl SiteFacts {
    /// Boils a site down.
    pub fn of(site: &SiteView<'_>) -> SiteFacts {
        let finished = || site.jobs().filter(|job| job.is_finished() && !job.record.lost).filter_map(|job| Some((file_number(job)?, job)));
        SiteFacts {
            serials: serials(finished()),
            runs: finished().flat_map(|(number, job)| runs(number, job)).collect(),
            inspections: finished().filter_map(|(number, job)| inspection(number, job)).collect(),
            suspects: finished().flat_map(|(number, job)| suspects(number, job)).collect(),
        }
    }
}

/// The visit's place among the site's files. Files that could not be read have a place there and none among the records.
fn file_number(job: JobView<'_>) -> Option<u32> {
    let files = &job.site.records.files.jobs;
    files.binary_search(&job.record.source.path).ok().and_then(|place| place.try_into().ok())
}

/// The file that a fact speaks of.
pub fn file_of(book: &Book, site: usize, job: u32) -> &str {
    book.sites.get(site).and_then(|files| files.jobs.get(job as usize)).map_or("", String::as_str)
}

fn serials<'a>(jobs: impl Iterator<Item = (u32, JobView<'a>)>) -> Box<[SerialFact]> {
    // By serial: its entries that are in place. A serial fitted on one circuit and seen on another has moved; fitted twice, it has not.
    let mut in_place: HashMap<u64, Vec<(SerialFact, Option<&str>)>> = HashMap::new();
    for (number, job) in jobs {
        for (index, unit) in job.data().units.iter().enumerate() {
            let Some(serial) = unit.serial.as_deref().filter(|serial| !identity::is_placeholder(serial, unit.model.as_deref())) else {
                continue;
            };
            let key = digest(identity::plain_serial(serial));
            let entries = in_place.entry(key).or_default();
            let circuit = unit.circuit.as_deref();
            let spot = Spot { job: number, item: index as u32 };
            let fact = SerialFact { serial: key, model: unit.model.as_deref().map_or(0, digest), spot };
            match unit.event {
                Some(UnitEvent::Removed) => entries.clear(),
                Some(UnitEvent::Fitted) if entries.iter().any(|(_, at)| at.is_some() && circuit.is_some() && *at != circuit) => {
                    entries.push((fact, circuit));
                }
                Some(UnitEvent::Fitted | UnitEvent::Seen) => *entries = vec![(fact, circuit)],
                None => {}
            }
        }
    }
    let mut serials: Vec<SerialFact> = in_place.into_values().flatten().map(|(fact, _)| fact).collect();
    serials.sort_unstable_by_key(|fact| fact.spot);
    serials.into()
}

/// Circuits that make a run, where the visit has so many.
const RUN: usize = 3;
/// Readings on the scale that make a run of several circuits telling.
const RUN_READINGS: usize = 6;
/// Readings on the scale that make a single circuit telling.
const CIRCUIT_READINGS: usize = 5;

fn runs(number: u32, job: JobView<'_>) -> Vec<RunFact> {
    let circuits: Vec<(usize, Vec<_>)> = job
        .circuits()
        .map(|circuit| (circuit.index, readings_on_scale(circuit.readings()).collect()))
        .filter(|(_, readings): &(usize, Vec<_>)| !readings.is_empty())
        .collect();
    let wanted = if circuits.len() == 1 { CIRCUIT_READINGS } else { RUN_READINGS };
    let runs = circuits.windows(RUN.min(circuits.len()).max(1));
    runs.filter(|run| run.iter().map(|(_, readings)| readings.len()).sum::<usize>() >= wanted)
        .map(|run| {
            let readings: Vec<_> = run.iter().map(|(_, readings)| readings).collect();
            RunFact { readings: digest(readings), spot: Spot { job: number, item: run[0].0 as u32 } }
        })
        .collect()
}

fn inspection(number: u32, job: JobView<'_>) -> Option<InspectionFact> {
    if !job.is_kind(&[JobKind::Inspect]) {
        return None;
    }
    let circuits = job.circuits().filter(|circuit| instruments::has_any_reading(circuit.readings())).count();
    Some(InspectionFact {
        day: job.day()?,
        tester: job.data().people.tested.as_deref().map_or(0, digest),
        circuits: circuits as u32,
        minutes: job.data().minutes_on_site.map(|minutes| *minutes),
        job: number,
    })
}

fn suspects(number: u32, job: JobView<'_>) -> Vec<SuspectFact> {
    let book = job.site.book;
    let Some(day) = job.day() else { return Vec::new() };
    let mut suspects = Vec::new();
    for (item, name) in job.data().instruments.iter().enumerate() {
        let Some((place, (_, record))) = book.instruments.iter().enumerate().find(|(_, (id, _))| *id == name) else { continue };
        let Some(span) = instruments::suspect_spans(&record.data).into_iter().find(|span| span.holds(day)) else { continue };
        if !instruments::reads_something(job, &record.data.reads) {
            continue;
        }
        let repeated = instruments::has_been_repeated(job, name, &record.data.reads, &span);
        let spot = Spot { job: number, item: item as u32 };
        suspects.push(SuspectFact { instrument: place as u32, check: span.check as u32, day, spot, repeated });
    }
    suspects
}
