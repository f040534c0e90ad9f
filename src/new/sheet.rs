//! The paper that a new record is written on: keys to fill, hints beside them, and lines to take into use.

use std::fmt::Display;

use crate::render::visible;

/// Where hints begin, so that they stand in a column.
const HINT_COLUMN: usize = 30;

/// A front matter in the making.
///
/// Two sorts of comment: `# A sentence` is for the reader; `#  - key:` is a line of the record that begins to count when its `#` is
/// taken off.
#[derive(Debug, Default)]
pub struct Sheet {
    text: String,
}

impl Sheet {
    /// A record of this kind, its fence opened.
    pub fn of(kind: &str) -> Sheet {
        let mut sheet = Sheet { text: "---\n".to_owned() };
        sheet.filled(0, "record", kind);
        sheet
    }

    /// A key with its value.
    pub fn filled(&mut self, indent: usize, key: &str, value: impl Display) {
        self.line("", indent, &format!("{key}: {value}"), "");
    }

    /// A key with its value and a hint.
    pub fn filled_with_hint(&mut self, indent: usize, key: &str, value: impl Display, hint: &str) {
        self.line("", indent, &format!("{key}: {value}"), hint);
    }

    /// A key to fill.
    pub fn blank(&mut self, indent: usize, key: &str, hint: &str) {
        self.line("", indent, &format!("{key}:"), hint);
    }

    /// A line that counts once its `#` is taken off.
    pub fn offered(&mut self, indent: usize, line: &str, hint: &str) {
        self.line("#", indent, line, hint);
    }

    /// A sentence for the reader.
    pub fn note(&mut self, text: &str) {
        self.text.push_str(&format!("# {}\n", one_line(text)));
    }

    /// Closes the fence and adds the body.
    pub fn finish(mut self, body: &str) -> String {
        self.text.push_str("---\n");
        if !body.is_empty() {
            self.text.push('\n');
            self.text.push_str(body);
        }
        self.text
    }

    fn line(&mut self, mark: &str, indent: usize, line: &str, hint: &str) {
        let line = format!("{mark}{:indent$}{line}", "");
        let hint = one_line(hint);
        if hint.is_empty() {
            self.text.push_str(line.trim_end());
        } else {
            let gap = HINT_COLUMN.saturating_sub(line.chars().count()).max(2);
            self.text.push_str(&format!("{line}{:gap$}# {hint}", ""));
        }
        self.text.push('\n');
    }
}

/// Text from a record, made fit to stand in a comment.
fn one_line(text: &str) -> String {
    visible(text).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The words that a key takes.
pub fn words<T: Display>(words: &[T]) -> String {
    words.iter().map(ToString::to_string).collect::<Vec<_>>().join(" | ")
}

/// A value as YAML takes it for text, quoted where it might be taken for something else.
pub fn scalar(text: &str) -> String {
    let starts_as_word = text.starts_with(|c: char| c.is_ascii_alphabetic());
    let plain = text.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '/' | '.' | '+'));
    let is_special = ["true", "false", "null", "yes", "no", "on", "off", "y", "n"].contains(&text.to_lowercase().as_str());
    if starts_as_word && plain && !is_special {
        return text.to_owned();
    }
    serde_json::Value::from(one_line(text)).to_string()
}

/// A list of ids in brackets.
pub fn list<'t>(items: impl IntoIterator<Item = &'t str>) -> String {
    format!("[{}]", items.into_iter().map(scalar).collect::<Vec<_>>().join(", "))
}
