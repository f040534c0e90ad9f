//! Which readings a circuit owes its record: by the work, its use, its RCD, its charge point and the edition.

use std::str::FromStr;

use serde::Deserialize;

use super::rcd::{Multiple, Protection, test_asked};
use super::{Confidence, Edition, Row, table};
use crate::record::{ReadingKey, Use};

/// What kind of record the readings are owed to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Work {
    /// The circuit was installed at this visit.
    New,
    /// The circuit was there already and is reported on.
    Report,
}

/// What protects a circuit, as far as the readings it owes hang on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RcdRole {
    /// No RCD is recorded.
    None,
    /// There is one, and its trip current is not recorded.
    Unknown,
    /// It gives additional protection (30 mA or less) and the overcurrent device gives the fault protection.
    Additional,
    /// It gives the fault protection, 30 mA or less.
    FaultAndAdditional,
    /// It gives the fault protection or protection against fire; more than 30 mA.
    Fault,
}

impl RcdRole {
    const fn is_fault(self) -> bool {
        matches!(self, RcdRole::Fault | RcdRole::FaultAndAdditional)
    }

    /// What the RCD tests of an edition are looked up by.
    const fn protection(self) -> Option<Protection> {
        match self {
            RcdRole::None | RcdRole::Unknown => None,
            RcdRole::Additional | RcdRole::FaultAndAdditional => Some(Protection::Additional),
            RcdRole::Fault => Some(Protection::Fault),
        }
    }
}

/// A circuit, as far as the readings it owes hang on it.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// New, or reported on.
    pub work: Work,
    /// What it is used for.
    pub usage: Use,
    /// Its RCD.
    pub rcd: RcdRole,
    /// True for a mode 3 charge point.
    pub mode_3: bool,
    /// True when the charge point, or a device of its own beside it, detects smooth d.c.
    pub dc_detection: bool,
    /// True when insulation was tested with the unit or other equipment connected.
    pub unit_connected: bool,
}

/// A reading that is owed.
#[derive(Debug, Clone)]
pub struct Owed {
    /// The reading; where there is more than one, any of them will do.
    pub any_of: &'static [ReadingKey],
    /// Whether a reason in `not_taken` will do instead.
    pub reason_will_do: bool,
    /// Whether it is asked for by an authority that was seen; otherwise its absence is only a doubt.
    pub required: bool,
    /// Why this circuit owes it, in words for a message.
    pub why: &'static str,
    row: &'static Row<RequiredRow>,
    /// For an RCD test, where the edition asks for it.
    rcd_test: Option<String>,
    edition: Edition,
}

impl Owed {
    /// The authority, with its edition.
    pub fn source(&self) -> String {
        self.rcd_test.clone().unwrap_or_else(|| self.row.cite.text(self.edition).to_owned())
    }
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct RequiredRow {
    work: Work,
    readings: Keys,
    #[serde(rename = "use")]
    usage: UseIs,
    rcd: RcdIs,
    point: PointIs,
    excuse: Excuse,
    weight: Weight,
    why: String,
}

/// Readings, any of which will do.
#[derive(Debug, Clone, Deserialize)]
#[serde(try_from = "String")]
struct Keys(Vec<ReadingKey>);

impl TryFrom<String> for Keys {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let key = |word: &str| ReadingKey::from_str(word).map_err(|()| format!("no reading is called {word}"));
        text.split('|').map(key).collect::<Result<_, _>>().map(Keys)
    }
}

/// A use, or any.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(try_from = "String")]
struct UseIs(Option<Use>);

impl TryFrom<String> for UseIs {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        if text == "any" {
            Ok(UseIs(None))
        } else {
            text.parse().map(|usage| UseIs(Some(usage))).map_err(|()| format!("no use is called {text}"))
        }
    }
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum RcdIs {
    Any,
    Fitted,
    Additional,
    Fault,
    NotFault,
    /// The edition asks for a test at the rated residual current; see `rcd_tests`.
    #[serde(rename = "asked-1x")]
    Asked1x,
    /// The edition asks for a test at five times the rated residual current.
    #[serde(rename = "asked-5x")]
    Asked5x,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum PointIs {
    Any,
    #[serde(rename = "mode-3")]
    Mode3,
    DcDetection,
    UnitOut,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Excuse {
    None,
    Reason,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Weight {
    Required,
    Advised,
}

table!(REQUIRED: RequiredRow = "required_readings");

/// The readings that a circuit owes under an edition, in the order of the record format. A way with nothing on it owes none.
pub fn readings(circuit: &Asked, edition: Edition) -> Vec<Owed> {
    if circuit.usage == Use::Spare {
        return Vec::new();
    }
    let rows = REQUIRED.rows().iter().filter(|row| row.cite.holds_in(edition) && row.of.asks(circuit));
    let mut owed: Vec<Owed> = rows.filter_map(|row| owed(row, circuit, edition)).collect();
    // A reading that is required and also advised is required.
    owed.sort_by_key(|owed| (owed.any_of.first().copied(), !owed.required));
    owed.dedup_by(|later, first| later.any_of == first.any_of);
    owed
}

impl RequiredRow {
    fn asks(&self, circuit: &Asked) -> bool {
        let rcd = match self.rcd {
            RcdIs::Any => true,
            RcdIs::Fitted => circuit.rcd != RcdRole::None,
            RcdIs::Additional => circuit.rcd.protection() == Some(Protection::Additional),
            RcdIs::Fault => circuit.rcd.is_fault(),
            RcdIs::NotFault => !circuit.rcd.is_fault(),
            RcdIs::Asked1x | RcdIs::Asked5x => circuit.rcd.protection().is_some(),
        };
        let point = match self.point {
            PointIs::Any => true,
            PointIs::Mode3 => circuit.mode_3,
            PointIs::DcDetection => circuit.dc_detection,
            PointIs::UnitOut => !circuit.unit_connected,
        };
        self.work == circuit.work && self.usage.0.is_none_or(|usage| usage == circuit.usage) && rcd && point
    }
}

fn owed(row: &'static Row<RequiredRow>, circuit: &Asked, edition: Edition) -> Option<Owed> {
    let multiple = match row.of.rcd {
        RcdIs::Asked1x => Some(Multiple::One),
        RcdIs::Asked5x => Some(Multiple::Five),
        _ => None,
    };
    let rcd_test = match multiple {
        Some(multiple) => Some(test_asked(circuit.rcd.protection()?, multiple, edition)?),
        None => None,
    };
    Some(Owed {
        any_of: &row.of.readings.0,
        reason_will_do: row.of.excuse == Excuse::Reason,
        required: row.of.weight == Weight::Required && row.cite.confidence != Confidence::Memory,
        why: &row.of.why,
        row,
        rcd_test,
        edition,
    })
}
