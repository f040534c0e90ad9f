//! Residual current devices: type, sharing, selectivity and readings that cannot be right.
//!
//! What a device is, is judged once: at the last finished visit that speaks of it, by the edition of that visit.

mod chain;
mod charging;
mod farm;
mod readings;

use super::view::{CircuitView, Known};
use super::{Report, Rule};
use crate::finding::Finding;
use crate::record::Rcd;

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &charging::TYPE_AC,
    &charging::OVER_30_MA,
    &charging::NO_DC_DETECTION,
    &charging::NOT_ALL_POLES,
    &charging::TYPE_AC_ON_NEW_WORK,
    &chain::SHARED,
    &chain::BLINDED,
    &chain::NOT_SELECTIVE,
    &farm::WRONG_FOR_A_FARM,
    &readings::SAME_TIMES,
    &readings::LEAKAGE,
];

/// Whether a visit says anything of what the circuit is and of its RCD.
fn speaks(circuit: CircuitView<'_>) -> bool {
    let said = circuit.circuit;
    said.rcd.is_some() || said.ev.is_some() || said.usage.is_some() || said.ocpd.is_some()
}

/// Whether this visit has the last word on what the circuit's RCD is.
fn has_last_word(circuit: CircuitView<'_>) -> bool {
    let later = circuit.job.later().filter(|job| job.is_finished());
    speaks(circuit) && !later.filter_map(|job| job.circuit(circuit.id())).any(speaks)
}

/// Raises a finding about a part of the circuit's RCD: at that part where the visit gives it, or else at the circuit, with the older
/// record beside it.
fn raise_at_rcd<'f>(
    circuit: CircuitView<'_>,
    rcd: Known<'_, Rcd>,
    key: &'static str,
    message: String,
    report: &'f mut Report<'_>,
) -> &'f mut Finding {
    let fact = rcd.place_of(circuit.site(), key);
    if !rcd.is_older_than(circuit.job) {
        return report.raise(fact, message);
    }
    report.raise(circuit.place(), message).because(fact, "recorded at an earlier visit")
}
