//! Writing the copy: beside its place, read again there, and put in its place whole.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;

use super::plan::{Plan, SitePlan};
use super::private::Level;
use super::proof::{self, Written};
use super::redact::{self, Swap};
use super::{Audience, PackError, Packed, Wanted, Withheld, cover, picture};
use crate::book::{Book, FieldPath, Record, SETTINGS_FILE};
use crate::digest;
use crate::judge::Verdict;
use crate::record::Kind;
use crate::system::why;
use crate::write::UNFINISHED;

/// The name of the cover page.
pub const COVER: &str = "README.md";
/// The name of the list of digests, as `sha256sum --check` reads it.
pub const DIGESTS: &str = "SHA256SUMS";

/// Where the copy is to stand.
pub struct Place {
    out: PathBuf,
    folder: PathBuf,
}

impl Place {
    /// Looks whether a copy may stand at `out`: outside the book, where nothing is.
    pub fn at(book: &Book, out: &Path) -> Result<Place, PackError> {
        let refused = |error: std::io::Error| PackError::Refused(out.display().to_string(), why(&error));
        if let Ok(entry) = std::fs::symlink_metadata(out) {
            let empty = entry.is_dir() && std::fs::read_dir(out).map_err(refused)?.next().is_none();
            if !empty {
                return Err(PackError::NotEmpty(out.to_owned()));
            }
        }
        let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let (Some(name), real) = (out.file_name(), folder.canonicalize().map_err(refused)?) else {
            return Err(PackError::NotEmpty(out.to_owned()));
        };
        let root = book.root.canonicalize().map_err(refused)?;
        if real.starts_with(&root) {
            return Err(PackError::InBook(out.to_owned()));
        }
        Ok(Place { out: real.join(name), folder: real })
    }
}

/// A copy that is being written.
struct Copy<'p, 'b> {
    book: &'b Book,
    plan: &'p Plan<'b>,
    wanted: &'p Wanted,
    root: PathBuf,
    written: Vec<Written>,
    withheld: Vec<Withheld>,
    photographs: usize,
}

/// Writes the copy and puts it in its place.
pub fn write(book: &Book, wanted: &Wanted, verdict: &Verdict, plan: Plan<'_>, place: Place) -> Result<Packed, PackError> {
    let refused = |error: std::io::Error| PackError::Refused(place.out.display().to_string(), why(&error));
    let draft = tempfile::Builder::new().prefix(UNFINISHED).tempdir_in(&place.folder).map_err(refused)?;
    // A folder of its own in there: what takes the final name has the permissions of a plain new folder.
    let root = draft.path().join("copy");
    std::fs::create_dir(&root).map_err(refused)?;
    let mut copy = Copy { book, plan: &plan, wanted, root, written: Vec::new(), withheld: plan.withheld.clone(), photographs: 0 };
    let mut needed = Needed::default();
    for site in &plan.sites {
        copy.site(site, &mut needed)?;
    }
    copy.registers(&needed)?;
    copy.withheld.sort();
    let (page, dangers) = cover::page(book, wanted, verdict, &plan, &copy.withheld, copy.photographs);
    let level = plan.cover_level;
    let site = plan.sites.first().filter(|_| plan.sites.len() == 1).map_or(String::new(), |site| site.files.id.clone());
    let (page, _) = plan.guard.clean(&page, level, &site);
    copy.put(COVER, page.as_bytes(), level, &site, false)?;
    for file in &copy.written {
        let found = proof::still_holds(&copy.root, file, &plan.guard).map_err(refused)?;
        if let Some(what) = found {
            return Err(PackError::NotClean(file.path.clone(), what));
        }
    }
    let mark = copy.digests()?;
    // An empty folder of that name gives way; one that somebody has put something into meanwhile does not.
    if place.out.is_dir() {
        std::fs::remove_dir(&place.out).map_err(|_| PackError::NotEmpty(place.out.clone()))?;
    } else if std::fs::symlink_metadata(&place.out).is_ok() {
        return Err(PackError::NotEmpty(place.out));
    }
    std::fs::rename(&copy.root, &place.out).map_err(refused)?;
    Ok(Packed {
        sites: plan.sites.len(),
        visits: plan.sites.iter().map(|site| site.visits.len()).sum(),
        photographs: copy.photographs,
        dangers,
        withheld: copy.withheld,
        kept_back: plan.kept_back.iter().map(|kept| (kept.id.clone(), kept.dangers > 0)).collect(),
        renamed: plan.renamed,
        mark,
    })
}

/// What the visits in the copy name in the registers.
#[derive(Default)]
struct Needed {
    instruments: BTreeSet<String>,
    models: BTreeSet<String>,
}

const NOT_CLEANED: &str = "what is private in it could not be cut out without harm to the rest";

impl<'b> Copy<'_, 'b> {
    fn put(&mut self, path: &str, bytes: &[u8], level: Level, site: &str, picture: bool) -> Result<(), PackError> {
        let target = self.root.join(path);
        let refused = |error: std::io::Error| PackError::Refused(path.to_owned(), why(&error));
        if let Some(folder) = target.parent() {
            std::fs::create_dir_all(folder).map_err(refused)?;
        }
        let mut file = std::fs::File::create_new(&target).map_err(refused)?;
        std::io::Write::write_all(&mut file, bytes).and_then(|()| file.sync_all()).map_err(refused)?;
        self.written.push(Written { path: path.to_owned(), site: site.to_owned(), level, picture });
        Ok(())
    }

    fn withhold(&mut self, site: &str, what: String, why: &'static str) {
        self.withheld.push(Withheld { site: site.to_owned(), what, why });
    }

    fn site(&mut self, site: &SitePlan<'b>, needed: &mut Needed) -> Result<(), PackError> {
        let (records, _) = self.book.read_site(site.files);
        let pictures = self.pictures(site)?;
        let folder = format!("sites/{}", site.name);
        if let Some(record) = &records.site {
            self.record(record, &format!("{folder}/site.md"), Some((site, &pictures)))?;
        }
        for job in &records.jobs {
            let Some(shown) = site.visits.get(&job.id) else { continue };
            if self.record(job, &format!("{folder}/{shown}.md"), Some((site, &pictures)))? {
                needed.instruments.extend(job.data.instruments.iter().cloned());
                needed.models.extend(job.data.units.iter().filter_map(|unit| unit.model.clone()));
            }
        }
        Ok(())
    }

    /// Strips and writes a site's pictures; those that went, by their paths in the book.
    fn pictures(&mut self, site: &SitePlan<'b>) -> Result<BTreeMap<String, String>, PackError> {
        let mut went = BTreeMap::new();
        for (path, shown) in &site.pictures {
            let stripped = match picture::bare(self.book, path) {
                Ok(stripped) => stripped,
                Err(why) => {
                    self.withhold(&site.name, shown.clone(), why);
                    continue;
                }
            };
            self.put(&format!("sites/{}/{shown}", site.name), &stripped, site.level, &site.files.id, true)?;
            self.photographs += 1;
            went.insert(path.clone(), shown.clone());
        }
        Ok(went)
    }

    /// Writes the copy of a record; whether it went.
    fn record<T: DeserializeOwned + Default + Kind>(
        &mut self,
        record: &Record<T>,
        path: &str,
        of: Option<(&SitePlan<'b>, &BTreeMap<String, String>)>,
    ) -> Result<bool, PackError> {
        let level = of.map_or(Level::Redacted, |(site, _)| site.level);
        let id = of.map_or("", |(site, _)| site.files.id.as_str());
        let name = of.map_or("", |(site, _)| site.name.as_str());
        let values = |at: &FieldPath, value: &str| match of {
            Some((site, pictures)) => swap_in_site(site, pictures, at, value),
            None => swap_in_register(self.plan, at, value),
        };
        let links = |target: &str| of.and_then(|(site, pictures)| swap_link(site, pictures, target));
        let rules = redact::Rules { guard: &self.plan.guard, level, site: id, value: &values, link: &links };
        let Some((text, cut)) = redact::record::<T>(&record.source, &rules) else {
            self.withhold(name, format!("the record {}", path.rsplit('/').next().unwrap_or(path)), NOT_CLEANED);
            return Ok(false);
        };
        // A photograph is told of where it stays behind, whoever names it.
        for what in cut.into_iter().filter(|what| *what != "photograph") {
            self.withhold(name, what.to_owned(), reason(what));
        }
        self.put(path, text.as_bytes(), level, id, false)?;
        Ok(true)
    }

    /// The settings and the registers: all of them for who takes over, all instruments for who assesses, and else what the visits name.
    fn registers(&mut self, needed: &Needed) -> Result<(), PackError> {
        let book = self.book;
        let audience = self.wanted.audience;
        self.record(&book.settings, SETTINGS_FILE, None)?;
        for (id, record) in &book.instruments {
            if matches!(audience, Audience::Successor | Audience::Assessor) || needed.instruments.contains(id) {
                self.record(record, &record.source.path, None)?;
            }
        }
        for (id, record) in &book.models {
            if audience == Audience::Successor || needed.models.contains(id) {
                self.record(record, &record.source.path, None)?;
            }
        }
        if audience == Audience::Successor {
            for record in book.recalls.values() {
                self.record(record, &record.source.path, None)?;
            }
        }
        Ok(())
    }

    /// Writes the list of digests; its own digest.
    fn digests(&mut self) -> Result<String, PackError> {
        let refused = |error: std::io::Error| PackError::Refused(DIGESTS.to_owned(), why(&error));
        let mut paths: Vec<&str> = self.written.iter().map(|file| file.path.as_str()).collect();
        paths.sort_unstable();
        let mut list = String::new();
        for path in paths {
            let digest = std::fs::File::open(self.root.join(path)).and_then(digest::of_file).map_err(refused)?;
            let _ = writeln!(list, "{digest}  {path}");
        }
        std::fs::write(self.root.join(DIGESTS), &list).map_err(refused)?;
        Ok(digest::of_text(&list))
    }
}

/// Why a kind of detail was left out.
fn reason(what: &str) -> &'static str {
    if what.contains("access") || what.contains("key is hidden") || what.contains("get in") {
        "it opens a door, and goes into no copy"
    } else if what.contains("card") {
        "it pays a bill, and goes into no copy"
    } else if what.contains("site") {
        "that site is kept back"
    } else {
        "personal details stay with the keeper of the book"
    }
}

/// What becomes of a value of a site's or a visit's front matter.
fn swap_in_site(site: &SitePlan<'_>, pictures: &BTreeMap<String, String>, at: &FieldPath, value: &str) -> Option<Swap> {
    match at.last_key()? {
        "mpan" if site.level == Level::Redacted => Some(Swap::Mark("supply number")),
        "photo" => swap_link(site, pictures, value),
        // `<visit>` or `<visit>#<fault>`.
        "continues" | "fixed_by" | "cleared_by" | "repeats" | "why" => {
            let (visit, rest) = value.split_once('#').map_or((value, None), |(visit, rest)| (visit, Some(rest)));
            if let Some(day) = site.left.get(visit) {
                return Some(Swap::Visit(day.clone()));
            }
            let shown = site.visits.get(visit).filter(|shown| *shown != visit)?;
            Some(Swap::Name(rest.map_or_else(|| shown.clone(), |rest| format!("{shown}#{rest}"))))
        }
        _ => None,
    }
}

/// What becomes of a link in a site's folder.
fn swap_link(site: &SitePlan<'_>, pictures: &BTreeMap<String, String>, target: &str) -> Option<Swap> {
    let plain = target.split(['#', '?']).next().unwrap_or_default().trim_start_matches("./");
    let path = format!("sites/{}/{plain}", site.files.id);
    if let Some(shown) = pictures.get(&path) {
        return (shown != plain).then(|| Swap::Name(shown.clone()));
    }
    if site.files.others.contains(&path) {
        return Some(Swap::Mark("photograph"));
    }
    let visit = plain.strip_suffix(".md")?;
    if let Some(day) = site.left.get(visit) {
        return Some(Swap::Visit(day.clone()));
    }
    let shown = site.visits.get(visit).filter(|shown| *shown != visit)?;
    Some(Swap::Name(format!("{shown}.md")))
}

/// What becomes of a value of a register: visits to sites that are not in the copy are not named.
fn swap_in_register(plan: &Plan<'_>, at: &FieldPath, value: &str) -> Option<Swap> {
    if at.last_key()? != "by" {
        return None;
    }
    let (id, visit) = value.split_once('/')?;
    let Some(site) = plan.sites.iter().find(|site| site.files.id == id) else {
        return Some(Swap::Mark("visit to a site kept back"));
    };
    let shown = site.visits.get(visit)?;
    let new = format!("{}/{shown}", site.name);
    (new != value).then_some(Swap::Name(new))
}
