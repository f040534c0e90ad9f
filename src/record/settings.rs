//! `book.yaml`: who keeps the book, the nation, and which rules are re-graded.

use schemars::JsonSchema;
use serde::Deserialize;

use super::{Count, Nation, RuleGrade, list};

/// The book's own settings.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// The version of the record format; 1.
    pub format: Option<Count>,
    /// The name the work is done under.
    pub trading_as: Option<String>,
    /// The nation whose law applies unless a site says otherwise.
    pub nation: Option<Nation>,
    /// The people named in records.
    #[serde(default, deserialize_with = "list")]
    pub people: Vec<Person>,
    /// Rules graded otherwise in this book, each with a reason.
    #[serde(default, deserialize_with = "list")]
    pub rules: Vec<RuleSetting>,
}

/// Somebody named in records.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// The short id used in records.
    pub id: Option<String>,
    /// The name printed on papers.
    pub name: Option<String>,
    /// What the person is responsible for, such as `qualified-supervisor`.
    pub role: Option<String>,
}

/// One rule graded otherwise in this book.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RuleSetting {
    /// The rule's id.
    pub rule: Option<String>,
    /// Its grade in this book; `silent` turns it off.
    pub grade: Option<RuleGrade>,
    /// Why.
    pub why: Option<String>,
}
