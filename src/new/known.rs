//! What a site's earlier visits know, for whoever begins the next one: always with the day it comes from, never as a new fact.

use crate::finding::Grade;
use crate::record::{BoardReading, Code, Date, FaultState, Job, JobSupply, ReadingKey, Status, UnitEvent};
use crate::rules::view::{CircuitView, JobView, SiteView};

/// A value and the visit that wrote it down.
pub struct Earlier {
    /// What it says.
    pub value: String,
    /// The day of the visit, and whether its record is still a draft.
    pub when: String,
}

impl Earlier {
    fn at(value: String, job: JobView<'_>) -> Earlier {
        let draft = if job.data().status == Some(Status::Draft) { ", a draft" } else { "" };
        Earlier { value, when: format!("{}{draft}", day_or_id(job)) }
    }

    /// `0.34 on 2026-11-02`.
    pub fn hint(&self) -> String {
        format!("{} on {}", self.value, self.when)
    }
}

fn day_or_id(job: JobView<'_>) -> String {
    job.day().map_or_else(|| job.id().to_owned(), |day| day.to_string())
}

/// The visits up to a day, the latest first.
pub fn visits<'a>(site: &'a SiteView<'a>, day: Date) -> impl Iterator<Item = JobView<'a>> + Clone {
    site.jobs().rev().filter(move |job| job.record.day().is_some_and(|of_job| of_job <= day))
}

/// The records among them that cannot be read whole, by id.
pub fn half_read<'a>(site: &'a SiteView<'a>, day: Date) -> Vec<&'a str> {
    let mut ids: Vec<&str> =
        visits(site, day).filter(|job| job.record.lost || !job.record.unreadable.is_empty()).map(|job| job.id()).collect();
    ids.reverse();
    ids
}

/// The latest word on something.
pub fn latest<'a>(site: &'a SiteView<'a>, day: Date, of: impl Fn(&'a Job) -> Option<String>) -> Option<Earlier> {
    visits(site, day).find_map(|job| Some(Earlier::at(of(job.data())?, job)))
}

/// The latest figure at the origin, with how it was obtained.
pub fn at_origin<'a>(site: &'a SiteView<'a>, day: Date, of: fn(&'a JobSupply) -> Option<String>) -> Option<Earlier> {
    latest(site, day, |job| of(job.supply.as_ref()?))
}

/// The latest figure at a board.
pub fn at_board<'a>(site: &'a SiteView<'a>, day: Date, board: &str, of: fn(&'a BoardReading) -> Option<String>) -> Option<Earlier> {
    latest(site, day, |job| of(job.boards.iter().find(|reading| reading.id.as_deref() == Some(board))?))
}

/// Every circuit that a visit has recorded, as the latest visit to it sees it: board by board as `site.md` has them, then by way.
pub fn circuits<'a>(site: &'a SiteView<'a>, day: Date) -> Vec<CircuitView<'a>> {
    let mut circuits: Vec<CircuitView<'a>> = Vec::new();
    for circuit in visits(site, day).flat_map(|job| job.circuits()).filter(|circuit| !circuit.id().is_empty()) {
        if circuits.iter().all(|known| known.id() != circuit.id()) {
            circuits.push(circuit);
        }
    }
    circuits.sort_by_cached_key(|circuit| {
        let board = circuit.board().map_or(usize::MAX, |(index, _)| index);
        let way = circuit.id().rsplit('/').next().unwrap_or_default();
        (board, circuit.board_id(), way.parse().unwrap_or(u32::MAX), way)
    });
    circuits
}

/// What a circuit is, in a few words.
pub fn nature(circuit: CircuitView<'_>) -> String {
    let mut parts: Vec<String> = Vec::new();
    let serves = |circuit: CircuitView<'_>| circuit.circuit.serves.clone();
    parts.extend(serves(circuit).or_else(|| circuit.previous().find_map(serves)));
    parts.extend(circuit.usage().map(|usage| usage.to_string()));
    if let Some(ocpd) = circuit.ocpd().map(|known| known.value) {
        let curve = ocpd.curve.as_deref().map(|curve| format!("{curve} "));
        let rating = ocpd.rating_a.map(|rating| format!("{rating} A "));
        let device = [curve, rating, ocpd.standard.clone()].into_iter().flatten().collect::<String>();
        parts.push(device.trim_end().to_owned());
    }
    if let Some(rcd) = circuit.rcd().map(|known| known.value) {
        let kind = rcd.kind.map(|kind| format!(" type {kind}"));
        let trip = rcd.trip_ma.map(|trip| format!(" {trip} mA"));
        parts.push(format!("RCD{}{}", kind.unwrap_or_default(), trip.unwrap_or_default()));
    }
    if let Some(cable) = circuit.cable().map(|known| known.value) {
        let make_up = cable.make_up.map(|make_up| make_up.to_string());
        let area = match (cable.line_mm2, cable.cpc_mm2) {
            (Some(line), Some(cpc)) => Some(format!("{line}/{cpc} mm2")),
            (Some(line), None) => Some(format!("{line} mm2")),
            _ => None,
        };
        let length = cable.length_m.map(|length| format!("{length} m"));
        parts.push([make_up, area, length].into_iter().flatten().collect::<Vec<_>>().join(" "));
    }
    parts.retain(|part| !part.is_empty());
    parts.join("; ")
}

/// The last readings of a circuit, back to the visit that installed it, in the order of the record format.
pub fn readings(circuit: CircuitView<'_>) -> Vec<(ReadingKey, Earlier)> {
    let last = |key: ReadingKey| {
        let visits = std::iter::once(circuit).chain(circuit.previous());
        let reading = visits.filter_map(|circuit| Some(Earlier::at(key.shown_in(circuit.readings())?, circuit.job)));
        Some((key, reading.into_iter().next()?))
    };
    ReadingKey::ALL.iter().filter_map(|key| last(*key)).collect()
}

/// A unit that was last fitted or seen here, and when.
pub struct StandingUnit<'a> {
    /// Its serial.
    pub serial: &'a str,
    /// Its model, by id.
    pub model: Option<&'a str>,
    /// The circuit it is on.
    pub circuit: Option<&'a str>,
    /// `fitted on 2026-11-02`.
    pub last: String,
}

/// The units that no visit has removed.
pub fn units<'a>(site: &'a SiteView<'a>, day: Date) -> Vec<StandingUnit<'a>> {
    let mut told: Vec<&str> = Vec::new();
    let mut standing = Vec::new();
    for job in visits(site, day) {
        for unit in job.data().units.iter().rev() {
            let (Some(serial), Some(event)) = (unit.serial.as_deref(), unit.event) else { continue };
            if told.contains(&serial) {
                continue;
            }
            told.push(serial);
            if event != UnitEvent::Removed {
                let last = format!("{event} on {}", day_or_id(job));
                standing.push(StandingUnit { serial, model: unit.model.as_deref(), circuit: unit.circuit.as_deref(), last });
            }
        }
    }
    standing.reverse();
    standing
}

/// What earlier visits left open, one line each, the gravest first.
pub fn left_open<'a>(site: &'a SiteView<'a>, day: Date) -> Vec<String> {
    let mut open: Vec<(Grade, String)> = Vec::new();
    for job in visits(site, day) {
        let data = job.data();
        for fault in data.faults.iter().filter(|fault| fault.fixed_by.is_none()) {
            let Some(state) = fault.state.filter(|state| *state != FaultState::Fixed) else { continue };
            let id = fault.id.as_deref().unwrap_or("a fault");
            let code = fault.code.map(|code| format!(", {code}"));
            let left = fault.left.map(|left| format!(", left {left}"));
            let until = fault.return_by.map(|day| format!(", return by {day}"));
            let watch = fault.watch_until.map(|day| format!(", watch until {day}"));
            let found = fault.found.as_deref().map(|found| format!(": {found}"));
            let tail: String = [code, left, until, watch, found].into_iter().flatten().collect();
            open.push((grade_of(fault.code), format!("{}#{id} {state}{tail}", job.id())));
        }
        for observation in data.observations.iter().filter(|observation| observation.cleared_by.is_none()) {
            let Some(code) = observation.code.filter(|code| *code != Code::C3) else { continue };
            let id = observation.id.as_deref().unwrap_or("an observation");
            let what = observation.what.as_deref().map(|what| format!(": {what}")).unwrap_or_default();
            open.push((grade_of(Some(code)), format!("{}#{id} {code}{what}", job.id())));
        }
    }
    open.sort();
    open.into_iter().map(|(_, line)| line).collect()
}

fn grade_of(code: Option<Code>) -> Grade {
    match code {
        Some(Code::C1) => Grade::Danger,
        Some(Code::C2 | Code::Fi) => Grade::Breach,
        _ => Grade::Doubt,
    }
}
