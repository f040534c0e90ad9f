//! SHA-256 of a file's bytes, as hexadecimal digits.

use std::fmt::Write as _;
use std::path::Path;

use sha2::{Digest, Sha256};

/// Of a file's bytes, 64 digits.
pub fn of_file(path: &Path) -> std::io::Result<String> {
    let digest = Sha256::digest(std::fs::read(path)?);
    Ok(digest.iter().fold(String::with_capacity(64), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    }))
}
