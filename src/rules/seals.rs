//! Seals: records and photographs that are no longer what they were when the paper was issued.

use std::collections::BTreeMap;

use super::view::{BookView, JobView};
use super::{Check, Example, Family, Report, Rule};
use crate::book::{Book, FieldPath, RollEntry};
use crate::finding::{Grade, Place};
use crate::path;
use crate::record::{Seal, Status};
use crate::seal::{self, Form, Kept};

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &SEALED_RECORD_CHANGED,
    &SEALED_RECORD_MISSING,
    &SEALED_PHOTOGRAPH_CHANGED,
    &SEALED_TWICE,
    &SEAL_CANNOT_BE_COMPARED,
    &ISSUED_RECORD_NOT_SEALED,
];

/// What is told of a record even when it calls itself a draft: otherwise one word would break any seal.
pub const TOLD_OF_DRAFTS: [&str; 2] = [SEALED_RECORD_CHANGED.id, SEALED_PHOTOGRAPH_CHANGED.id];

const SEALED_RECORD_CHANGED: Rule = Rule {
    id: "sealed-record-changed",
    family: Family::Seals,
    grade: Grade::Breach,
    title: "A record says something else than when it was sealed",
    looks_at: "Every record in seals.yaml, by its meaning: white space, line ends, comments, quoting and the order of keys are no change, and 0.3 for 0.30 is one. Quiet for what is written later by its nature: answers, fixed_by, cleared_by, done, answered, a ticked box. What the record relies on in site.md is not sealed. The finding's subject is the digest as it is now, so that an answer with `at` speaks for this change and for no later one. A record that cannot be read whole is told of as such, and compared when it can.",
    why: "A paper went out that said what the record said then. When the two are compared later, each difference needs its reason.",
    sources: &["common practice"],
    bad: Example::Keys(
        "sites/elm-row/2026-10-20-survey.md: {record: job, kind: survey, status: planned, title: Look at the board}\nseals.yaml: {format: 1, seals: [{file: sites/elm-row/2026-10-20-survey.md, seal: 1, on: 2026-11-20, form: 1, digest: \"0000000000000000000000000000000000000000000000000000000000000000\"}]}",
    ),
    good: Example::Keys(
        "sites/elm-row/2026-10-20-survey.md: {title: \"Look at  the board\", status: planned, kind: survey, record: job}\nseals.yaml: {format: 1, seals: [{file: sites/elm-row/2026-10-20-survey.md, seal: 1, on: 2026-11-20, form: 1, digest: \"e43330b2b2fd1a2d7b28c55ecab5a2ccdafd668ee37a9faed85adf5332001948\"}]}",
    ),
    cure: "Put it back as it was; `git log -p` shows what it said. A correction is a new visit, or `ampledger seal --reason` with what was wrong.",
    check: Check::Job(check_record),
};

const SEALED_RECORD_MISSING: Rule = Rule {
    id: "sealed-record-missing",
    family: Family::Seals,
    grade: Grade::Breach,
    title: "A sealed record is no longer there, or goes by another name",
    looks_at: "Every record in seals.yaml. A record elsewhere that says the same and has no seal of its own is named.",
    why: "A paper is out, and what it rests on is gone; other records and the seal still name it by its old path.",
    sources: &["common practice"],
    bad: Example::Keys(
        "seals.yaml: {format: 1, seals: [{file: sites/elm-row/2026-10-20-survey.md, seal: 1, on: 2026-11-20, form: 1, digest: \"e43330b2b2fd1a2d7b28c55ecab5a2ccdafd668ee37a9faed85adf5332001948\"}]}",
    ),
    good: Example::Keys("seals.yaml: {format: 1, seals: []}"),
    cure: "Take it back from git, or give it its old name. A record may go only when its time of keeping is over; then take its lines out of seals.yaml.",
    check: Check::Book(check_missing),
};

const SEALED_PHOTOGRAPH_CHANGED: Rule = Rule {
    id: "sealed-photograph-changed",
    family: Family::Seals,
    grade: Grade::Breach,
    title: "A photograph of a sealed record is another, or is no longer there",
    looks_at: "The bytes of the photographs that a record named when it was sealed.",
    why: "The picture is the one thing that cannot be taken again; one that was edited shows nothing.",
    sources: &["common practice"],
    bad: Example::Keys(
        "sites/elm-row/2026-10-20-survey.md: {record: job, kind: survey, status: planned, title: Look at the board}\nseals.yaml: {format: 1, seals: [{file: sites/elm-row/2026-10-20-survey.md, seal: 1, on: 2026-11-20, form: 1, digest: \"e43330b2b2fd1a2d7b28c55ecab5a2ccdafd668ee37a9faed85adf5332001948\", photographs: {sites/elm-row/photos/2026-10-20-board.jpg: \"bf891ea46ead4993e89aa7da02ab8c23dd50f29e9aae64607105363a5f070e03\"}}]}",
    ),
    good: Example::Keys(
        "sites/elm-row/2026-10-20-survey.md: {record: job, kind: survey, status: planned, title: Look at the board}\nseals.yaml: {format: 1, seals: [{file: sites/elm-row/2026-10-20-survey.md, seal: 1, on: 2026-11-20, form: 1, digest: \"e43330b2b2fd1a2d7b28c55ecab5a2ccdafd668ee37a9faed85adf5332001948\"}]}",
    ),
    cure: "Take it back from git or from the camera. If it had to change, such as to strip a place, seal the record again with the reason.",
    check: Check::Job(check_photographs),
};

const SEALED_TWICE: Rule = Rule {
    id: "sealed-twice",
    family: Family::Seals,
    grade: Grade::Doubt,
    title: "A record has two seals that differ, and neither comes after the other",
    looks_at: "Seals of one record with the same number: two people sealed it, each on a branch of their own.",
    why: "The record may be either of the two, or a mixture that nobody has read.",
    sources: &["common practice"],
    bad: Example::Keys(
        "sites/elm-row/2026-10-20-survey.md: {record: job, kind: survey, status: planned, title: Look at the board}\nseals.yaml: {format: 1, seals: [{file: sites/elm-row/2026-10-20-survey.md, seal: 1, on: 2026-11-20, form: 1, digest: \"e43330b2b2fd1a2d7b28c55ecab5a2ccdafd668ee37a9faed85adf5332001948\"}, {file: sites/elm-row/2026-10-20-survey.md, seal: 1, on: 2026-11-21, form: 1, digest: \"0000000000000000000000000000000000000000000000000000000000000000\"}]}",
    ),
    good: Example::Keys(
        "sites/elm-row/2026-10-20-survey.md: {record: job, kind: survey, status: planned, title: Look at the board}\nseals.yaml: {format: 1, seals: [{file: sites/elm-row/2026-10-20-survey.md, seal: 1, on: 2026-11-20, form: 1, digest: \"0000000000000000000000000000000000000000000000000000000000000000\"}, {file: sites/elm-row/2026-10-20-survey.md, seal: 2, on: 2026-11-21, why: the wrong board, form: 1, digest: \"e43330b2b2fd1a2d7b28c55ecab5a2ccdafd668ee37a9faed85adf5332001948\"}]}",
    ),
    cure: "Read the record, then `ampledger seal --reason` with what was merged.",
    check: Check::Book(check_twice),
};

const SEAL_CANNOT_BE_COMPARED: Rule = Rule {
    id: "seal-cannot-be-compared",
    family: Family::Seals,
    grade: Grade::Breach,
    title: "A seal lacks its record or its digest, or was made by a newer program",
    looks_at: "Every entry in seals.yaml.",
    why: "It looks like a seal and holds nothing.",
    sources: &["record format, version 1"],
    bad: Example::Keys(
        "sites/elm-row/2026-10-20-survey.md: {record: job, kind: survey, status: planned, title: Look at the board}\nseals.yaml: {format: 1, seals: [{file: sites/elm-row/2026-10-20-survey.md, seal: 1, on: 2026-11-20, form: 2, digest: \"e43330b2b2fd1a2d7b28c55ecab5a2ccdafd668ee37a9faed85adf5332001948\"}]}",
    ),
    good: Example::Keys("seals.yaml: {format: 1, seals: []}"),
    cure: "Take seals.yaml back from git, or use the newer program.",
    check: Check::Book(check_whole),
};

const ISSUED_RECORD_NOT_SEALED: Rule = Rule {
    id: "issued-record-not-sealed",
    family: Family::Seals,
    grade: Grade::Tidy,
    title: "A record was issued and is not sealed",
    looks_at: "Records with `status: issued` whose last paper (or whose visit, where no paper has a date) is of the day of the first seal or later, or of the day that `since` in seals.yaml gives. Quiet in a book without seals, and where seals.yaml cannot be read whole.",
    why: "In a book that seals what it issues, a record without a seal is the one whose changes nobody sees.",
    sources: &["common practice"],
    bad: Example::Keys("seals.yaml: {format: 1, since: 2026-11-01, seals: []}"),
    good: Example::Keys("seals.yaml: {format: 1, since: 2026-11-20, seals: []}"),
    cure: "`ampledger seal <site>/<visit>`.",
    check: Check::Job(check_sealed),
};

/// The first digits of a digest, enough to tell one change from another.
fn short(digest: &str) -> &str {
    digest.get(..8).unwrap_or(digest)
}

fn place_of(book: &Book, entry: &RollEntry<Seal>) -> Place {
    Place::bytes(&book.seals().source, FieldPath::root(), entry.span.clone())
}

/// Whether this program can compare the seal.
fn is_whole(seal: &Seal) -> bool {
    seal.file.is_some() && seal.digest.is_some() && seal.form.is_some_and(|form| *form == seal::FORM)
}

fn sealed_on(seal: &Seal) -> String {
    seal.on.map_or_else(|| "sealed".to_owned(), |on| format!("sealed on {on}"))
}

fn check_record(job: JobView<'_>, report: &mut Report<'_>) {
    let book = job.site.book;
    let holding = seal::holding(book.seals(), &job.record.source.path);
    let Some(first) = holding.first() else { return };
    if !job.record.unreadable.is_empty() || !holding.iter().all(|entry| is_whole(&entry.data)) {
        return;
    }
    let form = Form::of(job.record);
    let mut changes = holding.iter().map(|entry| seal::compare(&form, &entry.data));
    let Some(Some(changed)) = changes.next() else { return };
    if changes.any(|changed| changed.is_none()) {
        return;
    }
    let place = changed.changed.first().map_or_else(|| job.place(FieldPath::root()), |(_, at)| at.place(&job.record.source));
    let message = format!("changed since it was {}: {}", sealed_on(&first.data), changed.in_words());
    let finding = report.raise(place, message);
    finding.subject(short(&form.digest())).because(place_of(book, first), "the seal");
}

fn check_photographs(job: JobView<'_>, report: &mut Report<'_>) {
    let book = job.site.book;
    let holding = seal::holding(book.seals(), &job.record.source.path);
    let Some(first) = holding.first() else { return };
    let mut sealed: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (path, digest) in holding.iter().flat_map(|entry| &entry.data.photographs) {
        sealed.entry(path).or_default().push(digest);
    }
    let named = seal::photographs(job.site.id(), job.record);
    for (path, digests) in sealed {
        let what = match seal::compare_photograph(book, path, &digests) {
            Kept::Same => continue,
            Kept::Changed => "is another than when the record was",
            Kept::Gone => "is no longer there; the record was",
        };
        let place = named.iter().find(|photograph| photograph.path == path).map(|photograph| photograph.at.place(&job.record.source));
        let finding = report.raise(place.unwrap_or_else(|| place_of(book, first)), format!("{path} {what} {}", sealed_on(&first.data)));
        finding.subject(path);
    }
}

fn check_missing(view: BookView<'_>, report: &mut Report<'_>) {
    let seals = view.book.seals();
    let is_there = |file: &str| view.book.site_of(file).is_some_and(|site| site.jobs.iter().any(|job| job == file));
    let mut gone: BTreeMap<&str, &RollEntry<Seal>> = BTreeMap::new();
    for entry in &seals.entries {
        if let Some(file) = entry.data.file.as_deref().filter(|file| !is_there(file)) {
            gone.insert(file, entry);
        }
    }
    if gone.is_empty() {
        return;
    }
    // Only now is it worth reading the records that have no seal, for one that says the same under another name.
    let mut elsewhere: BTreeMap<String, String> = BTreeMap::new();
    for site in &view.book.sites {
        if site.jobs.iter().all(|job| seals.about(job).next().is_some()) {
            continue;
        }
        let (records, _) = view.book.read_site(site);
        for record in records.jobs.iter().filter(|record| seals.about(&record.source.path).next().is_none()) {
            elsewhere.insert(seal::digest(record), record.source.path.clone());
        }
    }
    for (file, last) in gone {
        let now = seal::holding(seals, file).iter().find_map(|entry| elsewhere.get(entry.data.digest.as_deref()?));
        let on = sealed_on(&last.data);
        let message = match now {
            Some(now) => format!("{file}, {on}, is no longer there; {now} says the same"),
            None => format!("{file}, {on}, is no longer there"),
        };
        let finding = report.raise(place_of(view.book, last), message);
        finding.subject(file);
        if now.is_some() {
            finding.help("Give it its old name, or seal it under its new one and take the old lines out of seals.yaml.");
        }
    }
}

fn check_twice(view: BookView<'_>, report: &mut Report<'_>) {
    let seals = view.book.seals();
    let files: std::collections::BTreeSet<&str> = seals.entries.iter().filter_map(|entry| entry.data.file.as_deref()).collect();
    for file in files {
        let holding = seal::holding(seals, file);
        let Some((first, others)) = holding.split_first() else { continue };
        let says = |entry: &RollEntry<Seal>| (entry.data.digest.clone(), entry.data.photographs.clone());
        if let Some(other) = others.iter().find(|other| says(other) != says(first)) {
            let message = format!("{file} has two seals that differ, and neither comes after the other");
            let finding = report.raise(place_of(view.book, other), message);
            finding.subject(file).because(place_of(view.book, first), "the other");
        }
    }
}

fn check_whole(view: BookView<'_>, report: &mut Report<'_>) {
    for entry in view.book.seals().entries.iter().filter(|entry| !is_whole(&entry.data)) {
        let seal = &entry.data;
        let file = seal.file.as_deref().unwrap_or_default();
        let message = match (&seal.file, &seal.digest, seal.form) {
            (None, ..) => "this seal names no record".to_owned(),
            (_, None, _) => format!("the seal of {file} has no digest"),
            (.., Some(form)) => format!("the seal of {file} is of form {form}, and this program knows form {}", seal::FORM),
            (.., None) => format!("the seal of {file} does not say its form"),
        };
        report.raise(place_of(view.book, entry), message).subject(file);
    }
}

fn check_sealed(job: JobView<'_>, report: &mut Report<'_>) {
    let seals = job.site.book.seals();
    if job.data().status != Some(Status::Issued) || !seals.faults.is_empty() || seals.about(&job.record.source.path).next().is_some() {
        return;
    }
    let issued = job.data().papers.iter().filter_map(|paper| paper.issued).max().or_else(|| job.day());
    let since = seals.head.since.or_else(|| seals.entries.iter().filter_map(|entry| entry.data.on).min());
    if since.zip(issued).is_some_and(|(since, issued)| issued >= since) {
        let finding = report.raise(job.place(path!["status"]), "issued, and not sealed");
        finding.help(format!("`ampledger seal {}/{}`", job.site.id(), job.id()));
    }
}
