//! What the schemas say of a place in a record: which keys may stand there, which words, and what they mean.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde_json::{Map, Value};

use crate::book::{FieldPath, SETTINGS_FILE, Step};
use crate::schema;

/// The kind of record that a file of a book holds, as the schemas name it.
pub fn kind_of(path: &str) -> Option<&'static str> {
    match path.split('/').collect::<Vec<_>>().as_slice() {
        [SETTINGS_FILE] => Some("book"),
        ["seals.yaml"] => Some("seals"),
        ["backlog.yaml"] => Some("backlog"),
        ["sites", _, "site.md"] => Some("site"),
        ["sites", _, name] if name.ends_with(".md") => Some("job"),
        ["instruments", name] if name.ends_with(".md") => Some("instrument"),
        ["models", name] if name.ends_with(".md") => Some("model"),
        ["recalls", name] if name.ends_with(".md") => Some("recall"),
        _ => None,
    }
}

/// What may stand at a place.
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    root: &'static Value,
    /// The schema as the place itself has it: a description there goes before that of the type.
    own: &'static Value,
}

/// The shape of a whole record.
fn record(kind: &'static str) -> Option<Shape> {
    static SCHEMAS: OnceLock<BTreeMap<&'static str, Value>> = OnceLock::new();
    let schemas = SCHEMAS.get_or_init(|| {
        let parsed = |kind: &&'static str| Some((*kind, serde_json::from_str(&schema::of(kind)?).ok()?));
        schema::KINDS.iter().filter_map(parsed).collect()
    });
    let root = schemas.get(kind)?;
    Some(Shape { root, own: root })
}

/// The shape at a place in a record of a kind.
pub fn at(kind: &'static str, path: &FieldPath) -> Option<Shape> {
    path.steps().iter().try_fold(record(kind)?, |shape, step| match step {
        Step::Key(key) => shape.key(key),
        Step::Index(_) => shape.item(),
    })
}

impl Shape {
    fn resolved(self) -> &'static Value {
        let target = self.own.get("$ref").and_then(Value::as_str).and_then(|target| target.strip_prefix('#'));
        target.and_then(|target| self.root.pointer(target)).unwrap_or(self.own)
    }

    fn properties(self) -> Option<&'static Map<String, Value>> {
        self.resolved().get("properties").and_then(Value::as_object)
    }

    /// The keys that may stand here, in the order of the record format.
    pub fn keys(self) -> impl Iterator<Item = (&'static str, Shape)> {
        let of = move |own| Shape { root: self.root, own };
        self.properties().into_iter().flatten().map(move |(name, own)| (name.as_str(), of(own)))
    }

    fn key(self, name: &str) -> Option<Shape> {
        let own = self.properties()?.get(name)?;
        Some(Shape { root: self.root, own })
    }

    fn item(self) -> Option<Shape> {
        Some(Shape { root: self.root, own: self.resolved().get("items")? })
    }

    /// What stands here means, and in which unit.
    pub fn description(self) -> Option<&'static str> {
        self.own.get("description").or_else(|| self.resolved().get("description"))?.as_str()
    }

    /// The words of which one may stand here.
    pub fn words(self) -> impl Iterator<Item = &'static str> {
        self.resolved().get("enum").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str)
    }

    /// Whether a value of that type may stand here.
    pub fn allows(self, name: &str) -> bool {
        let is_it = |kind: &Value| kind.as_str() == Some(name);
        self.resolved().get("type").is_some_and(|kind| is_it(kind) || kind.as_array().is_some_and(|kinds| kinds.iter().any(is_it)))
    }

    /// Whether keys stand here.
    pub fn is_map(self) -> bool {
        self.properties().is_some()
    }
}

/// What a word of a vocabulary means, from the list in the description.
pub fn meaning<'a>(description: &'a str, word: &str) -> Option<&'a str> {
    description.lines().find_map(|line| line.strip_prefix("- `")?.strip_prefix(word)?.strip_prefix("`: "))
}
