//! The book as tidy tables: one row a thing, one column a fact with its unit in its name, keys to join them by.
//!
//! Spreadsheets, databases and notebooks take over from here. Sites are read one at a time, and rows go straight to the files.

mod columns;
#[cfg(feature = "parquet")]
mod parquet;
mod rows;
mod text;

use std::io;
use std::path::{Path, PathBuf};

use crate::book::{Book, SiteFiles};
use crate::record::{Date, Reading};
use crate::rules::view::SiteView;
use crate::sheets;
use crate::system::why;
use crate::write::{Pending, WriteError};

pub use columns::tables;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Words.
    Text,
    /// A figure in the unit that its name ends in.
    Number,
    /// A whole number.
    Whole,
    /// True or false.
    Flag,
    /// A calendar day.
    Day,
}

impl Kind {
    /// The word for it in the table of columns.
    pub const fn as_str(self) -> &'static str {
        match self {
            Kind::Text => "text",
            Kind::Number => "number",
            Kind::Whole => "whole number",
            Kind::Flag => "true or false",
            Kind::Day => "day",
        }
    }
}

/// What stands in one place of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// Words.
    Text(String),
    /// A figure.
    Number(f64),
    /// A whole number.
    Whole(u32),
    /// True or false.
    Flag(bool),
    /// A calendar day.
    Day(Date),
}

/// A column.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// Its name, with the unit where it has one.
    pub name: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// What it means.
    pub about: &'static str,
}

/// Where the rows of a table come from.
#[derive(Clone, Copy)]
enum Rows {
    OfSite(fn(&SiteView<'_>) -> Vec<Vec<Cell>>),
    OfBook(fn(&Book) -> Vec<Vec<Cell>>),
}

/// A table.
pub struct Table {
    /// Its name, and its file's without ending.
    pub name: &'static str,
    /// What a row is.
    pub about: &'static str,
    /// Its columns.
    pub columns: Vec<Column>,
    rows: Rows,
}

/// How the files are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Comma-separated values (RFC 4180), UTF-8, the first line names the columns.
    Csv,
    /// One JSON object a line.
    JsonLines,
    /// Apache Parquet.
    #[cfg(feature = "parquet")]
    Parquet,
}

impl Format {
    /// The ending of the files' names.
    pub const fn ending(self) -> &'static str {
        match self {
            Format::Csv => "csv",
            Format::JsonLines => "jsonl",
            #[cfg(feature = "parquet")]
            Format::Parquet => "parquet",
        }
    }
}

/// A table's file being written.
trait Sink {
    /// Takes a row; it has as many cells as the table has columns.
    fn row(&mut self, row: &[Cell]) -> io::Result<()>;
    /// Writes what is left and hands the file over.
    fn close(self: Box<Self>) -> io::Result<Pending>;
}

/// A table that was written.
#[derive(Debug)]
pub struct Written {
    /// Its file.
    pub file: PathBuf,
    /// Its rows.
    pub rows: usize,
}

/// Writes every table of the book into `folder`, which is made where it is not there. Nothing stands there until everything could be
/// written; files that are there already stop it before it begins, unless `replace`.
pub fn export(book: &Book, folder: &Path, format: Format, replace: bool, today: Date) -> Result<Vec<Written>, WriteError> {
    let refused = |path: &Path, error: &io::Error| WriteError::Refused(path.display().to_string(), why(error));
    std::fs::create_dir_all(folder).map_err(|error| refused(folder, &error))?;
    let tables = tables();
    let mut open = Vec::with_capacity(tables.len());
    for table in &tables {
        let path = folder.join(format!("{}.{}", table.name, format.ending()));
        let pending = Pending::begin(&path, replace)?;
        let sink = sink(format, pending, table).map_err(|error| refused(&path, &error))?;
        open.push((table, Written { file: path, rows: 0 }, sink));
    }
    for (table, written, sink) in &mut open {
        let Rows::OfBook(rows) = table.rows else { continue };
        put(sink.as_mut(), written, rows(book)).map_err(|error| refused(&written.file, &error))?;
    }
    let sites: Vec<&SiteFiles> = book.sites.iter().collect();
    let make = |files: &SiteFiles| {
        let (records, _) = book.read_site(files);
        let view = SiteView::new(book, &records, today);
        let rows = |table: &Table| match table.rows {
            Rows::OfSite(rows) => rows(&view),
            Rows::OfBook(_) => Vec::new(),
        };
        tables.iter().map(rows).collect::<Vec<_>>()
    };
    let mut outcome = Ok(());
    sheets::each_site(&sites, make, |of_tables| {
        for ((_, written, sink), rows) in open.iter_mut().zip(of_tables) {
            if let Err(error) = put(sink.as_mut(), written, rows) {
                outcome = Err(refused(&written.file, &error));
                return false;
            }
        }
        true
    });
    outcome?;
    let mut finished = Vec::with_capacity(open.len());
    for (_, written, sink) in open {
        let pending = sink.close().map_err(|error| refused(&written.file, &error))?;
        finished.push((written, pending));
    }
    finished.into_iter().map(|(written, pending)| pending.finish().map(|()| written)).collect()
}

fn put(sink: &mut dyn Sink, written: &mut Written, rows: Vec<Vec<Cell>>) -> io::Result<()> {
    written.rows += rows.len();
    rows.iter().try_for_each(|row| sink.row(row))
}

fn sink(format: Format, pending: Pending, table: &Table) -> io::Result<Box<dyn Sink>> {
    Ok(match format {
        Format::Csv => Box::new(text::Csv::begin(pending, &table.columns)?),
        Format::JsonLines => Box::new(text::JsonLines::begin(pending, &table.columns)),
        #[cfg(feature = "parquet")]
        Format::Parquet => Box::new(parquet::Parquet::begin(pending, &table.columns)?),
    })
}

/// A figure read from an instrument takes two columns: the figure, and whether the true value is it, above it or below it.
pub fn scale_of(reading: &Reading) -> &'static str {
    match reading.scale {
        crate::record::Scale::On => "on",
        crate::record::Scale::Above => "above",
        crate::record::Scale::Below => "below",
    }
}
