//! Supply facts, earthing, fault level and demand that do not fit one another.

mod demand;
mod earthing;
mod level;

use super::Rule;
pub(crate) use demand::connection;

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &earthing::TN_S_BY_LOOK,
    &earthing::LOOKS_DECLARED,
    &level::DOES_NOT_FIT,
    &level::BOARD_BEYOND_ORIGIN,
    &demand::OVER_CUTOUT,
    &demand::WITHOUT_CHARGING,
    &demand::OPERATOR_NOT_ASKED,
];
