//! Residual current devices: type, sharing, selectivity and readings that cannot be right.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
