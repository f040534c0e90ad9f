//! Observations coded C1, C2 or FI that nothing on record closes.

use super::faults::{tells_off, told};
use super::item::{Basis, Draft, Kind};
use crate::finding::Grade;
use crate::path;
use crate::record::Code;
use crate::rules::owed::ClearBy;
use crate::rules::view::SiteView;

/// C1 and C2 are dangers until a finished visit has cleared them or a later report has looked again.
pub(super) fn collect(site: &SiteView<'_>, drafts: &mut Vec<Draft>) {
    for observation in site.jobs().flat_map(|job| job.observations()) {
        let Some(code) = observation.open_code() else { continue };
        let entry = observation.observation;
        let advice = entry.advice.as_ref();
        let danger = code != Code::Fi || advice.is_some_and(|advice| tells_off(advice.words.as_deref()));
        if !danger && observation.has_hole(&["due", "cleared_by"]) {
            continue;
        }
        let made_safe = entry.made_safe.as_ref().and_then(|made_safe| made_safe.how.as_deref());
        let by = observation.clear_by();
        let basis = match &by {
            Some(ClearBy::Law(..)) => Basis::Law,
            Some(ClearBy::Report(_)) | None => Basis::Record,
            Some(ClearBy::Habit(_)) => Basis::Practice,
        };
        let path = if entry.due.is_some() { observation.path("due") } else { path!["observations", observation.index] };
        let words = entry.what.as_deref().map(str::trim).filter(|what| !what.is_empty()).unwrap_or("an observation not cleared");
        let place = entry.place.as_deref().map_or(String::new(), |place| format!(", {place}"));
        let key = if observation.id().is_empty() { format!("{}", observation.index) } else { observation.id().to_owned() };
        let grade = if basis == Basis::Practice { Grade::Doubt } else { Grade::Breach };
        let set = match &by {
            Some(ClearBy::Law(..)) => "the law's day for a let home",
            Some(ClearBy::Habit(_)) => "no day in the report; counted 28 days",
            _ => "",
        };
        drafts.push(
            Draft::of_visit(Kind::Observation, observation.job, path, format!("{code}: {words}{place}"))
                .key(key)
                .subject(observation.id())
                .code(Some(code))
                .danger(danger)
                .due(by.as_ref().map(ClearBy::day), basis)
                .since(observation.job.day().filter(|_| danger))
                .note(advice.and_then(|advice| advice.words.as_deref()).map_or(String::new(), |words| format!("advised: {}", words.trim())))
                .note(if advice.is_none() { "no advice on record" } else { told(advice) })
                .note(made_safe.map_or(String::new(), |how| format!("made safe: {}", how.trim())))
                .note(set)
                .quieted_by("observation-past-due", grade),
        );
    }
}
