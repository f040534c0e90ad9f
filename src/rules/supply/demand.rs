//! Demand against the cut-out, and load added without the network operator's answer.

use crate::finding::Grade;
use crate::path;
use crate::record::{Date, JobKind, LoadLimit, NoticeRoute, NoticeTo, Num, Service, ShownBy, SiteSupply, Use};
use crate::rules::view::{CircuitView, JobView};
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::wiring::demand::cutout_headroom;
use crate::wiring::network::{self, Connection, Trigger};

pub(super) const OVER_CUTOUT: Rule = Rule {
    id: "demand-over-cutout",
    family: Family::Supply,
    grade: Grade::Danger,
    title: "The maximum demand is over the cut-out fuse",
    looks_at: "`supply.max_demand_a` of finished work against `cutout.rating_a`. Quiet where a load limit is recorded: one over the fuse is told \
               by its own rule. A question where the rating was assumed or nothing says how it is known; quiet for work not finished.",
    why: "The cut-out and the tails overheat for hours before the fuse goes; on a looped service the neighbour goes off too.",
    sources: &["BS 7671:2018 311.1", "BS 7671:2018+A1:2020 722.311.201 (load limiting)"],
    bad: Example::Keys(
        "sites/elm-row/site.md: {supply: {cutout: {rating_a: 60}}}\nsupply: {max_demand_a: 92}\ncircuits: [{id: main/1, ev: {load_limit: \
         ~}}]\nnotices: [{to: network-operator, route: apply, sent: 2026-10-21, answered: 2026-10-30, ref: \"EV-118\"}, {to: \
         building-control, sent: 2026-11-12, ref: \"BC-31\"}]",
    ),
    good: Example::Keys(
        "sites/elm-row/site.md: {supply: {cutout: {rating_a: 60}}}\nsupply: {max_demand_a: 92}\nnotices: [{to: network-operator, route: \
         apply, sent: 2026-10-21, answered: 2026-10-30, ref: \"EV-118\"}, {to: building-control, sent: 2026-11-12, ref: \"BC-31\"}]",
    ),
    cure: "Turn the charge point down or off now; fit and prove a load limit, or ask the network operator for a larger service.",
    check: Check::Job(check_cutout),
};

pub(super) const WITHOUT_CHARGING: Rule = Rule {
    id: "demand-without-charging",
    family: Family::Supply,
    grade: Grade::Breach,
    title: "The maximum demand is less than the charge point alone",
    looks_at: "`supply.max_demand_a` of finished work that installed a charge point, against `ev.set_a` of that point. Quiet with a load \
               limit.",
    why: "A point runs at its full current for hours, so no diversity is allowed on it and the house comes on top.",
    sources: &["BS 7671:2018+A1:2020 722.311"],
    bad: Example::Keys("supply: {max_demand_a: 25}\ncircuits: [{id: main/1, ev: {load_limit: ~}}]"),
    good: Example::Keys("supply: {max_demand_a: 57}\ncircuits: [{id: main/1, ev: {load_limit: ~}}]"),
    cure: "Work the demand out again with the charge point at its full set current.",
    check: Check::Job(check_charging),
};

pub(super) const OPERATOR_NOT_ASKED: Rule = Rule {
    id: "operator-not-asked",
    family: Family::Supply,
    grade: Grade::Breach,
    title: "A charge point was put into use where the network operator has to be asked first",
    looks_at: "New charge points put into use: a looped service, or one not known, without an answer from the operator before that day. A \
               question where the demand is over 60 A or there is more than one point. Quiet while nothing is energised, and where an \
               application is on record (its dates are judged apart).",
    why: "A looped cable or an unknown service may not carry the point, and the neighbour is on the same one.",
    sources: &["Energy Networks Association, connection process for low carbon technologies: apply, then connect"],
    bad: Example::Keys("sites/elm-row/site.md: {supply: {service: looped}}"),
    good: Example::Keys(
        "sites/elm-row/site.md: {supply: {service: looped}}\nnotices: [{to: network-operator, route: apply, sent: 2026-10-10, answered: \
         2026-10-30, ref: \"EV-118\"}, {to: building-control, sent: 2026-11-12, ref: \"BC-31\"}]",
    ),
    cure: "Tell the operator now, ask whether it may stay connected, and keep it off until they say so.",
    check: Check::Job(check_operator),
};

/// Whether load was really put on: finished, and more than a look.
fn is_in_use(job: JobView<'_>) -> bool {
    job.is_finished() && !job.is_kind(&[JobKind::Survey])
}

fn charging(job: JobView<'_>) -> impl Iterator<Item = CircuitView<'_>> {
    job.installation().into_iter().filter(|circuit| circuit.usage() == Some(Use::Ev))
}

fn load_limit<'a>(circuit: CircuitView<'a>) -> Option<&'a LoadLimit> {
    circuit.ev()?.value.load_limit.as_ref()
}

/// Whether something of a load limit stands there and cannot be read.
fn has_unreadable_limit(circuit: CircuitView<'_>) -> bool {
    let ev = circuit.path().at("ev");
    let limit = ev.at("load_limit");
    [limit.at("limit_a"), limit, ev].iter().any(|path| circuit.job.is_unreadable(path))
}

fn max_demand(job: JobView<'_>) -> Option<Num> {
    job.data().supply.as_ref()?.max_demand_a
}

fn check_cutout(job: JobView<'_>, report: &mut Report<'_>) {
    let Some((demand, cutout)) = max_demand(job).zip(job.site.supply().and_then(|supply| supply.cutout.as_ref())) else { return };
    let Some(rating) = cutout.rating_a.filter(|_| is_in_use(job)) else { return };
    if cutout_headroom(*rating, *demand).is_ok_and(|left| left >= 0.0) || charging(job).any(has_unreadable_limit) {
        return;
    }
    // A limit that holds the demand down settles it, and one that is itself over the cut-out is told at the limit.
    if charging(job).filter_map(load_limit).any(|limit| limit.limit_a.is_some()) {
        return;
    }
    let sure = matches!(cutout.shown_by, Some(ShownBy::Label | ShownBy::OperatorReply | ShownBy::Seen | ShownBy::Test));
    let looped = job.site.supply().and_then(|supply| supply.service) == Some(Service::Looped);
    let shared = if looped { ", on a looped service" } else { "" };
    let message = match sure {
        true => format!("demand {demand} A is over the {rating} A cut-out{shared}, and no load limit is recorded"),
        false => format!(
            "demand {demand} A is over the {rating} A that the cut-out is taken for{shared}, and no load limit is recorded: what is in it?"
        ),
    };
    let finding = report.raise(job.place(path!["supply", "max_demand_a"]), message);
    finding.grade(if sure { Grade::Danger } else { Grade::Doubt }).label("maximum demand").source("BS 7671:2018 311.1");
    finding.because(job.site.place(path!["supply", "cutout", "rating_a"]), "this fuse");
}

fn check_charging(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(demand) = max_demand(job).filter(|_| is_in_use(job)) else { return };
    for circuit in job.circuits().filter(|circuit| circuit.is_new() && circuit.usage() == Some(Use::Ev)) {
        let Some(ev) = circuit.ev() else { continue };
        let Some(set) = ev.value.set_a.filter(|set| **set > *demand) else { continue };
        if load_limit(circuit).is_some() || has_unreadable_limit(circuit) {
            continue;
        }
        let message = format!("demand {demand} A is less than the {set} A of the charge point {} alone", circuit.id());
        let finding = report.raise(job.place(path!["supply", "max_demand_a"]), message);
        finding.subject(circuit.id()).label("maximum demand").source("BS 7671:2018+A1:2020 722.311");
        finding.because(ev.place_of(job.site, "set_a"), "set current");
    }
}

/// Whether the operator was applied to, or had answered by that day, at this visit or an earlier one.
fn is_asked(job: JobView<'_>, by: Date) -> bool {
    let asked = |visit: JobView<'_>| {
        let mut to_operator = visit.data().notices.iter().filter(|notice| notice.to == Some(NoticeTo::NetworkOperator));
        to_operator.any(|notice| notice.route == Some(NoticeRoute::Apply) || notice.answered.is_some_and(|day| day <= by))
    };
    asked(job) || job.earlier().any(asked)
}

/// What the network operator's process asks about an installation as it stands after a visit, with a load limit counted where one is
/// recorded. A demand that is not recorded counts as none.
pub(crate) fn connection(job: JobView<'_>, supply: &SiteSupply) -> Connection {
    let limit = charging(job).filter_map(load_limit).filter_map(|limit| limit.limit_a).map(|limit| *limit).reduce(f64::min);
    let demand = max_demand(job).map_or(0.0, |demand| *demand);
    Connection {
        cutout_a: supply.cutout.as_ref().and_then(|cutout| cutout.rating_a).map(|rating| *rating),
        service: supply.service,
        demand_a: limit.map_or(demand, |limit| demand.min(limit)),
        premises: job.site.site().and_then(|site| site.premises),
        concern: false,
        unmetered: false,
        points: charging(job).count().try_into().unwrap_or(u32::MAX),
        export_a: None,
    }
}

fn check_operator(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(energised) = job.data().dates.energised.filter(|_| is_in_use(job)) else { return };
    let Some(supply) = job.site.supply() else { return };
    let Some(point) = job.circuits().find(|circuit| circuit.is_new() && circuit.usage() == Some(Use::Ev)) else { return };
    let has_hole = job.is_unreadable(&path!["notices"]) || job.record.is_unreadable(&path!["dates", "energised"]);
    if has_hole || is_asked(job, energised) {
        return;
    }
    let connection = connection(job, supply);
    let Ok((_, triggers)) = network::route(&connection) else { return };
    // A cut-out not known and a demand over it have findings of their own.
    let of_service = |trigger: &&Trigger| matches!(trigger, Trigger::Looped | Trigger::ServiceUnknown);
    let of_load = |trigger: &&Trigger| matches!(trigger, Trigger::OverNotifiable { .. } | Trigger::SeveralPoints);
    let (trigger, grade) = match (triggers.iter().find(of_service), triggers.iter().find(of_load)) {
        (Some(trigger), _) => (trigger, Grade::Breach),
        (None, Some(trigger)) => (trigger, Grade::Doubt),
        (None, None) => return,
    };
    let message = match grade {
        Grade::Breach => format!("put into use on {energised} without the network operator's answer: {trigger}"),
        _ => format!("{trigger}: was the network operator asked before {} was put into use on {energised}?", point.id()),
    };
    let finding = report.raise(job.place(path!["dates", "energised"]), message);
    finding.grade(grade).subject(point.id()).label("put into use").source("Energy Networks Association connection process");
    if matches!(trigger, Trigger::Looped | Trigger::ServiceUnknown) {
        finding.because(job.site.place(path!["supply", "service"]), "this service");
    }
}
