//! What a record says: plain serde types in the trade's own words. Knows nothing of files, rules or limits.
//!
//! Every key is optional here. What must be there depends on the visit, and is a matter for rules; what is there must be readable,
//! and is a matter for the types.

mod circuit;
mod job;
mod register;
mod rolls;
mod scalar;
mod settings;
mod site;
mod words;

pub use circuit::*;
pub use job::*;
pub use register::*;
pub use rolls::*;
pub use scalar::*;
pub use settings::*;
pub use site::*;
pub use words::*;

use serde::{Deserialize, Deserializer};

/// Decodes a value whose key may stand there with nothing behind it: `circuits:` is an empty list, `supply:` an empty map.
fn or_default<'de, D: Deserializer<'de>, T: Deserialize<'de> + Default>(deserializer: D) -> Result<T, D::Error> {
    Ok(Option::deserialize(deserializer)?.unwrap_or_default())
}

/// Decodes a list that may have nothing behind its key, but whose items may not be nothing themselves.
fn list<'de, D: Deserializer<'de>, T: Deserialize<'de>>(deserializer: D) -> Result<Vec<T>, D::Error> {
    struct Item<T>(T);
    impl<'de, T: Deserialize<'de>> Deserialize<'de> for Item<T> {
        fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
            Option::deserialize(deserializer)?.map(Item).ok_or_else(|| serde::de::Error::custom(NOTHING_HERE))
        }
    }
    let items: Option<Vec<Item<T>>> = Option::deserialize(deserializer)?;
    Ok(items.unwrap_or_default().into_iter().map(|Item(item)| item).collect())
}

/// A record that says what it is.
pub trait Kind {
    /// The kind that stands in this record's folder; nothing where no kind is said.
    const EXPECTED: Option<RecordKind>;
    /// The kind that its `record:` says.
    fn kind_said(&self) -> Option<RecordKind>;
}

macro_rules! kinds {
    ($($record:ident),+) => {
        $(impl Kind for $record {
            const EXPECTED: Option<RecordKind> = Some(RecordKind::$record);
            fn kind_said(&self) -> Option<RecordKind> {
                self.record
            }
        })+
    };
}

kinds!(Site, Job, Instrument, Model, Recall);

impl Kind for Settings {
    const EXPECTED: Option<RecordKind> = None;
    fn kind_said(&self) -> Option<RecordKind> {
        None
    }
}

/// The mark that stands in a copy where something was left out on purpose, such as `[withheld: telephone number]`.
pub fn withheld(what: &str) -> String {
    format!("{WITHHELD}{what}]")
}

/// How the mark begins.
const WITHHELD: &str = "[withheld: ";

/// Whether a value is such a mark: it names nothing, and nothing is wrong with it.
pub fn is_withheld(value: &str) -> bool {
    value.starts_with(WITHHELD)
}

/// A doubt that its owner has looked at: kept, shown, and quiet.
#[derive(Debug, Clone, Default, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Answer {
    /// The rule answered, by its id.
    pub rule: Option<String>,
    /// The subject of the finding, such as a circuit's id; without it, the whole file.
    pub at: Option<String>,
    /// Why the finding does not need putting right.
    pub why: Option<String>,
    /// Who says so, by a person's id in `book.yaml`.
    pub by: Option<String>,
    /// The day it was said.
    pub on: Option<Date>,
    /// The last day on which the answer holds.
    pub until: Option<Date>,
}
