//! Small-sample statistics: exact intervals and tests, since a sole trader's book has few of anything.

pub mod poisson;
//! Statistics over what the book holds: plain numbers in, plain numbers out.

pub mod trend;
