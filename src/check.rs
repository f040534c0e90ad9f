//! Runs the rules over a book: each site by itself, in parallel, then the registers.

use std::collections::HashMap;
use std::sync::Arc;

use rayon::prelude::*;

use crate::book::{Book, Holes, Places, Record, SiteFiles, SiteRecords, SourceFile, Stray};
use crate::cache::Cache;
use crate::finding::{Finding, Grade, Place};
use crate::record::{Answer, Date, Instrument, Model, Recall, Status};
use crate::rules::facts::SiteFacts;
use crate::rules::view::{BookView, SiteView};
use crate::rules::{self, Check, Report, form};

/// What the rules said of a book, before anybody has judged it.
#[derive(Debug, Default)]
pub struct Checked {
    /// Everything found.
    pub findings: Vec<Finding>,
    /// Every answer given in a record.
    pub answers: Vec<GivenAnswer>,
    /// Sites read.
    pub sites: usize,
    /// Jobs read.
    pub jobs: usize,
    /// Files read.
    pub files: usize,
    /// Of each site that was read, what rules across sites need.
    pub facts: Vec<SiteFacts>,
}

impl Checked {
    /// Adds what was said of another part of the book.
    pub fn add(&mut self, mut more: Checked) {
        self.findings.append(&mut more.findings);
        self.answers.append(&mut more.answers);
        self.facts.append(&mut more.facts);
        self.sites += more.sites;
        self.jobs += more.jobs;
        self.files += more.files;
    }
}

/// An answer and where it was given.
#[derive(Debug, Clone)]
pub struct GivenAnswer {
    /// What it says.
    pub answer: Answer,
    /// Where it stands.
    pub place: Place,
    /// The files it speaks for: one file, or a folder when it ends in `/`.
    pub scope: String,
}

/// Checks the whole book as of `today`. `progress` is told of every site that is done.
pub fn check(book: &Book, today: Date, progress: &(dyn Fn() + Sync)) -> Checked {
    check_with(book, today, None, progress)
}

/// The same, with what earlier runs kept of sites that are still the same.
pub fn check_with(book: &Book, today: Date, cache: Option<&Cache>, progress: &(dyn Fn() + Sync)) -> Checked {
    let per_site: Vec<Checked> = book
        .sites
        .par_iter()
        .map(|files| {
            let checked = cache.map_or_else(|| check_site(book, files, today), |cache| cache.check_site(book, files, today));
            progress();
            checked
        })
        .collect();
    let mut all = Checked { facts: Vec::with_capacity(per_site.len()), ..Checked::default() };
    per_site.into_iter().for_each(|site| all.add(site));
    let registers = check_registers(book, &all.facts, today);
    all.add(registers);
    all
}

/// Checks one site with all its visits.
pub fn check_site(book: &Book, files: &SiteFiles, today: Date) -> Checked {
    let (records, strays) = book.read_site(files);
    check_records(book, &records, &strays, today)
}

/// Checks one site that has been read.
pub fn check_records(book: &Book, records: &SiteRecords, strays: &[Stray], today: Date) -> Checked {
    let mut checked = run_site(book, records, strays, today);
    locate(&mut checked.findings);
    locate_answers(&mut checked.answers);
    checked
}

/// Runs the rules over one site that has been read. The places of what they raise are paths still, not bytes.
pub fn run_site(book: &Book, records: &SiteRecords, strays: &[Stray], today: Date) -> Checked {
    let mut checked = Checked { sites: 1, jobs: records.jobs.len(), files: records.jobs.len() + strays.len(), ..Checked::default() };
    let mut findings = Vec::new();
    for stray in strays {
        form::tell(&stray.source, &stray.fault, &mut findings);
    }
    if let Some(site) = &records.site {
        checked.files += 1;
        form::tell_all(site, &mut findings);
    }
    for job in &records.jobs {
        form::tell_job(job, &mut findings);
    }
    checked.answers = answers_of(records);
    let view = SiteView::new(book, records, today);
    checked.facts.push(SiteFacts::of(&view));
    let mut judged = Vec::new();
    for rule in rules::all() {
        match rule.check {
            Check::Site(run) | Check::SiteAndBook(run, _) => run(&view, &mut Report::new(rule, "", &mut judged)),
            Check::Job(run) => {
                for job in view.jobs().filter(|job| !job.record.lost) {
                    run(job, &mut Report::new(rule, "", &mut judged));
                }
            }
            Check::Circuit(run) => {
                for circuit in view.jobs().filter(|job| !job.record.lost).flat_map(|job| job.circuits()) {
                    run(circuit, &mut Report::new(rule, circuit.id(), &mut judged));
                }
            }
            Check::Book(_) | Check::Reading | Check::Judging => {}
        }
    }
    let unreadable = Unreadable::of(
        records.jobs.iter().map(|job| (&job.source, &job.unreadable)),
        records.site.as_ref().map(|site| (&site.source, &site.unreadable)),
    );
    let drafts: Vec<*const SourceFile> =
        records.jobs.iter().filter(|job| job.data.status == Some(Status::Draft)).map(|job| Arc::as_ptr(&job.source)).collect();
    // Nothing may be said of a value that could not be read, not even that it is missing; of a draft, only that it is one,
    // dangers, and that it breaks a seal.
    judged.retain(|finding| {
        let in_draft = drafts.contains(&Arc::as_ptr(&finding.place.file));
        let told = finding.grade == Grade::Danger
            || finding.rule == rules::missing::STILL_DRAFT
            || rules::seals::TOLD_OF_DRAFTS.contains(&finding.rule);
        !unreadable.holds(&finding.place) && (!in_draft || told)
    });
    findings.append(&mut judged);
    checked.findings = findings;
    checked
}

/// Checks the settings, the registers, what stands where no record belongs, and what only shows across sites. `facts` are those of the
/// book's sites, in their order.
pub fn check_registers(book: &Book, facts: &[SiteFacts], today: Date) -> Checked {
    let mut checked = Checked { files: 1 + book.instruments.len() + book.models.len() + book.recalls.len(), ..Checked::default() };
    let mut findings = Vec::new();
    for stray in &book.strays {
        form::tell(&stray.source, &stray.fault, &mut findings);
    }
    form::tell_all(&book.settings, &mut findings);
    for (source, faults, is_there) in [
        (&book.seals().source, &book.seals().faults, book.seals().is_there),
        (&book.backlog().source, &book.backlog().faults, book.backlog().is_there),
    ] {
        checked.files += usize::from(is_there);
        faults.iter().for_each(|fault| form::tell(source, fault, &mut findings));
    }
    let mut judged = Vec::new();
    let view = BookView { book, facts, today };
    for rule in rules::all() {
        if let Check::Book(run) | Check::SiteAndBook(_, run) = rule.check {
            run(view, &mut Report::new(rule, "", &mut judged));
        }
    }
    fn register<T>(
        records: &std::collections::BTreeMap<String, Record<T>>,
        answers: fn(&T) -> &[Answer],
        findings: &mut Vec<Finding>,
        checked: &mut Checked,
    ) {
        for record in records.values() {
            form::tell_all(record, findings);
            collect_answers(&record.source, answers(&record.data), record.source.path.clone(), &mut checked.answers);
        }
    }
    register(&book.instruments, |data: &Instrument| &data.answers, &mut findings, &mut checked);
    register(&book.models, |data: &Model| &data.answers, &mut findings, &mut checked);
    register(&book.recalls, |data: &Recall| &data.answers, &mut findings, &mut checked);
    let unreadable = book.instruments.values().map(|record| (&record.source, &record.unreadable));
    let unreadable = unreadable.chain(book.models.values().map(|record| (&record.source, &record.unreadable)));
    let unreadable = unreadable.chain(book.recalls.values().map(|record| (&record.source, &record.unreadable)));
    let unreadable = Unreadable::of(unreadable, Some((&book.settings.source, &book.settings.unreadable)));
    judged.retain(|finding| !unreadable.holds(&finding.place));
    findings.append(&mut judged);
    for finding in &mut findings {
        reread(book, finding);
    }
    locate(&mut findings);
    locate_answers(&mut checked.answers);
    checked.findings = findings;
    checked
}

/// Findings about a file that is no longer in memory get its text back.
fn reread(book: &Book, finding: &mut Finding) {
    let places = std::iter::once(&mut finding.place).chain(finding.related.iter_mut().map(|related| &mut related.place));
    for place in places {
        let unread = place.file.text.is_empty() && !place.file.path.is_empty();
        if !unread || place.span.is_some() {
            continue;
        }
        if let Some(source) = book.reread(&place.file.path) {
            place.file = source;
        }
    }
}

/// The answers given in the records of a site.
pub fn answers_of(records: &SiteRecords) -> Vec<GivenAnswer> {
    let mut answers = Vec::new();
    if let Some(site) = &records.site {
        collect_answers(&site.source, &site.data.answers, format!("sites/{}/", records.files.id), &mut answers);
    }
    for job in &records.jobs {
        collect_answers(&job.source, &job.data.answers, job.source.path.clone(), &mut answers);
    }
    answers
}

fn collect_answers(source: &Arc<SourceFile>, answers: &[Answer], scope: String, into: &mut Vec<GivenAnswer>) {
    into.extend(answers.iter().enumerate().map(|(index, answer)| GivenAnswer {
        answer: answer.clone(),
        place: Place::at(source, crate::path!["answers", index]),
        scope: scope.clone(),
    }));
}

/// What could not be read, file by file.
struct Unreadable<'a>(HashMap<*const SourceFile, &'a Holes>);

impl<'a> Unreadable<'a> {
    fn of(files: impl Iterator<Item = (&'a Arc<SourceFile>, &'a Holes)>, one_more: Option<(&'a Arc<SourceFile>, &'a Holes)>) -> Self {
        let files = files.chain(one_more).filter(|(_, holes)| !holes.is_empty());
        Unreadable(files.map(|(source, holes)| (Arc::as_ptr(source), holes)).collect())
    }

    fn holds(&self, place: &Place) -> bool {
        self.0.get(&Arc::as_ptr(&place.file)).is_some_and(|holes| holes.hold(&place.path))
    }
}

/// Looks up the bytes of every place; a file's span tree is built once, and only when something is to be shown in it.
pub fn locate(findings: &mut [Finding]) {
    let mut trees: HashMap<*const SourceFile, Places> = HashMap::new();
    for finding in findings {
        locate_place(&mut finding.place, &mut trees);
        for related in &mut finding.related {
            locate_place(&mut related.place, &mut trees);
        }
    }
}

fn locate_answers(answers: &mut [GivenAnswer]) {
    let mut trees = HashMap::new();
    for given in answers {
        locate_place(&mut given.place, &mut trees);
    }
}

/// Looks up the bytes of one place.
pub fn locate_place(place: &mut Place, trees: &mut HashMap<*const SourceFile, Places>) {
    if place.span.is_none() {
        let tree = trees.entry(Arc::as_ptr(&place.file)).or_insert_with(|| Places::of(&place.file));
        place.span = Some(tree.span(&place.file, &place.path));
    }
}
