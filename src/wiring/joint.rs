//! Heat in a joint, from the voltage across it and the current through it.

use super::{Result, not_negative, positive};

/// Heat given off in a joint, W: voltage drop x current / 1000.
pub fn heat_w(drop_mv: f64, current_a: f64) -> Result<f64> {
    Ok(not_negative("voltage drop (mV)", drop_mv)? * not_negative("current (A)", current_a)? / 1000.0)
}

/// Resistance of a joint, mohm: voltage drop / current.
pub fn resistance_mohm(drop_mv: f64, current_a: f64) -> Result<f64> {
    Ok(not_negative("voltage drop (mV)", drop_mv)? / positive("current (A)", current_a)?)
}

/// Heat at another current, W: it goes with the square.
pub fn heat_at(drop_mv: f64, measured_a: f64, current_a: f64) -> Result<f64> {
    let ohm = resistance_mohm(drop_mv, measured_a)? / 1000.0;
    Ok(ohm * not_negative("current (A)", current_a)?.powi(2))
}
