//! What can be wrong with the form of a file. Faults are facts about text; `rules::form` turns them into findings with words and cures.

use std::borrow::Cow;
use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::mend::Edit;
use super::path::FieldPath;
use super::syntax::Syntax;

/// One fault of form and where it is.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Fault {
    /// What is wrong.
    pub kind: FaultKind,
    /// The bytes of the whole file that show it.
    pub span: Range<usize>,
    /// The value it concerns, when one can be named.
    pub path: FieldPath,
    /// What cures it in the reading copy, where something does that could stand in the file as well.
    pub cure: Option<Cure>,
}

/// What a reading copy says in place of a fault.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cure {
    /// The replacements, in order and apart.
    pub edits: Vec<Edit>,
    /// Whether the text can be read in no other way; false where the reading copy had to choose.
    pub certain: bool,
}

impl Fault {
    /// A fault at some bytes of a file.
    pub fn at(kind: FaultKind, span: Range<usize>) -> Self {
        Fault { kind, span, path: FieldPath::root(), cure: None }
    }

    /// With what cures it.
    pub fn cured_by(mut self, edits: Vec<Edit>, certain: bool) -> Self {
        self.cure = Some(Cure { edits, certain });
        self
    }

    /// Moved from the coordinates of a front matter to those of its file.
    pub fn moved_by(mut self, start: usize) -> Self {
        let moved = |range: &Range<usize>| range.start + start..range.end + start;
        self.span = moved(&self.span);
        if let FaultKind::DuplicateKey { first, .. } = &mut self.kind {
            *first = moved(first);
        }
        for edit in self.cure.iter_mut().flat_map(|cure| &mut cure.edits) {
            edit.range = moved(&edit.range);
        }
        self
    }
}

/// What is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
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
    /// A whole file in UTF-16.
    Utf16,
    /// Control characters, or line breaks that are none: the first of them, and how many.
    Control { code: u32, count: usize },
    /// A Markdown file where a record belongs, without front matter.
    NoFrontMatter,
    /// A fence that is not `---` on a line of its own.
    FenceDamaged { found: String },
    /// Keys, and a fence below them, without a fence above.
    FenceMissing,
    /// A line that ends a YAML document, with keys on both sides.
    FenceInside { found: String },
    /// The keys of a second record below the first.
    SecondRecord,
    /// A front matter that nothing closes.
    Unclosed,
    /// A front matter with nothing in it.
    FrontEmpty,
    /// Aliases that stand for far more text than a record has any use for.
    AliasBomb { bytes: u64 },
    /// Two files of one folder whose names differ only in capitals.
    SameName { other: String },
    /// Marks that git left when two versions would not merge.
    ConflictMarks,
    /// Brackets or lists within one another beyond all use.
    TooDeep,
    /// A tab as indent.
    TabIndent,
    /// A tab between a key's colon and its value.
    TabAfterColon,
    /// A no-break space as indent or after a colon.
    NoBreakSpace,
    /// A value in curly quotes.
    CurlyQuotes { text: String },
    /// Text with a colon in it, not quoted.
    ColonInText { text: String },
    /// `>999` without quotes.
    OffScaleUnquoted { text: String },
    /// Digits that begin with a nought, not quoted.
    LeadingZero { key: String, text: String },
    /// A key given twice in one map, and how many others of that map are too.
    DuplicateKey { key: String, first: Range<usize>, others: usize },
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
    WrongShape { found: String, wanted: Cow<'static, str> },
    /// An alias whose anchor holds something that does not belong here.
    AliasUnfit { name: String },
    /// Not YAML, for a reason none of the above names.
    NotYaml(Syntax),
    /// More faults than are told of at once.
    ManyMore,
    /// A `record:` that is missing, or another than its folder holds.
    WrongRecord { found: Option<Cow<'static, str>>, expected: Cow<'static, str> },
    /// A file in a folder where no such file belongs.
    Misplaced { why: Cow<'static, str> },
}
