//! The code quality report of GitLab: one JSON array, an object a finding.

use serde::Serialize;

use super::super::json::escaped;
use super::{Run, told};
use crate::finding::Grade;
use crate::judge::Verdict;

#[derive(Serialize)]
struct Issue<'a> {
    description: String,
    check_name: &'a str,
    fingerprint: String,
    severity: &'static str,
    location: Location,
}

#[derive(Serialize)]
struct Location {
    path: String,
    lines: Lines,
}

#[derive(Serialize)]
struct Lines {
    begin: usize,
    end: usize,
}

/// Every finding; an answered or accepted one says so in its description and is of the mildest severity, since the form has no word for it.
pub fn gitlab(verdict: &Verdict, run: &Run) -> String {
    let issues: Vec<Issue> = told(verdict, run.show_answered)
        .into_iter()
        .map(|told| {
            let spot = told.spot();
            let severity = match (told.quiet, told.finding.grade) {
                (Some(_), _) | (None, Grade::Tidy) => "info",
                (None, Grade::Doubt) => "minor",
                (None, Grade::Breach) => "major",
                (None, Grade::Danger) => "blocker",
            };
            let reason = told.reason().map_or(String::new(), |reason| format!(" ({reason})"));
            Issue {
                description: format!("{}: {}{reason}", told.finding.grade, told.text()),
                check_name: told.finding.rule,
                severity,
                location: Location { path: run.path(&told.finding.place), lines: Lines { begin: spot.start.line, end: spot.end.line } },
                fingerprint: told.fingerprint,
            }
        })
        .collect();
    // Strings and numbers: nothing in the list can fail to be written as JSON.
    let mut text = escaped(&serde_json::to_string_pretty(&issues).unwrap_or_default());
    text.push('\n');
    text
}
