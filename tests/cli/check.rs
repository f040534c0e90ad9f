//! `ampledger check`.

use std::fs::File;
use std::path::Path;
use std::process::Stdio;

use super::{program, run, run_with};
use crate::support::{SOUND_JOB, TODAY, TestBook};

/// A book with one breach (a number), one doubt (a link) and one tidy (curly quotes), each in its own place.
fn book() -> TestBook {
    let book = TestBook::sound();
    let job = book.read(SOUND_JOB);
    let job = job.replace("zs_ohm: 0.64", "zs_ohm: 0,64").replace("serial: \"CP-204117\"", "serial: \u{201c}CP-204117\u{201d}");
    book.write(SOUND_JOB, job + "\nSee [the note](photos/none.jpg).\n");
    book
}

fn check(book: &TestBook, args: &[&str]) -> super::Ran {
    let mut all = vec!["check", "--on", TODAY];
    all.extend_from_slice(args);
    run(book.root(), &all)
}

fn rules(out: &str) -> Vec<&str> {
    out.lines().filter_map(|line| line.split(": ").nth(1)).filter_map(|word| word.split(' ').nth(1)).collect()
}

#[test]
fn the_exit_status_says_what_was_found() {
    let sound = check(&TestBook::sound(), &[]);
    assert_eq!((sound.status, sound.err.as_str()), (0, ""));
    assert_eq!(sound.out, "nothing found; 1 site and 1 visit read in 6 files\n");
    let found = check(&book(), &[]);
    assert_eq!((found.status, found.err.as_str()), (1, ""));
    assert!(found.out.ends_with("1 breach, 1 doubt, 1 tidy; 1 site and 1 visit read in 6 files\n"), "{}", found.out);
}

#[test]
fn what_cannot_be_done_is_said_on_standard_error_with_a_cure() {
    let nowhere = tempfile::tempdir().unwrap();
    let book = TestBook::sound();
    let cases: [(&Path, &[&str], &str, &str); 8] = [
        (nowhere.path(), &["check"], "no book.yaml in . or in any folder above it", "A book is a folder with a book.yaml in it."),
        (book.root(), &["check", "no-such-folder"], "there is no no-such-folder", "Check the spelling of the path."),
        (book.root(), &["check", "--on", "25/11/2026"], "25/11/2026", "a day is written YYYY-MM-DD"),
        (book.root(), &["check", "--on", "2026-02-30"], "2026-02-30", "a day is written YYYY-MM-DD"),
        (book.root(), &["check", "--format", "xml"], "xml", "human, concise, json"),
        (book.root(), &["check", "--fail-on", "error"], "error", "danger, breach, doubt, tidy, never"),
        (book.root(), &["check", "--rule", "not-a-numbr"], "there is no rule not-a-numbr", "Did you mean not-a-number?"),
        (book.root(), &["chekc"], "chekc", "check"),
    ];
    for (folder, args, said, cure) in cases {
        let ran = run(folder, args);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}");
        assert!(ran.err.contains(said) && ran.err.contains(cure), "{args:?}: {}", ran.err);
        assert!(!ran.err.contains("panicked"), "{}", ran.err);
    }
    let far = run(book.root(), &["check", "--rule", "qqqq"]);
    assert_eq!(far.err, "ampledger: there is no rule qqqq\n  `ampledger explain` lists all rules.\n");
}

#[test]
fn a_path_names_the_part_of_the_book_that_is_shown() {
    let book = book();
    book.write("instruments/torque-9.md", "");
    let all = check(&book, &["--format", "concise"]);
    assert_eq!(rules(&all.out), ["file-empty", "not-a-number", "link-to-nothing", "curly-quotes"]);
    for part in ["sites", "sites/elm-row", SOUND_JOB, "./sites/../sites/elm-row"] {
        let shown = check(&book, &["--format", "concise", part]);
        assert_eq!(rules(&shown.out), ["not-a-number", "link-to-nothing", "curly-quotes"], "{part}");
    }
    assert_eq!(rules(&check(&book, &["--format", "concise", "instruments/torque-9.md"]).out), ["file-empty"]);
    let sound = check(&book, &["--format", "concise", "sites/elm-row/site.md"]);
    assert_eq!((rules(&sound.out), sound.status), (vec![], 0));
}

#[test]
fn the_output_is_the_same_from_every_folder_and_every_time() {
    let book = book();
    let elsewhere = tempfile::tempdir().unwrap();
    for format in ["human", "concise", "json"] {
        let args = ["check", "--on", TODAY, "--format", format, "--answered"];
        let first = run(book.root(), &args);
        assert_eq!(run(book.root(), &args).out, first.out, "{format}");
        let root = book.root().to_str().unwrap();
        assert_eq!(run(elsewhere.path(), &[&args[..], &[root]].concat()).out, first.out, "{format}");
        // From within the book the book is the nearest one upward, and all of it is shown.
        assert_eq!(run(&book.root().join("sites"), &[&args[..], &[".."]].concat()).out, first.out, "{format}");
    }
}

#[test]
fn rules_can_be_picked_out() {
    let book = book();
    let one = check(&book, &["--format", "concise", "--rule", "curly-quotes"]);
    assert_eq!((rules(&one.out), one.status), (vec!["curly-quotes"], 0));
    assert!(one.out.ends_with("\n1 tidy; 1 site and 1 visit read in 6 files\n"), "{}", one.out);
    let two = check(&book, &["--format", "concise", "--rule", "curly-quotes", "--rule", "not-a-number"]);
    assert_eq!((rules(&two.out), two.status), (vec!["not-a-number", "curly-quotes"], 1));
}

#[test]
fn every_grade_can_be_the_one_that_fails() {
    let statuses = |book: &TestBook| ["danger", "breach", "doubt", "tidy", "never"].map(|grade| check(book, &["--fail-on", grade]).status);
    let tidy = TestBook::sound();
    tidy.write(SOUND_JOB, tidy.read(SOUND_JOB).replace("ref: \"EV-118\"", "ref: 0118"));
    assert_eq!(statuses(&tidy), [0, 0, 0, 1, 0]);
    let doubt = TestBook::sound();
    doubt.write(SOUND_JOB, doubt.read(SOUND_JOB) + "\n[x](none.jpg)\n");
    assert_eq!(statuses(&doubt), [0, 0, 1, 1, 0]);
    assert_eq!(statuses(&book()), [0, 1, 1, 1, 0]);
    assert_eq!(statuses(&TestBook::sound()), [0, 0, 0, 0, 0]);
}

#[test]
fn answered_findings_are_counted_and_shown_on_request() {
    let book = TestBook::sound();
    let answer = "answers: [{rule: link-to-nothing, why: the phone was stolen, on: 2026-11-20, until: 2027-11-20}]\n---\n";
    book.write(SOUND_JOB, book.read(SOUND_JOB).replacen("\n---\n", &format!("\n{answer}"), 1) + "\n[x](none.jpg)\n");
    let quiet = check(&book, &[]);
    assert_eq!(
        (quiet.out.as_str(), quiet.status),
        ("nothing found; 1 answered; 1 site and 1 visit read in 6 files\n`--answered` shows what has been answered.\n", 0)
    );
    let shown = check(&book, &["--answered", "--fail-on", "tidy"]);
    assert_eq!(shown.status, 0);
    assert!(shown.out.contains("doubt link-to-nothing") && shown.out.contains("answered until 2027-11-20: the phone was stolen"));
    let json: serde_json::Value = serde_json::from_str(&check(&book, &["--answered", "--format", "json"]).out).unwrap();
    assert_eq!(json["findings"][0]["answered"], true);
    assert_eq!(json["findings"][0]["answer"], "the phone was stolen");
}

#[test]
fn json_is_json_and_says_the_day() {
    let ran = check(&book(), &["--format", "json"]);
    let report: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(report["format"], 1);
    assert_eq!(report["on"], TODAY);
    assert_eq!(report["summary"]["breach"], 1);
    let first = &report["findings"][0];
    assert_eq!(first["file"], SOUND_JOB);
    assert_eq!(first["pointer"], "/circuits/1/readings/zs_ohm");
    assert_eq!(first["subject"], "main/2");
    assert_eq!((first["line"].as_u64(), first["column"].as_u64(), first["end_column"].as_u64()), (Some(53), Some(15), Some(19)));
}

#[test]
fn colour_is_for_terminals_or_for_the_asking() {
    let book = book();
    let has_colour = |settings: &[(&str, &str)], args: &[&str]| {
        let args = [&["check", "--on", TODAY], args].concat();
        run_with(book.root(), settings, &args).out.contains('\u{1b}')
    };
    assert!(!has_colour(&[], &[]));
    assert!(!has_colour(&[("NO_COLOR", "1")], &[]));
    assert!(!has_colour(&[], &["--color", "never"]));
    assert!(has_colour(&[], &["--color", "always"]));
    assert!(has_colour(&[("NO_COLOR", "1")], &["--color", "always"]), "the argument is nearer than the environment");
    assert!(!has_colour(&[], &["--color", "always", "--format", "json"]));
    assert!(!has_colour(&[], &["--color", "always", "--format", "concise"]));
}

#[test]
fn narrow_screens_are_kept_to() {
    let ran = run_with(book().root(), &[("COLUMNS", "40")], &["check", "--on", TODAY]);
    // A path is not broken, so that it can be copied.
    let wide: Vec<&str> = ran.out.lines().filter(|line| line.chars().count() > 40 && !line.contains("─[")).collect();
    assert_eq!(wide, ["1 breach, 1 doubt, 1 tidy; 1 site and 1 visit read in 6 files"]);
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    // More than a pipe holds, so that the writer is still writing when its reader goes.
    let book = book();
    let links: String = (0..2000).map(|number| format!("[x](photos/{number}.jpg)\n")).collect();
    book.write(SOUND_JOB, book.read(SOUND_JOB) + &links);
    for format in ["human", "concise", "json"] {
        let mut child = program(book.root())
            .args(["check", "--on", TODAY, "--format", format])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(String::from_utf8(output.stderr).unwrap(), "", "{format}");
        assert_eq!(output.status.code(), Some(1), "{format}");
    }
}

#[test]
fn a_full_disk_is_a_failure() {
    let Ok(full) = File::options().write(true).open("/dev/full") else {
        eprintln!("skipped: this machine has no /dev/full");
        return;
    };
    let output = program(book().root()).args(["check", "--on", TODAY]).stdout(full).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "ampledger: the output could not be written\n");
}

#[test]
fn progress_is_not_written_where_nobody_watches() {
    let book = TestBook::sound();
    for number in 0..250 {
        book.write(&format!("sites/site-{number}/site.md"), book.read("sites/elm-row/site.md"));
    }
    assert_eq!(check(&book, &[]).err, "");
}
