//! Visits for one symptom that are not linked, swaps that re-open an earlier reasoning.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
