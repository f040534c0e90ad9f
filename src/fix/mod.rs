//! Fixes: edits of a file that put a fault of form right and change nothing else.
//!
//! A fix is *safe* when it changes only how something is written, so that nothing a person meant can become something else: quotes, fences,
//! indents, a date with its year in front, a key with a hyphen for an underscore. Where a program has to guess what was meant, however well,
//! the fix is *unsafe* and asked for by that name. No reading, date or name is ever made up, and where two meanings are possible
//! (`1,250`, `02/03/2026`) there is no fix.
//!
//! No fix is believed before the mended text has been read again ([`proof`]): the fault must be gone, no other may have come, and every
//! other value must be what it was. Faults are mended in the file as the reading copy mends them ([`crate::book::Cure`]), so that the record
//! reads afterwards as it was read before.

mod apply;
mod proof;
mod propose;

use rayon::prelude::*;

pub use apply::{Mended, Plan, Refused, plan, plan_text, write};

use crate::book::{self, Book, Edit, Reading};
use crate::finding::Finding;
use crate::judge::Verdict;
use crate::record::Job;
use crate::seal::Form;

/// Whether a fix can change what somebody meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Safety {
    /// Only the writing changes.
    Safe,
    /// It rests on a guess of what was meant; look at what it writes.
    Unsafe,
}

/// Edits that put one finding right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fix {
    /// What it does, as an order: `put straight quotes`.
    pub title: String,
    /// The file, relative to the book's root.
    pub file: String,
    /// The edits, in order and apart, in bytes of the file's text without a byte-order mark.
    pub edits: Vec<Edit>,
    /// Whether it can change what was meant.
    pub safety: Safety,
}

impl Fix {
    /// Whether it is made without `--unsafe`.
    pub fn is_safe(&self) -> bool {
        self.safety == Safety::Safe
    }

    /// The text with its edits made.
    pub fn made_in(&self, text: &str) -> String {
        let mut made = String::with_capacity(text.len() + 16);
        let mut from = 0;
        for edit in &self.edits {
            made.push_str(text.get(from..edit.range.start).unwrap_or_default());
            made.push_str(&edit.text);
            from = edit.range.end;
        }
        made.push_str(text.get(from..).unwrap_or_default());
        made
    }
}

/// The fixes of a finding: those whose outcome has been read again and found good. They are edits of the text that the finding holds.
pub fn fixes(book: &Book, finding: &Finding) -> Vec<Fix> {
    let file = &finding.place.file;
    book::read_as_placed(&file.path, file.text.clone()).map_or_else(Vec::new, |reading| fixes_in(book, &reading, finding))
}

fn fixes_in(book: &Book, reading: &Reading, finding: &Finding) -> Vec<Fix> {
    let fault = finding.fault.as_ref().filter(|_| proof::may_be_mended(reading).is_ok());
    let fix = fault.and_then(|fault| propose::fix(&reading.source, fault).filter(|fix| proven(book, reading, fault, fix).is_ok()));
    fix.into_iter().collect()
}

/// Reads the mended text again, and says why it is not good enough.
fn proven(book: &Book, before: &Reading, fault: &book::Fault, fix: &Fix) -> Result<Reading, String> {
    let after = proof::proven(before, fault, fix)?;
    let path = &after.source.path;
    let is_sealed = book.seals().about(path).next().is_some();
    if is_sealed && form_of(before).digest() != form_of(&after).digest() {
        return Err("the record is sealed, and its seal would no longer fit".to_owned());
    }
    Ok(after)
}

fn form_of(reading: &Reading) -> Form {
    let text = reading.source.text.clone();
    Form::of(&book::record_from_text::<Job>(&reading.source.path, text, String::new(), Vec::new()))
}

/// Looks for a fix of every finding that stands, and notes it there.
pub fn offer(book: &Book, verdict: &mut Verdict) {
    let mut by_file: Vec<Vec<&mut Finding>> = Vec::new();
    let mut standing: Vec<&mut Finding> = verdict.findings.iter_mut().filter(|finding| finding.fault.is_some()).collect();
    standing.sort_by(|a, b| a.place.file.path.cmp(&b.place.file.path));
    for finding in standing {
        match by_file.last_mut() {
            Some(last) if last.last().is_some_and(|other| other.place.file.path == finding.place.file.path) => last.push(finding),
            _ => by_file.push(vec![finding]),
        }
    }
    by_file.par_iter_mut().for_each(|findings| {
        let Some(file) = findings.first().map(|finding| finding.place.file.clone()) else { return };
        let Some(reading) = book::read_as_placed(&file.path, file.text.clone()) else { return };
        for finding in findings {
            finding.fix = fixes_in(book, &reading, finding).into_iter().next();
        }
    });
}
