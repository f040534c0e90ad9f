//! A working for people, as an engineer writes it down, and for machines. Both are printed from the same lines.

use std::fmt::Write;

use serde::Serialize;

use super::json::escaped;
use super::{counted, visible, wrapped};
use crate::design::{CAUTION, Comparison, Design, Line, Longest, Missing, Relation, Smallest, Step, Summary, Verdict};
use crate::tables::Edition;

/// Columns that the verdict takes in front of what is checked.
const VERDICT: usize = 12;

/// The workings, one circuit after another.
pub fn design(designs: &[Design], width: usize) -> String {
    let mut out = String::new();
    for one in designs {
        circuit(&mut out, one, width);
        out.push('\n');
    }
    let _ = writeln!(out, "{}", wrapped(CAUTION, 0, width));
    out
}

fn circuit(out: &mut String, design: &Design, width: usize) {
    let given = &design.given;
    let serves = given.serves.as_ref().map_or(String::new(), |serves| format!(", {}", one_line(serves)));
    put(out, &format!("{}{serves}", one_line(&given.name)), 0, width);
    if let Some(visit) = &given.visit {
        put(out, visit, 0, width);
    }
    put(out, &by_edition(given.edition), 0, width);
    let is_tried = given.stated.iter().any(|stated| stated.instead_of.is_some());
    out.push_str(if is_tried { "\nGiven (* in place of the record's)\n" } else { "\nGiven\n" });
    for stated in &given.stated {
        let record = stated.instead_of.as_ref().map(|was| format!("; the record says {was}"));
        let mark = if record.is_some() { "* " } else { "  " };
        let text = format!("{mark}{}: {} ({}{})", stated.key, stated.value, stated.from, record.unwrap_or_default());
        hang(out, &text, 2, width);
    }
    if !given.assumed.is_empty() {
        out.push_str("\nAssumed\n");
        for assumed in &given.assumed {
            hang(out, &format!("  {assumed}"), 2, width);
        }
    }
    out.push_str("\nChecks\n");
    for line in &design.lines {
        check(out, line, width);
    }
    out.push('\n');
    smallest(out, design, width);
    longest(out, &design.longest, width);
    out.push('\n');
    put(out, &in_sum(design.summary()), 0, width);
}

fn by_edition(edition: Edition) -> String {
    let last = Edition::LAST_CONFIRMED;
    if edition > last { format!("by {edition}, with figures last confirmed in {last}") } else { format!("by {edition}") }
}

fn check(out: &mut String, line: &Line, width: usize) {
    let title = wrapped(&broken(&one_line(&line.title), VERDICT, width), VERDICT, width);
    let _ = writeln!(out, "{:<VERDICT$}{}", line.verdict.as_str(), title.trim_start());
    for step in &line.steps {
        hang(out, &format!("    {}", step_words(step)), 2, width);
    }
    if let Some(comparison) = &line.comparison {
        hang(out, &format!("    {}", comparison_words(comparison, &line.verdict)), 2, width);
    }
    if let Verdict::NotWorked(missing) = &line.verdict {
        hang(out, &format!("    {missing}"), 2, width);
    }
    for note in &line.notes {
        hang(out, &format!("    {note}"), 0, width);
    }
    if !line.sources.is_empty() {
        hang(out, &format!("    [{}]", sources(line)), 1, width);
    }
}

fn sources(line: &Line) -> String {
    let memory = |memory| if memory { ", from memory" } else { "" };
    line.sources.iter().map(|source| format!("{}{}", source.text, memory(source.memory))).collect::<Vec<_>>().join("; ")
}

/// `Iz = It x Cg = 49 A x 0.65 = 31.9 A`.
fn step_words(step: &Step) -> String {
    if step.numbers.is_empty() {
        format!("{}: {}", step.formula, step.result)
    } else {
        format!("{} = {} = {}", step.formula, step.numbers, step.result)
    }
}

fn comparison_words(comparison: &Comparison, verdict: &Verdict) -> String {
    let Comparison { symbols, value, relation, limit } = comparison;
    match (verdict, relation) {
        (Verdict::Fails, Relation::AtMost) => format!("{symbols}: no, {value} > {limit}"),
        (Verdict::Fails, Relation::AtLeast) => format!("{symbols}: no, {value} < {limit}"),
        _ => format!("{symbols}: {value} {} {limit}", relation.sign()),
    }
}

fn size_words(size: (f64, Option<f64>)) -> String {
    size.1.map_or_else(|| format!("{} mm2", size.0), |cpc| format!("{}/{cpc} mm2", size.0))
}

fn smallest(out: &mut String, design: &Design, width: usize) {
    let Smallest { size, below, not_worked, memory, none } = &design.smallest;
    let make_up = design.given.cable.make_up.map_or(String::new(), |make_up| format!(" {make_up}"));
    let memory = if *memory { ", on figures from memory among others" } else { "" };
    let words = match (size, none) {
        (Some(size), _) => {
            let how = if not_worked.is_empty() { "Smallest cable that passes" } else { "Smallest cable, as far as it could be worked" };
            format!("{how}: {}{make_up}{memory}", size_words(*size))
        }
        (None, Some(missing)) => format!("Smallest cable: not worked: {missing}"),
        (None, None) => return,
    };
    hang(out, &words, 2, width);
    match below {
        Some((mm2, fails)) => hang(out, &format!("  {mm2} mm2 fails: {}", fails.join("; ")), 2, width),
        None if size.is_some() => hang(out, "  no smaller size is held for that cable and method", 2, width),
        None => {}
    }
    if !not_worked.is_empty() {
        hang(out, &format!("  not worked at that size: {}", not_worked.join("; ")), 2, width);
    }
}

fn longest(out: &mut String, longest: &Longest, width: usize) {
    let Longest { metres, binding, line } = longest;
    let words = match metres {
        Some(metres) => {
            let how = if line.is_not_worked() { ", as far as it could be worked" } else { "" };
            format!("Longest run of the planned size{how}: {metres:.1} m, by {binding}")
        }
        None => "Longest run of the planned size: not worked".to_owned(),
    };
    hang(out, &words, 2, width);
    for step in &line.steps {
        hang(out, &format!("  {}", step_words(step)), 2, width);
    }
    if let Verdict::NotWorked(missing) = &line.verdict {
        hang(out, &format!("  wanting: {missing}"), 2, width);
    }
    for note in &line.notes {
        hang(out, &format!("  {note}"), 0, width);
    }
}

fn in_sum(summary: Summary) -> String {
    let Summary { pass, fails, not_worked, memory } = summary;
    let memory = match memory {
        0 => String::new(),
        1 => " One rests on a figure from memory.".to_owned(),
        many => format!(" {many} rest on a figure from memory."),
    };
    let pass = counted(pass, "check passes", "checks pass");
    let fails = counted(fails, "fails", "fail");
    format!("{pass}, {fails}, {not_worked} not worked, on the figures above.{memory}")
}

/// Text of a record on one line, with nothing in it that would steer a terminal.
fn one_line(text: &str) -> String {
    visible(text).replace('\n', " ")
}

/// Words that are wider than the room are cut into pieces that fit.
fn broken(text: &str, indent: usize, width: usize) -> String {
    let room = width.saturating_sub(indent).max(8);
    let mut out = String::with_capacity(text.len());
    let mut wide = 0;
    for c in text.chars() {
        wide = if c == ' ' { 0 } else { wide + 1 };
        if wide > room {
            out.push(' ');
            wide = 1;
        }
        out.push(c);
    }
    out
}

/// Stands for the space between a figure and its unit while lines are broken.
const BOND: char = '\u{1}';

/// A figure and its unit stay on one line.
fn bound(text: &str) -> String {
    const UNITS: [&str; 16] = ["A", "V", "m", "s", "C", "%", "kA", "mA", "ms", "mm", "mm2", "ohm", "A2s", "A^2", "mV/A/m", "mohm/m"];
    let mut out = String::with_capacity(text.len());
    let mut after_figure = false;
    for word in text.split(' ') {
        let is_unit = UNITS.contains(&word.trim_end_matches([',', '.', ';', ')']));
        if !out.is_empty() {
            out.push(if after_figure && is_unit { BOND } else { ' ' });
        }
        out.push_str(word);
        after_figure = word.ends_with(|c: char| c.is_ascii_digit());
    }
    out
}

fn put(out: &mut String, text: &str, indent: usize, width: usize) {
    let _ = writeln!(out, "{}", wrapped(&broken(&one_line(text), indent, width), indent, width));
}

/// A text that begins with its own indent; further lines go in by `further` more.
fn hang(out: &mut String, text: &str, further: usize, width: usize) {
    let text = one_line(text);
    let indent = text.len() - text.trim_start().len();
    let star = text.starts_with("* ");
    let indent = if star { 2 } else { indent };
    let body = if star { &text[2..] } else { text.trim_start() };
    let lines = wrapped(&broken(&bound(body), indent + further, width), indent + further, width).replace(BOND, " ");
    // The first line may stand further out than the rest.
    let first = lines.trim_start();
    let lead = if star { "* ".to_owned() } else { " ".repeat(indent) };
    let _ = writeln!(out, "{lead}{first}");
}

#[derive(Serialize)]
struct Report<'a> {
    format: u32,
    circuits: Vec<CircuitEntry<'a>>,
    caution: &'a str,
}

#[derive(Serialize)]
struct CircuitEntry<'a> {
    circuit: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    visit: Option<&'a str>,
    edition: String,
    figures_confirmed_in: String,
    given: Vec<GivenEntry<'a>>,
    assumed: &'a [String],
    checks: Vec<CheckEntry<'a>>,
    smallest_cable: SmallestEntry<'a>,
    longest_run: LongestEntry<'a>,
    summary: SummaryEntry,
}

#[derive(Serialize)]
struct GivenEntry<'a> {
    key: &'a str,
    value: &'a str,
    from: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    record_says: Option<&'a str>,
}

#[derive(Serialize)]
struct CheckEntry<'a> {
    check: &'a str,
    title: &'a str,
    verdict: &'a str,
    memory: bool,
    steps: Vec<StepEntry<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    comparison: Option<ComparisonEntry<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    missing: Option<MissingEntry<'a>>,
    sources: Vec<SourceEntry<'a>>,
    notes: &'a [String],
}

#[derive(Serialize)]
struct StepEntry<'a> {
    formula: &'a str,
    numbers: &'a str,
    result: QuantityEntry,
}

#[derive(Serialize)]
struct QuantityEntry {
    value: f64,
    unit: &'static str,
}

#[derive(Serialize)]
struct ComparisonEntry<'a> {
    symbols: &'a str,
    value: QuantityEntry,
    relation: &'static str,
    limit: QuantityEntry,
}

#[derive(Serialize)]
struct MissingEntry<'a> {
    what: &'a str,
    key: &'a str,
}

#[derive(Serialize)]
struct SourceEntry<'a> {
    text: &'a str,
    memory: bool,
}

#[derive(Serialize)]
struct SmallestEntry<'a> {
    line_mm2: Option<f64>,
    cpc_mm2: Option<f64>,
    below_mm2: Option<f64>,
    below_fails: &'a [String],
    not_worked: &'a [String],
    memory: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    missing: Option<MissingEntry<'a>>,
}

#[derive(Serialize)]
struct LongestEntry<'a> {
    metres: Option<f64>,
    binding: &'a str,
    steps: Vec<StepEntry<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    missing: Option<MissingEntry<'a>>,
    notes: &'a [String],
}

#[derive(Serialize)]
struct SummaryEntry {
    pass: usize,
    fails: usize,
    not_worked: usize,
    memory: usize,
}

/// One JSON object, version 1. Figures are rounded as the text shows them.
pub fn design_json(designs: &[Design]) -> String {
    let report = Report { format: 1, circuits: designs.iter().map(circuit_entry).collect(), caution: CAUTION };
    // Nothing in the report can fail to be written as JSON: strings, numbers and lists of them.
    let mut text = escaped(&serde_json::to_string_pretty(&report).unwrap_or_default());
    text.push('\n');
    text
}

fn circuit_entry(design: &Design) -> CircuitEntry<'_> {
    let given = &design.given;
    let Summary { pass, fails, not_worked, memory } = design.summary();
    let stated = given.stated.iter().map(|stated| GivenEntry {
        key: stated.key,
        value: &stated.value,
        from: &stated.from,
        record_says: stated.instead_of.as_deref(),
    });
    let Smallest { size, below, not_worked: unworked, memory: on_memory, none } = &design.smallest;
    CircuitEntry {
        circuit: &given.name,
        visit: given.visit.as_deref(),
        edition: given.edition.to_string(),
        figures_confirmed_in: given.edition.min(Edition::LAST_CONFIRMED).to_string(),
        given: stated.collect(),
        assumed: &given.assumed,
        checks: design.lines.iter().map(check_entry).collect(),
        smallest_cable: SmallestEntry {
            line_mm2: size.map(|size| size.0),
            cpc_mm2: size.and_then(|size| size.1),
            below_mm2: below.as_ref().map(|below| below.0),
            below_fails: below.as_ref().map_or(&[], |below| &below.1),
            not_worked: unworked,
            memory: *on_memory,
            missing: none.as_ref().map(missing_entry),
        },
        longest_run: LongestEntry {
            metres: design.longest.metres,
            binding: &design.longest.binding,
            steps: design.longest.line.steps.iter().map(step_entry).collect(),
            missing: missing_of(&design.longest.line),
            notes: &design.longest.line.notes,
        },
        summary: SummaryEntry { pass, fails, not_worked, memory },
    }
}

fn missing_entry(missing: &Missing) -> MissingEntry<'_> {
    MissingEntry { what: &missing.what, key: &missing.key }
}

fn missing_of(line: &Line) -> Option<MissingEntry<'_>> {
    if let Verdict::NotWorked(missing) = &line.verdict { Some(missing_entry(missing)) } else { None }
}

fn quantity(quantity: &crate::design::Quantity) -> QuantityEntry {
    QuantityEntry { value: quantity.shown_value(), unit: quantity.unit }
}

fn step_entry(step: &Step) -> StepEntry<'_> {
    StepEntry { formula: &step.formula, numbers: &step.numbers, result: quantity(&step.result) }
}

fn check_entry(line: &Line) -> CheckEntry<'_> {
    CheckEntry {
        check: line.check,
        title: &line.title,
        verdict: line.verdict.as_str(),
        memory: line.is_memory(),
        steps: line.steps.iter().map(step_entry).collect(),
        comparison: line.comparison.as_ref().map(|comparison| ComparisonEntry {
            symbols: &comparison.symbols,
            value: quantity(&comparison.value),
            relation: comparison.relation.sign(),
            limit: quantity(&comparison.limit),
        }),
        missing: missing_of(line),
        sources: line.sources.iter().map(|source| SourceEntry { text: &source.text, memory: source.memory }).collect(),
        notes: &line.notes,
    }
}
