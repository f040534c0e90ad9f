//! Statistics over what the book holds: plain numbers in, plain numbers out.

pub mod trend;
