//! Facts about a circuit without which its readings cannot be judged.

use super::super::view::{CircuitView, JobView};
use super::super::{Check, Example, Family, Report, Rule};
use super::{Gaps, has_hole, owes_all, says};
use crate::book::FieldPath;
use crate::finding::Grade;
use crate::path;
use crate::record::{Circuit, CpcKind, JobKind, JointKind, MadeBy, Stranding, Use};
use crate::tables::DeviceStandard;

pub const CIRCUIT_FACTS_MISSING: Rule = Rule {
    id: "circuit-facts-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A circuit has no id, or nothing says what it is used for",
    looks_at: "Every circuit of a finished visit: its `id`; its `use`, unless an earlier visit gave it; for a new circuit also what it `serves`.",
    why: "Without its id it cannot be compared with the next visit, and without its use nobody knows which tests it needs.",
    sources: &["BS 7671:2018+A2:2022 Reg 514.9.1 (the schedule identifies each circuit)", "record format, version 1"],
    bad: Example::Keys("circuits: [{id: main/2, use: ~}]"),
    good: Example::Keys("circuits: [{id: main/2, use: other}]"),
    cure: "Write the id as <board>/<way> and the use as one of the words of the format.",
    check: Check::Circuit(check_circuit),
};

pub const DEVICE_FACTS_MISSING: Rule = Rule {
    id: "device-facts-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "The overcurrent device is not described",
    looks_at: "New circuits, circuits of a condition report and circuits whose loop was measured: standard, rating and, for a breaker, curve. New circuits \
               also breaking capacity. Told once, at the first visit that needs it.",
    why: "The limit of the loop is that of the device: without its standard, curve and rating no Zs can be judged.",
    sources: &["BS 7671:2018+A2:2022 Appendix 6 (schedule of circuit details) and Table 41.3"],
    bad: Example::Keys("circuits: [{id: main/2, ocpd: {curve: ~}}]"),
    good: Example::Keys("circuits: [{id: main/2, ocpd: {standard: BS 88-3, curve: ~, rating_a: 5, breaking_ka: 16, maker: ~}}]"),
    cure: "Read it off the device: `ocpd: {standard, curve, rating_a, breaking_ka}`.",
    check: Check::Circuit(check_device),
};

pub const CABLE_FACTS_MISSING: Rule = Rule {
    id: "cable-facts-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "The cable is not described",
    looks_at: "New circuits and circuits of a condition report: line and protective conductor sizes, make-up and reference method; for new circuits the length \
               as well. The size of a protective conductor that is armour or conduit is not asked for. Told once, at the first visit that needs it.",
    why: "Without size and method nobody can tell whether the device protects the cable, or whether R1+R2 is likely.",
    sources: &["BS 7671:2018+A2:2022 Appendix 6 (schedule of circuit details)", "BS 7671:2018+A2:2022 Reg 514.9.1"],
    bad: Example::Keys("circuits: [{id: main/2, cable: {method: ~, line_mm2: ~}}]"),
    good: Example::Keys("circuits: [{id: main/1, cable: {cpc: armour, cpc_mm2: ~}}]"),
    cure: "Write it under `cable`; what had to be judged by eye says so (`length_by: estimated`).",
    check: Check::Circuit(check_cable),
};

pub const RCD_FACTS_MISSING: Rule = Rule {
    id: "rcd-facts-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "An RCD is recorded without its type or its trip current",
    looks_at: "The `rcd` of new circuits, of circuits of a condition report and of circuits whose RCD was timed. Told once, at the first visit that needs it.",
    why: "The type decides whether d.c. can blind it, the trip current whether it protects people; a time means nothing without both.",
    sources: &["BS 7671:2018+A2:2022 Appendix 6 (schedule of circuit details), Reg 531.3.3 and 722.531.3.101"],
    bad: Example::Keys("circuits: [{id: main/1, rcd: {type: ~}}]"),
    good: Example::Keys("circuits: [{id: main/2, rcd: {type: F}}]"),
    cure: "Read both off the front of the device: `rcd: {type, trip_ma}`.",
    check: Check::Circuit(check_rcd),
};

pub const TORQUE_NOT_RECORDED: Rule = Rule {
    id: "torque-not-recorded",
    family: Family::Missing,
    grade: Grade::Doubt,
    title: "A screw terminal of ours has no torque, or a fine-stranded end no word on its ferrule",
    looks_at: "Joints of finished visits with `made_by: us` and `kind: screw`, and fine-stranded ends of ours that say nothing of a ferrule.",
    why: "A loose or crushed termination is the likeliest next burn-up, and the torque is the one thing that shows how it was made.",
    sources: &["maker's instructions, BS 7671:2018+A2:2022 Reg 134.1.1 and 526.1", "BS 7671:2018+A2:2022 Reg 526.9 (from memory)"],
    bad: Example::Keys(
        "joints: [{where: terminals of the charge point, circuit: main/1, kind: screw, made_by: us, access: open, conductor: stranded}]",
    ),
    good: Example::Keys(
        "joints: [{where: box in the garage, circuit: main/1, kind: lever, made_by: us, access: open, conductor: stranded}]",
    ),
    cure: "Write `torque_nm` as set on the driver, and `ferrule: true` or `false` for fine strands.",
    check: Check::Job(check_joints),
};

/// Whether this visit or an earlier one says something of the circuit, readably or not.
fn is_said(circuit: CircuitView<'_>, key: &'static str, part: Option<&'static str>, said: fn(&Circuit) -> bool) -> bool {
    let at = |circuit: CircuitView<'_>| {
        let path = circuit.path().at(key);
        part.map_or(path.clone(), |part| path.at(part))
    };
    let here = |circuit: CircuitView<'_>| said(circuit.circuit) || has_hole(circuit.job.record, &at(circuit));
    here(circuit) || circuit.previous().any(here)
}

/// Whether this is the first visit at which the facts are needed: each gap is told once.
fn is_first(circuit: CircuitView<'_>, needs: fn(CircuitView<'_>) -> bool) -> bool {
    needs(circuit) && circuit.usage() != Some(Use::Spare) && !circuit.previous().any(needs)
}

fn check_circuit(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let needs: fn(CircuitView<'_>) -> bool = |circuit| circuit.job.is_finished() && !circuit.job.is_kind(&[JobKind::Survey]);
    if !needs(circuit) {
        return;
    }
    let mut gaps = Gaps::of(circuit.job.record);
    gaps.need(says(&circuit.circuit.id), circuit.path().at("id"), "id");
    if is_first(circuit, needs) {
        gaps.need(is_said(circuit, "use", None, |circuit| circuit.usage.is_some()), circuit.path().at("use"), "use");
        if circuit.is_new() {
            gaps.need(says(&circuit.circuit.serves), circuit.path().at("serves"), "what it serves");
        }
    }
    let name = name(circuit);
    let are = gaps.are();
    gaps.raise(report, |list| format!("{list} of {name} {are} missing"));
}

/// A circuit by its id, or by its place in the list when it has none.
fn name(circuit: CircuitView<'_>) -> String {
    match circuit.id() {
        "" => format!("circuit {} of the list", circuit.index + 1),
        id => id.to_owned(),
    }
}

fn check_device(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let needs: fn(CircuitView<'_>) -> bool = |circuit| {
        let looped = circuit.job.is_finished() && circuit.readings().zs_ohm.is_some();
        owes_all(circuit) || looped
    };
    if !is_first(circuit, needs) {
        return;
    }
    let mut gaps = Gaps::of(circuit.job.record);
    let at = |key: &'static str| circuit.path().at("ocpd").at(key);
    let standard = is_said(circuit, "ocpd", Some("standard"), |circuit| circuit.ocpd.as_ref().is_some_and(|ocpd| says(&ocpd.standard)));
    gaps.need(standard, at("standard"), "standard");
    let breaker = circuit
        .ocpd()
        .and_then(|ocpd| DeviceStandard::parse(ocpd.value.standard.as_deref()?))
        .is_some_and(|standard| matches!(standard, DeviceStandard::Bs60898 | DeviceStandard::Bs61009 | DeviceStandard::Bs3871));
    if breaker {
        let curve = is_said(circuit, "ocpd", Some("curve"), |circuit| circuit.ocpd.as_ref().is_some_and(|ocpd| says(&ocpd.curve)));
        gaps.need(curve, at("curve"), "curve");
    }
    let rating = is_said(circuit, "ocpd", Some("rating_a"), |circuit| circuit.ocpd.as_ref().is_some_and(|ocpd| ocpd.rating_a.is_some()));
    gaps.need(rating, at("rating_a"), "rating");
    if circuit.is_new() {
        let there =
            is_said(circuit, "ocpd", Some("breaking_ka"), |circuit| circuit.ocpd.as_ref().is_some_and(|ocpd| ocpd.breaking_ka.is_some()));
        gaps.need(there, at("breaking_ka"), "breaking capacity");
    }
    let (id, are) = (circuit.id(), gaps.are());
    gaps.raise(report, |list| format!("{list} of the overcurrent device of {id} {are} missing: its loop cannot be judged"));
}

fn check_cable(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if !is_first(circuit, owes_all) {
        return;
    }
    let mut gaps = Gaps::of(circuit.job.record);
    let at = |key: &'static str| circuit.path().at("cable").at(key);
    macro_rules! cable {
        ($key:ident, $words:literal) => {
            let there = is_said(circuit, "cable", Some(stringify!($key)), |circuit| {
                circuit.cable.as_ref().is_some_and(|cable| cable.$key.is_some())
            });
            gaps.need(there, at(stringify!($key)), $words);
        };
    }
    cable!(make_up, "make-up");
    cable!(method, "method");
    cable!(line_mm2, "line_mm2");
    if !circuit.cable().is_some_and(|cable| matches!(cable.value.cpc, Some(CpcKind::Armour | CpcKind::Conduit))) {
        cable!(cpc_mm2, "cpc_mm2");
    }
    if circuit.is_new() {
        cable!(length_m, "length_m");
    }
    let (id, are) = (circuit.id(), gaps.are());
    if let Some(finding) = gaps.raise(report, |list| format!("{list} of the cable of {id} {are} missing: nobody can check it later")) {
        finding.source("BS 7671:2018+A2:2022 Appendix 6, schedule of circuit details");
    }
}

fn check_rcd(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let needs: fn(CircuitView<'_>) -> bool = |circuit| {
        let timed = circuit.job.is_finished() && (circuit.readings().rcd_ms.is_some() || circuit.readings().rcd_5x_ms.is_some());
        circuit.rcd().is_some() && (owes_all(circuit) || timed)
    };
    if !is_first(circuit, needs) {
        return;
    }
    let mut gaps = Gaps::of(circuit.job.record);
    let at = |key: &'static str| -> FieldPath { circuit.path().at("rcd").at(key) };
    let kind = is_said(circuit, "rcd", Some("type"), |circuit| circuit.rcd.as_ref().is_some_and(|rcd| rcd.kind.is_some()));
    gaps.need(kind, at("type"), "type");
    let trip = is_said(circuit, "rcd", Some("trip_ma"), |circuit| circuit.rcd.as_ref().is_some_and(|rcd| rcd.trip_ma.is_some()));
    gaps.need(trip, at("trip_ma"), "trip current");
    let (id, are) = (circuit.id(), gaps.are());
    gaps.raise(report, |list| format!("{list} of the RCD of {id} {are} missing"));
}

fn check_joints(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    for (index, joint) in job.data().joints.iter().enumerate().filter(|(_, joint)| joint.made_by == Some(MadeBy::Us)) {
        let mut gaps = Gaps::of(job.record);
        if joint.kind == Some(JointKind::Screw) {
            gaps.need(joint.torque_nm.is_some(), path!["joints", index, "torque_nm"], "torque");
        }
        if joint.conductor == Some(Stranding::FineStranded) {
            gaps.need(joint.ferrule.is_some(), path!["joints", index, "ferrule"], "ferrule on the fine strands");
        }
        let place = joint.place.as_deref().unwrap_or("this joint");
        if let Some(finding) = gaps.raise(report, |list| format!("{place}: {list} not recorded")) {
            finding.subject(joint.place.as_deref().unwrap_or_default());
        }
    }
}
