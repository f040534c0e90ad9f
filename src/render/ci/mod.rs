//! The forms that code hosts and their pipelines read. Each is written from the one list below, so that none leaves out what another tells.

mod github;
mod gitlab;
mod junit;
mod markdown;
mod sarif;

pub use github::github;
pub use gitlab::gitlab;
pub use junit::junit;
pub use markdown::markdown;
pub use sarif::sarif;

use std::collections::HashMap;

use super::place::{Spot, visible};
use super::unsaid_subject;
use crate::book::Step;
use crate::digest;
use crate::finding::{Finding, Grade, Place};
use crate::judge::Verdict;

/// What a form needs to know of the run beside its findings.
#[derive(Debug, Clone, Default)]
pub struct Run {
    /// The path from the top of the repository to the book: `""` or one that ends with `/`. Code hosts name files from the top.
    pub prefix: String,
    /// The mildest grade that fails the run; nothing where none does.
    pub fail_on: Option<Grade>,
    /// Whether answered findings are wanted, in the forms that do not always hold them; those that the backlog accepts are in the verdict
    /// only when they are wanted.
    pub show_answered: bool,
}

impl Run {
    /// A file's path from the top of the repository.
    fn path(&self, place: &Place) -> String {
        format!("{}{}", self.prefix, place.file.path)
    }

    /// Whether a finding of this grade fails the run.
    fn fails(&self, grade: Grade) -> bool {
        self.fail_on.is_some_and(|threshold| grade <= threshold)
    }
}

/// Why a finding does not stand.
#[derive(Clone, Copy)]
enum Quiet<'a> {
    /// Its owner's answer, with the reason.
    Answered(&'a str),
    /// The book's backlog, with the reason.
    Accepted(&'a str),
}

/// A finding, and why it does not stand where it does not.
struct Told<'a> {
    finding: &'a Finding,
    quiet: Option<Quiet<'a>>,
    fingerprint: String,
}

impl Told<'_> {
    /// What is wrong, on one line, the subject first.
    fn text(&self) -> String {
        let subject = unsaid_subject(self.finding).map_or(String::new(), |subject| format!("{subject}: "));
        flat(&format!("{subject}{}", self.finding.message))
    }

    /// What to do and on what authority, on one line; empty where nothing is known.
    fn advice(&self) -> String {
        let Finding { help, source, .. } = self.finding;
        let source = if source.is_empty() { String::new() } else { format!("Source: {source}.") };
        flat([help.as_str(), &source].iter().filter(|text| !text.is_empty()).copied().collect::<Vec<_>>().join(" ").as_str())
    }

    /// `answered: <reason>`, or `in the backlog: <reason>`, on one line.
    fn reason(&self) -> Option<String> {
        self.quiet.map(|quiet| match quiet {
            Quiet::Answered(why) => flat(&format!("answered: {why}")),
            Quiet::Accepted(why) => flat(&format!("in the backlog: {why}")),
        })
    }

    fn spot(&self) -> Spot {
        Spot::of(&self.finding.place)
    }
}

/// One line with nothing in it that steers a terminal.
fn flat(text: &str) -> String {
    visible(text).replace('\n', " ")
}

/// Every finding, worst first, then what has been answered, where it is wanted, and what the backlog accepts.
fn told(verdict: &Verdict, with_answered: bool) -> Vec<Told<'_>> {
    let standing = verdict.findings.iter().map(|finding| (finding, None));
    let answered =
        verdict.answered.iter().filter(|_| with_answered).map(|answered| (&answered.finding, Some(Quiet::Answered(&answered.why))));
    let accepted = verdict.accepted.iter().map(|accepted| (&accepted.finding, Some(Quiet::Accepted(&accepted.why))));
    let mut seen = HashMap::new();
    let mut told: Vec<Told> = Vec::new();
    for (finding, quiet) in standing.chain(answered).chain(accepted) {
        let name = name(finding);
        let before = seen.entry(name.clone()).and_modify(|count| *count += 1).or_insert(0_usize);
        told.push(Told { finding, quiet, fingerprint: fingerprint(&name, *before) });
    }
    told
}

/// What a finding is called from one run to the next: its rule, file, subject and key. Neither lines nor the message are in it, since an
/// edit above moves the one and every day changes the other; nor are places in lists, which a new entry moves.
fn name(finding: &Finding) -> String {
    let key = |step: &Step| match step {
        Step::Key(key) => key.clone().into_owned(),
        Step::Index(_) => "*".to_owned(),
    };
    let keys: Vec<String> = finding.place.path.steps().iter().map(key).collect();
    format!("{}\n{}\n{}\n{}", finding.rule, finding.place.file.path, finding.subject, keys.join("/"))
}

/// A hash of a finding's name, and of how many of the same name came before it.
fn fingerprint(name: &str, before: usize) -> String {
    digest::short(&format!("{name}\n{before}"))
}
