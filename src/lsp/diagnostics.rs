//! Findings as an editor shows them.

use std::collections::HashMap;
use std::sync::Arc;

use gen_lsp_types as lsp;
use serde_json::json;

use super::text::{Encoding, Lines};
use crate::book::SourceFile;
use crate::finding::{Finding, Grade, Place};

/// Turns findings into diagnostics; the lines of each file are counted once.
pub struct Teller<'a> {
    encoding: Encoding,
    /// The URI under which the editor knows a file of the book.
    uri_of: &'a dyn Fn(&str) -> lsp::Uri,
    lines: HashMap<*const SourceFile, Lines<'a>>,
}

impl<'a> Teller<'a> {
    /// For findings of one book.
    pub fn new(encoding: Encoding, uri_of: &'a dyn Fn(&str) -> lsp::Uri) -> Self {
        Teller { encoding, uri_of, lines: HashMap::new() }
    }

    /// The range of a place in its own file.
    fn range(&mut self, place: &'a Place) -> lsp::Range {
        let encoding = self.encoding;
        let lines = self.lines.entry(Arc::as_ptr(&place.file)).or_insert_with(|| Lines::of(&place.file.text, encoding));
        lines.range(place.span.clone().unwrap_or(0..0))
    }

    /// A finding as an editor shows it.
    pub fn diagnostic(&mut self, finding: &'a Finding) -> lsp::Diagnostic {
        let related = finding
            .related
            .iter()
            .map(|related| {
                let location = lsp::Location { uri: (self.uri_of)(&related.place.file.path), range: self.range(&related.place) };
                lsp::DiagnosticRelatedInformation { location, message: related.message.clone() }
            })
            .collect::<Vec<_>>();
        lsp::Diagnostic {
            range: self.range(&finding.place),
            severity: Some(severity(finding.grade)),
            code: Some(lsp::Code::String(finding.rule.to_owned())),
            source: Some("ampledger".to_owned()),
            message: message(finding).into(),
            related_information: (!related.is_empty()).then_some(related),
            data: Some(json!({
                "grade": finding.grade.as_str(),
                "subject": finding.subject,
                "pointer": finding.place.path.to_string(),
                "help": finding.help,
                "source": finding.source,
            })),
            ..lsp::Diagnostic::default()
        }
    }
}

fn severity(grade: Grade) -> lsp::DiagnosticSeverity {
    match grade {
        Grade::Danger | Grade::Breach => lsp::DiagnosticSeverity::Error,
        Grade::Doubt => lsp::DiagnosticSeverity::Warning,
        Grade::Tidy => lsp::DiagnosticSeverity::Information,
    }
}

/// What is wrong on the first line; what to do and on what authority on the next. Danger shares its colour with breach and is named.
fn message(finding: &Finding) -> String {
    let danger = if finding.grade == Grade::Danger { "danger: " } else { "" };
    let subject = if finding.subject.is_empty() { String::new() } else { format!("{}: ", finding.subject) };
    let help = if finding.help.is_empty() { String::new() } else { format!("\n{}", finding.help) };
    let source = if finding.source.is_empty() { String::new() } else { format!("\nsource: {}", finding.source) };
    format!("{danger}{subject}{}{help}{source}", finding.message)
}
