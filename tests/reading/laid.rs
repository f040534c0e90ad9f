//! Texts laid over a book are read as if they stood on the disk: the rules' own examples, laid over instead of written, say the same.

use std::collections::BTreeMap;
use std::path::Path;

use ampledger::book::{Book, Overlay};
use ampledger::check::check;
use ampledger::judge::{Filter, judge};
use ampledger::render;
use ampledger::rules::{self, Example};

use crate::support::{TODAY, TestBook};

/// What `check --format json` says of the book at `root` with this laid over it.
fn told(root: &Path, overlay: Overlay) -> String {
    let book = Book::open_under(root, overlay).unwrap();
    let on = TODAY.parse().unwrap();
    render::json(&judge(&book, check(&book, on, &|| ()), on, &Filter::default()), true)
}

/// Every file below a folder.
fn files(root: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = walkdir::WalkDir::new(root).into_iter().map(Result::unwrap).filter(|entry| entry.file_type().is_file());
    let name = |path: &Path| path.strip_prefix(root).unwrap().to_str().unwrap().to_owned();
    entries.map(|entry| (name(entry.path()), std::fs::read(entry.path()).unwrap())).collect()
}

/// What turns `from` into `to`.
fn difference(from: &BTreeMap<String, Vec<u8>>, to: &BTreeMap<String, Vec<u8>>) -> Overlay {
    let mut overlay = Overlay::new();
    for (path, bytes) in to.iter().filter(|(path, bytes)| from.get(*path) != Some(bytes)) {
        overlay.put(path, bytes.clone());
    }
    for path in from.keys().filter(|path| !to.contains_key(*path)) {
        overlay.hide(path);
    }
    overlay
}

#[test]
fn an_example_laid_over_the_sound_book_says_what_it_says_on_the_disk_and_the_other_way_round() {
    let sound = TestBook::sound();
    let sound_files = files(sound.root());
    let nothing_found = told(sound.root(), Overlay::new());
    let mut laid = 0;
    for rule in rules::all() {
        let example: &Example = &rule.bad;
        let there = TestBook::with(example);
        let there_files = files(there.root());
        let on_disk = told(there.root(), Overlay::new());
        let over = difference(&sound_files, &there_files);
        laid += usize::from(!over.is_empty());
        assert_eq!(told(sound.root(), over), on_disk, "{} laid over the sound book", rule.id);
        let back = difference(&there_files, &sound_files);
        assert_eq!(told(there.root(), back), nothing_found, "the sound book laid over {}", rule.id);
    }
    assert!(laid > 100, "{laid} examples differ from the sound book");
}

#[test]
fn a_site_of_which_every_file_is_hidden_is_none_and_one_that_is_only_laid_is_one() {
    let book = TestBook::sound();
    let path = "sites/oak-lane/2026-11-20-callout.md";
    let mut overlay = Overlay::new();
    overlay.put(path, "---\nrecord: job\nkind: callout\nstatus: planned\n---\n".as_bytes());
    let laid = told(book.root(), overlay.clone());
    overlay.remove(path);
    assert_eq!(told(book.root(), overlay.clone()), told(book.root(), Overlay::new()));

    book.write(path, "---\nrecord: job\nkind: callout\nstatus: planned\n---\n");
    assert_eq!(laid, told(book.root(), Overlay::new()));
    assert!(laid.contains("sites/oak-lane/ has no site.md"), "{laid}");
    overlay.hide(path);
    let hidden: serde_json::Value = serde_json::from_str(&told(book.root(), overlay)).unwrap();
    assert_eq!((hidden["summary"]["sites"].as_u64(), hidden["findings"].as_array().map(Vec::len)), (Some(1), Some(0)));
}
