//! Facts about a circuit without which its readings cannot be judged.

use super::super::view::{CircuitView, JobView};
use super::super::words::says;
use super::super::{Check, Example, Family, Report, Rule};
use super::{Gaps, has_hole, owes_all};
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

/// Where a certificate or report sets down what a circuit is made of.
const SCHEDULE: &str = "BS 7671:2018+A2:2022 Appendix 6, schedule of circuit details";

/// Whether this visit or an earlier one says something at `key` of the circuit, readably or not.
fn is_said(circuit: CircuitView<'_>, key: FieldPath, said: fn(&Circuit) -> bool) -> bool {
    let here = |circuit: CircuitView<'_>| {
        let path = || circuit.path().steps().iter().chain(key.steps()).cloned().collect();
        said(circuit.circuit) || has_hole(circuit.job.record, &path())
    };
    here(circuit) || circuit.previous().any(here)
}

/// Notes a key of a circuit's `ocpd`, `cable` or `rcd` as missing unless this visit or an earlier one has it.
macro_rules! need {
    ($gaps:ident, $circuit:ident, $whole:ident . $part:ident = $key:literal, $words:literal, $is_there:path) => {
        let there = is_said($circuit, path![stringify!($whole), $key], |circuit| {
            circuit.$whole.as_ref().is_some_and(|whole| $is_there(&whole.$part))
        });
        $gaps.need(there, $circuit.path().at(stringify!($whole)).at($key), $words);
    };
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
        gaps.need(is_said(circuit, path!["use"], |circuit| circuit.usage.is_some()), circuit.path().at("use"), "use");
        if circuit.is_new() {
            gaps.need(says(&circuit.circuit.serves), circuit.path().at("serves"), "what it serves");
        }
    }
    gaps.raise(report, "BS 7671:2018+A2:2022 Reg 514.9.1", |list| format!("of this circuit, {list} missing"));
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
    need!(gaps, circuit, ocpd.standard = "standard", "standard", says);
    let standard = circuit.ocpd().and_then(|ocpd| DeviceStandard::parse(ocpd.value.standard.as_deref()?));
    if matches!(standard, Some(DeviceStandard::Bs60898 | DeviceStandard::Bs61009 | DeviceStandard::Bs3871)) {
        need!(gaps, circuit, ocpd.curve = "curve", "curve", says);
    }
    need!(gaps, circuit, ocpd.rating_a = "rating_a", "rating", Option::is_some);
    if circuit.is_new() {
        need!(gaps, circuit, ocpd.breaking_ka = "breaking_ka", "breaking capacity", Option::is_some);
    }
    gaps.raise(report, SCHEDULE, |list| format!("of the overcurrent device, {list} missing: the circuit cannot be judged by it"));
}

fn check_cable(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if !is_first(circuit, owes_all) {
        return;
    }
    let mut gaps = Gaps::of(circuit.job.record);
    need!(gaps, circuit, cable.make_up = "make_up", "make-up", Option::is_some);
    need!(gaps, circuit, cable.method = "method", "method", says);
    need!(gaps, circuit, cable.line_mm2 = "line_mm2", "line_mm2", Option::is_some);
    if !circuit.cable().is_some_and(|cable| matches!(cable.value.cpc, Some(CpcKind::Armour | CpcKind::Conduit))) {
        need!(gaps, circuit, cable.cpc_mm2 = "cpc_mm2", "cpc_mm2", Option::is_some);
    }
    if circuit.is_new() {
        need!(gaps, circuit, cable.length_m = "length_m", "length_m", Option::is_some);
    }
    gaps.raise(report, SCHEDULE, |list| format!("of the cable, {list} missing: nobody can check it later"));
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
    need!(gaps, circuit, rcd.kind = "type", "type", Option::is_some);
    need!(gaps, circuit, rcd.trip_ma = "trip_ma", "trip current", Option::is_some);
    gaps.raise(report, SCHEDULE, |list| format!("of the RCD, {list} missing"));
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
        if let Some(finding) = gaps.raise(report, "BS 7671:2018+A2:2022 Reg 526.1", |list| format!("of this joint, {list} not recorded")) {
            finding.subject(joint.place.as_deref().unwrap_or_default());
        }
    }
}
