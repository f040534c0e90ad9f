//! Whether a conductor survives the fault: the adiabatic equation with its range of use, let-through energy, the table method, and the
//! armour of a cable (BS 7671 regulations 434.5.2, 543.1.3 and 543.1.4).

use super::{Result, figure, not_negative, positive, within};
use crate::record::{CpcKind, MakeUp};
use crate::tables::{Limit, adiabatic, conductors};

/// The least area, mm2, by the bare formula: sqrt(I2 t) / k. No range is checked; see [`least_area`].
pub fn area_by_formula(fault_a: f64, seconds: f64, k: f64) -> Result<f64> {
    let energy = not_negative("fault current (A)", fault_a)?.powi(2) * not_negative("time (s)", seconds)?;
    Ok(energy.sqrt() / positive("k", k)?)
}

/// The least area, mm2, for a disconnection time within the range of the equation, 0.1 s to 5 s. Below it the device's let-through
/// energy decides ([`area_for_let_through`]); above it heat is lost on the way and the equation overstates the size.
///
/// With a fuse the lowest fault current, at the far end, is the one to try; with a circuit-breaker the highest.
pub fn least_area(fault_a: f64, seconds: f64, k: f64) -> Result<f64> {
    let (shortest, longest) = figure(adiabatic::range_s(), "the range of the adiabatic equation")?;
    within("disconnection time (s)", seconds, shortest.value, longest.value)?;
    area_by_formula(fault_a, seconds, k)
}

/// The least area, mm2, for a device's let-through energy (A2s, from its maker or its energy class): sqrt(I2t) / k.
pub fn area_for_let_through(i2t: f64, k: f64) -> Result<f64> {
    Ok(not_negative("let-through energy (A2s)", i2t)?.sqrt() / positive("k", k)?)
}

/// The longest time, s, for which a conductor carries a fault current: (k S / I)2.
pub fn longest_time(mm2: f64, fault_a: f64, k: f64) -> Result<f64> {
    Ok((positive("k", k)? * positive("area (mm2)", mm2)? / positive("fault current (A)", fault_a)?).powi(2))
}

/// The area of a protective conductor by the table method, mm2 (Table 54.7): S up to 16, then 16 up to 35, then S/2, times k1/k2 where
/// the materials differ. `line_k` is k1 of the line conductor, `protective_k` is k2 of the protective conductor.
pub fn area_by_table(line_mm2: f64, line_k: f64, protective_k: f64) -> Result<f64> {
    let s = positive("line conductor (mm2)", line_mm2)?;
    let same_material = if s <= 16.0 {
        s
    } else if s <= 35.0 {
        16.0
    } else {
        s / 2.0
    };
    Ok(same_material * positive("k", line_k)? / positive("k", protective_k)?)
}

/// The steel-wire armour of a cable as its protective conductor.
#[derive(Debug, Clone, PartialEq)]
pub struct ArmourCheck {
    /// What the armour has, mm2.
    pub area: Limit,
    /// Its k.
    pub k: Limit,
    /// What the fault asks for, mm2.
    pub needed_mm2: f64,
}

impl ArmourCheck {
    /// Whether the armour is large enough on these figures.
    pub fn passes(&self) -> bool {
        self.area.value >= self.needed_mm2
    }
}

/// The armour of a cable of that make-up, conductor size and number of cores against a fault, by the adiabatic equation in its range.
pub fn armour(make_up: MakeUp, mm2: f64, cores: u32, fault_a: f64, seconds: f64) -> Result<ArmourCheck> {
    let area = figure(conductors::armour_area(make_up, mm2, cores), "the armour area of that cable")?;
    let k = figure(adiabatic::k_of_cpc(make_up, CpcKind::Armour, area.value), "k of that armour")?;
    let needed_mm2 = least_area(fault_a, seconds, k.value)?;
    Ok(ArmourCheck { area, k, needed_mm2 })
}
