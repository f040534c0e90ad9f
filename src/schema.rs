//! JSON Schemas of the records, made from the types.
//!
//! They serve editors: completion, the meaning and unit of a key, a mark at a misspelt one. So they are a little stricter than the
//! reading of records. A value left blank decodes as absent, and an editor marks it until it is filled: were it allowed, every
//! completion would offer `null`. Only a list may be left empty. A serial of digits decodes unquoted; the schema asks for the quotes.

use schemars::Schema;
use schemars::generate::SchemaSettings;
use schemars::transform::{Transform, transform_subschemas};
use serde_json::{Map, Value, json};

use crate::record::{Backlog, Instrument, Job, Model, Recall, Seals, Settings, Site};

/// The kinds that have a schema; `book`, `seals` and `backlog` are the YAML files at the book's root.
pub const KINDS: [&str; 8] = ["book", "site", "job", "instrument", "model", "recall", "seals", "backlog"];

/// The schema of a kind, as indented JSON ending in a line break.
pub fn of(kind: &str) -> Option<String> {
    let mut settings = SchemaSettings::draft2020_12();
    settings.transforms.push(Box::new(WithoutNull));
    settings.transforms.push(Box::new(WordsAsEnum));
    let generator = settings.into_generator();
    let mut schema = match kind {
        "book" => generator.into_root_schema_for::<Settings>(),
        "site" => generator.into_root_schema_for::<Site>(),
        "job" => generator.into_root_schema_for::<Job>(),
        "instrument" => generator.into_root_schema_for::<Instrument>(),
        "model" => generator.into_root_schema_for::<Model>(),
        "recall" => generator.into_root_schema_for::<Recall>(),
        "seals" => generator.into_root_schema_for::<Seals>(),
        "backlog" => generator.into_root_schema_for::<Backlog>(),
        _ => return None,
    };
    schema.insert("title".to_owned(), format!("ampledger {kind} record, format 1").into());
    write_words_in_place(&mut schema);
    let properties = schema.get_mut("properties").and_then(Value::as_object_mut)?;
    if let Some(record) = properties.get_mut("record") {
        *record = json!({"description": "What this file is.", "const": kind});
        schema.insert("required".to_owned(), json!(["record"]));
    }
    let mut text = serde_json::to_string_pretty(&schema).ok()?;
    text.push('\n');
    Some(text)
}

/// Every key may be left out; none needs `null` for that, and none a default. A list that is there may be empty.
#[derive(Debug, Clone)]
struct WithoutNull;

impl Transform for WithoutNull {
    fn transform(&mut self, schema: &mut Schema) {
        transform_subschemas(self, schema);
        let Some(keys) = schema.as_object_mut() else { return };
        keys.shift_remove("default");
        if let Some(types) = keys.get_mut("type").and_then(Value::as_array_mut) {
            types.retain(|name| name != "null");
            if let [only] = types.as_slice() {
                let only = only.clone();
                keys.insert("type".to_owned(), only);
            }
        }
        if let Some(choices) = keys.get_mut("anyOf").and_then(Value::as_array_mut) {
            choices.retain(|choice| *choice != json!({"type": "null"}));
            if let [Value::Object(only)] = choices.as_slice() {
                let only = only.clone();
                keys.shift_remove("anyOf");
                keys.extend(only);
            }
        }
        if keys.get("type").is_some_and(|name| name == "array") {
            keys.insert("type".to_owned(), json!(["array", "null"]));
        }
    }
}

/// A vocabulary comes as a choice of constants; editors know better what to do with an `enum`. What each word means goes into the
/// description, where every editor shows it.
#[derive(Debug, Clone)]
struct WordsAsEnum;

impl Transform for WordsAsEnum {
    fn transform(&mut self, schema: &mut Schema) {
        transform_subschemas(self, schema);
        let Some(keys) = schema.as_object_mut() else { return };
        let Some(choices) = keys.get("oneOf").and_then(Value::as_array) else { return };
        let words: Option<Vec<(&Value, &str)>> =
            choices.iter().map(|choice| Some((choice.get("const")?, choice.get("description")?.as_str()?))).collect();
        let Some(words) = words else { return };
        let meanings: Vec<String> =
            words.iter().map(|(word, meaning)| format!("- `{}`: {meaning}", word.as_str().unwrap_or_default())).collect();
        let words: Vec<Value> = words.iter().map(|(word, _)| (*word).clone()).collect();
        let description = keys.get("description").and_then(Value::as_str).unwrap_or_default();
        let description = format!("{description}\n\n{}", meanings.join("\n"));
        keys.shift_remove("oneOf");
        keys.insert("type".to_owned(), "string".into());
        keys.insert("description".to_owned(), description.into());
        keys.insert("enum".to_owned(), words.into());
    }
}

/// Replaces each reference to a vocabulary by the vocabulary: the key's own description would hide what the words mean.
fn write_words_in_place(schema: &mut Schema) {
    let Some(Value::Object(kinds)) = schema.get("$defs").cloned() else { return };
    let (words, others): (Map<_, _>, Map<_, _>) = kinds.into_iter().partition(|(_, kind)| kind.get("enum").is_some());
    schema.insert("$defs".to_owned(), Value::Object(others));
    InPlace(words).transform(schema);
    if schema.get("$defs").and_then(Value::as_object).is_some_and(Map::is_empty) {
        schema.remove("$defs");
    }
}

#[derive(Debug, Clone)]
struct InPlace(Map<String, Value>);

impl Transform for InPlace {
    fn transform(&mut self, schema: &mut Schema) {
        transform_subschemas(self, schema);
        let Some(keys) = schema.as_object_mut() else { return };
        let name = keys.get("$ref").and_then(Value::as_str).and_then(|target| target.strip_prefix("#/$defs/"));
        let Some(words) = name.and_then(|name| self.0.get(name)).and_then(Value::as_object) else { return };
        let meanings = words.get("description").and_then(Value::as_str).unwrap_or_default();
        let description = match keys.get("description").and_then(Value::as_str) {
            Some(own) => format!("{own}\n\n{}", meanings.split_once("\n\n").map_or(meanings, |(_, list)| list)),
            None => meanings.to_owned(),
        };
        keys.shift_remove("$ref");
        for (key, value) in words {
            keys.entry(key.clone()).or_insert_with(|| value.clone());
        }
        keys.insert("description".to_owned(), description.into());
    }
}
