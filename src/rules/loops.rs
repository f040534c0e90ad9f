//! Loop impedance and continuity readings that do not fit one another, the cable or its length.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
