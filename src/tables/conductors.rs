//! Resistance of copper conductors and of steel-wire armour, and how it follows temperature.

use serde::Deserialize;

use super::load::Fact;
use super::{Confidence, Edition, Figure, Limit, table};
use crate::record::MakeUp;

#[derive(Debug, Clone, Deserialize)]
pub(super) struct ConductorRow {
    mm2: f64,
    mohm_per_m: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct PairRow {
    line_mm2: f64,
    cpc_mm2: f64,
    mohm_per_m: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct ArmourRow {
    mm2: f64,
    cores: u32,
    mohm_per_m: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct AreaRow {
    make_up: String,
    mm2: f64,
    cores: u32,
    area_mm2: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct FactorRow {
    conductor_c: f64,
    factor: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct FlatRow {
    line_mm2: f64,
    cpc_mm2: Figure,
}

table!(CONDUCTORS: ConductorRow = "conductors");
table!(PAIRS: PairRow = "conductor_pairs");
table!(ARMOUR: ArmourRow = "armour_resistance");
table!(ARMOUR_AREA: AreaRow = "armour_area");
table!(FLAT_CPC: FlatRow = "flat_cpc");
table!(TEMPERATURE: Fact = "temperature");
table!(FACTORS: FactorRow = "temperature_factors");

const NOW: Edition = Edition::LAST_CONFIRMED;

/// The conductor sizes held, mm2, smallest first.
pub fn sizes() -> impl Iterator<Item = f64> {
    CONDUCTORS.rows().iter().map(|row| row.of.mm2)
}

/// Greatest resistance of a plain copper conductor of that size at 20 C, mohm/m (IEC 60228 classes 1 and 2).
pub fn resistance(mm2: f64) -> Option<Limit> {
    let row = CONDUCTORS.rows().iter().find(|row| row.of.mm2 == mm2)?;
    Some(row.cite.limit(row.of.mohm_per_m, NOW))
}

/// R1+R2 of a pair of copper conductors at 20 C, mohm/m: as the On-Site Guide prints it, or the sum of the two.
pub fn pair(line_mm2: f64, cpc_mm2: f64) -> Option<Limit> {
    if let Some(row) = PAIRS.rows().iter().find(|row| row.of.line_mm2 == line_mm2 && row.of.cpc_mm2 == cpc_mm2) {
        return Some(row.cite.limit(row.of.mohm_per_m, NOW));
    }
    let (line, cpc) = (resistance(line_mm2)?, resistance(cpc_mm2)?);
    let decimals = line.decimals.max(cpc.decimals);
    Some(Limit {
        value: super::round_half_up(line.value + cpc.value, decimals),
        decimals,
        confidence: Confidence::Derived.max(line.confidence).max(cpc.confidence),
        ..line
    })
}

/// The protective conductor that flat twin cable of that line conductor is usually made with, mm2: from memory.
pub fn flat_cpc(line_mm2: f64) -> Option<Limit> {
    let row = FLAT_CPC.rows().iter().find(|row| row.of.line_mm2 == line_mm2)?;
    Some(row.cite.limit(row.of.cpc_mm2, NOW))
}

/// Greatest resistance of the steel-wire armour of a cable of that size and number of cores at 20 C, mohm/m. A cable with thermosetting
/// insulation; the maker's figure comes before it.
pub fn armour_resistance(mm2: f64, cores: u32) -> Option<Limit> {
    let row = ARMOUR.rows().iter().find(|row| row.of.mm2 == mm2 && row.of.cores == cores)?;
    Some(row.cite.limit(row.of.mohm_per_m, NOW))
}

/// Cross-sectional area of the steel-wire armour, mm2. Thermosetting cables are held with two cores only; more cores have more armour.
pub fn armour_area(make_up: MakeUp, mm2: f64, cores: u32) -> Option<Limit> {
    let row = ARMOUR_AREA.rows().iter().find(|row| row.of.make_up == make_up.as_str() && row.of.mm2 == mm2 && row.of.cores == cores)?;
    Some(row.cite.limit(row.of.area_mm2, NOW))
}

/// Temperature coefficient of copper resistance at 20 C, per C, as the UK tables take it: 0.004.
pub fn copper_coefficient_of_tables() -> Option<Limit> {
    TEMPERATURE.fact("copper-per-c-tables", NOW)
}

/// Temperature coefficient of copper resistance at 20 C, per C, as measured: 0.00393.
pub fn copper_coefficient() -> Option<Limit> {
    TEMPERATURE.fact("copper-per-c", NOW)
}

/// Temperature coefficient of steel armour, per C.
pub fn steel_coefficient() -> Option<Limit> {
    TEMPERATURE.fact("steel-per-c", NOW)
}

/// Temperature that the armour of a 90 C cable reaches in service, C.
pub fn armour_working_c() -> Option<Limit> {
    TEMPERATURE.fact("armour-working-c-90", NOW)
}

/// The factor on the armour's resistance when it is the protective conductor, and the reactance that goes with it, mohm/m.
pub fn armour_as_cpc() -> Option<(Limit, Limit)> {
    Some((TEMPERATURE.fact("armour-as-cpc-factor", NOW)?, TEMPERATURE.fact("armour-as-cpc-reactance", NOW)?))
}

/// The factors on resistance at 20 C that the On-Site Guide prints: conductor temperature in C, and factor.
pub fn printed_temperature_factors() -> impl Iterator<Item = (f64, Limit)> {
    FACTORS.rows().iter().map(|row| (row.of.conductor_c, row.cite.limit(row.of.factor, NOW)))
}
