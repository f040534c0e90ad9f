//! Notices: to be sent within a nation's or an operator's days, or sent and waiting.

use super::item::{Basis, Draft, Kind};
use crate::finding::Grade;
use crate::path;
use crate::record::NoticeTo;
use crate::rules::owed::{OperatorNotice, operator_days};
use crate::rules::view::{JobView, SiteView};
use crate::rules::words::{days, says};

pub(super) fn collect(site: &SiteView<'_>, drafts: &mut Vec<Draft>) {
    for job in site.jobs() {
        waiting_for_operator(job, drafts);
        operator_not_told(job, drafts);
        unsent(job, drafts);
        building_control(job, drafts);
    }
}

/// Sent to the network operator and not answered, neither here nor where a later visit carries the notice on. The operator's answer has
/// no day; what was connected before it has, and is over.
fn waiting_for_operator(job: JobView<'_>, drafts: &mut Vec<Draft>) {
    for entry in job.operator_notices().filter(|entry| entry.notice.answered.is_none() && !entry.has_hole()) {
        let Some(sent) = entry.notice.sent.filter(|_| !is_carried_on(entry)) else { continue };
        let apply = entry.is_application();
        let connected = entry.connected_at().map(|(_, day)| day);
        let gone = days(job.site.today.days_since(sent).max(0));
        let word = if apply { "application" } else { "notice" };
        let reference = entry.notice.reference.as_deref().filter(|_| says(&entry.notice.reference));
        let reference = reference.map_or("no reference".to_owned(), |reference| format!("ref {reference}"));
        let meanwhile = match connected {
            Some(day) if apply => format!("connected {day} before the answer"),
            Some(day) => format!("connected {day}"),
            None => "nothing connected on record".to_owned(),
        };
        let index = entry.index;
        drafts.push(
            Draft::of_visit(
                Kind::Notice,
                job,
                path!["notices", index],
                format!("network operator has not answered the {word}, {reference}"),
            )
            .key(format!("network-operator.{index}"))
            .subject("network-operator")
            .due(connected.filter(|_| apply), Basis::Practice)
            .since(Some(sent))
            .note(format!("sent {sent}, waiting {gone}"))
            .note(meanwhile)
            .quieted_by("connected-before-the-answer", Grade::Breach),
        );
    }
}

/// Whether a later entry is the same notice, answered or not, or a later visit that continues this one has an answer.
fn is_carried_on(entry: OperatorNotice<'_>) -> bool {
    let answered = |later: JobView<'_>| later.operator_notices().any(|other| other.notice.answered.is_some());
    entry.later_entries().next().is_some() || entry.job.later().any(|later| later.follows(entry.job) && answered(later))
}

/// A new charging circuit, and the operator has never been told.
fn operator_not_told(job: JobView<'_>, drafts: &mut Vec<Draft>) {
    let Some(circuit) = job.untold_charging().filter(|_| !job.has_hole(&path!["notices"])) else { return };
    let installed = job.completed().map(|(day, _)| day);
    let by = installed.zip(operator_days()).map(|(day, allowed)| day.plus_days(allowed));
    let installed = installed.map_or(String::new(), |day| format!("installed {day}"));
    drafts.push(
        Draft::of_visit(Kind::Notice, job, path!["notices"], format!("tell the network operator of {}", circuit.id()))
            .key("network-operator")
            .subject("network-operator")
            .due(by, Basis::Practice)
            .note(installed)
            .note("28 days by the operators' process")
            .quieted_by("network-operator-told-late", Grade::Breach),
    );
}

/// Written down and neither sent nor answered.
fn unsent(job: JobView<'_>, drafts: &mut Vec<Draft>) {
    for (index, notice) in job.data().notices.iter().enumerate() {
        // Building control is told of below, by its reference.
        let Some(to) = notice.to.filter(|to| *to != NoticeTo::BuildingControl) else { continue };
        if notice.sent.is_some() || notice.answered.is_some() || says(&notice.reference) || job.has_hole(&path!["notices", index]) {
            continue;
        }
        let done = job.completed().filter(|_| job.is_finished() && to == NoticeTo::NetworkOperator).map(|(day, _)| day);
        let by = done.zip(operator_days()).map(|(day, allowed)| day.plus_days(allowed));
        let to = to.as_str().replace('-', " ");
        drafts.push(
            Draft::of_visit(Kind::Notice, job, path!["notices", index], format!("send the notice to the {to}"))
                .key(format!("{to}.{index}"))
                .due(by, Basis::Practice),
        );
    }
}

/// A new circuit in a home, and building control has not been told, or has given no reference.
fn building_control(job: JobView<'_>, drafts: &mut Vec<Draft>) {
    let Some((circuit, done, allowed)) = job.untold_home_circuit().filter(|_| !job.has_hole(&path!["notices"])) else { return };
    let entry = job.notices_to(NoticeTo::BuildingControl).next();
    let path = entry.map_or(path!["notices"], |(index, _)| path!["notices", index]);
    let sent = entry.and_then(|(_, notice)| notice.sent);
    let id = circuit.id();
    let what = match sent {
        Some(_) => format!("building control has given no reference for {id}"),
        None => format!("tell building control of {id}"),
    };
    drafts.push(
        Draft::of_visit(Kind::Notice, job, path, what)
            .key("building-control")
            .subject(id)
            .due(Some(done.plus_days(allowed.value as i32)), Basis::Law)
            .note(sent.map_or(String::new(), |sent| format!("sent {sent}")))
            .note(format!("work done {done}, {} days by law", allowed.value))
            .quieted_by("building-control-reference-missing", Grade::Breach),
    );
}
