//! The next inspection of a site: what a paper, a law or guidance sets.

use super::item::{Basis, Draft, Kind};
use crate::path;
use crate::rules::inspections::{ground_grade, ground_words, premises_words};
use crate::rules::story::Ground;
use crate::rules::view::SiteView;

/// Quiet while the inspection is booked, unless its day has passed.
pub(super) fn collect(site: &SiteView<'_>, drafts: &mut Vec<Draft>) {
    let Some(next) = site.reinspection() else { return };
    let over = next.due < site.today;
    let booked = next.job.inspection_booked();
    if booked.is_some() && !over {
        return;
    }
    let basis = match next.ground {
        Ground::Paper => Basis::Record,
        Ground::Law(_) => Basis::Law,
        Ground::Guidance(_) => Basis::Guidance,
    };
    let here = premises_words(site.site().and_then(|site| site.premises));
    let rule = if over { "reinspection-overdue" } else { "reinspection-due-soon" };
    let grade = if over { ground_grade(&next.ground) } else { crate::finding::Grade::Tidy };
    let law = site.lawful_from(next.job).filter(|_| matches!(next.ground, Ground::Paper));
    drafts.push(
        Draft::of_visit(Kind::Inspection, next.job, path!["next_inspection"], format!("inspect {here}"))
            .key("next")
            .due(Some(next.due), basis)
            .note(ground_words(site, next.job, &next.ground))
            .note(law.map_or(String::new(), |(last, _)| format!("the law's last day is {last}")))
            .note(booked.map_or(String::new(), |visit| format!("{} is not finished", visit.id())))
            .quieted_by(rule, grade),
    );
}
