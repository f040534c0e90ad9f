//! `private/contacts.yaml`: who is behind each site. Held so that records can be searched for them, and never shown.

use std::collections::BTreeMap;
use std::fmt;
use std::io::Read;
use std::path::Path;

use serde_yaml::Value;

use super::{MAX_FILE_BYTES, lexical};

/// Where the contacts stand in a book.
pub const CONTACTS_FILE: &str = "private/contacts.yaml";

/// The names of the people behind each site. There may be none: a shared copy of a book comes without them.
#[derive(Default)]
pub struct Contacts {
    names: BTreeMap<String, Vec<String>>,
    unread: bool,
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
    /// Reads the contacts of the book at `root`; none when the file is absent or no YAML. Nothing of it reaches an error message.
    pub(super) fn read(root: &Path) -> Contacts {
        let path = root.join(CONTACTS_FILE);
        let unread = || Contacts { unread: true, ..Contacts::default() };
        let Ok(file) = std::fs::File::open(&path) else { return if path.exists() { unread() } else { Contacts::default() } };
        let mut text = String::new();
        if file.take(MAX_FILE_BYTES).read_to_string(&mut text).is_err() || lexical::too_deep(&text).is_some() {
            return unread();
        }
        let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
        let Ok(Value::Mapping(sites)) = serde_yaml::from_str::<Value>(text) else { return unread() };
        let mut names: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (site, entry) in &sites {
            let Some(site) = site.as_str() else { continue };
            collect(entry, false, names.entry(site.to_owned()).or_default());
        }
        Contacts { names, unread: false }
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
}

fn collect(entry: &Value, is_name: bool, names: &mut Vec<String>) {
    // A stack of our own: the depth of a file must never become the depth of ours.
    let mut open = vec![(entry, is_name)];
    while let Some((value, is_name)) = open.pop() {
        match value {
            Value::String(text) if is_name => names.push(text.trim().to_owned()),
            Value::Sequence(items) => open.extend(items.iter().map(|item| (item, is_name))),
            Value::Mapping(map) => open.extend(map.iter().map(|(key, value)| {
                let key = key.as_str().unwrap_or_default().to_lowercase();
                (value, NAME_KEYS.iter().any(|known| key.contains(known)))
            })),
            _ => {}
        }
    }
}
