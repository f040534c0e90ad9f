//! Mending whole files: one fix after another, each proven, until none is left; and writing them.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::{Fix, Safety, proof, propose, proven};
use crate::book::{self, Book, Fault, Reading};
use crate::judge::Verdict;
use crate::render::line_number;
use crate::rules::form;
use crate::system;
use crate::write::{self, WriteError};

/// Rounds after which a file is left as far as it has come; each makes one fix.
const MAX_ROUNDS: usize = 1000;

/// A file with its fixes made.
#[derive(Debug, Clone)]
pub struct Mended {
    /// The file, relative to the book's root.
    pub file: String,
    /// Its text as it was, without a byte-order mark.
    pub before: String,
    /// Its text as it will be.
    pub after: String,
    /// The rules whose findings are put right, and how many of each.
    pub done: BTreeMap<&'static str, usize>,
}

/// A fix that is not made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// The file.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
    /// The rule.
    pub rule: &'static str,
    /// Why not.
    pub why: String,
}

/// What `--fix` comes to; nothing is written yet.
#[derive(Debug, Default)]
pub struct Plan {
    /// Files that change.
    pub mended: Vec<Mended>,
    /// What is not mended although a fix is known.
    pub refused: Vec<Refused>,
}

/// Works out what fixes make of the findings that stand, those up to `most`. Answered and accepted findings are left alone.
pub fn plan(book: &Book, verdict: &Verdict, most: Safety) -> Plan {
    let mut wanted: BTreeMap<&str, (String, BTreeSet<&'static str>)> = BTreeMap::new();
    for finding in verdict.findings.iter().filter(|finding| finding.fault.is_some()) {
        let file = &finding.place.file;
        wanted.entry(&file.path).or_insert_with(|| (file.text.clone(), BTreeSet::new())).1.insert(finding.rule);
    }
    for quieted in verdict.answered.iter().chain(&verdict.accepted) {
        if let Some((_, rules)) = wanted.get_mut(quieted.finding.place.file.path.as_str()) {
            rules.remove(quieted.finding.rule);
        }
    }
    let files: Vec<_> = wanted.into_iter().collect();
    let plans: Vec<Plan> = files.into_par_iter().map(|(file, (text, rules))| plan_file(book, file, &text, &rules, most)).collect();
    let mut all = Plan::default();
    for mut plan in plans {
        all.mended.append(&mut plan.mended);
        all.refused.append(&mut plan.refused);
    }
    all
}

/// One fault with its fix, as the next to be tried.
struct Candidate<'f> {
    fault: &'f Fault,
    fix: Fix,
    rule: &'static str,
    line: usize,
}

impl Candidate<'_> {
    fn refused(&self, why: String) -> Refused {
        Refused { file: self.fix.file.clone(), line: self.line, rule: self.rule, why }
    }
}

/// The fixes that are asked for, in the order of the file.
fn candidates<'f>(reading: &'f Reading, wanted: &dyn Fn(&str) -> bool, most: Safety) -> Vec<Candidate<'f>> {
    let mut faults: Vec<&Fault> = reading.faults.iter().collect();
    faults.sort_by_key(|fault| fault.span.start);
    let candidate = |fault: &'f Fault| {
        let fix = propose::fix(&reading.source, fault).filter(|fix| fix.safety <= most)?;
        let rule = form::rule_of(&reading.source, fault);
        let line = line_number(&reading.source, fault.span.start);
        wanted(rule).then_some(Candidate { fault, fix, rule, line })
    };
    faults.into_iter().filter_map(candidate).collect()
}

fn plan_file(book: &Book, file: &str, text: &str, rules: &BTreeSet<&'static str>, most: Safety) -> Plan {
    let wanted = |rule: &str| rules.contains(rule);
    let mut plan = plan_text(book, file, text, &wanted, most);
    let may_be_written = if plan.mended.is_empty() { Ok(()) } else { is_on_disk(book, file, text) };
    if let Err(why) = may_be_written
        && let Some(reading) = book::read_as_placed(file, text.to_owned())
    {
        plan.refused = candidates(&reading, &wanted, most).iter().map(|candidate| candidate.refused(why.clone())).collect();
        plan.mended.clear();
    }
    plan
}

/// Works out what fixes up to `most` make of one file's text, wherever it comes from; of the findings of those rules that are wanted.
pub fn plan_text(book: &Book, file: &str, text: &str, wanted: &dyn Fn(&str) -> bool, most: Safety) -> Plan {
    let Some(mut reading) = book::read_as_placed(file, text.to_owned()) else { return Plan::default() };
    if let Err(why) = proof::may_be_mended(&reading) {
        let refused = candidates(&reading, wanted, most).iter().map(|candidate| candidate.refused(why.clone())).collect();
        return Plan { mended: Vec::new(), refused };
    }
    let mut done: BTreeMap<&'static str, usize> = BTreeMap::new();
    // Fixes that undo one another would come back to a text that has been there.
    let mut seen = BTreeSet::from([text.to_owned()]);
    let mut refused = Vec::new();
    for _ in 0..MAX_ROUNDS {
        refused.clear();
        let mut next = None;
        for candidate in candidates(&reading, wanted, most) {
            match proven(book, &reading, candidate.fault, &candidate.fix) {
                Ok(after) if !seen.insert(after.source.text.clone()) => {
                    refused.push(candidate.refused("it would undo another fix".to_owned()));
                }
                Ok(after) => {
                    next = Some((after, candidate.rule));
                    break;
                }
                Err(why) => refused.push(candidate.refused(why)),
            }
        }
        let Some((after, rule)) = next else { break };
        *done.entry(rule).or_default() += 1;
        reading = after;
    }
    let mended = Mended { file: file.to_owned(), before: text.to_owned(), after: reading.source.text.clone(), done };
    Plan { mended: if mended.done.is_empty() { Vec::new() } else { vec![mended] }, refused }
}

/// Whether the text that was read is the file's own, byte for byte: not cut off, not translated, not of a moment ago.
fn is_on_disk(book: &Book, file: &str, text: &str) -> Result<(), String> {
    let bytes = system::read(&book.root.join(file)).map_err(|error| format!("the file cannot be opened: {}", system::why(&error)))?;
    match std::str::from_utf8(write::without_mark(&bytes)) {
        Ok(now) if now == text => Ok(()),
        Ok(_) => Err("only part of the file was read, or it has changed meanwhile".to_owned()),
        Err(_) => Err("the file is not in UTF-8".to_owned()),
    }
}

/// Writes what was planned, each file whole, and says which could not be written.
pub fn write(book: &Book, plan: &Plan) -> Vec<(String, WriteError)> {
    let mut failed = Vec::new();
    for mended in &plan.mended {
        let Mended { file, before, after, .. } = mended;
        // Read back from the disk, it must be the text that was proven.
        if let Err(error) = write::renew(&book.root, file, before, after, |written| written == *after) {
            failed.push((file.clone(), error));
        }
    }
    failed
}
