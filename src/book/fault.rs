//! What can be wrong with the form of a file. Faults are facts about text; `rules::form` turns them into findings with words and cures.

use std::ops::Range;

use super::path::FieldPath;

/// One fault of form and where it is.
#[derive(Debug, Clone)]
pub struct Fault {
    /// What is wrong.
    pub kind: FaultKind,
    /// The bytes of the whole file that show it.
    pub span: Range<usize>,
    /// The value it concerns, when one can be named.
    pub path: FieldPath,
}

impl Fault {
    /// A fault at some bytes of a file.
    pub fn at(kind: FaultKind, span: Range<usize>) -> Self {
        Fault { kind, span, path: FieldPath::root() }
    }
}

/// What is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
#[allow(missing_docs)] // each field is what its name says, as it stands in the text
pub enum FaultKind {
    /// The system would not let the file be read.
    Unreadable { why: String },
    /// A link that leads back to a folder above it.
    LinkLoop,
    /// A link that leads out of the book.
    LinkOut,
    /// More bytes than a record has any use for.
    TooLarge { bytes: u64 },
    /// A front matter of more bytes than a record has any use for.
    FrontTooLarge { bytes: usize },
    /// Nothing but white space.
    Empty,
    /// Bytes that are not UTF-8.
    NotUtf8 { byte: u8 },
    /// A control character, or a line break that is none.
    Control { code: u32 },
    /// A Markdown file where a record belongs, without front matter.
    NoFrontMatter,
    /// A fence that is not `---` on a line of its own.
    FenceDamaged { found: String },
    /// A front matter that nothing closes.
    Unclosed,
    /// A front matter with nothing in it.
    FrontEmpty,
    /// Marks that git left when two versions would not merge.
    ConflictMarks,
    /// Brackets or lists within one another beyond all use.
    TooDeep,
    /// A tab as indent.
    TabIndent,
    /// A no-break space as indent or after a colon.
    NoBreakSpace,
    /// A value in curly quotes.
    CurlyQuotes { text: String },
    /// Text with a colon in it, not quoted.
    ColonInText { text: String },
    /// `>999` without quotes.
    OffScaleUnquoted { text: String },
    /// Digits that begin with a nought, not quoted.
    LeadingZero { text: String },
    /// A key given twice in one map.
    DuplicateKey { key: String, first: Range<usize> },
    /// A key that no record of this kind has.
    UnknownKey { key: String, known: Vec<String> },
    /// A word outside its vocabulary.
    UnknownWord { word: String, known: Vec<String> },
    /// A number with a comma, a unit or words.
    NotANumber { text: String },
    /// A date not written YYYY-MM-DD.
    NotADate { text: String },
    /// yes, no, on, off where true or false belongs.
    NotTrueFalse { text: String },
    /// A list, map or single value where another belongs.
    WrongShape { message: String },
    /// Not YAML, for a reason none of the above names.
    NotYaml { message: String },
    /// A `record:` that is none, or another than its folder holds.
    WrongRecord { found: Option<String>, expected: &'static str },
    /// A file in a folder where no such file belongs.
    Misplaced { why: &'static str },
}
