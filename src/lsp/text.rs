//! Positions as editors count them: lines from 0, columns from 0 in UTF-16 code units or in bytes.

use std::ops::Range;

use gen_lsp_types as lsp;

use crate::render::clamp;

/// The unit in which columns are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Encoding {
    /// UTF-16 code units: what every editor understands.
    #[default]
    Utf16,
    /// Bytes of UTF-8.
    Utf8,
}

impl Encoding {
    /// The best that both sides know.
    pub fn choose(offered: &[lsp::PositionEncodingKind]) -> Encoding {
        if offered.contains(&lsp::PositionEncodingKind::UTF8) { Encoding::Utf8 } else { Encoding::Utf16 }
    }

    /// Its name in the protocol.
    pub fn kind(self) -> lsp::PositionEncodingKind {
        match self {
            Encoding::Utf16 => lsp::PositionEncodingKind::UTF16,
            Encoding::Utf8 => lsp::PositionEncodingKind::UTF8,
        }
    }
}

/// A text with its lines. A line ends with LF, CR LF or CR.
#[derive(Debug, Clone)]
pub struct Lines<'a> {
    text: &'a str,
    starts: Vec<usize>,
    encoding: Encoding,
}

impl<'a> Lines<'a> {
    /// Finds the lines of a text.
    pub fn of(text: &'a str, encoding: Encoding) -> Lines<'a> {
        let bytes = text.as_bytes();
        let ends = bytes.iter().enumerate().filter(|(at, byte)| match byte {
            b'\n' => true,
            b'\r' => bytes.get(at + 1) != Some(&b'\n'),
            _ => false,
        });
        let starts = std::iter::once(0).chain(ends.map(|(at, _)| at + 1)).collect();
        Lines { text, starts, encoding }
    }

    /// The position of a byte; of the character that holds it, when it is within one.
    pub fn position(&self, at: usize) -> lsp::Position {
        let at = self.text.floor_char_boundary(at.min(self.text.len()));
        let line = self.starts.partition_point(|start| *start <= at).saturating_sub(1);
        let before = &self.text[self.starts[line]..at];
        let character = match self.encoding {
            Encoding::Utf16 => before.encode_utf16().count(),
            Encoding::Utf8 => before.len(),
        };
        lsp::Position { line: line as u32, character: character as u32 }
    }

    /// The range of some bytes.
    pub fn range(&self, span: Range<usize>) -> lsp::Range {
        let span = clamp(self.text, span);
        lsp::Range { start: self.position(span.start), end: self.position(span.end) }
    }

    /// The byte at a position; a column beyond the end of its line means the end, a line beyond the end of the text likewise.
    pub fn offset(&self, position: lsp::Position) -> usize {
        let Some(start) = self.starts.get(position.line as usize).copied() else { return self.text.len() };
        let end = self.starts.get(position.line as usize + 1).copied().unwrap_or(self.text.len());
        let line = self.text[start..end].trim_end_matches(['\n', '\r']);
        let wanted = position.character as usize;
        let mut column = 0;
        for (at, letter) in line.char_indices() {
            let width = match self.encoding {
                Encoding::Utf16 => letter.len_utf16(),
                Encoding::Utf8 => letter.len_utf8(),
            };
            if column + width > wanted {
                return start + at;
            }
            column += width;
        }
        start + line.len()
    }

    /// The bytes of a range.
    pub fn span(&self, range: lsp::Range) -> Range<usize> {
        let start = self.offset(range.start);
        start..self.offset(range.end).max(start)
    }
}
