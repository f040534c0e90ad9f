//! Units in place: warranties that end with a fault on record, and makers' notices not dealt with.

use super::faults::tells_off;
use super::item::{Basis, Draft, Kind};
use crate::book::Record;
use crate::path;
use crate::record::{Recall, SerialRange, UnitEvent};
use crate::rules::identity::{plain_serial, same_serial};
use crate::rules::owed::UnitInPlace;
use crate::rules::story::FaultView;
use crate::rules::view::{JobView, SiteView};

pub(super) fn collect(site: &SiteView<'_>, drafts: &mut Vec<Draft>) {
    for unit in site.units_in_place() {
        warranty(site, &unit, drafts);
        for (id, recall) in &site.book.recalls {
            if touches(site, &unit, recall) {
                drafts.push(recalled(&unit, id, recall));
            }
        }
    }
}

/// Told before it ends whatever became of the fault, and after it while the fault is open.
fn warranty(site: &SiteView<'_>, unit: &UnitInPlace<'_>, drafts: &mut Vec<Draft>) {
    let Some((job, index, ends)) = site.warranty_of(unit.serial) else { return };
    let of_unit = |fault: &FaultView<'_>| fault.fault.unit.as_deref().is_some_and(|serial| same_serial(serial, unit.serial));
    let faults: Vec<FaultView<'_>> = site.jobs().flat_map(JobView::faults).filter(of_unit).collect();
    let open = faults.iter().find(|fault| fault.may_be_pending());
    let Some(fault) = open.or(faults.last()).filter(|_| open.is_some() || ends >= site.today) else { return };
    let model = unit.unit.model.as_deref().unwrap_or("unit");
    let on = unit.unit.circuit.as_deref().map_or(String::new(), |circuit| format!(" on {circuit}"));
    let state = if open.is_some() { "open" } else { "closed" };
    let name = if fault.id().is_empty() { "a fault" } else { fault.id() };
    let found = fault.fault.found.as_deref().map_or(String::new(), |found| format!(": {found}"));
    drafts.push(
        Draft::of_visit(Kind::Warranty, job, path!["units", index, "warranty_until"], format!("warranty of {model}{on} ends"))
            .key(plain_serial(unit.serial))
            .subject(unit.serial)
            .due(Some(ends), Basis::Record)
            .note(format!("serial {}", unit.serial))
            .note(format!("{}#{name} {state}{found}", fault.job.id())),
    );
}

/// Whether a notice surely touches a unit: model, serial, fitting day and firmware are known as far as it asks for them, and no entry says
/// that it was done. Where it gives no serials the unit only may be touched, which is not told here.
fn touches(site: &SiteView<'_>, unit: &UnitInPlace<'_>, recall: &Record<Recall>) -> bool {
    let notice = &recall.data;
    if recall.lost || recall.unreadable.touch(&path!["done"]) || recall.unreadable.touch(&path!["serials"]) {
        return false;
    }
    let entries = || site.jobs().flat_map(|job| job.data().units.iter().map(move |entry| (job, entry)));
    let own = || entries().filter(|(_, entry)| entry.serial.as_deref().is_some_and(|serial| same_serial(serial, unit.serial)));
    let model = own().filter_map(|(_, entry)| entry.model.as_deref()).next_back();
    let firmware = own().filter_map(|(_, entry)| entry.firmware.as_deref()).next_back();
    let fitted = own().filter(|(_, entry)| entry.event == Some(UnitEvent::Fitted)).filter_map(|(job, _)| job.day()).next_back();
    let same_model = model.is_some() && model == notice.model.as_deref();
    let in_range = notice.serials.iter().any(|range| holds(range, unit.serial));
    let in_days = notice
        .fitted
        .as_ref()
        .is_none_or(|days| fitted.is_some_and(|day| days.from.is_none_or(|from| from <= day) && days.to.is_none_or(|to| day <= to)));
    let old = notice.firmware_below.as_deref().is_none_or(|below| firmware.is_some_and(|own| version(own) < version(below)));
    let done = notice.done.iter().any(|done| done.serial.as_deref().is_some_and(|serial| same_serial(serial, unit.serial)));
    same_model && in_range && in_days && old && !done
}

/// The numbers of a firmware's version.
fn version(text: &str) -> Vec<u64> {
    text.split(|c: char| !c.is_ascii_digit()).filter_map(|part| part.parse().ok()).collect()
}

/// Whether a serial lies in a range: the same letters before, and the figures at the end between the range's own.
fn holds(range: &SerialRange, serial: &str) -> bool {
    let split = |text: &str| {
        let plain = plain_serial(text);
        let letters = plain.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
        let number = plain[letters.len()..].parse::<u64>().ok();
        (letters, number)
    };
    let (Some(from), Some(to)) = (range.from.as_deref(), range.to.as_deref()) else {
        return range.from.as_deref().or(range.to.as_deref()).is_some_and(|one| same_serial(one, serial));
    };
    let ((first, low), (last, high), (own, number)) = (split(from), split(to), split(serial));
    let between = low.zip(high).zip(number).is_some_and(|((low, high), number)| (low..=high).contains(&number));
    first == last && first == own && between
}

fn recalled(unit: &UnitInPlace<'_>, id: &str, recall: &Record<Recall>) -> Draft {
    let advice = recall.data.advice.as_deref().map(str::trim).filter(|advice| !advice.is_empty());
    let model = recall.data.model.as_deref().unwrap_or("unit");
    let words = advice.map_or("not dealt with".to_owned(), str::to_owned);
    Draft::of_visit(Kind::Recall, unit.job, path!["units", unit.index], format!("{model} under a maker's notice: {words}"))
        .key(format!("{id} {}", plain_serial(unit.serial)))
        .subject(unit.serial)
        .danger(tells_off(advice))
        .since(recall.data.issued.or(unit.job.day()))
        .note(format!("serial {}", unit.serial))
        .note(format!("recalls/{id}.md"))
}
