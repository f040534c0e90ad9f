//! Prospective fault current and loop impedance, as resistance and reactance (IEC 60909-0 with source and conductors in series).

use super::{Result, not_negative, positive, within};

/// Resistance and reactance of a conductor or a source, ohm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Impedance {
    /// Resistance, ohm.
    pub r_ohm: f64,
    /// Reactance, ohm.
    pub x_ohm: f64,
}

impl Impedance {
    /// A resistance.
    pub const fn resistive(r_ohm: f64) -> Impedance {
        Impedance { r_ohm, x_ohm: 0.0 }
    }

    /// An impedance of that magnitude and ratio of resistance to reactance; an infinite ratio is a pure resistance.
    pub fn of(magnitude_ohm: f64, r_over_x: f64) -> Result<Impedance> {
        not_negative("impedance (ohm)", magnitude_ohm)?;
        if r_over_x == f64::INFINITY {
            return Ok(Impedance::resistive(magnitude_ohm));
        }
        let x_ohm = magnitude_ohm / (1.0 + not_negative("R/X", r_over_x)?.powi(2)).sqrt();
        Ok(Impedance { r_ohm: x_ohm * r_over_x, x_ohm })
    }

    /// The two in series.
    pub fn plus(self, other: Impedance) -> Impedance {
        Impedance { r_ohm: self.r_ohm + other.r_ohm, x_ohm: self.x_ohm + other.x_ohm }
    }

    /// The magnitude, ohm.
    pub fn magnitude(self) -> f64 {
        self.r_ohm.hypot(self.x_ohm)
    }
}

/// Magnitude of the earth fault loop impedance, ohm: source, line and protective conductor added as resistance and reactance.
pub fn loop_impedance(source: Impedance, line: Impedance, protective: Impedance) -> f64 {
    source.plus(line).plus(protective).magnitude()
}

/// Prospective fault current in a loop, A: c U0 / Z. `voltage_factor` (0.9 to 1.1): 1 for the plain figure of the trade, 0.95 for the
/// least current (Cmin), 1.1 for the greatest (IEC 60909-0 at 10 % voltage tolerance).
pub fn fault_current(u0_v: f64, voltage_factor: f64, loop_ohm: f64) -> Result<f64> {
    within("voltage factor", voltage_factor, 0.9, 1.1)?;
    Ok(voltage_factor * positive("voltage (V)", u0_v)? / positive("loop impedance (ohm)", loop_ohm)?)
}

/// Three-phase prospective fault current, A: c U0 / Z, with Z the impedance of one line conductor and its source, without the neutral.
pub fn three_phase_fault_current(u0_v: f64, voltage_factor: f64, line_ohm: f64) -> Result<f64> {
    fault_current(u0_v, voltage_factor, line_ohm)
}

/// Three-phase prospective fault current from a line to neutral reading, A: doubled. Exact only where line and neutral impedances are
/// equal, in the supply too. Where the neutral is smaller than the lines the true figure is higher.
pub fn three_phase_from_line_neutral(line_neutral_a: f64) -> Result<f64> {
    Ok(2.0 * not_negative("fault current (A)", line_neutral_a)?)
}

/// Line to line fault current from the three-phase one, A: sqrt(3)/2 of it.
pub fn line_to_line_fault_current(three_phase_a: f64) -> Result<f64> {
    Ok(3f64.sqrt() / 2.0 * not_negative("fault current (A)", three_phase_a)?)
}

/// The greatest loop impedance for an operating current, ohm: U0 Cmin / Ia (BS 7671 regulation 411.4.4).
pub fn zs_limit(u0_v: f64, cmin: f64, operating_a: f64) -> Result<f64> {
    within("voltage factor", cmin, 0.9, 1.1)?;
    Ok(positive("voltage (V)", u0_v)? * cmin / positive("operating current (A)", operating_a)?)
}
