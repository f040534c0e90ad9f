//! Faults left open: what was told not to be used and never gone back to, returns promised, trips being watched.

use super::item::{Basis, Draft, Kind};
use crate::finding::Grade;
use crate::path;
use crate::record::{Advice, FaultState, How, Left};
use crate::rules::story::FaultView;
use crate::rules::view::SiteView;
use crate::rules::words::days;

/// A pending fault is a return or a watch; a dangerous one stays until it is fixed, a harmless one until somebody has gone back.
pub(super) fn collect(site: &SiteView<'_>, drafts: &mut Vec<Draft>) {
    for fault in site.jobs().flat_map(|job| job.faults()).filter(FaultView::may_be_pending) {
        let danger = is_danger(&fault);
        let looks_again = fault.looks_again();
        // A word that cannot be read may say that all is well; a danger is told until it can be read that it is.
        let unsure = fault.has_hole(&["state", "fixed_by", "return_by", "watch_until"]);
        let open = fault.is_pending() || looks_again.is_some();
        if !danger && (unsure || !open || fault.followed_by().is_some()) {
            continue;
        }
        drafts.push(draft(&fault, danger));
    }
}

fn draft(fault: &FaultView<'_>, danger: bool) -> Draft {
    let watched = fault.fault.state == Some(FaultState::Watching);
    let looks_again = fault.looks_again();
    let kind = match looks_again {
        Some(("watch_until", _)) => Kind::Watch,
        Some(_) => Kind::Return,
        None if watched => Kind::Watch,
        None => Kind::Return,
    };
    let path = match looks_again {
        Some((key, _)) => fault.path(key),
        None => path!["faults", fault.index],
    };
    let key = if fault.id().is_empty() { format!("{}", fault.index) } else { fault.id().to_owned() };
    // Who went back without a word on it.
    let back = fault.followed_by().map_or(String::new(), |later| format!("{} went back and does not close it", later.id()));
    Draft::of_visit(kind, fault.job, path, what(fault))
        .key(key)
        .subject(fault.id())
        .danger(danger)
        .code(fault.fault.code)
        .due(looks_again.map(|(_, day)| day), Basis::Record)
        .since(fault.left_since().filter(|_| danger || looks_again.is_none()))
        .note(left(fault))
        .note(told(fault.fault.advice.as_ref()))
        .note(back)
        .quieted_by(if looks_again.is_some() { "return-date-gone-by" } else { "return-date-missing" }, Grade::Breach)
}

/// Whether somebody may be hurt by it, was told not to use it, or it was isolated.
pub fn is_danger(fault: &FaultView<'_>) -> bool {
    let told = fault.fault.advice.as_ref().is_some_and(|advice| tells_off(advice.words.as_deref()));
    fault.is_dangerous() || fault.fault.left == Some(Left::Isolated) || told
}

/// Whether words tell somebody not to use a thing.
pub(super) fn tells_off(words: Option<&str>) -> bool {
    let words = words.unwrap_or_default().to_lowercase();
    let forbids = [
        "not use",
        "n't use",
        "not be used",
        "never use",
        "stop using",
        "not charge",
        "n't charge",
        "stop charging",
        "out of use",
        "isolat",
        "disconnected",
    ];
    let words_of = || words.split(|c: char| !c.is_alphanumeric());
    let off = words_of().any(|word| word == "off");
    let stays =
        words_of().any(|word| ["keep", "kept", "leave", "left", "stay", "stays", "switch", "switched", "turn", "turned"].contains(&word));
    forbids.iter().any(|phrase| words.contains(phrase)) || off && stays
}

/// The code and the symptom, then the advice's own words, or what was found.
fn what(fault: &FaultView<'_>) -> String {
    let advice = fault.fault.advice.as_ref().and_then(|advice| advice.words.as_deref());
    let text = advice.or(fault.fault.found.as_deref()).map(str::trim).filter(|text| !text.is_empty());
    match (fault.words(), text) {
        (words, None) if words.is_empty() => "a fault left open".to_owned(),
        (words, None) => words,
        (words, Some(text)) if words.is_empty() => text.to_owned(),
        (words, Some(text)) => format!("{words}: {text}"),
    }
}

/// How it was left, on which circuit, and for how long that has been so.
fn left(fault: &FaultView<'_>) -> String {
    let left = match fault.fault.left {
        Some(Left::Live) => "left live",
        Some(Left::Isolated) => "left isolated",
        Some(Left::Removed) => "part taken away",
        None => "nothing says how it was left",
    };
    let circuit = fault.fault.circuit.as_deref().map_or(String::new(), |circuit| format!("{circuit}: "));
    let since = fault.left_since().map_or(String::new(), |day| {
        let gone = days(fault.job.site.today.days_since(day).max(0));
        format!(" since {day}, {gone}")
    });
    format!("{circuit}{left}{since}")
}

/// How it was told; what was told only by word of mouth is worth knowing.
pub(super) fn told(advice: Option<&Advice>) -> &'static str {
    match advice {
        Some(advice) if advice.how == Some(How::Verbal) => "told by word of mouth only",
        Some(advice) if advice.acknowledged != Some(true) => "advice not acknowledged",
        _ => "",
    }
}
