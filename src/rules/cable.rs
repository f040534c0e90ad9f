//! Cable against device, device against board, and terminations worth finding again.

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[];
