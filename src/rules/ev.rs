//! Charging circuits: earthing measure, d.c. detection, load limiting, statements and labels.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
