//! A paper before it has a look: sheets of sections of facts and tables, with its gaps showing.

use super::words::{Language, Phrase};

/// What stands in one place of a paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// What the record says.
    Said(String),
    /// What an earlier visit said, with that visit's id.
    Known(String, String),
    /// The record says nothing, and the paper needs it.
    Missing,
    /// The record says something that cannot be read.
    Unreadable,
    /// A person writes it: a signature's date, a name kept private.
    ByHand,
    /// There is nothing to say.
    Nothing,
}

impl Value {
    /// What the record says, or a gap; blank text says nothing.
    pub fn or_missing(text: Option<impl ToString>) -> Value {
        Value::said(text).unwrap_or(Value::Missing)
    }

    /// What the record says, or nothing.
    pub fn or_nothing(text: Option<impl ToString>) -> Value {
        Value::said(text).unwrap_or(Value::Nothing)
    }

    fn said(text: Option<impl ToString>) -> Option<Value> {
        let text = text?.to_string();
        (!text.trim().is_empty()).then(|| Value::Said(text.trim().to_owned()))
    }

    /// Whether it is a gap.
    pub fn is_gap(&self) -> bool {
        matches!(self, Value::Missing | Value::Unreadable)
    }
}

/// One fact with its name.
#[derive(Debug, Clone)]
pub struct Fact {
    /// Its name; its key is what the paper is searched by.
    pub item: Phrase,
    /// What is said.
    pub value: Value,
    /// A remark beneath.
    pub note: Option<String>,
}

impl Fact {
    /// A fact without a remark.
    pub fn new(item: Phrase, value: Value) -> Fact {
        Fact { item, value, note: None }
    }

    /// The same with a remark.
    pub fn note(self, note: Option<String>) -> Fact {
        Fact { note, ..self }
    }
}

/// A table whose first column names its rows.
#[derive(Debug, Clone)]
pub struct Table {
    /// Its caption.
    pub item: Phrase,
    /// The head of each column.
    pub columns: Vec<Phrase>,
    /// The rows, each as long as the columns.
    pub rows: Vec<Vec<Value>>,
    /// Remarks beneath.
    pub notes: Vec<String>,
}

impl Table {
    /// A table of rows of named cells: columns in which no row says anything are left out.
    pub fn of(item: Phrase, rows: Vec<Vec<(Phrase, Value)>>) -> Table {
        let all: Vec<Phrase> = rows.first().map(|row| row.iter().map(|(phrase, _)| *phrase).collect()).unwrap_or_default();
        let has = |index: usize| index == 0 || rows.iter().any(|row| row.get(index).is_some_and(|(_, value)| *value != Value::Nothing));
        let kept: Vec<usize> = (0..all.len()).filter(|index| has(*index)).collect();
        let columns = kept.iter().filter_map(|index| all.get(*index).copied()).collect();
        let cells = |row: &Vec<(Phrase, Value)>| kept.iter().filter_map(|index| row.get(*index)).map(|(_, value)| value.clone()).collect();
        Table { item, columns, rows: rows.iter().map(cells).collect(), notes: Vec::new() }
    }

    /// The same with remarks beneath.
    pub fn notes(self, notes: Vec<String>) -> Table {
        Table { notes, ..self }
    }
}

/// A place to sign.
#[derive(Debug, Clone)]
pub struct Signature {
    /// For what.
    pub item: Phrase,
    /// What is declared by signing.
    pub declares: Phrase,
    /// The name of the person, for beneath the line.
    pub name: Value,
}

/// A part of a section.
#[derive(Debug, Clone)]
pub enum Block {
    /// Facts, perhaps under a heading of their own.
    Facts(Option<String>, Vec<Fact>),
    /// A table.
    Table(Table),
    /// A paragraph.
    Prose(String),
    /// Lines of text under one name.
    Lines(Phrase, Vec<Value>),
    /// Markdown of a record's body.
    Markdown(String),
    /// Places to sign.
    Sign(Vec<Signature>),
}

/// A section under a heading.
#[derive(Debug, Clone)]
pub struct Section {
    /// Its heading.
    pub item: Phrase,
    /// What it holds.
    pub blocks: Vec<Block>,
    /// Whether it needs a page on its side.
    pub wide: bool,
    /// Whether it must strike the eye.
    pub alarm: bool,
}

impl Section {
    /// A section on an upright page.
    pub fn new(item: Phrase, blocks: Vec<Block>) -> Section {
        Section { item, blocks, wide: false, alarm: false }
    }

    /// A section on a page on its side.
    pub fn wide(item: Phrase, blocks: Vec<Block>) -> Section {
        Section { wide: true, ..Section::new(item, blocks) }
    }
}

/// A paper complete in itself; a file may hold several, such as one certificate a circuit.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// What it is for, where there are several.
    pub heading: Option<String>,
    /// Its sections.
    pub sections: Vec<Section>,
}

/// Something that the paper needs and the record does not say.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Gap {
    /// The section, circuit or thing it belongs to.
    pub place: String,
    /// What is not there.
    pub what: String,
}

/// Something in the record that forbids the paper to be final.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Obstacle {
    /// A finding's grade and rule; empty for what the paper itself sees.
    pub rule: String,
    /// What is wrong.
    pub message: String,
}

/// A file that the paper was made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Origin {
    /// Its path in the book.
    pub file: String,
    /// SHA-256 of its bytes.
    pub digest: String,
}

/// A whole paper.
#[derive(Debug, Clone)]
pub struct Paper {
    /// Its language.
    pub language: Language,
    /// What it is.
    pub title: Phrase,
    /// What it is about: number, place and day.
    pub subtitle: String,
    /// True until it may be issued.
    pub draft: bool,
    /// Whether it is to fit on one page.
    pub brief: bool,
    /// Its sheets.
    pub sheets: Vec<Sheet>,
    /// What forbids it to be final, beside its gaps.
    pub obstacles: Vec<Obstacle>,
    /// The files it was made from, the visit's record first.
    pub origins: Vec<Origin>,
}

impl Paper {
    /// Everything that is not recorded, in the order of the paper, each once.
    pub fn gaps(&self) -> Vec<Gap> {
        let mut gaps = Vec::new();
        for sheet in &self.sheets {
            for section in &sheet.sections {
                let place = match &sheet.heading {
                    Some(heading) => format!("{heading}, {}", self.language.say(section.item)),
                    None => self.language.say(section.item).to_owned(),
                };
                section.blocks.iter().for_each(|block| self.gaps_of(block, &place, &mut gaps));
            }
        }
        let mut seen = Vec::new();
        gaps.retain(|gap| {
            !seen.contains(gap) && {
                seen.push(gap.clone());
                true
            }
        });
        gaps
    }

    fn gaps_of(&self, block: &Block, place: &str, gaps: &mut Vec<Gap>) {
        let mut tell = |place: &str, item: Phrase, value: &Value| {
            if value.is_gap() {
                gaps.push(Gap { place: place.to_owned(), what: self.language.say(item).to_owned() });
            }
        };
        match block {
            Block::Facts(heading, facts) => {
                let place = heading.as_ref().map_or_else(|| place.to_owned(), |heading| format!("{place}, {heading}"));
                facts.iter().for_each(|fact| tell(&place, fact.item, &fact.value));
            }
            Block::Table(table) => {
                for row in &table.rows {
                    let name = match row.first() {
                        Some(Value::Said(name) | Value::Known(name, _)) => format!("{place}, {name}"),
                        _ => place.to_owned(),
                    };
                    table.columns.iter().zip(row).for_each(|(item, value)| tell(&name, *item, value));
                }
            }
            Block::Lines(item, lines) => lines.iter().for_each(|value| tell(place, *item, value)),
            Block::Sign(signatures) => signatures.iter().for_each(|signature| tell(place, signature.item, &signature.name)),
            Block::Prose(_) | Block::Markdown(_) => {}
        }
    }

    /// The digest of the visit's record.
    pub fn digest(&self) -> &str {
        self.origins.first().map_or("", |origin| &origin.digest)
    }
}
