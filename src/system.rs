//! Opening files, and what the system says, in words for people.

use std::fs::{File, OpenOptions};
use std::io::Read;
use std::path::Path;

/// Why a pipe, a device or a socket is not read.
pub const NO_FILE: &str = "it is a pipe or a device and no file";

/// Opens a file that somebody else may have put there. A pipe, whose opening would wait for somebody to write into it, and anything else
/// that is no plain file, is refused. With the file comes its length in bytes.
pub fn open(path: &Path) -> std::io::Result<(File, u64)> {
    let mut how = OpenOptions::new();
    how.read(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::custom_flags(&mut how, libc::O_NONBLOCK);
    let file = how.open(path)?;
    let data = file.metadata()?;
    if data.is_dir() {
        return Err(std::io::ErrorKind::IsADirectory.into());
    }
    if data.is_file() { Ok((file, data.len())) } else { Err(std::io::Error::other(NO_FILE)) }
}

/// The bytes of such a file.
pub fn read(path: &Path) -> std::io::Result<Vec<u8>> {
    let (mut file, _) = open(path)?;
    let mut bytes = Vec::new();
    file.read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The text of such a file.
pub fn read_text(path: &Path) -> std::io::Result<String> {
    std::io::read_to_string(open(path)?.0)
}

/// The system's words for an error, without its number and without the name of a temporary file: `permission denied`.
pub fn why(error: &std::io::Error) -> String {
    let text = error.to_string();
    let text = text.split(" (os error").next().unwrap_or_default();
    text.split(" at path \"").next().unwrap_or_default().to_lowercase()
}
