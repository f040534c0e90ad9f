//! Ring final circuits: what the three steps of the test should show.

use super::load::Fact;
use super::{Edition, Limit, table};

table!(FACTS: Fact = "ring");

fn fact(name: &str) -> Option<Limit> {
    FACTS.fact(name, Edition::LAST_CONFIRMED)
}

/// How closely r1 and rn of one ring should agree, ohm.
pub fn r1_rn_agreement() -> Option<Limit> {
    fact("r1-rn-agreement")
}

/// The band in which r2/r1 is expected, as shares of the ratio by table resistance: our own, so it can only raise a question.
pub fn r2_r1_band() -> Option<(Limit, Limit)> {
    Some((fact("r2-r1-expected-low")?, fact("r2-r1-expected-high")?))
}

/// The part of a ring's load that is taken to stand half way round, amperes; the rest is taken to be spread evenly.
pub fn far_load_a() -> Option<Limit> {
    fact("far-load")
}

/// The usual greatest length of cable once round a 2.5 mm2 ring, m.
pub fn usual_length_m() -> Option<Limit> {
    fact("usual-length")
}

/// The least current-carrying capacity of the cable of a ring on a 30 or 32 A device, amperes.
pub fn least_iz_a(edition: Edition) -> Option<Limit> {
    FACTS.fact("min-iz", edition)
}

/// The smallest line conductor of a ring, mm2.
pub fn least_line_mm2(edition: Edition) -> Option<Limit> {
    FACTS.fact("min-line-mm2", edition)
}

/// The device ratings that a ring may have, A: from and to.
pub fn device_ratings_a(edition: Edition) -> Option<(Limit, Limit)> {
    Some((FACTS.fact("device-least-a", edition)?, FACTS.fact("device-most-a", edition)?))
}
