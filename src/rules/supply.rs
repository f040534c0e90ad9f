//! Supply facts, earthing, fault level and demand that do not fit one another.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
