//! Lays a few keys over the sound book, so that an example says only what it is about.

use std::path::Path;

use serde_yaml::{Mapping, Value};

use super::SOUND_JOB;

/// Lays YAML over a book. Top-level keys that are paths (they hold a `/` or end in `.yaml`) speak of that file; a path whose value is
/// `~` deletes the file, and one whose value is text is that text; a `body` key beside them is put under the front matter. All other
/// keys speak of the sound job.
pub fn apply(root: &Path, keys: &str) {
    let Value::Mapping(keys) = serde_yaml::from_str(keys).unwrap_or_else(|error| panic!("{error} in {keys}")) else {
        panic!("an overlay is a map: {keys}");
    };
    let is_path = |key: &Value| key.as_str().is_some_and(|key| key.contains('/') || key.ends_with(".yaml"));
    let (files, job): (Vec<_>, Vec<_>) = keys.into_iter().partition(|(key, _)| is_path(key));
    if !job.is_empty() {
        lay_over(root, SOUND_JOB, Value::Mapping(job.into_iter().collect()));
    }
    for (path, value) in files {
        let path = path.as_str().unwrap().to_owned();
        if value.is_null() {
            std::fs::remove_file(root.join(path)).unwrap();
        } else if let Some(text) = value.as_str() {
            let file = root.join(&path);
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(file, text).unwrap();
        } else {
            lay_over(root, &path, value);
        }
    }
}

fn lay_over(root: &Path, path: &str, mut over: Value) {
    let file = root.join(path);
    let text = std::fs::read_to_string(&file).unwrap_or_default();
    let is_yaml = path.ends_with(".yaml");
    let (front, mut body) = if is_yaml {
        (text.as_str(), String::new())
    } else {
        let front = text.strip_prefix("---\n").unwrap_or_default();
        front.split_once("\n---\n").map_or((front, String::new()), |(front, body)| (front, body.to_owned()))
    };
    if let Some(Value::String(text)) = over.as_mapping_mut().and_then(|map| map.remove("body")) {
        body = format!("\n{text}");
    }
    let mut value: Value = serde_yaml::from_str(front).unwrap();
    if value.is_null() {
        value = Value::Mapping(Mapping::new());
    }
    merge(&mut value, over);
    let front = serde_yaml::to_string(&value).unwrap();
    std::fs::create_dir_all(file.parent().unwrap()).unwrap();
    std::fs::write(file, if is_yaml { front } else { format!("---\n{front}---\n{body}") }).unwrap();
}

/// The key that names the things of a list.
const NAMES: [&str; 2] = ["id", "serial"];

fn merge(into: &mut Value, over: Value) {
    match (into, over) {
        (Value::Mapping(into), Value::Mapping(over)) => {
            for (key, value) in over {
                if value.is_null() {
                    into.remove(&key);
                } else if let Some(old) = into.get_mut(&key) {
                    merge(old, value);
                } else {
                    into.insert(key, value);
                }
            }
        }
        (Value::Sequence(into), Value::Sequence(over)) => {
            let name = |value: &Value| NAMES.iter().find_map(|name| value.get(name).cloned());
            let named = !over.is_empty() && over.iter().all(|item| name(item).is_some()) && into.iter().all(|item| name(item).is_some());
            if !named {
                *into = over;
                return;
            }
            for item in over {
                match into.iter_mut().find(|old| name(old) == name(&item)) {
                    Some(old) => merge(old, item),
                    None => into.push(item),
                }
            }
        }
        (into, over) => *into = over,
    }
}
