//! Damage done to copies of the sound job, each on a site of its own, and what must be said of it.

use std::collections::BTreeMap;
use std::fs;

use crate::support::{SOUND_JOB, TODAY, TestBook, verdict_on};

/// The end of the sound job's front matter, and what is planted there: faults of form and of reference that must be found still,
/// whatever is wrong above them.
const END: &str = "next_inspection: 2036-11-02\n---\n";
const PLANTED_END: &str = "next_inspection: 2036-11-02\ncontinues: 2020-01-01-nowhere\nplanted_key: 1\n---\n";
const PLANTED_TEXT: &str = "\nSee [the note](photos/not-there.jpg).\n";

/// A damaged record and what must be said of it, beside what is planted.
pub struct Case {
    name: String,
    bytes: Vec<u8>,
    /// A rule, and the text in the record at whose first place it must point.
    wanted: Vec<(&'static str, Spot)>,
    planted: bool,
}

#[derive(Clone)]
enum Spot {
    Text(String),
    At(usize, usize),
}

/// The sound job with the planted faults.
pub fn planted_job() -> String {
    let job = TestBook::sound().read(SOUND_JOB);
    assert!(job.contains(END));
    job.replace(END, PLANTED_END) + PLANTED_TEXT
}

impl Case {
    /// The sound job with one piece replaced.
    pub fn put(name: &str, find: &str, put: &str) -> Case {
        let job = planted_job();
        assert!(job.contains(find), "the sound job has no {find:?}");
        Case::bytes(name, job.replacen(find, put, 1))
    }

    /// Any bytes at all.
    pub fn bytes(name: &str, bytes: impl Into<Vec<u8>>) -> Case {
        Case { name: name.to_owned(), bytes: bytes.into(), wanted: Vec::new(), planted: true }
    }

    /// The rule must point at the first place of this text.
    pub fn says(mut self, rule: &'static str, at: &str) -> Case {
        self.wanted.push((rule, Spot::Text(at.to_owned())));
        self
    }

    /// The rule must point at this line and column.
    pub fn says_at(mut self, rule: &'static str, line: usize, column: usize) -> Case {
        self.wanted.push((rule, Spot::At(line, column)));
        self
    }

    /// Nothing can be read below the damage, so that what is planted is not found.
    pub fn and_no_more(mut self) -> Case {
        self.planted = false;
        self
    }

    /// Another transformation of the bytes.
    pub fn map(mut self, change: impl Fn(Vec<u8>) -> Vec<u8>) -> Case {
        self.bytes = change(self.bytes);
        self
    }

    fn expected(&self) -> Vec<String> {
        let planted = [("unknown-key", "planted_key"), ("unknown-reference", "2020-01-01-nowhere"), ("link-to-nothing", "[the note]")];
        let planted = planted.iter().filter(|_| self.planted).map(|(rule, at)| (*rule, Spot::Text((*at).to_owned())));
        let mut lines: Vec<String> = self
            .wanted
            .iter()
            .cloned()
            .chain(planted)
            .map(|(rule, spot)| {
                let (line, column) = match spot {
                    Spot::At(line, column) => (line, column),
                    Spot::Text(text) => self.find(&text),
                };
                format!("{rule} {line}:{column}")
            })
            .collect();
        lines.sort();
        lines
    }

    /// Line and column of a text, counted in characters without the byte-order mark.
    fn find(&self, wanted: &str) -> (usize, usize) {
        let text = String::from_utf8_lossy(&self.bytes);
        let text = text.trim_start_matches('\u{feff}');
        let at = text.find(wanted).unwrap_or_else(|| panic!("{} has no {wanted:?}", self.name));
        let line = text[..at].split('\n').count();
        (line, text[..at].rsplit('\n').next().unwrap().chars().count() + 1)
    }
}

/// A book of damaged records, each on a site of its own.
pub struct BrokenBook {
    book: TestBook,
    cases: Vec<Case>,
}

impl BrokenBook {
    /// Puts every case on a site of its own, with serials and numbers of its own.
    pub fn of(cases: Vec<Case>) -> BrokenBook {
        let book = TestBook::sound();
        let site = book.read("sites/elm-row/site.md");
        fs::remove_dir_all(book.root().join("sites/elm-row")).unwrap();
        for (index, case) in cases.iter().enumerate() {
            book.write(&format!("sites/{}/site.md", case.name), &site);
            let mut bytes = case.bytes.clone();
            let named = bytes.len() < 1_000_000;
            for (own, prefix) in [("CP-204117", "CP"), ("LE-0142", "LE")] {
                let other = format!("{prefix}-{index:0width$}", width = own.len() - 3);
                while let Some(at) = named.then(|| bytes.windows(own.len()).position(|window| window == own.as_bytes())).flatten() {
                    bytes.splice(at..at + own.len(), other.bytes());
                }
            }
            book.write(&format!("sites/{}/2026-11-02-shed.md", case.name), bytes);
        }
        BrokenBook { book, cases }
    }

    /// The verdict on the whole book.
    pub fn verdict(&self) -> ampledger::judge::Verdict {
        verdict_on(self.book.root(), TODAY)
    }

    /// Checks that every record gets exactly what its case says, at its place.
    pub fn check(&self) {
        let verdict = self.verdict();
        let mut by_file: BTreeMap<String, Vec<String>> = BTreeMap::new();
        // Every case is the same visit at another site, and is rightly taken for a copy; that is not what is broken here.
        for finding in verdict.findings.iter().filter(|finding| finding.rule != "schedule-copied-from-another-site") {
            let start = ampledger::render::Spot::of(&finding.place).start;
            let line = format!("{} {}:{}", finding.rule, start.line, start.column);
            by_file.entry(finding.place.file.path.clone()).or_default().push(line);
        }
        let mut wrong = Vec::new();
        for case in &self.cases {
            let mut found = by_file.remove(&format!("sites/{}/2026-11-02-shed.md", case.name)).unwrap_or_default();
            found.sort();
            let expected = case.expected();
            if found != expected {
                wrong.push(format!("{}:\n  wanted {expected:?}\n  found  {found:?}", case.name));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
        assert!(by_file.is_empty(), "other files: {by_file:?}");
    }
}
