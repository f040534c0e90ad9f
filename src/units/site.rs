//! What one site says of its units, boiled down so that the site itself can go again.

use std::collections::BTreeMap;

use crate::book::{Book, Places, SiteFiles};
use crate::path;
use crate::record::{Date, LaidTo, Left, OpenPen, Status, Unit, UnitEvent, Use};
use crate::render::line_number;
use crate::rules::identity;
use crate::rules::story::FaultView;
use crate::rules::view::{JobView, SiteView};

/// An entry of `units` in a visit that took place.
#[derive(Debug, Clone)]
pub struct Event {
    /// The site.
    pub site: String,
    /// The visit.
    pub visit: String,
    /// Its day.
    pub day: Option<Date>,
    /// What the entry says.
    pub says: Unit,
    /// The file, relative to the book's root.
    pub file: String,
    /// The line that the entry begins on, from 1.
    pub line: usize,
    /// Whether the visit is finished. One still being written up can put a unit in place, but takes none away.
    pub settled: bool,
    /// Whether the entry only names the unit under a circuit's `ev`.
    pub by_circuit: bool,
    /// The visit's place among the site's visits, and the entry's in its list.
    pub(super) order: (usize, usize),
}

impl Event {
    /// Its serial, unless it is one that stands for an unknown.
    pub fn serial(&self) -> Option<&str> {
        self.says.serial.as_deref().filter(|serial| !identity::is_placeholder(serial, self.says.model.as_deref()))
    }

    /// Whether it took the unit away.
    pub fn is_removal(&self) -> bool {
        self.says.event == Some(UnitEvent::Removed)
    }

    /// Whether it says that the unit was put there.
    pub fn is_fitting(&self) -> bool {
        self.says.event == Some(UnitEvent::Fitted)
    }
}

/// A fault followed through the visits that list it.
#[derive(Debug, Clone)]
pub struct FaultStory {
    /// The site.
    pub site: String,
    /// The last visit that lists it.
    pub visit: String,
    /// Its id there.
    pub id: String,
    /// The day it was first reported.
    pub day: Option<Date>,
    /// The unit it names, by serial.
    pub unit: Option<String>,
    /// The circuit it names.
    pub circuit: Option<String>,
    /// To whom it is laid; unknown where nobody says.
    pub laid_to: LaidTo,
    /// Whether nothing says that it was put right.
    pub open: bool,
    /// How it was left.
    pub left: Option<Left>,
    /// The file of the last entry, relative to the book's root.
    pub file: String,
    /// Its line, from 1.
    pub line: usize,
}

/// What one site says.
#[derive(Debug, Default)]
pub struct SiteUnits {
    /// Its units' events, in order of the visits.
    pub events: Vec<Event>,
    /// Its faults.
    pub faults: Vec<FaultStory>,
    /// The measure against an open PEN conductor of each circuit, as last recorded.
    pub open_pen: BTreeMap<String, OpenPen>,
    /// Files of visits whose units could not be read.
    pub unread: Vec<String>,
    /// Charging circuits on which no entry names a unit: `<site> <circuit>`.
    pub bare: Vec<String>,
    /// Visits by `<site>/<visit>`, and whether each is finished.
    pub visits: Vec<(String, bool)>,
}

impl SiteUnits {
    /// Reads a site as of a day.
    pub fn read(book: &Book, files: &SiteFiles, on: Date) -> SiteUnits {
        let (records, strays) = book.read_site(files);
        let view = SiteView::new(book, &records, on);
        let visits_lost = strays.iter().map(|stray| stray.source.path.clone()).filter(|path| files.jobs.contains(path));
        let closed = files.closed().map(|folder| folder.path.clone());
        let mut site = SiteUnits { unread: visits_lost.chain(closed).collect(), ..SiteUnits::default() };
        for job in view.jobs() {
            site.visits.push((format!("{}/{}", files.id, job.id()), job.is_finished() && has_happened(job, on)));
            if job.record.lost || lacks_units(job) {
                site.unread.push(job.record.source.path.clone());
            }
            if has_happened(job, on) {
                site.add(job, on);
            }
        }
        site.name_by_circuit(&view, on);
        site.look_for_bare(&view, on);
        site
    }

    fn add(&mut self, job: JobView<'_>, on: Date) {
        if job.data().units.is_empty() && job.data().faults.is_empty() && job.data().circuits.is_empty() {
            return;
        }
        for circuit in job.circuits() {
            if let Some(measure) = circuit.circuit.ev.as_ref().and_then(|ev| ev.open_pen) {
                self.open_pen.insert(circuit.id().to_owned(), measure);
            }
        }
        // A fault is its latest entry by that day; a visit still being written up does not take it over from a finished one.
        let taken_over = |fault: &FaultView<'_>| fault.repeated_by().is_some_and(|later| has_happened(later.job, on));
        let only_a_draft = |fault: &FaultView<'_>| !job.is_finished() && fault.repeats().is_some();
        let faults: Vec<FaultView<'_>> = job.faults().filter(|fault| !taken_over(fault) && !only_a_draft(fault)).collect();
        if job.data().units.is_empty() && faults.is_empty() {
            return;
        }
        let places = Places::of(&job.record.source);
        let line = |path| line_number(&job.record.source, places.span(&job.record.source, &path).start);
        for (index, unit) in job.data().units.iter().enumerate() {
            let line = line(path!["units", index]);
            self.events.push(event(job, unit.clone(), line, (job.index, index)));
        }
        for fault in faults {
            let line = line(path!["faults", fault.index]);
            self.faults.push(story(fault, line));
        }
    }

    /// Charging circuits whose unit nobody wrote down. A unit without a circuit may be on any of them.
    fn look_for_bare(&mut self, view: &SiteView<'_>, on: Date) {
        let Some(last) = view.jobs().rfind(|job| has_happened(*job, on)) else { return };
        let has_unit = |id: &str| self.events.iter().any(|event| event.says.circuit.as_deref().is_none_or(|circuit| circuit == id));
        let installed = last.installation().into_iter().filter(|circuit| has_happened(circuit.job, on));
        let bare = installed.filter(|circuit| circuit.usage() == Some(Use::Ev) && !has_unit(circuit.id()));
        self.bare = bare.map(|circuit| format!("{} {}", view.id(), circuit.id())).collect();
    }

    /// Serials that only a circuit's `ev` names: a unit nobody entered under `units`.
    fn name_by_circuit(&mut self, view: &SiteView<'_>, on: Date) {
        let mut named = Vec::new();
        for job in view.jobs().filter(|job| has_happened(*job, on)) {
            for circuit in job.circuits() {
                let Some(serial) = circuit.circuit.ev.as_ref().and_then(|ev| ev.unit.as_deref()) else { continue };
                let is_it = |event: &Event| event.says.serial.as_deref().is_some_and(|known| identity::same_serial(known, serial));
                if self.events.iter().chain(&named).any(is_it) {
                    continue;
                }
                let places = Places::of(&job.record.source);
                let span = places.span(&job.record.source, &path!["circuits", circuit.index, "ev", "unit"]);
                let line = line_number(&job.record.source, span.start);
                let unit = Unit {
                    event: Some(UnitEvent::Seen),
                    serial: Some(serial.to_owned()),
                    circuit: circuit.circuit.id.clone(),
                    ..Unit::default()
                };
                let order = (job.index, job.data().units.len() + circuit.index);
                named.push(Event { by_circuit: true, ..event(job, unit, line, order) });
            }
        }
        self.events.append(&mut named);
        self.events.sort_by_key(|event| event.order);
    }
}

/// Whether an entry of the visit's units, or all of them, could not be read; a single value of an entry does not hide the unit.
fn lacks_units(job: JobView<'_>) -> bool {
    job.is_unreadable(&path!["units"]) || job.record.unreadable.near(&path!["units"]).any(|hole| hole.steps().len() <= 2)
}

/// Whether a visit took place by a day: it is neither planned nor on hold. One without a status counts, so that no unit is lost by it.
fn has_happened(job: JobView<'_>, on: Date) -> bool {
    let to_come = matches!(job.data().status, Some(Status::Planned | Status::OnHold));
    !to_come && job.day().is_none_or(|day| day <= on)
}

fn event(job: JobView<'_>, says: Unit, line: usize, order: (usize, usize)) -> Event {
    Event {
        site: job.site.id().to_owned(),
        visit: job.id().to_owned(),
        day: job.day(),
        says,
        file: job.record.source.path.clone(),
        line,
        settled: job.is_finished(),
        by_circuit: false,
        order,
    }
}

fn story(fault: FaultView<'_>, line: usize) -> FaultStory {
    let mut first = fault;
    // The unit and the circuit may be named by an earlier entry only.
    let (mut unit, mut circuit) = (fault.fault.unit.clone(), fault.fault.circuit.clone());
    while let Some(before) = first.repeats() {
        unit = unit.or_else(|| before.fault.unit.clone());
        circuit = circuit.or_else(|| before.fault.circuit.clone());
        first = before;
    }
    FaultStory {
        site: fault.job.site.id().to_owned(),
        visit: fault.job.id().to_owned(),
        id: fault.id().to_owned(),
        day: first.fault.reported.or_else(|| first.job.day()),
        unit,
        circuit,
        laid_to: fault.fault.laid_to.unwrap_or(LaidTo::Unknown),
        open: fault.may_be_pending(),
        left: fault.fault.left,
        file: fault.job.record.source.path.clone(),
        line,
    }
}
