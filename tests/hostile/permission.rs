//! Files and folders that may not be read or written: every command that answers from the book says what its answer lacks, and does the rest.

use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::Command;

use crate::cli::{program, program_under};
use crate::everything::commands::{Told, files, those_by};
use crate::support::{SOUND_JOB, TestBook};

/// The superuser's right to pass over permissions, laid down before the program starts. Others cannot lay it down, and have not got it.
const HELD: [&str; 3] = ["setpriv", "--bounding-set=-dac_override,-dac_read_search", "--inh-caps=-dac_override,-dac_read_search"];

/// The program as somebody runs it to whom permissions mean something.
pub fn held_to_permissions(folder: &Path) -> Command {
    let closed = tempfile::NamedTempFile::new().unwrap();
    set_mode(closed.path(), 0o000);
    if std::fs::read(closed.path()).is_ok() { program_under(folder, &HELD) } else { program(folder) }
}

fn set_mode(path: &Path, mode: u32) {
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
}

/// The sound book while some of it has other permissions; they are given back at the end, so that the folder can be cleared away.
struct Closed {
    book: TestBook,
    paths: &'static [&'static str],
}

impl Closed {
    fn with_mode(paths: &'static [&'static str], mode: u32) -> Closed {
        let book = TestBook::sound();
        paths.iter().for_each(|path| set_mode(&book.root().join(path), mode));
        Closed { book, paths }
    }

    fn told(&self, wanted: impl Fn(&str) -> bool) -> Vec<Told> {
        let told = those_by(&|| held_to_permissions(self.book.root()), wanted);
        for told in &told {
            assert!(!text(told).contains("panicked"), "{}: {}", told.command, text(told));
        }
        told
    }
}

impl Drop for Closed {
    fn drop(&mut self) {
        self.paths.iter().rev().for_each(|path| set_mode(&self.book.root().join(path), 0o700));
    }
}

/// All that a command printed and wrote.
fn text(told: &Told) -> String {
    told.streams.iter().chain(told.files.values()).map(|bytes| String::from_utf8_lossy(bytes)).collect()
}

/// Commands that answer from no record that is there.
fn answers_without_records(command: &str) -> bool {
    if command.ends_with("no-such-visit") {
        return true;
    }
    let begins = ["completions", "explain", "init", "man", "schema", "new site", "new instrument", "new model", "new recall"];
    begins.iter().any(|word| command.starts_with(word))
}

#[test]
fn a_record_or_a_folder_that_may_not_be_read_is_named_by_every_command_that_lacks_it() {
    for closed in [&[SOUND_JOB], &["sites/elm-row"], &["instruments/mft-1.md"]] {
        let book = Closed::with_mode(closed, 0o000);
        let closed = closed[0];
        let asks_no_instrument =
            |command: &str| ["units", "design", "seal", "check sites/", "due elm-row"].iter().any(|word| command.starts_with(word));
        let lacks = |command: &str| closed.starts_with("sites") || !asks_no_instrument(command);
        let asked = |command: &str| !answers_without_records(command) && lacks(command);
        let told = book.told(asked);
        assert!(told.len() > 40, "{}", told.len());
        let told_of = |told: &&Told| text(told).contains(closed);
        let silent: Vec<&str> = told.iter().filter(|told| !told_of(told)).map(|told| told.command.as_str()).collect();
        assert_eq!(silent, Vec::<&str>::new(), "{closed}");
        // A program that only looks at the status is not told that all is well.
        let may_be_well = ["new job", "units", "check --answered --accepted --fail-on never"];
        let well = |told: &&Told| told.status == 0 && !may_be_well.iter().any(|word| told.command.starts_with(word));
        let well: Vec<&str> = told.iter().filter(well).map(|told| told.command.as_str()).collect();
        assert_eq!(well, Vec::<&str>::new(), "{closed}");
    }
}

#[test]
fn a_book_that_may_not_be_written_is_read_by_every_command_and_left_as_it_is() {
    let book = Closed::with_mode(&["sites/elm-row", "sites", "instruments", "models", "."], 0o500);
    let before = files(book.book.root());
    let writes = |command: &str| command.starts_with("new ") || command.starts_with("seal elm-row/2026");
    for told in book.told(writes) {
        let err = String::from_utf8_lossy(&told.streams[1]);
        assert_eq!(told.status, 2, "{}", told.command);
        assert!(told.streams[0].is_empty() && err.contains("could not be written: permission denied\n"), "{}: {err}", told.command);
    }
    assert!(before == files(book.book.root()), "something was written");
    // All others do not notice, and neither does whoever runs them.
    let open = TestBook::sound();
    let told = book.told(|command| !writes(command));
    let wanted = those_by(&|| program(open.root()), |command| !writes(command));
    assert!(told.len() == wanted.len() && told.len() > 60);
    for (told, wanted) in told.iter().zip(&wanted) {
        let plain = |one: &Told, folder: &Path| text(one).replace(folder.to_str().unwrap(), "BOOK");
        assert_eq!((told.status, told.files.len()), (wanted.status, wanted.files.len()), "{}: {}", told.command, text(told));
        // What is written outside names the place it was written to, which is another in each run.
        if told.files.is_empty() && !told.command.contains("OUT") {
            assert_eq!(plain(told, book.book.root()), plain(wanted, open.root()), "{}", told.command);
        }
    }
    assert!(before == files(book.book.root()), "something was written");
}
