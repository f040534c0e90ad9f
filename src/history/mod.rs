//! What happened at a place, on a circuit and to a unit, as the records tell it: plain types that any renderer can show.
//!
//! Nothing is judged here and nothing made up; every entry says in which file and on which line it stands.

mod changes;
mod circuit;
mod faults;
mod figure;
mod serial;
mod site;

use std::cell::OnceCell;

use crate::book::{FieldPath, Places};
use crate::record::{Date, Job, JobKind, Status};
use crate::render::line_number;
use crate::rules::view::JobView;

pub use changes::{Change, changes};
pub use circuit::{Cell, CircuitStory, Fact, LeftOut, Point, Row, Series, circuit, circuit_ids};
pub use faults::{FaultStory, faults, short};
pub use figure::{figure, figures, panel, trend_words};
pub use serial::{SerialStory, serial};
pub use site::{SiteStory, VisitStory, site};

/// Where something stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct At {
    /// The file, relative to the book's root, with `/`.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
}

/// What an entry of a story tells of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Topic {
    /// Something was reported.
    Reported,
    /// Something was found.
    Found,
    /// What was believed to be behind it.
    Believed,
    /// What was ruled out.
    Excluded,
    /// The cause, and to whom it is laid.
    Cause,
    /// How it was left.
    Left,
    /// How it was made safe to leave.
    MadeSafe,
    /// What was advised.
    Advised,
    /// A claim on the seller or maker.
    Claim,
    /// Something was put right.
    Fixed,
    /// Read again after that.
    Retested,
    /// Where it stands, when it was not put right.
    Standing,
    /// Read with an instrument.
    Read,
    /// A reading that could not be taken.
    NotTaken,
    /// A unit was fitted.
    Fitted,
    /// A unit was removed.
    Removed,
    /// A unit was seen.
    Seen,
    /// A joint that was made or met.
    Joint,
    /// An observation of a condition report.
    Observed,
    /// What the visit did not cover.
    NotCovered,
    /// What came of an inspection.
    Outcome,
    /// A promise.
    Promised,
    /// A notice sent.
    Notice,
    /// A paper issued.
    Paper,
    /// A safety notice of the maker.
    Recall,
}

impl Topic {
    /// The word that an entry begins with.
    pub const fn as_str(self) -> &'static str {
        match self {
            Topic::Reported => "reported",
            Topic::Found => "found",
            Topic::Believed => "believed",
            Topic::Excluded => "excluded",
            Topic::Cause => "cause",
            Topic::Left => "left",
            Topic::MadeSafe => "made safe",
            Topic::Advised => "advised",
            Topic::Claim => "claim",
            Topic::Fixed => "fixed",
            Topic::Retested => "retested",
            Topic::Standing => "stands",
            Topic::Read => "read",
            Topic::NotTaken => "not taken",
            Topic::Fitted => "fitted",
            Topic::Removed => "removed",
            Topic::Seen => "seen",
            Topic::Joint => "joint",
            Topic::Observed => "observed",
            Topic::NotCovered => "not covered",
            Topic::Outcome => "outcome",
            Topic::Promised => "promised",
            Topic::Notice => "notice",
            Topic::Paper => "paper",
            Topic::Recall => "recall",
        }
    }
}

/// One thing that a record tells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// What it tells of.
    pub topic: Topic,
    /// The day it happened, where it is known.
    pub day: Option<Date>,
    /// What is told.
    pub words: String,
    /// Where it stands.
    pub at: At,
}

/// A visit, in short.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heading {
    /// The visit's id: its file name without ending.
    pub visit: String,
    /// The site it was made to.
    pub site: String,
    /// Its day.
    pub day: Option<Date>,
    /// What it was for.
    pub kind: Option<JobKind>,
    /// How far its record has come.
    pub status: Option<Status>,
    /// One line for lists; empty where there is none.
    pub title: String,
    /// The file.
    pub at: At,
}

impl Heading {
    fn of(job: JobView<'_>) -> Heading {
        let Job { kind, status, title, .. } = job.data();
        Heading {
            visit: job.id().to_owned(),
            site: job.site.id().to_owned(),
            day: job.day(),
            kind: *kind,
            status: *status,
            title: title.as_deref().unwrap_or_default().trim().to_owned(),
            at: At { file: job.record.source.path.clone(), line: 1 },
        }
    }
}

/// Finds the lines of one visit's values; its places are only looked up when one is asked for.
struct Lines<'a> {
    job: JobView<'a>,
    places: OnceCell<Places>,
}

impl<'a> Lines<'a> {
    fn of(job: JobView<'a>) -> Lines<'a> {
        Lines { job, places: OnceCell::new() }
    }

    /// Where a value stands, or the nearest thing above it.
    fn at(&self, path: &FieldPath) -> At {
        let source = &self.job.record.source;
        let places = self.places.get_or_init(|| Places::of(source));
        At { file: source.path.clone(), line: line_number(source, places.span(source, path).start) }
    }

    fn entry(&self, topic: Topic, path: &FieldPath, words: String) -> Entry {
        Entry { topic, day: self.job.day(), words, at: self.at(path) }
    }
}

/// `2026-11-02`, or the visit's id where no day is known.
fn day_words(day: Option<Date>, otherwise: &str) -> String {
    day.map_or_else(|| otherwise.to_owned(), |day| day.to_string())
}

/// What is there of these, with commas between.
fn joined(parts: impl IntoIterator<Item = Option<String>>) -> String {
    parts.into_iter().flatten().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(", ")
}

/// A word of a vocabulary as people say it.
fn plain(word: impl std::fmt::Display) -> String {
    word.to_string().replace('-', " ")
}

/// `sent 2026-11-02`, where there is a day.
fn dated(word: &str, day: Option<Date>) -> Option<String> {
    day.map(|day| format!("{word} {day}"))
}

/// A text that says something.
fn said(text: &Option<String>) -> Option<String> {
    text.as_deref().map(str::trim).filter(|text| !text.is_empty()).map(str::to_owned)
}
