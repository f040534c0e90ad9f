//! The control pilot of mode 3 charging: states, and what a duty cycle offers (IEC 61851-1 Annex A).

use serde::Deserialize;

use super::load::Fact;
use super::{Confidence, Edition, Limit, table};

#[derive(Debug, Clone, Deserialize)]
pub(super) struct StateRow {
    state: String,
    high_v: f64,
    low_v: Option<f64>,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct DutyRow {
    over_percent: f64,
    up_to_percent: f64,
    offer: String,
    amps_per_percent: Option<f64>,
    amps_added: Option<f64>,
}

table!(STATES: StateRow = "pilot_states");
table!(DUTY: DutyRow = "pilot_duty");
table!(FACTS: Fact = "pilot_facts");

/// The voltages of a pilot state.
#[derive(Debug, Clone, PartialEq)]
pub struct PilotVoltages {
    /// Of the positive half wave, V.
    pub high_v: f64,
    /// Of the negative half wave, V; none while the pilot is steady.
    pub low_v: Option<f64>,
    /// How well they are confirmed.
    pub confidence: Confidence,
}

/// The nominal voltages of a state, `A` to `F`.
pub fn voltages(state: char) -> Option<PilotVoltages> {
    let row = STATES.rows().iter().find(|row| row.of.state.starts_with(state))?;
    Some(PilotVoltages { high_v: row.of.high_v, low_v: row.of.low_v, confidence: row.cite.confidence })
}

/// How far a pilot voltage may lie from nominal, V: from memory.
pub fn window_v() -> Option<Limit> {
    FACTS.fact("window-v", Edition::LAST_CONFIRMED)
}

/// One stretch of duty cycles, per cent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Offer {
    /// No charging.
    None,
    /// Charging only with digital communication.
    Digital,
    /// So many amperes for each per cent, and so many added.
    Amps {
        /// Amperes for each per cent of duty.
        per_percent: f64,
        /// Amperes added.
        added: f64,
    },
}

/// What a duty cycle of so many per cent (0 to 100) offers. A stretch holds its upper end; from 8 to 10 % both ends offer 6 A.
pub fn offer(duty_percent: f64) -> Option<Offer> {
    let in_stretch = |row: &DutyRow| {
        let first = row.over_percent == 0.0 || row.over_percent == 8.0;
        let from = if first { row.over_percent <= duty_percent } else { row.over_percent < duty_percent };
        from && duty_percent <= row.up_to_percent
    };
    // 3 % itself already asks for digital communication, and 8 % already offers 6 A.
    let row = DUTY.rows().iter().rev().find(|row| in_stretch(&row.of) || (row.of.over_percent == 3.0 && duty_percent == 3.0))?;
    Some(match (row.of.offer.as_str(), row.of.amps_per_percent, row.of.amps_added) {
        ("amps", Some(per_percent), Some(added)) => Offer::Amps { per_percent, added },
        ("digital", ..) => Offer::Digital,
        _ => Offer::None,
    })
}
