//! `private/contacts.yaml`: who is behind each site. Names are held so that records can be searched for them, and never shown; the rest
//! is read only when somebody asks for a paper with it.

use std::collections::BTreeMap;
use std::fmt;
use std::io::Read;

use serde_yaml::Value;

use super::{Files, MAX_FILE_BYTES, lexical};

/// Where the contacts stand in a book.
pub const CONTACTS_FILE: &str = "private/contacts.yaml";

/// The names of the people behind each site. There may be none: a shared copy of a book comes without them.
#[derive(Default)]
pub struct Contacts {
    names: BTreeMap<String, Vec<String>>,
    unread: bool,
    details: BTreeMap<String, Vec<Detail>>,
}

/// One entry about the people behind a site, other than a name.
pub struct Detail {
    /// What it is.
    pub sort: DetailSort,
    /// What stands there.
    pub text: String,
}

/// What an entry of the contacts is, by its key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DetailSort {
    /// A telephone number or an e-mail address.
    Reach,
    /// An address.
    Address,
    /// What opens a door or stops an alarm.
    Access,
    /// Anything else.
    Other,
}

impl DetailSort {
    fn of(key: &str) -> DetailSort {
        let any = |words: &[&str]| words.iter().any(|word| key.contains(word));
        if any(&["alarm", "access", "keysafe", "key_safe", "key-safe", "pin", "entry", "gate"]) || key == "code" || key == "codes" {
            DetailSort::Access
        } else if any(&["phone", "mobile", "mail", "tel"]) {
            DetailSort::Reach
        } else if any(&["address", "street", "postcode", "post_code", "town"]) {
            DetailSort::Address
        } else {
            DetailSort::Other
        }
    }
}

/// Shows how many there are and nothing of them.
impl fmt::Debug for Contacts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Contacts of {} sites", self.names.len())
    }
}

/// Keys under which a person's name stands.
const NAME_KEYS: [&str; 8] = ["name", "customer", "client", "tenant", "landlord", "owner", "occupier", "contact"];

impl Contacts {
    /// Reads the contacts among the files of a book; none when the file is absent or no YAML. Nothing of it reaches an error message.
    pub(super) fn read(files: &Files) -> Contacts {
        let Some(sites) = entries(files) else {
            return Contacts { unread: files.is_anything(CONTACTS_FILE).is_ok(), ..Contacts::default() };
        };
        let mut contacts = Contacts::default();
        for (site, entry) in &sites {
            let Some(site) = site.as_str() else { continue };
            let names = contacts.names.entry(site.to_owned()).or_default();
            collect(entry, names, contacts.details.entry(site.to_owned()).or_default());
        }
        contacts
    }

    /// Whether the file is there and its names could not be read, so that nobody can say whether a text holds one.
    pub fn is_unread(&self) -> bool {
        self.unread
    }

    /// All names of the book.
    pub fn all(&self) -> impl Iterator<Item = &str> {
        self.names.values().flatten().map(String::as_str)
    }

    /// The names of the people behind a site.
    pub fn names(&self, site: &str) -> &[String] {
        self.names.get(site).map_or(&[], Vec::as_slice)
    }

    /// What else is written of the people behind a site.
    pub fn details(&self, site: &str) -> &[Detail] {
        self.details.get(site).map_or(&[], Vec::as_slice)
    }

    /// The sites that somebody stands behind.
    pub fn sites(&self) -> impl Iterator<Item = &str> {
        self.names.keys().map(String::as_str)
    }
}

/// What the file says, site by site; nothing when it is absent or no YAML.
fn entries(files: &Files) -> Option<serde_yaml::Mapping> {
    let file = files.open(CONTACTS_FILE).ok()?;
    let mut text = String::new();
    if file.take(MAX_FILE_BYTES).read_to_string(&mut text).is_err() || lexical::too_deep(&text).is_some() {
        return None;
    }
    match serde_yaml::from_str(text.strip_prefix('\u{feff}').unwrap_or(&text)) {
        Ok(Value::Mapping(sites)) => Some(sites),
        _ => None,
    }
}

/// One text of a site's entry, by the first of these keys that is there: for a paper whose maker has asked for private details. A list
/// is joined with commas.
pub fn private_detail(files: &Files, site: &str, keys: &[&str]) -> Option<String> {
    let sites = entries(files)?;
    let entry = sites.get(site)?.as_mapping()?;
    let text = |value: &Value| match value {
        Value::String(text) => Some(text.trim().to_owned()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    };
    keys.iter().find_map(|key| match entry.get(*key)? {
        Value::Sequence(lines) => Some(lines.iter().filter_map(text).collect::<Vec<_>>().join(", ")),
        value => text(value),
    })
}

/// All that the file says of each site, key by key: for a report whose maker has asked for private details.
pub fn private_entries(files: &Files) -> BTreeMap<String, Vec<(String, String)>> {
    let sites = entries(files).unwrap_or_default();
    let named = sites.iter().filter_map(|(site, entry)| Some((site.as_str()?.to_owned(), flat(entry))));
    named.collect()
}

/// The texts of an entry in their order, each with the keys that lead to it.
fn flat(entry: &Value) -> Vec<(String, String)> {
    let mut texts = Vec::new();
    // A stack of our own here too.
    let mut open = vec![(String::new(), entry)];
    while let Some((key, value)) = open.pop() {
        match value {
            Value::String(text) => texts.push((key, text.trim().to_owned())),
            Value::Number(number) => texts.push((key, number.to_string())),
            Value::Bool(yes) => texts.push((key, yes.to_string())),
            Value::Sequence(items) => open.extend(items.iter().rev().map(|item| (key.clone(), item))),
            Value::Mapping(map) => {
                let first = open.len();
                open.extend(map.iter().map(|(inner, value)| {
                    let inner = inner.as_str().unwrap_or_default();
                    (if key.is_empty() { inner.to_owned() } else { format!("{key}, {inner}") }, value)
                }));
                open[first..].reverse();
            }
            _ => {}
        }
    }
    texts
}

fn collect(entry: &Value, names: &mut Vec<String>, details: &mut Vec<Detail>) {
    // A stack of our own: the depth of a file must never become the depth of ours.
    let mut open = vec![(entry, false, DetailSort::Other)];
    while let Some((value, is_name, sort)) = open.pop() {
        let mut detail = |text: String| details.push(Detail { sort, text });
        match value {
            Value::String(text) if is_name => names.push(text.trim().to_owned()),
            Value::String(text) => detail(text.trim().to_owned()),
            Value::Number(number) => detail(number.to_string()),
            Value::Sequence(items) => open.extend(items.iter().map(|item| (item, is_name, sort))),
            Value::Mapping(map) => open.extend(map.iter().map(|(key, value)| {
                let key = key.as_str().unwrap_or_default().to_lowercase();
                (value, NAME_KEYS.iter().any(|known| key.contains(known)), DetailSort::of(&key))
            })),
            _ => {}
        }
    }
}
