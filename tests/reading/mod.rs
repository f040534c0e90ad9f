//! A book with one record of every broken kind: each is told once, at its place, and the rest of the record is still checked.

mod broken;
mod files;
mod laid;
pub mod properties;
mod records;
mod silence;

pub use broken::{BrokenBook, Case};
