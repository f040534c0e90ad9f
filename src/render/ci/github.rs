//! Annotations of GitHub Actions: workflow commands on standard output, one a finding.

use std::fmt::Write;

use super::super::summary_line;
use super::{Run, Told, told};
use crate::finding::Grade;
use crate::judge::Verdict;

/// One workflow command a finding, worst first since only the first few are shown beside the change; then the summary for the log.
pub fn github(verdict: &Verdict, run: &Run) -> String {
    let mut out = String::new();
    for told in told(verdict, run.show_answered) {
        let Told { finding, .. } = &told;
        let spot = told.spot();
        let command = match (told.quiet, finding.grade) {
            (Some(_), _) | (None, Grade::Tidy) => "notice",
            (None, Grade::Doubt) => "warning",
            (None, Grade::Danger | Grade::Breach) => "error",
        };
        let reason = told.reason().map_or(String::new(), |reason| format!(" ({reason})"));
        let advice = told.advice();
        let advice = if advice.is_empty() { advice } else { format!("\n{advice}") };
        let _ = writeln!(
            out,
            "::{command} file={},line={},endLine={},col={},endColumn={},title={}::{}",
            property(&run.path(&finding.place)),
            spot.start.line,
            spot.end.line,
            spot.start.column,
            spot.end.column,
            property(&format!("{} {}", finding.grade, finding.rule)),
            data(&format!("{}{reason}{advice}", told.text())),
        );
    }
    let _ = writeln!(out, "{}", summary_line(&verdict.summary));
    out
}

/// The text of a workflow command: what would end the line is escaped.
fn data(text: &str) -> String {
    text.replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A")
}

/// A property of a workflow command: what would end it is escaped as well.
fn property(text: &str) -> String {
    data(&super::flat(text)).replace(':', "%3A").replace(',', "%2C")
}
