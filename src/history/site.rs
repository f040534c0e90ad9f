//! A site's story, visit by visit in order of their days.

use std::fmt::Display;

use super::faults::{figures, short};
use super::{Entry, FaultStory, Heading, Lines, Topic, dated, faults, joined, plain, said};
use crate::path;
use crate::record::{Access, Date, Joint, ReadingKey, Unit, UnitEvent};
use crate::rules::limits;
use crate::rules::trends;
use crate::rules::view::{CircuitView, JobView, SiteView};

/// A site's story.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SiteStory {
    /// The site.
    pub id: String,
    /// What it is called.
    pub name: Option<String>,
    /// The visits.
    pub visits: Vec<VisitStory>,
}

/// What one visit tells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VisitStory {
    /// The visit.
    pub heading: Heading,
    /// The earlier visit that it follows, by id.
    pub continues: Option<String>,
    /// True where nothing of its front matter, or not all of it, could be read.
    pub is_broken: bool,
    /// What was done, read, promised and sent.
    pub entries: Vec<Entry>,
    /// The faults that it is the first to record, each told whole.
    pub faults: Vec<FaultStory>,
    /// The faults of earlier visits that it takes up again, told there: `<visit>#<id>`.
    pub again: Vec<String>,
}

/// A site's story since a day. `all`: every reading, every joint; otherwise the readings that changed or are near a limit.
pub fn site(site: &SiteView<'_>, since: Option<Date>, all: bool) -> SiteStory {
    let shown = |job: &JobView<'_>| since.is_none_or(|since| job.day().is_none_or(|day| day >= since));
    let mut faults = faults(site);
    let mut visits: Vec<VisitStory> = Vec::new();
    // Visits with faults, by their places: few, where all visits may be many.
    let mut telling: Vec<usize> = Vec::new();
    for job in site.jobs().filter(shown) {
        // A fault is told whole at the first visit shown that records it.
        let (here, rest): (Vec<_>, Vec<_>) = faults.into_iter().partition(|fault| fault.visits.iter().any(|visit| visit == job.id()));
        faults = rest;
        let told_before = telling.iter().flat_map(|visit| &visits[*visit].faults);
        let again = told_before.filter(|fault| fault.visits.iter().any(|visit| visit == job.id())).map(|fault| fault.id.clone()).collect();
        if !here.is_empty() {
            telling.push(visits.len());
        }
        visits.push(VisitStory {
            heading: Heading::of(job),
            continues: said(&job.data().continues),
            is_broken: job.record.lost || !job.record.unreadable.is_empty(),
            entries: entries(job, all),
            faults: here,
            again,
        });
    }
    SiteStory { id: site.id().to_owned(), name: site.site().and_then(|site| said(&site.name)), visits }
}

fn entries(job: JobView<'_>, all: bool) -> Vec<Entry> {
    let lines = Lines::of(job);
    let mut entries = Vec::new();
    origin(&lines, &mut entries);
    circuits(&lines, all, &mut entries);
    units(&lines, &mut entries);
    let data = job.data();
    for (index, joint) in data.joints.iter().enumerate().filter(|(_, joint)| all || joint.access == Some(Access::Covered)) {
        entries.push(lines.entry(Topic::Joint, &path!["joints", index], joint_words(joint)));
    }
    for (index, one) in data.observations.iter().enumerate() {
        let place = said(&one.place).map(|place| format!("at {place}"));
        let cleared =
            said(&one.cleared_by).map(|by| if by == job.id() { "cleared at this visit".to_owned() } else { format!("cleared by {by}") });
        let due = if cleared.is_some() { None } else { dated("due", one.due) };
        let made_safe = one.made_safe.as_ref().and_then(|made| said(&made.how)).map(|how| format!("made safe: {how}"));
        let lead = joined([one.code.map(|code| code.to_string())]);
        let words = joined([said(&one.what), place, made_safe, due, cleared]);
        entries.push(lines.entry(Topic::Observed, &path!["observations", index], format!("{lead} {words}").trim().to_owned()));
    }
    for (index, one) in data.limitations.iter().enumerate() {
        let agreed = said(&one.agreed_with).map(|with| format!("agreed with {with}"));
        let words = joined([said(&one.what), said(&one.why), agreed]);
        entries.push(lines.entry(Topic::NotCovered, &path!["limitations", index], words));
    }
    let outcome = joined([data.outcome.map(plain), dated("next inspection", data.next_inspection)]);
    let key = if data.outcome.is_some() { "outcome" } else { "next_inspection" };
    entries.push(lines.entry(Topic::Outcome, &path![key], outcome));
    for (index, one) in data.follow_ups.iter().enumerate() {
        let with = said(&one.with).map(|with| format!("with {with}"));
        let done = one.done.map_or_else(|| Some("not done".to_owned()), |day| Some(format!("done {day}")));
        entries.push(lines.entry(
            Topic::Promised,
            &path!["follow_ups", index],
            joined([said(&one.what), with, dated("due", one.due), done]),
        ));
    }
    for (index, one) in data.notices.iter().enumerate() {
        let answered = dated("answered", one.answered);
        let words = joined([one.to.map(plain), one.route.map(plain), said(&one.reference), dated("sent", one.sent), answered]);
        entries.push(lines.entry(Topic::Notice, &path!["notices", index], words));
    }
    for (index, one) in data.papers.iter().enumerate() {
        let number = said(&one.number);
        let given = said(&one.given_to).map(|to| {
            let how = one.how.map(|how| format!(" by {}", plain(how))).unwrap_or_default();
            let on = one.on.map(|on| format!(" on {on}")).unwrap_or_default();
            format!("given to {to}{how}{on}")
        });
        let kind = one.kind.map(plain);
        let named = [kind, number].into_iter().flatten().collect::<Vec<_>>().join(" ");
        entries.push(lines.entry(Topic::Paper, &path!["papers", index], joined([Some(named), dated("issued", one.issued), given])));
    }
    entries.retain(|entry| !entry.words.is_empty());
    entries
}

/// What was read at the origin and at the boards.
fn origin(lines: &Lines<'_>, entries: &mut Vec<Entry>) {
    let data = lines.job.data();
    if let Some(supply) = &data.supply {
        fn figure(name: &str, value: Option<impl Display>, unit: &str, by: Option<impl Display>) -> Option<String> {
            let by = by.map(|by| format!(" ({})", plain(by)));
            value.map(|value| format!("{name} {value} {unit}{}", by.unwrap_or_default()))
        }
        let none: Option<&str> = None;
        let words = joined([
            figure("Ze", supply.ze_ohm, "ohm", supply.ze_by),
            figure("Ipf", supply.ipf_ka, "kA", supply.ipf_by),
            figure("electrode", supply.electrode_ohm, "ohm", supply.electrode_by),
            figure("supply", supply.supply_v, "V", none),
            figure("demand", supply.max_demand_a, "A", none),
            supply.polarity.map(|polarity| format!("polarity {polarity}")),
        ]);
        if !words.is_empty() {
            entries.push(lines.entry(Topic::Read, &path!["supply"], format!("origin: {words}")));
        }
    }
    for (index, board) in data.boards.iter().enumerate() {
        let zdb = board.zdb_ohm.map(|zdb| format!("Zdb {zdb} ohm"));
        let ipf = board.ipf_ka.map(|ipf| format!("Ipf {ipf} kA"));
        let words = joined([zdb, ipf]);
        if let (Some(id), false) = (said(&board.id), words.is_empty()) {
            entries.push(lines.entry(Topic::Read, &path!["boards", index], format!("board {id}: {words}")));
        }
    }
}

/// What was read on the circuits: all of it, or what changed and what is near a limit, and how many that was out of.
fn circuits(lines: &Lines<'_>, all: bool, entries: &mut Vec<Entry>) {
    let mut read = 0;
    let mut told = 0;
    let (mut first, mut has_before) = (None, false);
    for circuit in lines.job.circuits() {
        let has_figures = ReadingKey::ALL.iter().any(|key| key.is_in(circuit.readings()));
        read += usize::from(has_figures);
        if has_figures {
            first.get_or_insert(circuit.index);
            has_before |= trends::earlier(circuit).any(|before| ReadingKey::ALL.iter().any(|key| key.is_in(before.readings())));
        }
        let path = path!["circuits", circuit.index, "readings"];
        let words = if all { everything(circuit) } else { of_note(circuit) };
        if !words.is_empty() {
            told += 1;
            entries.push(lines.entry(Topic::Read, &path, format!("{}: {words}", name(circuit))));
        }
        let reasons: Vec<String> = circuit.circuit.not_taken.iter().map(|(key, why)| format!("{} ({})", short(*key), why.trim())).collect();
        if !reasons.is_empty() {
            let words = format!("{}: {}", name(circuit), reasons.join(", "));
            entries.push(lines.entry(Topic::NotTaken, &path!["circuits", circuit.index, "not_taken"], words));
        }
    }
    if let Some(first) = first.filter(|_| !all && read > told) {
        let count = if read == 1 { "1 circuit".to_owned() } else { format!("{read} circuits") };
        let rest = if told == 0 { "" } else { ", the others" };
        let change = if has_before { "no great change since last time" } else { "for the first time" };
        let path = path!["circuits", first, "readings"];
        entries.push(lines.entry(Topic::Read, &path, format!("{count}{rest}: {change}, nothing near a limit known here")));
    }
}

fn name(circuit: CircuitView<'_>) -> &str {
    if circuit.id().is_empty() { "a circuit without id" } else { circuit.id() }
}

/// Every reading of a circuit.
fn everything(circuit: CircuitView<'_>) -> String {
    let readings = circuit.readings();
    let words = ReadingKey::ALL.iter().filter(|key| key.figure_in(readings).is_none());
    let words = words.filter_map(|key| {
        let value = key.shown_in(readings)?;
        let unit = if key.unit().is_empty() { String::new() } else { format!(" {}", key.unit()) };
        Some(format!("{} {value}{unit}", short(*key)))
    });
    joined(std::iter::once(Some(figures(readings))).chain(words.map(Some)))
}

/// The readings that differ from the last of the same circuit by more than instruments do, and those near or past a limit.
fn of_note(circuit: CircuitView<'_>) -> String {
    let mut notes = Vec::new();
    for key in ReadingKey::ALL.iter().copied() {
        let before = trends::earlier(circuit).find(|before| key.is_in(before.readings()));
        let day = |before: CircuitView<'_>| super::day_words(before.job.day(), before.job.id());
        let Some(reading) = key.figure_in(circuit.readings()) else {
            if let (Some(now), Some(before)) = (key.shown_in(circuit.readings()), before)
                && let Some(then) = key.shown_in(before.readings())
                && then != now
            {
                notes.push(format!("{} {now} (was {then} on {})", short(key), day(before)));
            }
            continue;
        };
        let limit = limits::bound(circuit, key).filter(|bound| bound.is_near(&reading) || bound.is_failed_by(&reading));
        let limit = limit.map(|bound| bound.words());
        let then = before.and_then(|before| Some((before, key.figure_in(before.readings())?)));
        let changed = then.filter(|(_, then)| trends::differ_beyond_scatter(key, reading.value, then.value) == Some(true));
        let was = changed.map(|(before, then)| format!("was {then} on {}", day(before)));
        if limit.is_some() || was.is_some() {
            notes.push(format!("{} {reading} {} ({})", short(key), key.unit(), joined([was, limit])));
        }
    }
    notes.join(", ")
}

/// Units fitted, removed and seen.
fn units(lines: &Lines<'_>, entries: &mut Vec<Entry>) {
    for (index, unit) in lines.job.data().units.iter().enumerate() {
        if let Some((topic, words)) = unit_words(unit) {
            entries.push(lines.entry(topic, &path!["units", index], words));
        }
    }
}

/// What happened to a unit, in words.
pub(super) fn unit_words(unit: &Unit) -> Option<(Topic, String)> {
    let topic = match unit.event? {
        UnitEvent::Fitted => Topic::Fitted,
        UnitEvent::Removed => Topic::Removed,
        UnitEvent::Seen => Topic::Seen,
    };
    let serial = said(&unit.serial).or_else(|| Some("no serial".to_owned()));
    let model = said(&unit.model);
    let circuit = said(&unit.circuit).map(|circuit| format!("on {circuit}"));
    let firmware = said(&unit.firmware).map(|firmware| format!("firmware {firmware}"));
    let why = said(&unit.why).map(|why| format!("why: {why}"));
    let named = [model, serial, circuit].into_iter().flatten().collect::<Vec<_>>().join(" ");
    let until = dated("warranty until", unit.warranty_until);
    Some((topic, joined([Some(named), firmware, until, why, dated("kept until", unit.kept_until)])))
}

fn joint_words(joint: &Joint) -> String {
    let torque = joint.torque_nm.map(|torque| format!("{torque} Nm"));
    let circuit = said(&joint.circuit).map(|circuit| format!("on {circuit}"));
    let access = joint.access.map(plain);
    joined([said(&joint.place), circuit, joint.kind.map(plain), torque, access, said(&joint.photo)])
}
