//! Calibrations, and checks where an instrument has a rhythm of its own.

use super::item::{Basis, Draft, Kind};
use crate::book::{Book, Record};
use crate::finding::Place;
use crate::path;
use crate::record::{CheckResult, Date, Instrument, InstrumentKind};
use crate::rules::words::days;

/// Gaps between checks that make a rhythm; a threshold of this program's own.
const GAPS: usize = 4;
/// Days before a check is due by that rhythm from which it is told: it is an estimate, and comes round often. A threshold of this
/// program's own.
const AHEAD: i32 = 14;
/// The longest of them over the shortest, up to which they are a rhythm; a threshold of this program's own.
const SPREAD: i32 = 3;

pub(super) fn collect(book: &Book, today: Date, drafts: &mut Vec<Draft>) {
    for (id, record) in &book.instruments {
        // What stands there and could not be read may be the very entry that is asked for.
        if record.lost || record.data.retired.is_some_and(|day| day <= today) {
            continue;
        }
        if !record.unreadable.touch(&path!["calibrations"]) {
            calibration(id, record, drafts);
        }
        if !record.unreadable.touch(&path!["checks"]) {
            check(id, record, today, drafts);
        }
    }
}

fn calibration(id: &str, record: &Record<Instrument>, drafts: &mut Vec<Draft>) {
    let calibrations = record.data.calibrations.iter().enumerate();
    let latest = calibrations.filter_map(|(index, calibration)| Some((calibration.due?, index))).max();
    let Some((due, index)) = latest else { return };
    let place = Place::at(&record.source, path!["calibrations", index, "due"]);
    let kind = record.data.kind.filter(|kind| *kind != InstrumentKind::Other).map_or(String::new(), |kind| kind.as_str().replace('-', " "));
    drafts.push(
        Draft::new(Kind::Calibration, place, format!("{id}: calibration"))
            .key("calibration")
            .subject(id)
            .due(Some(due), Basis::Record)
            .note(kind),
    );
}

/// The next check after the last, at the longest of the last few gaps; after a failed one, at once.
fn check(id: &str, record: &Record<Instrument>, today: Date, drafts: &mut Vec<Draft>) {
    let mut checks: Vec<(Date, usize)> =
        record.data.checks.iter().enumerate().filter_map(|(index, check)| Some((check.on?, index))).collect();
    checks.sort_unstable();
    let Some(&(last, index)) = checks.last() else { return };
    let draft = |words: &str| {
        let place = Place::at(&record.source, path!["checks", index]);
        Draft::new(Kind::Calibration, place, format!("{id}: {words}")).key("check").subject(id)
    };
    let calibrated = record.data.calibrations.iter().filter_map(|calibration| calibration.on).any(|on| on >= last);
    if record.data.checks[index].result == Some(CheckResult::Failed) {
        if !calibrated {
            drafts.push(draft("failed its check, and has not been found good since").due(Some(last), Basis::Record));
        }
        return;
    }
    let gaps: Vec<i32> = checks.windows(2).map(|pair| pair[1].0.days_since(pair[0].0)).rev().take(GAPS).collect();
    let (Some(&shortest), Some(&longest)) = (gaps.iter().min(), gaps.iter().max()) else { return };
    if gaps.len() < GAPS || shortest <= 0 || longest > shortest.saturating_mul(SPREAD) {
        return;
    }
    let by = last.plus_days(longest);
    if by > today.plus_days(AHEAD) {
        return;
    }
    let rhythm = format!("last on {last}; the last {GAPS} came {shortest} to {} apart", days(longest));
    drafts.push(draft("check, by its own rhythm").due(Some(by), Basis::Practice).note(rhythm));
}
