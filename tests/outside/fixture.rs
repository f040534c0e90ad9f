//! Reads the committed fixtures.

use std::collections::BTreeMap;
use std::path::Path;

/// One row of a fixture.
pub struct Row(BTreeMap<String, String>);

impl Row {
    pub fn text(&self, column: &str) -> &str {
        self.0.get(column).unwrap_or_else(|| panic!("no column {column}"))
    }

    pub fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse().unwrap_or_else(|_| panic!("{column}: {text} is not a number"))
    }

    /// A number that this row may not have.
    pub fn maybe(&self, column: &str) -> Option<f64> {
        (!self.text(column).is_empty()).then(|| self.number(column))
    }
}

/// Every row of a fixture, which must have as many as its README says.
pub fn rows(name: &str, expected: usize) -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside/fixtures").join(name);
    let mut reader = csv::Reader::from_path(&path).expect("the fixture");
    let rows: Vec<Row> = reader.deserialize().map(|row| Row(row.expect("a row"))).collect();
    assert_eq!(rows.len(), expected, "{name}");
    rows
}

/// Holds two figures against each other, relative to the second.
#[track_caller]
pub fn close(ours: f64, theirs: f64, tolerance: f64, what: &str) {
    let off = (ours - theirs).abs() / theirs.abs().max(f64::MIN_POSITIVE);
    assert!(ours == theirs || off <= tolerance, "{what}: {ours} against {theirs}, off by {off:.2e}");
}
