//! A job: one visit, from the readings at the origin to the papers it ended in.

use schemars::JsonSchema;
use serde::Deserialize;

use super::{
    Access, Answer, Cause, Circuit, Code, Count, Date, ElectrodeBy, FaultState, How, InspectionResult, JobKind, JointKind, LaidTo, Left,
    LimitationKind, MadeBy, NoticeRoute, NoticeTo, Num, Outcome, PaperKind, Polarity, Reading, RecordKind, Status, Stranding, SuppliedBy,
    SupplyBy, Symptom, UnitEvent, Works, list, or_default,
};

/// One visit.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// Always `job`.
    pub record: Option<RecordKind>,
    /// What the visit was for.
    pub kind: Option<JobKind>,
    /// How far the record has come.
    pub status: Option<Status>,
    /// One line for lists.
    pub title: Option<String>,
    /// The edition the work was designed and verified to, such as `BS 7671:2018+A4:2026`.
    pub regulations: Option<String>,
    /// When things were done.
    #[serde(default, deserialize_with = "or_default")]
    pub dates: Dates,
    /// Who did them, by person id.
    #[serde(default, deserialize_with = "or_default")]
    pub people: JobPeople,
    /// The instruments used, by id.
    #[serde(default, deserialize_with = "list")]
    pub instruments: Vec<String>,
    /// What was found at the origin on the day.
    pub supply: Option<JobSupply>,
    /// Time on site, minutes.
    pub minutes_on_site: Option<Count>,
    /// What was found at the boards on the day.
    #[serde(default, deserialize_with = "list")]
    pub boards: Vec<BoardReading>,
    /// The circuits this visit touched.
    #[serde(default, deserialize_with = "list")]
    pub circuits: Vec<Circuit>,
    /// Equipment fitted, removed or seen.
    #[serde(default, deserialize_with = "list")]
    pub units: Vec<Unit>,
    /// Joints and terminations worth finding again.
    #[serde(default, deserialize_with = "list")]
    pub joints: Vec<Joint>,
    /// Faults reported or found.
    #[serde(default, deserialize_with = "list")]
    pub faults: Vec<Fault>,
    /// Observations of a condition report.
    #[serde(default, deserialize_with = "list")]
    pub observations: Vec<Observation>,
    /// Outcome of a condition report.
    pub outcome: Option<Outcome>,
    /// What the work or the inspection covered.
    pub extent: Option<String>,
    /// What it did not cover, and why.
    #[serde(default, deserialize_with = "list")]
    pub limitations: Vec<Limitation>,
    /// Notices sent.
    #[serde(default, deserialize_with = "list")]
    pub notices: Vec<Notice>,
    /// Papers issued.
    #[serde(default, deserialize_with = "list")]
    pub papers: Vec<Paper>,
    /// Promises made.
    #[serde(default, deserialize_with = "list")]
    pub follow_ups: Vec<FollowUp>,
    /// Departures from BS 7671 (regulations 120.3, 133.1.3, 133.5) and permitted exceptions (411.3.3), with where the risk assessment is
    /// kept; `none` when there are none.
    pub departures: Option<String>,
    /// What was seen of the existing installation during an addition or alteration, in words.
    pub existing: Option<String>,
    /// What was inspected by looking, item by item.
    #[serde(default, deserialize_with = "list")]
    pub inspected: Vec<Inspected>,
    /// Circuits or equipment that a test could harm, in words; `none` when there are none.
    pub vulnerable: Option<String>,
    /// Why a condition report was asked for.
    pub reason: Option<String>,
    /// Earlier papers that the inspector was shown; `none` when there were none.
    pub records_seen: Option<String>,
    /// The next inspection that the paper recommends or sets.
    pub next_inspection: Option<Date>,
    /// The earlier visit that this one follows, by its file name without `.md`.
    pub continues: Option<String>,
    /// Answers to findings in this file.
    #[serde(default, deserialize_with = "list")]
    pub answers: Vec<Answer>,
}

/// When things were done.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Dates {
    /// The design was made.
    pub designed: Option<Date>,
    /// The work was installed.
    pub installed: Option<Date>,
    /// The tests were made.
    pub tested: Option<Date>,
    /// The work was put into use.
    pub energised: Option<Date>,
}

/// Who did what, by person id.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JobPeople {
    /// Who designed.
    pub designed: Option<String>,
    /// Who constructed.
    pub built: Option<String>,
    /// Who inspected and tested.
    pub tested: Option<String>,
}

/// What was found at the origin on the day.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JobSupply {
    /// External earth fault loop impedance, ohm.
    pub ze_ohm: Option<Reading>,
    /// How Ze was obtained.
    pub ze_by: Option<SupplyBy>,
    /// Prospective fault current at the origin, kA.
    pub ipf_ka: Option<Reading>,
    /// How it was obtained.
    pub ipf_by: Option<SupplyBy>,
    /// Maximum demand, amperes per phase.
    pub max_demand_a: Option<Num>,
    /// Polarity of the supply.
    pub polarity: Option<Polarity>,
    /// Resistance of the earth electrode alone, ohm.
    pub electrode_ohm: Option<Reading>,
    /// How it was measured.
    pub electrode_by: Option<ElectrodeBy>,
    /// Supply voltage on the day, volts.
    pub supply_v: Option<Reading>,
    /// True when the earthing was looked at and is adequate for the work.
    pub earthing_adequate: Option<bool>,
    /// True when the main bonding was looked at and is adequate for the work.
    pub bonding_adequate: Option<bool>,
}

/// What was found at a board on the day.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoardReading {
    /// The board's id in `site.md`.
    pub id: Option<String>,
    /// Earth fault loop impedance at the board, ohm.
    pub zdb_ohm: Option<Reading>,
    /// Prospective fault current at the board, kA.
    pub ipf_ka: Option<Reading>,
    /// Whether the indicator of the surge protection shows that it works.
    pub spd: Option<Works>,
    /// Operating time of an RCD that is the main switch, at its rated residual current, ms.
    pub main_rcd_ms: Option<Reading>,
}

/// Something inspected by looking, and what came of it.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Inspected {
    /// What was looked at.
    pub what: Option<String>,
    /// What came of it.
    pub result: Option<InspectionResult>,
    /// A remark, or the id of the observation that tells more.
    pub note: Option<String>,
}

/// Equipment fitted, removed or seen.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Unit {
    /// What happened to it.
    pub event: Option<UnitEvent>,
    /// Its serial, quoted.
    pub serial: Option<String>,
    /// Its model, by id.
    pub model: Option<String>,
    /// The circuit it is on.
    pub circuit: Option<String>,
    /// Firmware, quoted.
    pub firmware: Option<String>,
    /// End of the maker's warranty.
    pub warranty_until: Option<Date>,
    /// Who supplied it.
    pub supplied_by: Option<SuppliedBy>,
    /// True when the statement of compliance with the smart charge point regulations is held.
    pub smart_statement: Option<bool>,
    /// For a removed unit, why: a fault's id or words.
    pub why: Option<String>,
    /// For a removed unit, how long it is kept.
    pub kept_until: Option<Date>,
}

/// A joint or termination worth finding again.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Joint {
    /// Where it is, in words.
    #[serde(rename = "where")]
    pub place: Option<String>,
    /// The circuit it is on.
    pub circuit: Option<String>,
    /// Its kind.
    pub kind: Option<JointKind>,
    /// Who made it.
    pub made_by: Option<MadeBy>,
    /// Whether it can be reached.
    pub access: Option<Access>,
    /// The conductor's stranding.
    pub conductor: Option<Stranding>,
    /// True when a ferrule is on a fine-stranded conductor.
    pub ferrule: Option<bool>,
    /// Tightening torque, Nm.
    pub torque_nm: Option<Num>,
    /// A picture of it, relative to the site's folder.
    pub photo: Option<String>,
}

/// A fault reported or found.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fault {
    /// Short id within this record.
    pub id: Option<String>,
    /// The day it was reported.
    pub reported: Option<Date>,
    /// What was noticed.
    pub symptom: Option<Symptom>,
    /// What was found.
    pub found: Option<String>,
    /// What is believed to be behind it.
    pub believed: Option<String>,
    /// What this visit ruled out.
    #[serde(default, deserialize_with = "list")]
    pub excluded: Vec<String>,
    /// Heat damage: how much conductor was cut away, mm.
    pub cut_back_mm: Option<Num>,
    /// Its cause.
    pub cause: Option<Cause>,
    /// To whom it is laid.
    pub laid_to: Option<LaidTo>,
    /// The circuit it is on.
    pub circuit: Option<String>,
    /// The unit it is in, by serial.
    pub unit: Option<String>,
    /// Its classification.
    pub code: Option<Code>,
    /// Where it stands.
    pub state: Option<FaultState>,
    /// How it was left.
    pub left: Option<Left>,
    /// How it was made safe.
    pub made_safe: Option<MadeSafe>,
    /// What was advised.
    pub advice: Option<Advice>,
    /// The day by which somebody goes back.
    pub return_by: Option<Date>,
    /// The day until which it is watched.
    pub watch_until: Option<Date>,
    /// A claim on the seller or maker.
    pub claim: Option<Claim>,
    /// The job that fixed it, by its file name without `.md`.
    pub fixed_by: Option<String>,
    /// The earlier fault that this one repeats: `<job>#<fault>`.
    pub repeats: Option<String>,
}

/// How a faulty part was made safe.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MadeSafe {
    /// What was done, such as where it is locked off.
    pub how: Option<String>,
    /// True when a notice was left.
    pub notice: Option<bool>,
    /// Who was told.
    pub told: Option<String>,
    /// The day it was done.
    pub on: Option<Date>,
}

/// What was advised.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Advice {
    /// The words used.
    pub words: Option<String>,
    /// How it was told.
    pub how: Option<How>,
    /// The day it was told.
    pub on: Option<Date>,
    /// True when the person acknowledged it.
    pub acknowledged: Option<bool>,
}

/// A claim on the seller or maker.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Claim {
    /// Whom it was sent to.
    pub with: Option<String>,
    /// The day it was sent.
    pub sent: Option<Date>,
    /// Their reference.
    #[serde(rename = "ref")]
    pub reference: Option<String>,
    /// The day to chase it.
    pub chase: Option<Date>,
    /// The day they answered.
    pub answered: Option<Date>,
    /// What came of it.
    pub outcome: Option<String>,
    /// True while the faulty part is kept.
    pub part_kept: Option<bool>,
}

/// An observation of a condition report.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Observation {
    /// Short id within this record.
    pub id: Option<String>,
    /// Classification.
    pub code: Option<Code>,
    /// What is wrong.
    pub what: Option<String>,
    /// Where it is.
    #[serde(rename = "where")]
    pub place: Option<String>,
    /// The regulation it departs from, quoted.
    pub clause: Option<String>,
    /// What was done about it before leaving.
    pub made_safe: Option<MadeSafe>,
    /// What was advised.
    pub advice: Option<Advice>,
    /// The day by which it is to be cleared.
    pub due: Option<Date>,
    /// The job that cleared it, by its file name without `.md`.
    pub cleared_by: Option<String>,
}

/// What the work or the inspection did not cover.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Limitation {
    /// What was left out.
    pub what: Option<String>,
    /// Where.
    #[serde(rename = "where")]
    pub place: Option<String>,
    /// What the paper cannot say because of it.
    pub effect: Option<String>,
    /// How and when it is to be lifted.
    pub lift: Option<String>,
    /// Why.
    pub why: Option<String>,
    /// Agreed beforehand, or met on the day.
    pub kind: Option<LimitationKind>,
    /// With whom it was agreed.
    pub agreed_with: Option<String>,
    /// When.
    pub on: Option<Date>,
}

/// A notice sent.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Notice {
    /// To whom.
    pub to: Option<NoticeTo>,
    /// By which route, for the network operator.
    pub route: Option<NoticeRoute>,
    /// The day it was sent.
    pub sent: Option<Date>,
    /// The day it was answered.
    pub answered: Option<Date>,
    /// Their reference.
    #[serde(rename = "ref")]
    pub reference: Option<String>,
}

/// A paper issued.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Paper {
    /// Its kind.
    pub kind: Option<PaperKind>,
    /// Its number.
    pub number: Option<String>,
    /// The day it was issued.
    pub issued: Option<Date>,
    /// To whom it was given, by part played and not by name.
    pub given_to: Option<String>,
    /// How it was given.
    pub how: Option<How>,
    /// The day it was given.
    pub on: Option<Date>,
}

/// A promise made.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FollowUp {
    /// What was promised.
    pub what: Option<String>,
    /// With whom.
    pub with: Option<String>,
    /// The day it is due.
    pub due: Option<Date>,
    /// The day it was done.
    pub done: Option<Date>,
}
