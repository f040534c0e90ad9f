//! What is fitted where: each unit followed through the visits of all sites, how often its model fails, and whom a notice touches.

pub mod lives;
pub mod order;
pub mod rates;
pub mod recall;
pub mod site;

use std::collections::BTreeMap;

pub use lives::{Doubt, Life, Stay};
pub use site::{Event, FaultStory};

use crate::book::{Book, SiteFiles};
use crate::record::{Date, Left, ModelKind, OpenPen, SerialRange};
use crate::rules::identity::same_serial;
use crate::sheets::each_site;
use order::{Fit, Serial, compare_firmware, in_range};

/// Every unit of a book as of a day.
#[derive(Debug)]
pub struct Fleet {
    /// The day.
    pub on: Date,
    /// The units, in order of model, serial and site.
    pub lives: Vec<Life>,
    /// The faults, each with the units it is laid to: the one it names, or those on its circuit on the day it was reported.
    pub faults: Vec<(FaultStory, Vec<usize>)>,
    /// Files of visits whose units could not be read.
    pub unread: Vec<String>,
    /// Charging circuits on which no entry names a unit, as `<site> <circuit>`: a notice passes them by.
    pub bare: Vec<String>,
    /// Visits by `<site>/<visit>`, and whether each is finished.
    pub visits: BTreeMap<String, bool>,
}

impl Fleet {
    /// Reads a book as of a day. Later visits have not happened yet.
    pub fn read(book: &Book, on: Date) -> Fleet {
        let sites: Vec<&SiteFiles> = book.sites.iter().collect();
        let (mut events, mut faults, mut unread, mut bare) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let (mut visits, mut open_pen) = (BTreeMap::new(), BTreeMap::new());
        each_site(
            &sites,
            |files| (files.id.clone(), site::SiteUnits::read(book, files, on)),
            |(id, site)| {
                events.extend(site.events);
                faults.extend(site.faults);
                unread.extend(site.unread);
                bare.extend(site.bare);
                visits.extend(site.visits);
                open_pen.insert(id, site.open_pen);
                true
            },
        );
        let mut lives = lives::follow(book, events);
        for stay in lives.iter_mut().flat_map(|life| &mut life.stays) {
            let measures: Option<&BTreeMap<String, OpenPen>> = open_pen.get(&stay.site);
            stay.open_pen = stay.circuit.as_ref().and_then(|circuit| measures?.get(circuit).copied());
        }
        lives.sort_by_cached_key(|life| {
            let place = life.last_stay().map(|stay| (stay.site.clone(), stay.circuit.clone()));
            (life.model.is_none(), life.model.clone(), life.serial.is_none(), life.serial.as_deref().map(Serial::of), place)
        });
        let faults = faults
            .into_iter()
            .map(|fault| {
                let units = units_of(&lives, &fault);
                (fault, units)
            })
            .collect();
        Fleet { on, lives, faults, unread, bare, visits }
    }

    /// The faults laid to a unit.
    pub fn faults_of(&self, life: usize) -> impl Iterator<Item = &FaultStory> {
        self.faults.iter().filter(move |(_, units)| units.contains(&life)).map(|(fault, _)| fault)
    }

    /// An open fault that leaves the circuit of a unit in place isolated or taken away.
    pub fn isolated(&self, stay: &Stay) -> Option<&FaultStory> {
        let circuit = stay.circuit.as_deref()?;
        let off = |fault: &&FaultStory| {
            let there = fault.site == stay.site && fault.circuit.as_deref() == Some(circuit);
            there && fault.open && matches!(fault.left, Some(Left::Isolated | Left::Removed))
        };
        self.faults.iter().map(|(fault, _)| fault).find(off)
    }
}

/// The units that a fault is laid to.
fn units_of(lives: &[Life], fault: &FaultStory) -> Vec<usize> {
    let here = |life: &Life| life.stays.iter().any(|stay| stay.site == fault.site);
    if let Some(serial) = fault.unit.as_deref() {
        let is_it = |life: &Life| life.serial.as_deref().is_some_and(|known| same_serial(known, serial)) && here(life);
        return lives.iter().enumerate().filter(|(_, life)| is_it(life)).map(|(at, _)| at).collect();
    }
    let (Some(circuit), Some(day)) = (fault.circuit.as_deref(), fault.day) else { return Vec::new() };
    let holds = |stay: &&Stay| stay.site == fault.site && stay.circuit.as_deref() == Some(circuit) && stay.holds(day);
    let there: Vec<(usize, &Stay)> = lives.iter().enumerate().filter_map(|(at, life)| Some((at, life.stays.iter().find(holds)?))).collect();
    // On the day of a swap the fault was in what came out.
    let came_out = there.iter().any(|(_, stay)| stay.until == Some(day));
    there.into_iter().filter(|(_, stay)| !came_out || stay.since != Some(day)).map(|(at, _)| at).collect()
}

/// Which units are asked for. Everything given must hold.
#[derive(Debug, Default)]
pub struct Asked {
    /// Kinds, from the register of models; all where none are given.
    pub kinds: Vec<ModelKind>,
    /// Models by id, `*` and `?` standing for any letters and any one; all where none are given.
    pub models: Vec<String>,
    /// Serials and ranges of them; all where none are given.
    pub serials: Vec<SerialRange>,
    /// The firmware that must not be reached.
    pub firmware_below: Option<String>,
    /// Firmware from and to, both included.
    pub firmware: Option<(Option<String>, Option<String>)>,
    /// Days of fitting from and to, both included.
    pub fitted: Option<(Option<Date>, Option<Date>)>,
    /// Sites by id; all where none are given.
    pub sites: Vec<String>,
    /// Measures against an open PEN conductor; all where none are given.
    pub open_pen: Vec<OpenPenAsked>,
    /// Only units in place.
    pub in_place: bool,
    /// Only units about which something is doubtful.
    pub doubtful: bool,
}

/// A measure against an open PEN conductor to filter by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OpenPenAsked {
    /// This one.
    Is(OpenPen),
    /// Any that the unit itself has, by the register of models.
    InUnit,
}

impl Asked {
    /// Whether a unit is asked for. What is not recorded cannot be told by a filter and is left out.
    pub fn lets_through(&self, book: &Book, life: &Life) -> bool {
        let kind = self.kinds.is_empty() || life.kind.is_some_and(|kind| self.kinds.contains(&kind));
        let model =
            self.models.is_empty() || life.model.as_deref().is_some_and(|model| self.models.iter().any(|glob| matches(glob, model)));
        let serial = self.serials.is_empty()
            || life.serial.as_deref().is_some_and(|serial| self.serials.iter().any(|range| in_range(serial, range) == Fit::Yes));
        let site = self.sites.is_empty() || life.stays.iter().any(|stay| self.sites.contains(&stay.site));
        let in_place = !self.in_place || life.is_in_place();
        let doubtful = !self.doubtful || !life.doubts.is_empty();
        kind && model && serial && site && in_place && doubtful && self.dates_and_firmware(life) && self.open_pen_fits(book, life)
    }

    fn dates_and_firmware(&self, life: &Life) -> bool {
        let firmware = life.firmware().map(|(firmware, _)| firmware);
        let compare = |end: &str| firmware.and_then(|firmware| compare_firmware(firmware, end));
        let below = self.firmware_below.as_deref().is_none_or(|end| compare(end).is_some_and(|order| order.is_lt()));
        let within = self.firmware.as_ref().is_none_or(|(from, to)| {
            let from = from.as_deref().is_none_or(|end| compare(end).is_some_and(|order| order.is_ge()));
            from && to.as_deref().is_none_or(|end| compare(end).is_some_and(|order| order.is_le()))
        });
        let fitted = self.fitted.is_none_or(|(from, to)| {
            let mut days = life.fitted_on();
            days.any(|day| from.is_none_or(|from| from <= day) && to.is_none_or(|to| day <= to))
        });
        below && within && fitted
    }

    fn open_pen_fits(&self, book: &Book, life: &Life) -> bool {
        let fits = |stay: &Stay| {
            let Some(measure) = stay.open_pen else { return false };
            self.open_pen.iter().any(|asked| match asked {
                OpenPenAsked::Is(wanted) => *wanted == measure,
                OpenPenAsked::InUnit => {
                    let model = life.model.as_deref().and_then(|model| book.models.get(model));
                    model.is_some_and(|model| model.data.open_pen.contains(&measure))
                }
            })
        };
        self.open_pen.is_empty() || life.places().any(fits)
    }
}

/// Whether a text fits a pattern in which `*` stands for any letters and `?` for one; capitals make no difference.
fn matches(pattern: &str, text: &str) -> bool {
    let (pattern, text): (Vec<char>, Vec<char>) = (pattern.to_lowercase().chars().collect(), text.to_lowercase().chars().collect());
    let (mut p, mut t) = (0, 0);
    // Where the last star stood, and how much of the text it has taken.
    let mut star: Option<(usize, usize)> = None;
    while t < text.len() {
        match pattern.get(p) {
            Some('*') => {
                star = Some((p, t));
                p += 1;
            }
            Some(c) if *c == '?' || *c == text[t] => {
                p += 1;
                t += 1;
            }
            _ => {
                let Some((at, taken)) = star else { return false };
                star = Some((at, taken + 1));
                p = at + 1;
                t = taken + 1;
            }
        }
    }
    pattern[p..].iter().all(|c| *c == '*')
}
