//! The files at the book's root that the program keeps itself: a short head, then a list with one entry a line.
//!
//! They are read entry by entry, so that a long file is read in parallel, a damaged line costs that line only, and a file that git
//! left half merged still gives the entries of both sides.

use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use rayon::prelude::*;
use serde::de::DeserializeOwned;

use super::decode::decode;
use super::fault::{Fault, FaultKind};
use super::path::{FieldPath, Step};
use super::source::{SourceFile, lines};
use super::{Files, read_text, unreadable};
use crate::record::{Accepted, Backlog, Seal, Seals};

/// More bytes than the seals of a working life.
const MAX_BYTES: u64 = 64 * 1024 * 1024;

/// A kind of such a file.
pub trait Roll: DeserializeOwned + Default + Send {
    /// Its name in the book's root.
    const FILE: &'static str;
    /// The key of its list.
    const LIST: &'static str;
    /// What stands on a line.
    type Entry: Send;
    /// Takes the entries out of what was decoded.
    fn take(&mut self) -> Vec<Self::Entry>;
    /// The file of the book that an entry is about.
    fn about(entry: &Self::Entry) -> Option<&str>;
}

impl Roll for Seals {
    const FILE: &'static str = "seals.yaml";
    const LIST: &'static str = "seals";
    type Entry = Seal;
    fn take(&mut self) -> Vec<Seal> {
        std::mem::take(&mut self.seals)
    }
    fn about(entry: &Seal) -> Option<&str> {
        entry.file.as_deref()
    }
}

impl Roll for Backlog {
    const FILE: &'static str = "backlog.yaml";
    const LIST: &'static str = "accepted";
    type Entry = Accepted;
    fn take(&mut self) -> Vec<Accepted> {
        std::mem::take(&mut self.accepted)
    }
    fn about(entry: &Accepted) -> Option<&str> {
        entry.file.as_deref()
    }
}

/// One entry and where it stands.
#[derive(Debug)]
pub struct Entry<T> {
    /// What it says.
    pub data: T,
    /// The bytes to show for it.
    pub span: Range<usize>,
}

/// Such a file, read.
#[derive(Debug)]
pub struct RollFile<R: Roll> {
    /// The file.
    pub source: Arc<SourceFile>,
    /// Whether the file is there at all.
    pub is_there: bool,
    /// What stands above its list.
    pub head: R,
    /// The entries in the order in which they are written.
    pub entries: Vec<Entry<R::Entry>>,
    /// What is wrong with its form.
    pub faults: Vec<Fault>,
    by_file: HashMap<String, Vec<usize>>,
}

impl<R: Roll> RollFile<R> {
    /// Reads the file among those of a book; one that is not there has no entries and no faults.
    pub(super) fn read(files: &Files) -> RollFile<R> {
        let without_text = |is_there: bool, faults: Vec<Fault>| {
            let none = RollFile::of(String::new(), Vec::new());
            RollFile { is_there, faults, ..none }
        };
        match files.is_anything(R::FILE) {
            Ok(()) => {}
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return without_text(false, Vec::new()),
            Err(error) => return without_text(true, vec![unreadable(&error)]),
        }
        let mut faults = Vec::new();
        match read_text(files, R::FILE, MAX_BYTES, &mut faults) {
            Ok(text) => RollFile::of(text, faults),
            Err(error) => without_text(true, vec![unreadable(&error)]),
        }
    }

    /// Reads a text that may not have reached the disk yet.
    pub fn of(text: String, mut faults: Vec<Fault>) -> RollFile<R> {
        if text.trim().is_empty() {
            faults.push(Fault::at(FaultKind::Empty, 0..0));
        }
        let clean = without_marks(&text, &mut faults);
        let starts: Vec<usize> =
            lines(&clean).filter(|(_, line)| *line == "-" || line.starts_with("- ")).map(|(range, _)| range.start).collect();
        let first = starts.first().copied().unwrap_or(clean.len());
        let mut head = R::default();
        let mut entries = Vec::new();
        if !clean[..first].trim().is_empty() {
            let mut source = SourceFile::yaml(R::FILE.to_owned(), clean[..first].to_owned());
            head = decode::<R>(&mut source, &mut faults).data;
            // A list in brackets, or indented by another program, is part of the head.
            let shown = clean.find(R::LIST).map_or(0..0, |at| at..at + R::LIST.len());
            entries.extend(head.take().into_iter().map(|data| Entry { data, span: shown.clone() }));
        }
        let ends = starts.iter().skip(1).copied().chain([clean.len()]);
        let items: Vec<Range<usize>> = starts.iter().copied().zip(ends).map(|(start, end)| start..end).collect();
        let first_index = entries.len();
        let read: Vec<_> = items.par_iter().enumerate().map(|(index, item)| read_item::<R>(&clean, item, first_index + index)).collect();
        for (mut found, mut told) in read {
            entries.append(&mut found);
            faults.append(&mut told);
        }
        let mut by_file: HashMap<String, Vec<usize>> = HashMap::new();
        for (index, entry) in entries.iter().enumerate() {
            if let Some(file) = R::about(&entry.data) {
                by_file.entry(file.to_owned()).or_default().push(index);
            }
        }
        let source = Arc::new(SourceFile::yaml(R::FILE.to_owned(), text));
        RollFile { source, is_there: true, head, entries, faults, by_file }
    }

    /// The entries about one file of the book.
    pub fn about(&self, file: &str) -> impl DoubleEndedIterator<Item = &Entry<R::Entry>> + Clone {
        self.by_file.get(file).map_or(&[][..], Vec::as_slice).iter().filter_map(|index| self.entries.get(*index))
    }
}

/// Tells of the marks that git left, and blanks them: both sides of them are entries.
fn without_marks(text: &str, faults: &mut Vec<Fault>) -> String {
    let is_mark = |line: &str| line == "=======" || ["<<<<<<< ", "||||||| ", ">>>>>>> "].iter().any(|mark| line.starts_with(mark));
    let mut clean = String::with_capacity(text.len());
    let mut kept = 0;
    for (range, line) in lines(text).filter(|(_, line)| is_mark(line)) {
        if line.starts_with("<<<<<<< ") {
            faults.push(Fault::at(FaultKind::ConflictMarks, range.clone()));
        }
        clean.push_str(&text[kept..range.start]);
        clean.extend(std::iter::repeat_n(' ', range.len()));
        kept = range.end;
    }
    clean.push_str(&text[kept..]);
    clean
}

/// Reads the entry that stands at `item`, in the file's own coordinates.
fn read_item<R: Roll>(text: &str, item: &Range<usize>, index: usize) -> (Vec<Entry<R::Entry>>, Vec<Fault>) {
    let lead = format!("{}:\n", R::LIST);
    let mut source = SourceFile::yaml(R::FILE.to_owned(), format!("{lead}{}", &text[item.clone()]));
    let mut faults = Vec::new();
    let mut decoded = decode::<R>(&mut source, &mut faults);
    let in_file = |span: &Range<usize>| {
        let at = |at: usize| at.saturating_sub(lead.len()) + item.start;
        at(span.start)..at(span.end)
    };
    for fault in &mut faults {
        fault.span = in_file(&fault.span);
        if let FaultKind::DuplicateKey { first, .. } = &mut fault.kind {
            *first = in_file(first);
        }
        let steps = fault.path.steps().iter().enumerate();
        fault.path = steps.map(|(depth, step)| if depth == 1 { Step::Index(index) } else { step.clone() }).collect::<FieldPath>();
    }
    // What is known only in part speaks for nothing.
    if !decoded.unreadable.is_empty() || decoded.lost {
        return (Vec::new(), faults);
    }
    let line = &text[item.clone()];
    let shown = |entry: &R::Entry| {
        let name = R::about(entry).and_then(|file| Some(line.find(file)?..line.find(file)? + file.len()));
        name.map_or(item.start..item.start + 1, |name| name.start + item.start..name.end + item.start)
    };
    (decoded.data.take().into_iter().map(|data| Entry { span: shown(&data), data }).collect(), faults)
}
