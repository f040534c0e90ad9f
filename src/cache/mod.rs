//! What a check said of each site, kept from one run to the next, so that a site that is still the same need not be decoded again.
//!
//! What is kept stands under a key of all that a site's findings hang on ([`key`]): every byte of its records, the names of its files, the
//! settings, registers, seals and backlog of the book, the day, and the build of this program. A site of which any of that is otherwise is
//! read anew, and so is one whose findings hang on files that were not listed or on a photograph's seal. What is found across sites
//! and in the registers is judged afresh in every run, and so are grades, answers and the backlog.
//!
//! One file a book lies in the user's cache folder, never in the book, and may be deleted at any time. It holds the findings' words and so
//! what they quote of records; of `private/` it holds nothing. Folder and file are the user's own (0700, 0600). A file that is damaged,
//! of another build or not to be written is no fault: the check is made without it.

mod kept;
mod key;

use std::collections::HashMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::book::{Book, SiteFiles};
use crate::check::{Checked, check_records};
use crate::digest;
use crate::record::Date;
use crate::rules;
use crate::write::UNFINISHED;
use kept::Kept;
use key::{BookKey, Key};

/// What the file begins with; the number counts changes of its form.
const MAGIC: &[u8; 16] = b"ampledger kept 1";
/// A file larger than this is not read: more than a million records keep.
const MAX_BYTES: u64 = 1 << 30;

/// What earlier runs kept of a book, and what this run adds.
#[derive(Debug)]
pub struct Cache {
    file: PathBuf,
    book: BookKey,
    kept: HashMap<Key, Kept>,
    rules: HashMap<&'static str, &'static str>,
    used: Mutex<Vec<Key>>,
    fresh: Mutex<Vec<(Key, Kept)>>,
    hits: AtomicUsize,
}

/// The file's content after the magic and the digest of the rest.
#[derive(Serialize, Deserialize)]
struct Content {
    kept: Vec<(Key, Kept)>,
}

impl Cache {
    /// Opens what was kept of a book in `folder`, for a check as of `today`; nothing where the book is read with other texts laid over it.
    pub fn open(book: &Book, today: Date, folder: &Path) -> Option<Cache> {
        Cache::open_as(book, today, folder, env!("AMPLEDGER_BUILD"))
    }

    /// The same for a build of that name.
    pub fn open_as(book: &Book, today: Date, folder: &Path, build: &str) -> Option<Cache> {
        if !book.overlay().is_empty() {
            return None;
        }
        let file = folder.join(format!("{}.kept", digest::short(&book.root.to_string_lossy())));
        let written = std::fs::metadata(&file).and_then(|data| data.modified()).ok();
        Some(Cache {
            book: BookKey::of(book, today, build, written),
            kept: read(&file).unwrap_or_default(),
            rules: rules::all().map(|rule| (rule.id, rule.id)).collect(),
            used: Mutex::default(),
            fresh: Mutex::default(),
            hits: AtomicUsize::new(0),
            file,
        })
    }

    /// What [`crate::check::check_site`] says of a site.
    pub fn check_site(&self, book: &Book, files: &SiteFiles, today: Date) -> Checked {
        let bytes = book.read_bytes(files);
        let key = self.book.of_site(book, files, &bytes);
        if let Some(key) = key
            && let Some(checked) = self.kept.get(&key).and_then(|kept| kept.restore(book, files, &bytes, &self.rules))
        {
            self.hits.fetch_add(1, Ordering::Relaxed);
            lock(&self.used).push(key);
            return checked;
        }
        let (records, strays) = Book::decode_site(files, bytes);
        let checked = check_records(book, &records, &strays, today);
        if let Some(key) = key
            && strays.is_empty()
            && kept::hangs_on_records_alone(book, &records)
            && let Some(kept) = Kept::of(book, files, &checked)
        {
            lock(&self.fresh).push((key, kept));
        }
        checked
    }

    /// Sites that were not decoded again.
    pub fn hits(&self) -> usize {
        self.hits.load(Ordering::Relaxed)
    }

    /// Keeps what this run has used and made, when that is not what the file holds; whether it could.
    pub fn save(mut self) -> bool {
        let fresh = std::mem::take(&mut *lock(&self.fresh));
        let used = std::mem::take(&mut *lock(&self.used));
        if fresh.is_empty() && used.len() == self.kept.len() {
            return true;
        }
        let mut kept: Vec<(Key, Kept)> = used.iter().filter_map(|key| self.kept.remove_entry(key)).chain(fresh).collect();
        kept.sort_by_key(|(key, _)| *key);
        write(&self.file, &Content { kept }).is_some()
    }
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// What a file holds; nothing unless it is whole.
fn read(file: &Path) -> Option<HashMap<Key, Kept>> {
    if std::fs::metadata(file).ok()?.len() > MAX_BYTES {
        return None;
    }
    let bytes = std::fs::read(file).ok()?;
    let rest = bytes.strip_prefix(MAGIC)?;
    let (sum, content) = rest.split_at_checked(32)?;
    if Sha256::digest(content).as_slice() != sum {
        return None;
    }
    let content: Content = postcard::from_bytes(content).ok()?;
    Some(content.kept.into_iter().collect())
}

/// Puts a file in its place, whole or not at all.
fn write(file: &Path, content: &Content) -> Option<()> {
    let folder = file.parent()?;
    make_own_folder(folder)?;
    let bytes = postcard::to_stdvec(content).ok()?;
    // Readable by its owner only, as temporary files are made.
    let mut pending = tempfile::Builder::new().prefix(UNFINISHED).tempfile_in(folder).ok()?;
    pending.write_all(MAGIC).ok()?;
    pending.write_all(&Sha256::digest(&bytes)).ok()?;
    pending.write_all(&bytes).ok()?;
    pending.persist(file).ok()?;
    Some(())
}

/// Makes a folder that only this user can look into; one that is there stays as it is.
pub fn make_own_folder(folder: &Path) -> Option<()> {
    let mut builder = std::fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.recursive(true).create(folder).ok()
}
