//! A maker's notice against every unit of the book: certainly touched, possibly touched, cleared and why.

use std::cmp::Ordering;

use super::order::{Fit, compare_firmware, in_ranges, range_words};
use super::{Fleet, Life};
use crate::book::Record;
use crate::path;
use crate::record::{Date, Recall, RecallDone};
use crate::rules::identity::same_serial;

/// A unit under a notice.
#[derive(Debug, Clone)]
pub struct Touched {
    /// The unit, by its place in the fleet.
    pub at: usize,
    /// Whether a fault leaves its circuit isolated, and since when.
    pub isolated: Option<Option<Date>>,
    /// What is to be known about it: why it is not certain, or why a tick does not count.
    pub why: Vec<String>,
}

/// A unit of the notice's model that it need not be looked for at.
#[derive(Debug, Clone)]
pub struct Cleared {
    /// The unit, by its place in the fleet.
    pub at: usize,
    /// Whether the notice was about it, and it was dealt with or taken away.
    pub how: How,
    /// The reason in words.
    pub why: String,
}

/// How a unit came to be cleared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// A finished visit did what the notice asks.
    Done,
    /// It is not in place any more.
    Removed,
    /// The notice is not about it.
    NotTouched,
}

impl How {
    /// The word for it that machines read.
    pub const fn as_str(self) -> &'static str {
        match self {
            How::Done => "done",
            How::Removed => "removed",
            How::NotTouched => "not-touched",
        }
    }
}

/// A notice laid over the book.
#[derive(Debug)]
pub struct Outcome<'n> {
    /// The notice.
    pub notice: &'n Record<Recall>,
    /// What it touches, in words.
    pub touches: Vec<String>,
    /// Units that it is about and that nothing clears; those still in use first.
    pub certain: Vec<Touched>,
    /// Units that it may be about.
    pub possible: Vec<Touched>,
    /// Units that it was about or might have been.
    pub cleared: Vec<Cleared>,
    /// Serials ticked off in the notice that no unit of the book has.
    pub unknown_ticks: Vec<String>,
    /// Why the lists may lack a unit: records or parts of the notice that could not be read.
    pub gaps: Vec<String>,
}

impl Outcome<'_> {
    /// Cleared units of one sort.
    pub fn count(&self, how: How) -> usize {
        self.cleared.iter().filter(|cleared| cleared.how == how).count()
    }

    /// Units that the notice is or may be about, dealt with or not.
    pub fn touched(&self) -> usize {
        self.certain.len() + self.possible.len() + self.count(How::Done) + self.count(How::Removed)
    }

    /// Whether nothing is left to look for, as far as the book can say.
    pub fn is_closed(&self) -> bool {
        self.certain.is_empty() && self.possible.is_empty() && self.gaps.is_empty()
    }
}

/// Lays a notice over the fleet.
pub fn lay<'n>(fleet: &Fleet, notice: &'n Record<Recall>) -> Outcome<'n> {
    let mut outcome = Outcome {
        notice,
        touches: touches(notice),
        certain: Vec::new(),
        possible: Vec::new(),
        cleared: Vec::new(),
        unknown_ticks: unknown_ticks(fleet, notice),
        gaps: gaps(fleet, notice),
    };
    for (at, life) in fleet.lives.iter().enumerate() {
        let Some(fits) = fits(life, notice) else { continue };
        let mut notes = Vec::new();
        match tick(fleet, life, notice) {
            Some(Ok(why)) => {
                outcome.cleared.push(Cleared { at, how: How::Done, why });
                continue;
            }
            Some(Err(why)) => notes.push(why),
            None => {}
        }
        let outside = fits.iter().find_map(|fit| if let Fit::No(why) = fit { Some(why.clone()) } else { None });
        if let Some(why) = outside {
            outcome.cleared.push(Cleared { at, how: How::NotTouched, why });
            continue;
        }
        if !life.is_in_place() {
            outcome.cleared.push(Cleared { at, how: How::Removed, why: removed_words(life) });
            continue;
        }
        let unclear: Vec<String> = fits.into_iter().filter_map(|fit| if let Fit::Unclear(why) = fit { Some(why) } else { None }).collect();
        // With two places on record, one of them isolated is not enough.
        let faults: Option<Vec<_>> = life.places().map(|stay| fleet.isolated(stay)).collect();
        let isolated = faults.and_then(|faults| faults.first().map(|fault| fault.day));
        let list = if unclear.is_empty() { &mut outcome.certain } else { &mut outcome.possible };
        list.push(Touched { at, isolated, why: unclear.into_iter().chain(notes).collect() });
    }
    outcome.certain.sort_by_key(|touched| touched.isolated.is_some());
    outcome.possible.sort_by_key(|touched| touched.isolated.is_some());
    outcome.cleared.sort_by_key(|cleared| cleared.how as u8);
    outcome
}

/// What a notice says it touches.
fn touches(notice: &Record<Recall>) -> Vec<String> {
    let recall = &notice.data;
    let mut words = Vec::new();
    if !recall.serials.is_empty() {
        let ranges: Vec<String> = recall.serials.iter().map(range_words).collect();
        words.push(format!("serials {}", ranges.join(", ")));
    }
    if let Some(fitted) = &recall.fitted {
        match (fitted.from, fitted.to) {
            (Some(from), Some(to)) => words.push(format!("fitted {from} to {to}")),
            (Some(from), None) => words.push(format!("fitted from {from}")),
            (None, Some(to)) => words.push(format!("fitted up to {to}")),
            (None, None) => {}
        }
    }
    if let Some(firmware) = &recall.firmware_below {
        words.push(format!("firmware below {firmware}"));
    }
    words
}

/// How a unit fits each of the notice's conditions; nothing where it is of another model, or shares nothing with the notice.
fn fits(life: &Life, notice: &Record<Recall>) -> Option<Vec<Fit>> {
    let recall = &notice.data;
    let serial = serial_fits(life, notice);
    let model = match (&recall.model, &life.model) {
        (Some(wanted), Some(model)) if wanted.trim().eq_ignore_ascii_case(model.trim()) => Fit::Yes,
        (Some(_), Some(_)) => return None,
        (Some(_), None) => Fit::Unclear("its model is not recorded".to_owned()),
        (None, _) => Fit::Unclear("the notice names no model".to_owned()),
    };
    // Without a model to go by, only a unit that the serial does not rule out is worth naming.
    if model != Fit::Yes && matches!(serial, Fit::No(_)) {
        return None;
    }
    Some(vec![model, serial, day_fits(life, notice), firmware_fits(life, notice)])
}

fn serial_fits(life: &Life, notice: &Record<Recall>) -> Fit {
    if notice.may_lack(&path!["serials"]) {
        return Fit::Unclear("the notice's serials cannot be read".to_owned());
    }
    if notice.data.serials.is_empty() {
        return Fit::Yes;
    }
    match &life.serial {
        Some(serial) => in_ranges(serial, &notice.data.serials),
        None => Fit::Unclear(match life.events.iter().rev().find_map(|event| event.says.serial.as_deref()) {
            Some(written) => format!("its serial stands as {written}, which is none"),
            None => "its serial is not recorded".to_owned(),
        }),
    }
}

fn day_fits(life: &Life, notice: &Record<Recall>) -> Fit {
    if notice.may_lack(&path!["fitted"]) {
        return Fit::Unclear("the notice's fitting dates cannot be read".to_owned());
    }
    let Some(range) = &notice.data.fitted else { return Fit::Yes };
    let inside = |day: Date| range.from.is_none_or(|from| from <= day) && range.to.is_none_or(|to| day <= to);
    let mut fitted = life.fitted_on().peekable();
    if fitted.peek().is_some() {
        let days: Vec<Date> = fitted.collect();
        let first = days.iter().min().map_or(String::new(), ToString::to_string);
        return if days.iter().any(|day| inside(*day)) { Fit::Yes } else { Fit::No(format!("fitted {first}, outside the notice's dates")) };
    }
    // Seen before the first of those days, it was fitted before.
    match (life.first_day(), range.from) {
        (Some(seen), Some(from)) if seen < from => Fit::No(format!("in place on {seen} already, before the notice's dates")),
        _ => Fit::Unclear("the day it was fitted is not recorded".to_owned()),
    }
}

fn firmware_fits(life: &Life, notice: &Record<Recall>) -> Fit {
    if notice.may_lack(&path!["firmware_below"]) {
        return Fit::Unclear("the notice's firmware cannot be read".to_owned());
    }
    let Some(below) = notice.data.firmware_below.as_deref() else { return Fit::Yes };
    let Some((firmware, event)) = life.firmware() else { return Fit::Unclear("its firmware is not recorded".to_owned()) };
    let when = event.day.map_or(String::new(), |day| format!(" on {day}"));
    match compare_firmware(firmware, below) {
        Some(Ordering::Less) => Fit::Yes,
        Some(_) => Fit::No(format!("firmware {firmware}{when}, not below {below}")),
        None => Fit::Unclear(format!("firmware {firmware} does not compare with {below}")),
    }
}

/// What the notice's own list says of a unit: done, or ticked off in a way that does not count.
fn tick(fleet: &Fleet, life: &Life, notice: &Record<Recall>) -> Option<Result<String, String>> {
    let serial = life.serial.as_deref()?;
    let is_it = |done: &&RecallDone| done.serial.as_deref().is_some_and(|known| same_serial(known, serial));
    let ticks: Vec<Result<String, String>> = notice.data.done.iter().filter(is_it).map(|done| tick_counts(fleet, life, done)).collect();
    ticks.iter().find(|tick| tick.is_ok()).or(ticks.first()).cloned()
}

fn tick_counts(fleet: &Fleet, life: &Life, done: &RecallDone) -> Result<String, String> {
    let Some(by) = done.by.as_deref().filter(|by| !by.trim().is_empty()) else {
        return Err("ticked off in the notice without a visit".to_owned());
    };
    let site = by.split_once('/').map_or(by, |(site, _)| site);
    match fleet.visits.get(by) {
        None => Err(format!("ticked off by {by}, which the book does not hold")),
        Some(false) => Err(format!("ticked off by {by}, which is not finished")),
        Some(true) if !life.stays.iter().any(|stay| stay.site == site) => {
            Err(format!("ticked off by {by}, where it is not recorded to have been"))
        }
        Some(true) => Ok(format!("done by {by}")),
    }
}

/// `removed 2024-08-15 (heron-cottage/2024-08-15-swap), kept until 2026-12-31`.
fn removed_words(life: &Life) -> String {
    let Some(event) = life.removal() else { return "not in place".to_owned() };
    let kept = event.says.kept_until.map_or(String::new(), |day| format!(", kept until {day}"));
    format!("removed by {}/{}{kept}", event.site, event.visit)
}

fn unknown_ticks(fleet: &Fleet, notice: &Record<Recall>) -> Vec<String> {
    let ticked = notice.data.done.iter().filter_map(|done| done.serial.as_deref());
    let is_known = |serial: &&str| fleet.lives.iter().any(|life| life.serial.as_deref().is_some_and(|known| same_serial(known, serial)));
    ticked.filter(|serial| !is_known(serial)).map(str::to_owned).collect()
}

fn gaps(fleet: &Fleet, notice: &Record<Recall>) -> Vec<String> {
    let mut gaps = Vec::new();
    if notice.data.model.is_none() || notice.lost {
        gaps.push("the notice names no model that can be read".to_owned());
    }
    gaps.extend(fleet.unread.iter().map(|file| format!("the units in {file} could not all be read, and may be of this model")));
    gaps
}
