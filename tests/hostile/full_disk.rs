//! Every command that writes, on a machine that takes no byte more: it says so, ends with 2, and leaves everything as it was.

use crate::cli::program_under;
use crate::everything::commands::files;
use crate::support::{SOUND_JOB, TODAY, TestBook};

/// Runs the program with a limit of no bytes for any file; the signal that comes with it is ignored, as a full disk sends none.
fn run_full(book: &TestBook, args: &[&str]) -> (Option<i32>, String) {
    let full = ["sh", "-c", "trap '' XFSZ; ulimit -f 0; exec \"$0\" \"$@\""];
    let output = program_under(book.root(), &full).args(args).output().unwrap();
    (output.status.code(), String::from_utf8(output.stderr).unwrap())
}

#[cfg(unix)]
#[test]
fn a_full_disk_is_told_of_and_nothing_is_lost() {
    let outside = tempfile::tempdir().unwrap();
    let out = |name: &str| outside.path().join(name).to_str().unwrap().to_owned();
    std::fs::write(out("paper.html"), "an earlier paper").unwrap();
    let job = "elm-row/2026-11-02-shed";
    let commands: &[&[&str]] = &[
        &["check", "--fix", "--on", TODAY],
        &["check", "--accept", "--reason", "as bought", "--on", TODAY],
        &["seal", job, "--anyway", "--reason", "tried", "--on", TODAY],
        &["new", "job", "elm-row", "--kind", "callout", "--on", TODAY],
        &["new", "site", "other-place"],
        &["pack", "elm-row", "--for", "buyer", "--out", &out("pack"), "--on", TODAY],
        &["paper", job, "--out", &out("paper.html"), "--replace", "--on", TODAY],
        &["report", "--out", &out("report"), "--on", TODAY],
        &["export", "--out", &out("tables")],
        &["due", "--ical", &out("owed.ics"), "--within", "3650d", "--on", TODAY],
        &["history", "elm-row/main/1", "--svg", &out("plot.svg"), "--on", TODAY],
        &["init", &out("new-book"), "--nation", "england"],
        &["man", "--out", &out("man")],
    ];
    for command in commands {
        let book = TestBook::sound();
        // Something that --fix would mend and that --accept would accept.
        let text = book.read(SOUND_JOB).replacen("status: issued", "status:\u{a0}issued", 1);
        book.write(SOUND_JOB, text);
        let before = (files(book.root()), files(outside.path()));
        let (status, said) = run_full(&book, command);
        assert_eq!(status, Some(2), "{command:?}: {said}");
        assert!(said.starts_with("ampledger: ") && said.contains("could not be written"), "{command:?}: {said}");
        let after = (files(book.root()), files(outside.path()));
        let name = |files: &std::collections::BTreeMap<String, Vec<u8>>| files.keys().cloned().collect::<Vec<_>>();
        assert_eq!((name(&after.0), name(&after.1)), (name(&before.0), name(&before.1)), "{command:?} leaves something behind");
        assert!(before == after, "{command:?} has changed a file");
    }
    // What is kept between runs is no loss: the check goes on without.
    let book = TestBook::sound();
    let (status, said) = run_full(&book, &["check", "--on", TODAY]);
    assert_eq!((status, said.as_str()), (Some(0), ""));
}
