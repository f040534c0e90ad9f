//! Small-sample statistics: exact intervals and tests, since a sole trader's book has few of anything.

pub mod poisson;
