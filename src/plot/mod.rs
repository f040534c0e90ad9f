//! Pictures of figures over the years: a few marks in a terminal, or an SVG. Pure functions of what they are to show.

mod ranges;
mod svg;
mod text;

use crate::record::Date;

pub use ranges::{Range, Ranges, ranges};
pub use svg::{svg, svg_within};
pub use text::text;

/// Several panels under one another, read as one picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it shows; the title that a screen reader says.
    pub title: String,
    /// What is to be seen, in words, for who cannot see it.
    pub description: String,
    /// The panels.
    pub panels: Vec<Panel>,
}

/// One quantity over the years.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// What is drawn.
    pub title: String,
    /// The quantity with its unit, for the axis.
    pub quantity: String,
    /// The figures.
    pub marks: Vec<Mark>,
    /// A level that the figures are held against.
    pub limit: Option<Level>,
    /// A straight line through them, from one point to another.
    pub line: Option<Line>,
}

/// A figure on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The day.
    pub day: Date,
    /// The figure; the end of the scale where it is off it.
    pub value: f64,
    /// The figure as written.
    pub label: String,
    /// How it is drawn.
    pub shape: Shape,
}

/// How a figure is drawn: by shape first, so that nothing hangs on colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A figure like the others.
    Point,
    /// The true value is above the figure.
    Above,
    /// The true value is below the figure.
    Below,
    /// A figure that stands apart: calculated, or of another circuit.
    Apart,
}

/// A level.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Where it lies.
    pub value: f64,
    /// What it is, with its figure and unit.
    pub label: String,
}

/// A straight line.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Where it begins.
    pub from: (Date, f64),
    /// Where it ends.
    pub to: (Date, f64),
    /// What it is.
    pub label: String,
}

/// A day as a year with a fraction.
fn year(day: Date) -> f64 {
    let begin = jiff::civil::Date::new(day.0.year(), 1, 1).map_or(day, Date);
    f64::from(day.0.year()) + f64::from(day.days_since(begin)) / f64::from(day.0.days_in_year())
}

/// The years that a panel spans, with some room at either end.
fn span_of_years(panel: &Panel) -> (f64, f64) {
    let years = || panel.marks.iter().map(|mark| year(mark.day));
    let (first, last) = (years().fold(f64::INFINITY, f64::min), years().fold(f64::NEG_INFINITY, f64::max));
    if !first.is_finite() || !last.is_finite() {
        return (0.0, 1.0);
    }
    let room = ((last - first) * 0.06).max(0.05);
    (first - room, last + room)
}

/// The values that a panel spans, from nought up: a trend looks no greater than it is.
fn span_of_values(panel: &Panel) -> (f64, f64) {
    let marks = panel.marks.iter().map(|mark| mark.value);
    let line = panel.line.iter().flat_map(|line| [line.from.1, line.to.1]);
    let all: Vec<f64> = marks.chain(panel.limit.iter().map(|limit| limit.value)).chain(line).filter(|value| value.is_finite()).collect();
    let low = all.iter().copied().fold(0.0, f64::min);
    let high = all.iter().copied().fold(0.0, f64::max);
    (low, if high > low { low + (high - low) * 1.12 } else { low + 1.0 })
}

/// A figure with no more decimals than its neighbours on a scale of that height need.
fn scale_label(value: f64, height: f64) -> String {
    let decimals = if height >= 20.0 { 0 } else { (2.0 - height.max(1e-9).log10().floor()).clamp(0.0, 6.0) as usize };
    format!("{value:.decimals$}")
}
