//! What the one who takes over still owes, and who still owes them: the list of what is due (`crate::due`), in the copy's own names.

use super::Wanted;
use super::plan::{Plan, SitePlan};
use super::told::said;
use crate::book::Book;
use crate::due::{self, Item, Kind};
use crate::record::Date;

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
        let last = wanted.on.plus_days(due::AHEAD_DAYS);
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
                    let line = line(plan, &item, site);
                    dated.push((day, format!("{day}{late} {line}")));
                }
                Some(_) => {}
                None if is_told_elsewhere(item.kind) => {}
                None => waiting.push(line(plan, &item, site)),
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
fn line(plan: &Plan<'_>, item: &Item, site: Option<&SitePlan<'_>>) -> String {
    let Some(site) = site else { return said(&item.what) };
    let visit = item.visit.as_deref().and_then(|visit| site.name_of(visit));
    let place = visit.map_or_else(|| site.name.clone(), |visit| format!("{} {visit}", site.name));
    let subject = match item.kind {
        Kind::Return => format!("go back for {}: ", item.subject),
        Kind::Watch => format!("{} watched until then: ", item.subject),
        Kind::Observation => format!("{} to be cleared: ", item.subject),
        Kind::Claim if !item.subject.is_empty() => format!("{}: ", item.subject),
        _ => String::new(),
    };
    let words = std::iter::once(&item.what).chain(&item.notes).map(|words| shown(words, site)).collect::<Vec<_>>().join("; ");
    plan.on_cover(site, &format!("{place}: {}", said(&format!("{subject}{words}"))))
}

/// Words in which every visit bears the name that it has in the copy.
fn shown(words: &str, site: &SitePlan<'_>) -> String {
    let visits = site.visits.keys().chain(site.left.keys());
    let renamed = visits.filter_map(|visit| Some((visit, site.name_of(visit).filter(|name| name != visit)?)));
    renamed.fold(words.to_owned(), |words, (visit, name)| words.replace(visit.as_str(), &name))
}
