//! SARIF 2.1.0 (OASIS), the form that code hosts and editors exchange findings in. Its own small model: only what is said here.

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Serialize;

use super::super::json::escaped;
use super::super::place::Spot;
use super::{Quiet, Run, Told, flat, told};
use crate::finding::{Grade, Place};
use crate::judge::Verdict;
use crate::rules::{self, Rule};

const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// What stands in a URI's path as it is (RFC 3986, unreserved characters and the slash).
const PATH: &AsciiSet = &NON_ALPHANUMERIC.remove(b'/').remove(b'-').remove(b'.').remove(b'_').remove(b'~');

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Log<'a> {
    #[serde(rename = "$schema")]
    schema: &'static str,
    version: &'static str,
    runs: [Job<'a>; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Job<'a> {
    tool: Tool,
    column_kind: &'static str,
    results: Vec<Outcome<'a>>,
}

#[derive(Serialize)]
struct Tool {
    driver: Driver,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Driver {
    name: &'static str,
    version: &'static str,
    semantic_version: &'static str,
    rules: Vec<Descriptor>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Descriptor {
    id: &'static str,
    short_description: Text,
    full_description: Text,
    help: Help,
    default_configuration: Configuration,
    properties: Tags,
}

#[derive(Serialize)]
struct Text {
    text: String,
}

#[derive(Serialize)]
struct Help {
    text: String,
    markdown: String,
}

#[derive(Serialize)]
struct Configuration {
    level: &'static str,
}

#[derive(Serialize)]
struct Tags {
    tags: [&'static str; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Outcome<'a> {
    rule_id: &'static str,
    rule_index: usize,
    level: &'static str,
    message: Text,
    locations: [Location; 1],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<Location>,
    partial_fingerprints: Fingerprints,
    // Every result says whether it is suppressed, or a reader could not tell none from not known.
    suppressions: Vec<Suppression>,
    properties: Properties<'a>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Location {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<usize>,
    physical_location: Physical,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    logical_locations: Vec<Logical>,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Text>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Physical {
    artifact_location: Artifact,
    region: Region,
}

#[derive(Serialize)]
struct Artifact {
    uri: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Region {
    start_line: usize,
    start_column: usize,
    end_line: usize,
    end_column: usize,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Logical {
    fully_qualified_name: String,
    kind: &'static str,
}

#[derive(Serialize)]
struct Fingerprints {
    #[serde(rename = "finding/v1")]
    finding: String,
}

#[derive(Serialize)]
struct Suppression {
    kind: &'static str,
    justification: String,
}

#[derive(Serialize)]
struct Properties<'a> {
    grade: &'static str,
    #[serde(skip_serializing_if = "str::is_empty")]
    subject: &'a str,
    #[serde(skip_serializing_if = "str::is_empty")]
    source: &'a str,
}

/// One log with one run. File names are relative to the top of the repository; columns count characters; answered findings and
/// those in the backlog are always in it, as suppressed with their reason, since that is how the form closes them.
pub fn sarif(verdict: &Verdict, run: &Run) -> String {
    let all: Vec<&'static Rule> = rules::all().collect();
    let outcomes = told(verdict, true).into_iter().map(|told| outcome(told, &all, run)).collect();
    let version = env!("CARGO_PKG_VERSION");
    let driver = Driver { name: "ampledger", version, semantic_version: version, rules: all.iter().map(|rule| descriptor(rule)).collect() };
    let job = Job { tool: Tool { driver }, column_kind: "unicodeCodePoints", results: outcomes };
    let log = Log { schema: SCHEMA, version: "2.1.0", runs: [job] };
    // Strings, numbers and lists of them: nothing in the log can fail to be written as JSON.
    let mut text = escaped(&serde_json::to_string_pretty(&log).unwrap_or_default());
    text.push('\n');
    text
}

fn descriptor(rule: &Rule) -> Descriptor {
    let sources: String = rule.sources.iter().map(|source| format!("\n- {source}")).collect();
    Descriptor {
        id: rule.id,
        short_description: Text { text: format!("{}.", rule.title) },
        full_description: Text { text: rule.looks_at.to_owned() },
        help: Help {
            text: format!("{} {}", rule.why, rule.cure),
            markdown: format!("{}\n\n**How to put it right.** {}\n\n**Sources**\n{sources}", rule.why, rule.cure),
        },
        default_configuration: Configuration { level: level(rule.grade) },
        properties: Tags { tags: [rule.family.title()] },
    }
}

fn level(grade: Grade) -> &'static str {
    match grade {
        Grade::Danger | Grade::Breach => "error",
        Grade::Doubt => "warning",
        Grade::Tidy => "note",
    }
}

fn outcome<'a>(told: Told<'a>, all: &[&'static Rule], run: &Run) -> Outcome<'a> {
    let finding = told.finding;
    let advice = told.advice();
    let text = if advice.is_empty() { told.text() } else { format!("{}. {advice}", told.text().trim_end_matches('.')) };
    let pointer = finding.place.path.to_string();
    let logical = (!pointer.is_empty()).then(|| Logical { fully_qualified_name: flat(&pointer), kind: "member" });
    let related = finding.related.iter().enumerate().map(|(index, related)| Location {
        id: Some(index + 1),
        physical_location: physical(&related.place, run),
        logical_locations: Vec::new(),
        message: Some(Text { text: flat(&related.message) }),
    });
    Outcome {
        rule_id: finding.rule,
        rule_index: all.iter().position(|rule| rule.id == finding.rule).unwrap_or_default(),
        level: level(finding.grade),
        message: Text { text },
        locations: [Location {
            id: None,
            physical_location: physical(&finding.place, run),
            logical_locations: logical.into_iter().collect(),
            message: (!finding.label.is_empty()).then(|| Text { text: flat(&finding.label) }),
        }],
        related_locations: related.collect(),
        suppressions: told.quiet.map(suppression).into_iter().collect(),
        partial_fingerprints: Fingerprints { finding: told.fingerprint },
        properties: Properties { grade: finding.grade.as_str(), subject: &finding.subject, source: &finding.source },
    }
}

fn suppression(quiet: Quiet<'_>) -> Suppression {
    match quiet {
        Quiet::Answered(why) => Suppression { kind: "inSource", justification: flat(why) },
        Quiet::Accepted(why) => Suppression { kind: "external", justification: flat(why) },
    }
}

fn physical(place: &Place, run: &Run) -> Physical {
    let Spot { start, end, .. } = Spot::of(place);
    Physical {
        artifact_location: Artifact { uri: utf8_percent_encode(&run.path(place), PATH).to_string() },
        region: Region { start_line: start.line, start_column: start.column, end_line: end.line, end_column: end.column },
    }
}
