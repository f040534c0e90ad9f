//! What the one who takes over still owes, and who still owes them: the list of what is due (`crate::due`), in the copy's own names.

use super::Wanted;
use super::plan::{Plan, SitePlan};
use super::told::said;
use crate::book::Book;
use crate::due::{self, Item, Kind};
use crate::record::Date;

/// Days ahead that a hand-over looks.
pub const AHEAD_DAYS: i32 = 90;

/// What is owed by the sites of a copy and by the instruments, in lines.
pub struct Owed {
    /// What waits on somebody, or has no day; what stands among the dangers, the open faults and the makers' notices is not told again.
    pub waiting: Vec<String>,
    /// What is overdue or falls due soon, by its day.
    pub dated: Vec<String>,
}

impl Owed {
    /// Gathers it.
    pub fn of(book: &Book, wanted: &Wanted, plan: &Plan<'_>) -> Owed {
        let last = wanted.on.plus_days(AHEAD_DAYS);
        let mut waiting = Vec::new();
        let mut dated: Vec<(Date, String)> = Vec::new();
        for item in due::due(book, wanted.on).items {
            let site = match &item.site {
                Some(id) => match plan.sites.iter().find(|site| site.files.id == *id) {
                    Some(site) => Some(site),
                    // Nothing of a site that is not in the copy is told here; that a danger is open there stands under Dangers.
                    None => continue,
                },
                None => None,
            };
            match item.day {
                Some(day) if day <= last => {
                    let late = if day < wanted.on { format!(" ({} days ago)", wanted.on.days_since(day)) } else { String::new() };
                    let line = line(&item, site);
                    dated.push((day, format!("{day}{late} {line}")));
                }
                Some(_) => {}
                None if is_told_elsewhere(item.kind) => {}
                None => waiting.push(line(&item, site)),
            }
        }
        dated.sort();
        Owed { waiting, dated: dated.into_iter().map(|(_, line)| line).collect() }
    }
}

/// Whether a part of the cover that comes before tells it whole when it has no day.
fn is_told_elsewhere(kind: Kind) -> bool {
    matches!(kind, Kind::Return | Kind::Watch | Kind::Observation | Kind::Recall)
}

/// An item in a sentence, with the names of the copy.
fn line(item: &Item, site: Option<&SitePlan<'_>>) -> String {
    let Some(site) = site else { return said(&item.what) };
    let visit = item.visit.as_deref().and_then(|visit| site.visits.get(visit).cloned().or_else(|| site.left.get(visit).map(day_of)));
    let place = visit.map_or_else(|| site.name.clone(), |visit| format!("{} {visit}", site.name));
    let subject = match item.kind {
        Kind::Return => format!("go back for {}: ", item.subject),
        Kind::Watch => format!("{} watched until then: ", item.subject),
        Kind::Observation => format!("{} to be cleared: ", item.subject),
        Kind::Claim if !item.subject.is_empty() => format!("{}: ", item.subject),
        _ => String::new(),
    };
    let words = std::iter::once(&item.what).chain(&item.notes).map(|words| shown(words, site)).collect::<Vec<_>>().join("; ");
    format!("{place}: {}", said(&format!("{subject}{words}")))
}

fn day_of(day: &String) -> String {
    format!("a visit of {day}")
}

/// Words in which every visit bears the name that it has in the copy.
fn shown(words: &str, site: &SitePlan<'_>) -> String {
    let named = site.visits.iter().filter(|(own, shown)| own != shown).map(|(own, shown)| (own, shown.clone()));
    let left = site.left.iter().map(|(own, day)| (own, day_of(day)));
    named.chain(left).fold(words.to_owned(), |words, (own, shown)| words.replace(own.as_str(), &shown))
}
