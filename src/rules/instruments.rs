//! Instruments: named, in calibration, and what their failed checks touch.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
