//! Files that cannot be opened, stand in the wrong place, or are no files.

use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::process::Command;

use crate::hostile::permission::held_to_permissions;
use crate::support::{SOUND_JOB, TODAY, TestBook};

/// `rule file` of everything found.
fn told(book: &TestBook) -> Vec<String> {
    let mut told: Vec<String> =
        book.verdict().findings.iter().map(|finding| format!("{} {}", finding.rule, finding.place.file.path)).collect();
    told.sort();
    told
}

fn message(book: &TestBook, rule: &str) -> String {
    let verdict = book.verdict();
    let finding = verdict.findings.iter().find(|finding| finding.rule == rule).unwrap_or_else(|| panic!("no {rule}"));
    format!("{} / {}", finding.message, finding.help)
}

#[test]
fn links_are_told_of_and_not_followed() {
    let book = TestBook::sound();
    let outside = tempfile::tempdir().unwrap();
    std::fs::write(outside.path().join("2026-01-01-other.md"), "no record").unwrap();
    symlink(book.root().join("sites"), book.root().join("sites/elm-row/loop")).unwrap();
    symlink(outside.path(), book.root().join("sites/elm-row/out")).unwrap();
    symlink(outside.path().join("gone.md"), book.root().join("sites/elm-row/2026-01-01-broken.md")).unwrap();
    symlink(book.root().join(SOUND_JOB), book.root().join("sites/elm-row/2026-01-02-again.md")).unwrap();
    symlink(outside.path(), book.root().join("recalls")).unwrap();
    assert_eq!(
        told(&book),
        [
            "link-not-followed recalls",
            "link-not-followed sites/elm-row/2026-01-01-broken.md",
            "link-not-followed sites/elm-row/loop",
            "link-not-followed sites/elm-row/out",
            "misplaced-file sites/elm-row/2026-01-02-again.md",
        ]
    );
}

#[test]
fn a_pipe_among_the_records_does_not_hold_the_check_up() {
    let book = TestBook::sound();
    let made = Command::new("mkfifo").arg(book.root().join("sites/elm-row/2026-01-01-pipe.md")).status();
    assert!(made.is_ok_and(|status| status.success()), "mkfifo is not here");
    assert_eq!(told(&book), ["file-unreadable sites/elm-row/2026-01-01-pipe.md"]);
}

#[test]
fn a_file_without_permission_is_told_and_the_rest_is_checked() {
    let book = TestBook::sound();
    book.write("sites/elm-row/2026-11-05-callout.md", "---\nrecord: job\n---\n");
    book.write("instruments/mft-9.md", "---\nrecord: instrument\n---\n");
    let closed = ["sites/elm-row/2026-11-05-callout.md", "instruments/mft-9.md"].map(|path| book.root().join(path));
    for path in &closed {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o000)).unwrap();
    }
    // Naming what stands in a file that cannot be opened is no second fault.
    book.write(SOUND_JOB, book.read(SOUND_JOB).replace("instruments: [mft-1", "continues: 2026-11-05-callout\ninstruments: [mft-9, mft-1"));
    let output = held_to_permissions(book.root()).args(["check", "--format", "json", "--on", TODAY]).output().unwrap();
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let told = report["findings"].as_array().unwrap().iter();
    let told: Vec<String> = told.map(|one| format!("{} {}", one["rule"].as_str().unwrap(), one["file"].as_str().unwrap())).collect();
    assert_eq!(told, ["file-unreadable instruments/mft-9.md", "file-unreadable sites/elm-row/2026-11-05-callout.md"]);
}

#[test]
fn files_in_the_wrong_place_or_of_the_wrong_name() {
    let book = TestBook::sound();
    let note = "---\nrecord: job\nkind: survey\nstatus: planned\ntitle: Look at the board\n---\n";
    for path in [
        "sites/2026-11-05-loose.md",
        "sites/elm-row/visits/2026-11-05-deep.md",
        "sites/elm-row/notes.md",
        "sites/elm-row/2026-11-5-short.md",
        "sites/elm-row/2026-11-06-phone.MD",
        "sites/elm-row/2026-11-07-editor.md.txt",
        "sites/elm-row/site.yaml",
        "models/old/tern-7.md",
        "instruments/mft-2.markdown",
        "Recalls/2026-06-01-screw.md",
        "elsewhere/2026-11-05-not-ours.md",
    ] {
        book.write(path, note);
    }
    let wanted: Vec<String> = [
        "Recalls",
        "instruments/mft-2.markdown",
        "models/old/tern-7.md",
        "sites/2026-11-05-loose.md",
        "sites/elm-row/2026-11-06-phone.MD",
        "sites/elm-row/2026-11-07-editor.md.txt",
        "sites/elm-row/2026-11-5-short.md",
        "sites/elm-row/notes.md",
        "sites/elm-row/site.yaml",
        "sites/elm-row/visits/2026-11-05-deep.md",
    ]
    .map(|path| format!("misplaced-file {path}"))
    .into();
    assert_eq!(told(&book), wanted);
}

#[test]
fn a_record_of_another_kind_is_one_finding_and_its_own_faults() {
    let book = TestBook::sound();
    book.write("instruments/site.md", book.read("sites/elm-row/site.md").replace("storeys: 2", "storeys: two"));
    book.write("models/kite-2.md", book.read("instruments/torque-1.md"));
    assert_eq!(told(&book), ["not-a-number instruments/site.md", "wrong-record instruments/site.md", "wrong-record models/kite-2.md"]);
    assert_eq!(
        message(&book, "wrong-record"),
        "this says `record: site` and stands where a instrument belongs / \
         Give the first line of the front matter as `record:` with the right kind, or move the file."
            .replace("a instrument", "an instrument")
    );
}

#[test]
fn names_that_differ_only_in_capitals() {
    let book = TestBook::sound();
    book.write("sites/elm-row/2026-11-02-Shed.md", "---\nrecord: job\nkind: survey\nstatus: planned\ntitle: Look\n---\n");
    book.write("instruments/MFT-1.md", book.read("instruments/mft-1.md"));
    book.write("sites/Elm-Row/site.md", book.read("sites/elm-row/site.md"));
    let told = told(&book);
    for path in ["sites/elm-row/2026-11-02-shed.md", "instruments/mft-1.md", "sites/elm-row"] {
        assert!(told.contains(&format!("same-id-twice {path}")), "{told:?}");
    }
}

#[test]
fn a_name_that_is_not_utf8_or_steers_the_terminal() {
    let book = TestBook::sound();
    let name = std::ffi::OsStr::from_bytes(b"2026-11-05-caf\xe9.md");
    std::fs::write(book.root().join("sites/elm-row").join(name), "---\nrecord: job\n---\n").unwrap();
    book.write("sites/elm-row/2026-11-06-\u{1b}[31mred.md", "");
    assert_eq!(
        told(&book),
        ["file-empty sites/elm-row/2026-11-06-\u{1b}[31mred.md", "misplaced-file sites/elm-row/2026-11-05-caf\u{fffd}.md"]
    );
    let verdict = book.verdict();
    let look = ampledger::render::Look { width: 80, colour: false };
    for text in [ampledger::render::human(&verdict, look, true), ampledger::render::concise(&verdict, true)] {
        assert!(!text.contains('\u{1b}'), "{text:?}");
    }
}

#[test]
fn what_a_record_names_must_be_there() {
    let cases = [
        ("instruments: [mft-1, torque-1]", "instruments: [mft-11, torque-1]", "mft-11", "mft-1"),
        ("tested: jd}", "tested: jdd}", "jdd", "jd"),
        ("boards: [{id: main,", "boards: [{id: mian,", "mian", "main"),
        ("model: plover-7", "model: plover-70", "plover-70", "plover-7"),
        ("circuit: main/1, kind: screw", "circuit: main/7, kind: screw", "main/7", "main/"),
        ("extent: the", "continues: 2026-11-20-shed\nextent: the", "2026-11-20-shed", "2026-11-02-shed"),
    ];
    for (find, put, named, near) in cases {
        let book = TestBook::sound();
        let job = book.read(SOUND_JOB);
        assert!(job.contains(find), "{find}");
        book.write(SOUND_JOB, job.replacen(find, put, 1));
        let verdict = book.verdict();
        let finding = verdict.findings.iter().find(|finding| finding.rule == "unknown-reference").unwrap_or_else(|| panic!("{put}"));
        let span = finding.place.span.clone().unwrap();
        assert_eq!(&finding.place.file.text[span], named, "{put}");
        assert!(finding.message.contains(named) && finding.help.contains(near), "{}: {}", finding.message, finding.help);
    }
    // A circuit on a board that the site does not have.
    let book = TestBook::sound();
    book.write(SOUND_JOB, book.read(SOUND_JOB).replace("{id: main/3,", "{id: loft/3,"));
    assert_eq!(told(&book), [format!("unknown-reference {SOUND_JOB}")]);
    // A site without its record.
    book.write("sites/oak-lane/2026-11-05-note.md", "---\nrecord: job\nkind: survey\nstatus: planned\ntitle: Look\n---\n");
    assert!(told(&book).contains(&"site-record-missing sites/oak-lane/2026-11-05-note.md".to_owned()));
    // A recall of a model that is not here, ticked off at a visit that never was.
    book.write(
        "recalls/2026-06-01-screw.md",
        "---\nrecord: recall\nissued: 2026-06-01\nmodel: plover-9\nadvice: isolate\ndone: [{serial: CP-1, by: elm-row/2020-01-01-none}]\n---\n",
    );
    assert_eq!(told(&book).iter().filter(|line| line.starts_with("register-names-nothing")).count(), 2);
}

#[test]
fn a_damaged_book_yaml_is_told_and_the_book_is_read() {
    let damaged = [
        ("nation: england", "nation: englnd", "unknown-word"),
        ("nation: england", "nation:england", "not-yaml"),
        ("format: 1\n", "format: 1\nformat: 2\n", "duplicate-key"),
        ("people:", "---\npeople:", "fence-damaged"),
        ("{id: jd, name: J. Doe, role: qualified-supervisor}", "{id: jd, name: J. Doe, role: qualified-supervisor", "not-yaml"),
    ];
    for (find, put, rule) in damaged {
        let book = TestBook::sound();
        book.write("book.yaml", book.read("book.yaml").replacen(find, put, 1));
        book.write(SOUND_JOB, book.read(SOUND_JOB).replace("rcd_ms: 31", "rcd_ms: 3,1"));
        let mut wanted = [format!("{rule} book.yaml"), format!("not-a-number {SOUND_JOB}")];
        wanted.sort();
        assert_eq!(told(&book), wanted, "{put}");
    }
    let book = TestBook::sound();
    book.write("book.yaml", "# nothing yet\n");
    assert!(message(&book, "file-empty").starts_with("book.yaml has nothing in it / Begin it with `format: 1`"));
    let book = TestBook::sound();
    book.write("book.yaml", format!("---\n{}", book.read("book.yaml")));
    assert_eq!(told(&book), Vec::<String>::new());
}
