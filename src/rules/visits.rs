//! Visits for one symptom that are not linked, swaps that re-open an earlier reasoning.

use super::view::{CircuitView, JobView};
use super::{Check, Example, Family, Report, Rule};
use crate::book::FieldPath;
use crate::finding::{Grade, Place};
use crate::path;
use crate::record::{Date, DcDetection, Ev, Fault, Model, OpenPen, Symptom, UnitEvent};

/// The rules of this family.
pub const RULES: &[&Rule] = &[&SWAP_BREAKS_PROTECTION, &VISITS_NOT_LINKED];

const SWAP_BREAKS_PROTECTION: Rule = Rule {
    id: "swap-breaks-protection",
    family: Family::Visits,
    grade: Grade::Danger,
    title: "A charge point was replaced by a model that the circuit's protection does not fit",
    looks_at: "A unit fitted on a charging circuit whose particulars were recorded at an earlier visit, against the model register: smooth d.c. detection in the unit, the measure against an open PEN conductor, the highest overcurrent device its maker allows. Quiet when the visit or a later one states the circuit's `ev` particulars afresh, when the new model is not in the register, or when its record does not speak of the point.",
    why: "The RCD type and the earthing were chosen for what the old unit had in it. If the new one lacks it, nothing looks for d.c. leakage or for a broken supply neutral.",
    sources: &["BS 7671:2018 722.531.3.101", "BS 7671:2018 722.411.4.1", "common practice"],
    bad: Example::Keys(
        "models/curlew-2.md: {record: model, kind: charge-point, rated_a: 32, dc_detection: false, open_pen: [iv], max_ocpd_a: 40}\nsites/elm-row/2026-11-16-swap.md: {record: job, kind: swap, status: planned, title: New unit under warranty, units: [{event: fitted, serial: \"CU-88213\", model: curlew-2, circuit: main/1}]}",
    ),
    good: Example::Keys(
        "models/curlew-2.md: {record: model, kind: charge-point, rated_a: 32, dc_detection: true, open_pen: [iv], max_ocpd_a: 40}\nsites/elm-row/2026-11-16-swap.md: {record: job, kind: swap, status: planned, title: New unit under warranty, units: [{event: fitted, serial: \"CU-88213\", model: curlew-2, circuit: main/1}]}",
    ),
    cure: "Isolate the unit until the circuit's RCD and earthing have been worked out again for this model; then state the circuit's `ev` particulars afresh.",
    check: Check::Job(check_swap),
};

const VISITS_NOT_LINKED: Rule = Rule {
    id: "visits-not-linked",
    family: Family::Visits,
    grade: Grade::Doubt,
    title: "A third visit for one symptom, and the visits are not linked",
    looks_at: "Faults with one kind of symptom on one circuit at three or more visits within 90 days. Tripping is one symptom however it shows. Quiet when the fault says what it `repeats` or the visit what it `continues`, when circuits differ or are not named, and when the earlier fault was fixed with its cause found.",
    why: "One fault recorded as three has three beginnings and no story: what each visit ruled out is lost to the next.",
    sources: &["common practice: three visits in 90 days is a threshold of this program's own"],
    bad: Example::Keys(
        "sites/elm-row/2026-11-05-callout.md: {record: job, kind: callout, status: planned, title: Trips, faults: [{id: f1, reported: 2026-11-05, symptom: trips-later, circuit: main/2}]}\nsites/elm-row/2026-11-10-callout.md: {record: job, kind: callout, status: planned, title: Trips, faults: [{id: f1, reported: 2026-11-10, symptom: trips-at-once, circuit: main/2}]}\nsites/elm-row/2026-11-20-callout.md: {record: job, kind: callout, status: planned, title: Trips, faults: [{id: f1, reported: 2026-11-20, symptom: trips-when-wet, circuit: main/2}]}",
    ),
    good: Example::Keys("{}"),
    cure: "Give this fault `repeats: <visit>#<fault>`, and let each say under `excluded` what it ruled out.",
    check: Check::Job(check_linked),
};

/// A swap's circuit as it was known before the swap.
struct Before<'a> {
    circuit: CircuitView<'a>,
    ev: &'a Ev,
}

fn check_swap(job: JobView<'_>, report: &mut Report<'_>) {
    for (index, unit) in job.data().units.iter().enumerate() {
        let (Some(UnitEvent::Fitted), Some(id)) = (unit.event, unit.circuit.as_deref()) else { continue };
        let Some(new) = unit.model.as_deref().and_then(|model| job.site.book.models.get(model)).filter(|record| !record.lost) else {
            continue;
        };
        let Some(circuit) = job.installation().into_iter().find(|circuit| circuit.id() == id) else { continue };
        let Some(ev) = circuit.ev().filter(|ev| ev.is_older_than(job)) else { continue };
        // Where the visit, or one after it, has stated the circuit afresh or fitted yet another unit, that is what is judged.
        let settled = job.later().any(|later| {
            later.circuit(id).is_some_and(|circuit| circuit.circuit.ev.is_some())
                || later.data().units.iter().any(|unit| unit.event == Some(UnitEvent::Fitted) && unit.circuit.as_deref() == Some(id))
        });
        let old = circuit.unit_model();
        let same = old.is_some_and(|old| old.id == new.id);
        if settled || same || unit.serial.is_some() && unit.serial == ev.value.unit {
            continue;
        }
        let before = Before { circuit, ev: ev.value };
        for (message, grade, reason) in conflicts(&before, &new.data) {
            let (reason, words) = reason;
            let finding = report.raise(job.place(path!["units", index, "model"]), format!("{} {message}", new.id));
            finding.subject(id).grade(grade).label("fitted here");
            let reason = match reason {
                Reason::Ev(key) => ev.place_of(job.site, key),
                Reason::Ocpd => circuit.ocpd().map_or_else(|| circuit.place(), |ocpd| ocpd.place_of(job.site, "rating_a")),
            };
            finding.because(reason, words).because(Place::at(&new.source, FieldPath::root()), "what is known of the new model");
        }
    }
}

/// Where the earlier reasoning stands.
enum Reason {
    Ev(&'static str),
    Ocpd,
}

fn conflicts(before: &Before<'_>, new: &Model) -> Vec<(String, Grade, (Reason, &'static str))> {
    let mut conflicts = Vec::new();
    let in_unit = before.ev.dc_detection == Some(DcDetection::InUnit);
    let type_b = before.circuit.rcd().is_some_and(|rcd| rcd.value.kind == Some(crate::record::RcdType::B));
    if in_unit && new.dc_detection == Some(false) && !type_b {
        let message = "has no smooth d.c. detection, and this circuit's RCD was chosen for a unit that has".to_owned();
        conflicts.push((message, Grade::Danger, (Reason::Ev("dc_detection"), "d.c. detection was in the old unit")));
    }
    // The indents that are a device; the others are in the installation and stay when the unit goes. A device may also stand apart from
    // the unit, so it counts as the old unit's only when the old model is known to have it.
    let device = before.ev.open_pen.filter(|measure| matches!(measure, OpenPen::Iii | OpenPen::Iv | OpenPen::V));
    let was_in_unit = |measure: &OpenPen| before.circuit.unit_model().is_some_and(|old| old.data.open_pen.contains(measure));
    if let Some(measure) = device.filter(was_in_unit).filter(|measure| !new.open_pen.contains(measure)) {
        let has = match new.open_pen.as_slice() {
            [] => "none".to_owned(),
            measures => measures.iter().map(|measure| measure.as_str()).collect::<Vec<_>>().join(", "),
        };
        let message = format!("is not known to have the open-PEN measure ({measure}) that this circuit relies on; it has {has}");
        conflicts.push((message, Grade::Danger, (Reason::Ev("open_pen"), "the measure was in the old unit")));
    }
    let rating = before.circuit.ocpd().and_then(|ocpd| ocpd.value.rating_a);
    if let (Some(rating), Some(most)) = (rating, new.max_ocpd_a)
        && rating > most
    {
        let message = format!("allows an overcurrent device of {most} A at most, and this circuit has {rating} A");
        conflicts.push((message, Grade::Breach, (Reason::Ocpd, "the device")));
    }
    conflicts
}

/// Visits within so many days make one story. A threshold of this program's own.
const STORY_DAYS: i32 = 90;

/// Symptoms that are one to the person who has them.
fn kind_of(symptom: Symptom) -> Symptom {
    match symptom {
        Symptom::TripsAtOnce | Symptom::TripsLater | Symptom::TripsWhenWet => Symptom::TripsLater,
        Symptom::BurningSmell | Symptom::Heat => Symptom::Heat,
        other => other,
    }
}

fn day_of(fault: &Fault, job: JobView<'_>) -> Option<Date> {
    fault.reported.or_else(|| job.day())
}

fn check_linked(job: JobView<'_>, report: &mut Report<'_>) {
    if job.data().continues.is_some() {
        return;
    }
    for (index, fault) in job.data().faults.iter().enumerate() {
        let (Some(symptom), Some(circuit), Some(day)) = (fault.symptom, fault.circuit.as_deref(), day_of(fault, job)) else { continue };
        if symptom == Symptom::Other || fault.repeats.is_some() {
            continue;
        }
        let alike = |other: &Fault| {
            let settled = other.fixed_by.is_some() && other.cause.is_some_and(|cause| cause != crate::record::Cause::NotFound);
            other.symptom.map(kind_of) == Some(kind_of(symptom)) && other.circuit.as_deref() == Some(circuit) && !settled
        };
        let earlier: Vec<(JobView<'_>, usize, Date)> = job
            .earlier()
            .filter_map(|visit| {
                let (at, other) = visit.data().faults.iter().enumerate().find(|(_, other)| alike(other))?;
                Some((visit, at, day_of(other, visit)?))
            })
            .filter(|(_, _, then)| (0..=STORY_DAYS).contains(&day.days_since(*then)))
            .collect();
        if earlier.len() < 2 {
            continue;
        }
        let count = earlier.len() + 1;
        let message =
            format!("{count} visits to {circuit} for {} in {STORY_DAYS} days, and this fault names none before it", words(symptom));
        let finding = report.raise(job.place(path!["faults", index, "repeats"]), message);
        finding.subject(fault.id.clone().unwrap_or_default());
        if let Some((last, at, _)) = earlier.first()
            && let Some(id) = last.data().faults.get(*at).and_then(|fault| fault.id.as_deref())
        {
            finding.help(format!("`repeats: {}#{id}` links it; say under `excluded` what each visit ruled out.", last.id()));
        }
        for (visit, at, then) in &earlier {
            finding.because(visit.place(path!["faults", *at]), format!("reported {then}"));
        }
    }
}

fn words(symptom: Symptom) -> &'static str {
    match kind_of(symptom) {
        Symptom::TripsLater => "tripping",
        Symptom::Heat => "heat",
        Symptom::Noise => "noise",
        Symptom::Spark => "sparks",
        Symptom::Dead => "no power",
        Symptom::NoCharge => "no charge",
        Symptom::Damage => "damage",
        _ => "one symptom",
    }
}
