//! Several runs at once on one book: whatever one of them says is done stays done, and nothing is written twice or by halves.

use std::process::{Output, Stdio};

use crate::cli::program;
use crate::everything::commands::files;
use crate::support::{SOUND_JOB, TODAY, TestBook};

/// Starts all the commands, and only then waits for them.
fn at_once(book: &TestBook, commands: &[Vec<String>]) -> Vec<Output> {
    let start = |args: &Vec<String>| {
        let mut command = program(book.root());
        command.args(args).args(["--on", TODAY]).stdout(Stdio::piped()).stderr(Stdio::piped());
        command.spawn().unwrap()
    };
    let runs: Vec<_> = commands.iter().map(start).collect();
    let outputs: Vec<Output> = runs.into_iter().map(|run| run.wait_with_output().unwrap()).collect();
    for output in &outputs {
        let err = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.code().is_some_and(|code| code <= 2) && !err.contains("panicked"), "{err}");
    }
    assert!(!files(book.root()).keys().any(|name| name.contains(ampledger::write::UNFINISHED)), "a temporary file was left");
    outputs
}

fn words(line: &str) -> Vec<String> {
    line.split(' ').map(str::to_owned).collect()
}

/// The sound book with `count` more visits, each the sound one as of another day.
fn with_visits(count: usize, change: impl Fn(String) -> String) -> TestBook {
    let book = TestBook::sound();
    let text = book.read(SOUND_JOB);
    for number in 0..count {
        book.write(&format!("sites/elm-row/2026-10-{:02}-more.md", number + 1), change(text.clone()));
    }
    book
}

#[test]
fn of_several_new_records_of_one_name_one_is_written() {
    for _ in 0..5 {
        let book = TestBook::sound();
        let outputs = at_once(&book, &vec![words("new job elm-row --kind callout"); 6]);
        let done = outputs.iter().filter(|output| output.status.code() == Some(0)).count();
        assert_eq!(done, 1);
        let others = outputs.iter().filter(|output| output.status.code() != Some(0));
        assert!(
            others.into_iter().all(|output| String::from_utf8_lossy(&output.stderr).contains("is there already, and was left as it is"))
        );
    }
}

#[test]
fn what_one_run_has_sealed_no_other_run_takes_out_again() {
    const VISITS: usize = 6;
    let seal = |number: usize| words(&format!("seal elm-row/2026-10-{:02}-more --anyway --reason tried", number + 1));
    let commands: Vec<Vec<String>> = (0..VISITS).map(seal).collect();
    let mut sealed = 0;
    for _ in 0..10 {
        let book = with_visits(VISITS, |text| text);
        let outputs = at_once(&book, &commands);
        let seals = book.read("seals.yaml");
        for (number, output) in outputs.iter().enumerate() {
            let said = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
            let is_there = seals.contains(&format!("2026-10-{:02}-more.md", number + 1));
            assert_eq!(is_there, output.status.code() == Some(0), "{said}");
            assert!(is_there || said.contains("was changed meanwhile"), "{said}");
            sealed += usize::from(is_there);
        }
    }
    assert!(sealed >= 10, "one in each round at least");
}

#[test]
fn several_fixes_at_once_come_to_what_one_comes_to() {
    let damaged = |text: String| text.replacen("status: issued", "status:\u{a0}issued", 1);
    let alone = with_visits(12, damaged);
    let before = files(alone.root());
    at_once(&alone, &[words("check --fix")]);
    let wanted = files(alone.root());
    assert!(before != wanted, "there was nothing to mend");
    for _ in 0..5 {
        let book = with_visits(12, damaged);
        at_once(&book, &vec![words("check --fix"); 4]);
        assert!(files(book.root()) == wanted);
    }
}

/// Between the last look at a file and its renaming, a run is alone in the folder.
#[test]
fn a_run_that_will_not_make_way_is_told_of_and_nothing_is_changed() {
    let book = with_visits(1, |text| text);
    let seal = words("seal elm-row/2026-10-01-more --anyway --reason tried");
    let before = files(book.root());
    let other = std::fs::File::open(book.root()).unwrap();
    other.lock().unwrap();
    let held = at_once(&book, std::slice::from_ref(&seal)).remove(0);
    assert_eq!(held.status.code(), Some(2));
    let said = String::from_utf8(held.stderr).unwrap();
    assert!(said.starts_with("ampledger: seals.yaml could not be written: another run is writing beside it\n"), "{said}");
    assert!(before == files(book.root()));
    other.unlock().unwrap();
    assert_eq!(at_once(&book, &[seal]).remove(0).status.code(), Some(0));
}
