//! The backlog: the findings that an inherited book began with, accepted for the time being, so that what is new can be seen.
//!
//! It counts: so many findings of one rule about one thing (a circuit, a fault) of one file, no graver than they were. Line numbers and
//! messages play no part, so a record can be edited; a thing with one finding more than its count shows them all, because nobody can
//! say which of them is the new one. A danger is never accepted. Counts only go down, unless somebody asks to add and says why.
//!
//! What the backlog quiets is decided in `judge`, with everything else that quiets a finding.

use std::collections::BTreeMap;

use crate::book::{Book, RollFile};
use crate::finding::{Finding, Grade};
use crate::judge::{Filter, Verdict};
use crate::record::{Accepted, Backlog, Count, Date};
use crate::rolls;
use crate::rules::{self, Check, Family};
use crate::write::WriteError;

/// What an entry counts: file, rule and subject.
pub type Key<'a> = (&'a str, &'a str, &'a str);

/// What a finding is counted under; nothing for what no backlog may accept: dangers, broken seals, and what is said of answers,
/// settings and the backlog itself.
pub fn key_of(finding: &Finding) -> Option<Key<'_>> {
    let rule = rules::by_id(finding.rule)?;
    let is_broken_seal = rule.family == Family::Seals && rule.grade != Grade::Tidy;
    let never = finding.grade == Grade::Danger || is_broken_seal || matches!(rule.check, Check::Judging);
    (!never).then_some((finding.place.file.path.as_str(), finding.rule, finding.subject.as_str()))
}

/// What an entry of the backlog counts, when it is whole.
pub fn key(entry: &Accepted) -> Option<Key<'_>> {
    let is_whole = entry.grade.is_some_and(|grade| grade != Grade::Danger) && entry.count.is_some() && says_why(entry);
    let (file, rule) = entry.file.as_deref().zip(entry.rule.as_deref())?;
    is_whole.then(|| (file, rule, entry.at.as_deref().unwrap_or_default()))
}

/// Whether an entry gives a reason.
pub fn says_why(entry: &Accepted) -> bool {
    entry.why.as_deref().is_some_and(|why| !why.trim().is_empty())
}

/// What somebody asked to accept.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Why; needed for whatever is new in the backlog.
    pub reason: Option<&'a str>,
    /// Take in findings that an existing backlog does not hold.
    pub add: bool,
    /// The day.
    pub on: Date,
    /// The last day on which it holds.
    pub until: Option<Date>,
}

/// What a backlog comes to.
#[derive(Debug, Default)]
pub struct Renewed {
    /// The entries, sorted.
    pub entries: Vec<Accepted>,
    /// Findings taken in.
    pub added: u32,
    /// By how much counts were lowered.
    pub lowered: u32,
    /// Findings that the backlog does not hold and that were not to be added.
    pub left: u32,
}

/// The findings of one key, by their grades.
#[derive(Default)]
struct Found(Vec<Grade>);

impl Found {
    /// How many are no graver than `grade`.
    fn no_graver_than(&self, grade: Option<Grade>) -> u32 {
        self.0.iter().filter(|found| Some(**found) >= grade).count() as u32
    }
}

/// Brings a backlog in step with what was found, within the filter that the verdict was made with: lowers what is no longer found, and
/// takes in what is new where that is asked for or where there was no backlog.
pub fn renew(file: &RollFile<Backlog>, verdict: &Verdict, filter: &Filter, asked: &Asked<'_>) -> Renewed {
    let mut found: BTreeMap<Key<'_>, Found> = BTreeMap::new();
    let mut standing: BTreeMap<Key<'_>, u32> = BTreeMap::new();
    for finding in verdict.accepted.iter().map(|accepted| &accepted.finding).chain(&verdict.findings) {
        if let Some(key) = key_of(finding) {
            found.entry(key).or_default().0.push(finding.grade);
        }
    }
    for key in verdict.findings.iter().filter_map(key_of) {
        *standing.entry(key).or_default() += 1;
    }
    let takes_in = asked.add || !file.is_there;
    let mut renewed = Renewed::default();
    let mut kept: BTreeMap<Key<'_>, Accepted> = BTreeMap::new();
    for entry in file.entries.iter().map(|entry| &entry.data) {
        let Some(key) = key(entry) else {
            renewed.entries.push(entry.clone());
            continue;
        };
        let (of_file, of_rule, _) = key;
        let allowed = entry.count.map_or(0, |count| *count);
        let here = found.get(&key).map_or(0, |found| found.no_graver_than(entry.grade));
        let held = if filter.holds(of_rule, of_file) { allowed.min(here) } else { allowed };
        renewed.lowered += allowed - held;
        let other = kept.get(&key).and_then(|other| other.count).map_or(u32::MAX, |count| *count);
        if held > 0 && held < other {
            kept.insert(key, Accepted { count: Some(Count(held)), ..entry.clone() });
        }
    }
    for (key, count) in &standing {
        if !takes_in {
            renewed.left += count;
            continue;
        }
        let (of_file, of_rule, at) = *key;
        renewed.added += count;
        let all = found.get(key).map_or(&[][..], |found| &found.0);
        let entry = Accepted {
            file: Some(of_file.to_owned()),
            rule: Some(of_rule.to_owned()),
            at: (!at.is_empty()).then(|| at.to_owned()),
            grade: all.iter().min().copied(),
            count: Some(Count(all.len() as u32)),
            on: Some(asked.on),
            until: asked.until,
            why: asked.reason.map(str::to_owned),
        };
        kept.insert(*key, entry);
    }
    renewed.entries.extend(kept.into_values());
    renewed.entries.sort_by(|a, b| (&a.file, &a.rule, &a.at).cmp(&(&b.file, &b.rule, &b.at)));
    renewed
}

/// Writes a renewed backlog.
pub fn write(book: &Book, renewed: &Renewed) -> Result<(), WriteError> {
    rolls::save(book, book.backlog(), &rolls::backlog(&renewed.entries))
}
