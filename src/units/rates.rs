//! How often units of a model fail: faults over unit-years, with what so few can show.

use std::collections::BTreeMap;

use super::Fleet;
use crate::record::{Date, LaidTo, ModelKind};
use crate::statistics::DAYS_A_YEAR;
use crate::statistics::poisson::{CONFIDENCE, Comparison, Counted, Interval, compare, rate_interval};

/// With fewer faults in two models together nothing is said of a difference, whatever the test says. A threshold of this program's own.
pub const LEAST_FAULTS: u32 = 5;

/// What the book has seen of one model.
#[derive(Debug, Clone, PartialEq)]
pub struct ModelRate {
    /// The model, by id.
    pub model: String,
    /// Its kind, from the register.
    pub kind: Option<ModelKind>,
    /// Units that were ever in place.
    pub units: usize,
    /// Units in place now.
    pub in_place: usize,
    /// Years in place up to the day, all units together. One whose fitting is not on record counts from the day it was first seen.
    pub unit_years: f64,
    /// Faults counted.
    pub faults: u32,
    /// Faults laid to somebody who was not asked about.
    pub left_out: u32,
    /// Faults over unit-years, with the exact interval of that rate; nothing without a day in place.
    pub rate: Option<(f64, Interval)>,
}

/// Two models of one kind beside one another.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The first model, by its place in the list of rates.
    pub first: usize,
    /// The second.
    pub second: usize,
    /// The exact comparison.
    pub comparison: Comparison,
    /// The confidence of its interval: such that the intervals of all pairs tested hold together at 95 %.
    pub confidence: f64,
    /// What may be said.
    pub says: Says,
}

/// What a comparison allows to be said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Says {
    /// Too few faults to tell the two apart, or to call them alike.
    TooFew,
    /// Enough faults to look, and no difference that chance does not make.
    NotToldApart,
    /// More of a difference than chance makes, all pairs considered.
    Differ,
}

impl Says {
    /// The word for it that machines read.
    pub const fn as_str(self) -> &'static str {
        match self {
            Says::TooFew => "too-few",
            Says::NotToldApart => "not-told-apart",
            Says::Differ => "differ",
        }
    }
}

/// The failure statistics of a fleet.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Rates {
    /// To whom the faults counted are laid.
    pub causes: Vec<LaidTo>,
    /// Each model, in order of ids.
    pub models: Vec<ModelRate>,
    /// Units left out because nobody wrote down which model they are.
    pub without_model: usize,
    /// Each two models of a kind.
    pub pairs: Vec<Pair>,
}

/// Counts faults laid to one of `causes`, for each model that `wanted` lets through.
pub fn rates(fleet: &Fleet, causes: &[LaidTo], wanted: impl Fn(&super::Life) -> bool) -> Rates {
    let mut models: BTreeMap<&str, ModelRate> = BTreeMap::new();
    let mut without_model = 0;
    let mut of_life: Vec<Option<&str>> = vec![None; fleet.lives.len()];
    for (at, life) in fleet.lives.iter().enumerate().filter(|(_, life)| wanted(life)) {
        let Some(model) = life.model.as_deref() else {
            without_model += 1;
            continue;
        };
        of_life[at] = Some(model);
        let entry = models.entry(model).or_insert_with(|| ModelRate {
            model: model.to_owned(),
            kind: life.kind,
            units: 0,
            in_place: 0,
            unit_years: 0.0,
            faults: 0,
            left_out: 0,
            rate: None,
        });
        entry.units += 1;
        entry.in_place += usize::from(life.is_in_place());
        entry.unit_years += f64::from(days_in_place(life, fleet.on)) / DAYS_A_YEAR;
    }
    for (fault, lives) in &fleet.faults {
        for model in lives.iter().filter_map(|at| of_life[*at]) {
            let Some(entry) = models.get_mut(model) else { continue };
            if causes.contains(&fault.laid_to) {
                entry.faults += 1;
            } else {
                entry.left_out += 1;
            }
        }
    }
    let mut models: Vec<ModelRate> = models.into_values().collect();
    for model in &mut models {
        let interval = rate_interval(model.faults, model.unit_years, CONFIDENCE);
        model.rate = interval.map(|interval| (f64::from(model.faults) / model.unit_years, interval));
    }
    let pairs = pairs(&models);
    Rates { causes: causes.to_vec(), models, without_model, pairs }
}

/// Days on which a unit was in place; a day that two records share counts once.
fn days_in_place(life: &super::Life, on: Date) -> i32 {
    let spans = life.stays.iter().filter_map(|stay| {
        let until = if stay.is_open() { on } else { stay.until? };
        Some((stay.since?, until.min(on)))
    });
    let mut spans: Vec<(Date, Date)> = spans.collect();
    spans.sort_unstable();
    let mut days = 0;
    let mut counted_to: Option<Date> = None;
    for (since, until) in spans {
        let since = counted_to.map_or(since, |to| since.max(to));
        days += until.days_since(since).max(0);
        counted_to = Some(counted_to.map_or(until, |to| to.max(until)));
    }
    days
}

fn pairs(models: &[ModelRate]) -> Vec<Pair> {
    let alike = |a: &ModelRate, b: &ModelRate| a.kind.is_some() && a.kind == b.kind && a.rate.is_some() && b.rate.is_some();
    let places = (0..models.len()).flat_map(|first| (first + 1..models.len()).map(move |second| (first, second)));
    let places: Vec<(usize, usize)> = places.filter(|(first, second)| alike(&models[*first], &models[*second])).collect();
    let enough = |first: usize, second: usize| models[first].faults + models[second].faults >= LEAST_FAULTS;
    // Many pairs find a difference by chance, so the level is shared out (Bonferroni) over those that could show one: the test is
    // conditional on how many faults the two have, and may be chosen by it.
    let tested = places.iter().filter(|(first, second)| enough(*first, *second)).count().max(1);
    let confidence = 1.0 - (1.0 - CONFIDENCE) / tested as f64;
    let group = |model: &ModelRate| Counted { events: model.faults, exposure: model.unit_years };
    let pair = |(first, second): (usize, usize)| {
        let comparison = compare(group(&models[first]), group(&models[second]), confidence)?;
        let says = match comparison.p < 1.0 - confidence {
            _ if !enough(first, second) => Says::TooFew,
            true => Says::Differ,
            false => Says::NotToldApart,
        };
        Some(Pair { first, second, comparison, confidence, says })
    };
    places.into_iter().filter_map(pair).collect()
}
