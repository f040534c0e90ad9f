//! Dates that cannot stand in that order, editions by date, and notices by their deadlines.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
