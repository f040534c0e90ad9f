//! The electrical computation: pure functions from quantities to quantities.
//!
//! Every quantity is a plain `f64` in the unit its name says: `_ohm`, `_a`, `_v`, `_m`, `_mm2`, `_c`, `_s`, `_mohm_per_m`. Nothing here
//! judges: a function gives a figure, and what it should be held against comes from [`crate::tables`]. A result that rests on table
//! figures is a [`Worked`], which knows the weakest confidence among them.

pub mod adiabatic;
pub mod capacity;
pub mod demand;
pub mod drop;
pub mod earthing;
pub mod fault;
pub mod joint;
pub mod network;
pub mod pilot;
pub mod resistance;
pub mod ring;

use std::borrow::Cow;
use std::fmt;

use crate::tables::{Confidence, Limit};

/// Why a figure could not be worked out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Error {
    /// A quantity is not a number, or lies outside what the formula covers.
    OutOfRange {
        /// Which quantity, with its unit.
        quantity: &'static str,
        /// What was given.
        value: f64,
        /// The least that is covered.
        least: f64,
        /// The most that is covered.
        most: f64,
    },
    /// No table holds the figure that the sum needs.
    NoFigure {
        /// Which figure.
        what: &'static str,
    },
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Error::OutOfRange { quantity, value, least, most } if most.is_infinite() => {
                write!(f, "{quantity} {value} is under {least}")
            }
            Error::OutOfRange { quantity, value, least, most } => write!(f, "{quantity} {value} is not between {least} and {most}"),
            Error::NoFigure { what } => write!(f, "no table holds {what}"),
        }
    }
}

impl std::error::Error for Error {}

/// A result of this module.
pub type Result<T> = std::result::Result<T, Error>;

/// A figure worked out from table figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Worked {
    /// The result, in the unit its function names.
    pub value: f64,
    /// The weakest confidence among the figures it rests on; [`Confidence::Derived`] at best.
    pub confidence: Confidence,
    /// What the table figures are cited by, in the order they were used.
    pub sources: Vec<Cow<'static, str>>,
}

impl Worked {
    fn from_limits(value: f64, limits: &[&Limit]) -> Worked {
        let mut sources: Vec<Cow<'static, str>> = Vec::new();
        for limit in limits {
            if !sources.contains(&limit.source) {
                sources.push(limit.source.clone());
            }
        }
        let confidence = limits.iter().map(|limit| limit.confidence).fold(Confidence::Derived, Ord::max);
        Worked { value, confidence, sources }
    }

    /// Whether one of the figures is confirmed nowhere, so that the result can only raise a doubt.
    pub fn is_memory(&self) -> bool {
        self.confidence == Confidence::Memory
    }
}

/// Refuses what is not a number or lies outside `least..=most`.
fn within(quantity: &'static str, value: f64, least: f64, most: f64) -> Result<f64> {
    if value >= least && value <= most { Ok(value) } else { Err(Error::OutOfRange { quantity, value, least, most }) }
}

/// Refuses what is not a finite number of at least zero.
fn not_negative(quantity: &'static str, value: f64) -> Result<f64> {
    if value.is_finite() && value >= 0.0 { Ok(value) } else { Err(Error::OutOfRange { quantity, value, least: 0.0, most: f64::INFINITY }) }
}

/// Refuses what is not a finite number above zero.
fn positive(quantity: &'static str, value: f64) -> Result<f64> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(Error::OutOfRange { quantity, value, least: f64::MIN_POSITIVE, most: f64::INFINITY })
    }
}

fn figure<T>(figure: Option<T>, what: &'static str) -> Result<T> {
    figure.ok_or(Error::NoFigure { what })
}
