//! The first page: what is dangerous and owed, the counts, every site, and what was found by rule.

use maud::{Markup, html};

use super::layout::{self, FINDINGS, Here, INDEX, anchor};
use super::words::{self, Section};
use super::{Report, SiteLine};
use crate::due::{self, Item};
use crate::finding::{Finding, Grade};
use crate::rules;

const HERE: Here = Here::Top(INDEX);

/// The page.
pub fn page(report: &Report<'_>, sites: &[SiteLine]) -> String {
    let until = report.on.plus_days(due::AHEAD_DAYS);
    let items = || report.owed.items.iter();
    let dangers: Vec<&Item> = items().filter(|item| item.danger).collect();
    let over: Vec<&Item> = items().filter(|item| !item.danger && item.is_over(report.on)).collect();
    let is_ahead = |item: &&Item| !item.danger && item.day.is_some_and(|day| day >= report.on && day <= until);
    let ahead: Vec<&Item> = items().filter(is_ahead).collect();
    let undated: Vec<&Item> = items().filter(|item| !item.danger && item.day.is_none()).collect();
    let later = items().count() - dangers.len() - over.len() - ahead.len() - undated.len();
    // A finding that a thing owed tells of already is not told twice.
    let told = |finding: &Finding| dangers.iter().any(|item| is_of(finding, item));
    let found: Vec<&Finding> = report.verdict.findings.iter().filter(|finding| finding.grade == Grade::Danger && !told(finding)).collect();
    let rules_of = |item: &Item| rules_of(report, item);
    let none = |_: &Item| Vec::new();
    let owed_parts = [("Overdue", &over), (&format!("By {until}"), &ahead), ("No day set", &undated)];
    let body = html! {
        (layout::contents(&[Section::Danger, Section::Owed, Section::Counts, Section::Sites, Section::Findings]))
        (layout::section(Section::Danger, Some(dangers.len() + found.len()), &html! {
            @if dangers.is_empty() && found.is_empty() { p { "No record that could be read names one." } }
            @if !dangers.is_empty() { (layout::owed(report, HERE, &dangers, &rules_of)) }
            @if !found.is_empty() { ol.entries { @for finding in &found { (layout::finding(HERE, finding, true, None)) } } }
            (layout::unread(&report.owed.unread, "what is owed there is not known"))
        }))
        (layout::section(Section::Owed, Some(over.len() + ahead.len() + undated.len()), &html! {
            @for (name, items) in owed_parts {
                @if !items.is_empty() {
                    h3 { (name) " " span.count { "(" (items.len()) ")" } }
                    (layout::owed(report, HERE, items, &none))
                }
            }
            @if later > 0 { p { (later) " more after " (until) ", each on the page of its site." } }
            @if report.owed.answered > 0 { p { (report.owed.answered) " answered in the records, and not listed." } }
        }))
        (layout::section(Section::Counts, None, &counts(report)))
        (layout::section(Section::Sites, Some(sites.len()), &html! {
            (layout::search("Filter the sites: a name, a circuit, a model, a serial"))
            (site_table(report, sites))
        }))
        (layout::section(Section::Findings, Some(report.verdict.findings.len()), &rule_table(report)))
    };
    layout::document(report, HERE, "The book at a glance", &body)
}

/// Whether a finding is of the thing that is owed.
fn is_of(finding: &Finding, item: &Item) -> bool {
    finding.place.file.path == item.file && !item.subject.is_empty() && finding.subject == item.subject
}

/// The rules whose dangers are of that item.
fn rules_of(report: &Report<'_>, item: &Item) -> Vec<&'static str> {
    let of = report.verdict.findings.iter().filter(|finding| finding.grade == Grade::Danger && is_of(finding, item));
    let mut rules: Vec<&'static str> = of.map(|finding| finding.rule).collect();
    rules.dedup();
    rules
}

fn counts(report: &Report<'_>) -> Markup {
    let summary = &report.verdict.summary;
    let grades =
        [(Grade::Danger, summary.danger), (Grade::Breach, summary.breach), (Grade::Doubt, summary.doubt), (Grade::Tidy, summary.tidy)];
    let body = html! {
        tbody {
            @for (grade, count) in grades {
                tr { th scope="row" { (layout::mark(grade)) } td.figure { (count) } td { (words::grade_means(grade)) } }
            }
            tr { th scope="row" { "answered" } td.figure { (summary.answered) } td { "found, and quiet for a reason given in the records" } }
            @if summary.accepted > 0 {
                tr { th scope="row" { "accepted" } td.figure { (summary.accepted) } td { "found, and accepted in the backlog" } }
            }
        }
    };
    html! {
        (layout::table("counts-of", "Findings by grade", &layout::heads(&["Grade", "Count", "What it means"]), &body))
        p { (summary.sites) " sites, " (summary.jobs) " visits, " (summary.files) " files read; "
            (report.fleet.lives.iter().filter(|life| life.is_in_place()).count()) " units in place, "
            (report.book.instruments.len()) " instruments and tools." }
    }
}

fn site_table(report: &Report<'_>, sites: &[SiteLine]) -> Markup {
    let head = layout::heads(&["Site", "Name", "Premises", "Visits", "Last visit", "Dangers", "Breaches", "Doubts", "Tidies", "Owed"]);
    let body = html! {
        tbody {
            @for site in sites {
                tr data-row=(site.words) {
                    th scope="row" { a href=(HERE.to_site(&site.id)) { (site.id) } }
                    td { (site.name) }
                    td { (site.premises) }
                    td.figure { (site.visits) }
                    td { @if let Some(day) = site.last { (layout::day(day)) } }
                    @for grade in [Grade::Danger, Grade::Breach, Grade::Doubt, Grade::Tidy] {
                        td.figure { (count(grade, report.count(&site.id, grade))) }
                    }
                    td.figure { (report.of_site(&site.id).owed.len()) }
                }
            }
        }
    };
    layout::table("sites-of", "Every site, with what was found and what is owed there", &head, &body)
}

/// A count of findings: a shape with it where there are any.
fn count(grade: Grade, count: usize) -> Markup {
    let (word, shape) = words::grade(grade);
    html! {
        @if count == 0 { "0" }
        @else { span class=(format!("mark {word}")) { span.shape aria-hidden="true" { (shape) } " " (count) } }
    }
}

fn rule_table(report: &Report<'_>) -> Markup {
    let mut rows: Vec<(Grade, &'static str, usize)> = Vec::new();
    for finding in &report.verdict.findings {
        match rows.iter_mut().find(|(grade, rule, _)| *grade == finding.grade && *rule == finding.rule) {
            Some((.., count)) => *count += 1,
            None => rows.push((finding.grade, finding.rule, 1)),
        }
    }
    // The findings come by file; of the rules, those that found most come first.
    rows.sort_by(|a, b| (a.0, std::cmp::Reverse(a.2), a.1).cmp(&(b.0, std::cmp::Reverse(b.2), b.1)));
    let body = html! {
        tbody {
            @for (grade, rule, count) in &rows {
                tr {
                    th scope="row" { a href=(HERE.to_part(FINDINGS, &anchor("rule", rule))) { (rule) } }
                    td { (layout::mark(*grade)) }
                    td.figure { (count) }
                    td { @if let Some(rule) = rules::by_id(rule) { (rule.title) } }
                }
            }
        }
    };
    html! {
        @if rows.is_empty() { p { "Nothing found." } }
        @else { (layout::table("rules-of", "Findings by grade and rule", &layout::heads(&["Rule", "Grade", "Count", "What it says"]), &body)) }
    }
}
