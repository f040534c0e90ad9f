//! The control pilot of mode 3 charging (IEC 61851-1 Annex A): state from voltage, and current offered by a duty cycle.

use super::{Error, Result, figure, within};
use crate::tables::pilot::{self, Offer};

/// The state of the pilot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum State {
    /// Nothing connected.
    A,
    /// Vehicle connected.
    B,
    /// Vehicle asks for charge.
    C,
    /// Vehicle asks for charge with ventilation.
    D,
    /// Pilot shorted to the protective conductor, or no supply.
    E,
    /// Charge point at fault.
    F,
}

impl State {
    /// Every state.
    pub const ALL: &'static [State] = &[State::A, State::B, State::C, State::D, State::E, State::F];

    const fn letter(self) -> char {
        match self {
            State::A => 'A',
            State::B => 'B',
            State::C => 'C',
            State::D => 'D',
            State::E => 'E',
            State::F => 'F',
        }
    }

    /// Whether the outlet may be live.
    pub const fn may_be_live(self) -> bool {
        matches!(self, State::C | State::D)
    }
}

impl std::fmt::Display for State {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.letter())
    }
}

/// The state that a pilot's positive half wave shows, V (-15 to 15). Nothing when it lies in no state's window. The windows of 1 V to
/// either side are from memory.
pub fn state(high_v: f64) -> Result<Option<State>> {
    within("pilot voltage (V)", high_v, -15.0, 15.0)?;
    let window = figure(pilot::window_v(), "the window of pilot voltages")?.value;
    for state in State::ALL {
        let nominal = figure(pilot::voltages(state.letter()), "the voltage of a pilot state")?.high_v;
        if (high_v - nominal).abs() <= window {
            return Ok(Some(*state));
        }
    }
    Ok(None)
}

/// The current that a duty cycle offers, A: none when it offers no charging or asks for digital communication. `duty_percent` 0 to 100.
pub fn offered_current(duty_percent: f64) -> Result<Option<f64>> {
    within("duty cycle (%)", duty_percent, 0.0, 100.0)?;
    Ok(match figure(pilot::offer(duty_percent), "an offer for that duty cycle")? {
        Offer::Amps { per_percent, added } => Some(per_percent * duty_percent + added),
        Offer::None | Offer::Digital => None,
    })
}

/// The duty cycle, per cent, that offers a current of 6 to 80 A.
pub fn duty_for_current(amps: f64) -> Result<f64> {
    within("current (A)", amps, 6.0, 80.0)?;
    // 0.6 A for each per cent up to 51 A; above it 2.5 A for each per cent.
    for probe in [50.0, 90.0] {
        if let Offer::Amps { per_percent, added } = figure(pilot::offer(probe), "an offer for that duty cycle")? {
            let duty = (amps - added) / per_percent;
            if offered_current(duty).ok().flatten().is_some_and(|offered| (offered - amps).abs() < 1e-9) {
                return Ok(duty);
            }
        }
    }
    Err(Error::NoFigure { what: "a duty cycle for that current" })
}
