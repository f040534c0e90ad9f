//! Questions that an electrician asks of past jobs, each answered by one command over the example book.
//!
//! The commands are those of the README; the answers are in `snapshots/`.

mod tables;

use crate::cli::run;
use crate::support::{TODAY, repository};

/// The questions of the README's table with their commands, in their order.
fn questions() -> Vec<(String, String)> {
    let readme = std::fs::read_to_string(repository().join("README.md")).unwrap();
    let (_, table) = readme.split_once("\n## Twenty-five questions\n").unwrap();
    let (table, _) = table.split_once("\n## ").unwrap();
    let row = |line: &str| {
        let (question, command) = line.strip_prefix("| ")?.split_once(" | `ampledger ")?;
        Some((question.to_owned(), command.strip_suffix("` |")?.replace("\\|", "|")))
    };
    table.lines().filter_map(row).collect()
}

/// Each question's answer in the example book stands in a snapshot of its own, read beside the records that it comes from.
#[cfg(unix)]
#[test]
fn each_question_of_the_readme_is_answered_by_one_command() {
    let questions = questions();
    assert_eq!(questions.len(), 25);
    for (number, (question, command)) in questions.iter().enumerate() {
        // Dated commands are asked on the tests' day; the README's reader asks on his own.
        let dated = ["check", "due", "units", "history"].iter().any(|verb| command.starts_with(verb));
        let day = if dated { format!(" --on {TODAY}") } else { String::new() };
        let program = env!("CARGO_BIN_EXE_ampledger");
        let mut shell = std::process::Command::new("sh");
        shell.args(["-c", &format!("{program} {command}{day}")]).current_dir(repository().join("example-sites"));
        shell.env_remove("NO_COLOR").env_remove("COLUMNS");
        let output = shell.output().unwrap();
        let (out, err) = (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap());
        assert!(err.is_empty() && !out.is_empty(), "{question}: {err}");
        insta::assert_snapshot!(
            format!("q{:02}", number + 1),
            format!("{question}\n$ ampledger {command}\n{out}(exit status {})\n", output.status.code().unwrap())
        );
    }
}

/// Half-remembered words, slips of spelling and a name typed nearly right.
#[test]
fn half_remembered_words_find_their_record() {
    let first = |words: &[&str]| {
        let ran = run(&repository().join("example-sites"), &[&["find", "--format", "paths", "--limit", "1"], words].concat());
        ran.out.trim_end().to_owned()
    };
    assert_eq!(first(&["the", "wash", "down", "sokcet"]), "sites/moss-farm/2026-09-04-callout.md");
    assert_eq!(first(&["shower", "smels", "hot"]), "sites/sexton-yard/2026-11-04-shower.md");
    assert_eq!(first(&["mist", "carport"]), "sites/weir-house/site.md");
    assert_eq!(first(&["breakfast", "trips"]), "sites/larder-lane-3/2026-11-03-trips.md");
    assert_eq!(first(&["AL-31302", "fitted"]), "sites/plover-close-5/2023-10-17-charge-point.md");
}
