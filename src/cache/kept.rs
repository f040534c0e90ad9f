//! What a check said of a site in a form that can be kept, and back.

use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::book::{Book, FieldPath, SiteBytes, SiteFiles, SiteRecords, SourceFile};
use crate::check::{Checked, GivenAnswer};
use crate::finding::{Finding, Grade, Place, Related};
use crate::record::{Answer, Date};
use crate::rules::facts::{SiteFacts, day};
use crate::rules::references;
use crate::seal;

/// What a check said of one site.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Kept {
    jobs: usize,
    files: usize,
    findings: Vec<KeptFinding>,
    answers: Vec<KeptAnswer>,
    facts: Vec<SiteFacts>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct KeptFinding {
    rule: String,
    /// Its place among [`Grade::ALL`].
    grade: usize,
    place: KeptPlace,
    subject: String,
    message: String,
    label: String,
    help: String,
    source: String,
    related: Vec<(KeptPlace, String)>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct KeptPlace {
    file: KeptFile,
    path: FieldPath,
    span: Option<Range<usize>>,
}

/// A file that a finding shows.
#[derive(Debug, Clone, Serialize, Deserialize)]
enum KeptFile {
    /// A record of the site itself.
    Own(String),
    /// A file that is read with the book: settings, a register, the seals.
    OfBook(String),
    /// A file that is named and not shown.
    Named(String),
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct KeptAnswer {
    rule: Option<String>,
    at: Option<String>,
    why: Option<String>,
    by: Option<String>,
    on: Option<KeptDay>,
    until: Option<KeptDay>,
    place: KeptPlace,
    scope: String,
}

#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
struct KeptDay(#[serde(with = "day")] Date);

/// Whether the findings of a site hang on nothing but what its key is made of: it is whole, names no file that was not listed, and has no
/// photographs under seal, whose bytes are read in every run.
pub fn hangs_on_records_alone(book: &Book, records: &SiteRecords) -> bool {
    let site_is_sound = records.site.as_ref().is_none_or(|site| site.faults.is_empty() && site.source.mended.is_none());
    let jobs_are_sound = records.jobs.iter().all(|job| job.faults.is_empty() && job.source.mended.is_none());
    let has_sealed_photographs = records.jobs.iter().any(|job| {
        let mut seals = book.seals().about(&job.source.path).peekable();
        seals.peek().is_some()
            && (!seal::photographs(&records.files.id, job).is_empty() || seals.any(|entry| !entry.data.photographs.is_empty()))
    });
    site_is_sound && jobs_are_sound && !has_sealed_photographs && !references::names_what_is_not_listed(records)
}

impl Kept {
    /// What was said; nothing when some of it cannot be kept.
    pub fn of(book: &Book, files: &SiteFiles, checked: &Checked) -> Option<Kept> {
        let place = |place: &Place| KeptPlace::of(book, files, place);
        let finding = |finding: &Finding| {
            // Faults of form and fixes hold pieces of the text; a record that has any is read anew.
            if finding.fault.is_some() || finding.fix.is_some() {
                return None;
            }
            Some(KeptFinding {
                rule: finding.rule.to_owned(),
                grade: Grade::ALL.iter().position(|grade| *grade == finding.grade)?,
                place: place(&finding.place)?,
                subject: finding.subject.clone(),
                message: finding.message.clone(),
                label: finding.label.clone(),
                help: finding.help.clone(),
                source: finding.source.clone(),
                related: finding.related.iter().map(|one| Some((place(&one.place)?, one.message.clone()))).collect::<Option<_>>()?,
            })
        };
        let answer = |given: &GivenAnswer| {
            // Taken apart by name, so that a key that is added to answers cannot be forgotten here.
            let Answer { rule, at, why, by, on, until } = given.answer.clone();
            let (on, until) = (on.map(KeptDay), until.map(KeptDay));
            Some(KeptAnswer { rule, at, why, by, on, until, place: place(&given.place)?, scope: given.scope.clone() })
        };
        Some(Kept {
            jobs: checked.jobs,
            files: checked.files,
            findings: checked.findings.iter().map(finding).collect::<Option<_>>()?,
            answers: checked.answers.iter().map(answer).collect::<Option<_>>()?,
            facts: checked.facts.clone(),
        })
    }

    /// What was said, over the bytes that are there now; nothing when they do not fit, which the key should have told.
    pub fn restore(&self, book: &Book, files: &SiteFiles, bytes: &SiteBytes, rules: &HashMap<&str, &'static str>) -> Option<Checked> {
        let mut sources: HashMap<&str, Arc<SourceFile>> = HashMap::new();
        let mut findings = Vec::with_capacity(self.findings.len());
        for kept in &self.findings {
            let mut related = Vec::with_capacity(kept.related.len());
            let place = kept.place.restore(book, files, bytes, &mut sources)?;
            for (place, message) in &kept.related {
                related.push(Related { place: place.restore(book, files, bytes, &mut sources)?, message: message.clone() });
            }
            findings.push(Finding {
                rule: rules.get(kept.rule.as_str())?,
                grade: *Grade::ALL.get(kept.grade)?,
                place,
                subject: kept.subject.clone(),
                message: kept.message.clone(),
                label: kept.label.clone(),
                help: kept.help.clone(),
                source: kept.source.clone(),
                related,
                fault: None,
                fix: None,
            });
        }
        let mut answers = Vec::with_capacity(self.answers.len());
        for kept in &self.answers {
            let answer = Answer {
                rule: kept.rule.clone(),
                at: kept.at.clone(),
                why: kept.why.clone(),
                by: kept.by.clone(),
                on: kept.on.map(|day| day.0),
                until: kept.until.map(|day| day.0),
            };
            let place = kept.place.restore(book, files, bytes, &mut sources)?;
            answers.push(GivenAnswer { answer, place, scope: kept.scope.clone() });
        }
        Some(Checked { findings, answers, sites: 1, jobs: self.jobs, files: self.files, facts: self.facts.clone() })
    }
}

impl KeptPlace {
    fn of(book: &Book, files: &SiteFiles, place: &Place) -> Option<KeptPlace> {
        let path = place.file.path.clone();
        let file = if place.file.text.is_empty() {
            KeptFile::Named(path)
        } else if files.is_record(&path) {
            KeptFile::Own(path)
        } else if of_book(book, &path).is_some_and(|source| Arc::ptr_eq(source, &place.file)) {
            KeptFile::OfBook(path)
        } else {
            return None;
        };
        Some(KeptPlace { file, path: place.path.clone(), span: place.span.clone() })
    }

    fn restore<'k>(
        &'k self,
        book: &Book,
        files: &SiteFiles,
        bytes: &SiteBytes,
        sources: &mut HashMap<&'k str, Arc<SourceFile>>,
    ) -> Option<Place> {
        let file = match &self.file {
            KeptFile::Named(path) => Arc::new(SourceFile::unread(path.clone())),
            KeptFile::OfBook(path) => of_book(book, path)?.clone(),
            KeptFile::Own(path) => match sources.get(path.as_str()) {
                Some(source) => source.clone(),
                None => {
                    let source = bytes.source(files, path)?;
                    sources.insert(path, source.clone());
                    source
                }
            },
        };
        // A place beyond the text would be a place of another text.
        let fits = self.span.as_ref().is_none_or(|span| span.start <= span.end && file.text.get(span.clone()).is_some());
        fits.then(|| Place { file, path: self.path.clone(), span: self.span.clone() })
    }
}

/// A file that is read with the book.
fn of_book<'b>(book: &'b Book, path: &str) -> Option<&'b Arc<SourceFile>> {
    let others = [&book.settings.source, &book.seals().source, &book.backlog().source];
    let registers = book.instruments.values().map(|record| &record.source);
    let registers = registers.chain(book.models.values().map(|record| &record.source));
    let registers = registers.chain(book.recalls.values().map(|record| &record.source));
    others.into_iter().chain(registers).find(|source| source.path == path)
}
