//! The JSON Schemas: in step with the types, valid in themselves, and of one mind with the records.

use std::collections::BTreeSet;
use std::path::Path;

use ampledger::book::Book;
use ampledger::schema;
use serde_json::{Value, json};

use crate::support::{SOUND_JOB, repository};

fn committed(kind: &str) -> Value {
    let path = repository().join(format!("schema/{kind}.schema.json"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// The front matter of a record as an editor sees it.
fn front_matter(path: &Path) -> Value {
    let text = std::fs::read_to_string(path).unwrap();
    let front = match text.strip_prefix("---\n") {
        Some(rest) => rest.split_once("\n---\n").unwrap().0,
        None => &text,
    };
    serde_yaml::from_str(front).unwrap()
}

/// What an editor would mark: the pointer and the complaint.
pub fn marks(kind: &str, record: &Value) -> Vec<String> {
    let validator = jsonschema::validator_for(&committed(kind)).unwrap();
    validator.iter_errors(record).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

#[test]
fn the_committed_schemas_are_those_of_the_types() {
    for kind in schema::KINDS {
        let path = repository().join(format!("schema/{kind}.schema.json"));
        let committed = std::fs::read_to_string(path).unwrap_or_default();
        assert!(
            Some(committed.as_str()) == schema::of(kind).as_deref(),
            "schema/{kind}.schema.json is stale; write it anew with\n  cargo run -- schema {kind} > schema/{kind}.schema.json"
        );
    }
    let files = std::fs::read_dir(repository().join("schema")).unwrap().count();
    assert_eq!(files, schema::KINDS.len(), "schema/ holds a file that belongs to no kind");
}

#[test]
fn the_schemas_are_valid_draft_2020_12() {
    for kind in schema::KINDS {
        let schema = committed(kind);
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema", "{kind}");
        jsonschema::draft202012::meta::validate(&schema).unwrap_or_else(|error| panic!("{kind}: {error}"));
    }
}

/// Every record of the books in this repository, with its kind.
fn records() -> Vec<(&'static str, std::path::PathBuf)> {
    let mut records = Vec::new();
    for root in ["tests/sound-book", "example-sites"].map(|book| repository().join(book)) {
        let book = Book::open(&root).unwrap();
        records.push(("book", root.join("book.yaml")));
        let register = |kind, ids: Vec<&String>| ids.into_iter().map(move |id| (kind, format!("{kind}s/{id}.md"))).collect::<Vec<_>>();
        let mut paths = register("instrument", book.instruments.keys().collect());
        paths.extend(register("model", book.models.keys().collect()));
        paths.extend(register("recall", book.recalls.keys().collect()));
        paths.extend(book.sites.iter().filter_map(|site| Some(("site", site.site.clone()?))));
        paths.extend(book.sites.iter().flat_map(|site| &site.jobs).map(|path| ("job", path.clone())));
        records.extend(paths.into_iter().map(|(kind, path)| (kind, root.join(path))));
    }
    records
}

/// Records of the example book that are wrong in form on purpose; an editor marks them too.
const WRONG_ON_PURPOSE: [&str; 1] = ["sites/plover-close-5/2025-11-18-sockets.md"];

/// The files that the program keeps itself; the tests of seals and of the backlog hold what it writes against their schemas.
const KEPT: [&str; 2] = ["seals", "backlog"];

#[test]
fn every_record_is_valid_by_its_schema_unless_it_is_wrong_on_purpose() {
    let mut kinds = BTreeSet::new();
    for (kind, path) in records() {
        kinds.insert(kind);
        let marks = marks(kind, &front_matter(&path));
        let wrong = WRONG_ON_PURPOSE.iter().any(|wrong| path.ends_with(wrong));
        assert_eq!(marks.is_empty(), !wrong, "{}: {marks:?}", path.display());
    }
    let written_by_people = schema::KINDS.into_iter().filter(|kind| !KEPT.contains(kind)).collect();
    assert_eq!(kinds, written_by_people, "a kind of record is in neither book");
}

#[test]
fn every_key_may_be_left_out_but_the_one_that_says_what_the_file_is() {
    let without_record = ["book", "seals", "backlog"];
    for kind in without_record {
        assert_eq!(marks(kind, &json!({})), Vec::<String>::new());
    }
    for kind in schema::KINDS.into_iter().filter(|kind| !without_record.contains(kind)) {
        assert_eq!(marks(kind, &json!({"record": kind})), Vec::<String>::new(), "{kind}");
        assert_eq!(marks(kind, &json!({})).len(), 1, "{kind}");
        assert_eq!(marks(kind, &json!({"record": "something"})).len(), 1, "{kind}");
    }
}

#[test]
fn an_empty_list_is_left_alone_and_a_blank_value_marked() {
    assert_eq!(marks("job", &json!({"record": "job", "circuits": null, "papers": []})), Vec::<String>::new());
    assert_eq!(marks("job", &json!({"record": "job", "title": null})).len(), 1);
}

#[test]
fn an_editor_marks_slips_where_they_stand() {
    let sound = front_matter(&repository().join("tests/sound-book").join(SOUND_JOB));
    let slips = [
        ("/circuits/0/readings", "zs_ohms", json!(0.34), "/circuits/0/readings: "),
        ("/circuits/0", "use", json!("car"), "/circuits/0/use: "),
        ("/circuits/0/readings", "zs_ohm", json!("0.34 ohm"), "/circuits/0/readings/zs_ohm: "),
        ("/circuits/0", "not_taken", json!({"zs": "no supply"}), "/circuits/0/not_taken: "),
        ("", "next_inspection", json!("2/11/2036"), "/next_inspection: "),
        ("", "status", json!("finished"), "/status: "),
        ("/circuits/0/ocpd", "rating_a", json!("40 A"), "/circuits/0/ocpd/rating_a: "),
    ];
    for (holder, key, value, wanted) in slips {
        let mut record = sound.clone();
        record.pointer_mut(holder).unwrap().as_object_mut().unwrap().insert(key.to_owned(), value);
        let marks = marks("job", &record);
        assert!(marks.len() == 1 && marks[0].starts_with(wanted), "{key}: {marks:?}");
    }
    let mut off_scale = sound;
    off_scale["circuits"][0]["readings"]["ir_live_earth_mohm"] = json!(">999");
    assert_eq!(marks("job", &off_scale), Vec::<String>::new());
}

/// Endings of keys and the words by which a description gives the unit.
const UNITS: [(&str, &str); 13] = [
    ("_ohm", "ohm"),
    ("_mohm", "Mohm"),
    ("_a", "ampere"),
    ("_ka", "kA"),
    ("_ma", "mA"),
    ("_ms", "ms"),
    ("_v", "volt"),
    ("_mm2", "mm2"),
    ("_mm", "mm"),
    ("_m", " m"),
    ("_c", "degrees Celsius"),
    ("_nm", "Nm"),
    ("minutes_on_site", "minutes"),
];

#[test]
fn every_key_is_described_and_every_quantity_has_its_unit() {
    let mut wrong = Vec::new();
    for kind in schema::KINDS {
        let schema = committed(kind);
        let mut maps = vec![("", &schema)];
        maps.extend(schema["$defs"].as_object().into_iter().flatten().map(|(name, map)| (name.as_str(), map)));
        for (name, map) in maps {
            for (key, property) in map["properties"].as_object().unwrap() {
                let text = property["description"].as_str().unwrap_or_default();
                if text.is_empty() {
                    wrong.push(format!("{kind} {name}.{key} is not described"));
                }
                let is_quantity = matches!(property["type"].as_str(), Some("number" | "integer")) || property["anyOf"].is_array();
                if let Some((_, unit)) = UNITS.iter().find(|(ending, _)| key.ends_with(ending)).filter(|_| is_quantity)
                    && !text.contains(unit)
                {
                    wrong.push(format!("{kind} {name}.{key} does not say {unit}: {text}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
