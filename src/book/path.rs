//! Where a value stands in a record: the path of keys and list places that rules speak in.

use std::borrow::Cow;
use std::fmt;

use serde::{Deserialize, Serialize};

/// One step down into a record.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Step {
    /// A key of a map.
    Key(Cow<'static, str>),
    /// A place in a list, counted from 0.
    Index(usize),
}

impl From<&'static str> for Step {
    fn from(key: &'static str) -> Self {
        Step::Key(Cow::Borrowed(key))
    }
}

impl From<String> for Step {
    fn from(key: String) -> Self {
        Step::Key(Cow::Owned(key))
    }
}

impl From<usize> for Step {
    fn from(index: usize) -> Self {
        Step::Index(index)
    }
}

/// A path into a record's front matter; the empty path is the whole of it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub struct FieldPath(Vec<Step>);

impl FieldPath {
    /// The whole record.
    pub fn root() -> Self {
        FieldPath::default()
    }

    /// This path with one more step.
    #[must_use]
    pub fn at(&self, step: impl Into<Step>) -> Self {
        let mut steps = Vec::with_capacity(self.0.len() + 1);
        steps.extend_from_slice(&self.0);
        steps.push(step.into());
        FieldPath(steps)
    }

    /// Adds a step.
    pub fn push(&mut self, step: impl Into<Step>) {
        self.0.push(step.into());
    }

    /// The steps, outermost first.
    pub fn steps(&self) -> &[Step] {
        &self.0
    }

    /// Whether this is the whole record.
    pub fn is_root(&self) -> bool {
        self.0.is_empty()
    }

    /// The path one step up; nothing above the root.
    pub fn parent(&self) -> Option<FieldPath> {
        let (_, parent) = self.0.split_last()?;
        Some(FieldPath(parent.to_vec()))
    }

    /// Whether this path is `outer` or lies within it.
    pub fn is_within(&self, outer: &FieldPath) -> bool {
        self.0.starts_with(&outer.0)
    }

    /// The last key on the path, if it ends in one.
    pub fn last_key(&self) -> Option<&str> {
        match self.0.last() {
            Some(Step::Key(key)) => Some(key),
            _ => None,
        }
    }
}

impl FromIterator<Step> for FieldPath {
    fn from_iter<I: IntoIterator<Item = Step>>(steps: I) -> Self {
        FieldPath(steps.into_iter().collect())
    }
}

/// Builds a [`FieldPath`] from keys and list places: `path!["circuits", 0, "readings"]`.
#[macro_export]
macro_rules! path {
    ($($step:expr),* $(,)?) => {{
        #[allow(unused_mut)]
        let mut path = $crate::book::FieldPath::root();
        $(path.push($step);)*
        path
    }};
}

/// Prints an RFC 6901 JSON Pointer.
impl fmt::Display for FieldPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for step in &self.0 {
            match step {
                Step::Key(key) => write!(f, "/{}", key.replace('~', "~0").replace('/', "~1"))?,
                Step::Index(index) => write!(f, "/{index}")?,
            }
        }
        Ok(())
    }
}
