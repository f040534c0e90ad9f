//! Checks a book of electrical site records.
//!
//! A folder of Markdown records becomes a [`book::Book`]; [`rules`] look at it and raise [`finding::Finding`]s; [`judge`] grades,
//! answers, sorts and counts them; [`render`] prints them.

pub mod backlog;
pub mod book;
pub mod browser;
pub mod cache;
pub mod changed;
pub mod check;
pub mod cli;
pub mod design;
pub mod digest;
pub mod due;
pub mod export;
pub mod find;
pub mod finding;
pub mod fix;
pub mod flat;
pub mod git;
pub mod history;
pub mod html;
pub mod init;
pub mod judge;
pub mod lsp;
pub mod new;
pub mod pack;
pub mod paper;
pub mod plot;
pub mod query;
pub mod record;
pub mod render;
pub mod report;
pub mod rolls;
pub mod rules;
pub mod schema;
pub mod seal;
pub mod search;
pub mod sheets;
pub mod statistics;
pub mod system;
pub mod tables;
pub mod units;
pub mod wiring;
pub mod write;
