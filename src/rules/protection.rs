//! Which RCDs give a circuit its protection against an earth fault: the one place where that is decided, for limits and for what is missing.

use super::view::{CircuitView, Known};
use crate::record::{Earthing, Rcd};

/// The RCDs between a circuit and the origin, its own first.
fn rcds<'a>(circuit: CircuitView<'a>) -> impl Iterator<Item = Known<'a, Rcd>> {
    let upstream = circuit.upstream();
    circuit.rcd().into_iter().chain(upstream.into_iter().filter_map(|feeder| feeder.rcd()))
}

/// The RCDs that may give the fault protection. One that is said not to give it is left out where another stands in the row to do it;
/// alone it is not believed, since on TT nothing else would open.
fn able<'a>(circuit: CircuitView<'a>) -> Vec<Known<'a, Rcd>> {
    let able: Vec<_> = rcds(circuit).filter(|rcd| rcd.value.gives_fault_protection != Some(false)).collect();
    if able.is_empty() { rcds(circuit).collect() } else { able }
}

/// The RCD of lowest trip current among those that may give the fault protection, with that current in mA.
pub fn most_sensitive<'a>(circuit: CircuitView<'a>) -> Option<(Known<'a, Rcd>, f64)> {
    let rated = able(circuit).into_iter().filter_map(|rcd| Some((rcd, *rcd.value.trip_ma?)));
    rated.min_by(|a, b| a.1.total_cmp(&b.1))
}

/// The RCD that the record says gives the fault protection: the circuit's own, or one that its board is fed through.
pub fn appointed<'a>(circuit: CircuitView<'a>) -> Option<Known<'a, Rcd>> {
    rcds(circuit).find(|rcd| rcd.value.gives_fault_protection == Some(true))
}

/// Whether an RCD gives the circuit's fault protection. Nothing when the record leaves it open.
pub fn is_by_rcd(circuit: CircuitView<'_>) -> Option<bool> {
    if appointed(circuit).is_some() {
        return Some(true);
    }
    let has_rcd = rcds(circuit).next().is_some();
    match circuit.earthing() {
        // On TT it is the RCD wherever there is one, whatever is left unsaid or copied over.
        Some(Earthing::Tt) => Some(has_rcd),
        Some(Earthing::TnS | Earthing::TnCS) => Some(false),
        // It may be TT: with an RCD there is no telling what has to open.
        None => (!has_rcd).then_some(false),
        Some(Earthing::It) => None,
    }
}

/// Whether the circuit's own RCD is one that has to open on an earth fault.
pub fn is_by_own_rcd(circuit: CircuitView<'_>) -> bool {
    let Some(own) = circuit.rcd() else { return false };
    match own.value.gives_fault_protection {
        Some(true) => true,
        None => circuit.earthing() == Some(Earthing::Tt),
        Some(false) => {
            let is_left_to_another = able(circuit).iter().any(|rcd| rcd.value.gives_fault_protection != Some(false));
            circuit.earthing() == Some(Earthing::Tt) && !is_left_to_another
        }
    }
}
