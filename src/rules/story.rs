//! Where a thing stands now: one fault, one observation or one inspection date followed through all the visits of a site. Whoever asks
//! what is still owed asks here.

use super::view::{JobView, SiteView};
use crate::book::FieldPath;
use crate::finding::Place;
use crate::path;
use crate::record::{Code, Date, Fault, FaultState, How, JobKind, Left, Observation, PaperKind, Status, Symptom, Use};
use crate::tables::Limit;
use crate::tables::intervals::{self, LegalInterval};

/// A fault as one visit records it.
#[derive(Clone, Copy)]
pub struct FaultView<'a> {
    /// The visit.
    pub job: JobView<'a>,
    /// Its place in the visit's list.
    pub index: usize,
    /// What the visit says of it.
    pub fault: &'a Fault,
}

/// Where a fault stands, as far as its own entry and the visit that fixed it say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Not put right.
    Open,
    /// Being watched.
    Watching,
    /// Put right.
    Fixed,
    /// Nothing says.
    Unsaid,
}

/// An observation of a condition report.
#[derive(Clone, Copy)]
pub struct ObservationView<'a> {
    /// The visit that reported it.
    pub job: JobView<'a>,
    /// Its place in the visit's list.
    pub index: usize,
    /// What the report says.
    pub observation: &'a Observation,
}

impl<'a> JobView<'a> {
    /// The faults this visit records.
    pub fn faults(self) -> impl DoubleEndedIterator<Item = FaultView<'a>> + Clone {
        self.data().faults.iter().enumerate().map(move |(index, fault)| FaultView { job: self, index, fault })
    }

    /// The observations this visit reports.
    pub fn observations(self) -> impl DoubleEndedIterator<Item = ObservationView<'a>> + Clone {
        self.data().observations.iter().enumerate().map(move |(index, observation)| ObservationView { job: self, index, observation })
    }

    /// Whether this visit closes what names it as its cure: it is finished, or it cannot be read and gets the benefit of the doubt.
    pub fn can_close(self) -> bool {
        self.is_finished() || self.record.lost || self.is_unreadable(&path!["status"])
    }

    /// Whether the visit took place: finished, or still being written up.
    fn took_place(self) -> bool {
        self.can_close() || self.data().status == Some(Status::Draft)
    }

    /// Whether anything at `path`, around it or within it stands there and could not be read.
    pub fn has_hole(self, path: &FieldPath) -> bool {
        self.record.unreadable.touch(path)
    }
}

impl<'a> FaultView<'a> {
    /// Its id; empty when it has none.
    pub fn id(&self) -> &'a str {
        self.fault.id.as_deref().unwrap_or_default()
    }

    /// How a message about it begins: findings show its id as their subject, so only one without an id is named here.
    pub fn lead(&self) -> String {
        if self.id().is_empty() { format!("fault {}: ", self.index + 1) } else { String::new() }
    }

    /// One of its keys.
    pub fn place(&self, key: &'static str) -> Place {
        self.job.place(self.path(key))
    }

    /// The path of one of its keys.
    pub fn path(&self, key: &'static str) -> FieldPath {
        path!["faults", self.index, key]
    }

    /// Whether one of these keys holds something that could not be read.
    pub fn has_hole(&self, keys: &[&'static str]) -> bool {
        keys.iter().any(|key| self.job.has_hole(&self.path(key)))
    }

    /// The same fault at the last finished visit that repeats this entry of it.
    pub fn repeated_by(&self) -> Option<FaultView<'a>> {
        self.repetitions().filter(|later| later.job.is_finished()).last()
    }

    fn repetitions(&self) -> impl Iterator<Item = FaultView<'a>> {
        let reference = (!self.id().is_empty()).then(|| format!("{}#{}", self.job.id(), self.id()));
        self.job.later().flat_map(JobView::faults).filter(move |later| reference.is_some() && later.fault.repeats == reference)
    }

    /// The entry that this one repeats.
    pub fn repeats(&self) -> Option<FaultView<'a>> {
        let (job, id) = self.fault.repeats.as_deref()?.split_once('#')?;
        let job = self.job.site.job(job).filter(|job| job.index < self.job.index)?;
        job.faults().find(|fault| fault.id() == id)
    }

    /// Whether a later finished visit has taken the fault up again under `repeats`; its own entry then decides.
    pub fn is_superseded(&self) -> bool {
        self.repeated_by().is_some()
    }

    /// The visit named as the one that fixed it, when the book holds it.
    pub fn fixer(&self) -> Option<JobView<'a>> {
        self.job.site.job(self.fault.fixed_by.as_deref()?)
    }

    /// Where it stands by this entry. Another visit that is only planned, on hold or in draft has not cured anything yet; a
    /// visit that the book does not hold is told by the rule on unknown references and believed here.
    pub fn standing(&self) -> Standing {
        let cured = self.fault.fixed_by.is_some() && self.fixer().is_none_or(|fixer| fixer.index == self.job.index || fixer.can_close());
        match self.fault.state {
            _ if cured => Standing::Fixed,
            Some(FaultState::Fixed) if self.fault.fixed_by.is_none() => Standing::Fixed,
            Some(FaultState::Fixed | FaultState::Open) => Standing::Open,
            Some(FaultState::Watching) => Standing::Watching,
            None => Standing::Unsaid,
        }
    }

    /// Whether this entry is the latest word on the fault, and leaves it open or watched.
    pub fn is_pending(&self) -> bool {
        matches!(self.standing(), Standing::Open | Standing::Watching) && !self.is_superseded()
    }

    /// Whether this entry is the latest word on the fault, and nothing says that it was fixed.
    pub fn may_be_pending(&self) -> bool {
        self.standing() != Standing::Fixed && !self.is_superseded()
    }

    /// The first later visit that went back: it continues this visit, or lists the fault again. A visit still being written up counts.
    pub fn followed_by(&self) -> Option<JobView<'a>> {
        let went_back = self.repetitions().map(|later| later.job).find(|job| job.took_place());
        let continued = self.job.continued_by().find(|job| job.took_place());
        went_back.into_iter().chain(continued).min_by_key(|job| job.index)
    }

    /// Since when it has been left as it is: back through the entries that this one repeats and that left it the same way.
    pub fn left_since(&self) -> Option<Date> {
        let mut first = *self;
        while let Some(before) = first.repeats().filter(|before| before.fault.left == self.fault.left) {
            first = before;
        }
        first.job.day()
    }

    /// Whether somebody may be hurt by it: coded as danger or potential danger, or something burns, heats or sparks.
    pub fn is_dangerous(&self) -> bool {
        matches!(self.fault.code, Some(Code::C1 | Code::C2))
            || matches!(self.fault.symptom, Some(Symptom::BurningSmell | Symptom::Spark | Symptom::Heat))
    }

    /// What it is, in two or three words: the code and the symptom.
    pub fn words(&self) -> String {
        let symptom = self.fault.symptom.filter(|symptom| *symptom != Symptom::Other).map(|symptom| symptom.as_str().replace('-', " "));
        let code = self.fault.code.map(|code| code.to_string());
        code.into_iter().chain(symptom).collect::<Vec<_>>().join(", ")
    }

    /// What is wanting of written, acknowledged advice; nothing when it is whole.
    pub fn advice_wants(&self) -> Option<&'static str> {
        let note = self.job.data().papers.iter().any(|paper| paper.kind == Some(PaperKind::AdviceNote) && paper.on.is_some());
        let Some(advice) = &self.fault.advice else {
            return Some(if note { "an advice note that nobody is shown to have acknowledged" } else { "no advice recorded" });
        };
        let words = advice.words.as_deref().is_some_and(|words| !words.trim().is_empty());
        match advice.how {
            Some(How::Verbal) if !note => Some("verbal advice only"),
            None if !note => Some("advice that nothing shows to be written"),
            _ if advice.acknowledged != Some(true) => Some("written advice that nobody has acknowledged"),
            _ if !words && !note => Some("written advice whose words were not kept"),
            _ => None,
        }
    }

    /// Whether it was left under power.
    pub fn is_left_live(&self) -> bool {
        self.fault.left == Some(Left::Live)
    }
}

impl<'a> JobView<'a> {
    /// The later visits that name this one under `continues`, the earliest first.
    pub fn continued_by(self) -> impl Iterator<Item = JobView<'a>> {
        self.site.continuing(self.id()).filter(move |later| later.index > self.index)
    }

    /// Whether this visit continues an earlier one, straight or over visits between.
    pub fn follows(self, earlier: JobView<'_>) -> bool {
        let mut visit = self;
        while let Some(before) = visit.data().continues.as_deref().and_then(|id| self.site.job(id)).filter(|job| job.index < visit.index) {
            if before.index == earlier.index {
                return true;
            }
            visit = before;
        }
        false
    }
}

impl<'a> ObservationView<'a> {
    /// How a message about it begins: findings show its id as their subject, so only one without an id is named here.
    pub fn lead(&self) -> String {
        if self.id().is_empty() { format!("observation {}: ", self.index + 1) } else { String::new() }
    }

    /// Its id; empty when it has none.
    pub fn id(&self) -> &'a str {
        self.observation.id.as_deref().unwrap_or_default()
    }

    /// One of its keys.
    pub fn place(&self, key: &'static str) -> Place {
        self.job.place(self.path(key))
    }

    /// The path of one of its keys.
    pub fn path(&self, key: &'static str) -> FieldPath {
        path!["observations", self.index, key]
    }

    /// Whether one of these keys holds something that could not be read.
    pub fn has_hole(&self, keys: &[&'static str]) -> bool {
        keys.iter().any(|key| self.job.has_hole(&self.path(key)))
    }

    /// Whether a finished visit is named as having cleared it; one that the book does not hold is told elsewhere and believed here.
    pub fn is_cleared(&self) -> bool {
        let named = self.observation.cleared_by.as_deref();
        named.is_some_and(|named| self.job.site.job(named).is_none_or(JobView::can_close))
    }

    /// Whether it was cleared at the same visit, before the report was finished.
    pub fn is_cleared_at_once(&self) -> bool {
        let by = self.observation.cleared_by.as_deref().and_then(|named| self.job.site.job(named));
        by.is_some_and(|by| by.index <= self.job.index)
    }

    /// A later finished condition report: it has looked again, and what it does not list is no longer there.
    pub fn reported_again(&self) -> Option<JobView<'a>> {
        self.job.later().find(|later| later.is_finished() && later.is_kind(&[JobKind::Inspect]))
    }
}

/// Days before an inspection is due on which the owner of the book is reminded; common practice.
pub const SOON_DAYS: i32 = 60;

/// When the next inspection of a site is due, and on what ground.
pub struct Reinspection<'a> {
    /// The visit that the date is counted from, or that set it.
    pub job: JobView<'a>,
    /// The day.
    pub due: Date,
    /// The ground.
    pub ground: Ground,
}

/// What sets the day of the next inspection.
pub enum Ground {
    /// The date on a paper.
    Paper,
    /// A law: no date was set, or one later than the law allows.
    Law(LegalInterval),
    /// Guidance: no date was set, and no law says anything.
    Guidance(Limit),
}

impl<'a> SiteView<'a> {
    /// When the next inspection is due. The newest finished condition report sets the clock, or the newest finished installation of
    /// everything that the book knows of the place. Any other visit speaks for its own circuits: an earlier date of its own brings the
    /// day forward, a later one does not push it back. In a let home the law's day counts when it comes before the paper's. Nothing when
    /// no visit says anything, or the last word is unreadable or no date that can be meant.
    pub fn reinspection(&'a self) -> Option<Reinspection<'a>> {
        let mut clock: Option<Reinspection<'a>> = None;
        for job in self.jobs().filter(|job| job.is_finished()) {
            let paper = job.next_inspection();
            if job.looks_at_the_whole() {
                clock = self.clock_from(job);
            } else if let Some(due) = paper.filter(|due| clock.as_ref().is_none_or(|clock| *due < clock.due)) {
                clock = Some(Reinspection { job, due, ground: Ground::Paper });
            }
        }
        clock
    }

    /// The last day that today's law allows for the inspection after a visit; nothing where no law binds every tenancy of such a home.
    pub fn lawful_from(&self, job: JobView<'_>) -> Option<(Date, LegalInterval)> {
        let law = intervals::law(self.site()?.premises?, self.nation()?, self.today)?;
        let due = job.day()?.plus_months(months(&law.months));
        law.all_from.is_none_or(|from| from <= self.today).then_some((due, law))
    }

    fn clock_from(&self, job: JobView<'a>) -> Option<Reinspection<'a>> {
        let is_unusable = job.data().next_inspection.is_some() && job.next_inspection().is_none();
        if is_unusable || job.has_hole(&path!["next_inspection"]) {
            return None;
        }
        let by_paper = job.next_inspection().map(|due| Reinspection { job, due, ground: Ground::Paper });
        let by_law = self.lawful_from(job).map(|(due, law)| Reinspection { job, due, ground: Ground::Law(law) });
        let dated = by_paper.into_iter().chain(by_law).min_by_key(|clock| clock.due);
        dated.or_else(|| {
            let guidance = intervals::guidance(self.site()?.premises?)?;
            let due = job.day()?.plus_months(months(&guidance));
            Some(Reinspection { job, due, ground: Ground::Guidance(guidance) })
        })
    }
}

/// A limit of the table of intervals as whole months.
pub fn months(limit: &Limit) -> i32 {
    limit.value.round() as i32
}

impl<'a> JobView<'a> {
    /// The date it sets for the next inspection, when it comes after its tests.
    pub fn next_inspection(self) -> Option<Date> {
        let next = self.data().next_inspection?;
        self.day().is_none_or(|day| next > day).then_some(next)
    }

    /// Whether it looks at the whole installation: a condition report, or an installation of all that the book knows there.
    fn looks_at_the_whole(self) -> bool {
        self.is_kind(&[JobKind::Inspect]) || self.is_kind(&[JobKind::Install]) && (self.says_whole() || self.installs_everything())
    }

    fn says_whole(self) -> bool {
        let extent = self.data().extent.as_deref().unwrap_or_default().to_lowercase();
        ["whole", "rewire", "entire"].iter().any(|word| extent.contains(word))
    }

    fn installs_everything(self) -> bool {
        let mut circuits = self.installation().into_iter().filter(|circuit| circuit.usage() != Some(Use::Spare)).peekable();
        circuits.peek().is_some() && circuits.all(|circuit| circuit.job.index == self.index && circuit.is_new())
    }

    /// A later visit to inspect that is booked or being written up.
    pub fn inspection_booked(self) -> Option<JobView<'a>> {
        self.later().find(|later| later.is_kind(&[JobKind::Inspect]) && !later.is_finished() && !later.record.lost)
    }
}
