//! What of a record could not be read, so that nothing may be said of it.

use super::path::{FieldPath, Step};

/// The parts of a record that are there and could not be read.
#[derive(Debug, Default, Clone)]
pub struct Holes {
    values: Vec<FieldPath>,
    torn: Vec<Torn>,
}

/// A map or list of which a part could not be read, and nobody can say which keys that part held.
#[derive(Debug, Clone)]
struct Torn {
    path: FieldPath,
    /// The keys that can still be seen in it.
    seen: Vec<String>,
}

impl Holes {
    /// Nothing of the record could be read.
    pub fn whole() -> Self {
        Holes { values: vec![FieldPath::root()], torn: Vec::new() }
    }

    /// Adds a value that is there and could not be read.
    pub fn add(&mut self, path: FieldPath) {
        self.values.push(path);
    }

    /// Adds a map or list of which a part could not be read, with the keys that can still be seen in it.
    pub fn tear(&mut self, path: FieldPath, seen: Vec<String>) {
        self.torn.push(Torn { path, seen });
    }

    /// Whether everything could be read.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty() && self.torn.is_empty()
    }

    /// Whether `path` is, or may be, in a part that could not be read: nothing can be said of it, not even that it is missing.
    pub fn hold(&self, path: &FieldPath) -> bool {
        self.values.iter().any(|hole| path.is_within(hole)) || self.torn.iter().any(|torn| torn.holds(path))
    }

    /// The parts at, in or around `path` that could not be read.
    pub fn near(&self, path: &FieldPath) -> impl Iterator<Item = &FieldPath> {
        let values = self.values.iter().filter(|hole| path.is_within(hole) || hole.is_within(path));
        let torn = self.torn.iter().filter(|torn| torn.path.is_within(path) || torn.holds(path)).map(|torn| &torn.path);
        values.chain(torn)
    }

    /// Whether something at, in or around `path` could not be read: what is seen of it may not be all of it.
    pub fn touch(&self, path: &FieldPath) -> bool {
        self.near(path).next().is_some()
    }
}

impl Torn {
    fn holds(&self, path: &FieldPath) -> bool {
        let within = path.is_within(&self.path);
        match path.steps().get(self.path.steps().len()) {
            Some(Step::Key(key)) => within && !self.seen.iter().any(|seen| seen == key),
            _ => false,
        }
    }
}
