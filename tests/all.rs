//! Every integration test, in one binary.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout, clippy::print_stderr, missing_docs)]

mod documents;
mod new;
mod outside;
mod rules;
mod schema;
mod stories;
mod support;
