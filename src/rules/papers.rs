//! The right paper for the work, ways accounted for, limitations justified, observations that say what is wrong.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
