//! Factors k of the adiabatic equation by conductor, and its range of use (BS 7671 Tables 43.1 and 54.2 to 54.5).

use serde::Deserialize;

use super::load::Fact;
use super::{Edition, Figure, Limit, table};
use crate::record::{CpcKind, MakeUp};

/// What the conductor is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// A live conductor.
    Live,
    /// A protective conductor that is a core of the cable, or bunched with live conductors.
    CpcInCable,
    /// A separate protective conductor, not bunched.
    CpcSeparate,
    /// Armour.
    Armour,
    /// Metal sheath.
    Sheath,
    /// Conduit, ducting or trunking.
    Conduit,
}

/// What it is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Material {
    /// Copper.
    Copper,
    /// Aluminium.
    Aluminium,
    /// Steel.
    Steel,
    /// Lead.
    Lead,
}

/// The insulation that must survive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Insulation {
    /// 70 C thermoplastic.
    Thermoplastic70,
    /// 90 C thermoplastic.
    Thermoplastic90,
    /// 60 C thermosetting (rubber).
    Thermosetting60,
    /// 90 C thermosetting.
    Thermosetting90,
}

impl Insulation {
    /// The insulation of a make-up.
    pub const fn of(make_up: MakeUp) -> Insulation {
        match make_up {
            MakeUp::Flat70 | MakeUp::Singles70 | MakeUp::Multicore70 | MakeUp::Armoured70 => Insulation::Thermoplastic70,
            MakeUp::Multicore90 | MakeUp::Armoured90 => Insulation::Thermosetting90,
        }
    }
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct KRow {
    part: String,
    material: String,
    insulation: String,
    k: Figure,
    k_over_300: Option<Figure>,
}

table!(K: KRow = "adiabatic");
table!(FACTS: Fact = "adiabatic_facts");

/// The factor k, A s^0.5/mm2, for a conductor of `mm2` (above 300 mm2 thermoplastic insulation has its own value).
pub fn k(part: Part, material: Material, insulation: Insulation, mm2: f64) -> Option<Limit> {
    let part = match part {
        Part::Live => "live",
        Part::CpcInCable => "cpc-in-cable",
        Part::CpcSeparate => "cpc-separate",
        Part::Armour => "armour",
        Part::Sheath => "sheath",
        Part::Conduit => "conduit",
    };
    let material = match material {
        Material::Copper => "copper",
        Material::Aluminium => "aluminium",
        Material::Steel => "steel",
        Material::Lead => "lead",
    };
    let insulation = match insulation {
        Insulation::Thermoplastic70 => "thermoplastic-70",
        Insulation::Thermoplastic90 => "thermoplastic-90",
        Insulation::Thermosetting60 => "thermosetting-60",
        Insulation::Thermosetting90 => "thermosetting-90",
    };
    let row = K.rows().iter().find(|row| row.of.part == part && row.of.material == material && row.of.insulation == insulation)?;
    let figure = if mm2 > 300.0 { row.of.k_over_300.unwrap_or(row.of.k) } else { row.of.k };
    Some(row.cite.limit(figure, Edition::LAST_CONFIRMED))
}

/// The factor k of a cable's protective conductor: copper core, steel-wire armour, or steel conduit or trunking.
pub fn k_of_cpc(make_up: MakeUp, cpc: CpcKind, mm2: f64) -> Option<Limit> {
    let insulation = Insulation::of(make_up);
    match cpc {
        CpcKind::Core => k(Part::CpcInCable, Material::Copper, insulation, mm2),
        CpcKind::Armour => k(Part::Armour, Material::Steel, insulation, mm2),
        CpcKind::Conduit => k(Part::Conduit, Material::Steel, insulation, mm2),
    }
}

/// The disconnection times between which the equation holds, seconds. Below, the device's let-through energy decides; above, the
/// equation overstates the size.
pub fn range_s() -> Option<(Limit, Limit)> {
    Some((FACTS.fact("shortest-s", Edition::LAST_CONFIRMED)?, FACTS.fact("longest-s", Edition::LAST_CONFIRMED)?))
}
