//! The whole book as a small site of linked pages, for the electrician's own eyes: one file a page, from what other modules make of the
//! book to bytes. Pure: nothing is written here but into strings, and no clock is read.
//!
//! [`Report::gather`] asks the book once, [`Report::site`] makes one site's page (several at once, if that is wanted), and
//! [`Report::rest`] the pages that need a word of every site.

mod circuits;
mod findings;
mod folder;
mod index;
mod installation;
mod instruments;
mod layout;
mod pictures;
mod site;
mod story;
mod units;
mod words;

use std::collections::BTreeMap;

pub use folder::{Folder, FolderError, Written};

use crate::book::{self, Book, SiteFiles};
use crate::check::check;
use crate::due::{Selection, Wanted, due};
use crate::finding::Finding;
use crate::judge::{Filter, Verdict, judge};
use crate::record::{Date, Grade, LaidTo, Reads};
use crate::units::rates::{Rates, rates};
use crate::units::{Fleet, Life};

/// A file of the report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// Where it belongs, relative to the report's folder, with `/`.
    pub path: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// What the pages of the whole book need of one site.
#[derive(Debug, Clone)]
pub struct SiteLine {
    /// The site's id.
    pub id: String,
    /// What it is called; its id where it has no name.
    pub name: String,
    /// What the place is used for.
    pub premises: String,
    /// How many visits it has.
    pub visits: usize,
    /// The day of the last.
    pub last: Option<Date>,
    /// Words to find it by that its row does not show: circuits, models, serials.
    pub words: String,
    /// What was read there, by instrument.
    pub readings: Vec<Use>,
}

/// What one visit read with one instrument.
#[derive(Debug, Clone)]
pub struct Use {
    /// The instrument.
    pub instrument: String,
    /// The visit.
    pub visit: String,
    /// Its day.
    pub day: Option<Date>,
    /// What it read.
    pub reads: Vec<Reads>,
}

/// What was asked of the book once, for all pages.
pub struct Report<'b> {
    book: &'b Book,
    on: Date,
    verdict: Verdict,
    owed: Selection,
    fleet: Fleet,
    rates: Rates,
    /// Of each site, its findings, what it owes and its units, by their places in the lists above.
    of_site: BTreeMap<&'b str, OfSite>,
    /// What `private/` says, where it is asked for.
    private: Option<BTreeMap<String, Vec<(String, String)>>>,
}

#[derive(Debug, Clone, Default)]
struct OfSite {
    findings: Vec<usize>,
    owed: Vec<usize>,
    lives: Vec<usize>,
}

/// To whom the faults are laid that the failure rates count, as `units --rates` does where nothing else is said.
const CAUSES: [LaidTo; 2] = [LaidTo::Manufacturer, LaidTo::Unknown];

impl<'b> Report<'b> {
    /// Asks the book as of a day. `progress` is told of every site that has been checked.
    pub fn gather(book: &'b Book, on: Date, private: bool, progress: &(dyn Fn() + Sync)) -> Report<'b> {
        let verdict = judge(book, check(book, on, progress), on, &Filter::default());
        let owed = due(book, on).select(&Wanted::default(), on);
        let fleet = Fleet::read(book, on);
        let rates = rates(&fleet, &CAUSES, |_| true);
        let mut of_site: BTreeMap<&'b str, OfSite> = book.sites.iter().map(|files| (files.id.as_str(), OfSite::default())).collect();
        for (at, finding) in verdict.findings.iter().enumerate() {
            if let Some(site) = site_of(&finding.place.file.path).and_then(|id| of_site.get_mut(id)) {
                site.findings.push(at);
            }
        }
        for (at, item) in owed.items.iter().enumerate() {
            if let Some(site) = item.site.as_deref().and_then(|id| of_site.get_mut(id)) {
                site.owed.push(at);
            }
        }
        for (at, life) in fleet.lives.iter().enumerate() {
            let mut sites: Vec<&str> = life.stays.iter().map(|stay| stay.site.as_str()).collect();
            sites.sort_unstable();
            sites.dedup();
            for id in sites {
                if let Some(site) = of_site.get_mut(id) {
                    site.lives.push(at);
                }
            }
        }
        let private = private.then(|| book::private_entries(&book.files));
        Report { book, on, verdict, owed, fleet, rates, of_site, private }
    }

    /// The paths of all that there may be in the report, before any of it is made.
    pub fn paths(&self) -> Vec<String> {
        let sites = self.book.sites.iter().flat_map(|files| std::iter::once(layout::site_path(&files.id)).chain(pictures::paths(files)));
        layout::FILES.iter().map(|file| (*file).to_owned()).chain(sites).collect()
    }

    /// The page of one site with its photographs, and what the other pages need of it.
    pub fn site(&self, files: &SiteFiles) -> (Vec<Page>, SiteLine) {
        site::page(self, files)
    }

    /// The pages of the whole book, and the style that all pages share. `sites` are in the order of the book.
    pub fn rest(&self, sites: &[SiteLine]) -> Vec<Page> {
        let page = |path: &str, text: String| Page { path: path.to_owned(), bytes: text.into_bytes() };
        vec![
            page(layout::INDEX, index::page(self, sites)),
            page(layout::FINDINGS, findings::page(self)),
            page(layout::UNITS, units::page(self)),
            page(layout::INSTRUMENTS, instruments::page(self, sites)),
            page(layout::STYLE, layout::style()),
        ]
    }

    /// What belongs to a site.
    fn of_site(&self, id: &str) -> OfSite {
        self.of_site.get(id).cloned().unwrap_or_default()
    }

    /// Findings of a site that stand, worst first.
    fn findings_of(&self, id: &str) -> Vec<&Finding> {
        self.of_site(id).findings.iter().filter_map(|at| self.verdict.findings.get(*at)).collect()
    }

    /// How many findings of a site have that grade.
    fn count(&self, id: &str, grade: Grade) -> usize {
        self.findings_of(id).iter().filter(|finding| finding.grade == grade).count()
    }

    fn life(&self, at: usize) -> Option<&Life> {
        self.fleet.lives.get(at)
    }
}

/// The site that a file of the book belongs to.
fn site_of(path: &str) -> Option<&str> {
    path.strip_prefix("sites/")?.split('/').next()
}
