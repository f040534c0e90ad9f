//! Small-sample statistics, plain numbers in and plain numbers out: exact intervals and tests, since a sole trader's book has few of
//! anything.

pub mod poisson;
pub mod trend;

/// Days in a year, on the average of the Gregorian calendar: 146,097 days in 400 years.
pub const DAYS_A_YEAR: f64 = 365.2425;
