//! A circuit as one visit records it: what it is, and what was read on it.

use std::collections::BTreeMap;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use super::{
    Count, CpcKind, Date, DcDetection, EvPlace, Export, HalfTest, LengthBy, MakeUp, Num, OpenPen, Polarity, RcdType, Reading, Use, Works,
    ZsBy, ZsMode, or_default,
};

/// A circuit. What an earlier visit recorded of it need not be said again.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Circuit {
    /// `<board>/<way>`; the same for life.
    pub id: Option<String>,
    /// What it serves, in words.
    pub serves: Option<String>,
    /// What it is used for.
    #[serde(rename = "use")]
    pub usage: Option<Use>,
    /// Number of points served.
    pub points: Option<Count>,
    /// True when this visit installed it.
    pub new: Option<bool>,
    /// Design current, amperes.
    pub design_a: Option<Num>,
    /// Overcurrent protective device.
    pub ocpd: Option<Ocpd>,
    /// Residual current protection.
    pub rcd: Option<Rcd>,
    /// The cable.
    pub cable: Option<Cable>,
    /// What makes it an EV charging circuit.
    pub ev: Option<Ev>,
    /// What was read.
    #[serde(default, deserialize_with = "or_default")]
    pub readings: Readings,
    /// Readings that could not be taken, each with its reason.
    #[serde(default, deserialize_with = "or_default")]
    #[schemars(schema_with = "reason_per_reading")]
    pub not_taken: BTreeMap<ReadingKey, String>,
}

/// An overcurrent protective device.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ocpd {
    /// Product standard: `BS EN 60898`, `BS EN 61009-1`, `BS 88-2`, `BS 88-3`, `BS 3036`, `BS 1361`, `BS 1362`, `BS 3871`.
    pub standard: Option<String>,
    /// Tripping curve of a breaker: `B`, `C` or `D`; for BS 3871 `1`, `2` or `3`.
    #[schemars(extend("type" = ["string", "integer"]))]
    pub curve: Option<String>,
    /// Rated current, amperes.
    pub rating_a: Option<Num>,
    /// Rated breaking capacity, kA.
    pub breaking_ka: Option<Num>,
    /// Poles opened.
    pub poles: Option<Count>,
    /// Maker, by a short code of the book's own.
    pub maker: Option<String>,
    /// True when it may be fed from either side.
    pub two_way: Option<bool>,
}

/// Residual current protection of a circuit.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rcd {
    /// Product standard: `BS EN 61008-1`, `BS EN 61009-1`, `BS EN 62423`, `BS 4293`, `BS 7288`.
    pub standard: Option<String>,
    /// Type by the residual currents it answers to.
    #[serde(rename = "type")]
    pub kind: Option<RcdType>,
    /// Rated current, amperes.
    pub rating_a: Option<Num>,
    /// Rated residual operating current, mA.
    pub trip_ma: Option<Num>,
    /// True for a time-delayed (S) device.
    pub delayed: Option<bool>,
    /// Which physical device; the same name on two circuits means that they share it.
    pub device: Option<String>,
    /// True when the RCD gives the fault protection because the loop is too high for the overcurrent device.
    pub gives_fault_protection: Option<bool>,
}

/// A circuit's cable.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cable {
    /// Construction, and the conductor temperature its insulation allows in degrees Celsius.
    pub make_up: Option<MakeUp>,
    /// Number of cores.
    pub cores: Option<Count>,
    /// Cross-sectional area of the line conductor, mm2.
    pub line_mm2: Option<Num>,
    /// Cross-sectional area of the protective conductor, mm2.
    pub cpc_mm2: Option<Num>,
    /// What serves as the protective conductor.
    pub cpc: Option<CpcKind>,
    /// Length, m; for a ring, once round.
    pub length_m: Option<Num>,
    /// How the length is known.
    pub length_by: Option<LengthBy>,
    /// Reference method of installation of BS 7671 Appendix 4: `A`, `B`, `C`, `D`, `E`, `100` to `103`.
    #[schemars(extend("type" = ["string", "integer"]))]
    pub method: Option<String>,
    /// Ambient temperature, degrees Celsius; 30 in air where nothing is said.
    pub ambient_c: Option<Num>,
    /// Circuits grouped together, this one included.
    pub grouped: Option<Count>,
    /// Length of run surrounded by thermal insulation, mm.
    pub insulation_mm: Option<Num>,
}

/// What makes a circuit an EV charging circuit.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ev {
    /// Charging mode of IEC 61851-1: 1 to 4.
    pub mode: Option<Count>,
    /// Serial of the charge point, quoted.
    pub unit: Option<String>,
    /// Current it is set to, amperes.
    pub set_a: Option<Num>,
    /// Outdoors or indoors.
    pub place: Option<EvPlace>,
    /// Measure against a broken PEN conductor.
    pub open_pen: Option<OpenPen>,
    /// Why that measure, or why none is needed.
    pub open_pen_why: Option<String>,
    /// Calculated voltage of the main earthing terminal with the PEN conductor open, volts.
    pub pen_calc_v: Option<Num>,
    /// The maker's document for the measure.
    pub pen_statement: Option<String>,
    /// Distance between simultaneously accessible parts on the two earths of a TT island, m.
    pub earths_apart_m: Option<Num>,
    /// Where smooth d.c. fault current is detected.
    pub dc_detection: Option<DcDetection>,
    /// Load limiting.
    pub load_limit: Option<LoadLimit>,
    /// True when the circuit is labelled at the board and at the unit.
    pub labelled: Option<bool>,
    /// For a 13 A outlet, true when it bears the EV marking of BS 1363-2.
    pub outlet_marked_ev: Option<bool>,
    /// How a point that can feed back is connected with the network.
    pub export: Option<Export>,
    /// Height of the socket-outlet or connector above ground, m.
    pub height_m: Option<Num>,
}

/// Load limiting of a charge point.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LoadLimit {
    /// Current that the whole supply is held to, amperes.
    pub limit_a: Option<Num>,
    /// The day it was proved.
    pub proved: Option<Date>,
    /// How it was proved.
    pub how: Option<String>,
}

/// What was read on a circuit.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Readings {
    /// Resistance of line and protective conductor together, ohm, cold.
    pub r1_r2_ohm: Option<Reading>,
    /// Resistance of the protective conductor alone, ohm.
    pub r2_ohm: Option<Reading>,
    /// End-to-end resistance of a ring's line conductor, ohm.
    pub ring_r1_ohm: Option<Reading>,
    /// End-to-end resistance of a ring's neutral conductor, ohm.
    pub ring_rn_ohm: Option<Reading>,
    /// End-to-end resistance of a ring's protective conductor, ohm.
    pub ring_r2_ohm: Option<Reading>,
    /// Insulation test voltage, volts d.c.
    pub ir_test_v: Option<Num>,
    /// Insulation resistance between live conductors, Mohm.
    pub ir_live_live_mohm: Option<Reading>,
    /// Insulation resistance between live conductors and earth, Mohm.
    pub ir_live_earth_mohm: Option<Reading>,
    /// True when the unit or a surge device was still connected.
    pub ir_with_unit: Option<bool>,
    /// Why the test was made at 250 V.
    pub ir_250_why: Option<String>,
    /// Polarity.
    pub polarity: Option<Polarity>,
    /// Earth fault loop impedance, ohm.
    pub zs_ohm: Option<Reading>,
    /// How it was obtained; measured where nothing is said.
    pub zs_by: Option<ZsBy>,
    /// Loop test mode.
    pub zs_mode: Option<ZsMode>,
    /// RCD operating time at its rated residual current, ms.
    pub rcd_ms: Option<Reading>,
    /// RCD operating time at five times its rated residual current, ms.
    pub rcd_5x_ms: Option<Reading>,
    /// What the RCD did at half its rated residual current.
    pub rcd_half: Option<HalfTest>,
    /// The RCD's test button.
    pub rcd_button: Option<Works>,
    /// Operating time of the 6 mA d.c. detection, ms.
    pub rcd_dc_ms: Option<Reading>,
    /// The arc fault detection device's test button.
    pub afdd_button: Option<Works>,
    /// Standing protective conductor current, mA.
    pub leakage_ma: Option<Reading>,
    /// Control-pilot functional checks of IEC 61851-1.
    pub pilot: Option<Pilot>,
}

/// Control-pilot functional checks.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pilot {
    /// State A: no vehicle.
    pub a: Option<Works>,
    /// State B: vehicle connected.
    pub b: Option<Works>,
    /// State C: charging.
    pub c: Option<Works>,
    /// State D: charging with ventilation.
    pub d: Option<Works>,
    /// Reaction to a pilot error.
    pub error: Option<Works>,
    /// Reaction to a simulated earth fault.
    pub fault: Option<Works>,
}

impl Pilot {
    /// Every check by its key, with what came of it.
    pub fn checks(&self) -> [(&'static str, Option<Works>); 6] {
        [("a", self.a), ("b", self.b), ("c", self.c), ("d", self.d), ("error", self.error), ("fault", self.fault)]
    }
}

impl std::fmt::Display for Pilot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let made: Vec<String> = self.checks().iter().filter_map(|(name, works)| Some(format!("{name} {}", (*works)?))).collect();
        f.write_str(&made.join(", "))
    }
}

/// `not_taken` with the names of the readings, so that editors offer them and mark others.
fn reason_per_reading(_: &mut SchemaGenerator) -> Schema {
    let reason = |key: &ReadingKey| (key.to_string(), serde_json::json!({"type": "string", "description": key.words()}));
    let reasons: serde_json::Map<String, serde_json::Value> = ReadingKey::ALL.iter().map(reason).collect();
    json_schema!({"type": "object", "properties": reasons, "additionalProperties": false})
}

/// Declares the keys of `readings:` that a rule can ask for and that `not_taken:` can excuse.
macro_rules! reading_keys {
    ($($variant:ident = $field:ident $text:literal $words:literal),+ $(,)?) => {
        /// The name of a reading, as `readings:` and `not_taken:` spell it.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, JsonSchema)]
        pub enum ReadingKey {
            $(#[doc = $words] #[serde(rename = $text)] $variant),+
        }

        impl ReadingKey {
            /// Every reading, in the order of the record format.
            pub const ALL: &'static [ReadingKey] = &[$(ReadingKey::$variant),+];

            /// The key in the record.
            pub const fn as_str(self) -> &'static str {
                match self { $(ReadingKey::$variant => $text),+ }
            }

            /// What is read, in words for a message.
            pub const fn words(self) -> &'static str {
                match self { $(ReadingKey::$variant => $words),+ }
            }

            /// The reading as it is written, when it is there.
            pub fn shown_in(self, readings: &Readings) -> Option<String> {
                match self { $(ReadingKey::$variant => readings.$field.as_ref().map(ToString::to_string)),+ }
            }

            /// Whether the reading is there.
            pub fn is_in(self, readings: &Readings) -> bool {
                match self { $(ReadingKey::$variant => readings.$field.is_some()),+ }
            }
        }
    };
}

reading_keys! {
    R1R2 = r1_r2_ohm "r1_r2_ohm" "R1+R2",
    R2 = r2_ohm "r2_ohm" "R2",
    RingR1 = ring_r1_ohm "ring_r1_ohm" "ring line conductor end to end",
    RingRn = ring_rn_ohm "ring_rn_ohm" "ring neutral conductor end to end",
    RingR2 = ring_r2_ohm "ring_r2_ohm" "ring protective conductor end to end",
    IrTestV = ir_test_v "ir_test_v" "insulation test voltage",
    IrLiveLive = ir_live_live_mohm "ir_live_live_mohm" "insulation resistance between live conductors",
    IrLiveEarth = ir_live_earth_mohm "ir_live_earth_mohm" "insulation resistance live to earth",
    Polarity = polarity "polarity" "polarity",
    Zs = zs_ohm "zs_ohm" "Zs",
    RcdMs = rcd_ms "rcd_ms" "RCD operating time at 1 x",
    Rcd5xMs = rcd_5x_ms "rcd_5x_ms" "RCD operating time at 5 x",
    RcdHalf = rcd_half "rcd_half" "RCD at half its rated current",
    RcdButton = rcd_button "rcd_button" "RCD test button",
    RcdDcMs = rcd_dc_ms "rcd_dc_ms" "6 mA d.c. detection time",
    AfddButton = afdd_button "afdd_button" "AFDD test button",
    Leakage = leakage_ma "leakage_ma" "protective conductor current",
    Pilot = pilot "pilot" "control-pilot checks",
}

impl ReadingKey {
    /// The figure, for a reading that an instrument shows as one.
    pub fn figure_in(self, readings: &Readings) -> Option<Reading> {
        match self {
            ReadingKey::R1R2 => readings.r1_r2_ohm,
            ReadingKey::R2 => readings.r2_ohm,
            ReadingKey::RingR1 => readings.ring_r1_ohm,
            ReadingKey::RingRn => readings.ring_rn_ohm,
            ReadingKey::RingR2 => readings.ring_r2_ohm,
            ReadingKey::IrLiveLive => readings.ir_live_live_mohm,
            ReadingKey::IrLiveEarth => readings.ir_live_earth_mohm,
            ReadingKey::Zs => readings.zs_ohm,
            ReadingKey::RcdMs => readings.rcd_ms,
            ReadingKey::Rcd5xMs => readings.rcd_5x_ms,
            ReadingKey::RcdDcMs => readings.rcd_dc_ms,
            ReadingKey::Leakage => readings.leakage_ma,
            _ => None,
        }
    }

    /// The unit of the figure, as its key ends; empty for a reading that is a word.
    pub fn unit(self) -> &'static str {
        match self.as_str().rsplit('_').next() {
            Some("ohm") => "ohm",
            Some("mohm") => "Mohm",
            Some("ms") => "ms",
            Some("ma") => "mA",
            Some("v") => "V",
            _ => "",
        }
    }
}

impl std::fmt::Display for ReadingKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

impl std::str::FromStr for ReadingKey {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.iter().copied().find(|key| key.as_str() == text).ok_or(())
    }
}
