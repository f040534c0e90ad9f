//! What a reader of the copy has to be told of a site, in lines: what is open, hidden, fitted, papered and not known.

use std::collections::BTreeMap;

use crate::due::is_danger;
use crate::record::{Access, Date, JobKind, Left, Status, UnitEvent};
use crate::render::visible;
use crate::rules::story::{FaultView, ObservationView};
use crate::rules::view::{JobView, SiteView};

/// The lines about one site.
#[derive(Default)]
pub struct Told {
    /// Faults, observations and advice that nothing closes; dangerous ones first.
    pub open: Vec<String>,
    /// How many of these may hurt somebody.
    pub dangers: usize,
    /// Joints that are covered or out of reach.
    pub hidden_joints: Vec<String>,
    /// Equipment in place.
    pub units: Vec<String>,
    /// Papers issued.
    pub papers: Vec<String>,
    /// Notices sent.
    pub notices: Vec<String>,
    /// What could not be read or was agreed not to be looked at.
    pub not_known: Vec<String>,
    /// The visits.
    pub visits: Vec<String>,
}

/// Words of a record on one line of a page.
pub fn said(text: &str) -> String {
    visible(text).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn or_blank(text: Option<&str>, blank: &str) -> String {
    text.map(said).filter(|text| !text.is_empty()).unwrap_or_else(|| blank.to_owned())
}

fn day_or(day: Option<Date>, blank: &str) -> String {
    day.map_or_else(|| blank.to_owned(), |day| day.to_string())
}

impl Told {
    /// Gathers what the visits that go into the copy say; `shown` gives a visit's name in it.
    pub fn of(site: &SiteView<'_>, shown: &dyn Fn(&str) -> Option<String>) -> Told {
        let mut told = Told::default();
        let mut later = Vec::new();
        for job in site.jobs() {
            // What is open is told whether or not its visit goes into the copy.
            let name = shown(job.id()).unwrap_or_else(|| format!("a visit of {}", day_or(job.day(), "an unknown day")));
            for fault in job.faults().filter(FaultView::may_be_pending) {
                let line = format!("{name}: {}", of_fault(&fault));
                if is_danger(&fault) {
                    told.dangers += 1;
                    told.open.push(line);
                } else {
                    later.push(line);
                }
            }
            for observation in job.observations().filter(is_open) {
                let line = format!("{name}: {}", of_observation(&observation));
                let danger = observation.observation.code.is_some_and(|code| code.to_string() != "C3");
                if danger {
                    told.dangers += 1;
                    told.open.push(line);
                } else {
                    later.push(line);
                }
            }
            if shown(job.id()).is_some() {
                told.hold(job, &name);
            }
        }
        told.open.append(&mut later);
        told.units = units(site, shown);
        told
    }

    /// Every line.
    pub fn lines(&mut self) -> impl Iterator<Item = &mut String> {
        let Told { open, dangers: _, hidden_joints, units, papers, notices, not_known, visits } = self;
        [open, hidden_joints, units, papers, notices, not_known, visits].into_iter().flatten()
    }

    /// What a visit in the copy holds.
    fn hold(&mut self, job: JobView<'_>, name: &str) {
        let data = job.data();
        let kind = data.kind.map_or("visit", JobKind::as_str);
        let status = data.status.map_or("no status", Status::as_str);
        self.visits.push(format!("{name}: {kind}, {status}: {}", or_blank(data.title.as_deref(), "no title")));
        for joint in data.joints.iter().filter(|joint| matches!(joint.access, Some(Access::Covered | Access::None))) {
            let circuit = joint.circuit.as_deref().map(|circuit| format!(" ({})", said(circuit))).unwrap_or_default();
            let access = joint.access.map_or("", |access| if access == Access::Covered { "covered" } else { "out of reach" });
            self.hidden_joints.push(format!("{name}: {}{circuit}, {access}", or_blank(joint.place.as_deref(), "place not written down")));
        }
        for paper in &data.papers {
            let kind = paper.kind.map_or("paper", |kind| kind.as_str());
            let number = paper.number.as_deref().map(|number| format!(" number: {}", said(number))).unwrap_or_default();
            let given = match (&paper.given_to, paper.on) {
                (Some(to), Some(on)) => format!("given to {} on {on}", said(to)),
                (Some(to), None) => format!("given to {}, no day", said(to)),
                (None, _) => "not shown to have been given to anybody".to_owned(),
            };
            self.papers.push(format!("{name}: {kind}{number}, issued {}, {given}", day_or(paper.issued, "on no day")));
        }
        for notice in &data.notices {
            let to = notice.to.map_or("nobody named", |to| to.as_str());
            let reference = notice.reference.as_deref().map_or_else(|| "no reference".to_owned(), |text| format!("ref: {}", said(text)));
            self.notices.push(format!("{name}: {to}, sent {}, {reference}", day_or(notice.sent, "on no day")));
        }
        for circuit in &data.circuits {
            for (key, why) in circuit.not_taken.iter() {
                self.not_known.push(format!("{name}: {} {key} not taken: {}", or_blank(circuit.id.as_deref(), "a circuit"), said(why)));
            }
        }
        for limit in &data.limitations {
            let what = or_blank(limit.what.as_deref(), "something");
            self.not_known.push(format!("{name}: not looked at: {what}; {}", or_blank(limit.why.as_deref(), "no reason given")));
        }
    }
}

/// Whether an observation stands: nothing cleared it, and no later report has looked again.
fn is_open(observation: &ObservationView<'_>) -> bool {
    !observation.is_cleared() && !observation.is_cleared_at_once() && observation.reported_again().is_none()
}

fn of_fault(fault: &FaultView<'_>) -> String {
    let data = fault.fault;
    let mut line = format!("fault {}", said(fault.id()));
    let words = fault.words();
    if !words.is_empty() {
        line.push_str(&format!(" ({words})"));
    }
    if let Some(circuit) = &data.circuit {
        line.push_str(&format!(" on {}", said(circuit)));
    }
    line.push_str(&format!(": {}", or_blank(data.found.as_deref(), "what was found is not written down")));
    line.push_str(match data.left {
        Some(Left::Live) => "; left live",
        Some(Left::Isolated) => "; left isolated",
        Some(Left::Removed) => "; removed",
        None => "; how it was left is not written down",
    });
    if let Some(safe) = &data.made_safe {
        line.push_str(&format!(", {}", or_blank(safe.how.as_deref(), "how is not written down")));
    }
    if data.left == Some(Left::Isolated) {
        line.push_str("; do not switch it on");
    }
    line.push_str(&advice(data.advice.as_ref()));
    line
}

fn advice(advice: Option<&crate::record::Advice>) -> String {
    let Some(advice) = advice else { return "; no advice written down".to_owned() };
    let how = advice.how.map_or("how is not written down", |how| how.as_str());
    let heard = if advice.acknowledged == Some(true) { "acknowledged" } else { "nobody shown to have acknowledged it" };
    let words = or_blank(advice.words.as_deref(), "words not kept");
    format!("; advice ({how}, {}, {heard}): \"{words}\"", day_or(advice.on, "no day"))
}

fn of_observation(observation: &ObservationView<'_>) -> String {
    let data = observation.observation;
    let code = data.code.map_or_else(|| "no code".to_owned(), |code| code.to_string());
    let place = data.place.as_deref().map(|place| format!(" at {}", said(place))).unwrap_or_default();
    let due = data.due.map(|due| format!("; due {due}")).unwrap_or_default();
    let what = or_blank(data.what.as_deref(), "what is wrong is not written down");
    format!(
        "observation {} ({code}){place}: {what}{due}{}",
        said(observation.id()),
        data.advice.as_ref().map(|words| advice(Some(words))).unwrap_or_default()
    )
}

/// Equipment fitted or seen and not removed since.
fn units(site: &SiteView<'_>, shown: &dyn Fn(&str) -> Option<String>) -> Vec<String> {
    let mut lines: BTreeMap<(String, String), String> = BTreeMap::new();
    for job in site.jobs().filter(|job| shown(job.id()).is_some()) {
        for unit in &job.data().units {
            let key = (or_blank(unit.circuit.as_deref(), "no circuit"), or_blank(unit.serial.as_deref(), "not written down"));
            if unit.event == Some(UnitEvent::Removed) {
                lines.retain(|(_, serial), _| *serial != key.1);
                continue;
            }
            let mut line = format!("{}: model: {}, serial: {}", key.0, or_blank(unit.model.as_deref(), "not written down"), key.1);
            line.push_str(&format!(", firmware: {}", or_blank(unit.firmware.as_deref(), "not written down")));
            if let Some(until) = unit.warranty_until {
                line.push_str(&format!(", maker's warranty until {until}"));
            }
            lines.insert(key, line);
        }
    }
    lines.into_values().collect()
}
