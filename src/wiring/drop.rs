//! Voltage drop by the tables of BS 7671 Appendix 4, by resistance, and corrected for the conductor temperature of the load.

use super::{Result, not_negative, positive, within};

/// The drop, V, from a tabulated figure: (mV/A/m) Ib L / 1000. `length_m` is the run one way; the figure holds go and return, or the
/// three-phase system. It stands for conductors at their greatest temperature.
pub fn tabulated(mv_per_a_m: f64, load_a: f64, length_m: f64) -> Result<f64> {
    Ok(not_negative("mV/A/m", mv_per_a_m)? * not_negative("load (A)", load_a)? * not_negative("length (m)", length_m)? / 1000.0)
}

/// The drop, V, half way round a ring that is `length_m` once round. Each leg carries half of the load that stands half way over half the
/// length, a quarter of what it would lose at the end of the whole; a load spread evenly counts half of that.
pub fn in_ring(mv_per_a_m: f64, half_way_a: f64, spread_a: f64, length_m: f64) -> Result<f64> {
    let load_a = not_negative("load half way (A)", half_way_a)? + not_negative("load spread (A)", spread_a)? / 2.0;
    Ok(tabulated(mv_per_a_m, load_a, length_m)? / 4.0)
}

/// The drop, V, in a single-phase circuit from the resistance of one conductor: 2 I R, at unity power factor.
pub fn single_phase(conductor_ohm: f64, load_a: f64) -> Result<f64> {
    Ok(2.0 * not_negative("resistance (ohm)", conductor_ohm)? * not_negative("load (A)", load_a)?)
}

/// The drop between lines, V, in a balanced three-phase circuit: sqrt(3) I R, at unity power factor.
pub fn three_phase(conductor_ohm: f64, load_a: f64) -> Result<f64> {
    Ok(3f64.sqrt() * not_negative("resistance (ohm)", conductor_ohm)? * not_negative("load (A)", load_a)?)
}

/// The drop, V, of a set current through a loop resistance and reactance at a power factor (0 to 1, lagging): I (R cos + X sin).
/// Within 0.04 % of the supply voltage of the exact figure while the drop is under 5 %.
pub fn with_reactance(loop_r_ohm: f64, loop_x_ohm: f64, load_a: f64, power_factor: f64) -> Result<f64> {
    let cos = within("power factor", power_factor, 0.0, 1.0)?;
    let sin = (1.0 - cos * cos).sqrt();
    let r = not_negative("resistance (ohm)", loop_r_ohm)?;
    Ok(not_negative("load (A)", load_a)? * (r * cos + not_negative("reactance (ohm)", loop_x_ohm)? * sin))
}

/// The exact drop in voltage magnitude, V, of a set current through a loop resistance and reactance at a lagging power factor.
/// `supply_v` must be able to drive the current.
pub fn exact_with_reactance(supply_v: f64, loop_r_ohm: f64, loop_x_ohm: f64, load_a: f64, power_factor: f64) -> Result<f64> {
    let along = with_reactance(loop_r_ohm, loop_x_ohm, load_a, power_factor)?;
    let sin = (1.0 - power_factor * power_factor).sqrt();
    let across = load_a * (loop_x_ohm * power_factor - loop_r_ohm * sin);
    within("voltage across the loop (V)", across.abs(), 0.0, positive("voltage (V)", supply_v)?)?;
    Ok(supply_v - ((supply_v * supply_v - across * across).sqrt() - along))
}

/// The drop, V, of a load of constant power at unity power factor through a loop resistance: U - (U + sqrt(U2 - 4 P R)) / 2. The loop
/// must be able to carry the power: 4 P R <= U2.
pub fn of_constant_power(supply_v: f64, watts: f64, loop_ohm: f64) -> Result<f64> {
    let u = positive("voltage (V)", supply_v)?;
    let load = 4.0 * not_negative("power (W)", watts)? * not_negative("resistance (ohm)", loop_ohm)?;
    within("4 P R (V2)", load, 0.0, u * u)?;
    Ok(u - (u + (u * u - load).sqrt()) / 2.0)
}

/// A drop as a share of the nominal voltage, per cent. Three-phase drops are between lines, and so is their nominal voltage.
pub fn percent(drop_v: f64, nominal_v: f64) -> Result<f64> {
    Ok(100.0 * not_negative("voltage drop (V)", drop_v)? / positive("voltage (V)", nominal_v)?)
}

/// Longest run, m, whose tabulated drop keeps within `limit_v`.
pub fn longest_run(mv_per_a_m: f64, load_a: f64, limit_v: f64) -> Result<f64> {
    Ok(positive("limit (V)", limit_v)? * 1000.0 / (positive("mV/A/m", mv_per_a_m)? * positive("load (A)", load_a)?))
}

/// What the correction for conductor temperature needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loading {
    /// Greatest conductor temperature of the insulation, C: 70 or 90.
    pub insulation_c: f64,
    /// Load, A.
    pub load_a: f64,
    /// Tabulated rating of the cable, A, before any factor.
    pub tabulated_a: f64,
    /// Ambient factor Ca.
    pub ca: f64,
    /// Grouping factor Cg.
    pub cg: f64,
}

/// The factor Ct on the resistive part of a tabulated drop for a cable that carries less than it may, and so runs cooler:
/// (230 + tp - (Ca2 Cg2 - Ib2/It2) (tp - 30)) / (230 + tp). BS 7671 Appendix 4 section 6.1, from memory. Between the factor of a cold
/// conductor and 1; for cables in air with ambient at or above 30 C.
pub fn temperature_factor(loading: &Loading) -> Result<f64> {
    let tp = within("insulation temperature (C)", loading.insulation_c, 60.0, 105.0)?;
    let ca = within("Ca", loading.ca, 0.3, 1.0)?;
    let cg = within("Cg", loading.cg, 0.3, 1.0)?;
    let share = not_negative("load (A)", loading.load_a)? / positive("tabulated rating (A)", loading.tabulated_a)?;
    let spare = (ca * ca * cg * cg - share * share).max(0.0);
    Ok((230.0 + tp - spare * (tp - 30.0)) / (230.0 + tp))
}
