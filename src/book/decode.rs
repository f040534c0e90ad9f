//! From text to record. A sound file is decoded once; a damaged one is read again, part by part, so that every fault is told and
//! everything else is still there to be judged.

use serde::de::DeserializeOwned;

use super::fault::{Fault, FaultKind};
use super::holes::Holes;
use super::lexical;
use super::repair::Repair;
use super::source::SourceFile;
use super::tree;

/// More than any record needs, and little enough to be decoded in milliseconds.
pub const MAX_FRONT_BYTES: usize = 256 * 1024;
/// Bytes that the aliases of a record may stand for; a decoder follows every one of them.
const MAX_EXPANDED_BYTES: u64 = 4 * MAX_FRONT_BYTES as u64;
/// Faults of one sort told of one file before the rest is left for the next run.
pub const MAX_TOLD: usize = 64;

/// What could be read of a record.
#[derive(Debug)]
pub struct Decoded<T> {
    /// The record, with holes where something could not be read.
    pub data: T,
    /// What is there and could not be read.
    pub unreadable: Holes,
    /// True when nothing of the front matter could be read.
    pub lost: bool,
}

impl<T: Default> Decoded<T> {
    /// Nothing could be read.
    pub fn lost() -> Self {
        Decoded { data: T::default(), unreadable: Holes::whole(), lost: true }
    }
}

/// Decodes the front matter of `file`, adding faults in file coordinates; sets `file.mended` when it had to be read from a mended copy.
pub fn decode<T: DeserializeOwned + Default>(file: &mut SourceFile, faults: &mut Vec<Fault>) -> Decoded<T> {
    let front = file.front_text();
    let start = file.front.start;
    let cut_off = faults.iter().any(|fault| fault.kind == FaultKind::Unclosed);
    if front.len() > MAX_FRONT_BYTES {
        // Of a file read only in part, the size has been told.
        if !faults.iter().any(|fault| matches!(fault.kind, FaultKind::TooLarge { .. })) {
            faults.push(Fault::at(FaultKind::FrontTooLarge { bytes: front.len() }, start..start));
        }
        faults.retain(|fault| fault.kind != FaultKind::Unclosed);
        return Decoded::lost();
    }
    if lexical::is_blank(front) {
        faults.retain(|fault| fault.kind != FaultKind::Unclosed);
        faults.push(Fault::at(FaultKind::FrontEmpty, start..start));
        return Decoded::lost();
    }
    let mut found: Vec<Fault> = lexical::leading_zeros(front).take(MAX_TOLD + 2).collect();
    let mut repair = None;
    if !lexical::is_plain(front) {
        let mut mending = Repair::new(front);
        mending.mend_characters();
        repair = mending.is_needed().then_some(mending);
    }
    // Open brackets cost the scanner quadratic time, and aliases can stand for any amount of text: both are looked at before a decoder
    // sees the text.
    if lexical::too_deep(front).is_some() {
        repair.get_or_insert_with(|| Repair::new(front)).cut_depth();
    }
    if lexical::may_hold_aliases(front)
        && let Some(aliases) = tree::weigh_aliases(front)
        && aliases.expanded > MAX_EXPANDED_BYTES
    {
        repair.get_or_insert_with(|| Repair::new(front)).cut_aliases(&aliases);
    }
    if repair.is_none()
        && found.is_empty()
        && !cut_off
        && let Ok(data) = serde_yaml::from_str::<T>(front)
    {
        return Decoded { data, unreadable: Holes::default(), lost: false };
    }
    let mut repair = repair.unwrap_or_else(|| Repair::new(front));
    repair.add_faults(&mut found);
    // What a cut-off file has behind its front matter is prose, and its front matter ends where somebody meant it to.
    let ends_with_file = cut_off && file.body.is_empty();
    let blurred = faults.iter().any(|fault| matches!(fault.kind, FaultKind::NotUtf8 { .. }));
    let mended = repair.run(ends_with_file, blurred);
    faults.extend(mended.faults.into_iter().map(|fault| fault.moved_by(start)));
    file.mended = mended.mend;
    let Some(data) = mended.data else { return Decoded::lost() };
    Decoded { data, unreadable: mended.holes, lost: false }
}
