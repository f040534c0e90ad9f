//! Residual current devices: operating times, which tests an edition asks for, operating windows, and 6 mA d.c. detection.

use serde::Deserialize;

use super::load::Fact;
use super::{DeviceStandard, Edition, Figure, Limit, table};
use crate::record::RcdType;

/// The test current, as a multiple of the rated residual current.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Multiple {
    /// Half: it must hold.
    Half,
    /// Once.
    One,
    /// Twice.
    Two,
    /// Five times.
    Five,
}

impl Multiple {
    const fn times(self) -> f64 {
        match self {
            Multiple::Half => 0.5,
            Multiple::One => 1.0,
            Multiple::Two => 2.0,
            Multiple::Five => 5.0,
        }
    }
}

/// The shortest and longest operating time allowed, ms.
#[derive(Debug, Clone, PartialEq)]
pub struct OperatingTime {
    /// The shortest, for a delayed device.
    pub min: Option<Limit>,
    /// The longest.
    pub max: Limit,
}

/// What an RCD protects, as far as the tests asked for hang on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Protection {
    /// Additional protection, trip current up to 30 mA.
    Additional,
    /// Fault protection, or protection against fire.
    Fault,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct TimeRow {
    kind: String,
    multiple: f64,
    max_trip_ma: Option<f64>,
    min_ms: Option<Figure>,
    max_ms: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct TestRow {
    protection: String,
    multiple: f64,
    asked: String,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct DcRow {
    current_ma: f64,
    max_ms: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct WindowRow {
    #[serde(rename = "type")]
    kind: String,
    low: Figure,
    high: Figure,
}

table!(TIMES: TimeRow = "rcd_times");
table!(TESTS: TestRow = "rcd_tests");
table!(DC: DcRow = "rcd_dc");
table!(FACTS: Fact = "rcd_facts");
table!(WINDOW: WindowRow = "rcd_window");

/// The operating time allowed at a multiple of the rated residual current `trip_ma` (mA). `standard`: the product standard where it is
/// known; BS 4293 and BS 7288 devices have shorter times. Nothing where none is printed: half current, 5 x above 30 mA, and a delayed
/// device of the old standards, whose time hangs on its set delay.
pub fn operating_time(
    standard: Option<DeviceStandard>,
    delayed: bool,
    trip_ma: f64,
    multiple: Multiple,
    edition: Edition,
) -> Option<OperatingTime> {
    let legacy = matches!(standard, Some(DeviceStandard::Bs4293 | DeviceStandard::Bs7288));
    let kind = match (legacy, delayed) {
        (true, true) => return None,
        (true, false) => "legacy",
        (false, true) => "delayed",
        (false, false) => "general",
    };
    let row = TIMES
        .find(edition, |row| row.kind == kind && row.multiple == multiple.times() && row.max_trip_ma.is_none_or(|most| trip_ma <= most))?;
    Some(OperatingTime { min: row.of.min_ms.map(|min| row.cite.limit(min, edition)), max: row.cite.limit(row.of.max_ms, edition) })
}

/// Where an edition asks for a test at that multiple: the citation, or nothing when it does not ask. The half-current test is cited from
/// guidance, never from BS 7671. Since A2:2022 one a.c. test at 1 x is all that is asked, whatever the type.
pub fn test_asked(protection: Protection, multiple: Multiple, edition: Edition) -> Option<String> {
    let word = match protection {
        Protection::Additional => "additional",
        Protection::Fault => "fault",
    };
    let row = TESTS.find(edition, |row| {
        (row.protection == word || row.protection == "any") && row.multiple == multiple.times() && row.asked == "yes"
    })?;
    Some(row.cite.text(edition).to_owned())
}

/// The longest time, ms, in which d.c. detection in a charge point (IEC 62955) must disconnect at 6, 60 or 200 mA of smooth d.c.
/// From memory: it can only raise a doubt.
pub fn dc_detection(current_ma: f64) -> Option<Limit> {
    let row = DC.rows().iter().find(|row| row.of.current_ma == current_ma)?;
    Some(row.cite.limit(row.of.max_ms, Edition::LAST_CONFIRMED))
}

/// The window of a ramp test for types AC and A, as shares of the rated residual current: below the first it must hold, by the second it
/// must have tripped. Type A above 10 mA.
pub fn ramp_window(kind: RcdType) -> Option<(Limit, Limit)> {
    let row = WINDOW.rows().iter().find(|row| row.of.kind == kind.as_str())?;
    let limit = |figure| row.cite.limit(figure, Edition::LAST_CONFIRMED);
    Some((limit(row.of.low), limit(row.of.high)))
}

/// The highest rated residual current, mA, for additional protection.
pub fn additional_protection(edition: Edition) -> Option<Limit> {
    FACTS.fact("additional-protection", edition)
}

/// The highest rating, A, of socket-outlets that need additional protection. Nothing for editions before 2018.
pub fn sockets_up_to(edition: Edition) -> Option<Limit> {
    FACTS.fact("sockets-up-to", edition)
}

/// The share of the rated residual current that standing leakage may take up. Nothing for editions before 2018.
pub fn leakage_share(edition: Edition) -> Option<Limit> {
    FACTS.fact("leakage-share", edition)
}

/// The highest rated residual current, mA, of the RCD that each circuit of agricultural and horticultural premises is to have, whatever the
/// earthing system (Section 705). `sockets`: nothing for a circuit without socket-outlets, or else their rating in A, where it is known. From
/// memory but for 2015: it can then only raise a doubt. Nothing for the 16th Edition.
pub fn on_a_farm(sockets: Option<Option<f64>>, edition: Edition) -> Option<Limit> {
    let small = FACTS.fact("farm-small-sockets", edition)?;
    let fact = match sockets {
        None => "farm-other-circuits",
        Some(Some(rating)) if rating <= small.value => "farm-sockets",
        Some(_) => "farm-sockets-large",
    };
    FACTS.fact(fact, edition)
}
