//! Everything owed, in order: what the records leave open, by which day, and where it stands.
//!
//! One small file a source of items. Pure: a book and a day in, items out; nothing is printed here and no clock is read. When a thing is
//! owed is told by [`crate::rules::story`] and [`crate::rules::owed`], which the rules ask too.

mod claims;
mod faults;
mod inspections;
mod instruments;
mod item;
mod notices;
mod observations;
mod promises;
mod records;
mod share;
mod units;

use std::collections::HashMap;

use rayon::prelude::*;

pub use faults::is_danger;
pub use item::{Basis, Item, Kind};

use crate::book::{Book, Holes, Places, SiteFiles};
use crate::check::{GivenAnswer, answers_of};
use crate::digest;
use crate::judge::{answer_to, is_at_or_below};
use crate::path;
use crate::record::Date;
use crate::rules::view::SiteView;
use item::Draft;
use share::{Names, Sharing};

/// Days ahead that whoever looks over a whole book is shown, unless another window is asked for; a choice of this program's own.
pub const AHEAD_DAYS: i32 = 90;

/// Everything owed by a book, from one day.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Owed {
    /// What is owed: dangers first, then by date, then what has no date.
    pub items: Vec<Item>,
    /// Items that an answer in the records has quieted, by their files.
    pub answered: Vec<String>,
    /// Files that could not be read, or not where they would say what is owed: nobody can tell what is owed there.
    pub unread: Vec<String>,
}

/// Which items are wanted.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// The last day of the window. What is over, dangerous, without a date or waiting on somebody is told whatever this says.
    pub until: Option<Date>,
    /// Only these kinds; all when empty.
    pub kinds: Vec<Kind>,
    /// Only what stands at or below these paths, relative to the book's root; the whole book when empty.
    pub paths: Vec<String>,
}

/// What was asked for of what is owed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Selection {
    /// The day it is judged from.
    pub on: Date,
    /// The last day of the window.
    pub until: Option<Date>,
    /// The items, in order.
    pub items: Vec<Item>,
    /// Items beyond the window.
    pub later: usize,
    /// Dangers of kinds that were not asked for.
    pub other_dangers: usize,
    /// Items quieted by answers.
    pub answered: usize,
    /// Files that could not be read.
    pub unread: Vec<String>,
}

impl Selection {
    /// Whether something is dangerous or overdue, or may be in a file that could not be read.
    pub fn is_pressing(&self) -> bool {
        !self.unread.is_empty() || self.items.iter().any(|item| item.danger || item.is_over(self.on))
    }
}

impl Owed {
    /// Picks what was asked for.
    pub fn select(self, wanted: &Wanted, on: Date) -> Selection {
        let in_place = |file: &str| wanted.paths.is_empty() || wanted.paths.iter().any(|path| is_at_or_below(file, path));
        let mut selection = Selection {
            on,
            until: wanted.until,
            items: Vec::new(),
            later: 0,
            other_dangers: 0,
            answered: self.answered.iter().filter(|file| in_place(file)).count(),
            unread: self.unread.into_iter().filter(|file| in_place(file)).collect(),
        };
        for item in self.items.into_iter().filter(|item| in_place(&item.file)) {
            if !(wanted.kinds.is_empty() || wanted.kinds.iter().any(|kind| item.is_of(*kind))) {
                selection.other_dangers += usize::from(item.danger);
            } else if item.is_told(wanted.until) {
                selection.items.push(item);
            } else {
                selection.later += 1;
            }
        }
        selection
    }
}

/// Everything that the book owes on a day.
pub fn due(book: &Book, today: Date) -> Owed {
    let names = Names::of(&book.contacts);
    let per_site: Vec<Owed> = book.sites.par_iter().map(|files| of_site(book, files, &names, today)).collect();
    let mut owed = of_registers(book, &names, today);
    for site in per_site {
        owed.items.extend(site.items);
        owed.answered.extend(site.answered);
        owed.unread.extend(site.unread);
    }
    owed.items.sort_by(|a, b| a.order().cmp(&b.order()));
    owed.unread.sort_unstable();
    owed
}

/// What one site owes, in no order.
fn of_site(book: &Book, files: &SiteFiles, names: &Names, today: Date) -> Owed {
    let (records, strays) = book.read_site(files);
    let site = SiteView::new(book, &records, today);
    let mut drafts = Vec::new();
    faults::collect(&site, &mut drafts);
    claims::collect(&site, &mut drafts);
    notices::collect(&site, &mut drafts);
    inspections::collect(&site, &mut drafts);
    observations::collect(&site, &mut drafts);
    units::collect(&site, &mut drafts);
    promises::collect(&site, &mut drafts);
    records::collect(&site, &mut drafts);
    let mut owed = finish(drafts, &answers_of(&records), &Sharing::of(&site, names), today);
    owed.unread.extend(strays.iter().map(|stray| stray.source.path.clone()));
    let site_file = records.site.iter().filter(|record| record.lost || hides(&record.unreadable));
    owed.unread.extend(site_file.map(|record| record.source.path.clone()));
    let visits = records.jobs.iter().filter(|record| record.lost || hides(&record.unreadable));
    owed.unread.extend(visits.map(|record| record.source.path.clone()));
    owed
}

/// What the registers owe.
fn of_registers(book: &Book, names: &Names, today: Date) -> Owed {
    let mut drafts = Vec::new();
    instruments::collect(book, today, &mut drafts);
    let mut owed = finish(drafts, &[], &Sharing::of_registers(names), today);
    let instruments = book.instruments.values().filter(|record| record.lost || record.unreadable.touch(&path!["calibrations"]));
    owed.unread.extend(instruments.map(|record| record.source.path.clone()));
    owed.unread.extend(book.recalls.values().filter(|record| record.lost).map(|record| record.source.path.clone()));
    owed.unread.extend(book.strays.iter().map(|stray| stray.source.path.clone()));
    owed
}

/// Keys that say what is owed.
const TELLING: [&str; 11] =
    ["status", "faults", "observations", "notices", "papers", "follow_ups", "next_inspection", "units", "continues", "dates", "premises"];

/// Whether what could not be read may be something owed, or what closes it.
fn hides(holes: &Holes) -> bool {
    TELLING.iter().any(|key| holes.touch(&path![*key]))
}

/// Quiets what is answered, finds the lines, and settles what may leave the book.
fn finish(drafts: Vec<Draft>, answers: &[GivenAnswer], sharing: &Sharing, today: Date) -> Owed {
    let mut owed = Owed::default();
    let mut trees: HashMap<String, Places> = HashMap::new();
    let mut keys: HashMap<String, usize> = HashMap::new();
    for draft in drafts {
        let mut item = draft.item;
        let file = &draft.place.file;
        // A danger is told whatever anybody has answered.
        let quieted = draft.rule.filter(|_| !item.danger);
        if quieted.is_some_and(|(rule, grade)| answer_to(answers, rule, grade, &file.path, &item.subject, today).is_some()) {
            owed.answered.push(file.path.clone());
            continue;
        }
        let span = draft.place.span.clone().unwrap_or_else(|| {
            let tree = trees.entry(file.path.clone()).or_insert_with(|| Places::of(file));
            tree.span(file, &draft.place.path)
        });
        item.file = file.path.clone();
        item.line = crate::render::line_number(file, span.start);
        item.path = draft.place.path;
        let key =
            [item.kind.as_str(), item.site.as_deref().unwrap_or(&file.path), item.visit.as_deref().unwrap_or(""), &draft.key].join("\n");
        // Two of one key in one visit are told apart by their order.
        let count = keys.entry(key.clone()).or_insert(0);
        item.uid = digest::short(&format!("{key}\n{count}"));
        *count += 1;
        sharing.settle(&mut item);
        owed.items.push(item);
    }
    owed
}
