//! `ampledger export`: what the tables hold, what they keep out of a spreadsheet's formulas, and what they never overwrite.

use std::path::Path;

use crate::cli::run;
use crate::support::{TestBook, apply, repository};

/// A table as its rows, each by its column names.
fn table(folder: &Path, name: &str) -> Vec<std::collections::BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(folder.join(format!("{name}.csv"))).unwrap();
    reader.deserialize().map(|row| row.unwrap()).collect()
}

fn exported(book: &TestBook) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let ran = run(book.root(), &["export", "--out", folder.path().to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    folder
}

#[test]
fn the_sound_book_as_tables() {
    let folder = exported(&TestBook::sound());
    let mut names: Vec<_> =
        std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    let whole = names.iter().filter(|name| *name != "columns.csv" && *name != "circuits.csv");
    let texts = whole.map(|name| format!("{name}\n{}", std::fs::read_to_string(folder.path().join(name)).unwrap()));
    insta::assert_snapshot!(texts.collect::<Vec<_>>().join("\n"));
}

#[test]
fn every_column_is_explained_and_figures_carry_their_unit() {
    let folder = exported(&TestBook::sound());
    let told = table(folder.path(), "columns");
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let name = name.strip_suffix(".csv").unwrap().to_owned();
        if name == "columns" {
            continue;
        }
        let mut reader = csv::Reader::from_path(folder.path().join(format!("{name}.csv"))).unwrap();
        let header: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let explained: Vec<String> = told.iter().filter(|row| row["table_name"] == name).map(|row| row["column_name"].clone()).collect();
        assert_eq!(explained, header, "{name}");
    }
    for row in told.iter().filter(|row| row["holds"] == "number") {
        let unit = row["column_name"].rsplit('_').next().unwrap();
        assert!(["ohm", "mohm", "a", "ma", "ka", "v", "mm2", "mm", "m", "ms", "nm"].contains(&unit), "{row:?}");
    }
}

#[test]
fn what_a_visit_does_not_say_is_inherited_and_marked() {
    let folder = tempfile::tempdir().unwrap();
    run(&repository(), &["export", "example-sites", "--out", folder.path().to_str().unwrap()]);
    let circuits = table(folder.path(), "circuits");
    let row = circuits.iter().find(|row| row["visit"] == "2024-10-29-trips" && row["circuit"] == "main/6").unwrap();
    assert_eq!((row["ocpd_a"].as_str(), row["ocpd_from"].as_str()), ("40", "2023-08-22-charge-point"));
    assert_eq!((row["rcd_type"].as_str(), row["rcd_from"].as_str()), ("A", "2023-08-22-charge-point"));
    // Not read, and said so; nothing else of that circuit is missing for it.
    let row = circuits.iter().find(|row| row["visit"] == "2025-11-18-sockets" && row["circuit"] == "main/3").unwrap();
    assert_eq!((row["zs_ohm"].as_str(), row["unreadable"].as_str()), ("", "/circuits/0/readings/zs_ohm"));
    assert_eq!(row["rcd_ms"], "28.2");
}

#[test]
fn a_reading_off_the_scale_is_a_figure_and_its_side() {
    let book = TestBook::sound();
    let circuit = "{id: main/9, readings: {zs_ohm: 0.30, ir_live_earth_mohm: \">999\"}}";
    book.write("sites/elm-row/2026-11-03-scale.md", format!("---\nrecord: job\ncircuits: [{circuit}]\n---\n"));
    let folder = exported(&book);
    let circuits = table(folder.path(), "circuits");
    let row = circuits.iter().find(|row| row["circuit"] == "main/9").unwrap();
    assert_eq!((row["ir_live_earth_mohm"].as_str(), row["ir_live_earth_mohm_scale"].as_str()), ("999", "above"));
    assert_eq!(row["zs_ohm_scale"], "on");
    assert_eq!((row["rcd_5x_ms"].as_str(), row["rcd_5x_ms_scale"].as_str()), ("", ""));
}

#[test]
fn text_that_a_spreadsheet_would_run_gets_an_apostrophe_and_quotes_and_breaks_survive() {
    let book = TestBook::sound();
    let titles = ["=1+1", "+44", "-2 C in the loft", "@cmd", "\tx", "plain, with \"quotes\" and\na break", "\u{ff1d}1+1", "bell\u{7}"];
    for (index, title) in titles.iter().enumerate() {
        let quoted = serde_json::to_string(title).unwrap();
        book.write(&format!("sites/elm-row/2020-01-0{}-odd.md", index + 1), format!("---\nrecord: job\ntitle: {quoted}\n---\n"));
    }
    let folder = exported(&book);
    let visits = table(folder.path(), "visits");
    let shown: Vec<&str> = visits.iter().filter(|row| row["visit"].ends_with("-odd")).map(|row| row["title"].as_str()).collect();
    assert_eq!(
        shown,
        ["'=1+1", "'+44", "'-2 C in the loft", "'@cmd", "' x", "plain, with \"quotes\" and\na break", "'\u{ff1d}1+1", "bell\u{fffd}"]
    );
    // The form that no spreadsheet opens holds the text as it is.
    let out = folder.path().to_str().unwrap();
    run(book.root(), &["export", "--out", out, "--format", "jsonl"]);
    let lines = std::fs::read_to_string(folder.path().join("visits.jsonl")).unwrap();
    let first: serde_json::Value = serde_json::from_str(lines.lines().next().unwrap()).unwrap();
    assert_eq!(first["title"], "=1+1");
}

#[test]
fn no_file_is_replaced_unless_asked_and_nothing_half_written_stays() {
    let book = TestBook::sound();
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let mine = folder.path().join("faults.csv");
    std::fs::write(&mine, "mine").unwrap();
    let ran = run(book.root(), &["export", "--out", out]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("faults.csv is there already"), "{}", ran.err);
    assert_eq!(std::fs::read_to_string(&mine).unwrap(), "mine");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "something was left behind");
    let ran = run(book.root(), &["export", "--out", out, "--replace"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(std::fs::read_to_string(&mine).unwrap().starts_with("site,"));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 14);
    let ran = run(book.root(), &["export", "--out", mine.to_str().unwrap()]);
    assert_eq!(ran.status, 2);
}

#[test]
fn supply_numbers_and_private_details_stay_behind() {
    let book = TestBook::sound();
    apply(book.root(), "sites/elm-row/site.md: {supply: {mpan: \"1200012345674\"}}\n");
    book.write("private/contacts.yaml", "elm-row: {name: Quillfeather}\n");
    let folder = exported(&book);
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        assert!(!text.contains("1200012345674") && !text.contains("Quillfeather"));
    }
}

#[test]
fn a_lost_record_is_a_row_that_says_so() {
    let book = TestBook::sound();
    book.write("sites/elm-row/2026-11-03-lost.md", "no front matter\n");
    let folder = exported(&book);
    let visits = table(folder.path(), "visits");
    let lost = visits.iter().find(|row| row["visit"] == "2026-11-03-lost").unwrap();
    assert_eq!(lost["unreadable"], "/");
}

#[cfg(not(feature = "parquet"))]
#[test]
fn without_the_feature_parquet_says_how_to_get_it() {
    let book = TestBook::sound();
    let ran = run(book.root(), &["export", "--out", "tables", "--format", "parquet"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("--features parquet"), "{}", ran.err);
    assert!(!book.root().join("tables").exists());
}
