//! What would mend a fault, before anybody has looked whether it does.

use super::{Fix, Safety};
use crate::book::{Edit, Fault, FaultKind, SourceFile, Syntax, is_same_word, slip_of};
use crate::rules::meant::{self, Day, Number};
use Safety::{Safe, Unsafe};

/// The fix of a fault in its file, where there is one.
pub fn fix(file: &SourceFile, fault: &Fault) -> Option<Fix> {
    let (title, edits, safety) = match &fault.kind {
        FaultKind::FenceDamaged { .. } => ("write the fence as `---`".to_owned(), vec![fence(file, fault)], Safe),
        FaultKind::FenceMissing => {
            let first = fault.span.start;
            ("put `---` above the first key".to_owned(), vec![Edit::new(0..first, format!("---{}", line_end(&file.text)))], Safe)
        }
        // Where the front matter was meant to end is a guess.
        FaultKind::FenceInside { found } => (format!("take this `{found}` out"), vec![Edit::new(whole_line(file, fault), "")], Unsafe),
        FaultKind::LeadingZero { key, text } => {
            // In front of a reading, the nought may be all that is left of a decimal point.
            meant::unit_of(key).is_none().then(|| (format!("quote {text}"), vec![put(fault, format!("\"{text}\""))], Safe))?
        }
        FaultKind::NotTrueFalse { text } => {
            // `on` and `off` may be what something was set to.
            let lower = text.to_lowercase();
            let quoted = matches!(lower.as_str(), "true" | "false").then(|| (lower == "true", Safe));
            let worded = || meant::truth(text).map(|truth| (truth, if matches!(lower.as_str(), "yes" | "no") { Safe } else { Unsafe }));
            let (truth, safety) = quoted.or_else(worded)?;
            (format!("write {truth}"), vec![put(fault, truth.to_string())], safety)
        }
        FaultKind::NotADate { text } => match meant::day(text) {
            Day::Sure(date) => (format!("write {date}"), vec![put(fault, date.to_string())], Safe),
            Day::DayFirst(date) => (format!("write {date}"), vec![put(fault, date.to_string())], Unsafe),
            Day::NoSuchDay(_) | Day::Exchangeable | Day::Unclear => return None,
        },
        // The figure of a reading is never touched without being asked: a comma may be a slip for anything.
        FaultKind::NotANumber { text } => match meant::number(text) {
            Number::Plain(digits) => (format!("write {digits}"), vec![put(fault, digits)], Unsafe),
            Number::WithUnit(digits, unit) if is_own_unit(fault, &unit) => (format!("write {digits}"), vec![put(fault, digits)], Unsafe),
            _ => return None,
        },
        FaultKind::UnknownKey { key, known } => {
            let (word, safety) = spelling(key, known)?;
            (format!("write the key as {word}"), vec![put(fault, word)], safety)
        }
        FaultKind::UnknownWord { word, known } => {
            let (word, safety) = spelling(word, known)?;
            (format!("write {word}"), vec![put(fault, word)], safety)
        }
        FaultKind::NotYaml(Syntax::NoSpace { key, .. }) => {
            let line = file.text.get(fault.span.clone())?;
            let colon = fault.span.start + line.find(&format!("{key}:"))? + key.len() + 1;
            ("put a space behind the colon".to_owned(), vec![Edit::new(colon..colon, " ")], Safe)
        }
        kind => {
            let cure = fault.cure.as_ref()?;
            let title = match kind {
                FaultKind::Control { count: 1, .. } => "take the character out",
                FaultKind::Control { .. } => "take the characters out",
                FaultKind::TabIndent => "indent with spaces",
                FaultKind::TabAfterColon | FaultKind::NoBreakSpace => "put plain spaces",
                FaultKind::CurlyQuotes { .. } => "put straight quotes",
                FaultKind::ColonInText { .. } => "quote the text",
                FaultKind::OffScaleUnquoted { .. } => "quote the reading",
                FaultKind::NotYaml(Syntax::NoComma { .. }) => "put the comma",
                _ => return None,
            };
            (title.to_owned(), cure.edits.clone(), if cure.certain { Safe } else { Unsafe })
        }
    };
    Some(Fix { title, file: file.path.clone(), edits, safety })
}

/// The bytes that show the fault, replaced.
fn put(fault: &Fault, text: impl Into<String>) -> Edit {
    Edit::new(fault.span.clone(), text)
}

/// The opening fence is the first thing in the file; the closing one stays where it is.
fn fence(file: &SourceFile, fault: &Fault) -> Edit {
    let start = if fault.span.start < file.front.start { 0 } else { fault.span.start };
    Edit::new(start..fault.span.end, "---")
}

/// The line that a fault stands on, with its end.
fn whole_line(file: &SourceFile, fault: &Fault) -> std::ops::Range<usize> {
    let text = &file.text;
    let start = text[..fault.span.start].rfind('\n').map_or(0, |at| at + 1);
    start..text[fault.span.end..].find('\n').map_or(text.len(), |at| fault.span.end + at + 1)
}

/// The line end that a file uses.
fn line_end(text: &str) -> &'static str {
    let first = text.split_inclusive('\n').next().unwrap_or_default();
    if first.ends_with("\r\n") { "\r\n" } else { "\n" }
}

/// The word of a list that was meant: the same but for capitals and hyphens, or one slip away from it and no other.
fn spelling(wrong: &str, known: &[String]) -> Option<(String, Safety)> {
    let known = || known.iter().map(String::as_str);
    let mut same = known().filter(|word| is_same_word(word, wrong));
    match (same.next(), same.next()) {
        (Some(word), None) => Some((word.to_owned(), Safe)),
        (None, _) => slip_of(wrong, known()).map(|word| (word.to_owned(), Unsafe)),
        _ => None,
    }
}

fn is_own_unit(fault: &Fault, written: &str) -> bool {
    fault.path.last_key().and_then(meant::unit_of).is_some_and(|unit| meant::is_unit(unit, written))
}
