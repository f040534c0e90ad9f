//! JSON Schemas of the records, made from the types.

use schemars::generate::SchemaSettings;

use crate::record::{Instrument, Job, Model, Recall, Settings, Site};

/// The kinds that have a schema; `book` is `book.yaml`.
pub const KINDS: [&str; 6] = ["book", "site", "job", "instrument", "model", "recall"];

/// The schema of a kind, as indented JSON ending in a line break.
pub fn of(kind: &str) -> Option<String> {
    let generator = SchemaSettings::draft2020_12().into_generator();
    let mut schema = match kind {
        "book" => generator.into_root_schema_for::<Settings>(),
        "site" => generator.into_root_schema_for::<Site>(),
        "job" => generator.into_root_schema_for::<Job>(),
        "instrument" => generator.into_root_schema_for::<Instrument>(),
        "model" => generator.into_root_schema_for::<Model>(),
        "recall" => generator.into_root_schema_for::<Recall>(),
        _ => return None,
    };
    schema.insert("title".to_owned(), format!("ampledger {kind} record, format 1").into());
    let mut text = serde_json::to_string_pretty(&schema).ok()?;
    text.push('\n');
    Some(text)
}
