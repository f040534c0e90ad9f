//! What a check said of a site in a form that can be kept, and back.

use std::collections::{BTreeMap, HashMap};
use std::ops::Range;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::book::{Book, Fault, FieldPath, Mend, SiteBytes, SiteFiles, SiteRecords, SourceFile};
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
    /// The reading copies of damaged records that findings show.
    mended: BTreeMap<String, Mend>,
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
    fault: Option<Fault>,
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

/// Whether the findings of a site hang on nothing but what its key is made of: it names no file that was not listed, and has no
/// photographs under seal, whose bytes are read in every run.
pub fn hangs_on_records_alone(book: &Book, records: &SiteRecords) -> bool {
    let has_sealed_photographs = records.jobs.iter().any(|job| {
        let mut seals = book.seals().about(&job.source.path).peekable();
        seals.peek().is_some()
            && (!seal::photographs(&records.files.id, job).is_empty() || seals.any(|entry| !entry.data.photographs.is_empty()))
    });
    !has_sealed_photographs && !references::names_what_is_not_listed(records)
}

impl Kept {
    /// What was said; nothing when some of it cannot be kept.
    pub fn of(book: &Book, files: &SiteFiles, checked: &Checked) -> Option<Kept> {
        let place = |place: &Place| KeptPlace::of(book, files, place);
        let finding = |finding: &Finding| {
            // Fixes are offered later, to those who ask.
            if finding.fix.is_some() {
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
                fault: finding.fault.as_deref().cloned(),
            })
        };
        let answer = |given: &GivenAnswer| {
            // Taken apart by name, so that a key that is added to answers cannot be forgotten here.
            let Answer { rule, at, why, by, on, until } = given.answer.clone();
            let (on, until) = (on.map(KeptDay), until.map(KeptDay));
            Some(KeptAnswer { rule, at, why, by, on, until, place: place(&given.place)?, scope: given.scope.clone() })
        };
        let related = checked.findings.iter().flat_map(|finding| &finding.related).map(|one| &one.place);
        let places = checked.findings.iter().map(|finding| &finding.place).chain(related);
        let places = places.chain(checked.answers.iter().map(|given| &given.place));
        let mended = places.filter_map(|place| Some((place.file.path.clone(), place.file.mended.clone()?))).collect();
        Some(Kept {
            mended,
            jobs: checked.jobs,
            files: checked.files,
            findings: checked.findings.iter().map(finding).collect::<Option<_>>()?,
            answers: checked.answers.iter().map(answer).collect::<Option<_>>()?,
            facts: checked.facts.clone(),
        })
    }

    /// What was said, over the bytes that are there now; nothing when they do not fit, which the key should have told.
    pub fn restore(&self, book: &Book, files: &SiteFiles, bytes: &SiteBytes, rules: &HashMap<&str, &'static str>) -> Option<Checked> {
        let mut sources = Sources { book, files, bytes, mended: &self.mended, own: HashMap::new() };
        let mut findings = Vec::with_capacity(self.findings.len());
        for kept in &self.findings {
            let mut related = Vec::with_capacity(kept.related.len());
            let place = kept.place.restore(&mut sources)?;
            for (place, message) in &kept.related {
                related.push(Related { place: place.restore(&mut sources)?, message: message.clone() });
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
                fault: kept.fault.clone().map(Box::new),
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
            let place = kept.place.restore(&mut sources)?;
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

    fn restore<'k>(&'k self, sources: &mut Sources<'k>) -> Option<Place> {
        let file = sources.get(&self.file)?;
        // A place beyond the text would be a place of another text.
        let fits = self.span.as_ref().is_none_or(|span| span.start <= span.end && file.text.get(span.clone()).is_some());
        fits.then(|| Place { file, path: self.path.clone(), span: self.span.clone() })
    }
}

/// The files that places are shown in, each once.
struct Sources<'k> {
    book: &'k Book,
    files: &'k SiteFiles,
    bytes: &'k SiteBytes,
    mended: &'k BTreeMap<String, Mend>,
    own: HashMap<&'k str, Arc<SourceFile>>,
}

impl<'k> Sources<'k> {
    fn get(&mut self, file: &'k KeptFile) -> Option<Arc<SourceFile>> {
        match file {
            KeptFile::Named(path) => Some(Arc::new(SourceFile::unread(path.clone()))),
            KeptFile::OfBook(path) => of_book(self.book, path).cloned(),
            KeptFile::Own(path) => {
                if let Some(source) = self.own.get(path.as_str()) {
                    return Some(source.clone());
                }
                let source = self.bytes.source(self.files, path, self.mended.get(path).cloned())?;
                self.own.insert(path, source.clone());
                Some(source)
            }
        }
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
