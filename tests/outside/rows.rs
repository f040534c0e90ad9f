//! Every row of every table says what it is, where it is from and how well it is confirmed; rows are unique and in order.

use std::cmp::Ordering;

use ampledger::tables;

/// The fields of a table's file, header first.
fn fields(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
    reader.records().map(|record| record.expect("the file is CSV").iter().map(str::to_owned).collect()).collect()
}

/// Blank first, then numbers by value, then words.
fn order(left: &str, right: &str) -> Ordering {
    match (left.parse::<f64>(), right.parse::<f64>()) {
        _ if left == right => Ordering::Equal,
        _ if left.is_empty() => Ordering::Less,
        _ if right.is_empty() => Ordering::Greater,
        (Ok(left), Ok(right)) => left.total_cmp(&right),
        (Ok(_), Err(_)) => Ordering::Less,
        (Err(_), Ok(_)) => Ordering::Greater,
        (Err(_), Err(_)) => left.cmp(right),
    }
}

#[test]
fn no_row_lacks_unit_source_clause_or_confidence() {
    for table in tables::census() {
        let lines = fields(table.text);
        let header = &lines[0];
        for name in ["since", "until", "unit", "source", "clause", "confidence", "note"] {
            assert!(header.iter().any(|column| column == name), "{}: no column {name}", table.name);
        }
        for line in &lines[1..] {
            for (column, value) in header.iter().zip(line) {
                if matches!(column.as_str(), "unit" | "source" | "clause" | "confidence") {
                    assert!(!value.trim().is_empty(), "{}: {line:?} has no {column}", table.name);
                }
                assert!(!value.contains("://") && !value.contains("www."), "{}: {line:?} holds an address", table.name);
            }
        }
    }
}

#[test]
fn every_row_of_every_file_is_read() {
    for table in tables::census() {
        let rows = fields(table.text).len() - 1;
        assert!(rows > 0, "{} is empty", table.name);
        assert_eq!(table.read, rows, "{}: a row could not be read", table.name);
        assert_eq!(table.verified2 + table.verified1 + table.derived + table.memory, rows, "{}", table.name);
    }
}

#[test]
fn every_file_is_in_the_census() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src/tables/data");
    let mut files: Vec<String> = std::fs::read_dir(folder)
        .expect("the folder of tables")
        .map(|entry| entry.expect("an entry").path().file_stem().expect("a name").to_string_lossy().into_owned())
        .collect();
    files.sort();
    let mut named: Vec<&str> = tables::census().iter().map(|table| table.name).collect();
    named.sort_unstable();
    assert_eq!(files, named);
}

/// The columns left of `unit` are a row's key.
#[test]
fn rows_are_unique_and_sorted_by_their_key() {
    for table in tables::census() {
        let lines = fields(table.text);
        let key = lines[0].iter().position(|column| column == "unit").expect("a unit column");
        for pair in lines[1..].windows(2) {
            let by_key = pair[0][..key].iter().zip(&pair[1][..key]).map(|(left, right)| order(left, right));
            let order = by_key.fold(Ordering::Equal, Ordering::then);
            assert_eq!(order, Ordering::Less, "{}: {:?} and {:?}", table.name, &pair[0][..key], &pair[1][..key]);
        }
    }
}
