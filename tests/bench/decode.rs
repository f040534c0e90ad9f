//! The least that reading a book can cost: `decode FOLDER` walks the sites, reads every record, splits off its front matter and
//! decodes it into the same types that a check works on, with serde_yaml and nothing else, then lets it go. `decode FOLDER read` walks and
//! reads the bytes, and decodes nothing.

// A program for the command line, and none that anybody else calls.
#![allow(clippy::print_stdout, clippy::unwrap_used)]

use std::path::PathBuf;

use ampledger::record::{Job, Site};
use rayon::prelude::*;

/// The program that it is compared with uses the same.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    let mut args = std::env::args().skip(1).filter(|arg| arg != "--bench");
    let Some(folder) = args.next() else { return println!("decode FOLDER [read]") };
    let walk = walkdir::WalkDir::new(PathBuf::from(folder).join("sites")).into_iter().filter_map(Result::ok);
    let files: Vec<PathBuf> = walk.map(|entry| entry.into_path()).filter(|path| path.extension().is_some_and(|end| end == "md")).collect();
    if args.next().is_some_and(|arg| arg == "read") {
        let bytes: usize = files.par_iter().map(|path| std::fs::read(path).unwrap().len()).sum();
        return println!("{bytes} bytes of {} records read", files.len());
    }
    let decoded = files.par_iter().filter(|path| {
        let text = std::fs::read_to_string(path).unwrap();
        let front = text.strip_prefix("---\n").and_then(|rest| rest.split_once("\n---\n")).map_or("", |(front, _)| front);
        if path.ends_with("site.md") { serde_yaml::from_str::<Site>(front).is_ok() } else { serde_yaml::from_str::<Job>(front).is_ok() }
    });
    println!("{} of {} records decoded", decoded.count(), files.len());
}
