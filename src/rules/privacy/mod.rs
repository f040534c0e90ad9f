//! Photographs missing, forbidden or telling where they were taken; secrets in the text.

mod location;
mod photographs;
mod text;

pub use location::has_location;
pub use photographs::is_picture;
pub use text::{HIDDEN_KEY, Hit, is_private, name_has_code, name_has_reach, names_contact, personal, secrets};

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
