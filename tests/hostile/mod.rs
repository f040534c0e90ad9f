//! A machine that does not do what it should. `kill.sh` beside this file is for a longer look.

mod found;
mod full_disk;
#[cfg(unix)]
pub mod permission;
mod together;
