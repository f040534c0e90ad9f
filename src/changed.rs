//! What a change to some files of a book touches: those files, and the records whose findings may be otherwise for it.

use std::collections::BTreeSet;

use crate::book::{Book, Roll, SETTINGS_FILE, SiteFiles};
use crate::finding::Finding;
use crate::judge::is_at_or_below;
use crate::record::{Backlog, Job, Seals};
use crate::rules::{self, Family};
use crate::sheets::each_site;

/// The reach of a change.
#[derive(Debug, Clone, Default)]
pub struct Reach {
    /// The files that changed.
    pub changed: BTreeSet<String>,
    /// Whether it touches every record.
    everything: bool,
    /// Files, and folders of sites, that it touches.
    paths: BTreeSet<String>,
    /// Families of rules whose findings it touches wherever they stand.
    families: Vec<Family>,
}

impl Reach {
    /// The reach of changes to these files, which may be gone by now:
    ///
    /// - of a file of a site, the site: a visit is judged with the visits before and after it, and all of them by their site.md;
    /// - of an instrument, a model or a recall, the visits that name it, or that name the recall's model;
    /// - of a visit, the recalls that it is said to have dealt with;
    /// - of `seals.yaml`, what is said of seals; of the contacts, what is said of privacy;
    /// - of `book.yaml` and `backlog.yaml`, everything.
    ///
    /// A finding that gives one of the files as its reason is touched wherever it stands.
    pub fn of(book: &Book, changed: BTreeSet<String>) -> Reach {
        let mut reach = Reach::default();
        let mut names = Names::default();
        for path in &changed {
            reach.paths.insert(path.clone());
            let parts: Vec<&str> = path.split('/').collect();
            match parts.as_slice() {
                [SETTINGS_FILE | Backlog::FILE] => reach.everything = true,
                [Seals::FILE] => reach.families.push(Family::Seals),
                ["private", ..] => reach.families.push(Family::Privacy),
                ["sites", site, inner @ ..] if !inner.is_empty() => {
                    reach.paths.insert(format!("sites/{site}"));
                    names.visits.insert(path.trim_start_matches("sites/").trim_end_matches(".md").to_owned());
                }
                ["instruments", file] => names.instruments.extend(file.strip_suffix(".md").map(str::to_owned)),
                ["models", file] => names.models.extend(file.strip_suffix(".md").map(str::to_owned)),
                ["recalls", file] => {
                    let recall = file.strip_suffix(".md").and_then(|id| book.recalls.get(id));
                    names.models.extend(recall.and_then(|recall| recall.data.model.clone()));
                }
                _ => {}
            }
        }
        reach.paths.extend(names.in_recalls(book));
        if !(reach.everything || names.instruments.is_empty() && names.models.is_empty()) {
            let sites: Vec<&SiteFiles> = book.sites.iter().collect();
            each_site(
                &sites,
                |files| names.in_visits(book, files),
                |found| {
                    reach.paths.extend(found);
                    true
                },
            );
        }
        reach.changed = changed;
        reach
    }

    /// Looks at a file, or at all files of a folder, whether it changed or not.
    pub fn add(&mut self, path: String) {
        self.paths.insert(path);
    }

    /// Whether a finding may be otherwise for the change.
    pub fn holds(&self, finding: &Finding) -> bool {
        let file = finding.place.file.path.as_str();
        self.everything
            || self.paths.iter().any(|path| is_at_or_below(file, path))
            || finding.related.iter().any(|related| self.changed.contains(&related.place.file.path))
            || rules::by_id(finding.rule).is_some_and(|rule| self.families.contains(&rule.family))
    }
}

/// The names under which other records speak of changed ones.
#[derive(Debug, Default)]
struct Names {
    instruments: BTreeSet<String>,
    models: BTreeSet<String>,
    /// `<site>/<visit>`.
    visits: BTreeSet<String>,
}

impl Names {
    /// The recalls that name one of the models or visits.
    fn in_recalls(&self, book: &Book) -> Vec<String> {
        let recalls = book.recalls.values().filter(|recall| {
            let by = |done: &crate::record::RecallDone| done.by.as_ref().is_some_and(|by| self.visits.contains(by));
            recall.data.model.as_ref().is_some_and(|model| self.models.contains(model)) || recall.data.done.iter().any(by)
        });
        recalls.map(|recall| recall.source.path.clone()).collect()
    }

    /// The visits of a site that name one of the instruments or models.
    fn in_visits(&self, book: &Book, files: &SiteFiles) -> Vec<String> {
        let names = |job: &Job| {
            job.instruments.iter().any(|id| self.instruments.contains(id))
                || job.units.iter().any(|unit| unit.model.as_ref().is_some_and(|model| self.models.contains(model)))
        };
        let (records, _) = book.read_site(files);
        records.jobs.into_iter().filter(|job| names(&job.data)).map(|job| job.source.path.clone()).collect()
    }
}
