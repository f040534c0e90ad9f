//! The example book says what its page of known troubles says, and nothing else.

use std::collections::BTreeSet;
use std::process::Command;

use crate::cli::run_with;
use crate::support::{TODAY, repository, verdict_on};

fn example() -> std::path::PathBuf {
    repository().join("example-sites")
}

/// The rule and the file of each row of the table of troubles; the row that no rule tells of is left out.
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

/// Trouble 17: a unit under a maker's notice that nobody has been to.
#[test]
fn the_notice_finds_the_unit_not_dealt_with() {
    let ran =
        run_with(&repository(), &[("COLUMNS", "80")], &["units", "example-sites", "--on", TODAY, "--recall", "2025-04-07-alder-7-link"]);
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
    insta::assert_snapshot!("recall", ran.out);
    // The firmware notice touches nobody: the one unit of its model has been newer since it was fitted.
    let ran = run_with(&repository(), &[], &["units", "example-sites", "--on", TODAY, "--recall", "2026-03-16-rowan-22-firmware"]);
    assert_eq!((ran.status, ran.out.contains("no unit on record is touched")), (0, true));
}
