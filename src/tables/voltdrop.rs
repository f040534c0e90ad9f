//! Voltage drop: tabulated millivolts per ampere and metre (BS 7671 Appendix 4), and limits (regulation 525).

use serde::Deserialize;

use super::load::Fact;
use super::{Confidence, Edition, Figure, Limit, table};
use crate::record::{MakeUp, Use};

#[derive(Debug, Clone, Deserialize)]
pub(super) struct DropRow {
    make_up: String,
    phases: u32,
    mm2: f64,
    mv: Figure,
    mv_r: Option<Figure>,
    mv_x: Option<Figure>,
}

table!(DROPS: DropRow = "voltdrop");
table!(LIMITS: Fact = "voltdrop_limits");

const NOW: Edition = Edition::LAST_CONFIRMED;

/// The tabulated drop of a cable, mV/A/m, at its greatest conductor temperature. Go and return are in the figure.
#[derive(Debug, Clone, PartialEq)]
pub struct TabulatedDrop {
    /// The whole figure (from 25 mm2 on, the table's z).
    pub mv: Limit,
    /// Its resistive part, printed from 25 mm2 on.
    pub r: Option<Limit>,
    /// Its reactive part, printed from 25 mm2 on; negligible below.
    pub x: Option<Limit>,
}

/// The tabulated drop for a make-up, number of phases (1 or 3) and conductor size. Three-phase figures give the drop between lines.
pub fn tabulated(make_up: MakeUp, phases: u32, mm2: f64) -> Option<TabulatedDrop> {
    let row = DROPS.rows().iter().find(|row| row.of.make_up == make_up.as_str() && row.of.phases == phases && row.of.mm2 == mm2)?;
    let limit = |figure| row.cite.limit(figure, NOW);
    Some(TabulatedDrop { mv: limit(row.of.mv), r: row.of.mv_r.map(limit), x: row.of.mv_x.map(limit) })
}

/// Every printed figure: make-up, phases, size in mm2, mV/A/m.
pub fn printed_rows() -> impl Iterator<Item = (&'static str, u32, f64, Limit)> {
    DROPS.rows().iter().map(|row| (row.of.make_up.as_str(), row.of.phases, row.of.mm2, row.cite.limit(row.of.mv, NOW)))
}

/// The greatest drop from origin to load, per cent of the nominal voltage: 3 for lighting and 5 for all else on a public supply. The
/// figures for a private supply are from memory.
pub fn limit(usage: Use, private_supply: bool) -> Option<Limit> {
    let name = match (usage == Use::Lighting, private_supply) {
        (true, false) => "limit-lighting",
        (false, false) => "limit-other",
        (true, true) => "limit-lighting-private",
        (false, true) => "limit-other-private",
    };
    LIMITS.fact(name, NOW)
}

/// What is added to the limit for a run beyond 100 m, per cent: from memory. Nothing to add for a shorter one.
pub fn long_run_allowance(run_m: f64) -> Option<Limit> {
    let from = LIMITS.fact("extra-from-m", NOW)?;
    let per_metre = LIMITS.fact("extra-per-m", NOW)?;
    let most = LIMITS.fact("extra-most", NOW)?;
    (run_m > from.value).then(|| Limit {
        value: super::round_half_up((run_m - from.value) * per_metre.value, 2).min(most.value),
        decimals: 2,
        confidence: Confidence::Memory,
        ..most
    })
}
