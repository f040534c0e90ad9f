//! Readings outside a published limit.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
