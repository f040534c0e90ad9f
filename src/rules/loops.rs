//! Loop impedance and continuity readings that do not fit one another, the cable or its length.
//!
//! All of it is sums over figures that are typical, so all of it is asked and nothing stated. Where an input of a sum is missing, could
//! not be read or is off the scale, the sum is not made; nor from a reading that its own visit reported and a later one took again.

mod fit;
mod ring;
mod sums;

pub use fit::{Expected, expected};

use super::view::CircuitView;
use super::{Rule, limits};
use crate::finding::Place;
use crate::path;
use crate::record::{Earthing, Reading, ReadingKey, SupplyBy, ZsBy};

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &fit::DOES_NOT_FIT,
    &sums::UNDER_R1,
    &sums::UNDER_ORIGIN,
    &sums::OVER_SUM,
    &sums::NOT_THE_SUM,
    &sums::BY_SUBTRACTION,
    &ring::RATIO,
    &ring::QUARTER,
];

/// The share of an expected resistance under which a reading is asked about (common practice: a threshold of this program's own).
const LEAST_SHARE: f64 = 0.6;
/// The share of an expected resistance over which a reading is asked about (common practice: a threshold of this program's own).
const MOST_SHARE: f64 = 1.5;
/// What a continuity reading may be off by whatever its size, ohm: the last digit and the leads (common practice: a threshold of this
/// program's own).
const LEADS_OHM: f64 = 0.03;

/// Whether a continuity reading lies outside what is expected of it, between `least` and `most` ohm, by more than scatter.
fn is_outside(read_ohm: f64, least_ohm: f64, most_ohm: f64) -> bool {
    is_too_high(read_ohm, most_ohm) || is_too_low(read_ohm, least_ohm)
}

fn is_too_high(read_ohm: f64, expected_ohm: f64) -> bool {
    read_ohm > MOST_SHARE * expected_ohm && read_ohm > expected_ohm + LEADS_OHM
}

fn is_too_low(read_ohm: f64, expected_ohm: f64) -> bool {
    read_ohm < LEAST_SHARE * expected_ohm && read_ohm < expected_ohm - LEADS_OHM
}

/// The loop impedance that a circuit starts from.
pub(super) struct Start {
    /// As it was read, ohm.
    pub reading: Reading,
    /// What it is called in a message.
    pub name: &'static str,
    /// Where it stands.
    pub place: Place,
}

/// The loop impedance measured at the visit where the circuit starts: at its board, or at the origin for a board fed from there.
pub(super) fn start_of(circuit: CircuitView<'_>) -> Option<Start> {
    let data = circuit.job.data();
    let mut boards = data.boards.iter().enumerate();
    if let Some((index, board)) = boards.find(|(_, board)| board.id.as_deref() == Some(circuit.board_id()))
        && let Some(reading) = board.zdb_ohm.filter(|reading| reading.exact().is_some())
    {
        return Some(Start { reading, name: "at the board", place: circuit.job.place(path!["boards", index, "zdb_ohm"]) });
    }
    circuit.board().filter(|(_, board)| board.fed_from.as_deref() == Some("origin"))?;
    let supply = data.supply.as_ref()?;
    let is_measured = supply.ze_by.is_none_or(|by| by == SupplyBy::Measured);
    let reading = supply.ze_ohm.filter(|reading| is_measured && reading.exact().is_some())?;
    Some(Start { reading, name: "at the origin", place: circuit.job.place(path!["supply", "ze_ohm"]) })
}

/// Whether a circuit's loop is one of metal all the way, so that impedances add up; through the ground of a TT system they do not.
pub(super) fn is_tn(circuit: CircuitView<'_>) -> bool {
    matches!(circuit.earthing(), Some(Earthing::TnS | Earthing::TnCS))
}

/// A loop impedance on a TN system that was read on an instrument.
fn measured_zs(circuit: CircuitView<'_>) -> Option<(Reading, f64)> {
    let readings = circuit.readings();
    let is_measured = readings.zs_by.is_none_or(|by| by == ZsBy::Measured);
    let reading = readings.zs_ohm.filter(|_| is_measured && is_tn(circuit))?;
    if circuit.job.is_unreadable(&circuit.path().at("readings").at("zs_by")) {
        return None;
    }
    Some((reading, reading.exact().filter(|_| !limits::is_settled(circuit, ReadingKey::Zs))?))
}

/// R1+R2 as it was read, on the scale; like [`measured_zs`] nothing where its visit reported the circuit and a later one read it again.
fn r1_r2(circuit: CircuitView<'_>) -> Option<(Reading, f64)> {
    let reading = circuit.readings().r1_r2_ohm?;
    Some((reading, reading.exact().filter(|_| !limits::is_settled(circuit, ReadingKey::R1R2))?))
}
