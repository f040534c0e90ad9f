//! Earth electrodes, touch voltage, and the loop in a TT system (BS 7671 regulation 411.5.3).

use super::{Result, not_negative, positive, within};

/// The voltage of exposed metal while a residual current flows to an electrode, V: RA I.
pub fn touch_voltage(electrode_ohm: f64, current_ma: f64) -> Result<f64> {
    Ok(not_negative("electrode (ohm)", electrode_ohm)? * not_negative("current (mA)", current_ma)? / 1000.0)
}

/// The greatest electrode and protective-conductor resistance, ohm, for an RCD: `touch_v` / trip current. Unrounded; the printed limits
/// are in [`crate::tables::electrode::limit`].
pub fn electrode_limit(touch_v: f64, trip_ma: f64) -> Result<f64> {
    Ok(positive("touch voltage (V)", touch_v)? * 1000.0 / positive("trip current (mA)", trip_ma)?)
}

/// The greatest rated residual current, mA, that an electrode allows at `touch_v`.
pub fn greatest_trip_ma(touch_v: f64, electrode_ohm: f64) -> Result<f64> {
    Ok(positive("touch voltage (V)", touch_v)? * 1000.0 / positive("electrode (ohm)", electrode_ohm)?)
}

/// The voltage of the main earthing terminal against Earth, V, when the PEN conductor of a single-phase supply breaks and the load returns
/// through an electrode: U0 Re / (Re + Rload), with Rload = U0 / load. `load_a`: the installation's load, A.
pub fn open_pen_voltage(u0_v: f64, load_a: f64, electrode_ohm: f64) -> Result<f64> {
    let load_ohm = positive("voltage (V)", u0_v)? / positive("load (A)", load_a)?;
    let electrode = not_negative("electrode (ohm)", electrode_ohm)?;
    Ok(u0_v * electrode / (electrode + load_ohm))
}

/// The greatest electrode resistance, ohm, that keeps the main earthing terminal at or below `limit_v` with the PEN conductor broken, for a
/// single-phase load: Ra = (limit U0) / (load (U0 - limit)). A plain voltage divider; that
/// Annex A722 of BS 7671 has the same sum is from memory.
pub fn open_pen_electrode(u0_v: f64, load_a: f64, limit_v: f64) -> Result<f64> {
    let u0 = positive("voltage (V)", u0_v)?;
    let limit = within("limit (V)", limit_v, f64::MIN_POSITIVE, u0 * 0.999)?;
    Ok(limit * u0 / (positive("load (A)", load_a)? * (u0 - limit)))
}
