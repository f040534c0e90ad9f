//! The key of a site: a digest of everything that its findings hang on.

use std::fs::Metadata;
use std::time::{Duration, SystemTime};

use sha2::{Digest, Sha256};

use crate::book::{Book, CONTACTS_FILE, SiteBytes, SiteFiles};
use crate::record::Date;

/// A key, SHA-256.
pub type Key = [u8; 32];

/// A file system may tell times no finer than this; a file as young as that beside what was kept may have changed since.
const GRAIN: Duration = Duration::from_secs(2);

/// What all sites of a book hang on.
#[derive(Debug)]
pub struct BookKey {
    digest: Key,
    written: Option<SystemTime>,
}

impl BookKey {
    /// Of a book on a day, read by a build of the program; `written` is when the file with what was kept was put in its place.
    pub fn of(book: &Book, today: Date, build: &str, written: Option<SystemTime>) -> BookKey {
        let mut all = Sum::default();
        all.take(build.as_bytes());
        all.take(today.to_string().as_bytes());
        let registers = book.instruments.values().map(|record| &record.source);
        let registers = registers.chain(book.models.values().map(|record| &record.source));
        let registers = registers.chain(book.recalls.values().map(|record| &record.source));
        let rolls = [&book.seals().source, &book.backlog().source];
        for source in std::iter::once(&book.settings.source).chain(registers).chain(rolls) {
            all.take(source.path.as_bytes());
            all.take(source.text.as_bytes());
        }
        // Records beside the sites that could not be read, and what stands where none belongs.
        for stray in &book.strays {
            all.take(stray.source.path.as_bytes());
            all.take(stray.source.text.as_bytes());
            all.take(format!("{:?}", stray.fault).as_bytes());
        }
        // Texts of records are searched for the names of the people behind them. The digest shows nothing of those.
        all.take(&[u8::from(book.contacts.is_unread())]);
        all.take(book.text(CONTACTS_FILE).unwrap_or_default().as_bytes());
        BookKey { digest: all.end(), written }
    }

    /// Of a site of that book; nothing when a file or a folder could not be read, or is so young that a later change might not show.
    pub fn of_site(&self, book: &Book, files: &SiteFiles, bytes: &SiteBytes) -> Option<Key> {
        if !files.unlisted.is_empty() {
            return None;
        }
        let mut all = Sum::default();
        all.take(&self.digest);
        all.take(files.id.as_bytes());
        all.take(&[u8::from(files.site.is_some())]);
        let names = files.site.iter().chain(&files.jobs);
        for (name, (bytes, length)) in names.zip(bytes.all()?) {
            all.take(name.as_bytes());
            all.take(&length.to_le_bytes());
            all.take(bytes);
        }
        // Photographs are looked at for the place where they were taken. To read them whole costs more than the look.
        for name in &files.others {
            let data = std::fs::symlink_metadata(book.root.join(name)).ok()?;
            let (made, changed) = times(&data)?;
            if self.written.is_some_and(|written| made.max(changed) + GRAIN > written) {
                return None;
            }
            all.take(name.as_bytes());
            all.take(&data.len().to_le_bytes());
            for time in [made, changed] {
                all.take(&time.duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default().as_nanos().to_le_bytes());
            }
        }
        Some(all.end())
    }
}

/// When a file's bytes were last written, and when anything of it last changed, which no program can set at will.
#[cfg(unix)]
fn times(data: &Metadata) -> Option<(SystemTime, SystemTime)> {
    use std::os::unix::fs::MetadataExt;
    let seconds = u64::try_from(data.ctime()).ok()?;
    let nanoseconds = u32::try_from(data.ctime_nsec()).ok()?;
    Some((data.modified().ok()?, SystemTime::UNIX_EPOCH + Duration::new(seconds, nanoseconds)))
}

#[cfg(not(unix))]
fn times(data: &Metadata) -> Option<(SystemTime, SystemTime)> {
    Some((data.modified().ok()?, data.created().ok()?))
}

/// A digest of pieces, each with its length before it, so that no two lists of pieces run together into the same bytes.
#[derive(Default)]
struct Sum(Sha256);

impl Sum {
    fn take(&mut self, bytes: &[u8]) {
        self.0.update((bytes.len() as u64).to_le_bytes());
        self.0.update(bytes);
    }

    fn end(self) -> Key {
        self.0.finalize().into()
    }
}
