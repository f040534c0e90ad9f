//! Twelve kinds of work from beginning to end, each as a small book of its own: kept well, it is quiet; each slip laid over it is caught
//! where it stands; and the book answers what somebody will ask of it.
//!
//! A folder holds `book/`, `catches.yaml` (what is found in the book as it stands, and the slips) and `answers.yaml` (commands and what
//! they say). All of it is invented.

use std::path::{Path, PathBuf};

use serde::Deserialize;
use serde_yaml::Value;

use crate::cli::run;
use crate::support::{TODAY, apply, copy, repository, verdict_on};

/// What a check says of a scenario.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sheet {
    /// `rule file subject` of everything found in the book as it stands.
    found: Vec<String>,
    catches: Vec<Catch>,
}

/// A slip, and what is to be said of it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Catch {
    /// The slip in words.
    slip: String,
    /// Keys laid over the book.
    lay: Value,
    /// A picture that carries a place, and where it is put.
    picture: Option<String>,
    /// The rule that tells of it.
    rule: String,
    /// The file and the subject, as in `found`.
    at: String,
}

/// A question.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Answer {
    /// In words.
    question: String,
    /// The command, with `BOOK` for the book and `OUT` for a folder beside it.
    ask: Vec<String>,
    /// Its exit status.
    #[serde(default)]
    status: i32,
    /// A file in `OUT` to read, where the answer does not stand on the screen.
    read: Option<String>,
    /// What it says.
    says: Vec<String>,
    /// What it does not say.
    #[serde(default)]
    never: Vec<String>,
}

fn scenarios() -> Vec<PathBuf> {
    let mut folders: Vec<PathBuf> = std::fs::read_dir(repository().join("tests/scenarios"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.join("book").is_dir())
        .collect();
    folders.sort();
    assert!(folders.len() >= 12, "{folders:?}");
    folders
}

fn read<T: serde::de::DeserializeOwned>(path: &Path) -> T {
    let text = std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    serde_yaml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn name(folder: &Path) -> &str {
    folder.file_name().unwrap().to_str().unwrap()
}

/// `rule file subject` of everything found.
fn found(book: &Path) -> Vec<String> {
    let findings = verdict_on(book, TODAY).findings;
    findings
        .iter()
        .map(|finding| format!("{} {} {}", finding.rule, finding.place.file.path, finding.subject).trim_end().to_owned())
        .collect()
}

#[test]
fn work_that_is_kept_well_is_quiet() {
    for folder in scenarios() {
        let sheet: Sheet = read(&folder.join("catches.yaml"));
        assert_eq!(found(&folder.join("book")), sheet.found, "{}", name(&folder));
    }
}

#[test]
fn every_slip_is_caught_where_it_stands() {
    let mut missed = Vec::new();
    for folder in scenarios() {
        let sheet: Sheet = read(&folder.join("catches.yaml"));
        assert!(sheet.catches.len() >= 5, "{}", name(&folder));
        for catch in &sheet.catches {
            let book = tempfile::tempdir().unwrap();
            copy(&folder.join("book"), book.path());
            apply(book.path(), &serde_yaml::to_string(&catch.lay).unwrap());
            if let Some(picture) = &catch.picture {
                let path = book.path().join(picture);
                std::fs::create_dir_all(path.parent().unwrap()).unwrap();
                std::fs::write(path, crate::pack::pictures::jpeg()).unwrap();
            }
            let wanted = format!("{} {}", catch.rule, catch.at);
            let found = found(book.path());
            assert!(!sheet.found.contains(&wanted), "{}: {wanted} is found without any slip", name(&folder));
            if !found.contains(&wanted) {
                missed.push(format!("{}: {}\n  wanted {wanted}\n  found  {}", name(&folder), catch.slip, found.join("\n         ")));
            }
        }
    }
    assert!(missed.is_empty(), "{}", missed.join("\n"));
}

#[test]
fn the_book_answers_what_is_asked_of_it() {
    let mut wrong = Vec::new();
    for folder in scenarios() {
        let answers: Vec<Answer> = read(&folder.join("answers.yaml"));
        assert!(!answers.is_empty(), "{}", name(&folder));
        for answer in &answers {
            let place = tempfile::tempdir().unwrap();
            copy(&folder.join("book"), &place.path().join("book"));
            let out = place.path().join("out");
            let ask: Vec<String> = answer.ask.iter().map(|word| word.replace("BOOK", "book").replace("OUT", "out")).collect();
            let ran = run(place.path(), &ask.iter().map(String::as_str).collect::<Vec<_>>());
            let text = match &answer.read {
                Some(file) if ran.status == 0 => std::fs::read_to_string(out.join(file)).unwrap(),
                _ => ran.out.clone(),
            };
            let lacking: Vec<&String> = answer.says.iter().filter(|words| !text.contains(*words)).collect();
            let told: Vec<&String> = answer.never.iter().filter(|words| text.contains(*words)).collect();
            if ran.status != answer.status || !lacking.is_empty() || !told.is_empty() {
                wrong.push(format!(
                    "{}: {}\n  status {}, lacks {lacking:?}, tells {told:?}\n{text}{}",
                    name(&folder),
                    answer.question,
                    ran.status,
                    ran.err
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
