//! What the tests share: a sound book, changes laid over it, and the check of what comes out.

pub mod editor;
mod overlay;
mod repository;
pub mod webdriver;

use std::path::{Path, PathBuf};

use ampledger::book::Book;
use ampledger::check::check;
use ampledger::judge::{Filter, Verdict, judge};
use ampledger::record::Date;
use ampledger::rules::Example;
use proptest::test_runner::Config as ProptestConfig;

pub use overlay::apply;
pub use repository::{GIT_SETTINGS, Repository, git_in};

/// The day that the tests judge from.
pub const TODAY: &str = "2026-11-25";

/// The job of the sound book that examples change.
pub const SOUND_JOB: &str = "sites/elm-row/2026-11-02-shed.md";

pub fn repository() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// A book in a folder of its own that goes when the test ends.
pub struct TestBook {
    folder: tempfile::TempDir,
}

impl TestBook {
    /// A copy of the sound book.
    pub fn sound() -> TestBook {
        let book = TestBook { folder: tempfile::tempdir().unwrap() };
        copy(&repository().join("tests/sound-book"), book.root());
        book
    }

    /// A copy of the sound book with an example laid over it.
    pub fn with(example: &Example) -> TestBook {
        let book = TestBook::sound();
        match example {
            Example::Keys(keys) => apply(book.root(), keys),
            Example::Text { find, put } => {
                let text = book.read(SOUND_JOB);
                assert!(text.contains(find), "the sound job has no {find:?}");
                book.write(SOUND_JOB, text.replacen(find, put, 1));
            }
            Example::File { path, bytes } => book.write(path, bytes),
        }
        book
    }

    pub fn root(&self) -> &Path {
        self.folder.path()
    }

    pub fn read(&self, path: &str) -> String {
        std::fs::read_to_string(self.root().join(path)).unwrap()
    }

    pub fn write(&self, path: &str, bytes: impl AsRef<[u8]>) {
        let path = self.root().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }

    /// The verdict on the book on the tests' day.
    pub fn verdict(&self) -> Verdict {
        verdict_on(self.root(), TODAY)
    }

    /// `rule file subject` of everything found.
    pub fn found(&self) -> Vec<String> {
        self.verdict().findings.iter().map(|finding| format!("{} {} {}", finding.rule, finding.place.file.path, finding.subject)).collect()
    }

    /// The ids of the rules that found something, each once.
    pub fn rules_found(&self) -> Vec<&'static str> {
        let mut rules: Vec<&'static str> = self.verdict().findings.iter().map(|finding| finding.rule).collect();
        rules.sort_unstable();
        rules.dedup();
        rules
    }
}

/// How many cases a property is tried with: `usual`, which keeps a run of all tests short, or what PROPTEST_CASES asks for.
pub fn tries(usual: u32) -> ProptestConfig {
    let asked = std::env::var("PROPTEST_CASES").ok().map(|cases| cases.parse().expect("PROPTEST_CASES is no number"));
    ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(asked.unwrap_or(usual)) }
}

/// Checks and judges a book on a day.
pub fn verdict_on(root: &Path, day: &str) -> Verdict {
    let book = Book::open(root).unwrap();
    let on: Date = day.parse().unwrap();
    let checked = check(&book, on, &|| ());
    judge(&book, checked, on, &Filter::default())
}

/// Copies a folder with all that is in it.
pub fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// A Python interpreter that has a package: `python3`, or what PYTHON names. Without one the test is skipped with a word, unless
/// NEED_PYTHON_PACKAGES is set, as it is where every change is checked.
pub fn python_with(package: &str) -> Option<String> {
    let python = std::env::var("PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let import = format!("import {package}");
    let there = std::process::Command::new(&python).args(["-c", &import]).output().is_ok_and(|output| output.status.success());
    if there {
        return Some(python);
    }
    assert!(
        std::env::var_os("NEED_PYTHON_PACKAGES").is_none(),
        "{python} has no {package}: pip install {package}, or name another with PYTHON"
    );
    eprintln!("skipped: {python} has no {package}; pip install {package}");
    None
}
