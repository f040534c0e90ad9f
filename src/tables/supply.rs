//! The supply: voltages, usual external impedances, fault levels, cut-outs, breaking capacities and tripping bands.

use serde::Deserialize;

use super::load::Fact;
use super::{Confidence, DeviceStandard, Edition, Figure, Limit, table};
use crate::record::Earthing;

#[derive(Debug, Clone, Deserialize)]
pub(super) struct BreakingRow {
    standard: String,
    class: String,
    breaking_ka: Figure,
    service_ka: Option<Figure>,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct BandRow {
    standard: String,
    curve: String,
    low: f64,
    high: f64,
}

table!(FACTS: Fact = "supply");
table!(BREAKING: BreakingRow = "breaking");
table!(TRIP_BANDS: BandRow = "trip_bands");

fn fact(name: &str) -> Option<Limit> {
    FACTS.fact(name, Edition::LAST_CONFIRMED)
}

/// Nominal voltage: to earth when single-phase, between lines when three-phase.
pub fn nominal_v(phases: u32) -> Option<Limit> {
    fact(if phases == 3 { "nominal-v-line" } else { "nominal-v" })
}

/// The statutory range of that voltage: lowest and highest, volts.
pub fn voltage_range(phases: u32) -> Option<(Limit, Limit)> {
    if phases == 3 { Some((fact("lowest-v-line")?, fact("highest-v-line")?)) } else { Some((fact("lowest-v")?, fact("highest-v")?)) }
}

/// The minimum voltage factor Cmin of an edition: 0.95 since 2015, 1 before.
pub fn cmin(edition: Edition) -> Option<f64> {
    FACTS.fact("cmin", edition).map(|limit| limit.value)
}

/// The voltage to earth that an edition's Zs tables stand on, volts.
pub fn table_u0(edition: Edition) -> Option<f64> {
    FACTS.fact("table-u0", edition).map(|limit| limit.value)
}

/// The usual highest external loop impedance, ohm, for supplies up to 100 A single-phase. Typical, never guaranteed: a reading above it
/// is a question to the network operator. For TT it is the supplier's side only.
pub fn usual_ze(earthing: Earthing) -> Option<Limit> {
    match earthing {
        Earthing::TnCS => fact("usual-ze-tn-c-s"),
        Earthing::TnS => fact("usual-ze-tn-s"),
        Earthing::Tt => fact("usual-ze-tt"),
        Earthing::It => None,
    }
}

/// About what a sound main bond reads with its clamps, ohm, beside its own copper. Guidance, from memory.
pub fn bond_reading() -> Option<Limit> {
    fact("bond-reading")
}

/// The least size of a copper main bond on a PME supply, mm2, whatever the size of the PEN conductor. From memory.
pub fn least_bond_mm2(earthing: Earthing) -> Option<Limit> {
    (earthing == Earthing::TnCS).then(|| fact("bond-mm2-pme")).flatten()
}

/// The highest prospective fault current at the origin of a single-phase supply up to 100 A, kA.
pub fn max_fault_ka() -> Option<Limit> {
    fact("max-fault-ka")
}

/// The same at the joint of the service with the main, kA: 2 m of service cable bring it under the figure at the origin.
pub fn max_fault_at_main_ka() -> Option<Limit> {
    fact("max-fault-at-main-ka")
}

/// The conditional rating of a consumer unit to BS EN 61439-3 Annex ZB, kA: lets its maker's listed 6 kA devices stand behind a 100 A
/// BS 1361 or BS 88-3 fuse on a single-phase supply.
pub fn consumer_unit_conditional_ka() -> Option<Limit> {
    fact("conditional-ka")
}

/// The usual ratings of service fuses, amperes, smallest first.
pub fn usual_cutout_ratings() -> Vec<Limit> {
    ["cutout-a-60", "cutout-a-80", "cutout-a-100"].iter().filter_map(|name| fact(name)).collect()
}

/// The breaking capacity, kA, of a device of that standard and class (`S2A`, `M6`, `II`; empty where it has none).
pub fn breaking_ka(device: DeviceStandard, class: &str) -> Option<Limit> {
    let row = BREAKING.rows().iter().find(|row| row.of.standard == device.overcurrent_rows() && row.of.class == class)?;
    Some(row.cite.limit(row.of.breaking_ka, Edition::LAST_CONFIRMED))
}

/// The service breaking capacity Ics, kA, of a circuit-breaker or RCBO of rated capacity `icn_ka`.
pub fn service_breaking_ka(icn_ka: f64) -> Option<Limit> {
    let row =
        BREAKING.rows().iter().find(|row| row.of.standard == DeviceStandard::Bs60898.as_str() && row.of.breaking_ka.value == icn_ka)?;
    Some(row.cite.limit(row.of.service_ka?, Edition::LAST_CONFIRMED))
}

/// The band of a breaker's instantaneous trip, in multiples of its rated current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TripBand {
    /// It must hold up to this.
    pub low: f64,
    /// It must trip at this.
    pub high: f64,
    /// How well the upper end is confirmed; the lower ends are from memory.
    pub confidence: Confidence,
}

/// The tripping band of a breaker with that curve.
pub fn trip_band(device: DeviceStandard, curve: &str) -> Option<TripBand> {
    let curve = plain_curve(curve);
    let row = TRIP_BANDS.rows().iter().find(|row| row.of.standard == device.overcurrent_rows() && row.of.curve == curve)?;
    Some(TripBand { low: row.of.low, high: row.of.high, confidence: row.cite.confidence })
}

/// A curve without the words around it: `type b` is `B`.
pub(super) fn plain_curve(curve: &str) -> String {
    let upper = curve.trim().to_ascii_uppercase();
    ["TYPE", "CURVE"].iter().find_map(|word| upper.strip_prefix(word)).unwrap_or(&upper).trim().to_owned()
}
