//! Earth electrodes in TT systems: the loop or electrode resistance that an RCD allows (BS 7671 Table 41.5), and advice.

use serde::Deserialize;

use super::load::Fact;
use super::{Confidence, Edition, Figure, Limit, table};

#[derive(Debug, Clone, Deserialize)]
pub(super) struct LimitRow {
    trip_ma: f64,
    max_ohm: Figure,
}

table!(LIMITS: LimitRow = "electrode");
table!(FACTS: Fact = "electrode_facts");

/// The highest electrode or loop resistance, ohm, for an RCD of that rated residual current (mA): 50 V over the current, as the table
/// rounds it, or worked out where the table has no line. The 0.8 rule for cold readings does not apply to it.
pub fn limit(trip_ma: f64, edition: Edition) -> Option<Limit> {
    if !(trip_ma.is_finite() && trip_ma > 0.0) {
        return None;
    }
    if let Some(row) = LIMITS.find(edition, |row| row.trip_ma == trip_ma) {
        return Some(row.cite.limit(row.of.max_ohm, edition));
    }
    let volts = touch_voltage(edition)?;
    Some(Limit {
        value: super::round_half_up(volts.value / (trip_ma / 1000.0), 0),
        decimals: 0,
        unit: "ohm",
        source: format!("{} V / {trip_ma} mA, {}", volts.value, volts.source).into(),
        confidence: Confidence::Derived,
    })
}

/// The voltage that RA x trip current may not exceed, volts.
pub fn touch_voltage(edition: Edition) -> Option<Limit> {
    FACTS.fact("touch-voltage", edition)
}

/// The resistance above which an electrode may not be stable, ohm: advice, not a limit.
pub fn advice(edition: Edition) -> Option<Limit> {
    FACTS.fact("stable-electrode", edition)
}
