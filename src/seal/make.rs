//! Making a seal: what stands against it, and how it is written.

use std::collections::{BTreeMap, HashMap};

use super::{Changes, FORM, Form, compare, holding, of_file, part_in_words, photographs};
use crate::book::{Book, Record, SiteFiles};
use crate::check::check;
use crate::finding::{Finding, Grade};
use crate::judge::{Filter, judge};
use crate::record::{Count, Date, Job, Seal, Status};
use crate::rolls;
use crate::rules::{self, Family};
use crate::write::WriteError;

/// What somebody asked for.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Why it is sealed again, or although something stands against it.
    pub reason: Option<&'a str>,
    /// Seal although dangers or breaches stand, or photographs are not there.
    pub anyway: bool,
    /// The day.
    pub on: Date,
}

/// What came of it.
#[derive(Debug)]
pub enum Outcome {
    /// A seal, to be written.
    Ready(Seal),
    /// It is sealed, and says what it said.
    AsSealed(Option<Date>),
    /// It is not sealed, for these reasons.
    Refused(Vec<String>),
}

/// The dangers and breaches that stand in each file of the book. Those that a seal itself is about do not count, nor what is answered
/// or in the backlog.
pub fn standing(book: &Book, on: Date) -> HashMap<String, Vec<Finding>> {
    let verdict = judge(book, check(book, on, &|| ()), on, &Filter::default());
    let mut by_file: HashMap<String, Vec<Finding>> = HashMap::new();
    for finding in verdict.findings.into_iter().filter(|finding| finding.grade <= Grade::Breach) {
        if rules::by_id(finding.rule).is_some_and(|rule| rule.family != Family::Seals) {
            by_file.entry(finding.place.file.path.clone()).or_default().push(finding);
        }
    }
    by_file
}

/// Weighs whether a record can be sealed.
pub fn weigh(book: &Book, site: &SiteFiles, record: &Record<Job>, standing: &[Finding], asked: &Asked<'_>) -> Outcome {
    if record.lost || !record.unreadable.is_empty() {
        return Outcome::Refused(vec!["part of it cannot be read; `ampledger check` says where".to_owned()]);
    }
    match record.data.status {
        Some(Status::Complete | Status::Issued) => {}
        Some(status) => return Outcome::Refused(vec![format!("its status is {status}; set it to complete or issued first")]),
        None => return Outcome::Refused(vec!["it has no status; set it to complete or issued first".to_owned()]),
    }
    let mut against = Vec::new();
    let mut pictures = BTreeMap::new();
    for photograph in photographs(&site.id, record) {
        match book.files.open(&photograph.path).and_then(of_file) {
            Ok(digest) => {
                pictures.insert(photograph.path, digest);
            }
            Err(_) if asked.anyway => {}
            Err(_) => against.push(format!("{} is named and is not there", photograph.path)),
        }
    }
    let form = Form::of(record);
    let before = holding(book.seals(), &record.source.path);
    let changes: Vec<Option<Changes>> = before.iter().map(|seal| compare(&form, &seal.data)).collect();
    let is_as_sealed = |seal: &Seal, changes: &Option<Changes>| changes.is_none() && seal.photographs == pictures;
    if !before.is_empty() && before.iter().zip(&changes).all(|(seal, changes)| is_as_sealed(&seal.data, changes)) {
        return Outcome::AsSealed(before.first().and_then(|seal| seal.data.on));
    }
    if let Some(seal) = before.first()
        && asked.reason.is_none()
    {
        let on = seal.data.on.map_or(String::new(), |on| format!(" on {on}"));
        let changed = changes.first().and_then(Option::as_ref).map_or("its photographs".to_owned(), Changes::in_words);
        against.push(format!("it was sealed{on}, and {changed} changed since: say why with --reason"));
    }
    if !asked.anyway {
        against.extend(standing.iter().map(|finding| {
            let subject = crate::render::unsaid_subject(finding).map_or(String::new(), |subject| format!("{subject}: "));
            format!("{} {}: {subject}{}", finding.grade, finding.rule, finding.message)
        }));
    }
    if !against.is_empty() {
        return Outcome::Refused(against);
    }
    let number = before.first().map_or(0, |seal| seal.data.seal.map_or(0, |number| *number));
    Outcome::Ready(Seal {
        file: Some(record.source.path.clone()),
        seal: Some(Count(number + 1)),
        on: Some(asked.on),
        why: asked.reason.map(str::to_owned),
        form: Some(Count(FORM)),
        digest: Some(form.digest()),
        parts: form.parts().into_iter().map(|(name, part)| (name, part.digest)).collect(),
        photographs: pictures,
    })
}

/// Writes new seals beside the old ones.
pub fn write(book: &Book, new: &[Seal]) -> Result<(), WriteError> {
    let file = book.seals();
    let mut seals: Vec<&Seal> = file.entries.iter().map(|entry| &entry.data).chain(new).collect();
    seals.sort_by(|a, b| (&a.file, a.seal, a.on).cmp(&(&b.file, b.seal, b.on)));
    rolls::save(book, file, &rolls::seals(file.head.since, &seals))
}

impl Changes {
    /// The parts in words, a few of them by name.
    pub fn in_words(&self) -> String {
        let gone = self.gone.iter().map(|name| format!("{} (gone)", part_in_words(name)));
        let all: Vec<String> = self.changed.iter().map(|(name, _)| part_in_words(name)).chain(gone).collect();
        const SHOWN: usize = 5;
        match all.len() {
            0 => "something".to_owned(),
            count if count <= SHOWN => all.join(", "),
            count => format!("{} and {} more parts", all[..SHOWN].join(", "), count - SHOWN),
        }
    }
}
