//! Small-sample statistics, plain numbers in and plain numbers out: exact intervals and tests, since a sole trader's book has few of
//! anything.

pub mod poisson;
pub mod trend;
