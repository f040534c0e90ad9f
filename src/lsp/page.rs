//! An open document of a book: what the capabilities look at.

use std::ops::Range;
use std::sync::Arc;

use gen_lsp_types as lsp;

use super::cursor::{self, Cursor};
use super::desk::Desk;
use super::diagnostics::Teller;
use super::keys;
use super::text::{Encoding, Lines};
use crate::book::{FieldPath, Places, SourceFile, Step};
use crate::check::locate_place;
use crate::finding::Place;
use crate::rules::view::{CircuitView, JobView, SiteView};

/// An open document and the book around it.
pub struct Page<'a> {
    /// The book.
    pub desk: &'a Desk,
    /// The document's path in the book.
    pub path: &'a str,
    /// Its text.
    pub text: &'a str,
    /// Its lines.
    pub lines: Lines<'a>,
    /// The kind of record it holds.
    pub kind: Option<&'static str>,
    /// Its text, split.
    pub source: Arc<SourceFile>,
    encoding: Encoding,
    uri_of: &'a dyn Fn(&str) -> lsp::Uri,
}

impl<'a> Page<'a> {
    /// Lays out a document.
    pub fn new(
        desk: &'a Desk,
        path: &'a str,
        text: &'a str,
        lines: Lines<'a>,
        encoding: Encoding,
        uri_of: &'a dyn Fn(&str) -> lsp::Uri,
    ) -> Page<'a> {
        let is_yaml = path.ends_with(".yaml");
        let source = match is_yaml {
            true => SourceFile::yaml(path.to_owned(), text.to_owned()),
            false => SourceFile::markdown(path.to_owned(), text.to_owned(), &mut Vec::new()),
        };
        Page { desk, path, text, lines, kind: keys::kind_of(path), source: Arc::new(source), encoding, uri_of }
    }

    /// What is being typed at a byte; nothing outside the front matter.
    pub fn cursor(&self, at: usize) -> Option<Cursor> {
        let front = self.source.front.clone();
        if at < front.start || at > front.end {
            return None;
        }
        let mut cursor = cursor::find(self.source.front_text(), at - front.start)?;
        cursor.token = cursor.token.start + front.start..cursor.token.end + front.start;
        Some(cursor)
    }

    /// The text of some bytes.
    pub fn slice(&self, span: &Range<usize>) -> &'a str {
        self.text.get(span.clone()).unwrap_or_default()
    }

    /// The URI under which the editor knows this document.
    pub fn uri(&self) -> lsp::Uri {
        (self.uri_of)(self.path)
    }

    /// The range of some bytes of this document.
    pub fn range(&self, span: Range<usize>) -> lsp::Range {
        self.lines.range(span)
    }

    /// A place of the book as a location.
    pub fn location(&self, mut place: Place) -> lsp::Location {
        if place.file.text.is_empty()
            && let Some(source) = self.desk.book.reread(&place.file.path)
        {
            place.file = source;
        }
        locate_place(&mut place, &mut Default::default());
        let range = Lines::of(&place.file.text, self.encoding).range(place.span.unwrap_or(0..0));
        lsp::Location { uri: (self.uri_of)(&place.file.path), range }
    }

    /// The beginning of a file of the book.
    pub fn top_of(&self, path: &str) -> lsp::Location {
        lsp::Location { uri: (self.uri_of)(path), range: lsp::Range::default() }
    }

    /// Looks at this document's site as the rules do.
    pub fn with_site<T>(&self, look: impl FnOnce(&SiteView<'_>) -> T) -> Option<T> {
        let records = self.desk.records_around(self.path)?;
        Some(look(&SiteView::new(&self.desk.book, &records, self.desk.today())))
    }

    /// Looks at this document's visit as the rules do.
    pub fn with_job<T>(&self, look: impl FnOnce(JobView<'_>) -> T) -> Option<T> {
        self.with_site(|site| {
            let job = site.jobs().find(|job| job.record.source.path == self.path)?;
            Some(look(job))
        })?
    }

    /// Looks at the circuit of this document's visit that a path leads into.
    pub fn with_circuit<T>(&self, path: &FieldPath, look: impl FnOnce(CircuitView<'_>) -> T) -> Option<T> {
        let [Step::Key(list), Step::Index(index), ..] = path.steps() else { return None };
        if list != "circuits" {
            return None;
        }
        self.with_job(|job| job.circuits().nth(*index).map(look))?
    }

    /// Turns findings of this page into what the editor shows.
    pub fn teller<'t>(&'t self) -> Teller<'t> {
        Teller::new(self.encoding, self.uri_of)
    }

    /// The line break that this document uses.
    pub fn line_break(&self) -> &'static str {
        if self.text.contains("\r\n") { "\r\n" } else { "\n" }
    }

    /// The places of the front matter's values, in the reading copy when it is damaged.
    pub fn places(&self) -> Option<(Arc<SourceFile>, Places)> {
        let source = self.desk.book.reread(self.path)?;
        let places = Places::of(&source);
        Some((source, places))
    }
}

/// Whether a path has these keys, with any places of lists between them.
pub fn is_at(path: &FieldPath, keys: &[&str]) -> bool {
    let own = path.steps().iter().filter_map(|step| match step {
        Step::Key(key) => Some(key.as_ref()),
        Step::Index(_) => None,
    });
    own.eq(keys.iter().copied())
}
