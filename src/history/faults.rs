//! The whole story of each fault: every entry of it through the visits that take it up again, and what was read after it was put right.

use std::collections::BTreeMap;

use super::{Entry, Lines, Topic, dated, day_words, joined, plain, said};
use crate::path;
use crate::record::{Date, ReadingKey};
use crate::rules::story::{FaultView, Standing};
use crate::rules::view::SiteView;
use crate::rules::words::days;

/// A fault, from the first visit that recorded it to the last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FaultStory {
    /// `<visit>#<id>` of its first entry.
    pub id: String,
    /// What it is in a few words: code and symptom.
    pub words: String,
    /// The circuit it is on.
    pub circuit: Option<String>,
    /// The unit it is in, by serial.
    pub unit: Option<String>,
    /// The visits that record it, by id, the first first.
    pub visits: Vec<String>,
    /// What happened, in order.
    pub entries: Vec<Entry>,
    /// Whether the last word on it leaves it open or watched, or does not say.
    pub is_pending: bool,
}

/// Every fault of a site, in order of their first visits.
pub fn faults(site: &SiteView<'_>) -> Vec<FaultStory> {
    let mut threads: BTreeMap<(usize, usize), Vec<FaultView<'_>>> = BTreeMap::new();
    for fault in site.jobs().flat_map(|job| job.faults().collect::<Vec<_>>()) {
        let mut root = fault;
        // Each step goes to an earlier visit, so there is an end to it.
        while let Some(before) = root.repeats() {
            root = before;
        }
        threads.entry((root.job.index, root.index)).or_default().push(fault);
    }
    threads.into_values().filter_map(|thread| story(site.today, &thread)).collect()
}

/// The words of some fields, each told once: what an earlier visit said already is not said again.
struct Told<'a> {
    lines: Lines<'a>,
    fault: FaultView<'a>,
    entries: &'a mut Vec<Entry>,
}

impl Told<'_> {
    fn tell(&mut self, topic: Topic, key: &'static str, day: Option<Date>, words: Option<String>) {
        let Some(words) = words.filter(|words| !words.is_empty()) else { return };
        if self.entries.iter().any(|entry| entry.topic == topic && entry.words == words) {
            return;
        }
        let at = self.lines.at(&self.fault.path(key));
        self.entries.push(Entry { topic, day: day.or_else(|| self.fault.job.day()), words, at });
    }
}

fn story(today: Date, thread: &[FaultView<'_>]) -> Option<FaultStory> {
    let (first, last) = (thread.first()?, thread.last()?);
    let mut entries = Vec::new();
    for (place, fault) in thread.iter().enumerate() {
        let before = place.checked_sub(1).and_then(|before| thread.get(before));
        tell_entry(*fault, before.copied(), &mut entries);
    }
    tell_end(*last, today, &mut entries);
    let latest = |of: fn(&FaultView<'_>) -> Option<String>| thread.iter().rev().find_map(of);
    let mut visits: Vec<String> = thread.iter().map(|fault| fault.job.id().to_owned()).collect();
    visits.dedup();
    Some(FaultStory {
        id: format!("{}#{}", first.job.id(), if first.id().is_empty() { (first.index + 1).to_string() } else { first.id().to_owned() }),
        words: last.words(),
        circuit: latest(|fault| said(&fault.fault.circuit)),
        unit: latest(|fault| said(&fault.fault.unit)),
        visits,
        entries,
        is_pending: last.standing() != Standing::Fixed,
    })
}

/// What one visit says of the fault.
fn tell_entry<'a>(fault: FaultView<'a>, before: Option<FaultView<'a>>, entries: &mut Vec<Entry>) {
    let says = fault.fault;
    let mut told = Told { lines: Lines::of(fault.job), fault, entries };
    let symptom = says.symptom.map(plain);
    let code = says.code.map(|code| code.to_string());
    told.tell(Topic::Reported, if says.reported.is_some() { "reported" } else { "symptom" }, says.reported, Some(joined([symptom, code])));
    told.tell(Topic::Found, "found", None, said(&says.found));
    told.tell(Topic::Believed, "believed", None, said(&says.believed));
    let known = before.map_or(&[][..], |before| &before.fault.excluded);
    let excluded: Vec<&str> = says.excluded.iter().filter(|what| !known.contains(what)).map(String::as_str).collect();
    told.tell(Topic::Excluded, "excluded", None, Some(excluded.join(", ")));
    let laid = says.laid_to.map(|to| format!("laid to {to}"));
    let cut = says.cut_back_mm.filter(|mm| **mm > 0.0).map(|mm| format!("{mm} mm of conductor cut away"));
    told.tell(Topic::Cause, "cause", None, Some(joined([says.cause.map(plain), laid, cut])));
    told.tell(Topic::Left, "left", None, says.left.map(plain));
    if let Some(made) = &says.made_safe {
        let notice = made.notice.map(|left| if left { "notice left".to_owned() } else { "no notice left".to_owned() });
        let to = said(&made.told).map(|who| format!("told {who}"));
        told.tell(Topic::MadeSafe, "made_safe", made.on, Some(joined([said(&made.how), notice, to])));
    }
    if let Some(advice) = &says.advice {
        let taken = advice.acknowledged.map(|yes| if yes { "acknowledged" } else { "not acknowledged" }.to_owned());
        told.tell(Topic::Advised, "advice", advice.on, Some(joined([said(&advice.words), advice.how.map(plain), taken])));
    }
    told.tell(Topic::Promised, "return_by", None, dated("to go back by", says.return_by));
    told.tell(Topic::Promised, "watch_until", None, dated("to watch until", says.watch_until));
    if let Some(claim) = &says.claim {
        let with = said(&claim.with).map(|with| format!("with {with}"));
        let kept = claim.part_kept.map(|kept| if kept { "part kept" } else { "part not kept" }.to_owned());
        let asked = [with, said(&claim.reference), dated("sent", claim.sent), dated("chase", claim.chase), kept];
        told.tell(Topic::Claim, "claim", claim.sent, Some(joined(asked)));
        told.tell(Topic::Claim, "claim", claim.answered, Some(joined([dated("answered", claim.answered), said(&claim.outcome)])));
    }
}

/// How it ended: the visit that fixed it and what was read then or since, or that it has not ended.
fn tell_end(last: FaultView<'_>, today: Date, entries: &mut Vec<Entry>) {
    let fixer = last.fixer();
    let named = last.fault.fixed_by.as_deref();
    match last.standing() {
        Standing::Fixed => {
            let (day, words) = match (named, fixer) {
                (Some(named), Some(fixer)) => (fixer.day(), format!("by {named}")),
                (Some(named), None) => (None, format!("by {named}, which this book does not hold")),
                (None, _) => (last.job.day(), format!("at {}, as its state says", last.job.id())),
            };
            let key = if named.is_some() { "fixed_by" } else { "state" };
            let at = Lines::of(last.job).at(&last.path(key));
            entries.push(Entry { topic: Topic::Fixed, day, words, at });
            let from = if named.is_some() { fixer } else { Some(last.job) };
            if let (Some(from), Some(circuit)) = (from, last.fault.circuit.as_deref()) {
                let mut since = std::iter::once(from).chain(from.later()).filter_map(|visit| visit.circuit(circuit));
                let read = since.find_map(|circuit| {
                    let figures = figures(circuit.readings());
                    (!figures.is_empty()).then_some((circuit, figures))
                });
                if let Some((circuit, figures)) = read {
                    let path = path!["circuits", circuit.index, "readings"];
                    entries.push(Lines::of(circuit.job).entry(Topic::Retested, &path, format!("{}: {figures}", circuit.id())));
                }
            }
        }
        standing => {
            let since = last.left_since().or_else(|| last.job.day());
            let for_days =
                since.map(|since| today.days_since(since)).filter(|count| *count >= 0).map(|count| format!(" ({})", days(count)));
            let words = match standing {
                Standing::Watching => "watched",
                Standing::Unsaid => "not said whether it is open, watched or fixed",
                Standing::Open | Standing::Fixed => "open",
            };
            let since = day_words(since, last.job.id());
            let named = named.map_or(String::new(), |named| format!("; {named} is to fix it and is not finished"));
            let words = format!("{words} since {since}{}{named}", for_days.unwrap_or_default());
            let at = Lines::of(last.job).at(&last.path("state"));
            entries.push(Entry { topic: Topic::Standing, day: last.job.day(), words, at });
        }
    }
}

/// The figures of a circuit's readings on one line.
pub(super) fn figures(readings: &crate::record::Readings) -> String {
    let figure = |key: &ReadingKey| Some(format!("{} {} {}", short(*key), key.figure_in(readings)?, key.unit()));
    ReadingKey::ALL.iter().filter_map(figure).collect::<Vec<_>>().join(", ")
}

/// The name of a reading where there is little room; `IR L-E` is live to earth.
pub const fn short(key: ReadingKey) -> &'static str {
    match key {
        ReadingKey::R1R2 => "R1+R2",
        ReadingKey::R2 => "R2",
        ReadingKey::RingR1 => "ring r1",
        ReadingKey::RingRn => "ring rn",
        ReadingKey::RingR2 => "ring r2",
        ReadingKey::IrTestV => "IR test",
        ReadingKey::IrLiveLive => "IR L-L",
        ReadingKey::IrLiveEarth => "IR L-E",
        ReadingKey::Polarity => "polarity",
        ReadingKey::Zs => "Zs",
        ReadingKey::RcdMs => "RCD 1x",
        ReadingKey::Rcd5xMs => "RCD 5x",
        ReadingKey::RcdHalf => "RCD half",
        ReadingKey::RcdButton => "RCD button",
        ReadingKey::RcdDcMs => "RCD d.c.",
        ReadingKey::AfddButton => "AFDD button",
        ReadingKey::Leakage => "leakage",
        ReadingKey::Pilot => "pilot",
    }
}
