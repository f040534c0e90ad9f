//! Photographs missing, forbidden or telling where they were taken; secrets in the text.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
