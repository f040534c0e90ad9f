//! `ampledger explain`.

use std::fmt::Write;
use std::io::Write as _;
use std::path::PathBuf;

use maud::html;

use super::{Exit, Failure, Screen, cache_folder, complete};
use crate::cache;
use crate::html::document;
use crate::render::wrapped;
use crate::rules::{self, Example, Family, Rule};
use crate::write::Pending;

/// Explain a rule, or list all rules.
///
/// What it looks at, why it matters, on what authority, a bad and a good example, and how to put it right.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger explain                  all rules
  ampledger explain zs-over-limit    one rule, with a bad and a good example")]
pub struct Args {
    /// The rule; without it, all rules are listed by family and grade.
    #[arg(add = complete::rule())]
    rule: Option<String>,
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let text = match args.rule.as_deref() {
        None => list(screen.look().width),
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
fn list(width: usize) -> String {
    let mut out = String::new();
    for family in Family::ALL {
        let mut rules: Vec<&Rule> = rules::all().filter(|rule| rule.family == family).collect();
        if rules.is_empty() {
            continue;
        }
        rules.sort_by_key(|rule| (rule.grade, rule.id));
        let _ = writeln!(out, "{}\n", family.title());
        for rule in rules {
            let _ = writeln!(out, "  {:<7} {}\n{}", rule.grade, rule.id, wrapped(rule.title, 10, width));
        }
        out.push('\n');
    }
    out
}

/// The file of this user with all rules' pages, for links to lead to; made where this version has not made it yet. Nothing where it
/// cannot be made.
pub fn rules_page() -> Option<PathBuf> {
    let folder = cache_folder()?;
    let file = folder.join(concat!("rules-", env!("AMPLEDGER_BUILD"), ".html"));
    if !file.is_file() {
        cache::make_own_folder(&folder)?;
        let mut pending = Pending::begin(&file, true).ok()?;
        pending.write_all(rules_html().as_bytes()).ok()?;
        pending.finish().ok()?;
    }
    Some(file)
}

/// All rules' pages as one document, each under its id.
fn rules_html() -> String {
    let body = html! {
        body {
            main {
                h1 { "Rules of ampledger " (env!("CARGO_PKG_VERSION")) }
                @for rule in rules::all() {
                    section {
                        h2 id=(rule.id) { (rule.id) }
                        pre { (page(rule, 100)) }
                    }
                }
            }
        }
    };
    document(
        "en-GB",
        "Rules of ampledger",
        "pre { white-space: pre-wrap; } section:has(:target) { border-left: 4px solid; padding-left: 1rem; }",
        &body,
    )
}

/// One rule's page.
fn page(rule: &Rule, width: usize) -> String {
    let width = width.min(100);
    let mut out = format!("{} ({})\n\n", rule.id, rule.grade);
    let mut part = |head: &str, text: &str| {
        let _ = writeln!(out, "{head}\n{}\n", wrapped(text, 2, width));
    };
    part("What it says", rule.title);
    part("What it looks at", rule.looks_at);
    part("Why it matters", rule.why);
    part("How to put it right", rule.cure);
    let _ = writeln!(out, "Sources");
    for source in rule.sources {
        let _ = writeln!(out, "{}", wrapped(source, 2, width));
    }
    // A fault of the file system cannot be written down as a record.
    let bad = shown(&rule.bad, width);
    if let Some(bad) = bad {
        let _ = writeln!(out, "\nBad, in an otherwise sound record\n{bad}");
        let mended = match rule.bad {
            Example::Text { find, .. } => shown_text(find, width),
            _ => "  the same record without it".to_owned(),
        };
        let _ = writeln!(out, "\nGood\n{}", shown(&rule.good, width).unwrap_or(mended));
    }
    out
}

/// An example, indented; nothing when it changes nothing.
fn shown(example: &Example, width: usize) -> Option<String> {
    match example {
        Example::Keys("{}") => None,
        Example::Keys(keys) => Some(shown_keys(keys, width)),
        Example::Text { put, .. } => Some(shown_text(put, width)),
        Example::File { path, bytes } => {
            let text = String::from_utf8_lossy(bytes);
            let text = if text.trim().is_empty() { "  (nothing)".to_owned() } else { shown_text(&text, width.saturating_sub(2)) };
            Some(format!("  {path}:\n{}", text.lines().map(|line| format!("  {line}")).collect::<Vec<_>>().join("\n")))
        }
    }
}

/// Keys as the rule writes them, or one a line where they would not fit.
fn shown_keys(keys: &str, width: usize) -> String {
    let fits = keys.lines().all(|line| line.chars().count() + 2 <= width);
    let one_a_line = serde_yaml::from_str::<serde_yaml::Value>(keys).and_then(|value| serde_yaml::to_string(&value));
    match one_a_line {
        Ok(text) if !fits => shown_text(&text, width),
        _ => shown_text(keys, width),
    }
}

/// Lines indented by two; what is wider than the screen goes on, further in, on the next.
fn shown_text(text: &str, width: usize) -> String {
    let lines = text.trim_end().lines().map(|line| {
        let line = crate::render::visible(line);
        let indent = 2 + line.len() - line.trim_start().len();
        if line.chars().count() + 2 <= width {
            return format!("  {line}");
        }
        let narrower = wrapped(line.trim_start(), indent + 4, width);
        format!("{:indent$}{}", "", narrower.trim_start())
    });
    lines.collect::<Vec<_>>().join("\n")
}
