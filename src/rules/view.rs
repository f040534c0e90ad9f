//! What a rule sees: a site with its visits, a visit, a circuit at a visit, each with what was known of it before.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use super::facts::SiteFacts;
use crate::book::{Book, FieldPath, Record, SiteRecords};
use crate::finding::Place;
use crate::path;
use crate::record::{
    Board, Cable, Circuit, Date, Earthing, Ev, Job, JobKind, Model, Nation, Ocpd, OpenPen, Rcd, Readings, Site, SiteSupply, Status, Use,
};
use crate::tables::Edition;

/// The whole book, for rules about registers and across sites.
#[derive(Clone, Copy)]
pub struct BookView<'a> {
    /// The book.
    pub book: &'a Book,
    /// What rules across sites need of each site, in the order of the book's sites.
    pub facts: &'a [SiteFacts],
    /// The day that dates are judged from.
    pub today: Date,
}

/// A site with all its visits.
pub struct SiteView<'a> {
    /// The book.
    pub book: &'a Book,
    /// The site's records.
    pub records: &'a SiteRecords,
    /// The day that dates are judged from.
    pub today: Date,
    /// For each job, for each of its circuits, what is known of it then.
    known: Vec<Vec<KnownCircuit<'a>>>,
    /// For each circuit that has an id, where it is recorded: jobs by their places, and its place in the job, in that order.
    recorded: BTreeMap<&'a str, Vec<(usize, usize)>>,
    /// For each visit that others name under `continues`, those others by their places.
    continued: BTreeMap<&'a str, Vec<usize>>,
    /// For each job, the edition it is judged by.
    editions: Vec<Option<Edition>>,
    /// The ids of its circuits, once somebody has asked.
    circuit_ids: OnceCell<Option<Vec<String>>>,
}

/// A fact about a circuit, and the visit that recorded it.
#[derive(Debug)]
pub struct Known<'a, T> {
    /// The fact.
    pub value: &'a T,
    /// The job, by its place among the site's jobs.
    job: usize,
    /// The circuit's place in that job.
    circuit: usize,
    /// The key it stands under.
    key: &'static str,
}

impl<T> Clone for Known<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Known<'_, T> {}

impl<'a, T> Known<'a, T> {
    /// Where the fact stands, which may be an earlier visit.
    pub fn place(&self, site: &SiteView<'a>) -> Place {
        let record = &site.records.jobs[self.job];
        Place::at(&record.source, path!["circuits", self.circuit, self.key])
    }

    /// Where a part of the fact stands.
    pub fn place_of(&self, site: &SiteView<'a>, key: &'static str) -> Place {
        let record = &site.records.jobs[self.job];
        Place::at(&record.source, path!["circuits", self.circuit, self.key, key])
    }

    /// The visit that recorded it.
    pub fn visit(&self, site: &'a SiteView<'a>) -> JobView<'a> {
        site.visit(self.job)
    }

    /// Whether an earlier visit than `job` recorded it.
    pub fn is_older_than(&self, job: JobView<'_>) -> bool {
        self.job < job.index
    }
}

/// What is known of a circuit at a visit: what the visit says, and for the rest what the last visit that spoke of it said.
#[derive(Debug, Default, Clone)]
struct KnownCircuit<'a> {
    usage: Option<Known<'a, Use>>,
    design_a: Option<Known<'a, crate::record::Num>>,
    ocpd: Option<Known<'a, Ocpd>>,
    rcd: Option<Known<'a, Rcd>>,
    cable: Option<Known<'a, Cable>>,
    ev: Option<Known<'a, Ev>>,
}

fn edition_of(job: &Record<Job>) -> Option<Edition> {
    let cited = job.data.regulations.as_deref().and_then(Edition::parse);
    let day = job.data.dates.designed.or(job.data.dates.tested).or_else(|| job.day());
    cited.or_else(|| day.map(Edition::in_force_on))
}

impl<'a> SiteView<'a> {
    /// Looks at a site's records from a day.
    pub fn new(book: &'a Book, records: &'a SiteRecords, today: Date) -> Self {
        let mut known = Vec::with_capacity(records.jobs.len());
        let mut so_far: BTreeMap<&str, KnownCircuit<'a>> = BTreeMap::new();
        let mut recorded: BTreeMap<&str, Vec<(usize, usize)>> = BTreeMap::new();
        let mut continued: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (job, record) in records.jobs.iter().enumerate() {
            let mut of_job = Vec::with_capacity(record.data.circuits.len());
            if let Some(before) = record.data.continues.as_deref() {
                continued.entry(before).or_default().push(job);
            }
            for (index, circuit) in record.data.circuits.iter().enumerate() {
                let mut entry = match circuit.id.as_deref() {
                    // A new circuit on an old way inherits nothing from what was there.
                    Some(id) if circuit.new != Some(true) => so_far.get(id).cloned().unwrap_or_default(),
                    _ => KnownCircuit::default(),
                };
                fn note<'a, T>(slot: &mut Option<Known<'a, T>>, value: &'a Option<T>, job: usize, circuit: usize, key: &'static str) {
                    if let Some(value) = value {
                        *slot = Some(Known { value, job, circuit, key });
                    }
                }
                note(&mut entry.usage, &circuit.usage, job, index, "use");
                note(&mut entry.design_a, &circuit.design_a, job, index, "design_a");
                note(&mut entry.ocpd, &circuit.ocpd, job, index, "ocpd");
                note(&mut entry.rcd, &circuit.rcd, job, index, "rcd");
                note(&mut entry.cable, &circuit.cable, job, index, "cable");
                note(&mut entry.ev, &circuit.ev, job, index, "ev");
                if let Some(id) = circuit.id.as_deref() {
                    so_far.insert(id, entry.clone());
                    if !id.is_empty() {
                        recorded.entry(id).or_default().push((job, index));
                    }
                }
                of_job.push(entry);
            }
            known.push(of_job);
        }
        let editions = records.jobs.iter().map(edition_of).collect();
        SiteView { book, records, today, known, recorded, continued, editions, circuit_ids: OnceCell::new() }
    }

    /// The site's id.
    pub fn id(&self) -> &'a str {
        &self.records.files.id
    }

    /// `site.md`, when it could be read.
    pub fn record(&self) -> Option<&'a Record<Site>> {
        self.records.site.as_ref().filter(|record| !record.lost)
    }

    /// What `site.md` says.
    pub fn site(&self) -> Option<&'a Site> {
        self.record().map(|record| &record.data)
    }

    /// The supply in `site.md`.
    pub fn supply(&self) -> Option<&'a SiteSupply> {
        self.site()?.supply.as_ref()
    }

    /// The type of earthing system.
    pub fn earthing(&self) -> Option<Earthing> {
        self.supply()?.earthing
    }

    /// The number of phases; one where nothing is said.
    pub fn phases(&self) -> u32 {
        self.supply().and_then(|supply| supply.phases).map_or(1, |phases| *phases)
    }

    /// The nation whose law applies.
    pub fn nation(&self) -> Option<Nation> {
        self.site().and_then(|site| site.nation).or(self.book.settings.data.nation)
    }

    /// A board by its id, with its place in the list.
    pub fn board(&self, id: &str) -> Option<(usize, &'a Board)> {
        self.site()?.boards.iter().enumerate().find(|(_, board)| board.id.as_deref() == Some(id))
    }

    /// The ids of the circuits that any visit has recorded, sorted; nothing where a visit, or its list of circuits, could not be read whole.
    pub fn circuit_ids(&self) -> Option<&[String]> {
        let find = || {
            let records = self.records;
            let is_whole = records.jobs.len() == records.files.jobs.len();
            if !is_whole || records.jobs.iter().any(|job| job.may_lack(&path!["circuits"])) {
                return None;
            }
            let circuits = records.jobs.iter().flat_map(|job| &job.data.circuits);
            let ids: BTreeSet<&str> = circuits.map(|circuit| circuit.id.as_deref().unwrap_or_default()).collect();
            Some(ids.into_iter().map(str::to_owned).collect())
        };
        self.circuit_ids.get_or_init(find).as_deref()
    }

    /// A value in `site.md`; in the book's settings when there is no such file.
    pub fn place(&self, path: FieldPath) -> Place {
        match &self.records.site {
            Some(record) => Place::at(&record.source, path),
            None => Place::at(&self.book.settings.source, FieldPath::root()),
        }
    }

    /// The visits in order of their dates.
    pub fn jobs(&'a self) -> impl DoubleEndedIterator<Item = JobView<'a>> + Clone {
        self.records.jobs.iter().enumerate().map(move |(index, record)| JobView { site: self, index, record })
    }

    /// A visit by its place among the site's visits.
    fn visit(&'a self, index: usize) -> JobView<'a> {
        JobView { site: self, index, record: &self.records.jobs[index] }
    }

    /// The visits that name `id` under `continues`, the earliest first.
    pub fn continuing(&'a self, id: &str) -> impl Iterator<Item = JobView<'a>> {
        self.continued.get(id).into_iter().flatten().map(|index| self.visit(*index))
    }

    /// A visit by its id.
    pub fn job(&'a self, id: &str) -> Option<JobView<'a>> {
        // Jobs are in order of their paths.
        let path = format!("sites/{}/{id}.md", self.id());
        let index = self.records.jobs.binary_search_by(|job| job.source.path.as_str().cmp(&path)).ok()?;
        Some(self.visit(index))
    }
}

/// One visit.
#[derive(Clone, Copy)]
pub struct JobView<'a> {
    /// The site it was made to.
    pub site: &'a SiteView<'a>,
    /// Its place among the site's visits.
    pub index: usize,
    /// Its record.
    pub record: &'a Record<Job>,
}

impl<'a> JobView<'a> {
    /// What the record says.
    pub fn data(&self) -> &'a Job {
        &self.record.data
    }

    /// The job's id: its file name without ending.
    pub fn id(&self) -> &'a str {
        &self.record.id
    }

    /// The day of the visit: the day of the tests, or the day in the file's name.
    pub fn day(&self) -> Option<Date> {
        self.data().dates.tested.or_else(|| self.record.day())
    }

    /// The edition of BS 7671 that the visit is judged by: the one it cites; where it cites none that is known, the one in force when the
    /// work was designed, or else on the day of the visit.
    pub fn edition(&self) -> Option<Edition> {
        self.site.editions[self.index]
    }

    /// Whether the work and its record are said to be finished; only then may anything be missing from it.
    pub fn is_finished(&self) -> bool {
        matches!(self.data().status, Some(Status::Complete | Status::Issued))
    }

    /// Whether the visit was of one of these kinds.
    pub fn is_kind(&self, kinds: &[JobKind]) -> bool {
        self.data().kind.is_some_and(|kind| kinds.contains(&kind))
    }

    /// A value in the job's front matter.
    pub fn place(&self, path: FieldPath) -> Place {
        Place::at(&self.record.source, path)
    }

    /// Whether everything in it could be read: then there is no need to ask [`JobView::is_unreadable`] of one path after another.
    pub fn is_whole(&self) -> bool {
        !self.record.lost && self.record.unreadable.is_empty()
    }

    /// Whether something stands at `path` that could not be read.
    pub fn is_unreadable(&self, path: &FieldPath) -> bool {
        self.record.is_unreadable(path)
    }

    /// The circuits the visit touched.
    pub fn circuits(self) -> impl DoubleEndedIterator<Item = CircuitView<'a>> + Clone {
        self.data().circuits.iter().enumerate().map(move |(index, circuit)| CircuitView { job: self, index, circuit })
    }

    /// A circuit of this visit by its id.
    pub fn circuit(self, id: &str) -> Option<CircuitView<'a>> {
        self.circuits().find(|circuit| circuit.circuit.id.as_deref() == Some(id))
    }

    /// Every circuit of the site as it was last recorded at or before this visit, in order of ids.
    pub fn installation(self) -> Vec<CircuitView<'a>> {
        let last = |places: &Vec<(usize, usize)>| places[..places.partition_point(|(job, _)| *job <= self.index)].last().copied();
        let circuit = |(job, index): (usize, usize)| {
            let job = self.site.visit(job);
            CircuitView { job, index, circuit: &job.data().circuits[index] }
        };
        self.site.recorded.values().filter_map(last).map(circuit).collect()
    }

    /// The visits before this one, the latest first.
    pub fn earlier(self) -> impl Iterator<Item = JobView<'a>> + Clone {
        (0..self.index).rev().map(|index| self.site.visit(index))
    }

    /// The visits after this one, the earliest first.
    pub fn later(self) -> impl Iterator<Item = JobView<'a>> + Clone {
        (self.index + 1..self.site.records.jobs.len()).map(|index| self.site.visit(index))
    }
}

/// A circuit at a visit.
#[derive(Clone, Copy)]
pub struct CircuitView<'a> {
    /// The visit.
    pub job: JobView<'a>,
    /// Its place in the visit's list.
    pub index: usize,
    /// What the visit says of it.
    pub circuit: &'a Circuit,
}

impl<'a> CircuitView<'a> {
    fn known(&self) -> &'a KnownCircuit<'a> {
        &self.job.site.known[self.job.index][self.index]
    }

    /// The site.
    pub fn site(&self) -> &'a SiteView<'a> {
        self.job.site
    }

    /// The circuit's id, or nothing when it has none.
    pub fn id(&self) -> &'a str {
        self.circuit.id.as_deref().unwrap_or_default()
    }

    /// The board part of the id.
    pub fn board_id(&self) -> &'a str {
        self.id().split_once('/').map_or("", |(board, _)| board)
    }

    /// The board it is on, from `site.md`.
    pub fn board(&self) -> Option<(usize, &'a Board)> {
        self.site().board(self.board_id())
    }

    /// The circuit that feeds its board; nothing at the origin.
    pub fn fed_from(&self) -> Option<CircuitView<'a>> {
        let (_, board) = self.board()?;
        let feeder = board.fed_from.as_deref().filter(|from| *from != "origin" && *from != self.id())?;
        // This visit's word on it, or the latest before, or the first after.
        let here = self.job.circuit(feeder);
        here.or_else(|| self.job.earlier().find_map(|job| job.circuit(feeder)))
            .or_else(|| self.job.later().find_map(|job| job.circuit(feeder)))
    }

    /// The circuits that feed this one, the nearest first, up to the origin.
    pub fn upstream(self) -> Vec<CircuitView<'a>> {
        let mut chain: Vec<CircuitView<'a>> = Vec::new();
        let mut next = self.fed_from();
        while let Some(circuit) = next {
            // Boards that feed one another in a circle are a fault of the record, and no reason to go round for ever.
            if circuit.id() == self.id() || chain.iter().any(|seen| seen.id() == circuit.id()) {
                break;
            }
            chain.push(circuit);
            next = circuit.fed_from();
        }
        chain
    }

    /// The model of the charge point on it, from the last visit up to this one that recorded the unit.
    pub fn unit_model(self) -> Option<&'a Record<Model>> {
        let serial = self.ev()?.value.unit.as_deref()?;
        let job = std::iter::once(self.job).chain(self.job.earlier());
        let model =
            job.flat_map(|job| job.data().units.iter()).find(|unit| unit.serial.as_deref() == Some(serial) && unit.model.is_some())?;
        self.site().book.models.get(model.model.as_deref()?)
    }

    /// Whether this visit installed it.
    pub fn is_new(&self) -> bool {
        self.circuit.new == Some(true)
    }

    /// What was read at this visit.
    pub fn readings(&self) -> &'a Readings {
        &self.circuit.readings
    }

    /// What it is used for.
    pub fn usage(&self) -> Option<Use> {
        self.known().usage.map(|known| *known.value)
    }

    /// What it is used for, with the place that says so.
    pub fn usage_known(&self) -> Option<Known<'a, Use>> {
        self.known().usage
    }

    /// Its design current.
    pub fn design_a(&self) -> Option<Known<'a, crate::record::Num>> {
        self.known().design_a
    }

    /// Its overcurrent protective device.
    pub fn ocpd(&self) -> Option<Known<'a, Ocpd>> {
        self.known().ocpd
    }

    /// Its residual current protection.
    pub fn rcd(&self) -> Option<Known<'a, Rcd>> {
        self.known().rcd
    }

    /// Its cable.
    pub fn cable(&self) -> Option<Known<'a, Cable>> {
        self.known().cable
    }

    /// What makes it an EV charging circuit.
    pub fn ev(&self) -> Option<Known<'a, Ev>> {
        self.known().ev
    }

    /// The earthing system that its protective conductor belongs to: a charging point may stand on a TT earth of its own.
    pub fn earthing(&self) -> Option<Earthing> {
        let island = self.ev().is_some_and(|ev| ev.value.open_pen == Some(OpenPen::Tt));
        if island { Some(Earthing::Tt) } else { self.site().earthing() }
    }

    /// The path of this circuit in the job's front matter.
    pub fn path(&self) -> FieldPath {
        path!["circuits", self.index]
    }

    /// The circuit itself, shown at its id.
    pub fn place(&self) -> Place {
        self.job.place(self.path())
    }

    /// One of the circuit's own keys.
    pub fn place_of(&self, key: &'static str) -> Place {
        self.job.place(self.path().at(key))
    }

    /// One of its readings.
    pub fn reading_place(&self, key: &'static str) -> Place {
        self.job.place(self.path().at("readings").at(key))
    }

    /// The same circuit at earlier visits, the latest first, back to the visit that installed it.
    pub fn previous(self) -> impl Iterator<Item = CircuitView<'a>> {
        let id = self.id();
        let mut ended = self.is_new() || id.is_empty();
        self.job.earlier().filter_map(move |job| job.circuit(id)).take_while(move |circuit| {
            let go_on = !ended;
            ended = ended || circuit.is_new();
            go_on
        })
    }
}
