//! How findings look. The snapshots are reviewed by reading them: `cargo insta review`, or `INSTA_UPDATE=always cargo test`.

mod ci;
mod gallery;

use ampledger::render::{Look, concise, human, json};
use insta::assert_snapshot;
use serde_json::Value;

use crate::reading::{BrokenBook, Case};
use crate::support::TestBook;
use gallery::gallery;

/// The text with its colours written out.
fn spelt(text: &str) -> String {
    text.replace('\u{1b}', "\\e")
}

#[test]
fn human_on_a_phone() {
    assert_snapshot!(human(&gallery("\n"), Look { width: 40, colour: false }, true));
}

#[test]
fn human_on_a_terminal() {
    assert_snapshot!(human(&gallery("\n"), Look { width: 80, colour: false }, false));
}

#[test]
fn human_on_a_wide_screen() {
    assert_snapshot!(human(&gallery("\n"), Look { width: 100, colour: false }, true));
}

#[test]
fn human_in_colour() {
    let coloured = human(&gallery("\n"), Look { width: 80, colour: true }, true);
    assert_snapshot!(spelt(&coloured));
}

#[test]
fn human_is_the_same_whatever_the_line_ends() {
    for width in [40, 80, 100] {
        let look = Look { width, colour: false };
        assert_eq!(human(&gallery("\r\n"), look, true), human(&gallery("\n"), look, true));
    }
}

#[test]
fn no_excerpt_is_wider_than_the_screen() {
    for width in [40, 60, 80, 100] {
        let text = human(&gallery("\n"), Look { width, colour: false }, true);
        for line in text.lines().filter(|line| line.contains(" │ ")) {
            assert!(line.chars().count() <= width, "{width}: {line}");
        }
    }
}

#[test]
fn concise_lines() {
    assert_snapshot!(concise(&gallery("\n"), true));
    assert_eq!(concise(&gallery("\r\n"), true), concise(&gallery("\n"), true));
}

#[test]
fn json_report() {
    assert_snapshot!(json(&gallery("\n"), true));
    assert_eq!(json(&gallery("\r\n"), true), json(&gallery("\n"), true));
}

#[test]
fn answered_findings_are_in_the_json_only_when_asked_for() {
    let report: Value = serde_json::from_str(&json(&gallery("\n"), false)).unwrap();
    assert!(report["findings"].as_array().unwrap().iter().all(|finding| finding["answered"] == false));
    assert_eq!(report["summary"]["answered"], 1);
}

/// The contract that other programs rely on, as a JSON Schema.
fn contract() -> jsonschema::Validator {
    let schema: Value = serde_json::from_str(include_str!("report.schema.json")).unwrap();
    jsonschema::validator_for(&schema).unwrap()
}

#[test]
fn the_json_keeps_its_contract() {
    let contract = contract();
    let broken = BrokenBook::of(vec![
        Case::put("number", "zs_ohm: 0.64", "zs_ohm: 0,64"),
        Case::put("twice", "minutes_on_site: 190\n", "minutes_on_site: 190\nminutes_on_site: 170\n"),
        Case::bytes("empty", ""),
    ]);
    for verdict in [gallery("\n"), TestBook::sound().verdict(), broken.verdict()] {
        for answered in [false, true] {
            let report: Value = serde_json::from_str(&json(&verdict, answered)).unwrap();
            let wrong: Vec<String> = contract.iter_errors(&report).map(|error| format!("{} at {}", error, error.instance_path())).collect();
            assert!(wrong.is_empty(), "{wrong:?}");
        }
    }
    // The schema is one that can fail.
    let mut report: Value = serde_json::from_str(&json(&gallery("\n"), true)).unwrap();
    report["findings"][0]["grade"] = "error".into();
    assert!(!contract.is_valid(&report));
}
