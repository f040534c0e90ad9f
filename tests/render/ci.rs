//! What code hosts and pipelines read, held against the published schema of each form where one is to be had.

use std::collections::BTreeSet;

use ampledger::finding::Grade;
use ampledger::judge::Verdict;
use ampledger::render::{Run, github, gitlab, junit, markdown, sarif};
use insta::assert_snapshot;
use quick_xml::Reader;
use quick_xml::events::Event;
use serde_json::Value;

use super::gallery::gallery;
use crate::cli::{program, run};
use crate::support::{SOUND_JOB, TODAY, TestBook, python_with, repository, verdict_on};

fn run_of(prefix: &str) -> Run {
    Run { prefix: prefix.to_owned(), fail_on: Some(Grade::Breach), show_answered: true }
}

/// Verdicts of every look: findings of each shape, the example book, a book with nothing to tell, and one that is hostile.
fn verdicts() -> Vec<Verdict> {
    let hostile = TestBook::sound();
    let text = hostile.read(SOUND_JOB).replace("title: ", "titel: \"]]> <b onload='x'>, ::error:: 50% | `x` \\u001b[31m %0A\"\ntitle: ");
    hostile.write(SOUND_JOB, text);
    vec![gallery("\n"), verdict_on(&repository().join("example-sites"), TODAY), TestBook::sound().verdict(), hostile.verdict()]
}

#[test]
fn each_form_of_one_gallery() {
    assert_snapshot!("sarif_results", pretty(&parsed(&sarif(&gallery("\n"), &run_of("books/ours/")))["runs"][0]["results"]));
    assert_snapshot!("github", github(&gallery("\n"), &run_of("books/ours/")));
    assert_snapshot!("gitlab", gitlab(&gallery("\n"), &run_of("books/ours/")));
    assert_snapshot!("junit", junit(&gallery("\n"), &run_of("books/ours/")));
    assert_snapshot!("markdown", markdown(&gallery("\n"), &run_of("books/ours/")));
}

#[test]
fn sarif_keeps_the_published_schema() {
    // The published pattern for a language, a key that is not used here, has a stray bracket and is no regular expression.
    let published = include_str!("sarif-2.1.0.schema.json").replace("[a-zA-Z]{2}]?$", "[a-zA-Z]{2}$");
    let schema: Value = serde_json::from_str(&published).unwrap();
    let schema = jsonschema::validator_for(&schema).unwrap();
    for verdict in verdicts() {
        let log = parsed(&sarif(&verdict, &run_of("")));
        let wrong: Vec<String> = schema.iter_errors(&log).map(|error| format!("{error} at {}", error.instance_path())).collect();
        assert!(wrong.is_empty(), "{wrong:?}");
        let results = log["runs"][0]["results"].as_array().unwrap();
        assert_eq!(results.len(), verdict.findings.len() + verdict.answered.len());
        for result in results {
            // What the schema cannot say: the index is that of the rule, and the file is named from the top of the repository.
            let rule = &log["runs"][0]["tool"]["driver"]["rules"][result["ruleIndex"].as_u64().unwrap() as usize];
            assert_eq!(rule["id"], result["ruleId"]);
            let uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].as_str().unwrap();
            assert!(!uri.starts_with('/') && !uri.contains(':') && !uri.contains(' '), "{uri}");
        }
    }
    let mut log = parsed(&sarif(&gallery("\n"), &run_of("")));
    log["runs"][0]["results"][0]["level"] = "danger".into();
    assert!(!schema.is_valid(&log));
}

#[test]
fn an_answered_finding_is_suppressed_in_sarif_with_its_reason_asked_for_or_not() {
    let quiet = Run { show_answered: false, ..run_of("") };
    let log = parsed(&sarif(&gallery("\n"), &quiet));
    let suppressed: Vec<&Value> =
        log["runs"][0]["results"].as_array().unwrap().iter().filter(|result| result["suppressions"] != Value::Array(Vec::new())).collect();
    assert_eq!(suppressed.len(), 1);
    assert_eq!(suppressed[0]["suppressions"][0]["justification"], "armour in parallel with the core");
    assert_eq!(suppressed[0]["ruleId"], "r1-r2-does-not-fit");
}

/// The form as its documentation lists it (from memory; no published schema was to be had).
#[test]
fn gitlab_keeps_its_documented_form() {
    let schema = serde_json::json!({
        "type": "array",
        "items": {
            "type": "object",
            "required": ["description", "check_name", "fingerprint", "severity", "location"],
            "properties": {
                "description": {"type": "string", "minLength": 1, "pattern": "^[^\n]*$"},
                "check_name": {"type": "string", "minLength": 1},
                "fingerprint": {"type": "string", "minLength": 16},
                "severity": {"enum": ["info", "minor", "major", "critical", "blocker"]},
                "location": {
                    "type": "object",
                    "required": ["path", "lines"],
                    "properties": {
                        "path": {"type": "string", "pattern": "^[^./]"},
                        "lines": {"type": "object", "required": ["begin"], "properties": {"begin": {"type": "integer", "minimum": 1}}}
                    }
                }
            }
        }
    });
    let schema = jsonschema::validator_for(&schema).unwrap();
    for verdict in verdicts() {
        let issues = parsed(&gitlab(&verdict, &run_of("")));
        let wrong: Vec<String> = schema.iter_errors(&issues).map(|error| format!("{error} at {}", error.instance_path())).collect();
        assert!(wrong.is_empty(), "{wrong:?}");
        let issues = issues.as_array().unwrap();
        assert_eq!(issues.len(), verdict.findings.len() + verdict.answered.len());
        let fingerprints: BTreeSet<&str> = issues.iter().map(|issue| issue["fingerprint"].as_str().unwrap()).collect();
        assert_eq!(fingerprints.len(), issues.len(), "two findings of one fingerprint");
    }
}

/// The elements of an XML text in their order: `name` with its attributes. Fails where it is not well formed.
fn elements(xml: &str) -> Vec<(String, Vec<(String, String)>)> {
    let mut reader = Reader::from_str(xml);
    let mut elements = Vec::new();
    loop {
        match reader.read_event().unwrap() {
            Event::Start(start) => {
                let name = start.name().as_ref().to_owned();
                let attributes = start.attributes().map(|attribute| {
                    let attribute = attribute.unwrap();
                    let value = attribute.normalized_value(quick_xml::XmlVersion::Implicit1_0).unwrap();
                    (attribute.key.as_ref().to_owned(), value.into_owned())
                });
                elements.push((name, attributes.collect()));
            }
            Event::Eof => return elements,
            _ => {}
        }
    }
}

#[test]
fn junit_fails_what_fails_the_run_and_skips_the_rest() {
    for verdict in verdicts() {
        let found = elements(&junit(&verdict, &run_of("")));
        let count = |name: &str| found.iter().filter(|(element, _)| element == name).count();
        assert_eq!(count("failure"), verdict.summary.danger + verdict.summary.breach);
        assert_eq!(count("skipped"), verdict.summary.doubt + verdict.summary.tidy + verdict.answered.len());
        assert_eq!(count("testcase"), 1 + verdict.findings.len() + verdict.answered.len());
        for (_, attributes) in found.iter().filter(|(element, _)| element == "testsuite") {
            let number = |key: &str| attributes.iter().find(|(name, _)| name == key).unwrap().1.parse::<usize>().unwrap();
            assert!(number("tests") > 0 && number("failures") + number("skipped") <= number("tests"));
        }
    }
    // With no threshold nothing fails.
    let never = Run { fail_on: None, ..run_of("") };
    assert!(elements(&junit(&gallery("\n"), &never)).iter().all(|(element, _)| element != "failure"));
}

/// Needs Python with the package `xmlschema`, and JUNIT_XSD to name the schema, which pytest's source archive holds.
#[test]
fn junit_keeps_the_published_schema() {
    let Some(python) = python_with("xmlschema") else { return };
    let Ok(schema) = std::env::var("JUNIT_XSD") else {
        eprintln!("skipped: JUNIT_XSD does not name a schema");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let script = "import sys, xmlschema\nxmlschema.XMLSchema(sys.argv[1]).validate(sys.argv[2])";
    let valid = |xml: &str| {
        let file = folder.path().join("report.xml");
        std::fs::write(&file, xml).unwrap();
        let ran = std::process::Command::new(&python).args(["-c", script, &schema]).arg(&file).output().unwrap();
        (ran.status.success(), String::from_utf8_lossy(&ran.stderr).into_owned())
    };
    for verdict in verdicts() {
        let (valid, why) = valid(&junit(&verdict, &run_of("")));
        assert!(valid, "{why}");
    }
    assert!(!valid(&junit(&gallery("\n"), &run_of("")).replace("<skipped ", "<passed ").replace("</skipped", "</passed")).0);
}

#[test]
fn a_fingerprint_outlives_edits_above_it_and_days() {
    let book = TestBook::sound();
    let job = book.read(SOUND_JOB);
    let fingerprints = |day| {
        let ran = run(book.root(), &["check", "--on", day, "--format", "gitlab"]);
        let issues = parsed(&ran.out);
        let fingerprints = issues.as_array().unwrap().iter().map(|issue| issue["fingerprint"].as_str().unwrap().to_owned());
        fingerprints.collect::<Vec<String>>()
    };
    book.write(SOUND_JOB, job.replacen("polarity: correct", "polarity: reversed", 1));
    let before = fingerprints(TODAY);
    assert!(!before.is_empty());
    book.write(
        SOUND_JOB,
        job.replacen("polarity: correct", "polarity: reversed", 1).replacen("record: job", "record: job\n# a line more", 1),
    );
    assert_eq!(fingerprints("2026-11-26"), before);
}

#[test]
fn a_workflow_command_stays_on_its_line_and_cannot_be_forged() {
    for verdict in verdicts() {
        let text = github(&verdict, &run_of(""));
        let commands = text.lines().filter(|line| line.starts_with("::")).count();
        assert_eq!(commands, verdict.findings.len() + verdict.answered.len(), "{text}");
        assert_eq!(text.lines().count(), commands + 1, "{text}");
    }
}

#[test]
fn a_table_in_markdown_keeps_its_three_columns_and_holds_no_markup() {
    for verdict in verdicts() {
        let text = markdown(&verdict, &run_of(""));
        for line in text.lines().filter(|line| line.starts_with("| ")) {
            let bars = line.replace("\\\\", "").replace("\\|", "").matches('|').count();
            assert_eq!(bars, 4, "{line}");
            assert!(!line.contains('<'), "{line}");
        }
    }
}

#[test]
fn files_are_named_from_the_top_of_the_repository() {
    let top = tempfile::tempdir().unwrap();
    std::fs::create_dir(top.path().join(".git")).unwrap();
    let book = top.path().join("records/our book");
    let sound = TestBook::sound();
    sound.write(SOUND_JOB, sound.read(SOUND_JOB).replacen("polarity: correct", "polarity: reversed", 1));
    std::fs::create_dir_all(book.parent().unwrap()).unwrap();
    crate::support::copy(sound.root(), &book);
    let uri_of = |folder: &std::path::Path, path: &str| {
        let ran: crate::cli::Ran = program(folder).args(["check", path, "--on", TODAY, "--format", "sarif"]).output().unwrap().into();
        assert_eq!(ran.status, 1, "{}", ran.err);
        let log = parsed(&ran.out);
        log["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].as_str().unwrap().to_owned()
    };
    let wanted = format!("records/our%20book/{SOUND_JOB}");
    assert_eq!(uri_of(&book, "."), wanted);
    assert_eq!(uri_of(top.path(), "records/our book"), wanted);
    assert_eq!(uri_of(sound.root(), "."), SOUND_JOB);
}

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn pretty(value: &Value) -> String {
    serde_json::to_string_pretty(value).unwrap()
}
