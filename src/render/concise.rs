//! One line a finding, path, line and column first, for people who grep and for editors.

use std::fmt::Write;

use super::place::{Spot, visible};
use super::{summary_line, unsaid_subject};
use crate::finding::Finding;
use crate::judge::Verdict;

/// One line a finding, then the summary.
pub fn concise(verdict: &Verdict, show_answered: bool) -> String {
    let mut out = String::new();
    for finding in &verdict.findings {
        line(&mut out, finding, "");
    }
    if show_answered {
        for answered in &verdict.answered {
            let until = answered.until.map_or(String::new(), |until| format!(" until {until}"));
            line(&mut out, &answered.finding, &format!(" (answered{until}: {})", answered.why));
        }
    }
    for accepted in &verdict.accepted {
        let until = accepted.until.map_or(String::new(), |until| format!(" until {until}"));
        line(&mut out, &accepted.finding, &format!(" (accepted in the backlog{until}: {})", accepted.why));
    }
    out.push_str(&summary_line(&verdict.summary));
    out.push('\n');
    out
}

fn line(out: &mut String, finding: &Finding, tail: &str) {
    let at = Spot::of(&finding.place).start;
    let subject = unsaid_subject(finding).map_or(String::new(), |subject| format!("{subject}: "));
    let text = format!(
        "{}:{}:{}: {} {}: {subject}{}{tail}",
        finding.place.file.path, at.line, at.column, finding.grade, finding.rule, finding.message
    );
    let _ = writeln!(out, "{}", visible(&text).replace('\n', " "));
}
