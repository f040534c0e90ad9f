//! What a visit must say of itself.

use super::super::view::{JobView, SiteView};
use super::super::words::says;
use super::super::{Check, Example, Family, Report, Rule};
use super::{Gaps, has_hole, is_worked_on};
use crate::finding::Grade;
use crate::path;
use crate::record::{JobKind, PaperKind, ReadingKey, SupplyBy, ZsBy};

pub const VISIT_FACTS_MISSING: Rule = Rule {
    id: "visit-facts-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A visit does not say what it was, or how far it has come",
    looks_at: "Every visit: `kind` and `status`. Finished ones with readings: `dates.tested`. Finished reports: `extent` and `outcome`.",
    why: "Nothing may be called missing from a visit that does not say it is finished, so nothing is checked that ought to be there.",
    sources: &["record format, version 1", "BS 7671:2018+A2:2022 Appendix 6 (condition report: extent, outcome, date)"],
    bad: Example::Keys("dates: {tested: ~}"),
    good: Example::Keys("minutes_on_site: ~"),
    cure: "Write them; `status: draft` is there for notes that are not finished.",
    check: Check::Job(check_visit),
};

pub const EDITION_NOT_CITED: Rule = Rule {
    id: "edition-not-cited",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A visit does not cite the edition it was made to",
    looks_at: "`regulations` of finished work, reports and visits with readings. Without it the edition in force on the day is taken.",
    why: "Limits and tests change with the edition; a reader in ten years must know by which one this was judged.",
    sources: &["BS 7671:2018+A2:2022 Appendix 6 (model certificates: BS 7671, amended to)"],
    bad: Example::Keys("regulations: ~"),
    good: Example::Keys("regulations: BS 7671:2018+A4:2026"),
    cure: "Write `regulations: BS 7671:2018+A4:2026`, or whichever edition the work was designed and tested to.",
    check: Check::Job(check_edition),
};

pub const PERSON_NOT_NAMED: Rule = Rule {
    id: "person-not-named",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "Nothing says who designed, built or tested",
    looks_at: "Visits with new circuits or an installation certificate: designer, builder and tester. Other finished visits with readings: the tester.",
    why: "Each of the three is answered for by a name on the certificate.",
    sources: &["BS 7671:2018+A2:2022 Appendix 6 and Reg 644.5"],
    bad: Example::Keys("people: {designed: ~}"),
    good: Example::Keys("people: {designed: jd, built: jd, tested: jd}"),
    cure: "Write the ids under `people`; one person may stand for all three.",
    check: Check::Job(check_people),
};

pub const INSTRUMENT_NOT_NAMED: Rule = Rule {
    id: "instrument-not-named",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "Readings were taken, and no instrument is named",
    looks_at: "`instruments` of finished visits with measured readings.",
    why: "A reading whose instrument is not known has no provenance: when a tester fails its check, nobody can tell which readings it made.",
    sources: &["BS 7671:2018+A2:2022 Appendix 6, schedule of test results (serials of instruments)"],
    bad: Example::Keys("{instruments: [], joints: []}"),
    good: Example::Keys("instruments: [mft-1, torque-1]"),
    cure: "Name what was used: `instruments: [mft-1]`.",
    check: Check::Job(check_instruments),
};

pub const PREMISES_NOT_GIVEN: Rule = Rule {
    id: "premises-not-given",
    family: Family::Missing,
    grade: Grade::Doubt,
    title: "Nothing says what a site is used for",
    looks_at: "`premises` of sites with finished work or a report.",
    why: "How soon it must be inspected again, whether a landlord's duties apply and whether the work is notifiable turn on it.",
    sources: &["record format, version 1"],
    bad: Example::Keys("{sites/elm-row/site.md: {premises: ~}}"),
    good: Example::Keys("{sites/elm-row/site.md: {premises: dwelling}}"),
    cure: "Write `premises` in `site.md`.",
    check: Check::Site(check_premises),
};

/// Whether anything was read at a circuit on this visit.
fn has_readings(job: JobView<'_>) -> bool {
    job.data().circuits.iter().any(|circuit| ReadingKey::ALL.iter().any(|key| key.is_in(&circuit.readings)))
}

/// Whether anything was read on an instrument at this visit; what was looked at, told or worked out is not.
fn has_measurements(job: JobView<'_>) -> bool {
    const SEEN: [ReadingKey; 5] =
        [ReadingKey::Polarity, ReadingKey::RcdButton, ReadingKey::AfddButton, ReadingKey::Pilot, ReadingKey::IrTestV];
    let on_circuit = job.data().circuits.iter().any(|circuit| {
        let readings = &circuit.readings;
        let calculated = |key: &ReadingKey| *key == ReadingKey::Zs && readings.zs_by == Some(ZsBy::Calculated);
        ReadingKey::ALL.iter().filter(|key| !SEEN.contains(key) && !calculated(key)).any(|key| key.is_in(readings))
    });
    let at_origin = job.data().supply.as_ref().is_some_and(|supply| {
        let measured = |there: bool, by: Option<SupplyBy>| there && by.is_none_or(|by| by == SupplyBy::Measured);
        measured(supply.ze_ohm.is_some(), supply.ze_by)
            || measured(supply.ipf_ka.is_some(), supply.ipf_by)
            || supply.electrode_ohm.is_some()
            || supply.supply_v.is_some()
    });
    on_circuit || at_origin
}

fn check_visit(job: JobView<'_>, report: &mut Report<'_>) {
    let data = job.data();
    let mut gaps = Gaps::of(job.record);
    gaps.need(data.kind.is_some(), path!["kind"], "kind");
    gaps.need(data.status.is_some(), path!["status"], "status");
    if job.is_finished() {
        if has_readings(job) {
            gaps.need(data.dates.tested.is_some(), path!["dates", "tested"], "the day of the tests (dates.tested)");
        }
        if job.is_kind(&[JobKind::Inspect]) {
            gaps.need(says(&data.extent), path!["extent"], "the extent of the report");
            gaps.need(data.outcome.is_some(), path!["outcome"], "the outcome");
        }
    }
    gaps.raise(report, "record format, version 1", |list| format!("of this visit, {list} missing"));
}

fn check_edition(job: JobView<'_>, report: &mut Report<'_>) {
    let owes = has_readings(job) || job.is_kind(&[JobKind::Install, JobKind::Alter, JobKind::Inspect]);
    if job.is_finished() && owes && !says(&job.data().regulations) {
        let day = job.day().map(crate::tables::Edition::in_force_on);
        let taken = day.map_or(String::new(), |edition| format!(": {edition} is taken, as in force on the day"));
        report
            .raise(job.place(path!["regulations"]), format!("this visit cites no edition of BS 7671{taken}"))
            .source("BS 7671:2018+A2:2022 Appendix 6");
    }
}

fn check_people(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    let data = job.data();
    let certified = data.papers.iter().any(|paper| paper.kind == Some(PaperKind::InstallationCertificate));
    let new_work = !job.is_kind(&[JobKind::Survey]) && data.circuits.iter().any(|circuit| circuit.new == Some(true));
    let mut gaps = Gaps::of(job.record);
    if certified || new_work {
        gaps.need(says(&data.people.designed), path!["people", "designed"], "the designer");
        gaps.need(says(&data.people.built), path!["people", "built"], "the builder");
    }
    if certified || new_work || has_readings(job) || job.is_kind(&[JobKind::Inspect]) {
        gaps.need(says(&data.people.tested), path!["people", "tested"], "the tester");
    }
    let source = "BS 7671:2018+A2:2022 Appendix 6 and Reg 644.5";
    gaps.raise(report, source, |list| format!("of this visit, {list} not named"));
}

fn check_instruments(job: JobView<'_>, report: &mut Report<'_>) {
    let path = path!["instruments"];
    if job.is_finished() && job.data().instruments.is_empty() && has_measurements(job) && !has_hole(job.record, &path) {
        report
            .raise(job.place(path), "readings were taken at this visit, and no instrument is named")
            .source("BS 7671:2018+A2:2022 Appendix 6, schedule of test results");
    }
}

fn check_premises(site: &SiteView<'_>, report: &mut Report<'_>) {
    let Some(record) = site.record().filter(|_| is_worked_on(site)) else { return };
    if record.data.premises.is_none() {
        report.raise(site.place(path!["premises"]), "nothing says what this site is used for");
    }
}
