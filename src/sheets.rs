//! Every record of a book as a sheet of text with its place among the others, site by site, for whatever goes through all of them.
//!
//! `private/` is no part of it: only the folders that hold records are walked.

use std::sync::Arc;

use rayon::prelude::*;

use crate::book::{Book, Record, SiteFiles, SiteRecords, SourceFile};
use crate::record::{Date, Instrument, Model, Recall};

/// What a sheet is: a word of `record:`, or the book's own settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SheetKind {
    /// `book.yaml`.
    Book,
    /// An instrument.
    Instrument,
    /// A model.
    Model,
    /// A recall.
    Recall,
    /// A site.
    Site,
    /// A visit.
    Job,
}

impl SheetKind {
    /// The word for it, as `record:` and `ampledger schema` spell it.
    pub const fn as_str(self) -> &'static str {
        match self {
            SheetKind::Book => "book",
            SheetKind::Instrument => "instrument",
            SheetKind::Model => "model",
            SheetKind::Recall => "recall",
            SheetKind::Site => "site",
            SheetKind::Job => "job",
        }
    }
}

/// One record as text, and where it belongs.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// What it is.
    pub kind: SheetKind,
    /// The site's id, for a site and its visits.
    pub site: Option<String>,
    /// What the site is called, for a site and its visits.
    pub site_name: Option<String>,
    /// The record's id; for a visit its file name without ending.
    pub id: String,
    /// The day of a visit (of its tests, or of its file name) or of a recall.
    pub day: Option<Date>,
    /// The kind of visit, of instrument or of model, as the record spells it.
    pub sort: Option<&'static str>,
    /// One line that tells what it is about; the id where the record has none.
    pub title: String,
    /// The text.
    pub source: Arc<SourceFile>,
}

/// How many sites are read at once: enough for every core, few enough that a huge book is never in memory.
const SITES_AT_ONCE: usize = 64;

/// Makes something of each of `sites`, several at once, and hands it on in order; `take` says whether to go on.
pub fn each_site<T: Send>(sites: &[&SiteFiles], make: impl Fn(&SiteFiles) -> T + Sync, mut take: impl FnMut(T) -> bool) {
    for some in sites.chunks(SITES_AT_ONCE) {
        let made: Vec<T> = some.par_iter().map(|files| make(files)).collect();
        for one in made {
            if !take(one) {
                return;
            }
        }
    }
}

/// The settings and the registers.
pub fn registers(book: &Book) -> Vec<Sheet> {
    let plain = |kind, id: &str, day, sort, title: String, source: &Arc<SourceFile>| Sheet {
        kind,
        site: None,
        site_name: None,
        id: id.to_owned(),
        day,
        sort,
        title,
        source: source.clone(),
    };
    let settings = &book.settings;
    let title = settings.data.trading_as.clone().unwrap_or_else(|| "settings of the book".to_owned());
    let mut sheets = vec![plain(SheetKind::Book, &settings.id, None, None, title, &settings.source)];
    sheets.extend(book.instruments.values().map(|record: &Record<Instrument>| {
        let kind = record.data.kind.map(|kind| kind.as_str());
        plain(SheetKind::Instrument, &record.id, None, kind, named(&record.id, kind, record.data.serial.as_deref()), &record.source)
    }));
    sheets.extend(book.models.values().map(|record: &Record<Model>| {
        let kind = record.data.kind.map(|kind| kind.as_str());
        plain(SheetKind::Model, &record.id, None, kind, named(&record.id, kind, None), &record.source)
    }));
    sheets.extend(book.recalls.values().map(|record: &Record<Recall>| {
        let title = named(&record.id, None, record.data.model.as_deref());
        plain(SheetKind::Recall, &record.id, record.data.issued, None, title, &record.source)
    }));
    sheets
}

/// `mft-1, multifunction-tester M-5521`.
fn named(id: &str, kind: Option<&str>, more: Option<&str>) -> String {
    let words: Vec<&str> = kind.into_iter().chain(more).collect();
    if words.is_empty() { id.to_owned() } else { format!("{id}, {}", words.join(" ")) }
}

/// A site and its visits.
pub fn of_site(records: &SiteRecords) -> Vec<Sheet> {
    let id = &records.files.id;
    let name = records.site.as_ref().and_then(|site| site.data.name.clone());
    let one = |kind, own_id: &str, day, sort, title: Option<&String>, source: &Arc<SourceFile>| Sheet {
        kind,
        site: Some(id.clone()),
        site_name: name.clone(),
        id: own_id.to_owned(),
        day,
        sort,
        title: title.map_or_else(|| own_id.to_owned(), Clone::clone),
        source: source.clone(),
    };
    let site = records.site.iter().map(|site| one(SheetKind::Site, id, None, None, name.as_ref(), &site.source));
    let jobs = records.jobs.iter().map(|job| {
        let day = job.data.dates.tested.or_else(|| job.day());
        one(SheetKind::Job, &job.id, day, job.data.kind.map(|kind| kind.as_str()), job.data.title.as_ref(), &job.source)
    });
    site.chain(jobs).collect()
}
