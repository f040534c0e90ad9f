//! One finding: what is wrong, where, how grave, on what authority, and what to do.

use std::ops::Range;
use std::sync::Arc;

use crate::book::{Fault, FieldPath, SourceFile};
use crate::fix::Fix;
pub use crate::record::Grade;

/// A place in a file: a path for machines, bytes for people.
#[derive(Debug, Clone)]
pub struct Place {
    /// The file.
    pub file: Arc<SourceFile>,
    /// The value in the front matter; the root for the body and the whole file.
    pub path: FieldPath,
    /// The bytes to show, once they are known.
    pub span: Option<Range<usize>>,
}

impl Place {
    /// A value of a file's front matter; its bytes are looked up later, and only if somebody is to see them.
    pub fn at(file: &Arc<SourceFile>, path: FieldPath) -> Self {
        Place { file: file.clone(), path, span: None }
    }

    /// Some bytes of a file.
    pub fn bytes(file: &Arc<SourceFile>, path: FieldPath, span: Range<usize>) -> Self {
        Place { file: file.clone(), path, span: Some(span) }
    }

    /// A value in a file that is no longer held in memory; it is read again if it must be shown.
    pub fn in_file_named(path: &str, field: FieldPath) -> Self {
        let file = SourceFile::unread(path.to_owned());
        Place { file: Arc::new(file), path: field, span: None }
    }
}

/// A second place that explains a finding.
#[derive(Debug, Clone)]
pub struct Related {
    /// Where.
    pub place: Place,
    /// What it has to do with it.
    pub message: String,
}

/// Something to be said about a record.
#[derive(Debug, Clone)]
pub struct Finding {
    /// The rule's id.
    pub rule: &'static str,
    /// How grave it is.
    pub grade: Grade,
    /// The value it is about.
    pub place: Place,
    /// What it is about, by its id in the record: a circuit, a fault, a unit; empty for a whole visit.
    pub subject: String,
    /// What is wrong, with the figures.
    pub message: String,
    /// A few words beside the value.
    pub label: String,
    /// What to do.
    pub help: String,
    /// The authority with its edition; empty where there is none but sense.
    pub source: String,
    /// Where the reason stands.
    pub related: Vec<Related>,
    /// The fault of form that it tells of.
    pub fault: Option<Box<Fault>>,
    /// What would mend it, once somebody has asked ([`crate::fix::offer`]).
    pub fix: Option<Fix>,
}

impl Finding {
    /// What to do about it.
    pub fn help(&mut self, help: impl Into<String>) -> &mut Self {
        self.help = help.into();
        self
    }

    /// The authority, with its edition.
    pub fn source(&mut self, source: impl Into<String>) -> &mut Self {
        self.source = source.into();
        self
    }

    /// A few words to stand beside the value.
    pub fn label(&mut self, label: impl Into<String>) -> &mut Self {
        self.label = label.into();
        self
    }

    /// Another grade than the rule's own, for this case.
    pub fn grade(&mut self, grade: Grade) -> &mut Self {
        self.grade = grade;
        self
    }

    /// Another subject than the one the check is about.
    pub fn subject(&mut self, subject: impl Into<String>) -> &mut Self {
        self.subject = subject.into();
        self
    }

    /// A second place that shows the reason.
    pub fn because(&mut self, place: Place, message: impl Into<String>) -> &mut Self {
        self.related.push(Related { place, message: message.into() });
        self
    }
}
