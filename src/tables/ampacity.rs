//! Current-carrying capacity: tabulated ratings by make-up, reference method and size, and the rating factors (BS 7671 Appendix 4).

use serde::Deserialize;

use super::load::Fact;
use super::{Confidence, Edition, Figure, Limit, table};
use crate::record::MakeUp;

#[derive(Debug, Clone, Deserialize)]
pub(super) struct RatingRow {
    make_up: String,
    loaded_phases: u32,
    method: String,
    mm2: f64,
    amps: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct AmbientRow {
    place: String,
    insulation_c: u32,
    ambient_c: f64,
    factor: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct GroupingRow {
    arrangement: String,
    circuits: u32,
    factor: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct InsulationRow {
    run_mm: f64,
    factor: Figure,
}

table!(RATINGS: RatingRow = "ampacity");
table!(AMBIENT: AmbientRow = "ambient");
table!(GROUPING: GroupingRow = "grouping");
table!(INSULATION: InsulationRow = "thermal_insulation");
table!(FACTS: Fact = "ampacity_facts");

const NOW: Edition = Edition::LAST_CONFIRMED;

/// Where the heat goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Surroundings {
    /// Air; the tables stand on 30 C.
    Air,
    /// The ground; the tables stand on 20 C.
    Ground,
}

impl Surroundings {
    /// What surrounds a cable installed by that reference method: D is in the ground, all others in air.
    pub fn of_method(method: &str) -> Surroundings {
        if plain_method(method) == "D" { Surroundings::Ground } else { Surroundings::Air }
    }
}

/// How grouped circuits lie (Table 4C1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Arrangement {
    /// Bunched in air, on a surface, embedded or enclosed: the strictest line, for when nothing is known.
    Bunched,
    /// A single layer on a wall or floor, touching.
    SingleLayer,
}

/// The conductor temperature that a make-up's insulation allows, C.
pub const fn insulation_c(make_up: MakeUp) -> u32 {
    match make_up {
        MakeUp::Flat70 | MakeUp::Singles70 | MakeUp::Multicore70 | MakeUp::Armoured70 => 70,
        MakeUp::Multicore90 | MakeUp::Armoured90 => 90,
    }
}

/// The tabulated rating It, amperes, for a reference method (`A`, `B`, `C`, `D`, `E`, `100` to `103`), a size, and one or three loaded
/// phases: 30 C in air or 20 C in the ground, one circuit, no thermal insulation.
pub fn tabulated(make_up: MakeUp, method: &str, mm2: f64, loaded_phases: u32) -> Option<Limit> {
    let method = plain_method(method);
    let row = RATINGS.rows().iter().find(|row| {
        row.of.make_up == make_up.as_str() && row.of.method == method && row.of.mm2 == mm2 && row.of.loaded_phases == loaded_phases
    })?;
    Some(row.cite.limit(row.of.amps, NOW))
}

/// The sizes for which a rating is held, mm2, smallest first.
pub fn sizes(make_up: MakeUp, method: &str, loaded_phases: u32) -> Vec<f64> {
    let method = plain_method(method);
    RATINGS
        .rows()
        .iter()
        .map(|row| &row.of)
        .filter(|row| row.make_up == make_up.as_str() && row.method == method && row.loaded_phases == loaded_phases)
        .map(|row| row.mm2)
        .collect()
}

/// The ambient factor Ca: that of the next printed temperature upward (so never too kind), nothing above the last. Below the first
/// printed temperature the first one's factor serves.
pub fn ambient(insulation_c: u32, surroundings: Surroundings, ambient_c: f64) -> Option<Limit> {
    let place = match surroundings {
        Surroundings::Air => "air",
        Surroundings::Ground => "ground",
    };
    let row =
        AMBIENT.rows().iter().find(|row| row.of.place == place && row.of.insulation_c == insulation_c && row.of.ambient_c >= ambient_c)?;
    let limit = row.cite.limit(row.of.factor, NOW);
    Some(if row.of.ambient_c == ambient_c { limit } else { stepped(limit) })
}

/// The grouping factor Cg for so many circuits, this one included: that of the next printed number upward, nothing above the last.
pub fn grouping(arrangement: Arrangement, circuits: u32) -> Option<Limit> {
    let arrangement = match arrangement {
        Arrangement::Bunched => "bunched",
        Arrangement::SingleLayer => "single-layer",
    };
    let row = GROUPING.rows().iter().find(|row| row.of.arrangement == arrangement && row.of.circuits >= circuits.max(1))?;
    let limit = row.cite.limit(row.of.factor, NOW);
    Some(if row.of.circuits == circuits.max(1) { limit } else { stepped(limit) })
}

/// The factor Ci for a run of cable surrounded by thermal insulation, mm: as printed, or in proportion between two printed lengths; that
/// of 50 mm for any shorter run and that of 500 mm for any longer one. Nothing to apply at 0. The values since 2008 are from memory.
pub fn thermal_insulation(run_mm: f64, edition: Edition) -> Option<Limit> {
    if !(run_mm.is_finite() && run_mm > 0.0) {
        return None;
    }
    let rows: Vec<_> = INSULATION.rows().iter().filter(|row| row.cite.holds_in(edition)).collect();
    let above = rows.iter().find(|row| row.of.run_mm >= run_mm).or(rows.last())?;
    let limit = above.cite.limit(above.of.factor, edition);
    let below = rows.iter().rev().find(|row| row.of.run_mm < run_mm);
    match below {
        Some(below) if run_mm < above.of.run_mm => {
            let share = (run_mm - below.of.run_mm) / (above.of.run_mm - below.of.run_mm);
            let value = below.of.factor.value + share * (above.of.factor.value - below.of.factor.value);
            Some(Limit { value: super::round_half_up(value, 2), decimals: 2, ..stepped(limit) })
        }
        _ => Some(limit),
    }
}

/// The factor Cf where a rewireable fuse to BS 3036 gives overload protection.
pub fn rewireable_factor() -> Option<Limit> {
    FACTS.fact("cf-bs3036", NOW)
}

/// The temperature that terminals of equipment usually allow, C: a 90 C cable that ends in them is sized on the 70 C table.
pub fn usual_terminal_c() -> Option<Limit> {
    FACTS.fact("terminal-c", NOW)
}

/// A figure taken from beside the printed one.
fn stepped(limit: Limit) -> Limit {
    Limit { confidence: limit.confidence.max(Confidence::Derived), ..limit }
}

/// A reference method without the words around it: `method c` is `C`.
fn plain_method(method: &str) -> String {
    let upper = method.trim().to_ascii_uppercase();
    upper.rsplit(' ').next().unwrap_or(&upper).to_owned()
}
