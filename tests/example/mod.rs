//! The example book says what its page of known troubles says, and nothing else.

use std::collections::BTreeSet;
use std::process::Command;

use crate::support::{TODAY, repository, verdict_on};

fn example() -> std::path::PathBuf {
    repository().join("example-sites")
}

/// The rule and the file of each row of the table of troubles; rows that no rule tells of yet are left out.
fn known_troubles() -> BTreeSet<(String, String)> {
    let page = std::fs::read_to_string(example().join("README.md")).unwrap();
    let rows = page.lines().filter(|line| line.starts_with("| ") && line.as_bytes()[2].is_ascii_digit());
    rows.filter_map(|row| {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        let rule = cells.last().unwrap().strip_prefix('`')?.strip_suffix('`')?;
        let file = cells[1].split('`').nth(1).unwrap();
        Some((rule.to_owned(), file.to_owned()))
    })
    .collect()
}

#[test]
fn every_known_trouble_is_found_and_nothing_else() {
    let verdict = verdict_on(&example(), TODAY);
    let found: BTreeSet<(String, String)> =
        verdict.findings.iter().map(|finding| (finding.rule.to_owned(), finding.place.file.path.clone())).collect();
    let known = known_troubles();
    assert!(known.len() >= 20, "the table of troubles was not read: {known:?}");
    assert_eq!(found, known);
    assert_eq!(verdict.findings.len(), known.len(), "one trouble is one finding");
}

fn check(folder: &std::path::Path, book: &str, format: &str) -> (String, Option<i32>) {
    let output = Command::new(env!("CARGO_BIN_EXE_ampledger"))
        .args(["check", book, "--on", TODAY, "--format", format])
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    (String::from_utf8(output.stdout).unwrap(), output.status.code())
}

/// The whole output on one day; a change of any message shows here first.
#[test]
fn the_whole_output_is_as_reviewed() {
    let (human, status) = check(&repository(), "example-sites", "human");
    assert_eq!(status, Some(1));
    insta::assert_snapshot!("human", human);
    let (json, _) = check(&repository(), "example-sites", "json");
    insta::assert_snapshot!("json", json);
}

#[test]
fn a_second_run_and_a_run_from_elsewhere_are_the_same_to_the_byte() {
    let elsewhere = tempfile::tempdir().unwrap();
    let book = example();
    for format in ["human", "concise", "json"] {
        let (first, _) = check(&repository(), "example-sites", format);
        let (second, _) = check(&repository(), "example-sites", format);
        let (other, _) = check(elsewhere.path(), book.to_str().unwrap(), format);
        assert_eq!(first, second);
        assert_eq!(first, other);
    }
}
