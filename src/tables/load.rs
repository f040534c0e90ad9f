//! The one loader of all tables, and what every row of them carries.

use std::borrow::Cow;
use std::fmt;
use std::sync::OnceLock;

use serde::de::{DeserializeOwned, Error};
use serde::{Deserialize, Deserializer};

use super::Edition;

/// How well a figure is confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Confidence {
    /// Seen in two or more independent places.
    Verified2,
    /// Seen in one place.
    Verified1,
    /// Worked out by a formula, or from confirmed parts.
    Derived,
    /// Seen nowhere.
    Memory,
}

/// A number as it is printed in its source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// The number, in the row's unit.
    pub value: f64,
    /// Digits printed after the decimal point.
    pub decimals: u8,
}

impl Figure {
    /// `value` rounded half up to so many decimals, as printed tables round.
    pub fn rounded(value: f64, decimals: u8) -> Figure {
        Figure { value: round_half_up(value, decimals), decimals }
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.*}", usize::from(self.decimals), self.value)
    }
}

impl<'de> Deserialize<'de> for Figure {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        let value = text.parse().map_err(D::Error::custom)?;
        let decimals = text.split_once('.').map_or(0, |(_, fraction)| fraction.len()) as u8;
        Ok(Figure { value, decimals })
    }
}

/// Rounds half up. Products such as 218.5/100 lie a hair under their decimal value in binary; they round as written by hand.
pub fn round_half_up(value: f64, decimals: u8) -> f64 {
    let scale = 10f64.powi(i32::from(decimals));
    (value * scale + 0.5 + 1e-9).floor() / scale
}

/// A limit, ready to be compared with a reading and to be cited.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// The figure, in `unit`.
    pub value: f64,
    /// Digits to print after the decimal point.
    pub decimals: u8,
    /// Unit: `ohm`, `Mohm`, `ms`, `s`, `V`, `A`, `kA`, `month`, ...
    pub unit: &'static str,
    /// Standard or guidance, edition and clause, as a finding cites it.
    pub source: Cow<'static, str>,
    /// How well the figure is confirmed.
    pub confidence: Confidence,
}

impl Limit {
    /// Whether nothing confirms the figure, so that it can only raise a doubt.
    pub fn is_memory(&self) -> bool {
        self.confidence == Confidence::Memory
    }
}

/// Figure and unit: `1.37 ohm`. `{:.0}` and the like are ignored; the figure is printed as its source prints it.
impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.*}", usize::from(self.decimals), self.value)?;
        if self.unit == "ratio" { Ok(()) } else { write!(f, " {}", self.unit) }
    }
}

/// What stands on every row beside its own columns.
#[derive(Debug, Clone, Deserialize)]
pub struct Citation {
    /// First edition of BS 7671 that has the figure; none when it does not hang on editions.
    pub since: Option<Edition>,
    /// Last edition that has it; none while it runs on.
    pub until: Option<Edition>,
    /// Unit of the row's figures.
    pub unit: String,
    /// The standard, law or guidance that prints it, or `common practice`.
    pub source: String,
    /// Place in that source.
    pub clause: String,
    /// How well it is confirmed.
    pub confidence: Confidence,
    /// Conditions and remarks.
    #[serde(default)]
    pub note: String,
    /// What [`Citation::text`] says for each edition, once somebody has asked: every reading of a book is held against a limit, and hardly
    /// any limit is cited.
    #[serde(skip)]
    texts: OnceLock<Vec<String>>,
}

impl Citation {
    /// Whether the row belongs to that edition.
    pub fn holds_in(&self, edition: Edition) -> bool {
        self.since.is_none_or(|since| since <= edition) && self.until.is_none_or(|until| edition <= until)
    }

    /// The words a finding cites the row by: source, edition where BS 7671 is the source, and clause.
    pub fn text(&self, edition: Edition) -> &str {
        let of_edition = |edition: &Edition| {
            if self.source == "BS 7671" {
                format!("{} {}", edition.min(&Edition::LAST_CONFIRMED), self.clause)
            } else {
                format!("{} {}", self.source, self.clause)
            }
        };
        let texts = self.texts.get_or_init(|| Edition::ALL.iter().map(of_edition).collect());
        texts.get(edition as usize).map_or("", String::as_str)
    }

    /// A figure of this row as a limit.
    pub fn limit(&'static self, figure: Figure, edition: Edition) -> Limit {
        Limit {
            value: figure.value,
            decimals: figure.decimals,
            unit: &self.unit,
            source: self.text(edition).into(),
            confidence: self.confidence,
        }
    }
}

/// A row: its own columns, and what every row carries.
#[derive(Debug, Clone)]
pub struct Row<V> {
    /// The table's own columns.
    pub of: V,
    /// Unit, editions, source and confidence.
    pub cite: Citation,
}

/// A table that is read when it is first asked for.
pub(super) struct Table<V: 'static> {
    name: &'static str,
    text: &'static str,
    rows: OnceLock<Vec<Row<V>>>,
}

impl<V: DeserializeOwned> Table<V> {
    /// A table of that name over the text of its file.
    pub const fn new(name: &'static str, text: &'static str) -> Self {
        Table { name, text, rows: OnceLock::new() }
    }

    /// All rows, in the file's order. A row that cannot be read is left out; the tests compare the count with the file's.
    pub fn rows(&'static self) -> &'static [Row<V>] {
        self.rows.get_or_init(|| {
            let mut reader = csv::Reader::from_reader(self.text.as_bytes());
            let Ok(headers) = reader.headers().cloned() else { return Vec::new() };
            reader
                .records()
                .filter_map(|record| {
                    let record = record.ok()?;
                    Some(Row { of: record.deserialize(Some(&headers)).ok()?, cite: record.deserialize(Some(&headers)).ok()? })
                })
                .collect()
        })
    }

    /// The rows that belong to an edition and that `wanted` picks.
    pub fn find(&'static self, edition: Edition, wanted: impl Fn(&V) -> bool) -> Option<&'static Row<V>> {
        self.rows().iter().find(|row| row.cite.holds_in(edition) && wanted(&row.of))
    }

    pub fn census(&'static self) -> TableCensus {
        let of = |confidence| self.rows().iter().filter(|row| row.cite.confidence == confidence).count();
        TableCensus {
            name: self.name,
            text: self.text,
            read: self.rows().len(),
            verified2: of(Confidence::Verified2),
            verified1: of(Confidence::Verified1),
            derived: of(Confidence::Derived),
            memory: of(Confidence::Memory),
        }
    }
}

/// A table that holds single named facts: `fact, value`.
#[derive(Debug, Clone, Deserialize)]
pub(super) struct Fact {
    pub fact: String,
    pub value: Figure,
}

impl Table<Fact> {
    /// The named fact as a limit.
    pub fn fact(&'static self, name: &str, edition: Edition) -> Option<Limit> {
        self.find(edition, |row| row.fact == name).map(|row| row.cite.limit(row.of.value, edition))
    }
}

/// How many rows a table has, and how well they are confirmed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableCensus {
    /// The file's name without its ending.
    pub name: &'static str,
    /// The file's text.
    pub text: &'static str,
    /// Rows that were read.
    pub read: usize,
    /// Rows seen in two places.
    pub verified2: usize,
    /// Rows seen in one place.
    pub verified1: usize,
    /// Rows worked out.
    pub derived: usize,
    /// Rows seen nowhere.
    pub memory: usize,
}
