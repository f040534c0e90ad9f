//! What is owed and by which day: the rules speak of it when the day has passed, the list of what is due (`crate::due`) before it too.

use std::borrow::Cow;

use super::story::{FaultView, ObservationView};
use super::view::{CircuitView, JobView, SiteView};
use super::words::says;
use crate::book::{FieldPath, Record, Task};
use crate::finding::Place;
use crate::path;
use crate::record::{
    Claim, Code, Date, FaultState, JobKind, Nation, Notice, NoticeRoute, NoticeTo, PaperKind, Premises, Status, Unit, UnitEvent, Use,
};
use crate::rules::identity::same_serial;
use crate::tables::{Limit, deadlines, demand, intervals};

/// Days after which a C1, C2 or FI without a date is asked about where no law sets any: the law's figure for let homes, as common practice.
pub const DAYS_TO_CLEAR: i32 = 28;

impl FaultView<'_> {
    /// The day on which somebody is to look at it again, and the key that says so: the one that fits its state, or else the other.
    pub fn looks_again(&self) -> Option<(&'static str, Date)> {
        let watch = ("watch_until", self.fault.watch_until);
        let back = ("return_by", self.fault.return_by);
        let order = if self.fault.state == Some(FaultState::Watching) { [watch, back] } else { [back, watch] };
        order.into_iter().find_map(|(key, day)| Some((key, day?)))
    }
}

/// What sets the day by which an observation is cleared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ClearBy {
    /// The law, with its name: a let home.
    Law(Date, Cow<'static, str>),
    /// The report's own `due`.
    Report(Date),
    /// Neither: common practice.
    Habit(Date),
}

impl ClearBy {
    /// The day.
    pub fn day(&self) -> Date {
        match self {
            ClearBy::Law(day, _) | ClearBy::Report(day) | ClearBy::Habit(day) => *day,
        }
    }
}

impl ObservationView<'_> {
    /// Its code, when that is C1, C2 or FI and nothing on record closes it: no finished visit that cleared it, no later condition report.
    pub fn open_code(&self) -> Option<Code> {
        let code = self.observation.code.filter(|code| *code != Code::C3)?;
        (!self.is_cleared() && self.reported_again().is_none()).then_some(code)
    }

    /// The day by which it is to be cleared: the law's where that comes before the report's own.
    pub fn clear_by(&self) -> Option<ClearBy> {
        let own = self.observation.due;
        if let Some((day, law)) = lawful_day(self.job).filter(|(law, _)| own.is_none_or(|due| *law < due)) {
            return Some(ClearBy::Law(day, law));
        }
        own.map(ClearBy::Report).or_else(|| Some(ClearBy::Habit(self.job.day()?.plus_days(DAYS_TO_CLEAR))))
    }
}

/// The day by which the law wants it cleared, and the law: let homes, for reports from the day the nation's law binds every tenancy.
fn lawful_day(job: JobView<'_>) -> Option<(Date, Cow<'static, str>)> {
    let premises = job.site.site()?.premises.filter(|premises| is_let(*premises))?;
    let nation = job.site.nation()?;
    let day = job.day()?;
    let law = intervals::law(premises, nation, day)?;
    let days = deadlines::clear_codes(nation)?;
    law.all_from.is_none_or(|from| from <= day).then(|| (day.plus_days(days.value as i32), days.source))
}

/// Whether it is a home that is let.
pub fn is_let(premises: Premises) -> bool {
    matches!(premises, Premises::DwellingLet | Premises::Hmo)
}

/// Whether somebody lives there.
pub fn is_home(premises: Premises) -> bool {
    premises == Premises::Dwelling || is_let(premises)
}

impl<'a> JobView<'a> {
    /// Claims that were sent, or have a day to chase them, and wait for an answer, told at the latest entry of their fault that carries one.
    pub fn waiting_claims(self) -> impl Iterator<Item = (FaultView<'a>, &'a Claim)> {
        self.faults().filter_map(|fault| {
            let claim = fault.fault.claim.as_ref()?;
            let waiting = (claim.sent.is_some() || claim.chase.is_some()) && claim.answered.is_none() && !says(&claim.outcome);
            let carried_on = fault.repeated_by().is_some_and(|later| later.fault.claim.is_some());
            (waiting && !carried_on && !fault.has_hole(&["claim"])).then_some((fault, claim))
        })
    }

    /// The notices to one addressee, with their places in the list.
    pub fn notices_to(self, to: NoticeTo) -> impl Iterator<Item = (usize, &'a Notice)> {
        self.data().notices.iter().enumerate().filter(move |(_, notice)| notice.to == Some(to))
    }

    /// The day on which the work was there, and its key: installed, else energised.
    pub fn completed(self) -> Option<(Date, FieldPath)> {
        let dates = &self.data().dates;
        let installed = dates.installed.map(|date| (date, path!["dates", "installed"]));
        installed.or_else(|| dates.energised.map(|date| (date, path!["dates", "energised"])))
    }

    /// The new charging circuit of a finished visit to a site where the network operator has never been told of anything.
    pub fn untold_charging(self) -> Option<CircuitView<'a>> {
        let told =
            |visit: JobView<'_>| visit.data().notices.iter().any(|notice| notice.to.is_none_or(|to| to == NoticeTo::NetworkOperator));
        let charging = self.circuits().find(|circuit| circuit.is_new() && circuit.usage() == Some(Use::Ev));
        charging.filter(|_| self.is_finished() && !self.site.jobs().any(told))
    }

    /// The new circuit in a home that building control is told of, with the day the work was done and the days allowed; nothing where
    /// no such notice is sent, and once a notice has its reference.
    pub fn untold_home_circuit(self) -> Option<(CircuitView<'a>, Date, Limit)> {
        let home = self.site.site().and_then(|site| site.premises).is_some_and(is_home);
        let allowed = self.site.nation().and_then(deadlines::building_control).filter(|_| home && self.is_finished())?;
        let done = self.data().dates.installed.or_else(|| self.day())?;
        let new = self.circuits().find(|circuit| circuit.is_new() && circuit.usage() != Some(Use::Spare))?;
        let referred = self.notices_to(NoticeTo::BuildingControl).any(|(_, notice)| says(&notice.reference));
        (!referred && !self.is_kind(&[JobKind::Survey])).then_some((new, done, allowed))
    }

    /// The days within which the report on a let home is given, so that the landlord can keep the law's date: 28 in England and Northern
    /// Ireland, 14 in Wales. Nothing for other premises and visits.
    pub fn days_to_give_report(self) -> Option<i32> {
        let inspects = self.site.site()?.premises.is_some_and(is_let) && self.is_kind(&[JobKind::Inspect]);
        let days = match self.site.nation()? {
            Nation::England | Nation::NorthernIreland => Some(28),
            Nation::Wales => Some(14),
            Nation::Scotland => None,
        };
        days.filter(|_| inspects)
    }

    /// Whether the work or the report ends in a paper, and neither this finished visit nor one that continues it records any.
    pub fn lacks_paper(self) -> bool {
        let owes = self.is_finished() && self.is_kind(&[JobKind::Install, JobKind::Alter, JobKind::Swap, JobKind::Inspect]);
        owes && !has_certificate(self) && !self.continued_by().any(|later| later.is_finished() && has_certificate(later))
    }

    /// Whether the visit is written up and says so.
    pub fn is_issued(self) -> bool {
        self.data().status == Some(Status::Issued)
    }
}

/// Whether a visit records a paper that certifies or reports; an advice note does neither. One whose kind cannot be read may.
fn has_certificate(job: JobView<'_>) -> bool {
    job.data().papers.iter().any(|paper| paper.kind != Some(PaperKind::AdviceNote)) || job.has_hole(&path!["papers"])
}

/// A notice to the network operator that one visit records.
#[derive(Clone, Copy)]
pub struct OperatorNotice<'a> {
    /// The visit.
    pub job: JobView<'a>,
    /// Its place in that visit's list.
    pub index: usize,
    /// What the visit says of it.
    pub notice: &'a Notice,
}

impl<'a> JobView<'a> {
    /// The notices to the network operator.
    pub fn operator_notices(self) -> impl Iterator<Item = OperatorNotice<'a>> {
        self.notices_to(NoticeTo::NetworkOperator).map(move |(index, notice)| OperatorNotice { job: self, index, notice })
    }
}

impl<'a> OperatorNotice<'a> {
    /// Whether nothing is connected before it is answered.
    pub fn is_application(&self) -> bool {
        self.notice.route == Some(NoticeRoute::Apply)
    }

    /// Whether something of it stands there and could not be read.
    pub fn has_hole(&self) -> bool {
        self.job.has_hole(&path!["notices", self.index])
    }

    /// Whether another entry is of the same notice: the same reference, or sent on the same day.
    pub fn is_same(&self, other: &Notice) -> bool {
        let reference = says(&self.notice.reference) && other.reference == self.notice.reference;
        reference || other.sent.is_some() && other.sent == self.notice.sent
    }

    /// Later entries of the same notice, at this visit and at later ones.
    pub fn later_entries(self) -> impl Iterator<Item = OperatorNotice<'a>> {
        let here = self.job.operator_notices().filter(move |other| other.index > self.index);
        here.chain(self.job.later().flat_map(JobView::operator_notices)).filter(move |other| self.is_same(other.notice))
    }

    /// Whether the operator had answered by a day: this entry, or any answer between sending and that day, whichever later visit records it.
    pub fn is_answered_by(self, day: Date) -> bool {
        let in_time = |entry: OperatorNotice<'_>| entry.notice.answered.filter(|answered| *answered <= day);
        let later = self.job.later().flat_map(JobView::operator_notices);
        let to_this = |answered: Date| self.notice.sent.is_none_or(|sent| answered >= sent);
        in_time(self).is_some() || later.filter_map(in_time).any(to_this) || self.later_entries().any(|entry| in_time(entry).is_some())
    }

    /// Whether a later visit does the work that it was sent for.
    pub fn is_for(self, visit: JobView<'_>) -> IsFor {
        let planned: Vec<CircuitView<'_>> = self.job.circuits().filter(|circuit| circuit.is_new()).collect();
        let made = || visit.circuits().filter(|circuit| circuit.is_new());
        let as_planned = || made().any(|circuit| planned.iter().any(|planned| !planned.id().is_empty() && planned.id() == circuit.id()));
        let carried_on = || visit.operator_notices().any(|other| self.is_same(other.notice));
        if visit.follows(self.job) || carried_on() || as_planned() {
            return IsFor::Surely;
        }
        let charges = made().any(|circuit| circuit.usage() == Some(Use::Ev));
        let told_apart = visit.operator_notices().next().is_some();
        if planned.is_empty() && charges && !told_apart { IsFor::Perhaps } else { IsFor::Not }
    }

    /// The visit that first put into use what it was sent for, and the day: its own visit, or a later finished one.
    pub fn connected_at(self) -> Option<(JobView<'a>, Date)> {
        let energised = |visit: JobView<'a>| Some((visit, visit.data().dates.energised?));
        let later = self.job.later().filter(|visit| visit.is_finished() && self.is_for(*visit) != IsFor::Not).filter_map(energised);
        let later = later.filter(|(_, day)| self.notice.sent.is_none_or(|sent| *day >= sent));
        energised(self.job).into_iter().chain(later).min_by_key(|(_, day)| *day)
    }
}

/// Whether a notice to the network operator was sent for the work of a later visit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IsFor {
    /// The visit follows the one that sent it, carries the notice on, or makes a circuit planned there.
    Surely,
    /// The visit makes a charging circuit and sends no notice of its own, and what the notice was for is not written down.
    Perhaps,
    /// Nothing says so.
    Not,
}

/// Days after installation within which the network operator is told.
pub fn operator_days() -> Option<i32> {
    demand::notify_within_days().map(|limit| limit.value as i32)
}

/// A unit in its place at the end of a site's last visit.
#[derive(Clone, Copy)]
pub struct UnitInPlace<'a> {
    /// The last visit that fitted or saw it.
    pub job: JobView<'a>,
    /// Its place in that visit's list.
    pub index: usize,
    /// The entry.
    pub unit: &'a Unit,
    /// Its serial.
    pub serial: &'a str,
}

impl<'a> SiteView<'a> {
    /// Open items of every text of the site, each with the file it stands in.
    pub fn open_tasks(&'a self) -> impl Iterator<Item = (Option<JobView<'a>>, Place, &'a Task)> {
        fn of<T>(record: &Record<T>) -> impl Iterator<Item = (Place, &Task)> {
            let open = record.body.tasks.iter().filter(|task| !task.done);
            open.map(|task| (Place::bytes(&record.source, FieldPath::root(), task.span.clone()), task))
        }
        let of_site = self.record().into_iter().flat_map(of).map(|(place, task)| (None, place, task));
        of_site.chain(self.jobs().flat_map(|job| of(job.record).map(move |(place, task)| (Some(job), place, task))))
    }

    /// The units with a serial that finished visits fitted or saw and none has removed since, as their last entry says.
    pub fn units_in_place(&'a self) -> Vec<UnitInPlace<'a>> {
        let mut units: Vec<UnitInPlace<'a>> = Vec::new();
        for job in self.jobs().filter(|job| job.can_close()) {
            for (index, unit) in job.data().units.iter().enumerate() {
                let Some(serial) = unit.serial.as_deref().filter(|serial| !serial.trim().is_empty()) else { continue };
                units.retain(|known| !same_serial(known.serial, serial));
                if unit.event != Some(UnitEvent::Removed) {
                    units.push(UnitInPlace { job, index, unit, serial });
                }
            }
        }
        units
    }

    /// The last entry that says when a unit's warranty ends.
    pub fn warranty_of(&'a self, serial: &str) -> Option<(JobView<'a>, usize, Date)> {
        let entries = self.jobs().flat_map(|job| job.data().units.iter().enumerate().map(move |(index, unit)| (job, index, unit)));
        let of_unit = entries.filter(|(_, _, unit)| unit.serial.as_deref().is_some_and(|own| same_serial(own, serial)));
        of_unit.filter_map(|(job, index, unit)| Some((job, index, unit.warranty_until?))).next_back()
    }
}

/// What an open item asks for, without its date.
pub fn task_words(task: &Task) -> &str {
    task.text.split("(by ").next().unwrap_or_default().trim()
}
