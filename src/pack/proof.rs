//! The written copy, read again: nothing private in any text or name, nothing but the picture in any photograph.

use std::path::Path;

use super::picture;
use super::private::{Guard, Level};
use crate::rules::privacy::has_location;

/// What was written.
pub struct Written {
    /// Its path in the copy, with `/`.
    pub path: String,
    /// The site in the book that it comes from; empty for what comes from none.
    pub site: String,
    /// How much of a text may be told.
    pub level: Level,
    /// Whether it is a photograph.
    pub picture: bool,
}

/// What a file still holds that it must not; nothing when it is clean.
pub fn still_holds(root: &Path, file: &Written, guard: &Guard<'_>) -> std::io::Result<Option<&'static str>> {
    let path = root.join(&file.path);
    let bytes = std::fs::read(&path)?;
    let tells = |name: &str| guard.name_tells(name, file.level, &file.site);
    if file.path.split('/').any(tells) {
        return Ok(Some("something private in its name"));
    }
    if file.picture {
        let told = has_location(std::io::Cursor::new(&bytes)) || !picture::is_bare(&bytes);
        return Ok(told.then_some("more than the picture"));
    }
    let text = String::from_utf8_lossy(&bytes);
    Ok(guard.finds(&text, file.level, &file.site).first().map(|secret| secret.what))
}
