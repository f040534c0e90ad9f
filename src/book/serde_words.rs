//! A decoder's refusals, told apart by their words: the one place that knows how serde phrases them.

use super::fault::FaultKind;
use super::path::FieldPath;
use super::tree::{Found, Node, NodeKind};
use crate::record::{NOT_A_DATE, NOT_A_NUMBER, NOTHING_HERE};

/// Why a decoder refused a value.
#[derive(Debug)]
pub struct Refusal<'m> {
    message: &'m str,
    unknown_key: Option<&'m str>,
    unknown_word: Option<&'m str>,
}

/// A key that is wrong in itself.
pub struct WrongKey {
    /// The key.
    pub name: String,
    /// Whether the path of the refusal already leads to it.
    pub is_path: bool,
}

impl<'m> Refusal<'m> {
    /// Reads a message.
    pub fn of(message: &'m str) -> Self {
        Refusal { message, unknown_key: quoted_after(message, "unknown field `"), unknown_word: quoted_after(message, "unknown variant `") }
    }

    /// Whether a value or a key was refused, and not the text as YAML.
    pub fn is_of_a_value(&self) -> bool {
        let of_type = ["invalid type", "invalid value", "invalid length", "unknown field", "unknown variant", "missing field"];
        let ours = [NOT_A_NUMBER, NOT_A_DATE, NOTHING_HERE];
        of_type.iter().chain(&ours).any(|words| self.message.contains(words))
    }

    /// The key, when it is a key that was refused and not a value.
    pub fn wrong_key(&self, path: &FieldPath, at: &Found<'_>) -> Option<WrongKey> {
        if let Some(key) = self.unknown_key {
            return Some(WrongKey { name: key.to_owned(), is_path: path.last_key() == Some(key) });
        }
        if self.message.contains("expected field identifier") {
            // Only a list or a map under a question mark is a key without a word.
            let NodeKind::Map(entries, _) = &at.node.kind else { return None };
            return entries.iter().find(|entry| entry.key.is_empty()).map(|_| WrongKey { name: String::new(), is_path: false });
        }
        // A key that is wrong as a word of its vocabulary is reported at the map that holds it.
        let word = self.unknown_word?;
        match &at.node.kind {
            NodeKind::Map(entries, _) if entries.iter().any(|entry| entry.key == word) => {
                Some(WrongKey { name: word.to_owned(), is_path: false })
            }
            NodeKind::Scalar(value) if path.last_key() == Some(word) && value != word => {
                Some(WrongKey { name: word.to_owned(), is_path: true })
            }
            _ => None,
        }
    }

    /// What was refused, as a fault. `key` is the key when it was the key.
    pub fn fault(&self, at: &Found<'_>, text: &str, key: Option<String>) -> FaultKind {
        let scalar = match &at.node.kind {
            NodeKind::Scalar(value) => value.clone(),
            _ => String::new(),
        };
        if let Some(name) = text.get(at.node.span.clone()).and_then(|written| written.strip_prefix('*'))
            && key.is_none()
        {
            return FaultKind::AliasUnfit { name: name.to_owned() };
        }
        if let Some(key) = key {
            let written = at.key.map_or("", |entry| text.get(entry.key_span.clone()).unwrap_or_default());
            return FaultKind::UnknownKey { key: if key.is_empty() { written.to_owned() } else { key }, known: self.expected_words() };
        }
        if let Some(word) = self.unknown_word {
            return FaultKind::UnknownWord { word: word.to_owned(), known: self.expected_words() };
        }
        if self.message.contains(NOT_A_NUMBER) {
            return FaultKind::NotANumber { text: scalar };
        }
        if self.message.contains(NOT_A_DATE) {
            return FaultKind::NotADate { text: scalar };
        }
        if self.message.contains("expected a boolean") && !scalar.is_empty() {
            return FaultKind::NotTrueFalse { text: scalar };
        }
        let wanted = self.wanted();
        if wanted == "text"
            && let Some(text) = text_with_colon(at.node, text)
        {
            return FaultKind::ColonInText { text };
        }
        FaultKind::WrongShape { found: self.shape_found(at.node), wanted: wanted.into() }
    }

    /// The words that are listed after `expected`.
    fn expected_words(&self) -> Vec<String> {
        let after = self.message.split_once("expected").map_or("", |(_, after)| after);
        after.split('`').skip(1).step_by(2).map(str::to_owned).collect()
    }

    fn wanted(&self) -> &'static str {
        let expected = self.message.rsplit_once("expected ").map_or("", |(_, expected)| expected);
        match expected {
            _ if expected.starts_with("struct ") || expected.starts_with("a map") => "keys with values",
            _ if expected.starts_with("a sequence") => "a list",
            _ if expected.starts_with("a string") => "text",
            _ if expected.starts_with("a boolean") => "true or false",
            _ => "a single value",
        }
    }

    fn shape_found(&self, node: &Node) -> String {
        if self.message.contains(NOTHING_HERE) {
            return "nothing".to_owned();
        }
        match &node.kind {
            NodeKind::List(..) => "a list".to_owned(),
            NodeKind::Map(..) => "keys with values".to_owned(),
            NodeKind::Scalar(text) if text.is_empty() || text == "~" || text == "null" => "nothing".to_owned(),
            NodeKind::Scalar(text) => format!("`{text}`"),
        }
    }
}

fn quoted_after<'m>(message: &'m str, before: &str) -> Option<&'m str> {
    message.split_once(before)?.1.split('`').next()
}

/// A map of one entry on one line where text belongs is a text with a colon in it.
fn text_with_colon(node: &Node, text: &str) -> Option<String> {
    let NodeKind::Map(entries, _) = &node.kind else { return None };
    let [entry] = entries.as_slice() else { return None };
    let written = text.get(entry.key_span.start..entry.value.span.end)?;
    let plain =
        matches!(entry.value.kind, NodeKind::Scalar(_)) && !written.contains('\n') && !text.get(node.span.clone())?.starts_with('{');
    plain.then(|| written.to_owned())
}
