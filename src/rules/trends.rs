//! The same circuit at earlier visits: what has changed by more than instruments scatter.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
