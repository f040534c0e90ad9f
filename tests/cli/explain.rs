//! `ampledger explain`, `schema` and the help texts.

use std::path::Path;

use ampledger::rules;

use super::{run, run_with};

fn at_width(width: usize, args: &[&str]) -> String {
    let ran = run_with(Path::new("/"), &[("COLUMNS", &width.to_string())], args);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{args:?}");
    ran.out
}

#[test]
fn without_a_rule_all_are_listed_by_family_and_grade() {
    let list = at_width(80, &["explain"]);
    for rule in rules::all() {
        let line = format!("  {:<7} {}", rule.grade, rule.id);
        assert_eq!(list.lines().filter(|found| *found == line).count(), 1, "{}", rule.id);
    }
    let heads: Vec<&str> = list.lines().filter(|line| !line.is_empty() && !line.starts_with(' ')).collect();
    let with_rules = rules::Family::ALL.iter().filter(|family| rules::all().any(|rule| rule.family == **family));
    assert_eq!(heads, with_rules.map(|family| family.title()).collect::<Vec<_>>());
}

#[test]
fn every_page_is_whole_and_fits() {
    for rule in rules::all() {
        for width in [40, 80] {
            let page = at_width(width, &["explain", rule.id]);
            assert!(page.starts_with(&format!("{} ({})\n", rule.id, rule.grade)), "{page}");
            let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
            for text in [rule.title, rule.looks_at, rule.why, rule.cure].iter().chain(rule.sources) {
                assert!(words.contains(&text.split_whitespace().collect::<Vec<_>>().join(" ")), "{}: {text}", rule.id);
            }
            // Only a word that is longer than the line may stand out; the heading is a rule's id, which stays whole.
            for line in page.lines().skip(1).filter(|line| line.chars().count() > width) {
                assert_eq!(line.split_whitespace().count(), 1, "{} at {width}: {line}", rule.id);
            }
            assert!(!page.contains("(the same record"), "{page}");
        }
    }
}

#[test]
fn examples_are_shown_as_they_would_be_written() {
    let page = at_width(80, &["explain", "off-scale-not-quoted"]);
    assert!(page.contains("\nBad, in an otherwise sound record\n  ir_live_live_mohm: >999\n"), "{page}");
    assert!(page.contains("\nGood\n  circuits: [{id: main/1, readings: {ir_live_live_mohm: \">999\"}}]\n"), "{page}");
    let page = at_width(80, &["explain", "colon-in-text"]);
    assert!(page.ends_with("\n  title: Drive: charge point\n\nGood\n  title: Charge point\n"), "{page}");
    let page = at_width(80, &["explain", "file-empty"]);
    assert!(page.contains("\n  sites/elm-row/2026-11-05-callout.md:\n    (nothing)\n"), "{page}");
    assert!(!at_width(80, &["explain", "file-unreadable"]).contains("Bad"));
    // Keys too long for the screen stand one on a line.
    assert!(at_width(40, &["explain", "same-id-twice"]).contains("\n  faults:\n  - id: f1\n    reported: 2026-11-02\n"));
}

#[test]
fn an_unknown_rule_is_answered_with_the_nearest() {
    let ran = run(Path::new("/"), &["explain", "not-utf-8"]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    assert_eq!(ran.err, "ampledger: there is no rule not-utf-8\n  Did you mean not-utf8? `ampledger explain` lists all rules.\n");
}

#[test]
fn a_schema_is_printed_for_every_kind() {
    for kind in ampledger::schema::KINDS {
        let ran = run(Path::new("/"), &["schema", kind]);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{kind}");
        let schema: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        assert!(jsonschema::validator_for(&schema).is_ok(), "{kind}");
        assert!(schema["properties"].as_object().is_some_and(|keys| keys.len() > 1), "{kind}");
    }
    let ran = run(Path::new("/"), &["schema", "jobs"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("book, site, job, instrument, model, recall"), "{}", ran.err);
}

#[test]
fn help_fits_a_phone() {
    for args in [&["--help"][..], &["check", "--help"], &["explain", "--help"], &["schema", "--help"]] {
        let help = at_width(40, args);
        // Only the usage line is not wrapped.
        for line in help.lines().filter(|line| !line.starts_with("Usage: ")) {
            assert!(line.chars().count() <= 40, "{args:?}: {line}");
        }
    }
    let help = at_width(80, &["check", "--help"]);
    assert!(help.contains("Exit status: 0 when nothing") && help.contains("--fail-on <GRADE>"), "{help}");
    let version = at_width(80, &["--version"]);
    assert_eq!(version, format!("ampledger {}\n", env!("CARGO_PKG_VERSION")));
}
