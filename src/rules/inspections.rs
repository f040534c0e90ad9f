//! When the next inspection is due, by paper, law or guidance.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
