//! Faults, advice and promises that were left open.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
