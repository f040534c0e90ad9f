//! A reading copy of a damaged front matter: cuts and replacements over the original, with the way back to its bytes.
//!
//! The file itself is never touched. The copy lets everything that is still readable be read, and every place in it be pointed at in
//! the text the owner wrote.

use std::ops::Range;

use serde::{Deserialize, Serialize};

/// One replacement of a range of the original.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Edit {
    /// The bytes replaced; none where something is put in.
    pub range: Range<usize>,
    /// What stands there then.
    pub text: String,
}

impl Edit {
    /// Of a range.
    pub fn new(range: Range<usize>, text: impl Into<String>) -> Self {
        Edit { range, text: text.into() }
    }
}

/// Replacements after which a text is no damaged record but something else; it also keeps the work in bounds.
const MAX_EDITS: usize = 2000;

/// The original with its replacements.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Mend {
    original: String,
    /// In order, none touching another's inside.
    edits: Vec<Edit>,
    overfull: bool,
}

impl Mend {
    /// A copy that says what the original says.
    pub fn new(original: &str) -> Self {
        Mend { original: original.to_owned(), edits: Vec::new(), overfull: false }
    }

    /// Replaces a range of the original; earlier replacements inside or across it are dropped in its favour.
    pub fn replace(&mut self, range: Range<usize>, text: impl Into<String>) {
        if self.edits.len() >= MAX_EDITS {
            self.overfull = true;
            return;
        }
        // The edits are in order and apart, so those that overlap the range stand side by side.
        let first = self.edits.partition_point(|edit| edit.range.end <= range.start);
        let after = self.edits.partition_point(|edit| edit.range.start < range.end).max(first);
        let (mut start, mut end) = (range.start, range.end);
        if let (Some(low), Some(high)) = (self.edits[first..after].first(), self.edits[first..after].last()) {
            start = start.min(low.range.start);
            end = end.max(high.range.end);
        }
        self.edits.splice(first..after, [Edit { range: start..end, text: text.into() }]);
    }

    /// Makes one replacement.
    pub fn make(&mut self, edit: &Edit) {
        self.replace(edit.range.clone(), edit.text.clone());
    }

    /// Whether there were more replacements than any record needs; the further ones were not made.
    pub fn is_overfull(&self) -> bool {
        self.overfull
    }

    /// Whether anything was replaced.
    pub fn is_changed(&self) -> bool {
        !self.edits.is_empty()
    }

    /// The text with every replacement made.
    pub fn text(&self) -> String {
        let mut text = String::with_capacity(self.original.len());
        let mut from = 0;
        for edit in &self.edits {
            text.push_str(self.original.get(from..edit.range.start).unwrap_or_default());
            text.push_str(&edit.text);
            from = edit.range.end;
        }
        text.push_str(self.original.get(from..).unwrap_or_default());
        text
    }

    /// The byte of the original that a byte of the mended text stands for; inside a replacement, its start.
    pub fn original_offset(&self, mended: usize) -> usize {
        let mut shift: isize = 0;
        for edit in &self.edits {
            let start = edit.range.start.wrapping_add_signed(shift);
            if mended < start {
                break;
            }
            if mended < start + edit.text.len() {
                return edit.range.start;
            }
            shift += edit.text.len() as isize - edit.range.len() as isize;
        }
        mended.wrapping_add_signed(-shift).min(self.original.len())
    }

    /// The range of the original that a range of the mended text stands for.
    pub fn original_range(&self, mended: &Range<usize>) -> Range<usize> {
        let start = self.original_offset(mended.start);
        let last = mended.end.saturating_sub(1).max(mended.start);
        let end = if mended.is_empty() { start } else { self.end_of(last) };
        start..end.max(start)
    }

    /// The end in the original of what the mended byte `last` belongs to.
    fn end_of(&self, last: usize) -> usize {
        let mut shift: isize = 0;
        for edit in &self.edits {
            let start = edit.range.start.wrapping_add_signed(shift);
            if last < start {
                break;
            }
            if last < start + edit.text.len() {
                return edit.range.end;
            }
            shift += edit.text.len() as isize - edit.range.len() as isize;
        }
        (last + 1).wrapping_add_signed(-shift).min(self.original.len())
    }
}
