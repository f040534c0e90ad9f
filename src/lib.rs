//! Checks a book of electrical site records.
pub mod record;
