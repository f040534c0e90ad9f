//! Readings outside a published limit. Each is judged by the edition its own visit cites and by the device that was there then.
//!
//! Over a printed limit is stated; over a figure that is only advice, usual, or known from memory is asked. A reading that its own visit
//! reported (a fault or an observation that names the circuit) and that a later visit took again is settled, and left alone.

mod fault_level;
mod functional;
mod insulation;
mod off_scale;
mod origin;
mod rcd;
mod ring;
mod zs;

use super::Rule;
use super::view::{CircuitView, JobView};
use crate::finding::Grade;
use crate::record::{Left, Reading, ReadingKey};
use crate::tables::Limit;
use crate::tables::disconnection::DisconnectionTime;
use crate::tables::rcd::Multiple;

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &zs::OVER_LIMIT,
    &zs::OVER_COLD_LIMIT,
    &zs::LEFT_TO_RCD,
    &zs::NOT_JUDGED,
    &insulation::UNDER_MINIMUM,
    &insulation::ZERO,
    &insulation::REDUCED_VOLTAGE,
    &rcd::TOO_SLOW,
    &rcd::TOO_FAST,
    &rcd::NO_TIME,
    &rcd::TRIPS_AT_HALF,
    &rcd::DC_TOO_SLOW,
    &functional::RCD_BUTTON,
    &functional::AFDD_BUTTON,
    &functional::PILOT,
    &functional::POLARITY,
    &ring::OPEN,
    &ring::ENDS_DIFFER,
    &origin::TN_WITHOUT_EARTH,
    &origin::ZE_OVER_DECLARED,
    &origin::ZE_OVER_USUAL,
    &origin::VOLTAGE,
    &origin::ELECTRODE_OVER_LIMIT,
    &origin::ELECTRODE_UNSTABLE,
    &origin::BONDING,
    &origin::BOND_TOO_SMALL,
    &fault_level::OVER_CAPACITY,
    &off_scale::DECIDES_NOTHING,
];

/// Whether a reading is certainly over a limit. The limit is cleared of what binary arithmetic leaves behind the sixth decimal, so that
/// a reading exactly at it is not over it.
fn over(reading: &Reading, limit: f64) -> bool {
    reading.surely_over(cleared(limit))
}

/// Whether a reading is certainly under a limit.
fn under(reading: &Reading, limit: f64) -> bool {
    reading.surely_under(cleared(limit))
}

/// Whether a reading lies off the scale on the side that leaves open whether the limit is kept.
fn leaves_open(reading: &Reading, limit: f64) -> bool {
    let limit = cleared(limit);
    match reading.scale {
        crate::record::Scale::On => false,
        crate::record::Scale::Above => reading.value < limit,
        crate::record::Scale::Below => reading.value > limit,
    }
}

fn cleared(limit: f64) -> f64 {
    (limit * 1e6).round() / 1e6
}

/// For papers: the highest loop impedance that a circuit's protection allows, and whether it is an RCD's.
pub fn zs_allowed(circuit: CircuitView<'_>) -> Option<(Limit, bool)> {
    zs::allowed(circuit)
}

/// For papers: the time in which a circuit's protection has to clear an earth fault.
pub fn disconnection_time(circuit: CircuitView<'_>) -> Option<DisconnectionTime> {
    zs::time_allowed(circuit)
}

/// For the rules of other families: whether Zs is over what its device allows and is told so here.
pub(super) fn zs_is_over_limit(circuit: CircuitView<'_>) -> bool {
    zs::reading_and_limit(circuit).is_some_and(|(reading, limit)| over(&reading, limit.value))
}

/// For the rules of other families: whether Zs was read and is told here as held against nothing.
pub(super) fn zs_is_not_judged(circuit: CircuitView<'_>) -> bool {
    zs::why_not_judged(circuit).is_some()
}

/// For the rules of other families: whether an insulation reading of the circuit is under the minimum, which is told here.
pub(super) fn insulation_is_under_minimum(circuit: CircuitView<'_>) -> bool {
    let minimum = insulation::minimum(circuit);
    minimum.is_some_and(|minimum| insulation::readings(circuit).any(|(_, reading, _)| under(&reading, minimum.value)))
}

/// What a reading is held against at its visit.
pub struct Bound {
    /// The figure, in the reading's own unit.
    pub limit: Limit,
    /// Whether the reading has to reach it rather than stay within it.
    pub is_minimum: bool,
}

impl Bound {
    /// Whether a figure lies on the wrong side of the limit.
    pub fn is_failed_by(&self, reading: &Reading) -> bool {
        if self.is_minimum { under(reading, self.limit.value) } else { over(reading, self.limit.value) }
    }

    /// `limit` or `minimum`.
    pub fn word(&self) -> &'static str {
        if self.is_minimum { "minimum" } else { "limit" }
    }

    /// The word, the figure and its unit, and whether it is known from memory only.
    pub fn words(&self) -> String {
        format!("{} {}{}", self.word(), self.limit, if self.limit.is_memory() { " (from memory)" } else { "" })
    }

    /// Whether a figure on the scale is within a fifth of the limit, or past it.
    pub fn is_near(&self, reading: &Reading) -> bool {
        let value = reading.exact();
        value.is_some_and(|value| if self.is_minimum { value * 0.8 <= self.limit.value } else { value >= self.limit.value * 0.8 })
    }
}

/// For whoever shows readings beside one another: the limit that the rules here know for a reading of the visit's day.
pub fn bound(circuit: CircuitView<'_>, key: ReadingKey) -> Option<Bound> {
    let time = |multiple| circuit.rcd().and_then(|_| rcd::times(circuit, multiple)).map(|time| time.max);
    let (limit, is_minimum) = match key {
        ReadingKey::Zs => (zs::held(circuit)?.limit, false),
        ReadingKey::IrLiveLive | ReadingKey::IrLiveEarth => (insulation::minimum(circuit)?, true),
        ReadingKey::RcdMs => (time(Multiple::One)?, false),
        ReadingKey::Rcd5xMs => (time(Multiple::Five)?, false),
        _ => return None,
    };
    Some(Bound { limit, is_minimum })
}

/// Whether the visit left the circuit isolated or taken out: then nobody can be hurt by it until somebody puts it back.
fn is_left_off(circuit: CircuitView<'_>) -> bool {
    circuit
        .job
        .data()
        .faults
        .iter()
        .any(|fault| fault.circuit.as_deref() == Some(circuit.id()) && matches!(fault.left, Some(Left::Isolated | Left::Removed)))
}

/// Danger, or a breach while the circuit is left off.
pub(super) fn danger_unless_off(circuit: CircuitView<'_>) -> Grade {
    if is_left_off(circuit) { Grade::Breach } else { Grade::Danger }
}

/// Whether the visit itself reported the circuit and a later visit took the reading again. That one is judged in its own place.
pub(super) fn is_settled(circuit: CircuitView<'_>, key: ReadingKey) -> bool {
    let data = circuit.job.data();
    let in_fault = data.faults.iter().any(|fault| fault.circuit.as_deref() == Some(circuit.id()));
    let is_between = |letter: char| !letter.is_alphanumeric() && !"/-_".contains(letter);
    let named = |text: &str| text.split(is_between).any(|word| word == circuit.id());
    let in_report = data.observations.iter().any(|observation| observation.place.as_deref().is_some_and(named));
    let is_reported = !circuit.id().is_empty() && (in_fault || in_report);
    is_reported && circuit.job.later().any(|job| job.circuit(circuit.id()).is_some_and(|later| key.is_in(later.readings())))
}

/// Whether the visit reported something and a later one took the reading at the origin again.
fn is_settled_at_origin(job: JobView<'_>, taken: impl Fn(&crate::record::JobSupply) -> bool) -> bool {
    let data = job.data();
    let is_reported = !data.faults.is_empty() || !data.observations.is_empty();
    is_reported && job.later().any(|later| later.data().supply.as_ref().is_some_and(&taken))
}
