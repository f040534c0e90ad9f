//! `site.md`: what stays at a place between visits.

use schemars::JsonSchema;
use serde::Deserialize;

use super::{
    Answer, BondedService, Count, Date, Earthing, ElectrodeKind, Enclosure, Material, Nation, Num, Photographs, Premises, Reading,
    RecordKind, Service, Share, ShownBy, list,
};

/// A place.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// Always `site`.
    pub record: Option<RecordKind>,
    /// What the place is called; no personal details.
    pub name: Option<String>,
    /// The nation, where it differs from the book's.
    pub nation: Option<Nation>,
    /// What the place is used for.
    pub premises: Option<Premises>,
    /// Storeys above ground.
    pub storeys: Option<Count>,
    /// When the installation was made and by what that is known, in words.
    pub installed: Option<String>,
    /// Alterations and additions that show, and about when; `none` when none show.
    pub alterations: Option<String>,
    /// When the record may go; why is in the body.
    pub keep_until: Option<Date>,
    /// What may be shared and photographed.
    pub privacy: Option<Privacy>,
    /// The supply as it stays from visit to visit.
    pub supply: Option<SiteSupply>,
    /// The consumer units and distribution boards.
    #[serde(default, deserialize_with = "list")]
    pub boards: Vec<Board>,
    /// Answers to findings anywhere in this site's folder.
    #[serde(default, deserialize_with = "list")]
    pub answers: Vec<Answer>,
}

/// What may be shared and photographed.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Privacy {
    /// How much may be handed to others.
    pub share: Option<Share>,
    /// Whether photographs may be taken and kept.
    pub photographs: Option<Photographs>,
    /// Who asked for it, and when.
    pub why: Option<String>,
}

/// The supply of a site.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SiteSupply {
    /// Type of earthing system.
    pub earthing: Option<Earthing>,
    /// How the earthing system is known.
    pub earthing_shown_by: Option<ShownBy>,
    /// Number of phases: 1 or 3.
    pub phases: Option<Count>,
    /// Nominal voltage to earth, volts; 230 where nothing is said.
    pub nominal_v: Option<Num>,
    /// Frequency, hertz; 50 where nothing is said.
    pub frequency_hz: Option<Num>,
    /// Other sources of supply: solar panels, a battery, a generator; `none` when there are none.
    pub other_sources: Option<String>,
    /// The network operator's cut-out fuse.
    pub cutout: Option<Cutout>,
    /// Whether the service loops on to a neighbour.
    pub service: Option<Service>,
    /// What the network operator declares.
    pub declared: Option<Declared>,
    /// Supply number, 13 digits, quoted.
    pub mpan: Option<String>,
    /// The installation's own earth electrode.
    pub electrode: Option<Electrode>,
    /// The earthing conductor.
    pub earthing_conductor: Option<EarthingConductor>,
    /// Main protective bonding.
    #[serde(default, deserialize_with = "list")]
    pub bonding: Vec<Bonding>,
    /// The meter tails.
    pub tails: Option<Tails>,
}

/// The service cut-out.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cutout {
    /// The fuse's standard, such as `BS 88-3`.
    pub standard: Option<String>,
    /// Rated current, amperes.
    pub rating_a: Option<Num>,
    /// How the rating is known.
    pub shown_by: Option<ShownBy>,
}

/// What the network operator declares at the origin.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Declared {
    /// Highest external earth fault loop impedance, ohm.
    pub ze_ohm: Option<Num>,
    /// Highest prospective fault current, kA.
    pub ipf_ka: Option<Num>,
}

/// The installation's own earth electrode.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Electrode {
    /// Its kind.
    pub kind: Option<ElectrodeKind>,
    /// Where it is, in words.
    #[serde(rename = "where")]
    pub place: Option<String>,
}

/// The conductor from the main earthing terminal to the means of earthing.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EarthingConductor {
    /// Cross-sectional area, mm2.
    pub mm2: Option<Num>,
    /// What it is made of.
    pub material: Option<Material>,
    /// True when its connections were looked at and are sound.
    pub connection_seen: Option<bool>,
}

/// One main protective bonding conductor.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bonding {
    /// What it bonds.
    pub service: Option<BondedService>,
    /// Cross-sectional area, mm2.
    pub mm2: Option<Num>,
    /// Length, m.
    pub length_m: Option<Num>,
    /// Measured resistance, ohm.
    pub reading_ohm: Option<Reading>,
    /// What it is made of.
    pub material: Option<Material>,
    /// True when its connection was looked at and is sound.
    pub connection_seen: Option<bool>,
}

/// The meter tails.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tails {
    /// Cross-sectional area, mm2.
    pub mm2: Option<Num>,
    /// Length, m.
    pub length_m: Option<Num>,
}

/// A consumer unit or distribution board.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Board {
    /// Short id; circuits are `<board>/<way>`.
    pub id: Option<String>,
    /// Where it is, in words.
    #[serde(rename = "where")]
    pub place: Option<String>,
    /// `origin`, or the circuit that feeds it as `<board>/<way>`.
    pub fed_from: Option<String>,
    /// Number of phases: 1 or 3; those of the supply where nothing is said.
    pub phases: Option<Count>,
    /// Product standard, such as `BS EN 61439-3`.
    pub standard: Option<String>,
    /// Maker, by a short code of the book's own.
    pub maker: Option<String>,
    /// Material of the enclosure.
    pub enclosure: Option<Enclosure>,
    /// The main switch.
    pub main_switch: Option<MainSwitch>,
    /// Surge protection.
    pub spd: Option<Spd>,
    /// Number of outgoing ways.
    pub ways: Option<Count>,
    /// Conditional short-circuit rating with its cut-out, kA.
    pub conditional_ka: Option<Num>,
}

/// A board's main switch.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MainSwitch {
    /// Product standard, such as `BS EN 60947-3`.
    pub standard: Option<String>,
    /// Rated current, amperes.
    pub rating_a: Option<Num>,
    /// Poles opened.
    pub poles: Option<Count>,
    /// Rated voltage, volts.
    pub rated_v: Option<Num>,
    /// Rating of its fuse, or the current it is set to, amperes; for a switch that has one.
    pub fuse_a: Option<Num>,
    /// Rated residual operating current, mA; for a switch that is an RCD.
    pub trip_ma: Option<Num>,
    /// True for a time-delayed (S) RCD.
    pub delayed: Option<bool>,
}

/// A surge protective device.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Spd {
    /// Type 1, 2 or 3.
    #[serde(rename = "type")]
    #[schemars(extend("type" = ["string", "integer"]))]
    pub kind: Option<String>,
    /// Product standard, such as `BS EN 61643-11`.
    pub standard: Option<String>,
}
