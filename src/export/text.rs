//! CSV and JSON Lines.

use std::io::{self, Write};

use serde_json::{Map, Number, Value};

use super::{Cell, Column, Sink};
use crate::render::visible;
use crate::write::Pending;

/// Characters that make a spreadsheet read a cell as a formula when they stand first, the full-width ones among them.
const FORMULA: [char; 10] = ['=', '+', '-', '@', '\t', '\r', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];

/// Comma-separated values.
pub struct Csv {
    writer: csv::Writer<Pending>,
}

impl Csv {
    /// Begins with the names of the columns.
    pub fn begin(pending: Pending, columns: &[Column]) -> io::Result<Csv> {
        let mut writer = csv::Writer::from_writer(pending);
        writer.write_record(columns.iter().map(|column| column.name))?;
        Ok(Csv { writer })
    }
}

impl Sink for Csv {
    fn row(&mut self, row: &[Cell]) -> io::Result<()> {
        for cell in row {
            let text = match cell {
                Cell::Empty => String::new(),
                Cell::Text(text) => defused(text),
                Cell::Number(number) => number.to_string(),
                Cell::Whole(number) => number.to_string(),
                Cell::Flag(flag) => flag.to_string(),
                Cell::Day(day) => day.to_string(),
            };
            self.writer.write_field(text)?;
        }
        self.writer.write_record(None::<&[u8]>)?;
        Ok(())
    }

    fn close(self: Box<Self>) -> io::Result<Pending> {
        self.writer.into_inner().map_err(csv::IntoInnerError::into_error)
    }
}

/// Text as a cell that no spreadsheet takes for a formula: an apostrophe goes before one that begins like one, and control characters
/// are shown as U+FFFD. Figures are no text and keep their sign.
fn defused(text: &str) -> String {
    let shown = visible(text);
    if text.starts_with(FORMULA) { format!("'{shown}") } else { shown }
}

/// One JSON object a line, every column in each.
pub struct JsonLines {
    pending: Pending,
    names: Vec<&'static str>,
}

impl JsonLines {
    /// Begins an empty file.
    pub fn begin(pending: Pending, columns: &[Column]) -> JsonLines {
        JsonLines { pending, names: columns.iter().map(|column| column.name).collect() }
    }
}

impl Sink for JsonLines {
    fn row(&mut self, row: &[Cell]) -> io::Result<()> {
        let value = |cell: &Cell| match cell {
            Cell::Empty => Value::Null,
            Cell::Text(text) => text.as_str().into(),
            Cell::Number(number) => Number::from_f64(*number).map_or(Value::Null, Value::Number),
            Cell::Whole(number) => (*number).into(),
            Cell::Flag(flag) => (*flag).into(),
            Cell::Day(day) => day.to_string().into(),
        };
        let object: Map<String, Value> = self.names.iter().map(|name| (*name).to_owned()).zip(row.iter().map(value)).collect();
        serde_json::to_writer(&mut self.pending, &object)?;
        self.pending.write_all(b"\n")
    }

    fn close(self: Box<Self>) -> io::Result<Pending> {
        Ok(self.pending)
    }
}
