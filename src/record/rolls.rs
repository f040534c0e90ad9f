//! `seals.yaml` and `backlog.yaml`: the two files of a book that the program writes itself, one entry a line, and that git merges.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Deserialize;

use super::{Count, Date, Grade, list, or_default};

/// The records whose paper is out, each with a digest of what it said then.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Seals {
    /// The version of the record format; 1.
    pub format: Option<Count>,
    /// Records issued on this day or later are expected to be sealed; without it, from the day of the first seal.
    pub since: Option<Date>,
    /// The seals. None is ever taken out: a record sealed again has one more.
    #[serde(default, deserialize_with = "list")]
    pub seals: Vec<Seal>,
}

/// What one record said when its paper was issued.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Seal {
    /// The record, by its path in the book.
    pub file: Option<String>,
    /// 1 for the first seal of this record, 2 when it was sealed again; the highest is the one that holds.
    pub seal: Option<Count>,
    /// The day it was sealed.
    pub on: Option<Date>,
    /// Why it was sealed again, or although something stood against it.
    pub why: Option<String>,
    /// The version of the canonical form that the digests are made of; 1.
    pub form: Option<Count>,
    /// SHA-256 of the record's canonical form, 64 hexadecimal digits.
    pub digest: Option<String>,
    /// The first 8 digits of the same for each part of it, so that it can be said which part changed.
    #[serde(default, deserialize_with = "or_default")]
    pub parts: BTreeMap<String, String>,
    /// SHA-256 of the bytes of each photograph that the record names, by its path in the book.
    #[serde(default, deserialize_with = "or_default")]
    pub photographs: BTreeMap<String, String>,
}

/// The findings that an inherited book began with.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Backlog {
    /// The version of the record format; 1.
    pub format: Option<Count>,
    /// What is accepted for the time being.
    #[serde(default, deserialize_with = "list")]
    pub accepted: Vec<Accepted>,
}

/// So many findings of one rule about one thing of one file.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Accepted {
    /// The file, by its path in the book.
    pub file: Option<String>,
    /// The rule, by its id.
    pub rule: Option<String>,
    /// The subject of the findings, such as a circuit's id; without it, those that have none.
    pub at: Option<String>,
    /// The gravest grade that is accepted; a finding that has become graver is shown.
    pub grade: Option<Grade>,
    /// How many.
    pub count: Option<Count>,
    /// The day they were accepted.
    pub on: Option<Date>,
    /// The last day on which they are.
    pub until: Option<Date>,
    /// Why.
    pub why: Option<String>,
}
