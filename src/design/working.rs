//! What a working is made of: quantities, steps, comparisons and verdicts. Text and JSON are both printed from these.

use std::fmt;

use crate::tables::{Limit, round_half_up};
use crate::wiring;

/// A figure with its unit and the digits it is shown with. Comparisons use the figure itself, not what is shown of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// The figure.
    pub value: f64,
    /// Digits shown after the decimal point.
    pub decimals: u8,
    /// Its unit; `ratio` for none.
    pub unit: &'static str,
}

impl Quantity {
    /// A figure that was worked out, shown with so many digits after the point.
    pub const fn new(value: f64, decimals: u8, unit: &'static str) -> Self {
        Quantity { value, decimals, unit }
    }

    /// A figure as somebody wrote it: with the digits it has, up to four.
    pub fn written(value: f64, unit: &'static str) -> Self {
        let decimals = (0..4).find(|decimals| round_half_up(value, *decimals) == value).unwrap_or(4);
        Quantity { value, decimals, unit }
    }

    /// The figure as it is shown.
    pub fn shown_value(&self) -> f64 {
        format!("{:.*}", usize::from(self.decimals), self.value).parse().unwrap_or(self.value)
    }
}

impl From<&Limit> for Quantity {
    fn from(limit: &Limit) -> Self {
        Quantity { value: limit.value, decimals: limit.decimals, unit: limit.unit }
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.*}", usize::from(self.decimals), self.value)?;
        if self.unit == "ratio" { Ok(()) } else { write!(f, " {}", self.unit) }
    }
}

/// One step of a sum.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// In symbols: `Iz = It x Cg`.
    pub formula: String,
    /// The numbers put in: `49 A x 0.65`; empty where the figure is looked up or given.
    pub numbers: String,
    /// What comes out.
    pub result: Quantity,
}

/// Which side of the limit is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relation {
    /// At most the limit.
    AtMost,
    /// At least the limit.
    AtLeast,
}

impl Relation {
    /// `<=` or `>=`.
    pub const fn sign(self) -> &'static str {
        match self {
            Relation::AtMost => "<=",
            Relation::AtLeast => ">=",
        }
    }
}

/// A result held against its limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// In symbols: `In <= Iz`.
    pub symbols: String,
    /// The result.
    pub value: Quantity,
    /// Which side of the limit is wanted.
    pub relation: Relation,
    /// The limit.
    pub limit: Quantity,
}

impl Comparison {
    fn holds(&self) -> bool {
        // Sums of decimals lie a hair beside their value in binary.
        let hair = 1e-9 * self.limit.value.abs().max(1.0);
        match self.relation {
            Relation::AtMost => self.value.value <= self.limit.value + hair,
            Relation::AtLeast => self.value.value + hair >= self.limit.value,
        }
    }
}

/// Where a figure comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Standard or guidance, edition and clause.
    pub text: String,
    /// Whether the figure was seen nowhere: from memory.
    pub memory: bool,
}

/// What became of a check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// Within its limit, on the figures given.
    Pass,
    /// Beyond its limit.
    Fails,
    /// A figure without a limit: what a meter should read, or what follows from it.
    Expected,
    /// It could not be worked.
    NotWorked(Missing),
}

impl Verdict {
    /// The word for it.
    pub const fn as_str(&self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::Fails => "fails",
            Verdict::Expected => "expected",
            Verdict::NotWorked(_) => "not worked",
        }
    }
}

/// What a check wants for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// What is missing, in words.
    pub what: String,
    /// The key of the record and the flag that supply it; empty where none can.
    pub key: String,
}

impl Missing {
    /// Something that a key and a flag would supply.
    pub fn input(what: &str, key: &str, flag: &str) -> Self {
        let key = if key.is_empty() { flag.to_owned() } else { format!("{key}, {flag}") };
        Missing { what: format!("{what} is missing"), key }
    }

    /// Something that no key supplies.
    pub fn figure(what: impl Into<String>) -> Self {
        Missing { what: what.into(), key: String::new() }
    }
}

impl From<wiring::Error> for Missing {
    fn from(error: wiring::Error) -> Self {
        Missing::figure(error.to_string())
    }
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)?;
        if self.key.is_empty() { Ok(()) } else { write!(f, " ({})", self.key) }
    }
}

/// One check, worked line by line.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// A short name for machines: `cable-capacity`.
    pub check: &'static str,
    /// What is checked, in words.
    pub title: String,
    /// The sum.
    pub steps: Vec<Step>,
    /// The result against its limit.
    pub comparison: Option<Comparison>,
    /// Where the figures come from.
    pub sources: Vec<Source>,
    /// What became of it.
    pub verdict: Verdict,
    /// What else has to be said.
    pub notes: Vec<String>,
}

impl Line {
    /// A line with nothing in it yet.
    pub fn new(check: &'static str, title: impl Into<String>) -> Self {
        Line {
            check,
            title: title.into(),
            steps: Vec::new(),
            comparison: None,
            sources: Vec::new(),
            verdict: Verdict::Expected,
            notes: Vec::new(),
        }
    }

    /// Works a line; what it wants for becomes its verdict, beside the steps made so far.
    pub fn worked(check: &'static str, title: impl Into<String>, work: impl FnOnce(&mut Line) -> Result<(), Missing>) -> Line {
        let mut line = Line::new(check, title);
        if let Err(missing) = work(&mut line) {
            line.comparison = None;
            line.verdict = Verdict::NotWorked(missing);
        }
        line
    }

    /// Adds a step.
    pub fn step(&mut self, formula: impl Into<String>, numbers: impl Into<String>, result: Quantity) {
        self.steps.push(Step { formula: formula.into(), numbers: numbers.into(), result });
    }

    /// Adds a source, once.
    pub fn cite(&mut self, limit: &Limit) {
        self.cite_text(&limit.source, limit.is_memory());
    }

    /// Adds a source by its words, once.
    pub fn cite_text(&mut self, text: &str, memory: bool) {
        let source = Source { text: text.to_owned(), memory };
        if !self.sources.contains(&source) {
            self.sources.push(source);
        }
    }

    /// Adds a note.
    pub fn note(&mut self, note: impl Into<String>) {
        self.notes.push(note.into());
    }

    /// Holds a result against the most it may be.
    pub fn at_most(&mut self, symbols: &str, value: Quantity, limit: Quantity) {
        self.compare(symbols, value, Relation::AtMost, limit);
    }

    /// Holds a result against the least it may be.
    pub fn at_least(&mut self, symbols: &str, value: Quantity, limit: Quantity) {
        self.compare(symbols, value, Relation::AtLeast, limit);
    }

    fn compare(&mut self, symbols: &str, value: Quantity, relation: Relation, limit: Quantity) {
        let comparison = Comparison { symbols: symbols.to_owned(), value, relation, limit };
        self.decide(comparison.holds());
        self.comparison = Some(comparison);
    }

    /// Settles a check that is not one of figures.
    pub fn decide(&mut self, holds: bool) {
        self.verdict = if holds { Verdict::Pass } else { Verdict::Fails };
    }

    /// Whether it fails.
    pub fn fails(&self) -> bool {
        self.verdict == Verdict::Fails
    }

    /// Whether it could not be worked.
    pub fn is_not_worked(&self) -> bool {
        matches!(self.verdict, Verdict::NotWorked(_))
    }

    /// Whether one of its figures is from memory.
    pub fn is_memory(&self) -> bool {
        self.sources.iter().any(|source| source.memory)
    }
}
