//! RCDs that act on one another: shared by circuits, or one upstream of the next.

use std::collections::BTreeMap;

use super::raise_at_rcd;
use crate::finding::Grade;
use crate::record::{DcDetection, Rcd, RcdType, Use};
use crate::rules::view::{CircuitView, JobView, Known, SiteView};
use crate::rules::words::listed;
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::Edition;

pub(super) const SHARED: Rule = Rule {
    id: "ev-rcd-shared",
    family: Family::Rcds,
    grade: Grade::Breach,
    title: "A charge point shares its RCD with other circuits",
    looks_at: "The installation as last recorded: one `rcd.device` on a circuit for vehicles and on another. Quiet for spare ways, and \
               where the point was last described before the 2018 edition.",
    why: "The leakage of all of them adds up in one device, and a fault anywhere stops the charging, or the other way round.",
    sources: &["BS 7671:2018+A1:2020 722.531.3.101 (each point protected individually)"],
    bad: Example::Keys(
        "circuits: [{id: main/1, ocpd: {standard: BS EN 60898, poles: 1}, rcd: {standard: BS EN 61008-1, device: rccb-1}}, {id: main/2, \
         ocpd: {standard: BS EN 60898}, rcd: {standard: BS EN 61008-1, device: rccb-1}}]",
    ),
    good: Example::Keys(
        "circuits: [{id: main/1, ocpd: {standard: BS EN 60898, poles: 1}, rcd: {standard: BS EN 61008-1, device: rccb-1}}, {id: main/2, \
         ocpd: {standard: BS EN 60898}, rcd: {standard: BS EN 61008-1, device: rccb-2}}]",
    ),
    cure: "Give the charge point an RCD of its own.",
    check: Check::Site(check_shared),
};

pub(super) const BLINDED: Rule = Rule {
    id: "rcd-upstream-blinded",
    family: Family::Rcds,
    grade: Grade::Breach,
    title: "The d.c. that charge points may leak can blind an RCD upstream",
    looks_at: "RCDs on the feeders of circuits for vehicles: type A or F above two points that each detect 6 mA d.c., type AC above one. \
               Quiet for type B, and where each point is itself behind a type B device only.",
    why: "Each point may let 6 mA d.c. stand. Two make 12, and a type A device is only sure to work up to 6.",
    sources: &["BS 7671:2018+A2:2022 531.3.3", "BS IEC 62955:2018 (6 mA)"],
    bad: Example::Keys(FED_THROUGH_AC),
    good: Example::Keys(FED_THROUGH_B),
    cure: "Put a type B device upstream, or none: take the feeder of the points off the shared RCD.",
    check: Check::Site(check_blinded),
};

pub(super) const NOT_SELECTIVE: Rule = Rule {
    id: "rcds-not-selective",
    family: Family::Rcds,
    grade: Grade::Doubt,
    title: "Two RCDs in a row open together",
    looks_at: "An RCD on a feeder and one on a circuit fed through it: the upper one not `delayed: true`. Quiet where both are one device.",
    why: "Either may trip on one fault, and the whole board goes off for a fault in one circuit.",
    sources: &["BS 7671:2018 536.4 (number from memory)", "BS EN 61008-1 (delayed type)"],
    bad: Example::Keys(TWO_IN_A_ROW),
    good: Example::Keys(TWO_IN_A_ROW_DELAYED),
    cure: "Upstream a delayed (S) device of at least three times the rated residual current, or none; if it is one, write `delayed: true`.",
    check: Check::Site(check_selective),
};

macro_rules! fed_through {
    ($rcd:literal) => {
        concat!(
            "sites/elm-row/site.md: {boards: [{id: garage, fed_from: main/3, standard: BS EN 61439-3, maker: M1, enclosure: metal, \
             main_switch: {rating_a: 63, poles: 2}, ways: 1, conditional_ka: 16}]}\n",
            "boards: [{id: garage, zdb_ohm: 0.28, ipf_ka: 0.83}]\n",
            "circuits:\n",
            "  - {id: main/3, use: sub-main, serves: garage, design_a: 20, rcd: {standard: BS EN 61008-1, ",
            $rcd,
            ", device: feeder}, ocpd: {standard: BS EN 60898, curve: B, rating_a: 32, breaking_ka: 10, poles: 1, maker: M1}, cable: \
             {make_up: armoured-90, cores: 3, line_mm2: 6, cpc_mm2: 6, cpc: core, length_m: 12, length_by: measured, method: D}, readings: \
             {r1_r2_ohm: 0.07, ir_test_v: 500, ir_live_live_mohm: 720, ir_live_earth_mohm: 640, ir_with_unit: false, polarity: correct, \
             zs_ohm: 0.28, zs_by: measured, zs_mode: no-trip, rcd_ms: 180, rcd_button: works}}\n"
        )
    };
}

macro_rules! with_light {
    ($rcd:literal) => {
        concat!(
            fed_through!($rcd),
            "  - {id: garage/1, use: lighting, new: true, serves: garage lights, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, \
             rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, device: garage/1}, \
             cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 5, length_by: measured, method: C}, \
             readings: {r1_r2_ohm: 0.16, ir_test_v: 500, ir_live_live_mohm: 810, ir_live_earth_mohm: 760, ir_with_unit: false, polarity: \
             correct, zs_ohm: 0.45, zs_by: measured, zs_mode: no-trip, rcd_ms: 27, rcd_button: works}}\n"
        )
    };
}

macro_rules! with_point {
    ($rcd:literal) => {
        concat!(
            fed_through!($rcd),
            "  - {id: garage/1, use: ev, new: true, serves: second charge point, design_a: 16, ocpd: {standard: BS EN 61009-1, curve: B, \
             rating_a: 20, breaking_ka: 10, poles: 2, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, device: garage/1}, \
             cable: {make_up: flat-70, cores: 3, line_mm2: 4, cpc_mm2: 1.5, cpc: core, length_m: 5, length_by: measured, method: C}, ev: \
             {mode: 3, unit: \"CP-204118\", set_a: 16, place: outdoor, open_pen: iv, pen_statement: \"maker's declaration\", dc_detection: \
             in-unit, load_limit: {limit_a: 60, proved: 2026-11-02, how: house loaded}, labelled: true}, readings: {r1_r2_ohm: 0.08, \
             ir_test_v: 500, ir_live_live_mohm: 810, ir_live_earth_mohm: 760, ir_with_unit: false, polarity: correct, zs_ohm: 0.37, \
             zs_by: measured, zs_mode: no-trip, rcd_ms: 27, rcd_button: works, rcd_dc_ms: 870, pilot: {b: works, c: works, error: works, \
             fault: works}}}\n",
            "units: [{event: fitted, serial: \"CP-204118\", model: plover-7, circuit: garage/1, firmware: \"4.1\", warranty_until: \
             2029-11-02, supplied_by: us, smart_statement: true}]\n",
            "notices: [{to: network-operator, route: apply, sent: 2026-10-10, answered: 2026-10-14, ref: \"EV-118\"}, {to: \
             building-control, sent: 2026-11-12, ref: \"BC-31\"}]\n"
        )
    };
}

const FED_THROUGH_AC: &str = with_point!("type: AC, trip_ma: 100, delayed: true");
const FED_THROUGH_B: &str = with_point!("type: B, trip_ma: 100, delayed: true");
const TWO_IN_A_ROW: &str = with_light!("type: A, trip_ma: 30, delayed: false");
const TWO_IN_A_ROW_DELAYED: &str = with_light!("type: A, trip_ma: 100, delayed: true");

/// The installation as the last finished visit left it.
fn installation<'a>(site: &'a SiteView<'a>) -> Vec<CircuitView<'a>> {
    let last = site.jobs().rev().find(|job: &JobView<'_>| job.is_finished());
    let circuits = last.map(JobView::installation).unwrap_or_default();
    circuits.into_iter().filter(|circuit| circuit.job.is_finished() && circuit.usage() != Some(Use::Spare)).collect()
}

fn device<'a>(circuit: &CircuitView<'a>) -> Option<&'a str> {
    circuit.rcd()?.value.device.as_deref()
}

fn check_shared(site: &SiteView<'_>, report: &mut Report<'_>) {
    let installation = installation(site);
    for point in installation.iter().filter(|circuit| circuit.usage() == Some(Use::Ev)) {
        let Some((rcd, name)) = point.rcd().zip(device(point)) else { continue };
        if point.job.edition().is_none_or(|edition| edition < Edition::Y2018) {
            continue;
        }
        let others: Vec<_> = installation.iter().filter(|other| other.id() != point.id() && device(other) == Some(name)).collect();
        let Some(first) = others.first() else { continue };
        let more = if others.len() > 1 { format!(" and {} more", others.len() - 1) } else { String::new() };
        let message = format!("the charge point's RCD `{name}` serves {}{more} as well; it needs one of its own", first.id());
        let finding = raise_at_rcd(*point, rcd, "device", message, report);
        finding.subject(point.id()).label("shared").source("BS 7671:2018+A1:2020 722.531.3.101");
        if let Some(other) = first.rcd() {
            finding.because(other.place_of(site, "device"), "on this circuit too");
        }
    }
}

/// For each feeder with an RCD: the circuits below it that have an RCD other than the feeder's.
fn below<'a>(installation: &[CircuitView<'a>]) -> BTreeMap<&'a str, (CircuitView<'a>, Known<'a, Rcd>, Vec<CircuitView<'a>>)> {
    let mut feeders = BTreeMap::new();
    for circuit in installation.iter().filter(|circuit| circuit.rcd().is_some()) {
        for feeder in circuit.upstream() {
            let Some(rcd) = feeder.rcd() else { continue };
            let is_same_device = rcd.value.device.is_some() && device(circuit) == rcd.value.device.as_deref();
            if !is_same_device {
                feeders.entry(feeder.id()).or_insert_with(|| (feeder, rcd, Vec::new())).2.push(*circuit);
            }
        }
    }
    feeders
}

fn check_blinded(site: &SiteView<'_>, report: &mut Report<'_>) {
    let detects = |circuit: &&CircuitView<'_>| {
        let by = circuit.ev().and_then(|ev| ev.value.dc_detection);
        circuit.usage() == Some(Use::Ev) && matches!(by, Some(DcDetection::InUnit | DcDetection::Separate))
    };
    for (id, (feeder, rcd, circuits)) in below(&installation(site)) {
        let points: Vec<&str> = circuits.iter().filter(detects).map(CircuitView::id).collect();
        let count = points.len();
        let kind = match rcd.value.kind {
            Some(kind @ RcdType::Ac) if count >= 1 => kind,
            Some(kind @ (RcdType::A | RcdType::F)) if count >= 2 => kind,
            _ => continue,
        };
        let are = if count == 1 { "charge point" } else { "charge points" };
        let message = format!("{are} {} may leak {} mA d.c. through this type {kind} RCD", listed(&points, "and"), 6 * count);
        let finding = raise_at_rcd(feeder, rcd, "type", message, report);
        finding.subject(id).label("upstream of them").source("BS 7671:2018+A2:2022 531.3.3; BS IEC 62955:2018");
    }
}

fn check_selective(site: &SiteView<'_>, report: &mut Report<'_>) {
    for (id, (feeder, rcd, circuits)) in below(&installation(site)) {
        let Some(upper) = rcd.value.trip_ma.filter(|_| rcd.value.delayed != Some(true)) else { continue };
        let delayed_path = feeder.path().at("rcd").at("delayed");
        let lower = circuits.iter().filter_map(|circuit| Some((circuit, circuit.rcd()?.value.trip_ma?)));
        let Some((circuit, trip)) = lower.max_by(|a, b| a.1.total_cmp(&b.1)) else { continue };
        if feeder.job.is_unreadable(&delayed_path) {
            continue;
        }
        let how = if rcd.value.delayed.is_none() { "not said to be delayed" } else { "without delay" };
        let message = format!("{upper} mA {how} upstream of {trip} mA at {}: does a fault there put the whole board off?", circuit.id());
        let finding = raise_at_rcd(feeder, rcd, "trip_ma", message, report);
        finding.subject(id).label("upstream").source("BS 7671:2018 536.4 (memory)");
        if let Some(other) = circuit.rcd() {
            finding.because(other.place_of(site, "trip_ma"), "fed through it");
        }
    }
}
