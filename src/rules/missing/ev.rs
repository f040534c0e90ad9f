//! What a charge point's record must say beyond its readings.

use super::super::view::{CircuitView, JobView};
use super::super::words::says;
use super::super::{Check, Example, Family, Report, Rule};
use super::{Gaps, has_hole, owes_all};
use crate::finding::Grade;
use crate::path;
use crate::record::{Date, Earthing, Ev, ModelKind, Nation, OpenPen, Premises, RcdType, SuppliedBy, UnitEvent, Use};

pub const EV_FACTS_MISSING: Rule = Rule {
    id: "ev-facts-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A charge point is not described",
    looks_at: "New circuits for vehicles and those of a condition report: mode, place, the current set and, in mode 3 without a type B RCD, where d.c. fault \
               current is detected.",
    why: "The earthing measure, the RCD and the load all turn on these.",
    sources: &["BS 7671:2018+A2:2022 Reg 722.311, 722.411.4.1 and 722.531.3.101"],
    bad: Example::Keys("circuits: [{id: main/1, ev: {set_a: ~}}]"),
    good: Example::Keys(
        "circuits: [{id: main/1, rcd: {type: B, standard: BS EN 62423}, ev: {dc_detection: type-b}, readings: {rcd_dc_ms: ~}}]",
    ),
    cure: "Write it under `ev`: `mode`, `place`, `set_a`, `dc_detection`.",
    check: Check::Circuit(check_facts),
};

pub const OPEN_PEN_NOT_EVIDENCED: Rule = Rule {
    id: "open-pen-not-evidenced",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "The measure against a broken PEN conductor has nothing behind it",
    looks_at: "New charge points: a calculated voltage for indents (i) and (ii), for (ii) also the electrode's resistance; the maker's document for (v), and \
               as a question for (iii) and (iv) where neither the record nor the model register has it; a reason for `not-needed`.",
    why: "A measure that nobody calculated or declared is a word; with the PEN conductor broken the vehicle's body is live.",
    sources: &["BS 7671:2018+A2:2022 Reg 722.411.4.1 and Annex A722"],
    bad: Example::Keys(
        "{circuits: [{id: main/1, ev: {open_pen: ii, pen_statement: ~}}], supply: {electrode_ohm: 2.4, electrode_by: three-terminal}}",
    ),
    good: Example::Keys("circuits: [{id: main/1, ev: {pen_statement: ~}}]"),
    cure: "Write the figure in `pen_calc_v`, the document in `pen_statement` or the reason in `open_pen_why`, and keep the paper.",
    check: Check::Circuit(check_open_pen),
};

pub const EARTHS_APART_NOT_RECORDED: Rule = Rule {
    id: "earths-apart-not-recorded",
    family: Family::Missing,
    grade: Grade::Danger,
    title: "A charge point has a TT earth beside a TN one, and nothing says how far apart they are",
    looks_at: "Circuits with `open_pen: tt` on a TN site, when they are new or reported on.",
    why: "Somebody who touches metal on both earths bridges them; with the supply's PEN conductor broken that is the full voltage.",
    sources: &["BS 7671:2018+A2:2022 Reg 411.3.1.1; 2.5 m is the working rule"],
    bad: Example::Keys(
        "{circuits: [{id: main/1, ev: {open_pen: tt, pen_statement: ~}, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 60}}], supply: {electrode_ohm: 59, electrode_by: three-terminal}}",
    ),
    good: Example::Keys(
        "{circuits: [{id: main/1, ev: {open_pen: tt, pen_statement: ~, earths_apart_m: 3.5}, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 60}}], supply: {electrode_ohm: 59, electrode_by: three-terminal}}",
    ),
    cure: "Measure between the nearest parts that can be touched together, the vehicle's body included, and write `earths_apart_m`.",
    check: Check::Circuit(check_earths_apart),
};

pub const LOAD_LIMIT_NOT_PROVED: Rule = Rule {
    id: "load-limit-not-proved",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A load limit was set and never proved",
    looks_at: "`load_limit` of new charge points and those of a condition report: the limit, the day it was proved, and how.",
    why: "A sensor on the wrong tail sees nothing, and the cut-out carries house and vehicle together.",
    sources: &["BS 7671:2018+A2:2022 Reg 722.311.201", "common practice: load the house and see the current fall"],
    bad: Example::Keys("circuits: [{id: main/1, ev: {load_limit: {proved: ~, how: ~}}}]"),
    good: Example::Keys("circuits: [{id: main/1, ev: {load_limit: ~}}]"),
    cure: "Load the house, see the charging current fall, and write `proved` and `how`.",
    check: Check::Circuit(check_load_limit),
};

pub const SMART_STATEMENT_MISSING: Rule = Rule {
    id: "smart-statement-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A private charge point was sold without its statement of compliance",
    looks_at: "Charge points fitted at homes, offices and workshops in Great Britain since 2022-06-30 and supplied by us. Quiet for points the customer or \
               somebody else supplied, for a 13 A outlet, and in Northern Ireland; asks where `supplied_by` is blank.",
    why: "The seller must hold and hand over the statement; whoever supplied the point is the seller.",
    sources: &["Electric Vehicles (Smart Charge Points) Regulations 2021, SI 2021/1467, reg 13"],
    bad: Example::Keys("units: [{serial: \"CP-204117\", smart_statement: ~}]"),
    good: Example::Keys("units: [{serial: \"CP-204117\", smart_statement: ~, supplied_by: customer}]"),
    cure: "Get the statement from the maker, give it to the customer and write `smart_statement: true`.",
    check: Check::Job(check_smart),
};

pub const EV_CIRCUIT_NOT_LABELLED: Rule = Rule {
    id: "ev-circuit-not-labelled",
    family: Family::Missing,
    grade: Grade::Tidy,
    title: "Nothing says that a charge point's circuit was labelled",
    looks_at: "New circuits for vehicles: `labelled`, at the board and at the unit.",
    why: "Whoever has to switch it off in a hurry must find it.",
    sources: &["BS 7671:2018+A2:2022 Section 514"],
    bad: Example::Keys("circuits: [{id: main/1, ev: {labelled: ~}}]"),
    good: Example::Keys("circuits: [{id: main/1, ev: {labelled: true}}]"),
    cure: "Label the circuit at the board and at the unit, and write `labelled: true`.",
    check: Check::Circuit(check_labels),
};

/// Since this day a private charge point is sold with its statement: SI 2021/1467, in force 30 June 2022.
const SMART_SINCE: &str = "2022-06-30";

/// What this visit knows of a charge point that it owes facts about, where the key can be read.
fn point(circuit: CircuitView<'_>) -> Option<&Ev> {
    let wanted = owes_all(circuit) && circuit.usage() == Some(Use::Ev) && !has_hole(circuit.job.record, &circuit.path().at("ev"));
    circuit.ev().filter(|_| wanted).map(|ev| ev.value)
}

/// Whether the visit is the first that owes this circuit's facts: each gap is told once.
fn is_first(circuit: CircuitView<'_>) -> bool {
    owes_all(circuit) && !circuit.previous().any(owes_all)
}

fn check_facts(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    if circuit.usage() != Some(Use::Ev) || !is_first(circuit) {
        return;
    }
    let at = |key: &'static str| circuit.path().at("ev").at(key);
    let ev = circuit.ev().map(|ev| ev.value);
    let has = |part: fn(&Ev) -> bool| ev.is_some_and(part);
    let type_b = circuit.rcd().and_then(|rcd| rcd.value.kind) == Some(RcdType::B);
    let mode_3 = ev.and_then(|ev| ev.mode).is_none_or(|mode| *mode == 3);
    let mut gaps = Gaps::of(circuit.job.record);
    gaps.need(has(|ev| ev.mode.is_some()), at("mode"), "mode");
    gaps.need(has(|ev| ev.place.is_some()), at("place"), "outdoor or indoor");
    gaps.need(has(|ev| ev.set_a.is_some()), at("set_a"), "the current it is set to");
    if mode_3 && !type_b {
        gaps.need(has(|ev| ev.dc_detection.is_some()), at("dc_detection"), "where d.c. fault current is detected");
    }
    gaps.raise(report, "BS 7671:2018+A2:2022 Section 722", |list| format!("of this charge point, {list} not recorded"));
}

fn check_open_pen(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(ev) = point(circuit).filter(|_| is_first(circuit)) else { return };
    let Some(measure) = ev.open_pen else { return };
    let at = |key: &'static str| circuit.path().at("ev").at(key);
    let mut gaps = Gaps::of(circuit.job.record);
    let mut grade = Grade::Breach;
    // A model that is in the register without the measure is told by `open-pen-not-in-model`.
    let registered = circuit.unit_model().is_some();
    match measure {
        OpenPen::I => gaps.need(ev.pen_calc_v.is_some(), at("pen_calc_v"), "the calculated voltage"),
        OpenPen::Ii => {
            gaps.need(ev.pen_calc_v.is_some(), at("pen_calc_v"), "the calculated voltage");
            let electrode = circuit.job.data().supply.as_ref().is_some_and(|supply| supply.electrode_ohm.is_some());
            gaps.need(electrode, path!["supply", "electrode_ohm"], "the electrode's resistance");
        }
        OpenPen::Iii | OpenPen::Iv => {
            grade = Grade::Doubt;
            gaps.need(registered || says(&ev.pen_statement), at("pen_statement"), "the maker's document");
        }
        OpenPen::V => gaps.need(registered || says(&ev.pen_statement), at("pen_statement"), "the maker's document"),
        OpenPen::NotNeeded => gaps.need(says(&ev.open_pen_why), at("open_pen_why"), "the reason"),
        OpenPen::Tt | OpenPen::Separated => {}
    }
    let source = "BS 7671:2018+A2:2022 Reg 722.411.4.1";
    if let Some(finding) = gaps.raise(report, source, |list| format!("open-PEN measure `{measure}`, but {list} not recorded")) {
        finding.grade(grade).because(circuit.job.place(at("open_pen")), "the measure relied on");
    }
}

fn check_earths_apart(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(ev) = point(circuit).filter(|ev| ev.open_pen == Some(OpenPen::Tt)) else { return };
    let Some(earthing) = circuit.site().earthing().filter(|earthing| matches!(earthing, Earthing::TnS | Earthing::TnCS)) else { return };
    let path = circuit.path().at("ev").at("earths_apart_m");
    if ev.earths_apart_m.is_some() || has_hole(circuit.job.record, &path) {
        return;
    }
    let message = format!("a TT earth beside the {earthing} earth of the supply, and the distance between them is not recorded");
    let finding = report.raise(circuit.job.place(path), message);
    finding.label("missing here").source("BS 7671:2018+A2:2022 Reg 411.3.1.1");
    finding.because(circuit.site().place(path!["supply", "earthing"]), "the other earth");
}

fn check_load_limit(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(limit) = point(circuit).filter(|_| is_first(circuit)).and_then(|ev| ev.load_limit.as_ref()) else { return };
    let at = |key: &'static str| circuit.path().at("ev").at("load_limit").at(key);
    let mut gaps = Gaps::of(circuit.job.record);
    gaps.need(limit.limit_a.is_some(), at("limit_a"), "the limit in amperes");
    gaps.need(limit.proved.is_some(), at("proved"), "the day it was proved");
    gaps.need(says(&limit.how), at("how"), "how it was proved");
    gaps.raise(report, "BS 7671:2018+A2:2022 Reg 722.311.201", |list| format!("of the load limit, {list} not recorded"));
}

fn check_smart(job: JobView<'_>, report: &mut Report<'_>) {
    let private = job.site.site().and_then(|site| site.premises).is_some_and(|premises| {
        matches!(premises, Premises::Dwelling | Premises::DwellingLet | Premises::Hmo | Premises::Office | Premises::Workshop)
    });
    let great_britain = job.site.nation().is_some_and(|nation| nation != Nation::NorthernIreland);
    let since = SMART_SINCE.parse::<Date>().ok();
    if !job.is_finished() || !private || !great_britain || job.day().is_none() || job.day() < since {
        return;
    }
    for (index, unit) in job.data().units.iter().enumerate().filter(|(_, unit)| unit.event == Some(UnitEvent::Fitted)) {
        let model = unit.model.as_deref().and_then(|model| job.site.book.models.get(model)).and_then(|model| model.data.kind);
        let mode_3 =
            unit.circuit.as_deref().and_then(|id| job.circuit(id)).and_then(|circuit| circuit.ev()?.value.mode).map(|mode| *mode == 3);
        let is_point = model.map_or(mode_3 == Some(true), |kind| kind == ModelKind::ChargePoint);
        let sold_by_us = unit.supplied_by.is_none_or(|by| by == SuppliedBy::Us);
        let path = path!["units", index, "smart_statement"];
        if !is_point || !sold_by_us || unit.smart_statement == Some(true) || has_hole(job.record, &path) {
            continue;
        }
        let finding = report.raise(job.place(path), "this charge point was sold by us, and no statement of compliance is recorded for it");
        finding.subject(unit.serial.as_deref().unwrap_or_default()).source("SI 2021/1467 reg 13");
        if unit.supplied_by.is_none() {
            finding.message = "no statement of compliance is recorded for this charge point, and nothing says who sold it".to_owned();
            finding
                .grade(Grade::Doubt)
                .help("Write who supplied it (`supplied_by`), and if it was us, `smart_statement: true` once it is held.");
        }
    }
}

fn check_labels(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(ev) = point(circuit).filter(|ev| circuit.is_new() && ev.labelled != Some(true)) else { return };
    let path = circuit.path().at("ev").at("labelled");
    if has_hole(circuit.job.record, &path) {
        return;
    }
    let message = match ev.labelled {
        Some(_) => "this charging circuit is not labelled",
        None => "nothing says that this circuit is labelled at the board and at the unit",
    };
    report.raise(circuit.job.place(path), message).source("BS 7671:2018+A2:2022 Section 514");
}
