//! Dates that cannot stand in that order, notices and papers by their deadlines, and inspections quicker than hands are.

use std::collections::BTreeMap;

use super::facts::{InspectionFact, file_of};
use super::instruments::has_any_reading;
use super::owed::{IsFor, OperatorNotice, is_home, operator_days};
use super::view::{BookView, JobView};
use super::{Check, Example, Family, Report, Rule};
use crate::book::FieldPath;
use crate::finding::{Grade, Place};
use crate::path;
use crate::record::{Date, JobKind, Nation, NoticeRoute, NoticeTo, PaperKind, Premises};
use crate::tables::{Edition, deadlines};

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &OUT_OF_ORDER,
    &USED_UNTESTED,
    &IN_THE_FUTURE,
    &EDITION_UNKNOWN,
    &EDITION_OUT_OF_DATE,
    &OPERATOR_TOLD_LATE,
    &CONNECTED_BEFORE_ANSWER,
    &BUILDING_CONTROL_LATE,
    &REPORT_GIVEN_LATE,
    &TOO_QUICK,
    &TOO_MANY_IN_A_DAY,
];

const OUT_OF_ORDER: Rule = Rule {
    id: "dates-out-of-order",
    family: Family::Dates,
    grade: Grade::Breach,
    title: "Two dates cannot stand in that order",
    looks_at: "Installed before tested, tested before a paper is issued, issued before given, sent before answered, reported before advised or made safe; designed before installed as a doubt. Quiet about tests before the work was finished when only dead tests are on record: those belong to erection.",
    why: "One of the two dates is a slip, and deadlines and trends are counted from it.",
    sources: &["BS 7671:2018 641.1", "BS 7671:2018 644.1", "common practice"],
    bad: Example::Keys(
        "dates: {installed: 2026-11-04}\ninstruments/mft-1.md: {calibrations: [{on: 2026-02-01, due: 2027-02-01, certificate: \"C-77\"}]}",
    ),
    good: Example::Keys("dates: {designed: 2026-11-01, installed: 2026-11-02}"),
    cure: "Correct the date that is wrong.",
    check: Check::Job(check_order),
};

const USED_UNTESTED: Rule = Rule {
    id: "put-into-use-untested",
    family: Family::Dates,
    grade: Grade::Breach,
    title: "The work was put into use before it was tested",
    looks_at: "The day of energising against the day of the tests, for new work, alterations and swaps.",
    why: "Every installation is inspected and tested before it is put into service; for those days nobody knew whether a fault would clear.",
    sources: &["BS 7671:2018 641.1"],
    bad: Example::Keys("dates: {installed: 2026-10-30, energised: 2026-10-31}"),
    good: Example::Keys("dates: {energised: 2026-11-03}"),
    cure: "Correct the date that is wrong. If it was used untested, say in the text who used it and what was done.",
    check: Check::Job(check_energised),
};

const IN_THE_FUTURE: Rule = Rule {
    id: "date-in-the-future",
    family: Family::Dates,
    grade: Grade::Breach,
    title: "Something done carries a date that has not come yet",
    looks_at: "Dates of work, tests, papers, notices and reports at visits that have taken place. Dates that are promises are not looked at; a visit that is itself still to come is quiet.",
    why: "It is a slip of the year or of the month, and nothing counted from it can be right.",
    sources: &["common practice"],
    bad: Example::Keys(
        "notices: [{to: network-operator, route: notify, sent: 2026-11-10, answered: 2027-11-14, ref: \"EV-118\"}, {to: building-control, sent: 2026-11-12, ref: \"BC-31\"}]",
    ),
    good: Example::Keys("next_inspection: 2036-11-01"),
    cure: "Correct the date.",
    check: Check::Job(check_future),
};

const EDITION_UNKNOWN: Rule = Rule {
    id: "edition-not-known",
    family: Family::Dates,
    grade: Grade::Doubt,
    title: "The edition cited was never published",
    looks_at: "`regulations` of a visit, however it is written. Quiet where none is given.",
    why: "A record is judged by the edition it cites; this one is judged by the edition in force on its day instead.",
    sources: &["BS 7671, the editions of 1991 to 2018+A4:2026"],
    bad: Example::Keys("regulations: BS 7671:2018+A5:2026"),
    good: Example::Keys("regulations: \"BS7671: 2018 + A4\""),
    cure: "Write it as `BS 7671:2018+A4:2026`.",
    check: Check::Job(check_edition_known),
};

const EDITION_OUT_OF_DATE: Rule = Rule {
    id: "edition-out-of-date",
    family: Family::Dates,
    grade: Grade::Breach,
    title: "The edition cited was withdrawn before the work was designed, or published after it was tested",
    looks_at: "The edition a finished visit cites, against the day of design for new work (of the tests where none is given, and for inspections and calls). An 18th Edition cited without its amendment is a tidy. Quiet during the months when two editions may be used, for work designed before the older one was withdrawn, and about which amendment of the 17th is meant.",
    why: "The paper certifies to a text that did not apply; its limits and its tests may be other ones.",
    sources: &["BS 7671, dates of publication and withdrawal of each edition"],
    bad: Example::Keys("regulations: BS 7671:2018+A2:2022"),
    good: Example::Keys("regulations: BS 7671:2018+A2:2022\ndates: {designed: 2026-10-01}"),
    cure: "Cite the edition the work was designed to. If it was designed earlier, give the day under `dates: {designed: ...}`.",
    check: Check::Job(check_edition),
};

const OPERATOR_TOLD_LATE: Rule = Rule {
    id: "network-operator-told-late",
    family: Family::Dates,
    grade: Grade::Breach,
    title: "The network operator was told later than 28 days after installing, or has not been told by then",
    looks_at: "Notices to the network operator by the notify route against the day of installation (of energising where no other is given). Where a new charging circuit has no notice to the operator at any visit, the days are counted to today. Quiet for the apply route, which has its own order, and for work that is not a charging circuit.",
    why: "Connect-and-notify is allowed on the condition that the notice follows within 28 days; the operator plans the street's supply by it.",
    sources: &["network operators' process for low carbon technologies: connect, then notify within 28 days of installation"],
    bad: Example::Keys(
        "dates: {designed: 2026-09-01, installed: 2026-10-05, tested: 2026-10-05, energised: 2026-10-05}\nregulations: BS 7671:2018+A4:2026\ncircuits: [{id: main/1, ev: {load_limit: {proved: 2026-10-05}}}]\nnotices: [{to: network-operator, route: notify, sent: 2026-11-10, answered: 2026-11-14, ref: \"EV-118\"}, {to: building-control, sent: 2026-10-12, ref: \"BC-31\"}]",
    ),
    good: Example::Keys(
        "notices: [{to: network-operator, route: notify, sent: 2026-11-25, ref: \"EV-118\"}, {to: building-control, sent: 2026-11-12, ref: \"BC-31\"}]",
    ),
    cure: "Nothing makes it earlier: keep the notice and the operator's answer, and answer this with what they said.",
    check: Check::Job(check_operator),
};

const CONNECTED_BEFORE_ANSWER: Rule = Rule {
    id: "connected-before-the-answer",
    family: Family::Dates,
    grade: Grade::Breach,
    title: "The work was connected before the network operator had answered the application",
    looks_at: "Notices to the network operator by the apply route, at this visit or an earlier one for the same work: sent and answered before the work was energised. Quiet while nothing is energised, for the notify route, where any visit records an answer from before that day, and for applications made for other work. A question where a charging circuit is made and what the application was for is not written down.",
    why: "An application is made where the cut-out, the service or the demand is in doubt; connecting first overloads what nobody had looked at.",
    sources: &["network operators' process for low carbon technologies: apply, then connect", "BS 7671:2018 132.16"],
    bad: Example::Keys(
        "notices: [{to: network-operator, route: apply, sent: 2026-10-21, answered: 2026-11-14, ref: \"EV-118\"}, {to: building-control, sent: 2026-11-12, ref: \"BC-31\"}]",
    ),
    good: Example::Keys(
        "notices: [{to: network-operator, route: apply, sent: 2026-10-21, answered: 2026-10-30, ref: \"EV-118\"}, {to: building-control, sent: 2026-11-12, ref: \"BC-31\"}]",
    ),
    cure: "Ask the operator now whether it may stay connected, and keep it switched off until they say so.",
    check: Check::Job(check_application),
};

const BUILDING_CONTROL_LATE: Rule = Rule {
    id: "building-control-told-late",
    family: Family::Dates,
    grade: Grade::Breach,
    title: "Building control was told later than 30 days after the work was finished",
    looks_at: "Notices to building control for dwellings in England and Wales against the day of completion. Quiet elsewhere: Scotland works by warrant and Northern Ireland has no such notice. Quiet where no notice is on record.",
    why: "The compliance certificate is asked for when the house is sold, and the scheme's 30 days are law.",
    sources: &["Building Regulations 2010 (England, Wales) regulation 20(3)"],
    bad: Example::Keys(
        "dates: {designed: 2026-10-01, installed: 2026-10-20, tested: 2026-10-20, energised: 2026-10-20}\ncircuits: [{id: main/1, ev: {load_limit: {proved: 2026-10-20}}}]\nnotices: [{to: network-operator, route: notify, sent: 2026-11-10, answered: 2026-11-14, ref: \"EV-118\"}, {to: building-control, sent: 2026-11-23, ref: \"BC-31\"}]",
    ),
    good: Example::Keys(
        "notices: [{to: network-operator, route: notify, sent: 2026-11-10, answered: 2026-11-14, ref: \"EV-118\"}, {to: building-control, sent: 2026-11-25, ref: \"BC-31\"}]",
    ),
    cure: "Nothing makes it earlier: make sure the customer has the compliance certificate, and answer this with its number.",
    check: Check::Job(check_building_control),
};

const REPORT_GIVEN_LATE: Rule = Rule {
    id: "report-given-late",
    family: Family::Dates,
    grade: Grade::Breach,
    title: "The report on a let home was given too late for the landlord to keep the law's date",
    looks_at: "Condition reports on let homes: the day given against the day of the inspection, 28 days in England and Northern Ireland, 14 in Wales. Quiet for homes that are not let, in Scotland, and where no day is given.",
    why: "The tenant must have a copy within that time; a landlord who has the report later cannot manage it.",
    sources: &[
        "Electrical Safety Standards in the Private Rented Sector (England) Regulations 2020 (SI 2020/312) regulation 3",
        "Renting Homes (Fitness for Human Habitation) (Wales) Regulations 2022 (WSI 2022/6) regulation 6",
        "Electrical Safety Standards for Private Tenancies Regulations (Northern Ireland) 2024 (NISR 2024/201)",
    ],
    bad: Example::Keys(
        "sites/elm-row/site.md: {premises: dwelling-let}\nnext_inspection: 2031-11-01\nsites/elm-row/2026-10-05-report.md: {record: job, kind: inspect, status: on-hold, title: Report for the landlord, dates: {tested: 2026-10-05}, papers: [{kind: condition-report, number: \"LE-0139\", issued: 2026-10-06, given_to: customer, how: email, on: 2026-11-20}]}",
    ),
    good: Example::Keys(
        "sites/elm-row/site.md: {premises: dwelling-let}\nnext_inspection: 2031-11-01\nsites/elm-row/2026-10-05-report.md: {record: job, kind: inspect, status: on-hold, title: Report for the landlord, dates: {tested: 2026-10-05}, papers: [{kind: condition-report, number: \"LE-0139\", issued: 2026-10-06, given_to: customer, how: email, on: 2026-10-07}]}",
    ),
    cure: "Tell the landlord in writing which day it went out; send the next one when it is issued.",
    check: Check::Job(check_report_given),
};

const TOO_QUICK: Rule = Rule {
    id: "inspection-too-quick",
    family: Family::Dates,
    grade: Grade::Doubt,
    title: "An inspection took less time than its tests do",
    looks_at: "Inspections with two circuits tested or more: fewer than five minutes on site for each. Quiet where the time on site is not recorded.",
    why: "A report from under an hour on site is what reviewers and courts take as the sign of readings that were never taken.",
    sources: &["common practice: five minutes a circuit is a threshold of this program's own"],
    bad: inspection!("circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nminutes_on_site: 8"),
    good: inspection!("circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nminutes_on_site: 45"),
    cure: "Correct the time, or say in the answer how it was done: two testers, or tests spread over two days.",
    check: Check::Job(check_quick),
};

const TOO_MANY_IN_A_DAY: Rule = Rule {
    id: "too-many-inspections-in-a-day",
    family: Family::Dates,
    grade: Grade::Doubt,
    title: "One tester, one day, and more full inspections than a day holds",
    looks_at: "Inspections of the whole book by tester and day: three or more of eight circuits or more each, or more than twelve hours on site together. Quiet for small installations and for different testers.",
    why: "Four reports a day is what reviewers name as the warning sign.",
    sources: &["common practice: three reports of eight circuits, and twelve hours, are thresholds of this program's own"],
    bad: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nminutes_on_site: 400\nsites/elm-row/2026-11-02-yard.md: {record: job, kind: inspect, status: complete, title: Light in the yard, regulations: BS 7671:2018+A4:2026, dates: {tested: 2026-11-02}, people: {tested: jd}, instruments: [mft-1], supply: {ze_ohm: 0.19, ze_by: measured, ipf_ka: 1.2, ipf_by: measured, max_demand_a: 57, polarity: correct}, minutes_on_site: 400, outcome: satisfactory, extent: the light in the yard, circuits: [{id: main/2, readings: {r1_r2_ohm: 0.45, ir_test_v: 500, ir_live_live_mohm: \">999\", ir_live_earth_mohm: \">999\", ir_with_unit: false, polarity: correct, zs_ohm: 0.66, zs_by: measured, zs_mode: no-trip, rcd_ms: 29, rcd_button: works}}], papers: [{kind: condition-report, number: \"LE-0141\", issued: 2026-11-03, given_to: customer, how: email, on: 2026-11-03}], next_inspection: 2036-11-02}"
    ),
    good: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nminutes_on_site: 200\nsites/elm-row/2026-11-02-yard.md: {record: job, kind: inspect, status: complete, title: Light in the yard, regulations: BS 7671:2018+A4:2026, dates: {tested: 2026-11-02}, people: {tested: jd}, instruments: [mft-1], supply: {ze_ohm: 0.19, ze_by: measured, ipf_ka: 1.2, ipf_by: measured, max_demand_a: 57, polarity: correct}, minutes_on_site: 40, outcome: satisfactory, extent: the light in the yard, circuits: [{id: main/2, readings: {r1_r2_ohm: 0.45, ir_test_v: 500, ir_live_live_mohm: \">999\", ir_live_earth_mohm: \">999\", ir_with_unit: false, polarity: correct, zs_ohm: 0.66, zs_by: measured, zs_mode: no-trip, rcd_ms: 29, rcd_button: works}}], papers: [{kind: condition-report, number: \"LE-0141\", issued: 2026-11-03, given_to: customer, how: email, on: 2026-11-03}], next_inspection: 2036-11-02}"
    ),
    cure: "Correct the dates or name the testers; if it was so, say in the answer how.",
    check: Check::Book(check_many),
};

/// A date with its key and what happened then.
struct Event {
    date: Option<Date>,
    path: FieldPath,
    words: &'static str,
}

fn event(date: Option<Date>, path: FieldPath, words: &'static str) -> Event {
    Event { date, path, words }
}

/// Pairs of which the first cannot come after the second.
fn ordered_pairs(job: JobView<'_>) -> Vec<(Event, Event, Grade)> {
    let data = job.data();
    let dates = &data.dates;
    let designed = || event(dates.designed, path!["dates", "designed"], "designed");
    let installed = || event(dates.installed, path!["dates", "installed"], "installed");
    let tested = || event(dates.tested, path!["dates", "tested"], "tested");
    let mut pairs = vec![(designed(), installed(), Grade::Doubt)];
    let live = |circuit: &crate::record::Readings| {
        circuit.zs_ohm.is_some() || circuit.rcd_ms.is_some() || circuit.rcd_5x_ms.is_some() || circuit.pilot.is_some()
    };
    if data.circuits.iter().any(|circuit| live(&circuit.readings)) {
        pairs.push((installed(), tested(), Grade::Breach));
    }
    for (index, paper) in data.papers.iter().enumerate() {
        let issued = || event(paper.issued, path!["papers", index, "issued"], "issued");
        pairs.push((tested(), issued(), Grade::Breach));
        pairs.push((issued(), event(paper.on, path!["papers", index, "on"], "given"), Grade::Breach));
    }
    for (index, notice) in data.notices.iter().enumerate() {
        let sent = event(notice.sent, path!["notices", index, "sent"], "sent");
        pairs.push((sent, event(notice.answered, path!["notices", index, "answered"], "answered"), Grade::Breach));
    }
    for (index, fault) in data.faults.iter().enumerate() {
        let reported = || event(fault.reported, path!["faults", index, "reported"], "reported");
        let advised = fault.advice.as_ref().and_then(|advice| advice.on);
        pairs.push((reported(), event(advised, path!["faults", index, "advice", "on"], "advised"), Grade::Breach));
        let made_safe = fault.made_safe.as_ref().and_then(|made_safe| made_safe.on);
        pairs.push((reported(), event(made_safe, path!["faults", index, "made_safe", "on"], "made safe"), Grade::Breach));
        if let Some(claim) = &fault.claim {
            let sent = event(claim.sent, path!["faults", index, "claim", "sent"], "claim sent");
            pairs.push((sent, event(claim.answered, path!["faults", index, "claim", "answered"], "answered"), Grade::Breach));
        }
    }
    pairs
}

fn check_order(job: JobView<'_>, report: &mut Report<'_>) {
    for (first, second, grade) in ordered_pairs(job) {
        let (Some(a), Some(b)) = (first.date, second.date) else { continue };
        if a > b {
            let message = format!("{} on {b}, and {} only on {a}", second.words, first.words);
            let finding = report.raise(job.place(second.path), message);
            finding.grade(grade).label(second.words).because(job.place(first.path), first.words);
        }
    }
}

fn check_energised(job: JobView<'_>, report: &mut Report<'_>) {
    let dates = &job.data().dates;
    let (Some(energised), Some(tested)) = (dates.energised, dates.tested) else { return };
    if energised < tested && job.is_kind(&[JobKind::Install, JobKind::Alter, JobKind::Swap]) {
        let days = tested.days_since(energised);
        let days = if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
        let message = format!("energised on {energised}, tested on {tested}: {days} in use unverified");
        let finding = report.raise(job.place(path!["dates", "energised"]), message);
        finding.source("BS 7671:2018 641.1").because(job.place(path!["dates", "tested"]), "tested here");
    }
}

fn check_future(job: JobView<'_>, report: &mut Report<'_>) {
    let today = job.site.today;
    // A record read as of a day before its own visit is not wrong, only early.
    if !job.is_finished() || job.record.day().is_none_or(|day| day > today) {
        return;
    }
    let data = job.data();
    let dates = &data.dates;
    let mut done = vec![
        event(dates.designed, path!["dates", "designed"], "designed"),
        event(dates.installed, path!["dates", "installed"], "installed"),
        event(dates.tested, path!["dates", "tested"], "tested"),
        event(dates.energised, path!["dates", "energised"], "energised"),
    ];
    for (index, paper) in data.papers.iter().enumerate() {
        done.push(event(paper.issued, path!["papers", index, "issued"], "issued"));
        done.push(event(paper.on, path!["papers", index, "on"], "given"));
    }
    for (index, notice) in data.notices.iter().enumerate() {
        done.push(event(notice.sent, path!["notices", index, "sent"], "sent"));
        done.push(event(notice.answered, path!["notices", index, "answered"], "answered"));
    }
    for (index, fault) in data.faults.iter().enumerate() {
        done.push(event(fault.reported, path!["faults", index, "reported"], "reported"));
    }
    for event in done {
        if let Some(date) = event.date.filter(|date| *date > today) {
            report.raise(job.place(event.path), format!("{} on {date}, and today is {today}", event.words));
        }
    }
}

/// The edition a visit cites, where it can be told.
fn cited(job: JobView<'_>) -> Option<(&str, Option<Edition>)> {
    let text = job.data().regulations.as_deref().filter(|text| !text.trim().is_empty())?;
    Some((text, Edition::parse(text)))
}

fn check_edition_known(job: JobView<'_>, report: &mut Report<'_>) {
    if let Some((text, None)) = cited(job) {
        report.raise(job.place(path!["regulations"]), format!("{text} is no edition of BS 7671 that was ever published"));
    }
}

fn check_edition(job: JobView<'_>, report: &mut Report<'_>) {
    let Some((text, Some(edition))) = cited(job).filter(|_| job.is_finished()) else { return };
    let dates = &job.data().dates;
    let new_work = job.is_kind(&[JobKind::Install, JobKind::Alter, JobKind::Swap]);
    let designed = dates.designed.filter(|_| new_work).map(|day| (day, "designed"));
    let Some((day, did)) = designed.or_else(|| dates.tested.map(|day| (day, "tested"))) else { return };
    let tested = dates.tested.unwrap_or(day);
    let key = if did == "designed" { path!["dates", "designed"] } else { path!["dates", "tested"] };
    let place = job.place(path!["regulations"]);
    let now = Edition::in_force_on(day);
    if let Some(withdrawn) = edition.withdrawn().filter(|withdrawn| *withdrawn <= day) {
        let same = of_one_number(edition, now);
        // The amendments of the 17th ran into one another, and their dates are partly from memory.
        if same && edition < Edition::Y2018 {
            return;
        }
        if same && edition == Edition::Y2018 {
            let message = format!("{text} is cited without its amendment; in force on {day} was {now}");
            report.raise(place, message).grade(Grade::Tidy).help(format!("If that is the text it was made to, write {now}."));
            return;
        }
        let message = format!("{text} was withdrawn on {withdrawn}, and this was {did} on {day}");
        let finding = report.raise(place, message);
        finding.help(format!("In force that day: {now}. Cite the edition the work was designed to, with the day of its design."));
        finding.because(job.place(key), did);
    } else if let Some(published) = edition.published().filter(|published| *published > tested) {
        let message = format!("{text} was published on {published}, after these tests of {tested}");
        let grade = if edition < Edition::Y2018 { Grade::Doubt } else { Grade::Breach };
        report.raise(place, message).grade(grade).because(job.place(path!["dates", "tested"]), "tested");
    }
}

/// Whether two texts are of one edition by its number: the 16th, the 17th or the 18th.
fn of_one_number(a: Edition, b: Edition) -> bool {
    let number = |edition: Edition| if edition >= Edition::Y2018 { 18 } else { 16 + u8::from(edition >= Edition::Y2008) };
    number(a) == number(b)
}

fn check_operator(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(allowed) = operator_days() else { return };
    let Some((installed, place)) = job.completed() else { return };
    for (index, notice) in job.notices_to(NoticeTo::NetworkOperator) {
        let Some(sent) = notice.sent.filter(|_| notice.route == Some(NoticeRoute::Notify)) else { continue };
        let days = sent.days_since(installed);
        if days > allowed {
            let message = format!("told {days} days after installing; {allowed} are allowed");
            let finding = report.raise(job.place(path!["notices", index, "sent"]), message);
            finding.subject("network-operator").label("sent").because(job.place(place.clone()), "installed");
        }
    }
    let days = job.site.today.days_since(installed);
    if let Some(circuit) = job.untold_charging().filter(|_| days > allowed) {
        let message = format!("no notice {days} days after installing {}; {allowed} are allowed", circuit.id());
        let finding = report.raise(job.place(path!["notices"]), message);
        finding.subject("network-operator").help("Send it today and write down the day and the reference.");
        finding.because(job.place(place), "installed");
    }
}

fn check_application(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(energised) = job.data().dates.energised.filter(|_| job.is_finished()) else { return };
    for application in job.earlier().flat_map(JobView::operator_notices) {
        check_earlier_application(job, energised, application, report);
    }
    // An application answered at this visit or an earlier one opens the way, whatever else was sent.
    let answered = |job: JobView<'_>| job.operator_notices().any(|entry| entry.notice.answered.is_some_and(|day| day <= energised));
    if answered(job) || job.earlier().any(answered) {
        return;
    }
    for application in job.operator_notices().filter(|entry| entry.is_application() && !entry.is_answered_by(energised)) {
        let (message, key) = match (application.notice.sent, application.notice.answered) {
            (Some(sent), _) if sent > energised => (format!("applied for on {sent}, energised on {energised}"), "sent"),
            (_, Some(answered)) => (format!("answered on {answered}, and the work was energised on {energised}"), "answered"),
            (Some(sent), None) => (format!("energised on {energised} with the application of {sent} unanswered"), "answered"),
            (None, None) => continue,
        };
        let finding = report.raise(job.place(path!["notices", application.index, key]), message);
        finding.subject("network-operator").because(job.place(path!["dates", "energised"]), "energised");
    }
}

/// An application sent from an earlier visit, when this visit is the one that connected what it was made for.
fn check_earlier_application(job: JobView<'_>, energised: Date, application: OperatorNotice<'_>, report: &mut Report<'_>) {
    let Some(sent) = application.notice.sent.filter(|_| application.is_application() && !application.has_hole()) else { return };
    let connected_here = application.connected_at().is_some_and(|(visit, _)| visit.index == job.index);
    // What this visit or one between says of the same application is told there.
    let told_later = application.later_entries().any(|later| later.is_application() && later.job.index <= job.index);
    if !connected_here || told_later || application.is_answered_by(energised) {
        return;
    }
    let message = match application.notice.answered {
        Some(answered) => format!("energised on {energised}, and the application of {sent} was answered only on {answered}"),
        None => format!("energised on {energised} with the application of {sent} unanswered"),
    };
    let sure = application.is_for(job) == IsFor::Surely;
    let message = if sure { message } else { format!("{message}: was that for this work?") };
    let finding = report.raise(job.place(path!["dates", "energised"]), message);
    finding.grade(if sure { Grade::Breach } else { Grade::Doubt });
    finding
        .subject("network-operator")
        .label("energised")
        .because(application.job.place(path!["notices", application.index]), "applied for");
}

fn premises(job: JobView<'_>) -> Option<Premises> {
    job.site.site()?.premises
}

fn check_building_control(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(limit) = job.site.nation().and_then(deadlines::building_control).filter(|_| premises(job).is_some_and(is_home)) else {
        return;
    };
    let allowed = limit.value as i32;
    let Some((finished, place)) = job.completed() else { return };
    for (index, notice) in job.notices_to(NoticeTo::BuildingControl) {
        let Some(sent) = notice.sent else { continue };
        let days = sent.days_since(finished);
        if days > allowed {
            let message = format!("told {days} days after the work was finished; {allowed} are allowed");
            let finding = report.raise(job.place(path!["notices", index, "sent"]), message);
            finding.subject("building-control").label("sent").source(BUILDING_CONTROL_LATE.sources[0]);
            finding.because(job.place(place.clone()), "finished");
        }
    }
}

fn check_report_given(job: JobView<'_>, report: &mut Report<'_>) {
    let Some((days_allowed, day)) = job.days_to_give_report().zip(job.day()) else { return };
    let source = match job.site.nation() {
        Some(Nation::Wales) => REPORT_GIVEN_LATE.sources[1],
        Some(Nation::NorthernIreland) => REPORT_GIVEN_LATE.sources[2],
        _ => REPORT_GIVEN_LATE.sources[0],
    };
    for (index, paper) in job.data().papers.iter().enumerate().filter(|(_, paper)| paper.kind == Some(PaperKind::ConditionReport)) {
        let Some(given) = paper.on else { continue };
        let days = given.days_since(day);
        if days > days_allowed {
            let message = format!("given {days} days after the inspection; the tenant must have it within {days_allowed}");
            let finding = report.raise(job.place(path!["papers", index, "on"]), message);
            finding.subject(paper.number.clone().unwrap_or_default()).source(source);
        }
    }
}

/// Circuits below which an inspection may well be quick.
const MANY_CIRCUITS: usize = 2;
/// Minutes on site for each circuit tested below which an inspection is doubted. A threshold of this program's own.
const MINUTES_A_CIRCUIT: u32 = 5;

fn check_quick(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(minutes) = job.data().minutes_on_site.filter(|_| job.is_finished() && job.is_kind(&[JobKind::Inspect])) else { return };
    let circuits = job.circuits().filter(|circuit| has_any_reading(circuit.readings())).count();
    let wanted = MINUTES_A_CIRCUIT.saturating_mul(circuits as u32);
    if circuits >= MANY_CIRCUITS && *minutes < wanted {
        let message =
            format!("{circuits} circuits inspected and tested in {minutes} minutes; at {MINUTES_A_CIRCUIT} a circuit it takes {wanted}");
        report.raise(job.place(path!["minutes_on_site"]), message).label("time on site");
    }
}

/// Full inspections that one tester does not make in a day. A threshold of this program's own.
const INSPECTIONS_A_DAY: usize = 3;
/// Circuits that make an inspection a full one in that count.
const FULL_CIRCUITS: u32 = 8;
/// Minutes on site in one day that are doubted.
const MINUTES_A_DAY: u32 = 12 * 60;

fn check_many(view: BookView<'_>, report: &mut Report<'_>) {
    let mut days: BTreeMap<(Date, u64), Vec<(usize, InspectionFact)>> = BTreeMap::new();
    for (site, facts) in view.facts.iter().enumerate() {
        for fact in facts.inspections.iter().filter(|fact| fact.tester != 0) {
            days.entry((fact.day, fact.tester)).or_default().push((site, *fact));
        }
    }
    for ((day, _), inspections) in days {
        let full: Vec<&(usize, InspectionFact)> = inspections.iter().filter(|(_, fact)| fact.circuits >= FULL_CIRCUITS).collect();
        let minutes: u32 = inspections.iter().filter_map(|(_, fact)| fact.minutes).fold(0, u32::saturating_add);
        let too_many = full.len() >= INSPECTIONS_A_DAY;
        if !too_many && minutes <= MINUTES_A_DAY {
            continue;
        }
        let told: Vec<&(usize, InspectionFact)> = if too_many { full } else { inspections.iter().collect() };
        let circuits: u32 = told.iter().map(|(_, fact)| fact.circuits).sum();
        let Some(((site, last), others)) = told.split_last() else { continue };
        let mut message = format!("{} inspections by one tester on {day}, {circuits} circuits", told.len());
        if minutes > 0 {
            message.push_str(&format!(", {} h {:02} min on site", minutes / 60, minutes % 60));
        }
        let place = Place::in_file_named(file_of(view.book, *site, last.job), path!["dates", "tested"]);
        let finding = report.raise(place, message);
        for (site, fact) in others {
            let place = Place::in_file_named(file_of(view.book, *site, fact.job), path!["dates", "tested"]);
            finding.because(place, format!("{} circuits the same day", fact.circuits));
        }
    }
}
