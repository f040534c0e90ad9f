//! A record as flat facts, and as JSON in the published form.
//!
//! Both say what is written and nothing else: nothing is inherited, rounded or guessed.

use serde_json::{Map, Number, Value};

use crate::book::{self, FieldPath, Node, NodeKind, Step, Written};
use crate::render::one_line;
use crate::schema;
use crate::sheets::{Sheet, SheetKind};

/// One fact of a record, ready for a line of its own.
#[derive(Debug, PartialEq, Eq)]
pub struct Fact {
    /// What it is about: `circuit:shed/1`, `unit:CP-204117`, `fault:f1`, `joint#2` (the second, which has no id),
    /// `instrument:mft-1`, or the whole of a site, visit or book.
    pub thing: String,
    /// The keys that lead to it from there: `readings.zs_ohm`, `excluded[0]`; `text` for a line of the body, `unreadable` for a line
    /// of a front matter that no value can be made of.
    pub key: String,
    /// The value as written, on one line.
    pub value: String,
    /// The byte of the file at which it stands.
    pub at: usize,
}

/// The keys of a thing that name it, in the order in which they are looked for.
const NAMES: [&str; 4] = ["id", "serial", "number", "rule"];

/// The facts of a record, in the order in which they are written.
pub fn facts(sheet: &Sheet) -> Vec<Fact> {
    let is_register = matches!(sheet.kind, SheetKind::Instrument | SheetKind::Model | SheetKind::Recall);
    let kind = sheet.kind.as_str();
    let whole = if is_register { format!("{kind}:{}", one_line(&sheet.id)) } else { kind.to_owned() };
    let plain = |key: &str, range: std::ops::Range<usize>, line: &str| Fact {
        thing: whole.clone(),
        key: key.to_owned(),
        value: one_line(line.trim()),
        at: range.start,
    };
    let mut facts = Vec::new();
    match Written::of(&sheet.source) {
        Some(written) => {
            for leaf in written.leaves() {
                // A calibration alone says nothing: in a register, the record is the thing.
                let in_list = if is_register { None } else { about(&written, &leaf.path) };
                let (thing, key) = in_list.unwrap_or_else(|| (whole.clone(), key_of(leaf.path.steps())));
                facts.push(Fact { thing, key, value: one_line(leaf.text), at: leaf.span.start });
            }
            facts.extend(written.lines_left_out().into_iter().map(|(range, line)| plain("unreadable", range, line)));
            facts.sort_by_key(|fact| fact.at);
        }
        None => facts.extend(book::front_lines(&sheet.source).map(|(range, line)| plain("unreadable", range, line))),
    }
    facts.extend(book::body_lines(&sheet.source).map(|(range, line)| plain("text", range, line)));
    facts
}

/// The thing that a path is about, and the rest of the path: only items of a record's own lists are things.
fn about(written: &Written<'_>, path: &FieldPath) -> Option<(String, String)> {
    let [list @ Step::Key(name), item @ Step::Index(index), rest @ ..] = path.steps() else { return None };
    if rest.is_empty() {
        return None;
    }
    let node = written.root().find(&[list.clone(), item.clone()].into_iter().collect()).node;
    let kind = match name.as_ref() {
        "follow_ups" => "follow-up",
        "people" => "person",
        name => name.strip_suffix('s').unwrap_or(name),
    };
    let own = NAMES.iter().find_map(|name| scalar(node, name)).filter(|name| !name.trim().is_empty());
    let thing = own.map_or_else(|| format!("{kind}#{}", index + 1), |own| format!("{kind}:{}", one_line(own)));
    Some((thing, key_of(rest)))
}

fn scalar<'n>(node: &'n Node, key: &str) -> Option<&'n str> {
    let NodeKind::Map(entries, _) = &node.kind else { return None };
    entries.iter().find(|entry| entry.key == key).and_then(|entry| match &entry.value.kind {
        NodeKind::Scalar(text) => Some(text.as_str()),
        _ => None,
    })
}

fn key_of(steps: &[Step]) -> String {
    let mut key = String::new();
    for step in steps {
        match step {
            Step::Key(name) => {
                if !key.is_empty() {
                    key.push('.');
                }
                key.push_str(&one_line(name));
            }
            Step::Index(index) => key.push_str(&format!("[{index}]")),
        }
    }
    key
}

/// The published form of every kind of record, by which written values become numbers, flags and text.
#[derive(Debug)]
pub struct Forms {
    schemas: Vec<(&'static str, Value)>,
}

impl Forms {
    /// The forms of all kinds.
    pub fn new() -> Forms {
        let read = |kind: &'static str| Some((kind, serde_json::from_str(&schema::of(kind)?).ok()?));
        Forms { schemas: schema::KINDS.iter().filter_map(|kind| read(kind)).collect() }
    }

    /// A record as JSON: its front matter with numbers as numbers, readings off the scale and everything else as text, and beside it
    /// `file`, `site`, `date` and `body`. A record whose front matter cannot be read has only these.
    pub fn json(&self, sheet: &Sheet, written: Option<&Written<'_>>) -> Value {
        let schema = self.schemas.iter().find(|(kind, _)| *kind == sheet.kind.as_str()).map(|(_, schema)| schema);
        let mut value = match written {
            Some(written) => Shaper { root: schema, written }.value(written.root(), schema),
            None => Value::Object(Map::new()),
        };
        if let Value::Object(keys) = &mut value {
            keys.insert("file".to_owned(), sheet.source.path.clone().into());
            keys.insert("site".to_owned(), sheet.site.clone().into());
            keys.insert("date".to_owned(), sheet.day.map(|day| day.to_string()).into());
            keys.insert("body".to_owned(), sheet.source.body_text().into());
        }
        value
    }
}

impl Default for Forms {
    fn default() -> Self {
        Forms::new()
    }
}

/// Gives written values the types of their schema.
struct Shaper<'a> {
    root: Option<&'a Value>,
    written: &'a Written<'a>,
}

impl Shaper<'_> {
    fn value(&self, node: &Node, schema: Option<&Value>) -> Value {
        let schema = self.resolved(schema);
        match &node.kind {
            NodeKind::Map(entries, _) => {
                let of = |key: &str| {
                    let named = schema?.get("properties").and_then(|keys| keys.get(key));
                    named.or_else(|| schema?.get("additionalProperties").filter(|rest| rest.is_object()))
                };
                Value::Object(entries.iter().map(|entry| (entry.key.clone(), self.value(&entry.value, of(&entry.key)))).collect())
            }
            NodeKind::List(items, _) => {
                let of = schema.and_then(|schema| schema.get("items"));
                Value::Array(items.iter().map(|item| self.value(item, of)).collect())
            }
            NodeKind::Scalar(text) => {
                let raw = self.written.file().text.get(self.written.span(&node.span)).unwrap_or_default();
                if raw.is_empty() || matches!(raw, "~" | "null") { Value::Null } else { typed(text, schema) }
            }
        }
    }

    fn resolved<'s>(&'s self, schema: Option<&'s Value>) -> Option<&'s Value> {
        let schema = schema?;
        match schema.get("$ref").and_then(Value::as_str) {
            Some(target) => self.root?.pointer(target.strip_prefix('#')?),
            None => Some(schema),
        }
    }
}

/// A single value in the type that its schema allows; text where it does not read as that.
fn typed(text: &str, schema: Option<&Value>) -> Value {
    let allows = |name: &str| {
        let one = |schema: &Value| schema.get("type").and_then(Value::as_str) == Some(name);
        schema.is_some_and(|schema| one(schema) || schema.get("anyOf").and_then(Value::as_array).is_some_and(|any| any.iter().any(one)))
    };
    match text {
        "true" if allows("boolean") => Value::Bool(true),
        "false" if allows("boolean") => Value::Bool(false),
        _ if allows("number") || allows("integer") => number(text).map_or_else(|| text.into(), Value::Number),
        _ => text.into(),
    }
}

/// Digits with an optional sign and point, as a JSON number; whole where they are written whole.
fn number(text: &str) -> Option<Number> {
    let crate::record::Num(value) = text.parse().ok()?;
    if text.contains('.') { Number::from_f64(value) } else { text.parse::<i64>().ok().map(Number::from) }
}
