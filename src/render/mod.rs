//! Pure functions from a judged check to text: no clock, no terminal, no environment.

mod ci;
mod concise;
mod design;
pub(crate) mod due;
mod fixes;
pub(crate) mod history;
mod hits;
mod human;
mod ical;
mod json;
mod links;
mod place;
pub(crate) mod readings;
pub(crate) mod units;

pub use ci::{Run, github, gitlab, junit, markdown, sarif};
pub use concise::concise;
pub use design::{design, design_json};
pub use due::{due, due_json};
pub use fixes::{diff, fix_words, left_words, plan_words};
pub use history::{changed, serial_story, site_story};
pub use hits::{hit_paths, hits, hits_json};
pub use human::{Look, human};
pub use ical::{PRODUCT, dated, ical};
pub use json::json;
pub use links::linked;
pub use place::{Position, Spot, clamp, is_steering, line_number, one_line, visible};
pub use readings::{circuit_json, circuit_story};
pub use units::{UnitList, recall, recall_json, units, units_json};

use crate::finding::Finding;
use crate::judge::Summary;

/// `1 danger`, `3 breaches`, `2 doubts`, `4 tidies`.
pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// The subject, unless the message says it already.
pub(crate) fn unsaid_subject(finding: &Finding) -> Option<&str> {
    let subject = finding.subject.as_str();
    (!subject.is_empty() && !finding.message.contains(subject)).then_some(subject)
}

/// The last line of a check.
pub fn summary_line(summary: &Summary) -> String {
    let read = format!(
        "{} and {} read in {}",
        counted(summary.sites, "site", "sites"),
        counted(summary.jobs, "visit", "visits"),
        counted(summary.files, "file", "files")
    );
    let grades = [
        (summary.danger, "danger", "dangers"),
        (summary.breach, "breach", "breaches"),
        (summary.doubt, "doubt", "doubts"),
        (summary.tidy, "tidy", "tidies"),
    ];
    let found: Vec<String> = grades.iter().filter(|(count, ..)| *count > 0).map(|(count, one, many)| counted(*count, one, many)).collect();
    let found = if found.is_empty() { "nothing found".to_owned() } else { found.join(", ") };
    let answered = if summary.answered > 0 { format!("; {} answered", summary.answered) } else { String::new() };
    let accepted = if summary.accepted > 0 { format!("; {} accepted in the backlog", summary.accepted) } else { String::new() };
    let change = match summary.change {
        None => String::new(),
        Some(change) => {
            let what = counted(change.files, "changed file and what it touches", "changed files and what they touch");
            let elsewhere = match change.dangers_elsewhere {
                0 => String::new(),
                count => format!("; {} elsewhere in the book", counted(count, "danger", "dangers")),
            };
            format!(" in {what}{elsewhere}")
        }
    };
    format!("{found}{change}{answered}{accepted}; {read}")
}

/// Breaks a text into lines of at most `width` columns, indented by `indent`.
pub fn wrapped(text: &str, indent: usize, width: usize) -> String {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && indent + line.chars().count() + 1 + word.chars().count() > width {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines.push(line);
    lines.iter().map(|line| format!("{:indent$}{line}", "")).collect::<Vec<_>>().join("\n")
}
