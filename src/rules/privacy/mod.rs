//! Photographs missing, forbidden or telling where they were taken; secrets in the text.

mod location;
mod photographs;
mod text;

pub(crate) use photographs::is_picture;
pub use text::{is_private, names_contact};

use super::Rule;

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &photographs::MISSING,
    &photographs::NOT_NAMED,
    &photographs::FORBIDDEN,
    &photographs::TELLS_PLACE,
    &text::ACCESS_CODE,
    &text::CONTACT,
    &text::CARD_NUMBER,
];
