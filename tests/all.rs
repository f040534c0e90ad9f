//! Every integration test, in one binary.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout, clippy::print_stderr, missing_docs)]

mod answers;
mod cli;
mod documents;
mod new;
mod outside;
mod reading;
mod render;
mod rules;
mod schema;
mod stories;
mod support;
