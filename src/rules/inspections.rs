//! When the next inspection is due, by paper, law or guidance. Which visit sets the day is told in [`super::story`].

use super::story::{Ground, SOON_DAYS, months};
use super::view::{JobView, SiteView};
use super::words::days;
use super::{Check, Example, Family, Report, Rule};
use crate::finding::Grade;
use crate::path;
use crate::record::{Date, JobKind, Premises};
use crate::tables::{Confidence, Limit, intervals};

/// The rules of this family.
pub const RULES: &[&Rule] =
    &[&REINSPECTION_OVERDUE, &REINSPECTION_DUE_SOON, &NEXT_INSPECTION_MISSING, &NEXT_INSPECTION_NOT_AFTER_TEST, &NEXT_INSPECTION_TOO_FAR];

/// Where the intervals of guidance and law come from, for lists; a finding cites the one it rests on.
const INTERVALS: &str = "Guidance Note 3 Table 3.2 (guidance); the law of each nation for let homes, five years";

/// Days by which a date may pass the interval of guidance: dates are rounded to the end of a month; common practice.
const GUIDANCE_SLACK_DAYS: i32 = 31;

/// The longest interval that guidance gives for anything, months: a home lived in by its owner (Guidance Note 3 Table 3.2).
const LONGEST_GUIDANCE_MONTHS: i32 = 120;

/// Years ahead beyond which a date is taken for a slip of the fingers; common practice.
const SLIP_YEARS: i16 = 20;

const REINSPECTION_OVERDUE: Rule = Rule {
    id: "reinspection-overdue",
    family: Family::Inspections,
    grade: Grade::Breach,
    title: "The next inspection is overdue",
    looks_at: "Each site, by the newest visit that counts: a finished condition report, or a finished installation of everything there. Other visits speak for their own circuits: an earlier date brings the day forward, a later one does not push it back. A breach when the paper's date or the law's has passed, a doubt when only the interval of guidance has. Quiet on the day itself, and when the last word is a date that cannot be meant.",
    why: "Wear, damage and other people's work are found by inspection only. In a let home the law sets the day and the landlord pays for missing it.",
    sources: &["BS 7671:2018 652.1", INTERVALS],
    bad: Example::Keys("next_inspection: 2026-11-20"),
    good: Example::Keys("next_inspection: 2031-11-02"),
    cure: "Offer a date for the inspection. If somebody else has made it, answer with who and when.",
    check: Check::Site(check_overdue),
};

const REINSPECTION_DUE_SOON: Rule = Rule {
    id: "reinspection-due-soon",
    family: Family::Inspections,
    grade: Grade::Tidy,
    title: "The next inspection is due within 60 days",
    looks_at: "Each site, by the same day as for an overdue inspection. Quiet when a later visit to inspect is planned, on hold or in draft.",
    why: "An inspection is booked before it is due, not after.",
    sources: &["60 days: common practice", INTERVALS],
    bad: Example::Keys("next_inspection: 2026-12-20"),
    good: Example::Keys(
        "{next_inspection: 2026-12-20, sites/elm-row/2026-12-15-condition.md: {record: job, kind: inspect, status: planned, title: Report due before Christmas}}",
    ),
    cure: "Book it: a visit with `kind: inspect` and `status: planned` quiets this.",
    check: Check::Site(check_soon),
};

const NEXT_INSPECTION_MISSING: Rule = Rule {
    id: "next-inspection-missing",
    family: Family::Inspections,
    grade: Grade::Breach,
    title: "A report or certificate sets no date for the next inspection",
    looks_at: "Finished condition reports, and finished installations as a doubt. Quiet for alterations, callouts, swaps and surveys, for records not finished, and where the interval counted from that visit is over already and is told.",
    why: "The owner reads one date on the paper, and it is this one. For a let home the report must state it.",
    sources: &["BS 7671:2018 652.1", "BS 7671 Appendix 6, model forms (memory)", INTERVALS],
    bad: Example::Keys("next_inspection: ~"),
    good: Example::Keys("{next_inspection: ~, kind: alter, status: planned}"),
    cure: "Set `next_inspection` to the date on the paper.",
    check: Check::Job(check_missing),
};

const NEXT_INSPECTION_NOT_AFTER_TEST: Rule = Rule {
    id: "next-inspection-not-after-test",
    family: Family::Inspections,
    grade: Grade::Breach,
    title: "The next inspection is dated on or before the tests",
    looks_at: "Finished visits with `next_inspection`. Quiet when it comes after the day of the tests.",
    why: "Usually the day of the test typed again, or the wrong year; the real date is then nowhere.",
    sources: &["common practice"],
    bad: Example::Keys("next_inspection: 2026-11-02"),
    good: Example::Keys("next_inspection: 2036-11-02"),
    cure: "Set the date that the paper recommends.",
    check: Check::Job(check_not_after_test),
};

const NEXT_INSPECTION_TOO_FAR: Rule = Rule {
    id: "next-inspection-too-far",
    family: Family::Inspections,
    grade: Grade::Breach,
    title: "The next inspection is set too far ahead",
    looks_at: "Finished visits with `next_inspection`, against the law for let homes in force on that day (a breach; a doubt while it bound new tenancies only), against guidance for the premises with a month's grace (a doubt), against ten years where guidance has no line (a doubt), and against 20 years (a breach: a slip in the year).",
    why: "A home let in the United Kingdom is inspected at least every five years, whatever a paper says. Elsewhere the inspector may judge, and says why.",
    sources: &[INTERVALS, "BS 7671:2018 652.1"],
    bad: Example::Keys("sites/elm-row/site.md: {premises: dwelling-let}"),
    good: Example::Keys("{next_inspection: 2031-11-02, sites/elm-row/site.md: {premises: dwelling-let}}"),
    cure: "Set a date within the interval and issue the paper again.",
    check: Check::Job(check_too_far),
};

/// `5 years`, `18 months`.
fn interval_words(months: i32) -> String {
    match (months % 12, months / 12) {
        (0, 1) => "1 year".to_owned(),
        (0, years) => format!("{years} years"),
        _ => format!("{months} months"),
    }
}

/// What kind of place it is, as a message says it.
pub fn premises_words(premises: Option<Premises>) -> &'static str {
    match premises {
        Some(Premises::Dwelling) => "a home lived in by its owner",
        Some(Premises::DwellingLet) => "a let home",
        Some(Premises::Hmo) => "a house in multiple occupation",
        Some(Premises::Shop) => "a shop",
        Some(Premises::Office) => "an office",
        Some(Premises::Workshop) => "a workshop",
        Some(Premises::VillageHall) => "a village hall",
        Some(Premises::Farm) => "a farm",
        Some(Premises::CaravanPark) => "a caravan park",
        Some(Premises::Marina) => "a marina",
        Some(Premises::CarPark) => "a car park",
        Some(Premises::Construction) => "a construction site",
        Some(Premises::Other) | None => "such premises",
    }
}

/// What the site's kind of premises is called in a message.
fn here(site: &SiteView<'_>) -> &'static str {
    premises_words(site.site().and_then(|site| site.premises))
}

/// The ground in words: `date set by 2021-05-11-condition`.
pub fn ground_words(site: &SiteView<'_>, job: JobView<'_>, ground: &Ground) -> String {
    let unset = if job.data().next_inspection.is_none() { "it set no date, and " } else { "" };
    match ground {
        Ground::Paper => format!("date set by {}", job.id()),
        Ground::Law(law) => {
            format!("{} after {}: {unset}law for {} allows no longer", interval_words(months(&law.months)), job.id(), here(site))
        }
        Ground::Guidance(limit) => {
            format!("{} after {}: {unset}guidance for {} gives no longer", interval_words(months(limit)), job.id(), here(site))
        }
    }
}

/// The authority behind the ground, when it is not the paper itself.
fn ground_source(ground: &Ground) -> Option<&str> {
    match ground {
        Ground::Paper => None,
        Ground::Law(law) => Some(&law.months.source),
        Ground::Guidance(limit) => Some(&limit.source),
    }
}

/// A breach by paper or law; a doubt by guidance, or where the figure was seen nowhere.
pub fn ground_grade(ground: &Ground) -> Grade {
    match ground {
        Ground::Paper => Grade::Breach,
        Ground::Law(law) if law.months.confidence != Confidence::Memory => Grade::Breach,
        Ground::Law(_) | Ground::Guidance(_) => Grade::Doubt,
    }
}

fn check_overdue(site: &SiteView<'_>, report: &mut Report<'_>) {
    let Some(next) = site.reinspection() else { return };
    let late = site.today.days_since(next.due);
    if late <= 0 {
        return;
    }
    let booked = next.job.inspection_booked().map_or(String::new(), |visit| format!("; {} is not finished", visit.id()));
    let ground = ground_words(site, next.job, &next.ground);
    // The paper's day is told even where the law's has passed with it.
    let law = site.lawful_from(next.job).filter(|(last, _)| *last < site.today && matches!(next.ground, Ground::Paper));
    let also = law.as_ref().map_or(String::new(), |(last, _)| format!(", and the law for {} allowed until {last}", here(site)));
    let message = format!("next inspection overdue since {} ({}), {ground}{also}{booked}", next.due, days(late));
    let finding = report.raise(next.job.place(path!["next_inspection"]), message);
    finding.grade(ground_grade(&next.ground));
    let source = ground_source(&next.ground).or(law.as_ref().map(|(_, law)| law.months.source.as_ref()));
    if let Some(source) = source {
        finding.source(source).because(site.place(path!["premises"]), here(site));
    }
}

fn check_soon(site: &SiteView<'_>, report: &mut Report<'_>) {
    let Some(next) = site.reinspection().filter(|next| next.job.inspection_booked().is_none()) else { return };
    let left = next.due.days_since(site.today);
    if !(0..=SOON_DAYS).contains(&left) {
        return;
    }
    let when = if left == 0 { "today".to_owned() } else { format!("in {}", days(left)) };
    let message = format!("next inspection due {} ({when}), {}", next.due, ground_words(site, next.job, &next.ground));
    let finding = report.raise(next.job.place(path!["next_inspection"]), message);
    if let Some(source) = ground_source(&next.ground) {
        finding.source(source);
    }
}

fn check_missing(job: JobView<'_>, report: &mut Report<'_>) {
    let is_report = job.is_kind(&[JobKind::Inspect]);
    if !job.is_finished() || job.data().next_inspection.is_some() || !(is_report || job.is_kind(&[JobKind::Install])) {
        return;
    }
    // One missing date, one message: when the interval has run out, that is said instead.
    let overdue = job.site.reinspection().is_some_and(|next| next.job.index == job.index && next.due < job.site.today);
    if overdue {
        return;
    }
    let paper = if is_report { "this report" } else { "this installation" };
    let law = interval_in_law(job).filter(|_| is_report);
    let words = law.as_ref().map_or("", |_| ", and in a let home it must");
    let finding = report.raise(job.place(path!["next_inspection"]), format!("{paper} sets no date for the next inspection{words}"));
    if !is_report {
        finding.grade(Grade::Doubt);
    }
    if let Some(law) = law {
        finding.source(law.source);
    } else if let Some(limit) = job.site.site().and_then(|site| site.premises).and_then(intervals::guidance) {
        let years = interval_words(months(&limit));
        finding.help(format!("Set `next_inspection`; guidance for {} gives {years} at most.", here(job.site))).source(limit.source);
    }
}

/// The interval in law for the site on the day of a visit, for every tenancy.
fn interval_in_law(job: JobView<'_>) -> Option<Limit> {
    let day = job.day()?;
    let law = intervals::law(job.site.site()?.premises?, job.site.nation()?, day)?;
    law.all_from.is_none_or(|from| from <= day).then_some(law.months)
}

fn check_not_after_test(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(next) = job.data().next_inspection.filter(|_| job.is_finished()) else { return };
    let Some(day) = job.day().filter(|day| next <= *day && !job.has_hole(&path!["dates", "tested"])) else { return };
    let words = if next == day { "is the day of the tests".to_owned() } else { format!("comes before the tests of {day}") };
    let tested = job.data().dates.tested.map(|_| job.place(path!["dates", "tested"]));
    let finding = report.raise(job.place(path!["next_inspection"]), format!("the next inspection, {next}, {words}"));
    if let Some(tested) = tested {
        finding.because(tested, "tested here");
    }
}

fn check_too_far(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(next) = job.next_inspection().filter(|_| job.is_finished()) else { return };
    let Some(day) = job.day().filter(|_| !job.has_hole(&path!["dates", "tested"])) else { return };
    let place = job.place(path!["next_inspection"]);
    if next > day.plus_years(SLIP_YEARS) {
        let years = next.0.year() - day.0.year();
        let message = format!("the next inspection, {next}, is {years} years after the tests of {day}: a slip in the year?");
        report.raise(place, message).help("Set the date that stands on the paper.");
        return;
    }
    let premises = job.site.site().and_then(|site| site.premises);
    let because = || job.site.place(path!["premises"]);
    let over = |months: i32, grace: i32| next > day.plus_months(months).plus_days(grace);
    let law = premises.zip(job.site.nation()).and_then(|(premises, nation)| intervals::law(premises, nation, day));
    if let Some(law) = law.filter(|law| over(months(&law.months), 0)) {
        let allowed = interval_words(months(&law.months));
        let last = day.plus_months(months(&law.months));
        let message = format!("the next inspection, {next}, is later than the law for {} allows: {allowed}, by {last}", here(job.site));
        let finding = report.raise(place, message);
        finding.source(law.months.source.clone()).label("later than the law allows").because(because(), here(job.site));
        if let Some(from) = binds_later(law.all_from, day) {
            finding.grade(Grade::Doubt).help(format!("On the day of this visit the law bound new tenancies; all of them from {from}."));
        } else if law.months.confidence == Confidence::Memory {
            finding.grade(Grade::Doubt);
        }
        return;
    }
    let guidance = premises.and_then(intervals::guidance);
    match guidance {
        Some(limit) if over(months(&limit), GUIDANCE_SLACK_DAYS) => {
            let given = interval_words(months(&limit));
            let message = format!(
                "the next inspection, {next}, is more than {given} after the tests; guidance for {} gives {given} at most",
                here(job.site)
            );
            let finding = report.raise(place, message);
            finding.grade(Grade::Doubt).source(limit.source).because(because(), here(job.site));
            finding.help("Say why in an answer, or set an earlier date: the inspector may recommend less than guidance, and needs a reason for more.");
        }
        None if over(LONGEST_GUIDANCE_MONTHS, GUIDANCE_SLACK_DAYS) => {
            let given = interval_words(LONGEST_GUIDANCE_MONTHS);
            let message =
                format!("the next inspection, {next}, is more than {given} after the tests; guidance gives no kind of premises longer");
            report.raise(place, message).grade(Grade::Doubt).source("Guidance Note 3 Table 3.2");
        }
        _ => {}
    }
}

/// The day from which a law binds every tenancy, when that came after the visit.
fn binds_later(all_from: Option<Date>, day: Date) -> Option<Date> {
    all_from.filter(|from| *from > day)
}
