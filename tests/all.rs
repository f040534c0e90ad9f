//! Every integration test, in one binary.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout, clippy::print_stderr, missing_docs)]

mod answers;
mod backlog;
mod cache;
mod changed;
mod cli;
mod design;
mod documents;
mod due;
mod everything;
mod example;
mod export;
mod fixes;
mod history;
mod hostile;
mod init;
mod lsp;
mod merges;
mod new;
mod outside;
mod pack;
mod papers;
mod questions;
mod reading;
mod render;
mod report;
mod rules;
mod scenarios;
mod schema;
mod seals;
mod search;
mod shell;
mod stories;
mod support;
mod units;
