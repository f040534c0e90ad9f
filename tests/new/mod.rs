//! `ampledger new`, as its user meets it: a book in a folder, the program run in it.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::{Command, Output};

use ampledger::book::{self, Book, Record};
use ampledger::record::{Instrument, Job, Model, Recall, Site, Status};

use crate::support::{SOUND_JOB, TODAY, TestBook, copy, repository, verdict_on};

const KINDS: [&str; 6] = ["survey", "install", "alter", "inspect", "callout", "swap"];

fn ampledger(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_ampledger")).current_dir(folder).args(args).output().unwrap()
}

/// Runs `new` and gives what it wrote: the path it printed and the text there.
fn written(book: &TestBook, args: &[&str]) -> (String, String) {
    let output = ampledger(book.root(), &[&["new"], args].concat());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let path = String::from_utf8(output.stdout).unwrap().trim_end().to_owned();
    let text = book.read(&path);
    (path, text)
}

/// Runs `new`, which refuses, and gives what it said.
fn refused(book: &TestBook, args: &[&str]) -> String {
    let before = files(book.root());
    let output = ampledger(book.root(), &[&["new"], args].concat());
    assert_eq!(output.status.code(), Some(2), "{}", String::from_utf8_lossy(&output.stdout));
    assert!(output.stdout.is_empty());
    assert_eq!(files(book.root()), before, "it refused, and still changed the book");
    String::from_utf8(output.stderr).unwrap()
}

/// Every file of a folder with its text.
fn files(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut files = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                files.push((path.display().to_string(), std::fs::read(&path).unwrap()));
            }
        }
    }
    files.sort();
    files
}

/// The front matter with every offered line taken into use.
fn taken_up(text: &str) -> String {
    text.lines().map(|line| if line.starts_with("#  ") { format!("{}\n", &line[1..]) } else { format!("{line}\n") }).collect()
}

fn reads_soundly<T: serde::de::DeserializeOwned + Default + ampledger::record::Kind>(path: &str, text: &str) -> T {
    let record: Record<T> = book::record_from_text(path, text.to_owned(), String::new(), Vec::new());
    assert!(record.faults.is_empty() && !record.lost, "{:?}\n{text}", record.faults);
    record.data
}

#[test]
fn a_new_visit_is_a_draft_of_which_nothing_else_is_said() {
    for kind in KINDS {
        let book = TestBook::sound();
        let (path, text) = written(&book, &["job", "elm-row", "--kind", kind, "--on", "2026-11-25"]);
        assert_eq!(path, format!("sites/elm-row/2026-11-25-{kind}.md"));
        let job: Job = reads_soundly(&path, &text);
        assert_eq!((job.kind.unwrap().as_str(), job.status), (kind, Some(Status::Draft)));
        assert_eq!(book.found(), [format!("still-draft {path} ")], "{text}");
    }
}

#[test]
fn so_is_one_of_every_kind_at_every_site_of_the_example_book() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    copy(&repository().join("example-sites"), root);
    let mut wanted = Vec::new();
    for site in Book::open(root).unwrap().sites {
        for kind in KINDS {
            let output = ampledger(root, &["new", "job", &site.id, "--kind", kind, "--slug", &format!("new-{kind}"), "--on", TODAY]);
            assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
            let path = String::from_utf8(output.stdout).unwrap().trim_end().to_owned();
            reads_soundly::<Job>(&path, &taken_up(&std::fs::read_to_string(root.join(&path)).unwrap()));
            wanted.push(format!("still-draft {path}"));
        }
    }
    let findings = verdict_on(root, TODAY).findings.into_iter().filter(|finding| finding.place.file.path.contains("-new-"));
    let found: BTreeSet<String> = findings.map(|finding| format!("{} {}", finding.rule, finding.place.file.path)).collect();
    assert_eq!(found, wanted.into_iter().collect());
}

#[test]
fn every_line_it_offers_is_a_line_of_a_sound_record() {
    let book = TestBook::sound();
    for kind in KINDS {
        let (path, text) = written(&book, &["job", "elm-row", "--kind", kind]);
        let job: Job = reads_soundly(&path, &taken_up(&text));
        let circuits: Vec<_> = job.circuits.iter().filter_map(|circuit| circuit.id.as_deref()).collect();
        assert_eq!(circuits, ["main/1", "main/2", "main/3"], "{kind}");
    }
    let (path, text) = written(&book, &["site", "oak-lane"]);
    assert_eq!(reads_soundly::<Site>(&path, &taken_up(&text)).boards[0].id.as_deref(), Some("main"));
    let (path, text) = written(&book, &["instrument", "mft-2"]);
    assert_eq!(reads_soundly::<Instrument>(&path, &taken_up(&text)).calibrations.len(), 1);
    let (path, text) = written(&book, &["model", "tern-7"]);
    reads_soundly::<Model>(&path, &taken_up(&text));
    let (path, text) = written(&book, &["recall", "tern-7-cover", "--on", "2026-06-01"]);
    let recall: Recall = reads_soundly(&path, &taken_up(&text));
    assert_eq!((path.as_str(), recall.issued.unwrap().to_string().as_str()), ("recalls/2026-06-01-tern-7-cover.md", "2026-06-01"));
}

#[test]
fn it_makes_up_no_reading_no_date_and_no_name() {
    let book = TestBook::sound();
    for kind in KINDS {
        let (_, text) = written(&book, &["job", "elm-row", "--kind", kind, "--on", "2026-11-25"]);
        let comments_out: String = text.lines().map(|line| line.split('#').next().unwrap_or_default()).collect::<Vec<_>>().join("\n");
        let front = comments_out.split("\n---").next().unwrap();
        let filled: Vec<&str> = front.lines().map(str::trim).filter(|line| line.contains(": ")).collect();
        let known = |line: &str| {
            ["record: job", "status: draft", "instruments: [mft-1, torque-1]", "designed: jd", "built: jd", "tested: jd"].contains(&line)
                || line == format!("kind: {kind}")
                || line.starts_with("regulations: ")
        };
        assert!(filled.iter().all(|line| known(line)), "{filled:?}");
    }
}

#[test]
fn earlier_readings_stand_beside_their_keys_with_their_day() {
    let book = TestBook::sound();
    book.write(
        "sites/elm-row/2026-11-20-look.md",
        "---\nrecord: job\nkind: callout\nstatus: draft\ncircuits: [{id: main/1, readings: {zs_ohm: 0.36}}]\n---\n",
    );
    book.write(
        "sites/elm-row/2026-12-24-later.md",
        "---\nrecord: job\nkind: callout\nstatus: complete\ncircuits: [{id: main/1, readings: {zs_ohm: 0.99}}]\n---\n",
    );
    let (_, text) = written(&book, &["job", "elm-row", "--kind", "inspect", "--on", "2026-11-25"]);
    let line = |start: &str| text.lines().find(|line| line.starts_with(start)).unwrap_or_else(|| panic!("no {start} in\n{text}"));
    assert!(line("  ze_ohm:").ends_with("# 0.19 on 2026-11-02; declared: at most 0.35 ohm"));
    assert!(line("#    zdb_ohm:").ends_with("# 0.20 on 2026-11-02"));
    assert!(line("#      zs_ohm:").ends_with("# 0.36 on 2026-11-20, a draft"));
    assert!(line("#      r1_r2_ohm:").ends_with("# 0.12 on 2026-11-02"));
    assert!(line("#  - {event: seen, serial: CP-204117").ends_with("# fitted on 2026-11-02"));
    assert!(line("next_inspection:").ends_with("# 2036-11-02 was set on 2026-11-02"));
    assert!(!text.contains("0.99"), "a later visit is no earlier reading");
}

#[test]
fn a_circuit_installed_anew_brings_no_readings_of_what_was_there() {
    let book = TestBook::sound();
    book.write(
        "sites/elm-row/2026-11-20-new.md",
        "---\nrecord: job\nkind: install\nstatus: draft\ncircuits: [{id: main/1, new: true, use: sockets}]\n---\n",
    );
    let (_, text) = written(&book, &["job", "elm-row", "--kind", "alter", "--on", "2026-11-25"]);
    let first = text.split("- id: main/1").nth(1).unwrap().split("- id: main/2").next().unwrap();
    assert!(first.contains("# sockets") && !first.contains("readings"), "{first}");
}

/// Days of the changes of edition: BS 7671:2018+A2:2022 and +A4:2026, as the tables have them.
#[test]
fn the_edition_is_that_of_the_day() {
    let book = TestBook::sound();
    for (day, wanted) in [
        ("2017-05-01", "regulations: BS 7671:2008+A3:2015  # in force on 2017-05-01\n"),
        ("2023-05-01", "regulations: BS 7671:2018+A2:2022  # in force on 2023-05-01\n"),
        ("2026-11-25", "regulations: BS 7671:2018+A4:2026  # in force on 2026-11-25\n"),
    ] {
        let (_, text) = written(&book, &["job", "elm-row", "--kind", "alter", "--on", day]);
        assert!(text.contains(wanted), "{text}");
    }
    let (_, text) = written(&book, &["job", "elm-row", "--kind", "alter", "--on", "2026-06-01"]);
    assert!(text.contains("BS 7671:2018+A2:2022, BS 7671:2018+A3:2024 may still be cited"), "{text}");
}

#[test]
fn what_was_left_open_is_told_first() {
    let book = TestBook::sound();
    book.write(
        "sites/elm-row/2026-11-20-callout.md",
        "---\nrecord: job\nkind: callout\nstatus: draft\nfaults:\n  - {id: f1, state: open, left: isolated, code: C2, found: water in the lower cover, return_by: 2026-11-27}\n  - {id: f2, state: fixed}\n---\n",
    );
    let (_, text) = written(&book, &["job", "elm-row", "--kind", "callout", "--on", "2026-11-25"]);
    let line = "# - 2026-11-20-callout#f1 open, C2, left isolated, return by 2026-11-27: water in the lower cover\n";
    assert!(text.contains(line) && !text.contains("f2"), "{text}");
}

#[test]
fn only_a_one_person_book_knows_who_it_was_and_retired_instruments_stay_out() {
    let book = TestBook::sound();
    book.write("book.yaml", "format: 1\nnation: england\npeople: [{id: jd, name: J. Doe}, {id: ab, name: A. Bee}]\n");
    let retired = book.read("instruments/torque-1.md").replace("serial:", "retired: 2026-11-10\nserial:");
    book.write("instruments/torque-1.md", retired);
    let (_, text) = written(&book, &["job", "elm-row", "--kind", "callout", "--on", "2026-11-25"]);
    assert!(text.contains("\n  tested:                     # jd | ab\n"), "{text}");
    assert!(text.contains("\ninstruments: [mft-1]          # strike out what was not used\n"), "{text}");
    let (_, text) = written(&book, &["job", "elm-row", "--kind", "callout", "--on", "2027-03-01"]);
    assert!(text.contains("# strike out what was not used; out of calibration: mft-1 since 2027-02-01\n"), "{text}");
}

#[test]
fn nothing_is_overwritten() {
    let book = TestBook::sound();
    let args = ["job", "elm-row", "--kind", "install", "--slug", "shed", "--on", "2026-11-02"];
    let said = refused(&book, &args);
    assert!(said.contains(&format!("{SOUND_JOB} is there already")) && said.contains("--slug"), "{said}");
    assert!(refused(&book, &["site", "elm-row"]).contains("sites/elm-row/site.md is there already"));
    assert!(refused(&book, &["instrument", "mft-1"]).contains("instruments/mft-1.md is there already"));
    assert!(refused(&book, &["model", "plover-7"]).contains("models/plover-7.md is there already"));
}

#[test]
fn of_many_at_once_one_writes_and_the_others_are_told() {
    let book = TestBook::sound();
    let begin = || {
        let args = ["new", "job", "elm-row", "--kind", "callout", "--on", "2026-11-25"];
        Command::new(env!("CARGO_BIN_EXE_ampledger")).current_dir(book.root()).args(args).output().unwrap()
    };
    let outputs: Vec<Output> = std::thread::scope(|scope| {
        let runs: Vec<_> = (0..8).map(|_| scope.spawn(begin)).collect();
        runs.into_iter().map(|run| run.join().unwrap()).collect()
    });
    let codes: Vec<_> = outputs.iter().map(|output| output.status.code().unwrap()).collect();
    assert_eq!(codes.iter().filter(|code| **code == 0).count(), 1, "{codes:?}");
    assert_eq!(codes.iter().filter(|code| **code == 2).count(), 7, "{codes:?}");
    reads_soundly::<Job>("sites/elm-row/2026-11-25-callout.md", &book.read("sites/elm-row/2026-11-25-callout.md"));
    let left: Vec<_> = std::fs::read_dir(book.root().join("sites/elm-row")).unwrap().collect();
    assert_eq!(left.len(), 3, "a temporary file was left behind");
}

#[test]
fn an_unknown_site_is_refused_and_the_nearest_offered() {
    let book = TestBook::sound();
    let said = refused(&book, &["job", "elm-rwo", "--kind", "callout"]);
    assert!(said.contains("no site elm-rwo") && said.contains("Did you mean elm-row?"), "{said}");
    assert!(!book.root().join("sites/elm-rwo").exists());
}

#[test]
fn a_name_that_is_no_file_name_is_refused_with_one_that_is() {
    let book = TestBook::sound();
    for (name, near) in [("Oak Lane", "oak-lane"), ("../oak", "oak"), ("oak--lane", "oak-lane"), ("OAK_LANE/", "oak-lane")] {
        let said = refused(&book, &["site", name]);
        assert!(said.contains(&format!("Did you mean {near}?")), "{said}");
    }
    refused(&book, &["site", "//"]);
    refused(&book, &["job", "elm-row", "--kind", "callout", "--slug", "../../x"]);
    assert!(refused(&book, &["job", "elm-row", "--kind", "calout"]).contains("did you mean callout?"));
    assert!(refused(&book, &["job", "elm-row", "--kind", "callout", "--on", "25/11/2026"]).contains("YYYY-MM-DD"));
}

#[test]
fn there_is_no_book_to_begin_a_record_in() {
    let folder = tempfile::tempdir().unwrap();
    let output = ampledger(folder.path(), &["new", "site", "oak-lane"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("no book.yaml"));
    assert!(files(folder.path()).is_empty());
}

/// Text that would break a comment, a value or the terminal if it were let through.
const HOSTILE: &str = "\u{2018}shed\u{2019}: # \\\"x\\\"\\n- id: main/9 \u{201c}\u{2028}\\u001b[31m";

#[test]
fn a_broken_earlier_visit_gives_what_can_be_read_and_is_named() {
    let book = TestBook::sound();
    let broken = book.read(SOUND_JOB).replace("zs_ohm: 0.34", "zs_ohm: 0,34").replace("light in the shed\n", &format!("\"{HOSTILE}\"\n"));
    book.write(SOUND_JOB, broken);
    book.write("sites/elm-row/2026-11-10-lost.md", "no front matter\n");
    for kind in KINDS {
        let (path, text) = written(&book, &["job", "elm-row", "--kind", kind, "--on", "2026-11-25"]);
        reads_soundly::<Job>(&path, &text);
        reads_soundly::<Job>(&path, &taken_up(&text));
        assert!(text.contains("# 2026-11-02-shed cannot be read whole"), "{text}");
        assert!(text.contains("# 2026-11-10-lost cannot be read whole"), "{text}");
        assert!(!text.contains("0,34") && !text.contains('\u{1b}') && !text.contains('\u{2028}'), "{text}");
        std::fs::remove_file(book.root().join(path)).unwrap();
    }
    let (_, text) = written(&book, &["job", "elm-row", "--kind", "inspect", "--on", "2026-11-25"]);
    assert!(text.contains("# 0.12 on 2026-11-02") && text.contains("# 0.64 on 2026-11-02"), "{text}");
}

#[cfg(unix)]
#[test]
fn it_does_not_write_through_a_link_that_leads_out_of_the_book() {
    let book = TestBook::sound();
    let outside = tempfile::tempdir().unwrap();
    std::fs::rename(book.root().join("models"), outside.path().join("models")).unwrap();
    std::os::unix::fs::symlink(outside.path().join("models"), book.root().join("models")).unwrap();
    let output = ampledger(book.root(), &["new", "model", "tern-7"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("leads out of the book"));
    assert!(!outside.path().join("models/tern-7.md").exists());
}

#[test]
fn the_path_is_given_from_where_the_command_was_run() {
    let book = TestBook::sound();
    let output = ampledger(&book.root().join("sites/elm-row"), &["new", "job", "elm-row", "--kind", "callout", "--on", "2026-11-25"]);
    assert_eq!(String::from_utf8_lossy(&output.stdout), "2026-11-25-callout.md\n");
    let elsewhere = tempfile::tempdir().unwrap();
    let root = book.root().display().to_string();
    let output = ampledger(elsewhere.path(), &["new", "site", "oak-lane", "--book", &root]);
    let printed = String::from_utf8(output.stdout).unwrap();
    assert!(Path::new(printed.trim_end()).is_file(), "{printed}");
}

#[test]
fn help_says_what_it_does_and_what_it_never_does() {
    let folder = tempfile::tempdir().unwrap();
    let help = String::from_utf8(ampledger(folder.path(), &["new", "--help"]).stdout).unwrap();
    let help = help.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(help.contains("no file is ever overwritten"), "{help}");
    let list = String::from_utf8(ampledger(folder.path(), &["--help"]).stdout).unwrap();
    assert!(list.contains("Begin a record") && list.contains("Check a book"), "{list}");
}
