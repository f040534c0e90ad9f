//! Which readings changed since the visit before.

use super::{At, Lines, day_words};
use crate::path;
use crate::record::{Reading, ReadingKey};
use crate::rules::trends;
use crate::rules::view::{CircuitView, SiteView};

/// A reading and the one before it.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// The circuit.
    pub circuit: String,
    /// The reading.
    pub key: ReadingKey,
    /// The last one.
    pub now: Reading,
    /// Its day, or its visit's id.
    pub day: String,
    /// Where it stands.
    pub at: At,
    /// The one before.
    pub before: Reading,
    /// Its day, or its visit's id.
    pub before_day: String,
    /// Where it stands.
    pub before_at: At,
    /// By what share of the one before it changed, in percent; at least that much where one of them is off the scale, and nothing where
    /// the one before is nought.
    pub percent: Option<f64>,
}

impl Change {
    /// Whether one of the two is off the scale, so that the change is not known to the figure.
    pub fn is_off_scale(&self) -> bool {
        self.now.exact().is_none() || self.before.exact().is_none()
    }
}

/// The readings of each circuit that changed by more than so many percent between the last two visits that took them. Readings of an
/// earlier cable are not compared.
pub fn changes(site: &SiteView<'_>, percent: f64) -> Vec<Change> {
    let mut changes = Vec::new();
    for id in super::circuit_ids(site) {
        let visits: Vec<CircuitView<'_>> = site.jobs().rev().filter_map(|job| job.circuit(id)).collect();
        for key in ReadingKey::ALL.iter().copied() {
            let latest = visits.iter().find_map(|circuit| Some((*circuit, key.figure_in(circuit.readings())?)));
            let Some((circuit, now)) = latest else { continue };
            let before = trends::earlier(circuit).find_map(|before| Some((before, key.figure_in(before.readings())?)));
            let Some((earlier, before)) = before.filter(|(_, before)| *before != now) else { continue };
            let share = (before.value > 0.0).then(|| (now.value - before.value) / before.value * 100.0);
            // Two readings that are both past the end of a scale say nothing of a change.
            if now.scale != crate::record::Scale::On && now.scale == before.scale || share.is_some_and(|share| share.abs() <= percent) {
                continue;
            }
            let at = |circuit: CircuitView<'_>| Lines::of(circuit.job).at(&path!["circuits", circuit.index, "readings", key.as_str()]);
            changes.push(Change {
                circuit: id.to_owned(),
                key,
                now,
                day: day_words(circuit.job.day(), circuit.job.id()),
                at: at(circuit),
                before,
                before_day: day_words(earlier.job.day(), earlier.job.id()),
                before_at: at(earlier),
                percent: share,
            });
        }
    }
    changes
}
