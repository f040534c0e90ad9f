//! Serials in two places or none, readings that were copied, supply numbers that cannot be.

use std::collections::{BTreeMap, HashMap};

use super::facts::{RunFact, SerialFact, Spot, file_of};
use super::view::{BookView, CircuitView, JobView, SiteView};
use super::{Check, Example, Family, Report, Rule};
use crate::finding::{Grade, Place};
use crate::path;
use crate::record::{Reading, Readings, Scale, Unit, UnitEvent, ZsBy, is_withheld};

/// The rules of this family.
pub const RULES: &[&Rule] = &[&IN_TWO_PLACES, &PLACEHOLDER, &ROW_COPIED, &COPIED_ACROSS_SITES, &COPIED_FROM_LAST_TIME, &SUPPLY_NUMBER];

const IN_TWO_PLACES: Rule = Rule {
    id: "serial-in-two-places",
    family: Family::Identity,
    grade: Grade::Doubt,
    title: "One serial stands in place at two places",
    looks_at: "Units fitted or seen and not removed since, over the whole book; on one site, a serial fitted on two circuits. Spaces, hyphens and capitals make no difference. Quiet when one of the two was removed, when the models differ, and for placeholders.",
    why: "One unit cannot be in two places: a recall or a claim will go to the wrong door.",
    sources: &["common practice"],
    bad: Example::Keys(
        "units: [{serial: \"CP-204117\"}, {event: fitted, serial: \"cp 204117\", model: plover-7, circuit: main/2, firmware: \"4.1\", warranty_until: 2029-11-02, supplied_by: us, smart_statement: true}]",
    ),
    good: Example::Keys(
        "sites/elm-row/2026-11-16-swap.md: {record: job, kind: swap, status: planned, title: Unit goes back, units: [{event: removed, serial: \"CP-204117\", circuit: main/1}]}",
    ),
    cure: "Read the serial off the unit again; if it was moved, enter `event: removed` where it was.",
    check: Check::Book(check_serials),
};

const PLACEHOLDER: Rule = Rule {
    id: "serial-is-a-placeholder",
    family: Family::Identity,
    grade: Grade::Tidy,
    title: "A serial is a placeholder",
    looks_at: "Units fitted or seen at finished visits: words that stand for an unknown, runs of digits, and the model's own id. Quiet in drafts and plans, before hand-over.",
    why: "A recall searches by serial and will pass this unit by.",
    sources: &["common practice"],
    bad: Example::Keys(
        "units: [{event: seen, serial: TBC, model: plover-7, circuit: main/2, firmware: \"4.1\", warranty_until: 2029-11-02, supplied_by: us, smart_statement: true}]",
    ),
    good: Example::Keys(
        "units: [{event: seen, serial: \"123456-T\", model: plover-7, circuit: main/2, firmware: \"4.1\", warranty_until: 2029-11-02, supplied_by: us, smart_statement: true}]",
    ),
    cure: "Read it off the rating plate, or leave it out and say in the text why it cannot be read.",
    check: Check::Job(check_placeholders),
};

const ROW_COPIED: Rule = Rule {
    id: "row-copied",
    family: Family::Identity,
    grade: Grade::Doubt,
    title: "Two circuits of one visit have the same readings throughout",
    looks_at: "Circuits of one visit with three readings or more on the scale, all equal, and none that differs. Readings off the scale do not count, nor a calculated Zs, nor the time of an RCD that the two share.",
    why: "Two circuits that agree to the last digit in continuity, loop and time are a row that was copied down.",
    sources: &["common practice: three equal readings is a threshold of this program's own"],
    bad: Example::Keys(
        "circuits: [{id: main/3, use: lighting, serves: light in the garage, new: true, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/3}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 14, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}, readings: {r1_r2_ohm: 0.43, ir_test_v: 500, ir_live_live_mohm: \">999\", ir_live_earth_mohm: \">999\", ir_with_unit: false, polarity: correct, zs_ohm: 0.64, zs_by: measured, zs_mode: no-trip, rcd_ms: 31, rcd_button: works}}]",
    ),
    good: Example::Keys(
        "circuits: [{id: main/3, use: lighting, serves: light in the garage, new: true, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/3}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 14, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}, readings: {r1_r2_ohm: 0.43, ir_test_v: 500, ir_live_live_mohm: \">999\", ir_live_earth_mohm: \">999\", ir_with_unit: false, polarity: correct, zs_ohm: 0.63, zs_by: measured, zs_mode: no-trip, rcd_ms: 28, rcd_button: works}}]",
    ),
    cure: "Measure one of the two again, or say in the answer that both were read.",
    check: Check::Job(check_rows),
};

const COPIED_ACROSS_SITES: Rule = Rule {
    id: "schedule-copied-from-another-site",
    family: Family::Identity,
    grade: Grade::Doubt,
    title: "Readings agree, one after the other, with those of another site",
    looks_at: "Finished visits at different sites: three circuits in a row (all of them where there are fewer) with six readings on the scale or more, or one circuit alone with five, equal in order to the last digit. Calculated Zs and readings off the scale do not count. Told once a visit, against the earliest that has them.",
    why: "Two installations never agree through a whole schedule; one of the two was not measured.",
    sources: &["common practice: five or six equal readings are thresholds of this program's own"],
    bad: Example::Keys(
        "sites/oak-lane/site.md: {record: site, name: a house in Oak Lane, premises: dwelling, storeys: 2, privacy: {share: redacted, photographs: any}, supply: {earthing: TN-C-S, earthing_shown_by: operator-reply, phases: 1, nominal_v: 230, cutout: {standard: BS 88-3, rating_a: 80, shown_by: seen}, service: separate, declared: {ze_ohm: 0.35, ipf_ka: 16}, bonding: [{service: water, mm2: 10, length_m: 8, reading_ohm: 0.03}], tails: {mm2: 25, length_m: 1.2}}, boards: [{id: main, fed_from: origin, standard: BS EN 61439-3, maker: M1, enclosure: metal, main_switch: {rating_a: 100, poles: 2}, spd: {type: \"2\", standard: BS EN 61643-11}, ways: 8, conditional_ka: 16}]}\nsites/oak-lane/2026-11-16-light.md: {record: job, kind: alter, status: complete, title: Light moved, regulations: BS 7671:2018+A4:2026, dates: {designed: 2026-11-10, installed: 2026-11-16, tested: 2026-11-16, energised: 2026-11-16}, people: {designed: jd, built: jd, tested: jd}, instruments: [mft-1], supply: {ze_ohm: 0.18, ze_by: measured, ipf_ka: 1.3, ipf_by: measured, max_demand_a: 40, polarity: correct}, minutes_on_site: 90, circuits: [{id: main/4, serves: light in the hall, use: lighting, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/4}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 14, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}, readings: {r1_r2_ohm: 0.44, ir_test_v: 500, ir_live_live_mohm: 640, ir_live_earth_mohm: 520, ir_with_unit: false, polarity: correct, zs_ohm: 0.62, zs_by: measured, zs_mode: no-trip, rcd_ms: 27, rcd_button: works}}], extent: the light in the hall, papers: [{kind: minor-works-certificate, number: \"LE-0150\", issued: 2026-11-16, given_to: customer, how: email, on: 2026-11-16}]}\nsites/elm-row/2026-11-18-light.md: {record: job, kind: alter, status: complete, title: Light moved, regulations: BS 7671:2018+A4:2026, dates: {designed: 2026-11-10, installed: 2026-11-18, tested: 2026-11-18, energised: 2026-11-18}, people: {designed: jd, built: jd, tested: jd}, instruments: [mft-1], supply: {ze_ohm: 0.19, ze_by: measured, ipf_ka: 1.2, ipf_by: measured, max_demand_a: 57, polarity: correct}, minutes_on_site: 80, circuits: [{id: main/2, readings: {r1_r2_ohm: 0.44, ir_test_v: 500, ir_live_live_mohm: 640, ir_live_earth_mohm: 520, ir_with_unit: false, polarity: correct, zs_ohm: 0.62, zs_by: measured, zs_mode: no-trip, rcd_ms: 27, rcd_button: works}}], extent: the light in the shed, papers: [{kind: minor-works-certificate, number: \"LE-0151\", issued: 2026-11-18, given_to: customer, how: email, on: 2026-11-18}]}",
    ),
    good: Example::Keys("{}"),
    cure: "Find out which of the two was measured, and measure the other.",
    check: Check::Book(check_runs),
};

const COPIED_FROM_LAST_TIME: Rule = Rule {
    id: "readings-same-as-last-time",
    family: Family::Identity,
    grade: Grade::Doubt,
    title: "The readings are those of the last visit, to the last digit",
    looks_at: "A finished visit against the last readings of the same circuits: four or more equal, and at least three in four of all that can be compared. Readings off the scale and a calculated Zs do not count. Quiet within a week, when one job may have been written up twice.",
    why: "Instruments, temperatures and hands differ from year to year; a report that agrees throughout was typed in again.",
    sources: &["common practice: four equal readings is a threshold of this program's own"],
    bad: Example::Keys(LAST_TIME_SAME),
    good: Example::Keys(LAST_TIME_OTHER),
    cure: "Measure again. If the readings are true, say in the answer who took them and with what.",
    check: Check::Job(check_last_time),
};

const SUPPLY_NUMBER: Rule = Rule {
    id: "supply-number-malformed",
    family: Family::Identity,
    grade: Grade::Tidy,
    title: "The supply number (MPAN) cannot be right",
    looks_at: "`mpan` in site.md: thirteen digits, spaces allowed, and the last a check digit over the twelve before it. The check digit's rule is from memory, so that a mismatch is a doubt. Quiet for a number that a handed-over copy marks as withheld.",
    why: "The network operator's form bounces, and the notice with it.",
    sources: &["memory: the MPAN core is 13 digits, its check digit by prime weights modulo 11 modulo 10"],
    bad: Example::Keys("sites/elm-row/site.md: {supply: {mpan: \"200001234\"}}"),
    good: Example::Keys("sites/elm-row/site.md: {supply: {mpan: \"20 0000 1234 560\"}}"),
    cure: "Copy the number from the bill: its bottom line, thirteen digits.",
    check: Check::Site(check_supply_number),
};

const LAST_TIME_SAME: &str = "sites/elm-row/2026-11-18-check.md: {record: job, kind: survey, status: complete, title: Look at the drive, regulations: BS 7671:2018+A4:2026, dates: {tested: 2026-11-18}, people: {tested: jd}, instruments: [mft-1], minutes_on_site: 60, circuits: [{id: main/2, readings: {r1_r2_ohm: 0.43, zs_ohm: 0.64, zs_by: measured, zs_mode: no-trip, rcd_ms: 31, ir_test_v: 500, ir_live_live_mohm: \">999\", ir_live_earth_mohm: 910, ir_with_unit: false, polarity: correct, rcd_button: works}}]}\ncircuits: [{id: main/2, readings: {ir_live_earth_mohm: 910}}]";
const LAST_TIME_OTHER: &str = "sites/elm-row/2026-11-18-check.md: {record: job, kind: survey, status: complete, title: Look at the drive, regulations: BS 7671:2018+A4:2026, dates: {tested: 2026-11-18}, people: {tested: jd}, instruments: [mft-1], minutes_on_site: 60, circuits: [{id: main/2, readings: {r1_r2_ohm: 0.43, zs_ohm: 0.64, zs_by: measured, zs_mode: no-trip, rcd_ms: 29, ir_test_v: 500, ir_live_live_mohm: \">999\", ir_live_earth_mohm: 880, ir_with_unit: false, polarity: correct, rcd_button: works}}]}\ncircuits: [{id: main/2, readings: {ir_live_earth_mohm: 910}}]";

/// A serial without what people write differently: spaces, hyphens, capitals.
pub fn plain_serial(serial: &str) -> String {
    serial.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_uppercase).collect()
}

/// Whether two serials are one.
pub fn same_serial(a: &str, b: &str) -> bool {
    plain_serial(a) == plain_serial(b)
}

/// Words that people write where they do not know a serial.
const STAND_INS: [&str; 16] = [
    "TBC",
    "TBA",
    "TODO",
    "NA",
    "NONE",
    "UNKNOWN",
    "NOTKNOWN",
    "NK",
    "ILLEGIBLE",
    "UNREADABLE",
    "NOTREADABLE",
    "SERIAL",
    "SERIALNUMBER",
    "NOSERIAL",
    "TEST",
    "PENDING",
];

/// Whether a serial stands for one that nobody has read: a word, one character over and over, digits in a row, or the model's own id.
pub fn is_placeholder(serial: &str, model: Option<&str>) -> bool {
    let plain = plain_serial(serial);
    let bytes = plain.as_bytes();
    let all_one = bytes.windows(2).all(|pair| pair[0] == pair[1]);
    let counts = bytes.len() >= 4 && bytes.windows(2).all(|pair| pair[1] == pair[0] + 1) && bytes[0].is_ascii_digit();
    let is_model = model.is_some_and(|model| plain_serial(model) == plain);
    STAND_INS.contains(&plain.as_str()) || all_one || counts || is_model
}

/// The readings of a circuit that chance does not repeat, each with its place in the list and its value to the last digit: on the
/// scale and taken with an instrument.
pub fn readings_on_scale(readings: &Readings) -> impl Iterator<Item = (u8, u64, u8)> {
    let zs = if readings.zs_by == Some(ZsBy::Calculated) { None } else { readings.zs_ohm };
    let all: [Option<Reading>; 12] = [
        readings.r1_r2_ohm,
        readings.r2_ohm,
        readings.ring_r1_ohm,
        readings.ring_rn_ohm,
        readings.ring_r2_ohm,
        readings.ir_live_live_mohm,
        readings.ir_live_earth_mohm,
        zs,
        readings.rcd_ms,
        readings.rcd_5x_ms,
        readings.rcd_dc_ms,
        readings.leakage_ma,
    ];
    let on_scale = all.into_iter().enumerate().filter_map(|(key, reading)| Some((key as u8, reading?)));
    on_scale.filter(|(_, reading)| reading.scale == Scale::On).map(|(key, reading)| (key, reading.value.to_bits(), reading.decimals))
}

/// Places of `rcd_ms` and `rcd_5x_ms` in that list.
const RCD_KEYS: [u8; 2] = [8, 9];

fn check_placeholders(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    for (index, unit) in job.data().units.iter().enumerate().filter(|(_, unit)| unit.event != Some(UnitEvent::Removed)) {
        if let Some(serial) = unit.serial.as_deref().filter(|serial| is_placeholder(serial, unit.model.as_deref())) {
            let message = "this is no serial: a recall will not find the unit";
            report.raise(job.place(path!["units", index, "serial"]), message).subject(serial);
        }
    }
}

/// Equal readings that make a row a copy. A threshold of this program's own.
const ROW_READINGS: usize = 3;

fn check_rows(job: JobView<'_>, report: &mut Report<'_>) {
    let mut seen: HashMap<Vec<(u8, u64, u8)>, CircuitView<'_>> = HashMap::new();
    for circuit in job.circuits() {
        let readings: Vec<_> = readings_on_scale(circuit.readings()).collect();
        if readings.len() < ROW_READINGS {
            continue;
        }
        let count = readings.len();
        let Some(first) = seen.get(&readings).copied() else {
            seen.insert(readings, circuit);
            continue;
        };
        let device = circuit.rcd().and_then(|rcd| rcd.value.device.as_deref());
        let shared = device.is_some() && device == first.rcd().and_then(|rcd| rcd.value.device.as_deref());
        let telling = readings.iter().filter(|(key, _, _)| !(shared && RCD_KEYS.contains(key))).count();
        if telling < ROW_READINGS {
            continue;
        }
        let message = format!("reads as {} does in all {count} readings on the scale", first.id());
        let finding = report.raise(job.place(circuit.path().at("readings")), message);
        finding.subject(circuit.id()).because(job.place(first.path().at("readings")), "the same readings");
    }
}

/// Equal readings that make a visit a copy of the last one. A threshold of this program's own.
const SAME_READINGS: usize = 4;
/// Days within which two records may be of one visit.
const SAME_WORK_DAYS: i32 = 7;

fn check_last_time(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(day) = job.day().filter(|_| job.is_finished()) else { return };
    let (mut equal, mut compared) = (0, 0);
    let mut first: Option<(CircuitView<'_>, CircuitView<'_>)> = None;
    for circuit in job.circuits() {
        let now: Vec<_> = readings_on_scale(circuit.readings()).collect();
        let has_readings = |then: &CircuitView<'_>| readings_on_scale(then.readings()).next().is_some();
        let Some(then) = circuit.previous().find(has_readings).filter(|_| !now.is_empty()) else { continue };
        if then.job.day().is_none_or(|then| day.days_since(then) <= SAME_WORK_DAYS) {
            continue;
        }
        let before: Vec<_> = readings_on_scale(then.readings()).collect();
        let same = now.iter().filter(|reading| before.contains(reading)).count();
        compared += now.iter().filter(|(key, _, _)| before.iter().any(|(other, _, _)| other == key)).count();
        equal += same;
        if same > 0 && first.is_none() {
            first = Some((circuit, then));
        }
    }
    let Some((circuit, then)) = first.filter(|_| equal >= SAME_READINGS && equal * 4 >= compared * 3) else { return };
    let when = then.job.day().map_or(String::new(), |day| format!(" of {day}"));
    let message = format!("{equal} of {compared} readings are those{when} to the last digit");
    let finding = report.raise(job.place(circuit.path().at("readings")), message);
    finding.subject(then.job.id()).because(then.job.place(then.path().at("readings")), "read here");
}

fn check_serials(view: BookView<'_>, report: &mut Report<'_>) {
    let of_sites = view.facts.iter().enumerate();
    let mut places: Vec<(usize, SerialFact)> =
        of_sites.flat_map(|(site, facts)| facts.serials.iter().map(move |fact| (site, *fact))).collect();
    places.sort_unstable_by_key(|(site, fact)| (fact.serial, *site, fact.spot));
    let mut pairs = Vec::new();
    for group in places.chunk_by(|a, b| a.1.serial == b.1.serial) {
        for (later, (site, fact)) in group.iter().enumerate().skip(1) {
            let alike = |(_, other): &&(usize, SerialFact)| fact.model == 0 || other.model == 0 || fact.model == other.model;
            if let Some((other_site, other)) = group[..later].iter().find(alike) {
                pairs.push(((*site, fact.spot), (*other_site, other.spot)));
            }
        }
    }
    pairs.sort_unstable();
    for (here, there) in pairs {
        tell_serial(view, here, there, report);
    }
}

/// Reads the two sites again, so that the finding has their words and a chance meeting of two hashes is not told.
fn tell_serial(view: BookView<'_>, here: (usize, Spot), there: (usize, Spot), report: &mut Report<'_>) {
    let unit_at = |(site, spot): (usize, Spot)| -> Option<Unit> {
        let (records, _) = view.book.read_site(view.book.sites.get(site)?);
        let file = file_of(view.book, site, spot.job);
        let job = records.jobs.iter().find(|job| job.source.path == file)?;
        job.data.units.get(spot.item as usize).cloned()
    };
    let (Some(unit), Some(other)) = (unit_at(here), unit_at(there)) else { return };
    let (Some(serial), Some(other_serial)) = (unit.serial, other.serial) else { return };
    if !same_serial(&serial, &other_serial) {
        return;
    }
    let name = |(site, spot): (usize, Spot), unit: &Option<String>| {
        let file = file_of(view.book, site, spot.job);
        let visit = file.strip_prefix("sites/").and_then(|file| file.strip_suffix(".md")).unwrap_or(file).to_owned();
        unit.as_deref().map_or(visit.clone(), |circuit| format!("{circuit} ({visit})"))
    };
    let place = |(site, spot): (usize, Spot)| {
        Place::in_file_named(file_of(view.book, site, spot.job), path!["units", spot.item as usize, "serial"])
    };
    let message = format!("in place here and at {}", name(there, &other.circuit));
    report.raise(place(here), message).subject(serial).because(place(there), "in place here too");
}

/// A visit, by its site and its place among the site's files.
type Visit = (usize, u32);

fn check_runs(view: BookView<'_>, report: &mut Report<'_>) {
    let of_sites = view.facts.iter().enumerate();
    let mut runs: Vec<(usize, RunFact)> = of_sites.flat_map(|(site, facts)| facts.runs.iter().map(move |fact| (site, *fact))).collect();
    runs.sort_unstable_by_key(|(site, fact)| (fact.readings, *site, fact.spot));
    // By visit and the earlier visit it agrees with: the first run, and how many.
    let mut pairs: BTreeMap<(Visit, Visit), (Spot, Spot)> = BTreeMap::new();
    for group in runs.chunk_by(|a, b| a.1.readings == b.1.readings).filter(|group| group.len() > 1) {
        let mut places = group.to_vec();
        places.sort_by_key(|(site, fact)| (day_in_name(file_of(view.book, *site, fact.spot.job)).to_owned(), *site, fact.spot));
        let Some(((first_site, first), rest)) = places.split_first() else { continue };
        for (site, fact) in rest.iter().filter(|(site, _)| site != first_site) {
            let pair = ((*site, fact.spot.job), (*first_site, first.spot.job));
            let entry = pairs.entry(pair).or_insert((fact.spot, first.spot));
            *entry = (*entry).min((fact.spot, first.spot));
        }
    }
    for (((site, _), (other_site, _)), (spot, other)) in pairs {
        let (file, other_file) = (file_of(view.book, site, spot.job), file_of(view.book, other_site, other.job));
        let visit = other_file.strip_prefix("sites/").and_then(|file| file.strip_suffix(".md")).unwrap_or(other_file);
        let path = |spot: Spot| path!["circuits", spot.item as usize, "readings"];
        let message = "its readings stand here too, one after the other, to the last digit";
        let finding = report.raise(Place::in_file_named(file, path(spot)), message);
        finding.subject(visit).because(Place::in_file_named(other_file, path(other)), "the same readings");
    }
}

/// The day in a visit's file name, which sorts as it stands.
fn day_in_name(file: &str) -> &str {
    file.rsplit('/').next().and_then(|name| name.get(..10)).unwrap_or_default()
}

/// Digits of the MPAN core. From memory.
const MPAN_DIGITS: usize = 13;
/// Weights of its first twelve digits. From memory.
const MPAN_WEIGHTS: [u32; 12] = [3, 5, 7, 13, 17, 19, 23, 29, 31, 37, 41, 43];

fn check_supply_number(site: &SiteView<'_>, report: &mut Report<'_>) {
    let Some(mpan) = site.supply().and_then(|supply| supply.mpan.as_deref()).filter(|mpan| !is_withheld(mpan)) else { return };
    let place = site.place(path!["supply", "mpan"]);
    let digits: Vec<u32> = mpan.chars().filter(|c| !matches!(c, ' ' | '-')).filter_map(|c| c.to_digit(10)).collect();
    let odd = mpan.chars().any(|c| !c.is_ascii_digit() && !matches!(c, ' ' | '-'));
    if odd || digits.len() != MPAN_DIGITS {
        let message = if odd {
            "a supply number holds digits only".to_owned()
        } else {
            format!("a supply number has {MPAN_DIGITS} digits; this has {}", digits.len())
        };
        let finding = report.raise(place, message);
        // The long form on a bill has a top line of eight more.
        if digits.len() == MPAN_DIGITS + 8 {
            finding.help("This is both lines of the bill: only the bottom line, the last thirteen digits, belongs here.");
        }
        return;
    }
    let sum: u32 = digits.iter().zip(MPAN_WEIGHTS).map(|(digit, weight)| digit * weight).sum();
    if digits.last() != Some(&(sum % 11 % 10)) {
        let message = "the supply number's check digit does not fit the twelve digits before it";
        report.raise(place, message).grade(Grade::Doubt).help("Compare it with the bill, digit by digit; two may have changed places.");
    }
}
