//! `check --accept`: an inherited book, its backlog, and what is new beside it.

use crate::cli::{Ran, run};
use crate::support::{SOUND_JOB, TODAY, TestBook};

/// A book with two breaches of one rule at different circuits, two at one circuit, one doubt and one danger.
fn inherited() -> TestBook {
    let book = TestBook::sound();
    edit(&book, "rcd_ms: 31", "rcd_ms: 320");
    edit(&book, "minutes_on_site: 190", "minutes_on_sight: 190\nminutes_off_site: 20");
    edit(&book, "zs_ohm: 0.34", "zs_ohm: 3.40");
    book.write(SOUND_JOB, book.read(SOUND_JOB) + "\nSee [the note](photos/none.jpg).\n");
    book
}

fn edit(book: &TestBook, find: &str, put: &str) {
    let text = book.read(SOUND_JOB);
    assert!(text.contains(find), "{find}");
    book.write(SOUND_JOB, text.replacen(find, put, 1));
}

fn check(book: &TestBook, args: &[&str]) -> Ran {
    let mut all = vec!["check", "--on", TODAY];
    all.extend_from_slice(args);
    run(book.root(), &all)
}

fn accept(book: &TestBook, args: &[&str]) -> Ran {
    check(book, &[&["--accept"], args].concat())
}

fn rules(book: &TestBook) -> Vec<&'static str> {
    book.verdict().findings.iter().map(|finding| finding.rule).collect()
}

#[test]
fn an_amnesty_takes_a_reason_and_leaves_dangers_standing() {
    let book = inherited();
    let before = book.verdict();
    let dangers: Vec<&str> = before.findings.iter().filter(|f| f.grade.as_str() == "danger").map(|f| f.rule).collect();
    assert!(!dangers.is_empty());
    let ran = accept(&book, &[]);
    assert_eq!((ran.status, ran.err.lines().next()), (2, Some("ampledger: a backlog begins with a reason")));
    assert!(!book.root().join("backlog.yaml").exists());

    let ran = accept(&book, &["--reason", "kept by another hand until 2026"]);
    let count = before.findings.len() - dangers.len();
    assert!(ran.out.starts_with(&format!("backlog.yaml: {count} findings accepted\n")), "{}", ran.out);
    assert_eq!((ran.status, rules(&book)), (1, dangers.clone()), "a danger still fails the check");
    let last = ran.out.lines().rev().nth(1).unwrap();
    assert!(
        last.contains(&format!("{} danger", dangers.len())) && last.contains(&format!("; {count} accepted in the backlog; ")),
        "{last}"
    );
    assert!(ran.out.ends_with("`--accepted` shows what the backlog accepts.\n"));

    let text = book.read("backlog.yaml");
    let line = "- {file: sites/elm-row/2026-11-02-shed.md, rule: unknown-key, grade: breach, count: 2, on: 2026-11-25, why: \"kept by another hand until 2026\"}\n";
    assert!(text.contains(line), "{text}");
    let line = "rule: rcd-too-slow, at: main/2, grade: breach, count: 1, on: 2026-11-25";
    assert!(text.contains(line), "{text}");
    assert_eq!(crate::schema::marks("backlog", &serde_yaml::from_str(&text).unwrap()), Vec::<String>::new());
    // Nothing to do is nothing written, and needs no reason.
    let ran = accept(&book, &[]);
    assert!(ran.out.starts_with("backlog.yaml: 0 findings accepted\n\n"), "{}", ran.out);
    assert_eq!(book.read("backlog.yaml"), text);
}

#[test]
fn what_is_accepted_can_be_shown_in_every_form() {
    let book = inherited();
    accept(&book, &["--reason", "another hand", "--until", "2027-06-30"]);
    let concise = check(&book, &["--format", "concise", "--accepted"]).out;
    assert!(concise.contains("rcd-too-slow: main/2: ") && concise.contains(" (accepted in the backlog until 2027-06-30: another hand)\n"));
    let human = check(&book, &["--accepted"]).out;
    assert!(human.contains("accepted in the backlog until 2027-06-30: another hand"), "{human}");
    let json = |args: &[&str]| -> serde_json::Value { serde_json::from_str(&check(&book, args).out).unwrap() };
    let hidden = json(&["--format", "json"]);
    let shown = json(&["--format", "json", "--accepted"]);
    let marked = |report: &serde_json::Value| {
        let findings = report["findings"].as_array().unwrap();
        findings.iter().filter(|finding| finding["accepted"] == "another hand").count() as u64
    };
    assert_eq!((marked(&hidden), hidden["summary"]["accepted"].as_u64()), (0, shown["summary"]["accepted"].as_u64()));
    assert_eq!(Some(marked(&shown)), shown["summary"]["accepted"].as_u64());
    let schema: serde_json::Value = serde_json::from_str(include_str!("../render/report.schema.json")).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    assert_eq!(validator.iter_errors(&shown).map(|error| error.to_string()).collect::<Vec<_>>(), Vec::<String>::new());
}

#[test]
fn a_new_finding_of_the_same_rule_in_the_same_file_is_shown() {
    let book = inherited();
    accept(&book, &["--reason", "another hand"]);
    let before = rules(&book);
    // At another circuit, it is known which one is new.
    edit(&book, "ir_live_earth_mohm: 870", "ir_live_earth_mohm: 870\n      rcd_5x_msec: 20");
    let verdict = book.verdict();
    let new: Vec<_> = verdict.findings.iter().filter(|finding| finding.rule == "unknown-key").map(|f| f.subject.as_str()).collect();
    assert_eq!((new, verdict.findings.len()), (vec!["main/1"], before.len() + 1));
    edit(&book, "\n      rcd_5x_msec: 20", "");
    assert_eq!(rules(&book), before);
    // At the same thing nobody can say which of three is the new one: all are shown, with the count.
    edit(&book, "extent:", "extend: all\nextent:");
    let verdict = book.verdict();
    let shown: Vec<_> = verdict.findings.iter().filter(|finding| finding.rule == "unknown-key").collect();
    assert_eq!(shown.len(), 3);
    assert!(shown.iter().all(|f| f.help.ends_with("\nThe backlog accepts 2 of this kind here, and there are 3 now.")), "{}", shown[0].help);
}

#[test]
fn the_backlog_only_shrinks_unless_somebody_adds_with_a_reason() {
    let book = inherited();
    accept(&book, &["--reason", "another hand"]);
    let dangers = rules(&book).len();
    edit(&book, "minutes_on_sight: 190", "minutes_on_site: 190");
    edit(&book, "rcd_ms: 320", "rcd_ms: 32");
    let spare = book.verdict();
    let told = spare.findings.iter().find(|finding| finding.rule == "backlog-spare").unwrap();
    assert_eq!(
        told.message,
        "2 findings accepted here are no longer found: rcd-too-slow at main/2 in sites/elm-row/2026-11-02-shed.md, and 1 more"
    );
    assert_eq!((told.place.file.path.as_str(), spare.findings.len()), ("backlog.yaml", dangers + 1));

    // Something new comes in the meantime: it is not taken in by the way.
    edit(&book, "extent:", "extend: all\nextend2: all\nextent:");
    let ran = accept(&book, &[]);
    let left = "3 findings are not in the backlog; `--accept --add --reason TEXT` takes them in.";
    assert_eq!(ran.out.lines().take(2).collect::<Vec<_>>(), ["backlog.yaml: 0 findings accepted, counts lowered by 1", left]);
    let text = book.read("backlog.yaml");
    assert!(!text.contains("rcd-too-slow") && text.contains("rule: unknown-key, grade: breach, count: 2, "), "{text}");
    edit(&book, "extend: all\nextend2: all\n", "");
    assert!(accept(&book, &[]).out.starts_with("backlog.yaml: 0 findings accepted, counts lowered by 1\n"));
    assert!(book.read("backlog.yaml").contains("rule: unknown-key, grade: breach, count: 1, "));
    assert_eq!(rules(&book).len(), dangers);

    edit(&book, "extent:", "extend: all\nextent:");
    assert_eq!(accept(&book, &["--add"]).status, 2, "adding takes a reason");
    let ran = accept(&book, &["--add", "--reason", "found in the attic"]);
    assert!(ran.out.starts_with("backlog.yaml: 2 findings accepted\n"), "{}", ran.out);
    assert!(book.read("backlog.yaml").contains("count: 2, on: 2026-11-25, why: \"found in the attic\""));
    assert_eq!(rules(&book).len(), dangers);
}

#[test]
fn one_rule_or_one_place_can_be_accepted_alone() {
    let book = inherited();
    let all = rules(&book);
    accept(&book, &["--reason", "another hand", "--rule", "unknown-key"]);
    let left: Vec<&str> = all.iter().copied().filter(|rule| *rule != "unknown-key").collect();
    assert_eq!(rules(&book), left);
    // Within another rule, what is accepted elsewhere is let alone.
    let text = book.read("backlog.yaml");
    accept(&book, &["--rule", "rcd-too-slow"]);
    assert_eq!(book.read("backlog.yaml"), text);
}

#[test]
fn what_has_become_graver_or_run_out_is_shown_again() {
    let book = inherited();
    accept(&book, &["--reason", "another hand", "--until", "2026-11-25"]);
    let held = rules(&book);
    let verdict = crate::support::verdict_on(book.root(), "2026-11-26");
    assert!(verdict.findings.iter().any(|finding| finding.rule == "backlog-run-out"));
    assert_eq!(verdict.summary.accepted, 0);
    let text = book.read("backlog.yaml");
    book.write("backlog.yaml", text.replace("rule: unknown-key, grade: breach", "rule: unknown-key, grade: doubt"));
    let now = rules(&book);
    assert_eq!(now.iter().filter(|rule| **rule == "unknown-key").count(), 2, "accepted as a doubt, and a breach now");
    assert_eq!(now.len(), held.len() + 3, "and the count is spare: {now:?}");
    book.write("backlog.yaml", text.replace("grade: breach", "grade: danger"));
    let verdict = book.verdict();
    assert!(
        verdict
            .findings
            .iter()
            .any(|f| f.rule == "backlog-without-effect" && f.message == "a danger is never accepted: this entry has no effect")
    );
}

/// A book whose file goes by another name: its old counts are spare, its findings new.
#[test]
fn a_renamed_file_is_spare_and_new() {
    let book = TestBook::sound();
    edit(&book, "minutes_on_site: 190", "minutes_on_sight: 190");
    accept(&book, &["--reason", "another hand"]);
    assert_eq!(rules(&book), Vec::<&str>::new());
    std::fs::rename(book.root().join(SOUND_JOB), book.root().join("sites/elm-row/2026-11-02-drive.md")).unwrap();
    assert_eq!(rules(&book), ["unknown-key", "backlog-spare"]);
}
