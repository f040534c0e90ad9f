//! Figures of charging installations that stand in no other table (BS 7671 Section 722, and the working rules around it).

use super::load::Fact;
use super::{Edition, Limit, table};

table!(FACTS: Fact = "ev_facts");

/// The least distance, m, between parts on two earths that can be touched together: a working rule.
pub fn earths_apart(edition: Edition) -> Option<Limit> {
    FACTS.fact("earths-apart", edition)
}

/// The voltage against Earth, V r.m.s., that an open PEN conductor may put on the main earthing terminal under indents (i) and (ii).
pub fn open_pen_voltage(edition: Edition) -> Option<Limit> {
    FACTS.fact("open-pen-voltage", edition)
}
