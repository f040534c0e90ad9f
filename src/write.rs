//! Writing: whole files only, and over nothing that stands there unless that is asked for. Into a book, only where nothing stands,
//! and never a record that could not be read again.

use std::fs::{File, TryLockError};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use serde::de::DeserializeOwned;

use crate::book::{self, Record};
use crate::record::Kind;
use crate::system::{self, why};

/// Why a record was not written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WriteError {
    /// A file of that name is there.
    Exists(String),
    /// Its folder is a link that leads out of the book.
    LeadsOut(String),
    /// Somebody else wrote the file meanwhile.
    ChangedMeanwhile(String),
    /// What would have been written does not read as it should.
    ReadsOtherwise(String),
    /// The system refused.
    Refused(String, String),
}

impl std::fmt::Display for WriteError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            WriteError::Exists(path) => write!(f, "{path} is there already, and was left as it is"),
            WriteError::LeadsOut(path) => write!(f, "{path} or its folder is a link that leads out of the book"),
            WriteError::ChangedMeanwhile(path) => write!(f, "{path} was changed meanwhile, and was left as it is"),
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
    let refused = |error: std::io::Error| WriteError::Refused(path.to_owned(), why(&error));
    std::fs::create_dir_all(folder).map_err(refused)?;
    let inside = root.canonicalize().map_err(refused)?;
    if !folder.canonicalize().map_err(refused)?.starts_with(inside) {
        return Err(WriteError::LeadsOut(path.to_owned()));
    }
    let mut file = temporary_in(folder).map_err(refused)?;
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

/// A file's bytes without a byte-order mark.
pub fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(MARK).unwrap_or(bytes)
}

const MARK: &[u8] = b"\xef\xbb\xbf";

/// Writes a new file at `path` below `root` that is no record: whole or not at all, and over nothing.
pub fn new_file(root: &Path, path: &str, text: &str) -> Result<(), WriteError> {
    let target = root.join(path);
    let refused = |error: std::io::Error| WriteError::Refused(path.to_owned(), why(&error));
    if std::fs::symlink_metadata(&target).is_ok() {
        return Err(WriteError::Exists(path.to_owned()));
    }
    let folder = target.parent().unwrap_or(root);
    std::fs::create_dir_all(folder).map_err(refused)?;
    if !folder.canonicalize().map_err(refused)?.starts_with(root.canonicalize().map_err(refused)?) {
        return Err(WriteError::LeadsOut(path.to_owned()));
    }
    let mut file = Pending::begin(&target, false)?;
    file.write_all(text.as_bytes()).map_err(refused)?;
    file.finish()
}

/// Writes anew a file of the book: one that the program keeps itself, or a record that is mended. `before` is the text that the new one was
/// made from, empty when there was no file; `is_sound` says whether what was written reads as it should. The old file stands until the new
/// one is whole; its permissions and its byte-order mark stay.
pub fn renew(root: &Path, name: &str, before: &str, text: &str, is_sound: impl Fn(String) -> bool) -> Result<(), WriteError> {
    let target = root.join(name);
    let folder = target.parent().unwrap_or(root);
    let refused = |error: std::io::Error| WriteError::Refused(name.to_owned(), why(&error));
    let there = std::fs::symlink_metadata(&target).ok();
    let inside = root.canonicalize().map_err(refused)?;
    if there.as_ref().is_some_and(std::fs::Metadata::is_symlink) || !folder.canonicalize().map_err(refused)?.starts_with(inside) {
        return Err(WriteError::LeadsOut(name.to_owned()));
    }
    if there.as_ref().is_some_and(|there| there.permissions().readonly()) {
        return Err(WriteError::Refused(name.to_owned(), "it is read-only".to_owned()));
    }
    let marked = system::read(&target).is_ok_and(|now| now.starts_with(MARK));
    let mut file = temporary_in(folder).map_err(refused)?;
    if marked {
        file.write_all(MARK).map_err(refused)?;
    }
    if let Some(there) = there {
        file.as_file().set_permissions(there.permissions()).map_err(refused)?;
    }
    file.write_all(text.as_bytes()).and_then(|()| file.as_file().sync_all()).map_err(refused)?;
    let written = std::fs::read_to_string(file.path()).map_err(refused)?;
    let written = if marked { written.trim_start_matches('\u{feff}').to_owned() } else { written };
    if written != text || !is_sound(written) {
        return Err(WriteError::ReadsOtherwise(name.to_owned()));
    }
    // Between this look and the renaming no other run may put its own file there: that would be gone.
    let _alone = alone_in(folder).ok_or_else(|| WriteError::Refused(name.to_owned(), "another run is writing beside it".to_owned()))?;
    match system::read(&target) {
        Ok(now) if without_mark(&now) != before.as_bytes() => {
            return Err(WriteError::ChangedMeanwhile(name.to_owned()));
        }
        Ok(_) => file.persist(&target).map_err(|error| refused(error.error))?,
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(refused(error)),
        Err(_) => file.persist_noclobber(&target).map_err(|error| match error.error.kind() {
            std::io::ErrorKind::AlreadyExists => WriteError::ChangedMeanwhile(name.to_owned()),
            _ => refused(error.error),
        })?,
    };
    Ok(())
}

/// How long another run may take over the moment in which it renames a file.
const PATIENCE: Duration = Duration::from_secs(2);

/// Holds off other runs that renew a file in `folder` until it is dropped; nothing when one of them will not make way. Systems and disks that
/// have no such locks go without.
fn alone_in(folder: &Path) -> Option<Option<File>> {
    let Ok(lock) = File::open(folder) else { return Some(None) };
    let begun = Instant::now();
    loop {
        match lock.try_lock() {
            Ok(()) => return Some(Some(lock)),
            Err(TryLockError::Error(_)) => return Some(None),
            Err(TryLockError::WouldBlock) if begun.elapsed() > PATIENCE => return None,
            Err(TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(5)),
        }
    }
}

/// How the names of files and folders begin that are still being written. Hidden, so that a check that runs meanwhile does not see them;
/// and telling, for whoever finds one that a run left which was killed.
pub const UNFINISHED: &str = ".ampledger-unfinished-";

/// A temporary file in `folder`, with the permissions that a plain new file would have.
fn temporary_in(folder: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(UNFINISHED);
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

/// A file that is not there yet: written beside its place, and put there whole when it is finished. Dropped before that, it leaves
/// nothing behind.
#[derive(Debug)]
pub struct Pending {
    file: BufWriter<tempfile::NamedTempFile>,
    target: PathBuf,
    replace: bool,
}

impl Pending {
    /// Begins the file `target`, whose folder must be there. Where a file of that name is there already, only `replace` goes on.
    pub fn begin(target: &Path, replace: bool) -> Result<Pending, WriteError> {
        let name = target.display().to_string();
        if !replace && std::fs::symlink_metadata(target).is_ok() {
            return Err(WriteError::Exists(name));
        }
        let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let file = temporary_in(folder).map_err(|error| WriteError::Refused(name, why(&error)))?;
        Ok(Pending { file: BufWriter::new(file), target: target.to_owned(), replace })
    }

    /// Puts the file in its place.
    pub fn finish(self) -> Result<(), WriteError> {
        let name = self.target.display().to_string();
        let refused = |error: std::io::Error| WriteError::Refused(name.clone(), why(&error));
        let file = self.file.into_inner().map_err(|error| refused(error.into_error()))?;
        file.as_file().sync_all().map_err(refused)?;
        let put = if self.replace { file.persist(&self.target) } else { file.persist_noclobber(&self.target) };
        match put {
            Ok(_) => Ok(()),
            Err(error) if error.error.kind() == std::io::ErrorKind::AlreadyExists => Err(WriteError::Exists(name)),
            Err(error) => Err(refused(error.error)),
        }
    }
}

impl Write for Pending {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.file.write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.file.flush()
    }
}
