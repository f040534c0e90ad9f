//! What must hold whatever comes in. Each function takes any bytes and panics when its promise is broken. The fuzzers in `targets` call
//! them, and `tests/hostile/found.rs` calls them once more with everything that a fuzzer has found.

mod body;
mod exif;
mod lsp;
mod query;

use std::cell::RefCell;
use std::path::PathBuf;

use ampledger::book::{self, Book, Edit, FaultKind};
use ampledger::check::{Checked, check_site};
use ampledger::finding::{Finding, Place};
use ampledger::fix::{self, Safety};
use ampledger::judge::{Filter, Verdict, judge};
use ampledger::record::Date;
use ampledger::render::{self, Look};
use serde_json::Value;

pub use body::body;
pub use exif::exif;
pub use lsp::lsp;
pub use query::query;

const JOB: &str = "sites/elm-row/2026-11-02-shed.md";

fn today() -> Date {
    "2026-11-25".parse().expect("a date")
}

fn sound_book() -> PathBuf {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    // This file belongs to two packages, one at the root and one beside it.
    [here.join("tests/sound-book"), here.join("../sound-book")].into_iter().find(|folder| folder.is_dir()).expect("the sound book")
}

thread_local! {
    static BOOK: RefCell<Book> = RefCell::new(Book::open(&sound_book()).expect("the sound book opens"));
}

fn checked(book: &Book) -> Checked {
    check_site(book, book.site("elm-row").expect("its site"), today())
}

/// The splitter, the decoder, the rules and the locator: a visit of any bytes is checked to its end, twice with the same outcome; every
/// place is a stretch of its file's text; what is printed steers no terminal.
pub fn record(bytes: &[u8]) {
    BOOK.with_borrow_mut(|book| {
        book.put(JOB, bytes.to_vec());
        let first = judge(book, checked(book), today(), &Filter::default());
        let places =
            first.findings.iter().flat_map(|found| std::iter::once(&found.place).chain(found.related.iter().map(|near| &near.place)));
        places.for_each(lies_in_its_text);
        first.findings.iter().for_each(faults_lie_in_the_text);
        let printed = spoken(&first);
        assert_eq!(printed, spoken(&judge(book, checked(book), today(), &Filter::default())), "twice is not once");
        let report: Value = serde_json::from_str(&printed[0]).expect("JSON");
        assert_eq!(report["findings"].as_array().map(Vec::len), Some(first.findings.len() + first.answered.len()));
        for text in &printed {
            assert!(!text.chars().any(steers), "{text:?}");
        }
    });
}

fn lies_in_its_text(place: &Place) {
    let span = place.span.clone().expect("every place is located");
    assert!(place.file.text.get(span.clone()).is_some(), "{span:?} of {} is not in the text", place.file.path);
}

/// The bytes that a fault of form shows, and those that its cure would replace: in the text, in order and apart.
fn faults_lie_in_the_text(found: &Finding) {
    let Some(fault) = &found.fault else { return };
    let text = &found.place.file.text;
    let mut shown = vec![&fault.span];
    if let FaultKind::DuplicateKey { first, .. } = &fault.kind {
        shown.push(first);
    }
    for span in shown {
        assert!(text.get(span.clone()).is_some(), "{span:?} of {:?} is not in the text", fault.kind);
    }
    if let Some(cure) = &fault.cure {
        edits_are_of(&cure.edits, text);
    }
}

fn edits_are_of(edits: &[Edit], text: &str) {
    assert!(edits.iter().all(|edit| text.get(edit.range.clone()).is_some()), "{edits:?} are not all in the text");
    assert!(edits.windows(2).all(|pair| pair[0].range.end <= pair[1].range.start), "{edits:?} are not in order and apart");
}

fn spoken(verdict: &Verdict) -> [String; 3] {
    [render::json(verdict, true), render::concise(verdict, true), render::human(verdict, Look { width: 40, colour: false }, true)]
}

fn steers(c: char) -> bool {
    c.is_control() && c != '\n' || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// `--fix`: the body stays as it is, what could be read stays readable, and what was mended is mended.
pub fn fix(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    BOOK.with_borrow_mut(|book| {
        let mut has_fixes = false;
        for most in [Safety::Safe, Safety::Unsafe] {
            let plan = fix::plan_text(book, JOB, text, &|_| true, most);
            has_fixes |= !plan.mended.is_empty();
            let Some(mended) = plan.mended.first() else { continue };
            let read = |text: &str| book::read_as_placed(JOB, text.to_owned()).expect("a job belongs there");
            let (was, is) = (read(text), read(&mended.after));
            assert_eq!(mended.before, text);
            assert_eq!(was.source.body_text(), is.source.body_text(), "the body has changed");
            assert!(!is.lost || was.lost, "the record is lost");
            // Where only the first of many faults were told, others may come to light.
            let is_cut_short = was.faults.len() >= 60 || was.faults.iter().any(|fault| fault.kind == FaultKind::ManyMore);
            assert!(is.faults.len() < was.faults.len() || is_cut_short, "{:?} became {:?}", was.faults, is.faults);
            let again = fix::plan_text(book, JOB, &mended.after, &|_| true, most);
            let rest: Vec<_> = again.mended.iter().map(|mended| &mended.done).collect();
            assert!(rest.is_empty() || mended.done.values().sum::<usize>() >= 60, "twice is not once: {rest:?}");
        }
        if !has_fixes {
            return;
        }
        // One at a time, as an editor makes them.
        book.put(JOB, text.as_bytes().to_vec());
        let verdict = judge(book, checked(book), today(), &Filter::default());
        for found in verdict.findings.iter().filter(|found| found.fault.is_some()).take(4) {
            for fix in fix::fixes(book, found) {
                let before = &found.place.file.text;
                edits_are_of(&fix.edits, before);
                assert!(only_these_changed(before, &fix.made_in(before), &fix.edits), "{:?} changes more than it says", fix.title);
            }
        }
    });
}

/// Whether the texts around the edits are the same before and after, and the edits' own stand between them.
fn only_these_changed(before: &str, after: &str, edits: &[Edit]) -> bool {
    let mut rest = after;
    let mut from = 0;
    let mut goes_on = |piece: &str| match rest.strip_prefix(piece) {
        Some(left) => {
            rest = left;
            true
        }
        None => false,
    };
    let are_there = edits.iter().all(|edit| {
        let kept = &before[from..edit.range.start];
        from = edit.range.end;
        goes_on(kept) && goes_on(&edit.text)
    });
    are_there && goes_on(&before[from..]) && rest.is_empty()
}
