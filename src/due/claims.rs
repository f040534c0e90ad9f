//! Claims on a seller or maker that nobody has answered.

use super::item::{Basis, Draft, Kind};
use crate::finding::Grade;
use crate::record::Date;
use crate::rules::view::SiteView;
use crate::rules::words::{days, says};

/// Days without an answer after which a claim is chased where the record sets no day; common practice.
pub const SILENT_DAYS: i32 = 14;

/// A claim is chased on its own day, or after a fortnight's silence.
pub(super) fn collect(site: &SiteView<'_>, drafts: &mut Vec<Draft>) {
    for job in site.jobs() {
        for (fault, claim) in job.waiting_claims() {
            let with = claim.with.as_deref().filter(|with| !with.trim().is_empty()).unwrap_or("somebody");
            let reference = claim.reference.as_deref().filter(|_| says(&claim.reference));
            let reference = reference.map_or("no reference".to_owned(), |reference| format!("ref {reference}"));
            let found = fault.fault.found.as_deref().map_or(String::new(), |found| format!(": {found}"));
            let silence = claim.sent.map(|sent| site.today.days_since(sent));
            let habit = claim.sent.map(|sent| sent.plus_days(SILENT_DAYS)).filter(|_| claim.chase.is_none());
            let key = if claim.chase.is_some() { "chase" } else { "sent" };
            let mut draft = Draft::of_visit(Kind::Claim, job, fault.path("claim").at(key), format!("chase {with}, {reference}{found}"))
                .key(format!("{}.{}", fault.index, fault.id()))
                .subject(fault.id())
                .due(claim.chase.or(habit), if claim.chase.is_some() { Basis::Record } else { Basis::Practice })
                .note(sent(claim.sent, site.today));
            if silence.is_some_and(|silence| silence >= SILENT_DAYS) {
                draft = draft.since(claim.sent);
            }
            if habit.is_some() {
                draft =
                    draft.note(format!("no chase day set; counted {}", days(SILENT_DAYS))).quieted_by("claim-without-chase", Grade::Tidy);
            } else {
                draft = draft.quieted_by("claim-chase-gone-by", Grade::Breach);
            }
            let ends = fault.fault.unit.as_deref().and_then(|serial| site.warranty_of(serial));
            drafts.push(draft.note(ends.map_or(String::new(), |(_, _, ends)| format!("warranty ends {ends}"))));
        }
    }
}

fn sent(sent: Option<Date>, today: Date) -> String {
    sent.map_or("no day of sending on record".to_owned(), |sent| {
        format!("sent {sent}, {} without an answer", days(today.days_since(sent).max(0)))
    })
}
