//! Serials in two places or none, readings that were copied, supply numbers that cannot be.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
