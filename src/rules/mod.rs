//! THE list of rules. A rule is one block: what it is called, what it looks at, why it matters, on what authority, a bad and a good
//! example, how to put it right, and the check. `explain`, the manual, the machine formats and the tests all come from this list.
//!
//! To add a rule: one block in a family's file, one line in that family's list, one folder of cases under `tests/cases`.

/// An example that turns the sound book's visit into an inspection, with more keys laid over it.
macro_rules! inspection {
    ($more:literal) => {
        $crate::rules::Example::Keys(concat!(
            "kind: inspect\ndates: {designed: ~, installed: ~, energised: ~}\npeople: {designed: ~, built: ~}\noutcome: satisfactory\nextent: whole installation\nnotices: ~\n",
            "papers: [{kind: condition-report, number: \"LE-0142\", issued: 2026-11-03, given_to: customer, how: email, on: 2026-11-03}]\n",
            $more
        ))
    };
}

pub mod answers;
pub mod cable;
pub mod dates;
pub mod ev;
pub mod facts;
pub mod faults;
pub mod form;
pub mod identity;
pub mod inspections;
pub mod instruments;
pub mod insulation;
pub mod limits;
pub mod loops;
pub mod meant;
pub mod missing;
pub mod owed;
pub mod papers;
pub mod privacy;
pub mod protection;
pub mod rcds;
pub mod references;
pub mod seals;
pub mod story;
pub mod supply;
pub mod trends;
pub mod view;
pub mod visits;
pub mod words;

pub use crate::book::nearest;
use crate::finding::{Finding, Grade, Place};
use view::{BookView, CircuitView, JobView, SiteView};

/// The families of rules, in the order that lists show them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Files that cannot be read as they should.
    Form,
    /// Records that point at something that is not there.
    References,
    /// Tests and facts that should be there.
    Missing,
    /// Readings outside a published limit.
    Limits,
    /// Inspections overdue or dated wrongly.
    Inspections,
    /// Faults, advice and promises left open.
    Faults,
    /// Loop and continuity arithmetic.
    Loops,
    /// Insulation resistance.
    Insulation,
    /// RCDs.
    Rcds,
    /// Supply, earthing, fault level and demand.
    Supply,
    /// EV charging.
    Ev,
    /// Cable, device and termination.
    Cable,
    /// Trends.
    Trends,
    /// Instruments.
    Instruments,
    /// Dates, editions and deadlines.
    Dates,
    /// Papers and coding.
    Papers,
    /// Visits that belong together.
    Visits,
    /// Identity and copied readings.
    Identity,
    /// Photographs and privacy.
    Privacy,
    /// Records that are no longer what they were when sealed.
    Seals,
    /// Answers, settings and a backlog that no longer hold.
    Answers,
}

impl Family {
    /// Every family.
    pub const ALL: [Family; 21] = [
        Family::Form,
        Family::References,
        Family::Missing,
        Family::Limits,
        Family::Inspections,
        Family::Faults,
        Family::Loops,
        Family::Insulation,
        Family::Rcds,
        Family::Supply,
        Family::Ev,
        Family::Cable,
        Family::Trends,
        Family::Instruments,
        Family::Dates,
        Family::Papers,
        Family::Visits,
        Family::Identity,
        Family::Privacy,
        Family::Seals,
        Family::Answers,
    ];

    /// Its name in lists.
    pub fn title(self) -> &'static str {
        match self {
            Family::Form => "Files that cannot be read as they should",
            Family::References => "Records that point at something that is not there",
            Family::Missing => "Missing tests and facts",
            Family::Limits => "Readings out of limit",
            Family::Inspections => "Reinspections",
            Family::Faults => "Faults, advice and promises",
            Family::Loops => "Loop and continuity arithmetic",
            Family::Insulation => "Insulation resistance",
            Family::Rcds => "RCDs",
            Family::Supply => "Supply, earthing, fault level and demand",
            Family::Ev => "EV charging",
            Family::Cable => "Cable, device and termination",
            Family::Trends => "Trends",
            Family::Instruments => "Instruments",
            Family::Dates => "Dates, editions and deadlines",
            Family::Papers => "Papers and coding",
            Family::Visits => "Visits that belong together",
            Family::Identity => "Identity and copied readings",
            Family::Privacy => "Photographs and privacy",
            Family::Seals => "Seals",
            Family::Answers => "Answers, settings and the backlog",
        }
    }
}

/// A rule, whole.
pub struct Rule {
    /// Kebab-case; names the fault, not the cure; never reused.
    pub id: &'static str,
    /// The family it belongs to.
    pub family: Family,
    /// How grave it is, unless a case says otherwise.
    pub grade: Grade,
    /// What it says, in one line.
    pub title: &'static str,
    /// What it looks at, and when it stays quiet.
    pub looks_at: &'static str,
    /// Why it matters.
    pub why: &'static str,
    /// The authorities, each with its edition; `common practice` and `memory` are named as such.
    pub sources: &'static [&'static str],
    /// An example that fires it and nothing else.
    pub bad: Example,
    /// An example near it that is quiet.
    pub good: Example,
    /// How to put it right.
    pub cure: &'static str,
    /// The check.
    pub check: Check,
}

impl Rule {
    /// The first authority of the rule beyond good practice and the record format: what a finding cites unless its case says better.
    pub fn authority(&self) -> Option<&'static str> {
        self.sources.iter().copied().find(|source| !source.starts_with("common practice") && !source.starts_with("record format"))
    }
}

/// An example: a change to the sound book of the tests, short enough to be read as it stands.
#[derive(Debug, Clone, Copy)]
pub enum Example {
    /// YAML laid over the job of the sound book: maps are merged, lists of things with ids likewise by id, other lists and values
    /// replaced, `~` removes. A top-level key that is a file's path (`sites/elm-row/site.md`, `book.yaml`) is laid over that file,
    /// or makes a new one.
    Keys(&'static str),
    /// The text of the job with one piece replaced by another.
    Text {
        /// The piece that stands in the sound job.
        find: &'static str,
        /// What stands there instead.
        put: &'static str,
    },
    /// One more file, or another in place of one.
    File {
        /// Its path in the book.
        path: &'static str,
        /// Its bytes.
        bytes: &'static [u8],
    },
}

/// How a rule is checked.
pub enum Check {
    /// Told by the reading of files; see [`form`].
    Reading,
    /// Told when findings are judged; see [`answers`].
    Judging,
    /// Looks at each circuit of each visit.
    Circuit(fn(CircuitView<'_>, &mut Report<'_>)),
    /// Looks at each visit.
    Job(fn(JobView<'_>, &mut Report<'_>)),
    /// Looks at each site with all its visits.
    Site(fn(&SiteView<'_>, &mut Report<'_>)),
    /// Looks at the book's registers.
    Book(fn(BookView<'_>, &mut Report<'_>)),
    /// Looks at each site with all its visits, and at the book's registers.
    SiteAndBook(fn(&SiteView<'_>, &mut Report<'_>), fn(BookView<'_>, &mut Report<'_>)),
}

/// Takes a rule's findings.
pub struct Report<'r> {
    rule: &'static Rule,
    subject: String,
    findings: &'r mut Vec<Finding>,
}

impl<'r> Report<'r> {
    /// For one run of a rule's check over one subject.
    pub fn new(rule: &'static Rule, subject: &str, findings: &'r mut Vec<Finding>) -> Self {
        Report { rule, subject: subject.to_owned(), findings }
    }

    /// Raises a finding at a place. What the message needs beside it is added to the finding that comes back.
    pub fn raise(&mut self, place: Place, message: impl Into<String>) -> &mut Finding {
        self.findings.push(Finding {
            rule: self.rule.id,
            grade: self.rule.grade,
            place,
            subject: self.subject.clone(),
            message: message.into(),
            label: String::new(),
            help: self.rule.cure.to_owned(),
            source: self.rule.authority().unwrap_or_default().to_owned(),
            related: Vec::new(),
            fault: None,
            fix: None,
        });
        let last = self.findings.len() - 1;
        &mut self.findings[last]
    }
}

/// Every rule, family by family.
pub fn all() -> impl Iterator<Item = &'static Rule> + Clone {
    [
        form::RULES,
        references::RULES,
        missing::RULES,
        limits::RULES,
        inspections::RULES,
        faults::RULES,
        loops::RULES,
        insulation::RULES,
        rcds::RULES,
        supply::RULES,
        ev::RULES,
        cable::RULES,
        trends::RULES,
        instruments::RULES,
        dates::RULES,
        papers::RULES,
        visits::RULES,
        identity::RULES,
        privacy::RULES,
        seals::RULES,
        answers::RULES,
    ]
    .into_iter()
    .flatten()
    .copied()
}

/// A rule by its id.
pub fn by_id(id: &str) -> Option<&'static Rule> {
    all().find(|rule| rule.id == id)
}
