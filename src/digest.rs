//! SHA-256, as hexadecimal digits.

use std::fmt::Write as _;
use std::io::Read;

use sha2::{Digest, Sha256};

/// Of a text, 64 digits.
pub fn of_text(text: &str) -> String {
    of_bytes(text.as_bytes())
}

/// Of bytes, 64 digits.
pub fn of_bytes(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// Of a text, the first 32 digits: a name for a thing, where a whole digest would be too long to read or to fold.
pub fn short(text: &str) -> String {
    hexadecimal(&Sha256::digest(text.as_bytes())[..16])
}

/// Of an open file's bytes, 64 digits.
pub fn of_file(mut file: impl Read) -> std::io::Result<String> {
    let mut hasher = Sha256::new();
    let mut block = vec![0; 64 * 1024];
    loop {
        match file.read(&mut block)? {
            0 => return Ok(hexadecimal(&hasher.finalize())),
            count => hasher.update(&block[..count]),
        }
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
