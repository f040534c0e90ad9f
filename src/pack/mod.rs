//! Handing over: a folder of copies for somebody else, with private details left out as each site's `privacy` says, photographs stripped
//! of everything but the picture, and a cover page that says what is dangerous, what is open, what is not known and what was withheld.
//!
//! The folder is a book of its own. It is written beside its place, read again, and put there only when nothing private is found in it.

mod cover;
mod owed;
pub mod picture;
mod plan;
mod private;
mod proof;
mod redact;
mod told;
mod write;

use std::path::{Path, PathBuf};

use crate::book::{Book, CONTACTS_FILE};
use crate::check::check;
use crate::finding::Grade;
use crate::judge::{Filter, Verdict, judge};
use crate::record::Date;

/// For whom a copy is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Audience {
    /// Whoever buys the place, and the buyer's solicitor: papers and their schedules, notices, equipment, what is open.
    Buyer,
    /// Whoever assesses the electrician's work: jobs of a period, instruments with their checks, late notices, what is open.
    Assessor,
    /// Another electrician who takes the records over: all that the customers agreed to, and what is owed.
    Successor,
    /// The customer, who asks what is held: everything about the one place, how long it is kept and why.
    Customer,
}

impl Audience {
    /// The word for it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Audience::Buyer => "buyer",
            Audience::Assessor => "assessor",
            Audience::Successor => "successor",
            Audience::Customer => "customer",
        }
    }
}

/// What is asked for.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// For whom.
    pub audience: Audience,
    /// The sites, by id, in order; all when empty.
    pub sites: Vec<String>,
    /// The first day of the period that the list of jobs covers.
    pub from: Option<Date>,
    /// The last day of it.
    pub to: Option<Date>,
    /// The day of the hand-over, from which dates are judged.
    pub on: Date,
}

impl Wanted {
    /// Whether a day lies in the period; every day does where none is set.
    fn holds(&self, day: Option<Date>) -> bool {
        let bounded = self.from.is_some() || self.to.is_some();
        day.map_or(!bounded, |day| self.from.is_none_or(|from| from <= day) && self.to.is_none_or(|to| day <= to))
    }
}

/// Something that was left out.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Withheld {
    /// The site as the copy names it; empty for what belongs to none.
    pub site: String,
    /// What it is.
    pub what: String,
    /// Why.
    pub why: &'static str,
}

/// What was handed over.
#[derive(Debug)]
pub struct Packed {
    /// Sites in the copy.
    pub sites: usize,
    /// Visits in it.
    pub visits: usize,
    /// Photographs in it.
    pub photographs: usize,
    /// Dangers told on the cover page.
    pub dangers: usize,
    /// What was left out; one entry for each.
    pub withheld: Vec<Withheld>,
    /// The ids of the sites kept back whole, in the order of their numbers on the cover page, each with whether something dangerous is
    /// open there. For the keeper's eyes only.
    pub kept_back: Vec<(String, bool)>,
    /// Sites and files that bear another name in the copy: the old and the new. For the keeper's eyes only.
    pub renamed: Vec<(String, String)>,
    /// SHA-256 of the list of digests, in hexadecimal: one mark for the whole copy.
    pub mark: String,
}

/// Why nothing was handed over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PackError {
    /// The folder is there and holds something.
    NotEmpty(PathBuf),
    /// The folder would stand in the book.
    InBook(PathBuf),
    /// Nothing of what was asked for may be shared; how many dangers are open there.
    NothingShared(usize),
    /// The contacts are there and cannot be read, so that nobody can say whether a text holds one.
    ContactsUnread,
    /// Nothing fits what was asked for.
    Nothing,
    /// After writing, this file still held something private.
    NotClean(String, &'static str),
    /// The system refused.
    Refused(String, String),
}

impl std::fmt::Display for PackError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            PackError::NotEmpty(path) => write!(f, "{} is there already and holds something; it was left as it is", path.display()),
            PackError::InBook(path) => write!(f, "{} lies in the book itself, and a copy does not belong there", path.display()),
            PackError::NothingShared(0) => f.write_str("nothing of this may be shared: its `privacy` says `share: none`"),
            PackError::NothingShared(dangers) => write!(
                f,
                "nothing of this may be shared: its `privacy` says `share: none`; but {} open there, and whoever is at the place has to be told",
                if *dangers == 1 { "a danger is".to_owned() } else { format!("{dangers} dangers are") }
            ),
            PackError::ContactsUnread => {
                write!(f, "{CONTACTS_FILE} cannot be read, so that nobody can say whether a text names somebody in it")
            }
            PackError::Nothing => f.write_str("no site of this book has a visit in that period"),
            PackError::NotClean(file, what) => write!(f, "nothing was handed over: {file} would still have held {what}"),
            PackError::Refused(path, why) => write!(f, "{path} could not be written: {why}"),
        }
    }
}

impl std::error::Error for PackError {}

/// Makes the folder `out`, which must not be there or be empty. The book itself is not touched.
pub fn pack(book: &Book, wanted: &Wanted, out: &Path) -> Result<Packed, PackError> {
    let place = write::Place::at(book, out)?;
    if book.contacts.is_unread() {
        return Err(PackError::ContactsUnread);
    }
    let verdict = judge(book, check(book, wanted.on, &|| ()), wanted.on, &Filter::default());
    let plan = plan::Plan::of(book, wanted, &verdict);
    if plan.sites.is_empty() {
        let dangers = plan.kept_back.iter().map(|kept| kept.dangers).sum();
        return Err(if plan.kept_back.is_empty() { PackError::Nothing } else { PackError::NothingShared(dangers) });
    }
    write::write(book, wanted, &verdict, plan, place)
}

/// The dangers found in one site's folder.
fn dangers_in<'v>(verdict: &'v Verdict, site: &str) -> impl Iterator<Item = &'v crate::finding::Finding> + use<'v> {
    let folder = format!("sites/{site}/");
    verdict.findings.iter().filter(move |finding| finding.grade == Grade::Danger && finding.place.file.path.starts_with(&folder))
}
