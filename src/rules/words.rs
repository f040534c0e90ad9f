//! Small words that messages of every family are made with.

/// `1 day`, `12 days`.
pub fn days(count: i32) -> String {
    if count == 1 { "1 day".to_owned() } else { format!("{count} days") }
}

/// `a`, `a and b`, `a, b and c`, with that joining word.
pub fn listed(words: &[&str], join: &str) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [rest @ .., last] => format!("{} {join} {last}", rest.join(", ")),
    }
}

/// Whether a text is there and says something.
pub fn says(text: &Option<String>) -> bool {
    text.as_deref().is_some_and(|text| !text.trim().is_empty())
}
