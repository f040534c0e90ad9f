//! The page of findings: by grade and rule, each rule with its explanation, then what is answered and what is accepted.

use std::collections::{BTreeMap, BTreeSet};

use maud::{Markup, html};

use super::Report;
use super::layout::{self, FINDINGS, Here, anchor};
use super::words::{self, Section};
use crate::finding::{Finding, Grade};
use crate::judge::Answered;
use crate::rules;

const HERE: Here = Here::Top(FINDINGS);

/// The page.
pub fn page(report: &Report<'_>) -> String {
    let verdict = &report.verdict;
    let mut by_grade: BTreeMap<Grade, BTreeMap<&'static str, Vec<&Finding>>> = BTreeMap::new();
    for finding in &verdict.findings {
        by_grade.entry(finding.grade).or_default().entry(finding.rule).or_default().push(finding);
    }
    // A rule that fired at two grades is explained at the worse, where links to it lead.
    let mut explained: BTreeSet<&'static str> = BTreeSet::new();
    let body = html! {
        (layout::search("Filter the findings: a site, a circuit, a rule, a word"))
        @if verdict.findings.is_empty() { p { "Nothing found." } }
        @for (grade, rules) in &by_grade {
            @let id = words::grade(*grade).0;
            section id=(id) aria-labelledby=(format!("{id}-title")) data-group="" {
                h2 id=(format!("{id}-title")) {
                    (words::grade_heading(*grade)) " "
                    span.count { "(" (rules.values().map(Vec::len).sum::<usize>()) ")" }
                }
                p.means { (layout::mark(*grade)) ": " (words::grade_means(*grade)) }
                @for (rule, findings) in rules {
                    (of_rule(rule, findings, explained.insert(rule)))
                }
            }
        }
        (quiet(Section::Answered, &verdict.answered))
        (quiet(Section::Accepted, &verdict.accepted))
    };
    layout::document(report, HERE, "Findings", &body)
}

fn of_rule(id: &str, findings: &[&Finding], is_first: bool) -> Markup {
    html! {
        div.rule-of data-group="" {
            @if is_first { h3 id=(anchor("rule", id)) { (id) " " span.count { "(" (findings.len()) ")" } } }
            @else { h3 { (id) " " span.count { "(" (findings.len()) ")" } } }
            @if let Some(rule) = rules::by_id(id).filter(|_| is_first) {
                p.rule-title { (rule.title) "." }
                dl.facts.explained {
                    div { dt { "Looks at" } dd { (rule.looks_at) } }
                    div { dt { "Why" } dd { (rule.why) } }
                    div { dt { "What to do" } dd { (rule.cure) } }
                    div { dt { "Authority" } dd { (rule.sources.join("; ")) } }
                }
            }
            ol.entries { @for finding in findings { (layout::finding(HERE, finding, false, None)) } }
        }
    }
}

/// What is quiet, with the reason.
fn quiet(of: Section, answered: &[Answered]) -> Markup {
    html! {
        @if !answered.is_empty() {
            (layout::section(of, Some(answered.len()), &html! {
                ol.entries {
                    @for quiet in answered {
                        @let reason = html! {
                            span.rule { (quiet.finding.rule) } " is quiet: " (quiet.why) @if let Some(until) = quiet.until { " (until " (until) ")" }
                        };
                        (layout::finding(HERE, &quiet.finding, false, Some(&reason)))
                    }
                }
            }))
        }
    }
}
