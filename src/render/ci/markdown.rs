//! A summary in Markdown, for the page of a pipeline's run or a comment on a change.

use std::fmt::Write;

use super::super::summary_line;
use super::{Run, Told, told};
use crate::finding::Grade;
use crate::judge::Verdict;

/// The count, then a table a grade, worst first, then what does not stand, with its reason.
pub fn markdown(verdict: &Verdict, run: &Run) -> String {
    let all = told(verdict, run.show_answered);
    let mut out = format!("## Electrical site records, {}\n\n{}\n", verdict.on, summary_line(&verdict.summary));
    for (grade, title) in [(Grade::Danger, "Dangers"), (Grade::Breach, "Breaches"), (Grade::Doubt, "Doubts"), (Grade::Tidy, "Tidies")] {
        let rows: Vec<&Told> = all.iter().filter(|told| told.quiet.is_none() && told.finding.grade == grade).collect();
        table(&mut out, title, &rows, run);
    }
    let quiet: Vec<&Told> = all.iter().filter(|told| told.quiet.is_some()).collect();
    table(&mut out, "Answered, or in the backlog", &quiet, run);
    out
}

fn table(out: &mut String, title: &str, rows: &[&Told], run: &Run) {
    if rows.is_empty() {
        return;
    }
    let _ = write!(out, "\n### {title}\n\n| where | what | rule |\n| --- | --- | --- |\n");
    for told in rows {
        let reason = told.reason().map_or(String::new(), |reason| format!(" ({reason})"));
        let place = format!("{}:{}", run.path(&told.finding.place), told.spot().start.line);
        let _ = writeln!(out, "| {} | {} | {} |", cell(&place), cell(&format!("{}{reason}", told.text())), told.finding.rule);
    }
}

/// A table's cell: what Markdown or HTML would take for markup stands as it was written.
fn cell(text: &str) -> String {
    let mut cell = String::with_capacity(text.len());
    for c in super::flat(text).chars() {
        match c {
            '&' => cell.push_str("&amp;"),
            '<' => cell.push_str("&lt;"),
            '>' => cell.push_str("&gt;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '|' | '~' | '#' | '!' => {
                cell.push('\\');
                cell.push(c);
            }
            c => cell.push(c),
        }
    }
    cell
}
