//! The language server, spoken to as an editor speaks: over the program's own standard input and output.

mod capabilities;
mod protocol;

use serde_json::{Value, json};

use crate::support::editor::{Editor, place_of, uri};
use crate::support::{SOUND_JOB, TestBook};

fn codes(diagnostics: &[Value]) -> Vec<&str> {
    diagnostics.iter().map(|diagnostic| diagnostic["code"].as_str().unwrap()).collect()
}

/// `line:column-line:column` of a range, as the protocol counts.
fn shown(range: &Value) -> String {
    let at = |end: &str| format!("{}:{}", range[end]["line"], range[end]["character"]);
    format!("{}-{}", at("start"), at("end"))
}

#[test]
fn an_unsaved_reading_is_judged_as_it_stands() {
    let book = TestBook::sound();
    let path = book.root().join(SOUND_JOB);
    let sound = book.read(SOUND_JOB);
    let mut editor = Editor::start(book.root(), &[]);
    editor.open(&path, &sound);
    editor.diagnostics_until(&path, <[Value]>::is_empty);

    // B6: 230 V x 0.95 / 30 A = 7.28 ohm.
    let high = sound.replace("zs_ohm: 0.64", "zs_ohm: 7.90");
    editor.change(&path, 2, &high);
    let found = editor.diagnostics_until(&path, |found| codes(found).contains(&"zs-over-limit"));
    let over = found.iter().find(|diagnostic| diagnostic["code"] == "zs-over-limit").unwrap();
    let (line, column) = place_of(&high, "7.90");
    assert_eq!(shown(&over["range"]), format!("{line}:{column}-{line}:{}", column + 4));
    assert_eq!(over["severity"], 1);
    assert_eq!(over["source"], "ampledger");
    let message = over["message"].as_str().unwrap();
    assert!(message.starts_with("danger: main/2: Zs 7.90 ohm is over the 7.28 ohm that a B6"), "{message}");
    assert!(message.contains("\nsource: BS 7671:2018"), "{message}");
    assert_eq!(over["data"]["pointer"], "/circuits/1/readings/zs_ohm");
    let related = &over["relatedInformation"][0]["location"];
    assert_eq!(related["uri"], uri(&path).as_str());
    assert_eq!(related["range"]["start"]["line"], place_of(&high, "rating_a: 6").0);

    editor.change(&path, 3, &sound);
    editor.diagnostics_until(&path, <[Value]>::is_empty);
    assert_eq!(book.read(SOUND_JOB), sound, "nothing is written");
    assert_eq!(editor.stop(), 0);
}

#[test]
fn every_grade_has_its_severity() {
    let book = TestBook::sound();
    let path = book.root().join(SOUND_JOB);
    let mut editor = Editor::start(book.root(), &[]);
    let text = book.read(SOUND_JOB).replace("r1_r2_ohm: 0.43", "r1_r2_ohm: 4.3").replace("rcd_ms: 31", "rcd_ms: 330").replacen(
        "      zs_mode: no-trip\n",
        "",
        2,
    );
    editor.open(&path, &text);
    let found = editor.diagnostics_until(&path, |found| !found.is_empty());
    let severity =
        |code: &str| found.iter().find(|one| one["code"] == code).unwrap_or_else(|| panic!("{code} in {found:?}"))["severity"].clone();
    assert_eq!(severity("rcd-too-slow"), 1, "breach or danger is an error");
    assert_eq!(severity("r1-r2-does-not-fit"), 2, "doubt is a warning");
    assert_eq!(severity("loop-test-mode-missing"), 3, "tidy is information");
}

#[test]
fn an_unsaved_instrument_changes_what_is_said_of_the_job() {
    let book = TestBook::sound();
    let job = book.root().join(SOUND_JOB);
    let instrument = book.root().join("instruments/mft-1.md");
    let mut editor = Editor::start(book.root(), &[]);
    editor.open(&job, &book.read(SOUND_JOB));
    editor.diagnostics_until(&job, <[Value]>::is_empty);
    let record = book.read("instruments/mft-1.md");
    editor.open(&instrument, &record);
    editor.change(&instrument, 2, &record.replace("due: 2027-02-01", "due: 2026-08-01"));
    let found = editor.diagnostics_until(&job, |found| !found.is_empty());
    assert_eq!(codes(&found), ["instrument-out-of-calibration"]);
    // Closed without saving: the record on the disk holds again.
    editor.tell("textDocument/didClose", json!({"textDocument": {"uri": uri(&instrument)}}));
    editor.diagnostics_until(&job, <[Value]>::is_empty);
}

#[test]
fn a_new_file_counts_before_it_is_saved() {
    let book = TestBook::sound();
    let job = book.root().join(SOUND_JOB);
    let new = book.root().join("sites/elm-row/2026-11-20-callout.md");
    let other = book.root().join("sites/oak-lane/2026-11-21-socket.md");
    let mut editor = Editor::start(book.root(), &[]);
    editor.open(&job, &book.read(SOUND_JOB));
    editor.diagnostics_until(&job, <[Value]>::is_empty);
    let fitted =
        "---\nrecord: job\nkind: swap\nstatus: complete\nunits:\n  - {event: fitted, serial: \"CP-204117\", circuit: main/2}\n---\n";
    editor.open(&other, fitted);
    let found = editor.diagnostics_until(&other, |found| codes(found).contains(&"serial-in-two-places"));
    assert!(codes(&found).contains(&"site-record-missing"), "{found:?}");
    editor.tell("textDocument/didClose", json!({"textDocument": {"uri": uri(&other)}}));
    editor.diagnostics_until(&other, <[Value]>::is_empty);
    editor.open(&new, "---\nrecord: job\nkind: callout\nstatus: complete\ncontinues: 2026-11-02-shde\n---\n");
    let found = editor.diagnostics_until(&new, |found| !found.is_empty());
    assert!(codes(&found).contains(&"unknown-reference"), "{found:?}");
}

#[test]
fn columns_count_utf16_units_or_bytes_as_agreed() {
    let book = TestBook::sound();
    let path = book.root().join(SOUND_JOB);
    // One emoji: one character, two UTF-16 units, four bytes.
    let text = book.read(SOUND_JOB).replace("{id: main/3, use: spare}", "{id: main/3, serves: \"🔌 é\", use: sparre}");
    let line = place_of(&text, "sparre").0;
    for (offered, expected) in [(&[][..], 38), (&["utf-16"][..], 38), (&["utf-16", "utf-8"][..], 41)] {
        let mut editor = Editor::start(book.root(), offered);
        editor.open(&path, &text);
        let found = editor.diagnostics_until(&path, |found| codes(found).contains(&"unknown-word"));
        let word = found.iter().find(|one| one["code"] == "unknown-word").unwrap();
        assert_eq!(shown(&word["range"]), format!("{line}:{expected}-{line}:{}", expected + 6), "{offered:?}");
    }
}

#[test]
fn a_half_typed_front_matter_is_told_and_the_rest_still_judged() {
    let book = TestBook::sound();
    let path = book.root().join(SOUND_JOB);
    let mut editor = Editor::start(book.root(), &[]);
    let text = book.read(SOUND_JOB).replace("zs_ohm: 0.64", "zs_ohm: 7.90").replace("minutes_on_site: 190", "minutes_on");
    editor.open(&path, &text);
    let found = editor.diagnostics_until(&path, |found| !found.is_empty());
    assert!(codes(&found).contains(&"zs-over-limit"), "{found:?}");
    assert!(found.len() > 1, "the broken line is told too: {found:?}");
}

#[test]
fn windows_line_ends_shift_nothing() {
    let book = TestBook::sound();
    let path = book.root().join(SOUND_JOB);
    let mut editor = Editor::start(book.root(), &[]);
    let text = book.read(SOUND_JOB).replace("zs_ohm: 0.64", "zs_ohm: 7.90").replace('\n', "\r\n");
    editor.open(&path, &text);
    let found = editor.diagnostics_until(&path, |found| codes(found).contains(&"zs-over-limit"));
    let over = found.iter().find(|one| one["code"] == "zs-over-limit").unwrap();
    let (line, column) = place_of(&text, "7.90");
    assert_eq!(shown(&over["range"]), format!("{line}:{column}-{line}:{}", column + 4));
}

#[test]
fn folders_with_spaces_and_letters_beyond_ascii_are_found() {
    let outer = tempfile::tempdir().unwrap();
    let root = outer.path().join("my book é #1");
    crate::support::copy(&crate::support::repository().join("tests/sound-book"), &root);
    let path = root.join(SOUND_JOB);
    let mut editor = Editor::start(&root, &[]);
    let text = std::fs::read_to_string(&path).unwrap().replace("zs_ohm: 0.64", "zs_ohm: 7.90");
    editor.open(&path, &text);
    editor.diagnostics_until(&path, |found| codes(found) == ["zs-over-limit"]);
}

#[test]
fn other_files_of_the_site_and_the_registers_are_told_too() {
    let book = TestBook::sound();
    let site = book.root().join("sites/elm-row/site.md");
    book.write(SOUND_JOB, book.read(SOUND_JOB).replace("zs_ohm: 0.64", "zs_ohm: 7.90"));
    book.write("models/plover-7.md", book.read("models/plover-7.md").replace("---\nrecord", "---\nzzz: 1\nrecord"));
    let mut editor = Editor::start(book.root(), &[]);
    editor.open(&site, &book.read("sites/elm-row/site.md"));
    editor.diagnostics_until(&book.root().join(SOUND_JOB), |found| codes(found) == ["zs-over-limit"]);
    editor.diagnostics_until(&book.root().join("models/plover-7.md"), |found| codes(found) == ["unknown-key"]);
    // What another program puts right on the disk is seen when the editor tells of it.
    book.write(SOUND_JOB, book.read(SOUND_JOB).replace("zs_ohm: 7.90", "zs_ohm: 0.64"));
    let changed = uri(&book.root().join(SOUND_JOB));
    editor.tell("workspace/didChangeWatchedFiles", json!({"changes": [{"uri": changed, "type": 2}]}));
    editor.diagnostics_until(&book.root().join(SOUND_JOB), <[Value]>::is_empty);
}

#[test]
fn what_the_editor_shows_is_what_check_prints() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().canonicalize().unwrap();
    crate::support::copy(&crate::support::repository().join("example-sites"), &root);
    let verdict = crate::support::verdict_on(&root, crate::support::TODAY);
    let mut editor = Editor::start(&root, &[]);
    let files = |id: &str| {
        let mut wanted: std::collections::BTreeMap<String, Vec<String>> = Default::default();
        for finding in &verdict.findings {
            if finding.place.file.path.starts_with(&format!("sites/{id}/")) {
                wanted.entry(finding.place.file.path.clone()).or_default().push(finding.rule.to_owned());
            }
        }
        wanted
    };
    let mut seen = 0;
    for site in ["dovetail-workshop", "candle-shop", "lantern-mews-1", "plover-close-5", "moss-farm"] {
        let site_file = root.join(format!("sites/{site}/site.md"));
        editor.open(&site_file, &std::fs::read_to_string(&site_file).unwrap());
        for (file, mut rules) in files(site) {
            rules.sort();
            editor.diagnostics_until(&root.join(&file), |found| {
                let mut found = codes(found);
                found.sort_unstable();
                found == rules
            });
            seen += 1;
        }
    }
    assert!(seen >= 6, "the example book has findings in these sites");
}

#[test]
fn a_book_that_begins_while_its_record_is_open_is_found() {
    let book = TestBook::sound();
    let settings = book.read("book.yaml");
    std::fs::remove_file(book.root().join("book.yaml")).unwrap();
    let path = book.root().join(SOUND_JOB);
    let mut editor = Editor::start(book.root(), &[]);
    editor.open(&path, &book.read(SOUND_JOB).replace("zs_ohm: 0.64", "zs_ohm: 7.90"));
    assert_eq!(editor.ask_at("textDocument/hover", &path, 3, 1), Value::Null);
    book.write("book.yaml", &settings);
    editor.tell("workspace/didChangeWatchedFiles", json!({"changes": [{"uri": uri(&book.root().join("book.yaml")), "type": 1}]}));
    editor.diagnostics_until(&path, |found| codes(found) == ["zs-over-limit"]);
}
