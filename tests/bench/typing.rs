//! How long after a keystroke the editor is told: `typing FOLDER`, a book that `make_book` wrote.
//!
//! Opens a record in the language server, changes a reading to and fro, and measures from the change to the diagnostics that show it.
//! The server's pause for further keys (10 ms) is in the figures.

// A program for the command line, and none that anybody else calls.
#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::expect_used, clippy::panic, dead_code)]

#[path = "../support/editor.rs"]
mod editor;

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use editor::Editor;

const TODAY: &str = "2026-11-25";
const CHANGES: i64 = 100;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).filter(|arg| arg != "--bench").collect();
    let [folder] = args.as_slice() else { return println!("typing FOLDER") };
    let root = Path::new(folder).canonicalize().unwrap();
    let path = a_record(&root);
    let text = std::fs::read_to_string(&path).unwrap();
    let begun = Instant::now();
    let mut editor = Editor::start(&root, &[]);
    editor.open(&path, &text);
    editor.diagnostics_until(&path, |_| true);
    println!("from start to the first diagnostics: {}", shown(begun.elapsed()));
    let wrong = text.replacen("zs_ohm: ", "zs_ohm: 99", 1);
    assert_ne!(wrong, text, "the record has a Zs");
    // While the rest of the book is still being read, and after.
    for (when, pause) in [("while the book is being read", Duration::ZERO), ("with the book read", Duration::from_secs(20))] {
        std::thread::sleep(pause);
        let mut times: Vec<Duration> = (0..CHANGES)
            .map(|change| {
                let is_wrong = change % 2 == 0;
                let at = Instant::now();
                editor.change(&path, change + 2, if is_wrong { &wrong } else { &text });
                editor.diagnostics_until(&path, |found| found.iter().any(|one| one["code"] == "zs-over-limit") == is_wrong);
                at.elapsed()
            })
            .collect();
        times.sort_unstable();
        let (median, most) = (times[times.len() / 2], times[times.len() - 1]);
        println!("from a change to its diagnostics, {when}: median {}, longest {} of {CHANGES}", shown(median), shown(most));
    }
}

/// The last visit of a site in the middle of the book.
fn a_record(root: &Path) -> PathBuf {
    let inside = |folder: PathBuf| {
        let mut paths: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        paths
    };
    let sites = inside(root.join("sites"));
    let visits = inside(sites[sites.len() / 2].clone());
    let with_zs = |path: &&PathBuf| std::fs::read_to_string(path).unwrap().contains("zs_ohm: ");
    visits.iter().rev().find(with_zs).unwrap().clone()
}

fn shown(time: Duration) -> String {
    format!("{:.1} ms", time.as_secs_f64() * 1000.0)
}
