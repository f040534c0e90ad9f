//! A book with an editor's buffers laid over it, and what the rules say of it, kept site by site: a keystroke costs one site.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use rayon::prelude::*;

use crate::book::{Book, CONTACTS_FILE, OpenError, SiteFiles, SiteRecords};
use crate::check::{Checked, check_registers, check_site};
use crate::finding::Finding;
use crate::judge::{Filter, Verdict, judge};
use crate::record::Date;
use crate::rules::facts::SiteFacts;

/// Sites that are read in one go between two messages: some milliseconds.
const AT_ONCE: usize = 8;

/// A book on the desk.
pub struct Desk {
    /// The book with the buffers over it.
    pub book: Book,
    today: Date,
    /// What is known of each site, in the order of the book's sites.
    sites: Vec<Kept>,
    /// Of each site, what rules across sites need, in the same order.
    facts: Vec<SiteFacts>,
    /// What was said of the registers and across sites, and whether that may have changed.
    registers: Checked,
    are_registers_stale: bool,
    /// Whether a register has changed since its findings were last renewed ahead of their turn.
    has_new_register: bool,
    /// What stands outside the sites, as it was last judged.
    standing: Vec<Finding>,
    /// Texts that have come in and are not laid over the book yet; nothing for a buffer that was closed.
    waiting: BTreeMap<String, Option<Arc<str>>>,
    /// Files that have changed on the disk.
    changed: BTreeSet<String>,
}

/// What the rules said of a site.
#[derive(Default)]
struct Kept {
    checked: Option<Checked>,
    is_stale: bool,
}

impl Kept {
    fn is_due(&self) -> bool {
        self.is_stale || self.checked.is_none()
    }
}

impl Desk {
    /// Opens the book at `root`. Nothing of its sites is read yet.
    pub fn open(root: &Path, today: Date) -> Result<Desk, OpenError> {
        let book = Book::open(root)?;
        let sites = book.sites.iter().map(|_| Kept::default()).collect();
        let facts = vec![SiteFacts::default(); book.sites.len()];
        Ok(Desk {
            book,
            today,
            sites,
            facts,
            registers: Checked::default(),
            are_registers_stale: true,
            has_new_register: false,
            standing: Vec::new(),
            waiting: BTreeMap::new(),
            changed: BTreeSet::new(),
        })
    }

    /// Whether a file's buffer may be laid over the book. The people behind the sites are read from the disk only.
    pub fn takes(path: &str) -> bool {
        path != CONTACTS_FILE && !path.starts_with("private/")
    }

    /// Takes a buffer's text, or that it was closed.
    pub fn put(&mut self, path: &str, text: Option<Arc<str>>) {
        self.waiting.insert(path.to_owned(), text);
    }

    /// Takes notice of a file that has changed on the disk.
    pub fn note_change(&mut self, path: &str) {
        self.changed.insert(path.to_owned());
    }

    /// Whether texts have come in since the book was last brought up to date.
    pub fn has_news(&self) -> bool {
        !self.waiting.is_empty() || !self.changed.is_empty()
    }

    /// Brings the book up to date with what has come in. What is said of it then follows in [`Desk::check_some`].
    pub fn catch_up(&mut self, today: Date) -> Result<(), OpenError> {
        if today != self.today {
            self.today = today;
            self.mark_all();
        }
        let waiting = std::mem::take(&mut self.waiting);
        let changed = std::mem::take(&mut self.changed);
        let mut overlay = None;
        for (path, text) in waiting {
            let site = self.site_number(&path);
            match (site, &text) {
                (Some(number), Some(text)) if self.book.sites[number].is_record(&path) => {
                    self.book.put(&path, text.clone());
                    if let Some(overlay) = &mut overlay {
                        lay(overlay, &path, Some(text.clone()));
                    }
                }
                _ => lay(overlay.get_or_insert_with(|| self.book.overlay().clone()), &path, text),
            }
            self.mark(&path);
        }
        changed.iter().for_each(|path| self.mark(path));
        match overlay {
            Some(overlay) => self.reopen(overlay),
            None if !changed.is_empty() => self.reopen(self.book.overlay().clone()),
            None => Ok(()),
        }
    }

    fn reopen(&mut self, overlay: crate::book::Overlay) -> Result<(), OpenError> {
        let book = Book::open_under(&self.book.root, overlay)?;
        let old = std::mem::replace(&mut self.book, book);
        let kept = std::mem::take(&mut self.sites).into_iter().zip(std::mem::take(&mut self.facts));
        let mut kept: BTreeMap<String, (SiteFiles, Kept, SiteFacts)> =
            old.sites.into_iter().zip(kept).map(|(files, (kept, facts))| (files.id.clone(), (files, kept, facts))).collect();
        for files in &self.book.sites {
            let (kept, facts) = match kept.remove(&files.id) {
                // Facts speak of files by their place in the site.
                Some((old, kept, facts)) if old == *files => (kept, facts),
                _ => (Kept::default(), SiteFacts::default()),
            };
            self.sites.push(kept);
            self.facts.push(facts);
        }
        self.are_registers_stale = true;
        Ok(())
    }

    /// Marks what a change of a file may have changed: its site, or with a register everything.
    fn mark(&mut self, path: &str) {
        match self.site_number(path) {
            Some(number) => self.sites[number].is_stale = true,
            None if path.starts_with("sites/") => self.are_registers_stale = true,
            None => {
                self.has_new_register = true;
                self.mark_all();
            }
        }
    }

    fn mark_all(&mut self) {
        self.sites.iter_mut().for_each(|site| site.is_stale = true);
        self.are_registers_stale = true;
    }

    fn site_number(&self, path: &str) -> Option<usize> {
        let id = path.strip_prefix("sites/")?.split('/').next()?;
        self.book.sites.binary_search_by(|site| site.id.as_str().cmp(id)).ok()
    }

    /// Checks the sites named that want it. True when any did.
    pub fn check_sites(&mut self, ids: &BTreeSet<String>) -> bool {
        let due: Vec<usize> =
            ids.iter().filter_map(|id| self.site_number(&format!("sites/{id}/"))).filter(|number| self.sites[*number].is_due()).collect();
        self.check(&due);
        !due.is_empty()
    }

    /// Does a little of what is left: some more sites, and once all are done the registers. False when nothing was left.
    pub fn check_some(&mut self) -> bool {
        let due: Vec<usize> = (0..self.sites.len()).filter(|number| self.sites[*number].is_due()).take(AT_ONCE).collect();
        if !due.is_empty() {
            self.check(&due);
            return true;
        }
        std::mem::take(&mut self.are_registers_stale) && {
            self.registers = check_registers(&self.book, &self.facts, self.today);
            true
        }
    }

    /// Checks changed registers ahead of their turn, with what is known of the sites so far. True when that was wanted.
    pub fn check_new_registers(&mut self) -> bool {
        let is_wanted = self.has_new_register && self.is_read();
        if is_wanted {
            self.has_new_register = false;
            self.registers = check_registers(&self.book, &self.facts, self.today);
        }
        is_wanted
    }

    fn check(&mut self, numbers: &[usize]) {
        let (book, today) = (&self.book, self.today);
        let done: Vec<Checked> = numbers.par_iter().map(|number| check_site(book, &book.sites[*number], today)).collect();
        for (number, mut checked) in numbers.iter().zip(done) {
            let facts = checked.facts.pop().unwrap_or_default();
            // A rule across sites shows the text of what it speaks of, so the registers are due even where the facts stay.
            let has_registers_here = self.registers.findings.iter().any(|finding| is_of(finding, &self.book.sites[*number].id));
            self.are_registers_stale |= facts != self.facts[*number] || has_registers_here;
            self.facts[*number] = facts;
            self.sites[*number] = Kept { checked: Some(checked), is_stale: false };
        }
    }

    /// Whether everything is checked as it stands.
    pub fn is_settled(&self) -> bool {
        !self.are_registers_stale && !self.has_news() && !self.sites.iter().any(Kept::is_due)
    }

    /// Whether every site has been read at least once, so that something can be said of the registers.
    pub fn is_read(&self) -> bool {
        self.sites.iter().all(|site| site.checked.is_some())
    }

    /// What stands of a site, with what was found across sites there.
    pub fn verdict_of(&self, id: &str) -> Verdict {
        let mut gathered = Checked::default();
        if let Some(checked) = self.site_number(&format!("sites/{id}/")).and_then(|number| self.sites[number].checked.as_ref()) {
            gathered.findings.extend(checked.findings.iter().cloned());
            gathered.answers.extend(checked.answers.iter().cloned());
        }
        gathered.findings.extend(self.registers.findings.iter().filter(|finding| is_of(finding, id)).cloned());
        let filter = Filter { paths: vec![format!("sites/{id}")], ..Filter::default() };
        judge(&self.book, gathered, self.today, &filter)
    }

    /// Judges what stands outside the sites: it takes the whole book, and is not for every keystroke.
    pub fn judge_registers(&mut self) {
        let mut gathered = Checked::default();
        for checked in self.sites.iter().filter_map(|site| site.checked.as_ref()).chain([&self.registers]) {
            gathered.findings.extend(checked.findings.iter().cloned());
            gathered.answers.extend(checked.answers.iter().cloned());
        }
        self.standing = judge(&self.book, gathered, self.today, &Filter::default()).findings;
        self.standing.retain(|finding| site_id(&finding.place.file.path).is_none());
    }

    /// What stands outside the sites, as it was last judged.
    pub fn standing(&self) -> &[Finding] {
        &self.standing
    }

    /// The records of the site that holds a file, as the buffers have them.
    pub fn records_around(&self, path: &str) -> Option<SiteRecords> {
        let files = self.book.site_of(path)?;
        Some(self.book.read_site(files).0)
    }

    /// The day that dates are judged from.
    pub fn today(&self) -> Date {
        self.today
    }
}

fn lay(overlay: &mut crate::book::Overlay, path: &str, text: Option<Arc<str>>) {
    match text {
        Some(text) => overlay.put(path.to_owned(), text),
        None => overlay.remove(path),
    }
}

/// Whether a finding stands in a site's folder.
fn is_of(finding: &Finding, id: &str) -> bool {
    let inner = finding.place.file.path.strip_prefix("sites/").and_then(|path| path.strip_prefix(id));
    inner.is_some_and(|rest| rest.starts_with('/'))
}

/// The id of the site that a file belongs to.
pub fn site_id(path: &str) -> Option<&str> {
    path.strip_prefix("sites/")?.split_once('/').map(|(id, _)| id)
}
