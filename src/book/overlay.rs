//! The files of a book as they are to be read: those on the disk, with texts laid over them that are not on it, such as what an editor
//! holds unsaved or what is about to be committed.

use std::collections::BTreeMap;
use std::io::{self, Cursor, Read, Seek};
use std::path::PathBuf;
use std::sync::Arc;

use crate::system;

/// What is laid over files of a book, by path relative to its root, with `/`.
#[derive(Debug, Clone, Default)]
pub struct Overlay {
    laid: BTreeMap<String, Option<Arc<[u8]>>>,
}

impl Overlay {
    /// Nothing laid over anything.
    pub fn new() -> Self {
        Overlay::default()
    }

    /// These bytes are read at `path`, whatever the disk has there.
    pub fn put(&mut self, path: impl Into<String>, bytes: impl Into<Arc<[u8]>>) {
        self.laid.insert(path.into(), Some(bytes.into()));
    }

    /// Nothing is at `path`, whatever the disk has there.
    pub fn hide(&mut self, path: impl Into<String>) {
        self.laid.insert(path.into(), None);
    }

    /// What the disk has at `path` is read again.
    pub fn remove(&mut self, path: &str) {
        self.laid.remove(path);
    }

    /// Whether nothing is laid over anything.
    pub fn is_empty(&self) -> bool {
        self.laid.is_empty()
    }
}

/// A file opened for reading, from the disk or from what is laid over it.
pub trait Open: Read + Seek + Send {}
impl<T: Read + Seek + Send> Open for T {}

/// The files of one book.
#[derive(Debug)]
pub struct Files {
    root: PathBuf,
    overlay: Overlay,
}

impl Files {
    pub(super) fn new(root: PathBuf, overlay: Overlay) -> Self {
        Files { root, overlay }
    }

    /// What is laid over the files.
    pub(super) fn overlay(&self) -> &Overlay {
        &self.overlay
    }

    /// Lays other bytes over a file.
    pub(super) fn put(&mut self, path: &str, bytes: impl Into<Arc<[u8]>>) {
        self.overlay.put(path, bytes);
    }

    /// Whether something is laid at `path`, or it is hidden.
    pub(super) fn is_laid(&self, path: &str) -> bool {
        self.overlay.laid.contains_key(path)
    }

    /// Opens the file at `path`.
    pub fn open(&self, path: &str) -> io::Result<Box<dyn Open>> {
        match self.overlay.laid.get(path) {
            Some(Some(bytes)) => Ok(Box::new(Cursor::new(Arc::clone(bytes)))),
            Some(None) => Err(io::ErrorKind::NotFound.into()),
            None => Ok(Box::new(system::open(&self.root.join(path))?.0)),
        }
    }

    /// Whether a file is at `path`.
    pub fn has(&self, path: &str) -> bool {
        self.overlay.laid.get(path).map_or_else(|| self.root.join(path).is_file(), Option::is_some)
    }

    /// Whether anything at all is at `path`, a link that leads nowhere too.
    pub(super) fn is_anything(&self, path: &str) -> io::Result<()> {
        match self.overlay.laid.get(path) {
            Some(Some(_)) => Ok(()),
            Some(None) => Err(io::ErrorKind::NotFound.into()),
            None => std::fs::symlink_metadata(self.root.join(path)).map(|_| ()),
        }
    }

    /// The first bytes of the file at `path`, `most` of them, and how many it has.
    pub(super) fn read(&self, path: &str, most: u64) -> io::Result<(Vec<u8>, u64)> {
        if let Some(laid) = self.overlay.laid.get(path) {
            let bytes = laid.as_ref().ok_or(io::ErrorKind::NotFound)?;
            let end = usize::try_from(most).unwrap_or(usize::MAX).min(bytes.len());
            return Ok((bytes[..end].to_vec(), bytes.len() as u64));
        }
        let (file, length) = system::open(&self.root.join(path))?;
        let mut bytes = Vec::with_capacity(length.min(most) as usize + 1);
        file.take(most).read_to_end(&mut bytes)?;
        Ok((bytes, length))
    }

    /// Whether the file at `path` is hidden from the book.
    pub(super) fn is_hidden(&self, path: &str) -> bool {
        matches!(self.overlay.laid.get(path), Some(None))
    }

    /// Files laid into a folder of the book, in order.
    pub(super) fn laid_in(&self, folder: &str) -> impl Iterator<Item = &str> {
        let within = move |path: &&str| path.strip_prefix(folder).is_some_and(|rest| rest.starts_with('/'));
        self.overlay.laid.iter().filter(|(_, bytes)| bytes.is_some()).map(|(path, _)| path.as_str()).filter(within)
    }
}
