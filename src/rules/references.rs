//! Records that point at something that is not there, and things that share one name.

use std::collections::BTreeMap;

use super::view::{BookView, JobView, SiteView};
use super::{Check, Example, Family, Report, Rule, nearest};
use crate::book::{Book, FieldPath, SiteFiles, SiteRecords};
use crate::finding::Grade;
use crate::finding::Place;
use crate::path;
use crate::record::is_withheld;

/// The rules of this family.
pub const RULES: &[&Rule] =
    &[&UNKNOWN_REFERENCE, &UNKNOWN_REGISTER_REFERENCE, &BOARD_FED_FROM_NOTHING, &SAME_ID_TWICE, &SITE_RECORD_MISSING, &LINK_TO_NOTHING];

const UNKNOWN_REFERENCE: Rule = Rule {
    id: "unknown-reference",
    family: Family::References,
    grade: Grade::Breach,
    title: "A record names something that the book does not hold",
    looks_at: "The boards, circuits, instruments, models, people, visits and faults that a visit names. Quiet for what a handed-over copy marks as withheld.",
    why: "A reading whose instrument is unknown has no provenance, and a fault whose repair cannot be found is still open.",
    sources: &["record format, version 1"],
    bad: Example::Keys("instruments: [mft-1, mft-7]"),
    good: Example::Keys("instruments: [mft-1, torque-1]"),
    cure: "Correct the name, or add the record it names.",
    check: Check::Job(check_job),
};

const UNKNOWN_REGISTER_REFERENCE: Rule = Rule {
    id: "register-names-nothing",
    family: Family::References,
    grade: Grade::Breach,
    title: "A register or a site record names something that the book does not hold",
    looks_at: "The model and the visits that a recall names.",
    why: "A recall for a model that is not in the book finds nobody; a unit ticked off by a visit that does not exist is not done.",
    sources: &["record format, version 1"],
    bad: Example::File {
        path: "recalls/2026-06-01-cover-screw.md",
        bytes: b"---\nrecord: recall\nissued: 2026-06-01\nmodel: heron-9\nserials: [{from: CP-1, to: CP-2}]\nadvice: isolate until the cover screw is replaced\n---\n",
    },
    good: Example::File {
        path: "recalls/2026-06-01-cover-screw.md",
        bytes: b"---\nrecord: recall\nissued: 2026-06-01\nmodel: plover-7\nserials: [{from: CP-1, to: CP-2}]\nadvice: isolate until the cover screw is replaced\n---\n",
    },
    cure: "Correct the name, or add the record it names.",
    check: Check::Book(check_recalls),
};

const BOARD_FED_FROM_NOTHING: Rule = Rule {
    id: "board-fed-from-nothing",
    family: Family::References,
    grade: Grade::Breach,
    title: "A board is fed from a board that the site does not have, or from itself",
    looks_at: "`fed_from` of each board in site.md. Quiet at `origin`, where nothing is said, and where the feeding circuit is still to be \
               described: its board is enough.",
    why: "What stands upstream is found by this key: RCDs in a row, the volt drop of the feeder, what gives the fault protection.",
    sources: &["record format, version 1"],
    bad: Example::Keys("sites/elm-row/site.md: {boards: [{id: main, fed_from: intake/1}]}"),
    good: Example::Keys("sites/elm-row/site.md: {boards: [{id: main, fed_from: origin}]}"),
    cure: "Write `origin`, or `<board>/<way>` of the circuit that feeds it.",
    check: Check::Site(check_feeding),
};

pub(super) const SAME_ID_TWICE: Rule = Rule {
    id: "same-id-twice",
    family: Family::References,
    grade: Grade::Breach,
    title: "Two things share one id",
    looks_at: "Boards of a site; circuits, faults and observations of a visit; files whose names differ only in capitals.",
    why: "Whatever names the id then means two things, and a comparison with the last visit compares the wrong one.",
    sources: &["record format, version 1"],
    bad: Example::Keys(
        "faults: [{id: f1, reported: 2026-11-02, symptom: other, found: loose gland, cause: other, state: fixed, fixed_by: 2026-11-02-shed, circuit: main/1}, {id: f1, reported: 2026-11-02, symptom: other, found: loose lid, cause: other, state: fixed, fixed_by: 2026-11-02-shed, circuit: main/1}]",
    ),
    good: Example::Keys("{}"),
    cure: "Give each its own id; an id once used stays with its thing for life.",
    check: Check::Site(check_ids),
};

const SITE_RECORD_MISSING: Rule = Rule {
    id: "site-record-missing",
    family: Family::References,
    grade: Grade::Breach,
    title: "A site's folder has no site.md",
    looks_at: "Every folder under sites/ that holds a visit.",
    why: "Without the supply and its earthing nothing can be judged against a limit.",
    sources: &["record format, version 1"],
    bad: Example::File {
        path: "sites/oak-lane/2026-11-05-note.md",
        bytes: b"---\nrecord: job\nkind: survey\nstatus: planned\ntitle: Look at the board\n---\n",
    },
    good: Example::Keys("{}"),
    cure: "`ampledger new site <site>` writes one ready to fill.",
    check: Check::Site(check_site_record),
};

const LINK_TO_NOTHING: Rule = Rule {
    id: "link-to-nothing",
    family: Family::References,
    grade: Grade::Doubt,
    title: "The text points at a file that is not there",
    looks_at: "Links and images in a record's text that are not web addresses, and photographs that a joint names.",
    why: "The picture that was to show the joint is the one thing that cannot be taken again.",
    sources: &["record format, version 1"],
    bad: Example::Keys(
        "joints: [{where: lid, kind: screw, made_by: us, access: open, conductor: solid, torque_nm: 2.5, photo: photos/lid.jpg}]",
    ),
    good: Example::Keys("{}"),
    cure: "Add the file beside the record, or correct its name.",
    check: Check::Job(check_links),
};

fn unknown<'w>(
    report: &mut Report<'_>,
    job: JobView<'_>,
    path: FieldPath,
    what: &str,
    name: &str,
    known: impl IntoIterator<Item = &'w str>,
) {
    let near = nearest(name, known).map(str::to_owned);
    let finding = report.raise(job.place(path), format!("{what} `{name}` is not in this book"));
    finding.subject(name);
    if let Some(near) = near {
        finding.help(format!("Did you mean {near}?"));
    }
}

fn check_feeding(site: &SiteView<'_>, report: &mut Report<'_>) {
    let Some(record) = site.record().filter(|site| !site.may_lack(&path!["boards"])) else { return };
    let record = &record.data;
    for (index, board) in record.boards.iter().enumerate() {
        let Some(from) = board.fed_from.as_deref().map(str::trim).filter(|from| !from.is_empty() && *from != "origin") else { continue };
        let feeder = from.split_once('/').map_or(from, |(feeder, _)| feeder);
        let message = match site.board(feeder) {
            Some((own, _)) if own == index => format!("this board is fed from {from}, which is itself"),
            Some(_) => continue,
            None => format!("this board is fed from {from}, and the site has no board `{feeder}`"),
        };
        let finding = report.raise(site.place(path!["boards", index, "fed_from"]), message);
        finding.subject(board.id.as_deref().unwrap_or_default());
        if let Some(near) =
            nearest(feeder, record.boards.iter().filter(|other| other.id != board.id).filter_map(|board| board.id.as_deref()))
        {
            finding.help(format!("Did you mean {near}?"));
        }
    }
}

fn check_job(job: JobView<'_>, report: &mut Report<'_>) {
    let data = job.data();
    let book = job.site.book;
    for (index, name) in data.instruments.iter().enumerate() {
        if !book.instruments.contains_key(name) && !is_unread(book, "instruments", name) {
            unknown(report, job, path!["instruments", index], "the instrument", name, book.instruments.keys().map(String::as_str));
        }
    }
    let people: Vec<&str> = book.settings.data.people.iter().filter_map(|person| person.id.as_deref()).collect();
    let named = [("designed", &data.people.designed), ("built", &data.people.built), ("tested", &data.people.tested)];
    let all_people = !book.settings.may_lack(&path!["people"]);
    for (key, name) in named {
        if let Some(name) = name.as_deref().filter(|name| all_people && !people.contains(name)) {
            unknown(report, job, path!["people", key], "the person", name, people.iter().copied());
        }
    }
    check_boards(job, report);
    let circuit = |report: &mut Report<'_>, name: &Option<String>, path: FieldPath| {
        // The circuits of all visits are gone through only when this one names a circuit outside its own list, and once a site.
        let Some(name) = name.as_deref().filter(|name| job.circuit(name).is_none()) else { return };
        if let Some(circuits) =
            job.site.circuit_ids().filter(|circuits| circuits.binary_search_by(|known| known.as_str().cmp(name)).is_err())
        {
            unknown(report, job, path, "the circuit", name, circuits.iter().map(String::as_str));
        }
    };
    for (index, unit) in data.units.iter().enumerate() {
        circuit(report, &unit.circuit, path!["units", index, "circuit"]);
        if let Some(model) = unit.model.as_deref().filter(|model| !book.models.contains_key(*model) && !is_unread(book, "models", model)) {
            unknown(report, job, path!["units", index, "model"], "the model", model, book.models.keys().map(String::as_str));
        }
    }
    for (index, joint) in data.joints.iter().enumerate() {
        circuit(report, &joint.circuit, path!["joints", index, "circuit"]);
    }
    let visit = |report: &mut Report<'_>, name: &Option<String>, path: FieldPath| {
        if let Some(name) = name.as_deref().filter(|name| !is_withheld(name) && !job.site.records.files.has_job(name)) {
            unknown(report, job, path, "the visit", name, job.site.jobs().map(|job| job.id()));
        }
    };
    for (index, fault) in data.faults.iter().enumerate() {
        circuit(report, &fault.circuit, path!["faults", index, "circuit"]);
        visit(report, &fault.fixed_by, path!["faults", index, "fixed_by"]);
        let Some(repeats) = fault.repeats.as_deref().filter(|repeats| !is_withheld(repeats)) else { continue };
        let (visit_id, fault_id) = repeats.split_once('#').unwrap_or((repeats, ""));
        let earlier = job.site.job(visit_id);
        let unread = earlier.is_none() && job.site.records.files.has_job(visit_id);
        let known = unread
            || earlier.is_some_and(|job| {
                job.record.may_lack(&path!["faults"]) || job.data().faults.iter().any(|fault| fault.id.as_deref() == Some(fault_id))
            });
        if !known {
            let path = path!["faults", index, "repeats"];
            let faults: Vec<String> = job
                .site
                .jobs()
                .flat_map(|job| job.data().faults.iter().filter_map(move |fault| Some(format!("{}#{}", job.id(), fault.id.as_deref()?))))
                .collect();
            unknown(report, job, path, "the fault", repeats, faults.iter().map(String::as_str));
        }
    }
    for (index, observation) in data.observations.iter().enumerate() {
        visit(report, &observation.cleared_by, path!["observations", index, "cleared_by"]);
    }
    visit(report, &data.continues, path!["continues"]);
}

/// The boards that circuits and readings name must stand in `site.md`.
fn check_boards(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(site) = job.site.record().filter(|site| !site.may_lack(&path!["boards"])) else { return };
    let boards: Vec<&str> = site.data.boards.iter().filter_map(|board| board.id.as_deref()).collect();
    for (index, reading) in job.data().boards.iter().enumerate() {
        if let Some(name) = reading.id.as_deref().filter(|name| !boards.contains(name)) {
            unknown(report, job, path!["boards", index, "id"], "the board", name, boards.iter().copied());
        }
    }
    for circuit in job.circuits().filter(|circuit| !circuit.id().is_empty()) {
        if !boards.contains(&circuit.board_id()) {
            let name = if circuit.board_id().is_empty() { circuit.id() } else { circuit.board_id() };
            unknown(report, job, circuit.path().at("id"), "the board", name, boards.iter().copied());
        }
    }
}

/// Whether a register has a file of that name which could not be opened.
fn is_unread(book: &Book, folder: &str, name: &str) -> bool {
    book.strays.iter().any(|stray| stray.source.path.strip_prefix(folder) == Some(&format!("/{name}.md")))
}

fn check_recalls(view: BookView<'_>, report: &mut Report<'_>) {
    for recall in view.book.recalls.values() {
        if let Some(model) =
            recall.data.model.as_deref().filter(|model| !view.book.models.contains_key(*model) && !is_unread(view.book, "models", model))
        {
            let near = nearest(model, view.book.models.keys().map(String::as_str)).map(|near| format!("Did you mean {near}?"));
            let place = Place::at(&recall.source, path!["model"]);
            let finding = report.raise(place, format!("the model `{model}` is not in this book"));
            finding.subject(model);
            if let Some(near) = near {
                finding.help(near);
            }
        }
        for (index, done) in recall.data.done.iter().enumerate() {
            if let Some(by) = done.by.as_deref().filter(|by| !is_withheld(by) && !view.book.has_job(by)) {
                let place = Place::at(&recall.source, path!["done", index, "by"]);
                let finding = report.raise(place, format!("the visit `{by}` is not in this book"));
                finding.subject(by).help("Name it <site>/<visit>, as in elm-row/2026-11-02-shed.");
            }
        }
    }
}

fn check_ids(site: &SiteView<'_>, report: &mut Report<'_>) {
    if let Some(record) = site.record() {
        let ids = record.data.boards.iter().map(|board| board.id.as_deref());
        twice(report, ids, |index| (site.place(path!["boards", index, "id"]), "board"));
    }
    for job in site.jobs() {
        let data = job.data();
        twice(report, data.circuits.iter().map(|circuit| circuit.id.as_deref()), |index| {
            (job.place(path!["circuits", index, "id"]), "circuit")
        });
        twice(report, data.faults.iter().map(|fault| fault.id.as_deref()), |index| (job.place(path!["faults", index, "id"]), "fault"));
        let observations = data.observations.iter().map(|observation| observation.id.as_deref());
        twice(report, observations, |index| (job.place(path!["observations", index, "id"]), "observation"));
    }
}

fn twice<'a>(report: &mut Report<'_>, ids: impl Iterator<Item = Option<&'a str>>, at: impl Fn(usize) -> (Place, &'static str)) {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for (index, id) in ids.enumerate() {
        let Some(id) = id else { continue };
        if let Some(first) = seen.get(id) {
            let (place, what) = at(index);
            report.raise(place, format!("the {what} {id} stands here a second time")).subject(id).because(at(*first).0, "the first");
        } else {
            seen.insert(id, index);
        }
    }
}

fn check_site_record(site: &SiteView<'_>, report: &mut Report<'_>) {
    if site.records.site.is_some() || site.records.files.site.is_some() {
        return;
    }
    if let Some(job) = site.jobs().next() {
        let message = format!("sites/{}/ has no site.md: nothing here can be judged against its supply", site.id());
        report.raise(job.place(FieldPath::root()), message).subject(site.id());
    }
}

/// Links to nothing that are told of one by one.
const MAX_LINKS: usize = 64;

fn check_links(job: JobView<'_>, report: &mut Report<'_>) {
    let files = &job.site.records.files;
    let folder = format!("sites/{}", files.id);
    let is_there =
        |target: &str| is_listed(files, target) || within(&folder, file_of(target)).is_some_and(|path| job.site.book.has_plain(&path));
    for (index, joint) in job.data().joints.iter().enumerate() {
        if let Some(photo) = joint.photo.as_deref().filter(|photo| !is_withheld(photo) && !is_there(photo)) {
            report.raise(job.place(path!["joints", index, "photo"]), format!("there is no {photo} in {folder}/")).subject(photo);
        }
    }
    let mut broken = 0;
    for link in &job.record.body.links {
        if !leads_elsewhere(&link.target) && !is_there(&link.target) {
            broken += 1;
            if broken > MAX_LINKS {
                continue;
            }
            let place = Place::bytes(&job.record.source, FieldPath::root(), link.span.clone());
            report.raise(place, format!("there is no {} in {folder}/", link.target)).subject(&link.target);
        }
    }
    if broken > MAX_LINKS {
        let message = format!("{} more links in this text lead to nothing", broken - MAX_LINKS);
        report.raise(job.place(FieldPath::root()), message);
    }
}

/// Whether a link leads to no file at all, or to none that is ours to look for.
fn leads_elsewhere(target: &str) -> bool {
    target.contains("://") || target.starts_with(['#', '/']) || target.starts_with("mailto:") || target.is_empty()
}

/// The file of a link, without the place in it.
fn file_of(target: &str) -> &str {
    target.split(['#', '?']).next().unwrap_or_default()
}

/// Whether a link from a site's folder leads to a file that was seen when the book was listed.
fn is_listed(files: &SiteFiles, target: &str) -> bool {
    within(&format!("sites/{}", files.id), file_of(target))
        .is_some_and(|path| files.others.binary_search(&path).is_ok() || files.is_record(&path))
}

/// Whether something in a site names a file that is not among the files of that site, so that its findings hang on what else is on the disk.
pub(crate) fn names_what_is_not_listed(records: &SiteRecords) -> bool {
    let unlisted = |target: &str| !leads_elsewhere(target) && !is_listed(&records.files, target);
    records.jobs.iter().any(|job| {
        job.data.joints.iter().filter_map(|joint| joint.photo.as_deref()).any(|photo| !is_listed(&records.files, photo))
            || job.body.links.iter().any(|link| unlisted(&link.target))
    })
}

/// The path of `target` seen from `folder`, or nothing when it leaves the book.
pub(crate) fn within(folder: &str, target: &str) -> Option<String> {
    let mut parts: Vec<&str> = folder.split('/').collect();
    for part in target.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(part),
        }
    }
    Some(parts.join("/"))
}
