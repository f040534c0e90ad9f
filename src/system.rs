//! What the system says, in words for people.

/// The system's words for an error, without its number and without the name of a temporary file: `permission denied`.
pub fn why(error: &std::io::Error) -> String {
    let text = error.to_string();
    let text = text.split(" (os error").next().unwrap_or_default();
    text.split(" at path \"").next().unwrap_or_default().to_lowercase()
}
