//! What machines read, version 1. Its own types: the inner ones may change, this may not.

use std::fmt::Write;

use serde::Serialize;

use super::place::{Spot, is_steering};
use crate::finding::Finding;
use crate::judge::{Summary, Verdict};

#[derive(Serialize)]
struct Report<'a> {
    format: u32,
    on: String,
    findings: Vec<Entry<'a>>,
    summary: Counts,
}

#[derive(Serialize)]
struct Entry<'a> {
    rule: &'a str,
    grade: &'a str,
    file: &'a str,
    line: usize,
    column: usize,
    end_line: usize,
    end_column: usize,
    pointer: String,
    subject: &'a str,
    message: &'a str,
    help: &'a str,
    source: &'a str,
    answered: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    answer: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    accepted: Option<&'a str>,
    related: Vec<Beside<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fix: Option<Remedy<'a>>,
}

#[derive(Serialize)]
struct Remedy<'a> {
    title: &'a str,
    safe: bool,
}

#[derive(Serialize)]
struct Beside<'a> {
    file: &'a str,
    line: usize,
    message: &'a str,
}

#[derive(Serialize)]
struct Counts {
    sites: usize,
    jobs: usize,
    files: usize,
    danger: usize,
    breach: usize,
    doubt: usize,
    tidy: usize,
    answered: usize,
    #[serde(skip_serializing_if = "is_nought")]
    accepted: usize,
}

fn is_nought(count: &usize) -> bool {
    *count == 0
}

/// One JSON object; answered findings are in it, marked, when they are asked for, and those that the backlog accepts.
pub fn json(verdict: &Verdict, show_answered: bool) -> String {
    let standing = verdict.findings.iter().map(|finding| entry(finding, None));
    let answered = verdict.answered.iter().filter(|_| show_answered).map(|answered| entry(&answered.finding, Some(answered.why.as_str())));
    let accepted =
        verdict.accepted.iter().map(|accepted| Entry { accepted: Some(accepted.why.as_str()), ..entry(&accepted.finding, None) });
    let Summary { sites, jobs, files, danger, breach, doubt, tidy, answered: count, accepted: in_backlog, change: _ } = verdict.summary;
    let report = Report {
        format: 1,
        on: verdict.on.to_string(),
        findings: standing.chain(answered).chain(accepted).collect(),
        summary: Counts { sites, jobs, files, danger, breach, doubt, tidy, answered: count, accepted: in_backlog },
    };
    // Nothing in the report can fail to be written as JSON: strings, numbers and lists of them.
    let mut text = escaped(&serde_json::to_string_pretty(&report).unwrap_or_default());
    text.push('\n');
    text
}

/// Writes as `\u` escapes the characters that JSON may hold as they are and that would steer a terminal; they stand only in strings.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c != '\n' && is_steering(c) {
            let _ = write!(out, "\\u{:04x}", u32::from(c));
        } else {
            out.push(c);
        }
    }
    out
}

fn entry<'a>(finding: &'a Finding, answer: Option<&'a str>) -> Entry<'a> {
    let spot = Spot::of(&finding.place);
    Entry {
        rule: finding.rule,
        grade: finding.grade.as_str(),
        file: &finding.place.file.path,
        line: spot.start.line,
        column: spot.start.column,
        end_line: spot.end.line,
        end_column: spot.end.column,
        pointer: finding.place.path.to_string(),
        subject: &finding.subject,
        message: &finding.message,
        help: &finding.help,
        source: &finding.source,
        answered: answer.is_some(),
        answer,
        accepted: None,
        related: finding
            .related
            .iter()
            .map(|related| Beside { file: &related.place.file.path, line: Spot::of(&related.place).start.line, message: &related.message })
            .collect(),
        fix: finding.fix.as_ref().map(|fix| Remedy { title: &fix.title, safe: fix.is_safe() }),
    }
}
