//! Insulation readings that are within limits and still cannot be right, or need a word.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
