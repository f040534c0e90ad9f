//! The book's registers: instruments, models of equipment, and recalls.

use schemars::JsonSchema;
use serde::Deserialize;

use super::{Answer, CheckResult, Count, Date, InstrumentKind, JointKind, ModelKind, Num, OpenPen, RcdType, Reads, RecordKind, list};

/// A test instrument or tool.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Instrument {
    /// Always `instrument`.
    pub record: Option<RecordKind>,
    /// Its kind.
    pub kind: Option<InstrumentKind>,
    /// Its serial, quoted.
    pub serial: Option<String>,
    /// What it reads.
    #[serde(default, deserialize_with = "list")]
    pub reads: Vec<Reads>,
    /// The ends of its ranges.
    pub ranges: Option<Ranges>,
    /// Calibrations.
    #[serde(default, deserialize_with = "list")]
    pub calibrations: Vec<Calibration>,
    /// Checks between calibrations.
    #[serde(default, deserialize_with = "list")]
    pub checks: Vec<Check>,
    /// The day it was withdrawn from use.
    pub retired: Option<Date>,
    /// Answers to findings in this file.
    #[serde(default, deserialize_with = "list")]
    pub answers: Vec<Answer>,
}

/// The ends of an instrument's ranges.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ranges {
    /// Highest insulation resistance shown, Mohm.
    pub ir_top_mohm: Option<Num>,
}

/// A calibration.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Calibration {
    /// The day it was made.
    pub on: Option<Date>,
    /// The day the next is due.
    pub due: Option<Date>,
    /// Number of its certificate.
    pub certificate: Option<String>,
}

/// A check between calibrations.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// The day it was made.
    pub on: Option<Date>,
    /// Its result.
    pub result: Option<CheckResult>,
    /// What it was checked against.
    pub against: Option<String>,
}

/// What a make and model of equipment is known to do.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Model {
    /// Always `model`.
    pub record: Option<RecordKind>,
    /// Its kind.
    pub kind: Option<ModelKind>,
    /// Rated current, amperes.
    pub rated_a: Option<Num>,
    /// Number of phases.
    pub phases: Option<Count>,
    /// Product standards it is made to.
    #[serde(default, deserialize_with = "list")]
    pub standards: Vec<String>,
    /// For an RCD, its type.
    pub rcd_type: Option<RcdType>,
    /// True when it detects smooth d.c. fault current (6 mA).
    pub dc_detection: Option<bool>,
    /// Measures against a broken PEN conductor that it has, by indent of 722.411.4.1.
    #[serde(default, deserialize_with = "list")]
    pub open_pen: Vec<OpenPen>,
    /// Highest rating of overcurrent device its maker allows, amperes.
    pub max_ocpd_a: Option<Num>,
    /// Its terminals.
    pub terminals: Option<Terminals>,
    /// True when it can feed back into the installation.
    pub bidirectional: Option<bool>,
    /// Answers to findings in this file.
    #[serde(default, deserialize_with = "list")]
    pub answers: Vec<Answer>,
}

/// The terminals of a model.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Terminals {
    /// Their kind.
    pub kind: Option<JointKind>,
    /// The maker's tightening torque, Nm.
    pub torque_nm: Option<Num>,
}

/// A safety notice and whom it touches.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Recall {
    /// Always `recall`.
    pub record: Option<RecordKind>,
    /// The day it was issued.
    pub issued: Option<Date>,
    /// The model it touches, by id.
    pub model: Option<String>,
    /// The serials it touches; all where none are given.
    #[serde(default, deserialize_with = "list")]
    pub serials: Vec<SerialRange>,
    /// The fitting dates it touches.
    pub fitted: Option<DateRange>,
    /// The firmware below which it applies, quoted.
    pub firmware_below: Option<String>,
    /// What the maker says to do.
    pub advice: Option<String>,
    /// The units already dealt with.
    #[serde(default, deserialize_with = "list")]
    pub done: Vec<RecallDone>,
    /// Answers to findings in this file.
    #[serde(default, deserialize_with = "list")]
    pub answers: Vec<Answer>,
}

/// A range of serials, both ends included.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SerialRange {
    /// The first.
    pub from: Option<String>,
    /// The last.
    pub to: Option<String>,
}

/// A range of dates, both ends included.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DateRange {
    /// The first.
    pub from: Option<Date>,
    /// The last.
    pub to: Option<Date>,
}

/// A unit that a recall has been dealt with on.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RecallDone {
    /// The unit's serial.
    pub serial: Option<String>,
    /// The job that did it: `<site>/<job>`.
    pub by: Option<String>,
}
