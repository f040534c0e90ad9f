//! `ampledger explain`.

use std::fmt::Write;

use super::{Exit, Failure, Screen};
use crate::rules::{self, Example, Family, Rule};

/// Explain a rule, or list all rules.
///
/// What it looks at, why it matters, on what authority, a bad and a good example, and how to put it right.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The rule; without it, all rules are listed by family and grade.
    rule: Option<String>,
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let text = match args.rule.as_deref() {
        None => list(),
        Some(id) => {
            let rule = rules::by_id(id).ok_or_else(|| {
                let near = rules::nearest(id, rules::all().map(|rule| rule.id));
                let near = near.map_or(String::new(), |near| format!("Did you mean {near}? "));
                Failure::new(format!("there is no rule {id}"), format!("{near}`ampledger explain` lists all rules."))
            })?;
            page(rule, screen.look().width)
        }
    };
    screen.print(&text);
    Ok(Exit::Clean)
}

/// All rules, by family and then by grade.
fn list() -> String {
    let mut out = String::new();
    for family in Family::ALL {
        let mut rules: Vec<&Rule> = rules::all().filter(|rule| rule.family == family).collect();
        if rules.is_empty() {
            continue;
        }
        rules.sort_by_key(|rule| (rule.grade, rule.id));
        let _ = writeln!(out, "{}\n", family.title());
        for rule in rules {
            let _ = writeln!(out, "  {:<7} {}\n          {}", rule.grade, rule.id, rule.title);
        }
        out.push('\n');
    }
    out
}

/// One rule's page.
fn page(rule: &Rule, width: usize) -> String {
    let mut out = format!("{} ({})\n\n", rule.id, rule.grade);
    let mut part = |head: &str, text: &str| {
        let _ = writeln!(out, "{head}\n{}\n", wrapped(text, width.min(100)));
    };
    part("What it says", rule.title);
    part("What it looks at", rule.looks_at);
    part("Why it matters", rule.why);
    part("How to put it right", rule.cure);
    let _ = writeln!(out, "Sources");
    for source in rule.sources {
        let _ = writeln!(out, "  {source}");
    }
    let _ = writeln!(out, "\nBad, in an otherwise sound record\n{}", shown(&rule.bad));
    let _ = writeln!(out, "\nGood\n{}", shown(&rule.good));
    out
}

/// An example as it stands in the rule, indented.
fn shown(example: &Example) -> String {
    let text = match example {
        Example::Keys("{}") => "(the same record without it)".to_owned(),
        Example::Keys(keys) => (*keys).to_owned(),
        Example::Text { put, .. } => (*put).to_owned(),
        Example::File { path, bytes } => format!("{path}:\n{}", String::from_utf8_lossy(bytes)),
    };
    text.trim_end().lines().map(|line| format!("  {}", crate::render::visible(line))).collect::<Vec<_>>().join("\n")
}

/// Breaks a text into lines of at most `width` columns, indented by two.
fn wrapped(text: &str, width: usize) -> String {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && line.chars().count() + word.chars().count() + 3 > width {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines.push(line);
    lines.iter().map(|line| format!("  {line}")).collect::<Vec<_>>().join("\n")
}
