//! The folder that a report is written into. What this program wrote there it lists in a file of its own; only what is listed is ever
//! replaced or removed, and a page that has not changed is not written again.

use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::{Component, Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use serde::{Deserialize, Serialize};

use super::Page;
use crate::digest;
use crate::system::{self, why};
use crate::write::{Pending, WriteError};

/// The list of what this program wrote.
pub const LIST: &str = ".ampledger-report.json";

/// Why a report could not be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FolderError {
    /// Something else is in the folder, and no list of this program's.
    Foreign(PathBuf),
    /// A file that this program did not write stands where a page belongs.
    InTheWay(PathBuf),
    /// The list cannot be read.
    BrokenList(PathBuf),
    /// The system refused.
    Refused(PathBuf, String),
}

impl std::fmt::Display for FolderError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            FolderError::Foreign(path) => write!(f, "{} is not empty, and no report of this program's is in it", path.display()),
            FolderError::InTheWay(path) => write!(f, "{} stands where a page belongs, and this program did not write it", path.display()),
            FolderError::BrokenList(path) => write!(f, "{} cannot be read", path.display()),
            FolderError::Refused(path, why) => write!(f, "{} could not be written: {why}", path.display()),
        }
    }
}

impl std::error::Error for FolderError {}

impl From<WriteError> for FolderError {
    fn from(error: WriteError) -> Self {
        match error {
            WriteError::Refused(path, why) => FolderError::Refused(path.into(), why),
            WriteError::Exists(path)
            | WriteError::LeadsOut(path)
            | WriteError::ReadsOtherwise(path)
            | WriteError::ChangedMeanwhile(path) => FolderError::InTheWay(path.into()),
        }
    }
}

/// The list as it stands in the file.
#[derive(Debug, Default, Serialize, Deserialize)]
struct List {
    format: u32,
    /// Each file with the SHA-256 of what was written.
    files: BTreeMap<String, String>,
}

/// What was done.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Written {
    /// Files written.
    pub written: usize,
    /// Files that stood there already, byte for byte.
    pub unchanged: usize,
    /// Files removed, since nothing belongs there any more.
    pub removed: usize,
    /// Files that nothing belongs to any more and that somebody has changed: left as they are.
    pub left: usize,
}

/// A report's folder, being written.
#[derive(Debug)]
pub struct Folder {
    root: PathBuf,
    before: BTreeMap<String, String>,
    now: Mutex<BTreeMap<String, String>>,
    written: AtomicUsize,
    unchanged: AtomicUsize,
}

impl Folder {
    /// Begins to write these files into a folder, which is made if it is not there. Nothing has been changed where this fails.
    pub fn begin(root: &Path, paths: &[String]) -> Result<Folder, FolderError> {
        let refused = |error: std::io::Error| FolderError::Refused(root.to_owned(), why(&error));
        std::fs::create_dir_all(root).map_err(refused)?;
        let list = root.join(LIST);
        let before = match system::read_text(&list) {
            Ok(text) => serde_json::from_str::<List>(&text).ok().filter(|list| list.format == 1).map(|list| list.files),
            Err(_) if std::fs::symlink_metadata(&list).is_ok() => None,
            Err(_) if std::fs::read_dir(root).map_err(refused)?.next().is_some() => return Err(FolderError::Foreign(root.to_owned())),
            Err(_) => Some(BTreeMap::new()),
        };
        let mut before = before.ok_or(FolderError::BrokenList(list))?;
        // A list that somebody has written by hand reaches nothing outside.
        before.retain(|path, _| is_inside(path));
        let folder = Folder { root: root.to_owned(), before, now: Mutex::default(), written: 0.into(), unchanged: 0.into() };
        for path in paths {
            folder.free(path)?;
        }
        for name in paths.iter().filter_map(|path| Path::new(path).parent()).collect::<std::collections::BTreeSet<_>>() {
            std::fs::create_dir_all(root.join(name)).map_err(refused)?;
        }
        // Should this run be cut off, the next one knows its own files.
        let mut all = folder.before.clone();
        paths.iter().for_each(|path| {
            all.entry(path.clone()).or_default();
        });
        folder.save(all)?;
        Ok(folder)
    }

    /// Whether a page may be written there: nothing in its way, or something that this program wrote.
    fn free(&self, path: &str) -> Result<(), FolderError> {
        let target = self.root.join(path);
        for above in Path::new(path).ancestors().skip(1).filter(|above| !above.as_os_str().is_empty()) {
            let above = self.root.join(above);
            // A link could lead anywhere.
            if std::fs::symlink_metadata(&above).is_ok_and(|data| !data.is_dir()) {
                return Err(FolderError::InTheWay(above));
            }
        }
        match std::fs::symlink_metadata(&target) {
            Ok(data) if !data.is_file() || !self.before.contains_key(path) => Err(FolderError::InTheWay(target)),
            _ => Ok(()),
        }
    }

    /// Writes a page, unless it stands there already byte for byte. May be called from several threads.
    pub fn put(&self, page: &Page) -> Result<(), FolderError> {
        let target = self.root.join(&page.path);
        if std::fs::read(&target).is_ok_and(|there| there == page.bytes) {
            self.unchanged.fetch_add(1, Ordering::Relaxed);
        } else {
            put(&target, &page.bytes)?;
            self.written.fetch_add(1, Ordering::Relaxed);
        }
        // Nothing that holds the lock can panic, so that what a poisoned one holds is whole.
        let mut now = self.now.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        now.insert(page.path.clone(), digest::of_bytes(&page.bytes));
        Ok(())
    }

    /// Removes what belongs to nothing any more, and writes the list.
    pub fn finish(self) -> Result<Written, FolderError> {
        let now = self.now.lock().unwrap_or_else(std::sync::PoisonError::into_inner).clone();
        let mut done = Written {
            written: self.written.load(Ordering::Relaxed),
            unchanged: self.unchanged.load(Ordering::Relaxed),
            ..Written::default()
        };
        for (path, digest) in self.before.iter().filter(|(path, _)| !now.contains_key(*path)) {
            let target = self.root.join(path);
            let is_plain = std::fs::symlink_metadata(&target).is_ok_and(|data| data.is_file());
            if !is_plain {
                continue;
            }
            if std::fs::File::open(&target).and_then(digest::of_file).is_ok_and(|there| there == *digest) {
                std::fs::remove_file(&target).map_err(|error| FolderError::Refused(target.clone(), why(&error)))?;
                done.removed += 1;
            } else {
                done.left += 1;
            }
        }
        self.save(now)?;
        Ok(done)
    }

    fn save(&self, files: BTreeMap<String, String>) -> Result<(), FolderError> {
        let list = List { format: 1, files };
        let mut text = serde_json::to_string_pretty(&list).unwrap_or_default();
        text.push('\n');
        let target = self.root.join(LIST);
        if std::fs::read(&target).is_ok_and(|there| there == text.as_bytes()) {
            return Ok(());
        }
        put(&target, text.as_bytes())
    }
}

fn put(target: &Path, bytes: &[u8]) -> Result<(), FolderError> {
    let mut file = Pending::begin(target, true)?;
    file.write_all(bytes).map_err(|error| FolderError::Refused(target.to_owned(), why(&error)))?;
    Ok(file.finish()?)
}

/// Whether a path stays within the folder.
fn is_inside(path: &str) -> bool {
    !path.is_empty() && Path::new(path).components().all(|part| matches!(part, Component::Normal(_)))
}
