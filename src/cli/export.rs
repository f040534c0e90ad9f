//! `ampledger export`.

use std::fmt::Write;
use std::path::PathBuf;

use super::{Exit, Failure, Screen, today};
use crate::book::Book;
use crate::export::{self, Format};
use crate::render::one_line;
use crate::write::WriteError;

/// Write the book as tidy tables, for spreadsheets and databases.
///
/// One file a table, one row a thing: sites, visits, visit_instruments, circuits with their readings, units, joints, faults,
/// observations, notices, papers, follow_ups, instruments, instrument_events, and columns, which says what every column holds. `site`,
/// `visit` and `circuit` join them. Units are in the names: zs_ohm.
///
/// A reading takes two columns: the figure, and `_scale`, which says `on`, or `above` and `below` for a true value beyond the figure
/// (">999" is 999 and above). What a visit does not say of a circuit is inherited from the visit that said it last; the `_from` column
/// names that visit. A value that stands in the record and could not be read leaves its cell empty and is named in `unreadable`.
///
/// In CSV, text that a spreadsheet would take for a formula (it begins with = + - @, a tab or a carriage return) gets an apostrophe
/// before it, and control characters are shown as U+FFFD; figures keep their sign. JSON Lines and Parquet hold text as it is. Supply
/// numbers, the text below the front matter and private/ are left out.
///
/// Files are put in place whole, and none is replaced without --replace.
///
/// Exit status: 0 when the tables are written, 2 when the command could not do its work or a record could not be opened.
#[derive(Debug, clap::Args)]
#[command(after_long_help = EXAMPLE)]
pub struct Args {
    /// The book, or any folder in it.
    #[arg(default_value = ".")]
    path: PathBuf,
    /// The folder to write to; it is made where it is not there.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// How the tables are written.
    #[arg(long, value_name = "FORM", default_value = "csv")]
    format: FormatName,
    /// Replace files of the same names.
    #[arg(long)]
    replace: bool,
}

/// The documented example; a test takes it from the help and runs it.
const EXAMPLE: &str = "Example: which charging circuits are fed through a type AC RCD, or share theirs, with DuckDB:

  ampledger export --out tables
  cd tables && duckdb < question.sql

  -- question.sql
  WITH latest AS (
    SELECT * FROM read_csv('circuits.csv', all_varchar = true)
    QUALIFY row_number() OVER (PARTITION BY site, circuit ORDER BY visit DESC) = 1
  )
  SELECT ev.site, ev.circuit, ev.rcd_type, feeder.rcd_type AS feeder_rcd_type, count(other.circuit) AS sharing
  FROM latest ev
  LEFT JOIN latest feeder ON feeder.site = ev.site AND feeder.circuit = ev.fed_from
  LEFT JOIN latest other ON other.site = ev.site AND other.rcd_device = ev.rcd_device AND other.circuit <> ev.circuit
  WHERE ev.use = 'ev'
  GROUP BY ALL
  HAVING ev.rcd_type = 'AC' OR feeder.rcd_type = 'AC' OR count(other.circuit) > 0
  ORDER BY ALL;
  -- end";

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum FormatName {
    /// Comma-separated values.
    Csv,
    /// One JSON object a line.
    Jsonl,
    /// Apache Parquet, in a program built with the feature `parquet`.
    Parquet,
}

impl FormatName {
    fn format(self) -> Result<Format, Failure> {
        match self {
            FormatName::Csv => Ok(Format::Csv),
            FormatName::Jsonl => Ok(Format::JsonLines),
            #[cfg(feature = "parquet")]
            FormatName::Parquet => Ok(Format::Parquet),
            #[cfg(not(feature = "parquet"))]
            FormatName::Parquet => Err(Failure::new(
                "this program was built without Parquet",
                "Build it with `cargo install ampledger --features parquet`, or export csv or jsonl.",
            )),
        }
    }
}

impl From<WriteError> for Failure {
    fn from(error: WriteError) -> Self {
        let help = match &error {
            WriteError::Exists(_) => "Name another folder, or add --replace.",
            _ => "Check the folder and its permissions.",
        };
        Failure::new(error.to_string(), help)
    }
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let format = args.format.format()?;
    let root = Book::find_root(&args.path)?;
    let book = Book::open(&root)?;
    let written = export::export(&book, &args.out, format, args.replace, today())?;
    let mut text = String::new();
    for table in &written {
        let rows = if table.rows == 1 { "row" } else { "rows" };
        let _ = writeln!(text, "{}: {} {rows}", one_line(&table.file.display().to_string()), table.rows);
    }
    screen.print(&text);
    Ok(screen.but_for_unread(&book, &[], Exit::Clean))
}
