//! `file:` URIs and paths.

use std::path::{Path, PathBuf};

use gen_lsp_types::Uri;
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, percent_decode_str, utf8_percent_encode};

/// What RFC 3986 lets stand in a path as it is.
const PATH: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'.').remove(b'_').remove(b'~').remove(b'/');

/// The path that a URI names; nothing for one that is no file of this machine.
pub fn to_path(uri: &Uri) -> Option<PathBuf> {
    let rest = uri.0.strip_prefix("file://")?;
    let path = rest.strip_prefix("localhost").unwrap_or(rest);
    if !path.starts_with('/') {
        return None;
    }
    let path = percent_decode_str(path).decode_utf8().ok()?.into_owned();
    if path.contains('\0') {
        return None;
    }
    let has_drive = path.as_bytes().get(2) == Some(&b':') && path.as_bytes().get(1).is_some_and(u8::is_ascii_alphabetic);
    Some(PathBuf::from(if cfg!(windows) && has_drive { &path[1..] } else { &path }))
}

/// The URI of a path.
pub fn of_path(path: &Path) -> Uri {
    let path = path.to_string_lossy().replace('\\', if cfg!(windows) { "/" } else { "\\" });
    let slash = if path.starts_with('/') { "" } else { "/" };
    Uri(format!("file://{slash}{}", utf8_percent_encode(&path, PATH)))
}

/// A path with its links resolved as far down as it is there: an unsaved file is not, its folder may be.
pub fn real(path: &Path) -> PathBuf {
    let mut missing = Vec::new();
    for there in path.ancestors() {
        if let Ok(real) = there.canonicalize() {
            return missing.iter().rev().fold(real, |path, name| path.join(name));
        }
        match there.file_name() {
            Some(name) => missing.push(name),
            None => break,
        }
    }
    path.to_owned()
}
