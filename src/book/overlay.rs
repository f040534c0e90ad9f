//! Texts that stand in for what is on the disk: what an editor shows and has not saved.

use std::collections::BTreeMap;
use std::sync::Arc;

/// Buffers by the path of their file, relative to the book's root, with `/`. A file need not be on the disk to be here.
#[derive(Debug, Default, Clone)]
pub struct Overlay(BTreeMap<String, Arc<str>>);

impl Overlay {
    /// Lays a text over a file.
    pub fn put(&mut self, path: String, text: Arc<str>) {
        self.0.insert(path, text);
    }

    /// Lets a file show through again.
    pub fn remove(&mut self, path: &str) {
        self.0.remove(path);
    }

    /// The text laid over a file.
    pub fn text(&self, path: &str) -> Option<&Arc<str>> {
        self.0.get(path)
    }

    /// The files that something is laid over, in order.
    pub fn paths(&self) -> impl Iterator<Item = &str> {
        self.0.keys().map(String::as_str)
    }
}
