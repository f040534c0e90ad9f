//! Each unit followed through the events of all sites: where it was, from when till when, and what about it is doubtful.

use std::collections::BTreeMap;

use super::site::Event;
use crate::book::Book;
use crate::record::{Date, ModelKind, OpenPen};
use crate::rules::identity::{plain_serial, same_serial};

/// A stretch of time that a unit spent at one place.
#[derive(Debug, Clone)]
pub struct Stay {
    /// The site.
    pub site: String,
    /// The circuit, where it is named.
    pub circuit: Option<String>,
    /// Its first day on record.
    pub since: Option<Date>,
    /// Whether it was fitted on that day, and not only first seen.
    pub fitted: bool,
    /// The day it ended.
    pub until: Option<Date>,
    /// The event that began it, by its place in the life's events.
    pub begun_by: usize,
    /// The event that ended it, likewise; nothing while the unit is in place.
    pub ended_by: Option<usize>,
    /// The circuit's measure against an open PEN conductor, as last recorded.
    pub open_pen: Option<OpenPen>,
}

impl Stay {
    /// Whether the unit is there now.
    pub fn is_open(&self) -> bool {
        self.ended_by.is_none()
    }

    /// Whether it was there on a day.
    pub fn holds(&self, day: Date) -> bool {
        self.since.is_none_or(|since| since <= day) && (self.is_open() || self.until.is_some_and(|until| day <= until))
    }

    fn is_at(&self, site: &str, circuit: Option<&str>) -> bool {
        let known = self.circuit.as_deref();
        self.site == site && (known.is_none() || circuit.is_none() || known == circuit)
    }
}

/// Why a unit's record is not to be trusted as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Doubt {
    /// Nobody wrote its serial down.
    NoSerial,
    /// What stands for its serial is none.
    Placeholder(String),
    /// Only a circuit's `ev` names it: no entry under `units` says what it is.
    NotEntered,
    /// No entry says which model it is.
    NoModel,
    /// The same serial is in place at another place too: site, circuit.
    AlsoAt(String, Option<String>),
    /// Another model has the same serial.
    SharesSerial(String),
    /// Another unit of its kind was fitted on its circuit later, and nothing says that this one was removed: its serial, the day.
    Replaced(Option<String>, Option<Date>),
    /// A visit still being written up says that it was removed: the visit.
    DraftRemoval(String),
    /// It was removed where nothing says that it was: site, circuit, visit.
    RemovedElsewhere(String, Option<String>, String),
}

impl Doubt {
    /// The word for it that machines read.
    pub const fn as_str(&self) -> &'static str {
        match self {
            Doubt::NoSerial => "no-serial",
            Doubt::Placeholder(_) => "placeholder",
            Doubt::NotEntered => "not-entered",
            Doubt::NoModel => "no-model",
            Doubt::AlsoAt(..) => "in-two-places",
            Doubt::SharesSerial(_) => "serial-on-two-models",
            Doubt::Replaced(..) => "not-shown-removed",
            Doubt::DraftRemoval(_) => "removal-not-finished",
            Doubt::RemovedElsewhere(..) => "removed-elsewhere",
        }
    }
}

/// One unit, and all that the book says of it.
#[derive(Debug, Clone, Default)]
pub struct Life {
    /// Its serial as last written; nothing where no entry has one.
    pub serial: Option<String>,
    /// Its model, by id.
    pub model: Option<String>,
    /// The model's kind, from the register.
    pub kind: Option<ModelKind>,
    /// What happened to it, in order of days.
    pub events: Vec<Event>,
    /// Where it was, in order of days; the last open one is where it is.
    pub stays: Vec<Stay>,
    /// What is doubtful about it.
    pub doubts: Vec<Doubt>,
}

impl Life {
    /// Where it is now; more than one place where the book contradicts itself, none when it was removed.
    pub fn places(&self) -> impl Iterator<Item = &Stay> {
        self.stays.iter().rev().filter(|stay| stay.is_open())
    }

    /// Whether it is in place anywhere.
    pub fn is_in_place(&self) -> bool {
        self.places().next().is_some()
    }

    /// The entry that took it away, when it is nowhere now.
    pub fn removal(&self) -> Option<&Event> {
        if self.is_in_place() {
            return None;
        }
        self.stays.iter().filter_map(|stay| self.events.get(stay.ended_by?)).max_by_key(|event| (event.day, event.order))
    }

    /// The stay that tells where it is, or where it was last.
    pub fn last_stay(&self) -> Option<&Stay> {
        self.places().next().or_else(|| self.stays.iter().max_by_key(|stay| (stay.until, stay.since)))
    }

    /// The firmware last recorded, with its entry.
    pub fn firmware(&self) -> Option<(&str, &Event)> {
        self.events.iter().rev().find_map(|event| Some((event.says.firmware.as_deref()?, event)))
    }

    /// The end of the maker's warranty as last recorded.
    pub fn warranty_until(&self) -> Option<Date> {
        self.events.iter().rev().find_map(|event| event.says.warranty_until)
    }

    /// The days it was fitted on.
    pub fn fitted_on(&self) -> impl Iterator<Item = Date> {
        self.events.iter().filter(|event| event.is_fitting()).filter_map(|event| event.day)
    }

    /// The first day on record.
    pub fn first_day(&self) -> Option<Date> {
        self.events.iter().find_map(|event| event.day)
    }

    /// The entry that says most of where it is: the one that began the stay.
    pub fn entry(&self) -> Option<&Event> {
        self.last_stay().and_then(|stay| self.events.get(stay.begun_by)).or(self.events.first())
    }

    /// What it is called in a list: model and serial.
    pub fn name(&self) -> String {
        let model = self.model.as_deref().unwrap_or("model unknown");
        format!("{model} {}", self.serial.as_deref().unwrap_or("without serial"))
    }

    fn open_at(&mut self, site: &str, circuit: Option<&str>) -> Option<&mut Stay> {
        self.stays.iter_mut().rev().find(|stay| stay.is_open() && stay.is_at(site, circuit))
    }

    fn begin(&mut self, event: &Event) {
        self.stays.push(Stay {
            site: event.site.clone(),
            circuit: event.says.circuit.clone(),
            since: event.day,
            fitted: event.is_fitting(),
            until: None,
            begun_by: self.events.len(),
            ended_by: None,
            open_pen: None,
        });
    }

    /// Takes an entry that puts it somewhere or sees it there.
    fn is_here(&mut self, event: Event) {
        let (site, circuit, index) = (event.site.as_str(), event.says.circuit.as_deref(), self.events.len());
        if let Some(stay) = self.open_at(site, circuit) {
            stay.circuit = stay.circuit.take().or_else(|| event.says.circuit.clone());
        } else {
            // Seen on another circuit of the same site, it was moved; fitted there, one of two records is wrong.
            if !event.is_fitting() {
                for stay in self.stays.iter_mut().filter(|stay| stay.is_open() && stay.site == site) {
                    (stay.until, stay.ended_by) = (event.day, Some(index));
                }
            }
            self.begin(&event);
        }
        self.events.push(event);
    }

    /// Takes an entry that removes it. A visit still being written up removes nothing.
    fn is_gone(&mut self, event: Event) {
        let (site, circuit, index) = (event.site.as_str(), event.says.circuit.as_deref(), self.events.len());
        if !event.settled {
            if self.stays.is_empty() {
                self.begin(&event);
                self.stays.iter_mut().for_each(|stay| stay.since = None);
            }
            self.doubts.push(Doubt::DraftRemoval(format!("{site}/{}", event.visit)));
        } else if let Some(stay) = self.open_at(site, circuit) {
            (stay.until, stay.ended_by) = (event.day, Some(index));
        } else if self.stays.iter().any(Stay::is_open) {
            self.doubts.push(Doubt::RemovedElsewhere(site.to_owned(), event.says.circuit.clone(), event.visit.clone()));
        } else {
            // Nothing says when it came: it was there until this day.
            self.begin(&event);
            if let Some(stay) = self.stays.last_mut() {
                (stay.since, stay.until, stay.ended_by) = (None, event.day, Some(index));
            }
        }
        self.events.push(event);
    }
}

/// Follows every unit through the events of all sites, which come in order of sites and of their visits.
pub fn follow(book: &Book, events: Vec<Event>) -> Vec<Life> {
    let mut units = Units { models: models_by_serial(&events), ..Units::default() };
    let mut days: BTreeMap<Option<Date>, Vec<Event>> = BTreeMap::new();
    for event in events {
        days.entry(event.day).or_default().push(event);
    }
    for events in days.into_values() {
        units.day(events);
    }
    let mut lives: Vec<Life> = units.lives.into_iter().filter(|life| !life.events.is_empty()).collect();
    for life in &mut lives {
        life.kind = life.model.as_deref().and_then(|model| book.models.get(model)?.data.kind);
        doubt_itself(life);
    }
    doubt_replaced(&mut lives);
    doubt_shared(&mut lives);
    lives
}

/// For each serial, the models that its entries name.
fn models_by_serial(events: &[Event]) -> BTreeMap<String, Vec<String>> {
    let mut models: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for event in events {
        if let (Some(serial), Some(model)) = (event.serial(), &event.says.model) {
            let known = models.entry(plain_serial(serial)).or_default();
            if !known.contains(model) {
                known.push(model.clone());
            }
        }
    }
    models
}

/// The lives as far as they have been followed.
#[derive(Default)]
struct Units {
    lives: Vec<Life>,
    models: BTreeMap<String, Vec<String>>,
    /// By serial and model: one serial on two models is two units.
    named: BTreeMap<(String, Option<String>), usize>,
}

impl Units {
    /// One day of the whole book. A unit taken from one place and put in another on one day is first taken: removals of what was in place
    /// before the day come first, then what was fitted and seen, then removals of what was fitted the same day.
    fn day(&mut self, events: Vec<Event>) {
        let mut later = Vec::new();
        let mut present = Vec::new();
        for event in events {
            match event.is_removal() {
                true if self
                    .find(&event)
                    .is_some_and(|at| self.lives[at].open_at(&event.site, event.says.circuit.as_deref()).is_some()) =>
                {
                    self.take(event);
                }
                true => later.push(event),
                false => present.push(event),
            }
        }
        for event in present {
            // A removal written before it, of a unit that nobody had entered yet, was before it.
            let before = |removal: &Event| removal.site == event.site && removal.order < event.order && is_of(removal, &event);
            while let Some(at) = later.iter().position(before) {
                let removal = later.remove(at);
                self.take(removal);
            }
            self.take(event);
        }
        for event in later {
            self.take(event);
        }
    }

    /// The life that an entry belongs to, as far as there is one.
    fn find(&self, event: &Event) -> Option<usize> {
        match event.serial() {
            Some(serial) => self.named.get(&self.key(serial, event)).copied(),
            // Fitted without a serial is always another unit; seen or removed without one, it is the one that is there.
            None if event.is_fitting() => None,
            None => self.there(event, event.is_removal()),
        }
    }

    fn key(&self, serial: &str, event: &Event) -> (String, Option<String>) {
        let plain = plain_serial(serial);
        let models = self.models.get(&plain).map_or(&[][..], Vec::as_slice);
        let model = match (&event.says.model, models) {
            (_, [only]) => Some(only.clone()),
            (Some(model), _) => Some(model.clone()),
            // The serial stands on two models, and this entry names none: the one that has been at the site.
            (None, models) => {
                let been_here = |model: &&String| {
                    let at = self.named.get(&(plain.clone(), Some((*model).clone())));
                    at.is_some_and(|at| self.lives[*at].stays.iter().any(|stay| stay.site == event.site))
                };
                models.iter().find(been_here).or(models.first()).cloned()
            }
        };
        (plain, model)
    }

    /// The unit that is in place where an entry says, of a model that agrees; the one without a serial before others. `before` leaves out
    /// what was fitted that day: an old unit's removal is no word on the new one.
    fn there(&self, event: &Event, before: bool) -> Option<usize> {
        let circuit = event.says.circuit.as_deref()?;
        let fits = |life: &&Life| {
            let model = life.model.is_none() || event.says.model.is_none() || life.model == event.says.model;
            let there = |stay: &Stay| stay.is_open() && stay.site == event.site && stay.circuit.as_deref() == Some(circuit);
            model && life.stays.iter().any(|stay| there(stay) && (!before || stay.since < event.day))
        };
        let found = self.lives.iter().enumerate().filter(|(_, life)| fits(life));
        found.min_by_key(|(_, life)| life.serial.is_some()).map(|(at, _)| at)
    }

    fn take(&mut self, event: Event) {
        let at = self.find(&event).unwrap_or_else(|| self.begin(&event));
        let life = &mut self.lives[at];
        if let Some(serial) = event.serial() {
            life.serial = Some(serial.to_owned());
        }
        life.model = life.model.take().or_else(|| event.says.model.clone());
        if event.is_removal() {
            life.is_gone(event);
        } else {
            life.is_here(event);
        }
    }

    /// A life for an entry that begins one. A serial read for the first time off what is in place without one is that unit's.
    fn begin(&mut self, event: &Event) -> usize {
        let unnamed = (!event.is_fitting()).then(|| self.there(event, true)).flatten().filter(|at| self.lives[*at].serial.is_none());
        let at = unnamed.unwrap_or_else(|| {
            self.lives.push(Life::default());
            self.lives.len() - 1
        });
        if let Some(serial) = event.serial() {
            self.named.insert(self.key(serial, event), at);
        }
        at
    }
}

/// Whether two entries are of one unit.
fn is_of(one: &Event, other: &Event) -> bool {
    match (one.serial(), other.serial()) {
        (Some(one), Some(other)) => same_serial(one, other),
        _ => false,
    }
}

fn doubt_itself(life: &mut Life) {
    let mut doubts = Vec::new();
    if life.serial.is_none() {
        let written = life.events.iter().rev().find_map(|event| event.says.serial.clone()).filter(|written| !written.trim().is_empty());
        doubts.push(written.map_or(Doubt::NoSerial, Doubt::Placeholder));
    }
    if life.events.iter().all(|event| event.by_circuit) {
        doubts.push(Doubt::NotEntered);
    } else if life.model.is_none() {
        doubts.push(Doubt::NoModel);
    }
    let others = life.places().skip(1).map(|stay| Doubt::AlsoAt(stay.site.clone(), stay.circuit.clone()));
    doubts.extend(others);
    life.doubts.splice(0..0, doubts);
}

fn doubt_replaced(lives: &mut [Life]) {
    let mut fitted: BTreeMap<(&str, &str), Vec<(usize, &Stay)>> = BTreeMap::new();
    for (at, life) in lives.iter().enumerate() {
        for stay in life.stays.iter().filter(|stay| stay.fitted) {
            if let Some(circuit) = stay.circuit.as_deref() {
                fitted.entry((&stay.site, circuit)).or_default().push((at, stay));
            }
        }
    }
    let mut doubts = Vec::new();
    for (at, life) in lives.iter().enumerate() {
        for stay in life.places() {
            let there = stay.circuit.as_deref().and_then(|circuit| fitted.get(&(stay.site.as_str(), circuit)));
            let is_instead = |(other, new): &&(usize, &Stay)| {
                let kind = lives[*other].kind.is_none() || life.kind.is_none() || lives[*other].kind == life.kind;
                *other != at && kind && new.since > stay.since
            };
            if let Some((other, new)) = there.into_iter().flatten().find(is_instead) {
                doubts.push((at, Doubt::Replaced(lives[*other].serial.clone(), new.since)));
            }
        }
    }
    for (at, doubt) in doubts {
        lives[at].doubts.push(doubt);
    }
}

fn doubt_shared(lives: &mut [Life]) {
    let mut by_serial: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (at, life) in lives.iter().enumerate() {
        if let Some(serial) = &life.serial {
            by_serial.entry(plain_serial(serial)).or_default().push(at);
        }
    }
    for group in by_serial.values().filter(|group| group.len() > 1) {
        for at in group {
            let others = group.iter().filter(|other| *other != at);
            let models: Vec<Doubt> = others
                .map(|other| Doubt::SharesSerial(lives[*other].model.clone().unwrap_or_else(|| "a model unknown".to_owned())))
                .collect();
            lives[*at].doubts.extend(models);
        }
    }
}
