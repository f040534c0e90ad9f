//! One thing owed.

use crate::book::FieldPath;
use crate::finding::{Grade, Place};
use crate::record::{Code, Date};
use crate::rules::view::{JobView, SiteView};

/// What sort of thing is owed, in order of weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, clap::ValueEnum)]
pub enum Kind {
    /// Whatever is dangerous, of every kind: told not to use, isolated, C1 or C2, and nobody has put it right.
    Danger,
    /// A fault to go back to, or one left open with no day set.
    Return,
    /// A fault being watched.
    Watch,
    /// A claim on the seller or maker, without an answer.
    Claim,
    /// A notice to be sent, or one that waits for its answer or reference.
    Notice,
    /// The next inspection of a site.
    Inspection,
    /// A C1, C2 or FI that no record closes; faults with such a code too.
    Observation,
    /// A unit under a maker's notice that nobody has dealt with.
    Recall,
    /// An instrument's calibration or check.
    Calibration,
    /// A warranty that ends, with a fault of the unit on record.
    Warranty,
    /// A promise under `follow_ups`.
    Promise,
    /// Open work in the text.
    Task,
    /// A record that is a draft, planned or on hold.
    Record,
    /// A paper not issued, or not given.
    Paper,
}

impl Kind {
    /// The word for it, in lists and in JSON.
    pub const fn as_str(self) -> &'static str {
        match self {
            Kind::Danger => "danger",
            Kind::Return => "return",
            Kind::Watch => "watch",
            Kind::Claim => "claim",
            Kind::Notice => "notice",
            Kind::Inspection => "inspection",
            Kind::Observation => "observation",
            Kind::Recall => "recall",
            Kind::Calibration => "calibration",
            Kind::Warranty => "warranty",
            Kind::Promise => "promise",
            Kind::Task => "task",
            Kind::Record => "record",
            Kind::Paper => "paper",
        }
    }
}

/// Who sets the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// The record itself.
    Record,
    /// A law.
    Law,
    /// Guidance, where neither the record nor a law says anything.
    Guidance,
    /// Common practice, or the instrument's own rhythm.
    Practice,
}

impl Basis {
    /// The word for it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Basis::Record => "record",
            Basis::Law => "law",
            Basis::Guidance => "guidance",
            Basis::Practice => "practice",
        }
    }
}

/// One thing owed, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// What sort of thing it is; never [`Kind::Danger`], which is told by `danger`.
    pub kind: Kind,
    /// Whether somebody may be hurt: it is told first, whatever the window, and no answer quiets it.
    pub danger: bool,
    /// Its classification, where it has one.
    pub code: Option<Code>,
    /// The day by which it is owed.
    pub day: Option<Date>,
    /// Who sets that day.
    pub basis: Option<Basis>,
    /// The day since which it stands as it is or waits on somebody; such a thing is told whatever the window.
    pub since: Option<Date>,
    /// The site's id; nothing for the registers.
    pub site: Option<String>,
    /// The visit's id: its file name without `.md`.
    pub visit: Option<String>,
    /// The file, relative to the book's root.
    pub file: String,
    /// The value in its front matter; the root for the text.
    pub path: FieldPath,
    /// The line to open, from 1.
    pub line: usize,
    /// The id of the fault, observation, circuit, unit or paper.
    pub subject: String,
    /// What is owed, in a few words: the record's own where it has them. Not for eyes outside the book; see `shared`.
    pub what: String,
    /// What else there is to know, a few words each. Not for eyes outside the book either.
    pub notes: Vec<String>,
    /// Whether the text may leave the book: the site's `privacy.share` is `full`, and neither a contact's name, telephone number,
    /// address, access code nor a unit's serial is in it.
    pub shared: bool,
    /// Whether the site's id may leave the book: it holds no contact's name.
    pub site_shared: bool,
    /// Stays the same when the date moves: a digest of kind, site, visit and key.
    pub uid: String,
}

impl Item {
    /// Whether its day has passed.
    pub fn is_over(&self, on: Date) -> bool {
        self.day.is_some_and(|day| day < on)
    }

    /// Whether it is of that kind: a danger is of its own kind too, and a coded fault also an observation.
    pub fn is_of(&self, kind: Kind) -> bool {
        match kind {
            Kind::Danger => self.danger,
            Kind::Observation => self.kind == kind || self.code.is_some_and(|code| code != Code::C3),
            _ => self.kind == kind,
        }
    }

    /// Whether it is told when the window ends on that day.
    pub(super) fn is_told(&self, until: Option<Date>) -> bool {
        self.danger || self.since.is_some() || self.day.is_none_or(|day| until.is_none_or(|until| day <= until))
    }

    /// Dangers first, then by day, those without one last.
    pub(super) fn order(&self) -> impl Ord + '_ {
        (!self.danger, self.day.is_none(), self.day, self.kind, &self.file, self.line, &self.what)
    }
}

/// An item on its way: its place is not looked up yet, and an answer may still quiet it.
pub(super) struct Draft {
    pub item: Item,
    pub place: Place,
    /// Tells it from others of its kind in the visit; holds no date.
    pub key: String,
    /// The rule whose answered finding quiets it, at that rule's grade in this case.
    pub rule: Option<(&'static str, Grade)>,
}

impl Draft {
    /// Something owed at a place in a file.
    pub fn new(kind: Kind, place: Place, what: impl Into<String>) -> Draft {
        let item = Item {
            kind,
            danger: false,
            code: None,
            day: None,
            basis: None,
            since: None,
            site: None,
            visit: None,
            file: String::new(),
            path: FieldPath::root(),
            line: 0,
            subject: String::new(),
            what: what.into(),
            notes: Vec::new(),
            shared: false,
            site_shared: false,
            uid: String::new(),
        };
        Draft { item, place, key: String::new(), rule: None }
    }

    /// Something that a visit owes.
    pub fn of_visit(kind: Kind, job: JobView<'_>, path: FieldPath, what: impl Into<String>) -> Draft {
        let mut draft = Draft::new(kind, job.place(path), what).of(job.site);
        draft.item.visit = Some(job.id().to_owned());
        draft
    }

    /// It belongs to that site.
    pub fn of(mut self, site: &SiteView<'_>) -> Draft {
        self.item.site = Some(site.id().to_owned());
        self
    }

    /// What tells it from others of its kind in the visit.
    pub fn key(mut self, key: impl Into<String>) -> Draft {
        self.key = key.into();
        self
    }

    /// What it is about.
    pub fn subject(mut self, subject: impl Into<String>) -> Draft {
        self.item.subject = subject.into();
        self
    }

    /// The day, and who sets it.
    pub fn due(mut self, day: Option<Date>, basis: Basis) -> Draft {
        self.item.day = day;
        self.item.basis = day.map(|_| basis);
        self
    }

    /// The day since which it waits.
    pub fn since(mut self, day: Option<Date>) -> Draft {
        self.item.since = day;
        self
    }

    /// Whether somebody may be hurt.
    pub fn danger(mut self, danger: bool) -> Draft {
        self.item.danger = danger;
        self
    }

    /// Its classification.
    pub fn code(mut self, code: Option<Code>) -> Draft {
        self.item.code = code;
        self
    }

    /// Something else to know; nothing when empty.
    pub fn note(mut self, note: impl Into<String>) -> Draft {
        let note = note.into();
        if !note.is_empty() {
            self.item.notes.push(note);
        }
        self
    }

    /// An answer to that rule quiets it.
    pub fn quieted_by(mut self, rule: &'static str, grade: Grade) -> Draft {
        self.rule = Some((rule, grade));
        self
    }
}
