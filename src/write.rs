//! Writing into a book: whole files only, only where nothing stands, and never a record that could not be read again.

use std::io::Write;
use std::path::Path;

use serde::de::DeserializeOwned;

use crate::book::{self, Record};
use crate::record::Kind;

/// Why a record was not written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WriteError {
    /// A file of that name is there.
    Exists(String),
    /// Its folder is a link that leads out of the book.
    LeadsOut(String),
    /// What would have been written does not read as it should.
    ReadsOtherwise(String),
    /// The system refused.
    Refused(String, String),
}

impl std::fmt::Display for WriteError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            WriteError::Exists(path) => write!(f, "{path} is there already, and was left as it is"),
            WriteError::LeadsOut(path) => write!(f, "the folder of {path} is a link that leads out of the book"),
            WriteError::ReadsOtherwise(path) => write!(f, "{path} was not written: it would not have read as a record"),
            WriteError::Refused(path, why) => write!(f, "{path} could not be written: {why}"),
        }
    }
}

impl std::error::Error for WriteError {}

/// Writes a new record of kind `T` at `path` in the book at `root`.
///
/// The text goes into a temporary file in the same folder, is read back from there, and takes its name only when nobody else has
/// taken it meanwhile: the file is there whole or not at all, and none is ever replaced.
pub fn new_record<T: DeserializeOwned + Default + Kind>(root: &Path, path: &str, text: &str) -> Result<(), WriteError> {
    let target = root.join(path);
    let folder = target.parent().unwrap_or(root);
    if std::fs::symlink_metadata(&target).is_ok() {
        return Err(WriteError::Exists(path.to_owned()));
    }
    let was_there = folder.exists();
    let outcome = fill::<T>(root, path, text, folder, &target);
    if outcome.is_err() && !was_there {
        // A folder made for nothing; one that somebody else has put a file into stays.
        let _ = std::fs::remove_dir(folder);
    }
    outcome
}

fn fill<T: DeserializeOwned + Default + Kind>(root: &Path, path: &str, text: &str, folder: &Path, target: &Path) -> Result<(), WriteError> {
    let refused = |error: std::io::Error| WriteError::Refused(path.to_owned(), error.to_string());
    std::fs::create_dir_all(folder).map_err(refused)?;
    let inside = root.canonicalize().map_err(refused)?;
    if !folder.canonicalize().map_err(refused)?.starts_with(inside) {
        return Err(WriteError::LeadsOut(path.to_owned()));
    }
    // Hidden, so that a check that runs meanwhile does not see it.
    let mut builder = tempfile::Builder::new();
    builder.prefix(".new-");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder).map_err(refused)?;
    file.write_all(text.as_bytes()).and_then(|()| file.as_file().sync_all()).map_err(refused)?;
    let written = std::fs::read_to_string(file.path()).map_err(refused)?;
    let record: Record<T> = book::record_from_text(path, written, String::new(), Vec::new());
    if record.lost || !record.faults.is_empty() || record.source.text != text {
        return Err(WriteError::ReadsOtherwise(path.to_owned()));
    }
    match file.persist_noclobber(target) {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == std::io::ErrorKind::AlreadyExists => Err(WriteError::Exists(path.to_owned())),
        Err(error) => Err(refused(error.error)),
    }
}
