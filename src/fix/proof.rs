//! The proof of a fix: the mended text is read again, and compared with what was read before.

use std::collections::{BTreeMap, HashMap};

use super::Fix;
use crate::book::{self, Fault, FaultKind, FieldPath, Places, Reading};
use crate::finding::Finding;
use crate::rules::form;

/// Whether fixes may be looked for in a file at all; otherwise why not.
pub fn may_be_mended(reading: &Reading) -> Result<(), String> {
    if reading.source.text.contains(char::REPLACEMENT_CHARACTER) {
        return Err("the file holds bytes that are not UTF-8".to_owned());
    }
    if reading.faults.iter().any(|fault| fault.kind == FaultKind::ConflictMarks) {
        return Err("the record is half merged".to_owned());
    }
    Ok(())
}

/// Reads the mended text; says what is wrong with it when the fault is still there, another has come, or anything reads otherwise.
pub fn proven(before: &Reading, fault: &Fault, fix: &Fix) -> Result<Reading, String> {
    let text = fix.made_in(&before.source.text);
    let Some(after) = book::read_as_placed(&before.source.path, text) else {
        return Err("no record belongs there".to_owned());
    };
    if after.lost && !before.lost || after.source.body_text() != before.source.body_text() {
        return Err("the record would read otherwise".to_owned());
    }
    compare_faults(before, &after, fault)?;
    compare_values(before, &after, fault)?;
    Ok(after)
}

/// The fault must be gone, and no new one there.
fn compare_faults(before: &Reading, after: &Reading, fault: &Fault) -> Result<(), String> {
    let mut left = told(before, &before.faults);
    let own = told(before, std::slice::from_ref(fault));
    let now = told(after, &after.faults);
    for (one, count) in &own {
        if left.get(one).is_none_or(|there| now.get(one).unwrap_or(&0) + count > *there) {
            return Err("the fault would still be there".to_owned());
        }
    }
    // What was not told of all the many faults may now be.
    if before.faults.iter().any(|fault| fault.kind == FaultKind::ManyMore) {
        return Ok(());
    }
    for (one, count) in now {
        let there = left.entry(one.clone()).or_default();
        if *there < count {
            return Err(format!("something else would be told of: {}", one.1));
        }
    }
    Ok(())
}

/// Faults as they are told, and how often each.
fn told(reading: &Reading, faults: &[Fault]) -> HashMap<(&'static str, String), usize> {
    let mut findings: Vec<Finding> = Vec::new();
    faults.iter().for_each(|fault| form::tell(&reading.source, fault, &mut findings));
    let mut counts = HashMap::new();
    for finding in findings {
        *counts.entry((finding.rule, finding.message)).or_default() += 1;
    }
    counts
}

/// Every value must be what it was. Only what could not be read before may have become a value: that is what the fix is for.
fn compare_values(before: &Reading, after: &Reading, fault: &Fault) -> Result<(), String> {
    let (old_places, new_places) = (Places::of(&before.source), Places::of(&after.source));
    let (old, new) = (values(&old_places), values(&new_places));
    let came = new.iter().filter(|(path, text)| old.get(path) != Some(text)).map(|(path, _)| path);
    let went = old.iter().filter(|(path, text)| {
        // A map whose only entry could not be read stands empty until it can.
        let stood_in = text.is_none_or(|text| text.is_empty() || text == "~") && before.unreadable.touch(path);
        new.get(path) != Some(text) && !stood_in
    });
    if let Some(path) = came.chain(went.map(|(path, _)| path)).find(|path| !before.unreadable.hold(path)) {
        return Err(format!("{path} would read otherwise"));
    }
    // What could be read in spite of the fault must say the same to the letter.
    if was_read_all_the_same(fault) && before.decoded != after.decoded {
        return Err("the record would read otherwise".to_owned());
    }
    Ok(())
}

/// Whether the reading copy held everything that the fault stands in.
fn was_read_all_the_same(fault: &Fault) -> bool {
    let as_written = matches!(fault.kind, FaultKind::FenceDamaged { .. } | FaultKind::FenceMissing | FaultKind::LeadingZero { .. });
    fault.cure.is_some() || as_written || matches!(fault.kind, FaultKind::FenceInside { .. })
}

/// The values as read, by their paths; an empty map or list has no text.
fn values(places: &Places) -> BTreeMap<FieldPath, Option<&str>> {
    places.values().map(|(path, node, _)| (path, node.text())).collect()
}
