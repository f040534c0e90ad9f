//! Prospective fault current against what the devices can break.

use std::collections::BTreeMap;

use super::over;
use crate::finding::{Grade, Place};
use crate::path;
use crate::record::{Board, Reading, Use};
use crate::rules::view::{CircuitView, JobView};
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::{DeviceStandard, supply};
use crate::wiring::fault;

pub(super) const OVER_CAPACITY: Rule = Rule {
    id: "fault-current-over-breaking-capacity",
    family: Family::Limits,
    grade: Grade::Danger,
    title: "Prospective fault current is over a device's breaking capacity",
    looks_at: "`ipf_ka` at the board (at the origin for a board fed from it) against `breaking_ka` of each device there; where only \
               `zdb_ohm` was read, 230 V over it, as a question. Quiet where the board is a consumer unit to BS EN 61439-3 fed from the \
               origin whose `conditional_ka` covers the current behind a BS 1361 or BS 88-3 cut-out of up to 100 A; a question where only \
               the cut-out is not recorded.",
    why: "A device asked to break more than it can may burst or weld shut.",
    sources: &["BS 7671:2018 434.5.1", "BS EN 61439-3 Annex ZB and BS 7671:2018 536.4.201 (conditional rating)"],
    bad: Example::Keys(UNRATED_BOARD),
    good: Example::Keys(RATED_BOARD),
    cure: "Record the board's conditional rating and the cut-out if they cover it; otherwise fit devices of a higher breaking capacity.",
    check: Check::Job(check_capacity),
};

const UNRATED_BOARD: &str = "
sites/elm-row/site.md: {boards: [{id: main, conditional_ka: ~}]}
supply: {ze_ohm: 0.02, ipf_ka: 10.9}
boards: [{id: main, zdb_ohm: 0.02, ipf_ka: 10.4}]
circuits: [{id: main/1, readings: {zs_ohm: 0.15}}, {id: main/2, readings: {zs_ohm: 0.46}}]";
const RATED_BOARD: &str = "
sites/elm-row/site.md: {boards: [{id: main, conditional_ka: 16}]}
supply: {ze_ohm: 0.02, ipf_ka: 10.9}
boards: [{id: main, zdb_ohm: 0.02, ipf_ka: 10.4}]
circuits: [{id: main/1, readings: {zs_ohm: 0.15}}, {id: main/2, readings: {zs_ohm: 0.46}}]";

/// The fault current at a board.
struct Level {
    /// As read, kA, or worked out from the loop at the board.
    reading: Reading,
    place: Place,
    is_worked_out: bool,
    /// Whether this visit read it.
    is_new: bool,
}

/// The last word on the fault current at a board, up to this visit.
fn level(job: JobView<'_>, board_id: &str, board: &Board) -> Option<Level> {
    std::iter::once(job).chain(job.earlier()).find_map(|visit| level_at(visit, board_id, board, visit.index == job.index))
}

fn level_at(visit: JobView<'_>, board_id: &str, board: &Board, is_new: bool) -> Option<Level> {
    let boards = &visit.data().boards;
    let read = boards.iter().enumerate().find(|(_, read)| read.id.as_deref() == Some(board_id));
    if let Some((index, reading)) = read.and_then(|(index, read)| Some((index, read.ipf_ka?))) {
        return Some(Level { reading, place: visit.place(path!["boards", index, "ipf_ka"]), is_worked_out: false, is_new });
    }
    let at_origin = visit.data().supply.as_ref().and_then(|supply| supply.ipf_ka);
    if let Some(reading) = at_origin.filter(|_| board.fed_from.as_deref() == Some("origin")) {
        return Some(Level { reading, place: visit.place(path!["supply", "ipf_ka"]), is_worked_out: false, is_new });
    }
    // What an earth fault alone would draw: the short-circuit current is at least that much on most supplies.
    let (index, zdb) = read.and_then(|(index, read)| Some((index, read.zdb_ohm?.exact()?)))?;
    let amperes = fault::fault_current(supply::nominal_v(1)?.value, 1.0, zdb).ok()?;
    let reading = Reading::on_scale(amperes / 1000.0, 2);
    Some(Level { reading, place: visit.place(path!["boards", index, "zdb_ohm"]), is_worked_out: true, is_new })
}

/// Whether the board's conditional rating covers the current: yes, no, or not to be told for want of the cut-out.
fn is_covered(job: JobView<'_>, board: &Board, reading: &Reading) -> Option<bool> {
    let is_consumer_unit = board.standard.as_deref().is_some_and(|standard| standard.contains("61439-3"));
    let is_rated = board.conditional_ka.is_some_and(|rated| !over(reading, *rated));
    if !is_consumer_unit || !is_rated || board.fed_from.as_deref() != Some("origin") {
        return Some(false);
    }
    let cutout = job.site.supply()?.cutout.as_ref()?;
    let standard = DeviceStandard::parse(cutout.standard.as_deref()?);
    Some(matches!(standard, Some(DeviceStandard::Bs1361 | DeviceStandard::Bs88_3)) && *cutout.rating_a? <= 100.0)
}

/// Whether something that decides the conditional rating of the board at that place in site.md stands there and could not be read.
fn has_unreadable_facts(job: JobView<'_>, board: usize) -> bool {
    let of_board = ["standard", "conditional_ka", "fed_from"].map(|key| path!["boards", board, key]);
    let of_cutout = ["standard", "rating_a"].map(|key| path!["supply", "cutout", key]);
    job.site.record().is_none_or(|record| of_board.iter().chain(&of_cutout).any(|path| record.is_unreadable(path)))
}

fn check_capacity(job: JobView<'_>, report: &mut Report<'_>) {
    let mut by_board: BTreeMap<&str, Vec<CircuitView<'_>>> = BTreeMap::new();
    for circuit in job.installation().into_iter().filter(|circuit| circuit.usage() != Some(Use::Spare)) {
        by_board.entry(circuit.board_id()).or_default().push(circuit);
    }
    for (board_id, circuits) in by_board {
        let Some((index, board)) = job.site.board(board_id) else { continue };
        let Some(level) = level(job, board_id, board) else { continue };
        let rated = circuits.into_iter().filter_map(|circuit| {
            let ocpd = circuit.ocpd()?;
            Some((circuit, ocpd, *ocpd.value.breaking_ka?))
        });
        // An earlier reading was judged at its own visit; here it is only held against devices that this visit brought.
        let rated = rated.filter(|(circuit, _, _)| level.is_new || circuit.job.index == job.index && circuit.circuit.ocpd.is_some());
        let mut beyond: Vec<_> = rated.filter(|(_, _, breaking)| over(&level.reading, *breaking)).collect();
        beyond.sort_by(|a, b| a.2.total_cmp(&b.2));
        let Some((weakest, ocpd, breaking)) = beyond.first() else { continue };
        let covered = is_covered(job, board, &level.reading);
        if covered == Some(true) || has_unreadable_facts(job, index) {
            continue;
        }
        let others = match beyond.len() {
            1 => String::new(),
            count => format!(" and {} more", count - 1),
        };
        let asked = level.is_worked_out || covered.is_none();
        let how = if level.is_worked_out { " (230 V over Zdb)" } else { "" };
        let message = format!(
            "prospective fault current {} kA{how} at {board_id} is over the {breaking} kA that the device of {}{others} can break",
            level.reading,
            weakest.id()
        );
        let (place, other) = (level.place, ocpd.place_of(job.site, "breaking_ka"));
        let (place, because) = if level.is_new { ((place, "at this board"), other) } else { ((other, "brought by this visit"), place) };
        let finding = report.raise(place.0, message).label(place.1).subject(board_id).source("BS 7671:2018 434.5.1");
        finding.because(because, if level.is_new { "breaking capacity" } else { "read at an earlier visit" });
        finding.grade(if asked { Grade::Doubt } else { Grade::Danger });
        let beyond_rating = board.conditional_ka.filter(|rated| over(&level.reading, **rated));
        if level.is_worked_out {
            finding.help("Measure Ipf at the board: a loop this low is near what an instrument can resolve.");
        } else if covered.is_none() {
            finding.help(
                "The board's conditional rating would cover it behind a BS 1361 or BS 88-3 cut-out of up to 100 A: record the cut-out.",
            );
        } else if let Some(rated) = beyond_rating {
            finding.help(format!(
                "It is over the board's conditional rating of {rated} kA as well. Read it again; if it stands, ask the network operator before \
                 the board is used."
            ));
        }
    }
}
