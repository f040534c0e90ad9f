//! Insulation readings that keep the limit and are not believed: off the instrument's scale, all alike, or low for what was tested.

use super::limits;
use super::view::{CircuitView, JobView};
use super::{Check, Example, Family, Report, Rule};
use crate::finding::{Grade, Place};
use crate::path;
use crate::record::{JobKind, Reading, Readings, Reads, Scale};
use crate::tables::insulation::{self, Band};

/// The rules of this family.
pub const RULES: &[&Rule] = &[&BEYOND_INSTRUMENT, &ALL_ALIKE, &UNIT_CONNECTED, &LOW_FOR_NEW];

/// Insulation resistance under which new wiring is asked about, Mohm (common practice: new circuits read hundreds; this threshold is this
/// program's own. Guidance Note 3 is quoted with 20 Mohm for new work since 2022).
const NEW_MOHM: f64 = 50.0;
/// How many circuits have to read alike before it is asked (common practice: a threshold of this program's own).
const ALIKE_CIRCUITS: usize = 4;

const BEYOND_INSTRUMENT: Rule = Rule {
    id: "ir-beyond-instrument",
    family: Family::Insulation,
    grade: Grade::Doubt,
    title: "An insulation reading is beyond what the instrument can show",
    looks_at: "`ir_live_live_mohm` and `ir_live_earth_mohm` against `ranges: {ir_top_mohm}` of the instruments named: over the top of the \
               range, or exactly the top without the `>`. Said once a visit. Quiet where one of the insulation testers named has no range \
               on record, and for `>` at a lower figure, which a tester shows at a lower test voltage.",
    why: "A tester cannot show what is beyond its scale: the figure was copied from elsewhere, or another instrument was used.",
    sources: &["common practice"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {ir_live_earth_mohm: '>2000'}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {ir_live_earth_mohm: '>499'}}]"),
    cure: "Write what the instrument showed, quoted with its sign where it was off the scale; or name the instrument that was used.",
    check: Check::Job(check_beyond),
};

const ALL_ALIKE: Rule = Rule {
    id: "ir-alike-on-every-circuit",
    family: Family::Insulation,
    grade: Grade::Doubt,
    title: "Every circuit of an old installation has the same insulation reading",
    looks_at: "Inspections: four circuits or more with insulation readings, all of them and between both pairs the same figure, off the \
               scale or on it. Quiet where the visit or an earlier one installed one of them, and for new boards of short circuits.",
    why: "Old wiring differs from circuit to circuit. One figure throughout is a figure that was written down, not read.",
    sources: &["common practice: four circuits is a threshold of this program's own"],
    bad: inspection!(
        "circuits: [{id: main/1, new: ~, readings: {ir_live_live_mohm: 200, ir_live_earth_mohm: 200}}, {id: main/2, new: ~, readings: {ir_live_live_mohm: 200, ir_live_earth_mohm: 200}}, {id: main/3, serves: light in the porch, use: lighting, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/3}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 24, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}, readings: {r1_r2_ohm: 0.72, ir_test_v: 500, ir_live_live_mohm: 200, ir_live_earth_mohm: 200, ir_with_unit: false, polarity: correct, zs_ohm: 0.93, zs_by: measured, zs_mode: no-trip, rcd_ms: 28, rcd_button: works}}, {id: main/4, serves: light in the loft, use: lighting, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/4}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 28, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}, readings: {r1_r2_ohm: 0.86, ir_test_v: 500, ir_live_live_mohm: 200, ir_live_earth_mohm: 200, ir_with_unit: false, polarity: correct, zs_ohm: 1.05, zs_by: measured, zs_mode: no-trip, rcd_ms: 26, rcd_button: works}}]\nsites/elm-row/site.md: {boards: [{id: main, ways: 4}]}"
    ),
    good: inspection!(
        "circuits: [{id: main/1, new: ~, readings: {ir_live_live_mohm: 200, ir_live_earth_mohm: 200}}, {id: main/2, new: ~, readings: {ir_live_live_mohm: 200, ir_live_earth_mohm: 200}}, {id: main/3, serves: light in the porch, use: lighting, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/3}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 24, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}, readings: {r1_r2_ohm: 0.72, ir_test_v: 500, ir_live_live_mohm: 200, ir_live_earth_mohm: 200, ir_with_unit: false, polarity: correct, zs_ohm: 0.93, zs_by: measured, zs_mode: no-trip, rcd_ms: 28, rcd_button: works}}, {id: main/4, serves: light in the loft, use: lighting, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/4}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 28, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}, readings: {r1_r2_ohm: 0.86, ir_test_v: 500, ir_live_live_mohm: 140, ir_live_earth_mohm: 140, ir_with_unit: false, polarity: correct, zs_ohm: 1.05, zs_by: measured, zs_mode: no-trip, rcd_ms: 26, rcd_button: works}}]\nsites/elm-row/site.md: {boards: [{id: main, ways: 4}]}"
    ),
    cure: "Test again where it matters most: the oldest and the longest circuits, between conductors and to earth.",
    check: Check::Job(check_alike),
};

const UNIT_CONNECTED: Rule = Rule {
    id: "ir-500-with-unit-connected",
    family: Family::Insulation,
    grade: Grade::Doubt,
    title: "Insulation was tested at 500 V with the unit or surge protection connected",
    looks_at: "`ir_with_unit: true` beside an `ir_test_v` of 500 V or more. Quiet below 500 V, and where the reading is under the minimum \
               and is told so.",
    why: "Surge protection conducts at that voltage and reads as bad insulation, and electronics may not survive it.",
    sources: &["BS 7671:2018+A2:2022 643.3.2 and 643.3.3", "BS 7671:2008 612.3.2"],
    bad: Example::Keys("circuits: [{id: main/1, readings: {ir_with_unit: true}}]"),
    good: Example::Keys("circuits: [{id: main/1, readings: {ir_with_unit: true, ir_test_v: 250, ir_250_why: unit connected}}]"),
    cure: "Disconnect it and test at 500 V, or test at 250 V with the live conductors joined and say so.",
    check: Check::Circuit(check_unit),
};

const LOW_FOR_NEW: Rule = Rule {
    id: "ir-low-for-new-wiring",
    family: Family::Insulation,
    grade: Grade::Doubt,
    title: "Insulation of new wiring is low",
    looks_at: "Insulation readings under 50 Mohm on circuits with `new: true`. Quiet where the unit was connected, where a fault of the \
               visit names the circuit, and under the minimum, which is a breach of its own.",
    why: "New cable reads hundreds of Mohm. Far less is a nail, a nicked core, damp in an end or something left connected.",
    sources: &["common practice: 50 Mohm is a threshold of this program's own", "Guidance Note 3 (20 Mohm is unusual for new work)"],
    bad: Example::Keys("circuits: [{id: main/2, readings: {ir_live_earth_mohm: 2.1}}]"),
    good: Example::Keys("circuits: [{id: main/2, readings: {ir_live_earth_mohm: 120}}]"),
    cure: "Disconnect both ends and test again. If it stays low, test each length by itself.",
    check: Check::Circuit(check_new),
};

/// The two insulation readings of a circuit with their names in a record and in words.
pub(super) fn pairs(readings: &Readings) -> impl Iterator<Item = (&'static str, &'static str, Reading)> {
    let both = [
        ("ir_live_live_mohm", "between live conductors", readings.ir_live_live_mohm),
        ("ir_live_earth_mohm", "live to earth", readings.ir_live_earth_mohm),
    ];
    both.into_iter().filter_map(|(key, words, reading)| Some((key, words, reading?)))
}

/// Whether a fault of the visit names the circuit: then its state is told there.
pub(super) fn is_reported(circuit: CircuitView<'_>) -> bool {
    circuit.job.data().faults.iter().any(|fault| fault.circuit.as_deref() == Some(circuit.id()))
}

/// The highest figure that the insulation testers named at a visit can show, Mohm, with its place; nothing unless each has its range.
fn top_of_range(job: JobView<'_>) -> Option<(f64, Place)> {
    let mut top: Option<(f64, Place)> = None;
    for name in &job.data().instruments {
        let record = job.site.book.instruments.get(name).filter(|record| !record.lost)?;
        if !record.data.reads.contains(&Reads::Insulation) {
            continue;
        }
        let of_this = *record.data.ranges.as_ref()?.ir_top_mohm?;
        if top.as_ref().is_none_or(|(so_far, _)| of_this > *so_far) {
            top = Some((of_this, Place::at(&record.source, path!["ranges", "ir_top_mohm"])));
        }
    }
    top
}

fn check_beyond(job: JobView<'_>, report: &mut Report<'_>) {
    let mut beyond = Vec::new();
    let mut range = None;
    for circuit in job.circuits() {
        for (key, words, reading) in pairs(circuit.readings()) {
            let Some((top, _)) = range.get_or_insert_with(|| top_of_range(job)).as_ref() else { return };
            if reading.value > *top && reading.scale != Scale::Below || reading.exact() == Some(*top) {
                beyond.push((circuit, key, words, reading));
            }
        }
    }
    let (Some((circuit, key, words, reading)), Some(Some((top, place)))) = (beyond.first().copied(), range) else { return };
    let more = match beyond.len() {
        1 => String::new(),
        2 => ", and 1 more reading".to_owned(),
        count => format!(", and {} more readings", count - 1),
    };
    let written = format!("{} insulation {words} {reading} Mohm{more}", circuit.id());
    let at_top = reading.value == top;
    let message = match at_top {
        true => format!("{written}: exactly the top of the instrument's range. Was it off the scale?"),
        false => format!("{written}: the instrument shows no more than {top}"),
    };
    let finding = report.raise(circuit.reading_place(key), message);
    finding.label("written here").because(place, "top of the range");
    if at_top {
        finding.help(format!("If the instrument showed it off the scale, write \">{top}\", quoted."));
    }
}

fn check_alike(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_kind(&[JobKind::Inspect]) {
        return;
    }
    let tested: Vec<CircuitView<'_>> = job.circuits().filter(|circuit| pairs(circuit.readings()).next().is_some()).collect();
    let Some(first) = tested.first().filter(|_| tested.len() >= ALIKE_CIRCUITS) else { return };
    let Some((key, _, figure)) = pairs(first.readings()).next() else { return };
    let alike = |reading: &Reading| reading.value == figure.value && reading.scale == figure.scale;
    let all_alike = tested.iter().all(|circuit| pairs(circuit.readings()).all(|(_, _, reading)| alike(&reading)));
    let installed = |circuit: &CircuitView<'_>| circuit.is_new() || circuit.previous().any(|earlier| earlier.is_new());
    if !all_alike || tested.iter().any(installed) {
        return;
    }
    let message = format!("insulation reads {figure} Mohm on all {} circuits of an old installation. Was each one tested?", tested.len());
    let finding = report.raise(first.reading_place(key), message);
    finding.label("the same throughout");
    for circuit in &tested[1..] {
        finding.because(circuit.reading_place(key), format!("{}: the same", circuit.id()));
    }
}

fn check_unit(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some(volts), Some(edition)) = (circuit.readings().ir_test_v, circuit.job.edition()) else { return };
    let Some(full) = insulation::test(Band::Low, edition).filter(|test| *volts >= test.test_v) else { return };
    if circuit.readings().ir_with_unit != Some(true) || limits::insulation_is_under_minimum(circuit) {
        return;
    }
    let message = format!("insulation was tested at {volts} V with the unit or surge protection connected");
    report
        .raise(circuit.reading_place("ir_with_unit"), message)
        .source(full.minimum.source)
        .label("connected")
        .because(circuit.reading_place("ir_test_v"), "at the full voltage");
}

/// The lowest insulation reading of a circuit that was tested clear of equipment and that nothing else tells of.
fn lowest(circuit: CircuitView<'_>) -> Option<(&'static str, &'static str, Reading)> {
    if circuit.readings().ir_with_unit == Some(true) || is_reported(circuit) || limits::insulation_is_under_minimum(circuit) {
        return None;
    }
    let on_scale = pairs(circuit.readings()).filter(|(_, _, reading)| reading.exact().is_some_and(|value| value > 0.0));
    on_scale.min_by(|a, b| a.2.value.total_cmp(&b.2.value))
}

fn check_new(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some((key, words, reading)) = lowest(circuit).filter(|(_, _, reading)| circuit.is_new() && reading.value < NEW_MOHM) else {
        return;
    };
    let message = format!("insulation {words} {reading} Mohm on a new circuit; new wiring reads hundreds. What is low?");
    report.raise(circuit.reading_place(key), message).label("measured here").because(circuit.place_of("new"), "installed at this visit");
}
