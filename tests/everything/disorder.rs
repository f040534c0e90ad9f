//! Folders in disorder: files that vanish or change while they are read, thousands of strangers, names that no other program can write.

use std::ffi::OsStr;
use std::os::unix::ffi::OsStrExt;

use ampledger::book::Book;
use ampledger::check::check;
use ampledger::judge::{Filter, judge};

use super::commands::{all, those_by};
use crate::cli::program_under;
use crate::support::{SOUND_JOB, TODAY, TestBook};

/// `rule file` of everything found in a book that was opened before `meanwhile` happened to it.
fn told_after(book: &TestBook, meanwhile: impl Fn(&TestBook)) -> Vec<String> {
    let opened = Book::open(book.root()).unwrap();
    meanwhile(book);
    let on = TODAY.parse().unwrap();
    let verdict = judge(&opened, check(&opened, on, &|| ()), on, &Filter::default());
    verdict.findings.iter().map(|finding| format!("{} {}", finding.rule, finding.place.file.path)).collect()
}

/// The sound book with another site that has one fault to find.
fn two_sites() -> TestBook {
    let book = TestBook::sound();
    book.write("sites/oak-lane/2026-11-05-note.md", "---\nrecord: job\nkind: survey\nstatus: planned\ntitle: Look at the board\n---\n");
    book
}

const OTHER: &str = "site-record-missing sites/oak-lane/2026-11-05-note.md";

#[test]
fn a_file_that_vanishes_or_changes_while_the_book_is_checked_costs_that_file_only() {
    let gone = |book: &TestBook| std::fs::remove_file(book.root().join(SOUND_JOB)).unwrap();
    let told = told_after(&two_sites(), gone);
    assert_eq!(told, [format!("file-unreadable {SOUND_JOB}"), OTHER.to_owned()]);
    let folder = |book: &TestBook| {
        gone(book);
        std::fs::create_dir(book.root().join(SOUND_JOB)).unwrap();
    };
    assert_eq!(told_after(&two_sites(), folder), [format!("file-unreadable {SOUND_JOB}"), OTHER.to_owned()]);
    let all_gone = |book: &TestBook| std::fs::remove_dir_all(book.root().join("sites/elm-row")).unwrap();
    let told = told_after(&two_sites(), all_gone);
    assert!(told.contains(&OTHER.to_owned()) && told.contains(&format!("file-unreadable {SOUND_JOB}")), "{told:?}");
    let cut = |book: &TestBook| {
        let text = book.read(SOUND_JOB);
        book.write(SOUND_JOB, &text[..text.len() / 3]);
    };
    let told = told_after(&two_sites(), cut);
    assert!(told.contains(&OTHER.to_owned()) && told.iter().any(|told| told.ends_with(SOUND_JOB)), "{told:?}");
}

/// Puts a pipe, which nobody ever writes into, in the place of a file.
fn pipe(book: &TestBook, path: &str) {
    let _ = std::fs::remove_file(book.root().join(path));
    std::fs::create_dir_all(book.root().join(path).parent().unwrap()).unwrap();
    assert!(std::process::Command::new("mkfifo").arg(book.root().join(path)).status().unwrap().success());
}

#[test]
fn a_pipe_in_the_place_of_a_file_holds_no_command_up() {
    assert_eq!(
        told_after(&two_sites(), |book| pipe(book, SOUND_JOB)),
        [format!("file-unreadable {SOUND_JOB}"), OTHER.to_owned()],
        "a record that becomes one while the book is checked"
    );
    let book = TestBook::sound();
    for path in ["seals.yaml", "backlog.yaml", "private/contacts.yaml", ".gitattributes", "sites/elm-row/photos/2026-11-02-lid.jpg"] {
        pipe(&book, path);
    }
    // One that waits is ended by `timeout`, with a status that is none of ours.
    let told = those_by(&|| program_under(book.root(), &["timeout", "60"]), |_| true);
    assert!(told.len() > 70);
    assert!(book.found().iter().any(|found| found.starts_with("file-unreadable seals.yaml")));
}

#[test]
fn five_thousand_strangers_in_a_folder_are_walked_past() {
    let book = two_sites();
    for number in 0..5000 {
        book.write(&format!("sites/elm-row/scans/{:02}/page-{number}.txt", number % 50), "");
    }
    assert_eq!(told_after(&book, |_| ()), [OTHER]);
}

/// Names with line breaks and quotes, and bytes that are not UTF-8, of files and of folders: what other programs cannot name is told, and
/// the rest is checked by every command.
#[test]
fn names_that_nobody_can_write_down_are_told_and_the_rest_is_checked() {
    let book = two_sites();
    let record = "---\nrecord: job\nkind: survey\nstatus: planned\ntitle: Look at the board\n---\n";
    for name in [&b"sites/elm-row/2026-11-06-a\nb.md"[..], b"sites/elm-row/2026-11-07-\xff\xfe.md", b"sites/\xffhouse/2026-11-08-x.md"] {
        let path = book.root().join(OsStr::from_bytes(name));
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, record).unwrap();
    }
    std::fs::create_dir_all(book.root().join("sites/elm-row/photos")).unwrap();
    for name in [&b"sites/elm-row/photos/\xff.jpg"[..], b"instruments/\xff\n.md", b"recalls \x1b.md"] {
        std::fs::write(book.root().join(OsStr::from_bytes(name)), "no picture").unwrap();
    }
    let told = told_after(&book, |_| ());
    assert!(told.contains(&OTHER.to_owned()), "{told:?}");
    assert_eq!(told.iter().filter(|told| told.starts_with("misplaced-file ")).count(), 4, "one for each name that is not UTF-8: {told:?}");
    for told in all(&book) {
        let [out, err] = told.streams.map(|bytes| String::from_utf8(bytes).unwrap());
        assert!(!err.contains("panicked"), "{}: {err}", told.command);
        assert!(!out.is_empty() || !err.is_empty() || !told.files.is_empty() || told.command.contains("nowhere"), "{}", told.command);
    }
}
