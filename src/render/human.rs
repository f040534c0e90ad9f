//! Findings for people: the record's own lines, a label on the value and one on the reason, and what to do.

use std::fmt;
use std::fmt::Write;
use std::ops::Range;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, Severity, SourceCode, SourceSpan,
    SpanContents,
};

use super::place::{Spot, visible, visible_char};
use super::{fix_words, summary_line, unsaid_subject};
use crate::finding::{Finding, Grade, Place};
use crate::judge::{Answered, Verdict};

/// How the output is to look; decided by the command line, never here.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Columns to fit into.
    pub width: usize,
    /// Whether colours may be used.
    pub colour: bool,
}

/// All findings, worst first, then the summary.
pub fn human(verdict: &Verdict, look: Look, show_answered: bool) -> String {
    let printer = Printer::new(look);
    let mut out = String::new();
    for finding in &verdict.findings {
        printer.print(&mut out, finding, "");
    }
    if show_answered {
        for Answered { finding, why, until } in &verdict.answered {
            let until = until.map_or(String::new(), |until| format!(" until {until}"));
            printer.print(&mut out, finding, &format!("answered{until}: {why}"));
        }
    }
    for Answered { finding, why, until } in &verdict.accepted {
        let until = until.map_or(String::new(), |until| format!(" until {until}"));
        printer.print(&mut out, finding, &format!("accepted in the backlog{until}: {why}"));
    }
    let _ = writeln!(out, "{}", summary_line(&verdict.summary));
    if verdict.summary.accepted > 0 && verdict.accepted.is_empty() {
        out.push_str("`--accepted` shows what the backlog accepts.\n");
    }
    if verdict.summary.answered > 0 && !show_answered {
        out.push_str("`--answered` shows what has been answered.\n");
    }
    out
}

/// Prints findings one by one.
struct Printer {
    look: Look,
    theme: GraphicalTheme,
    handler: GraphicalReportHandler,
}

impl Printer {
    fn new(look: Look) -> Self {
        let theme = if look.colour { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
        let handler = GraphicalReportHandler::new_themed(theme.clone());
        Printer { look, theme, handler: handler.with_width(look.width).with_context_lines(1).with_links(false) }
    }

    /// The grade, the rule and the subject on a line of their own, what is wrong with the lines that show it, the reasons that stand
    /// elsewhere, and last what to do.
    fn print(&self, out: &mut String, finding: &Finding, note: &str) {
        let severity = severity(finding.grade);
        let style = match severity {
            Severity::Error => self.theme.styles.error,
            Severity::Warning => self.theme.styles.warning,
            Severity::Advice => self.theme.styles.advice,
        };
        let head = format!("{} {}", finding.grade, finding.rule);
        let _ = write!(out, "{}", style.style(head));
        if let Some(subject) = unsaid_subject(finding) {
            let _ = write!(out, " {}", visible(subject).replace('\n', " "));
        }
        out.push('\n');
        let mut help = finding.help.clone();
        if let Some(fix) = &finding.fix {
            let _ = write!(help, "\n{}", fix_words(fix));
        }
        if !finding.source.is_empty() {
            let _ = write!(help, "\nsource: {}", finding.source);
        }
        if !note.is_empty() {
            let _ = write!(help, "\n{note}");
        }
        let (near, far): (Vec<_>, Vec<_>) = finding.related.iter().partition(|related| {
            is_near(&finding.place, &related.place) && fits_beside(&finding.place, &related.place, &related.message, self.look.width)
        });
        let mut places = vec![(&finding.place, finding.label.as_str())];
        places.extend(near.iter().map(|related| (&related.place, related.message.as_str())));
        let mut parts = vec![Shown::of(&finding.message, severity, &places, self.look.width)];
        parts.extend(far.iter().map(|related| Shown::of(&related.message, Severity::Advice, &[(&related.place, "")], self.look.width)));
        if let Some(last) = parts.last_mut() {
            last.help = Some(visible(&help));
        }
        for part in &parts {
            let _ = self.handler.render_report(out, part);
        }
        out.push('\n');
    }
}

fn severity(grade: Grade) -> Severity {
    match grade {
        Grade::Danger | Grade::Breach => Severity::Error,
        Grade::Doubt => Severity::Warning,
        Grade::Tidy => Severity::Advice,
    }
}

/// A finding, or one of its reasons, as miette wants it.
#[derive(Debug)]
struct Shown {
    message: String,
    severity: Severity,
    help: Option<String>,
    excerpt: Option<Excerpt>,
    labels: Vec<LabeledSpan>,
}

impl Shown {
    /// A message over the places of one file; a file without text has nothing to show but its name.
    fn of(message: &str, severity: Severity, places: &[(&Place, &str)], width: usize) -> Shown {
        let file = &places[0].0.file;
        if file.text.is_empty() {
            let message = format!("{}: {message}", file.path);
            return Shown { message: visible(&message), severity, help: None, excerpt: None, labels: Vec::new() };
        }
        let (excerpt, labels) = Excerpt::around(places, width);
        Shown { message: visible(message), severity, help: None, excerpt: Some(excerpt), labels }
    }
}

/// Whether a second place and its label fit on the screen with the first; they are shown by themselves when they do not.
fn fits_beside(first: &Place, second: &Place, label: &str, width: usize) -> bool {
    let (first, second) = (Spot::of(first).start, Spot::of(second).start);
    let on_one_screen = first.line != second.line || first.column.abs_diff(second.column) < width / 3;
    on_one_screen && second.column.min(width / 2) + label.chars().count() + 12 <= width
}

/// Whether two places can be shown in one excerpt without half the file between them.
fn is_near(a: &Place, b: &Place) -> bool {
    std::sync::Arc::ptr_eq(&a.file, &b.file) && Spot::of(a).start.line.abs_diff(Spot::of(b).start.line) <= 6
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Shown {}

impl Diagnostic for Shown {
    fn severity(&self) -> Option<Severity> {
        Some(self.severity)
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.excerpt.as_ref().map(|excerpt| excerpt as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        self.excerpt.as_ref()?;
        Some(Box::new(self.labels.iter().cloned()))
    }
}

/// The few lines of a file that labels stand on, cut to the width of the screen, with their true numbers.
#[derive(Debug)]
struct Excerpt {
    name: String,
    text: String,
    first_line: usize,
    /// Characters cut from the start of each line, so that columns stay true.
    cut: Vec<usize>,
}

/// Stands for what was cut from a line.
const ELLIPSIS: char = '\u{2026}';

impl Excerpt {
    /// The lines around some places of one file.
    fn around(places: &[(&Place, &str)], width: usize) -> (Excerpt, Vec<LabeledSpan>) {
        let file = &places[0].0.file;
        let spots: Vec<Spot> = places.iter().map(|(place, _)| Spot::of(place)).collect();
        let first = spots.iter().map(|spot| spot.start.line).min().unwrap_or(1).saturating_sub(2);
        let last = spots.iter().map(|spot| spot.start.line).max().unwrap_or(1) + 1;
        let room = width.saturating_sub(12).max(24);
        let mut excerpt = Excerpt { name: visible(&file.path), text: String::new(), first_line: first, cut: Vec::new() };
        let mut labels: Vec<LabeledSpan> = Vec::new();
        let mut start = file.line_starts().get(first).copied().unwrap_or(file.text.len());
        for line in first + 1..=last {
            let Some(rest) = file.text.get(start..).filter(|rest| !rest.is_empty()) else { break };
            let bare = rest.split('\n').next().unwrap_or_default();
            let range = start..start + bare.len();
            let on_line = spots.iter().zip(places).filter(|(spot, _)| spot.start.line == line);
            let focus = on_line.clone().map(|(spot, _)| spot.span.start - range.start).min();
            let shown = cut_line(bare.trim_end_matches('\r'), focus, room);
            for (spot, (place, label)) in on_line {
                let inner = shown.to_shown(spot.span.start - range.start)..shown.to_shown(spot.span.end.min(range.end) - range.start);
                let at = excerpt.text.len() + inner.start;
                let label = if label.is_empty() { None } else { Some(visible(label)) };
                let length = inner.end.saturating_sub(inner.start);
                labels.push(if std::ptr::eq(*place, places[0].0) {
                    LabeledSpan::new_primary_with_span(label, (at, length))
                } else {
                    LabeledSpan::new_with_span(label, (at, length))
                });
            }
            excerpt.text.push_str(&shown.text);
            excerpt.text.push('\n');
            excerpt.cut.push(shown.cut_chars);
            start = range.end + 1;
        }
        if excerpt.text.is_empty() {
            excerpt.text.push('\n');
            excerpt.cut.push(0);
            labels = vec![LabeledSpan::new_primary_with_span(None, (0, 0))];
        }
        (excerpt, labels)
    }
}

/// A line as it is shown.
struct CutLine {
    text: String,
    /// The bytes of the original that are shown.
    kept: Range<usize>,
    /// Bytes in front of them in what is shown.
    lead: usize,
    cut_chars: usize,
    /// Where a character's length in bytes changed because it is shown as another.
    original: String,
}

impl CutLine {
    fn to_shown(&self, at: usize) -> usize {
        let at = at.clamp(self.kept.start, self.kept.end);
        let before = self.original.get(self.kept.start..at).unwrap_or_default();
        self.lead + before.chars().map(visible_char).map(char::len_utf8).sum::<usize>()
    }
}

/// Cuts a line to `room` characters around the byte `focus`, from the key that it stands under where there is room for it.
fn cut_line(line: &str, focus: Option<usize>, room: usize) -> CutLine {
    let chars: Vec<(usize, char)> = line.char_indices().collect();
    let focus = chars.partition_point(|(at, _)| *at < focus.unwrap_or(0));
    let start = if chars.len() <= room || focus < room * 2 / 3 {
        0
    } else {
        let before = &chars[focus.saturating_sub(room * 2 / 3)..focus];
        let entry = before.iter().rposition(|(_, c)| matches!(c, ',' | '{' | '[')).map(|at| focus - (before.len() - at) + 1);
        let entry = entry.map(|at| at + usize::from(chars.get(at).is_some_and(|(_, c)| *c == ' ')));
        entry.unwrap_or(focus - room / 3)
    };
    let end = (start + room).min(chars.len());
    let byte = |index: usize| chars.get(index).map_or(line.len(), |(at, _)| *at);
    let kept = byte(start)..byte(end);
    let mut text = String::new();
    if start > 0 {
        text.push(ELLIPSIS);
    }
    let lead = text.len();
    text.extend(line[kept.clone()].chars().map(visible_char));
    if end < chars.len() {
        text.push(ELLIPSIS);
    }
    CutLine { text, kept, lead, cut_chars: start.saturating_sub(usize::from(start > 0)), original: line.to_owned() }
}

impl SourceCode for Excerpt {
    fn read_span<'a>(&'a self, span: &SourceSpan, before: usize, after: usize) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let at = span.offset().min(self.text.len());
        let end = (span.offset() + span.len()).min(self.text.len());
        let line = self.text[..at].matches('\n').count();
        let last = line + self.text[at..end].matches('\n').count();
        let starts: Vec<usize> = std::iter::once(0).chain(self.text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        let lines = starts.len() - 1;
        let first = line.saturating_sub(before);
        let until = (last + after + 1).min(lines).max(first + 1);
        let (from, to) = if before == 0 && after == 0 { (at, end) } else { (starts[first.min(lines)], starts[until.min(lines)]) };
        let column = self.text[starts[line.min(lines)]..at].chars().count() + self.cut.get(line).copied().unwrap_or(0);
        let (line, column) = if before == 0 && after == 0 { (line, column) } else { (first, 0) };
        let data = &self.text.as_bytes()[from..to];
        let contents =
            MietteSpanContents::new_named(self.name.clone(), data, (from, to - from).into(), self.first_line + line, column, until - first);
        Ok(Box::new(contents))
    }
}
