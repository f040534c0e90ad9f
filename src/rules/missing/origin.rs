//! The supply: what must be known of it, and what must be read at it on the day.

use super::super::view::{JobView, SiteView};
use super::super::words::says;
use super::super::{Check, Example, Family, Report, Rule};
use super::{Gaps, has_hole, is_worked_on};
use crate::finding::Grade;
use crate::path;
use crate::record::{Earthing, JobKind, ShownBy, SupplyBy, Use};

pub const SUPPLY_FACTS_MISSING: Rule = Rule {
    id: "supply-facts-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A site has no supply, or nothing says how it is earthed",
    looks_at: "`supply` in `site.md` of every site with finished work or a report: type of earthing and number of phases.",
    why: "Every limit of the loop, the RCD and the charge point's earth turns on the earthing system.",
    sources: &["BS 7671:2018+A2:2022 Reg 312.2 and 313.1 (numbers from memory)", "BS 7671:2018+A2:2022 Appendix 6 (model certificates)"],
    bad: Example::Keys("{sites/elm-row/site.md: {supply: {phases: ~}}}"),
    good: Example::Keys("{sites/elm-row/site.md: {supply: {nominal_v: ~}}}"),
    cure: "Write it in `site.md`: `supply: {earthing: TN-C-S, earthing_shown_by: label, phases: 1, ...}`.",
    check: Check::Site(check_supply),
};

pub const EARTHING_NOT_SHOWN: Rule = Rule {
    id: "earthing-not-shown",
    family: Family::Missing,
    grade: Grade::Doubt,
    title: "Nothing shows how the earthing system is known",
    looks_at: "`earthing_shown_by` of a site with finished work or a report: missing, or `assumed`. A breach where a TN-S earth serves a charge point.",
    why: "A supply that looks like TN-S is often PME farther up the street, and the earth of a charge point turns on it.",
    sources: &["BS 7671:2018+A2:2022 Reg 722.411.4.1", "common practice: taken as PME unless the network operator confirms"],
    bad: Example::Keys("{sites/elm-row/site.md: {supply: {earthing_shown_by: ~}}}"),
    good: Example::Keys("{sites/elm-row/site.md: {supply: {earthing_shown_by: label}}}"),
    cure: "Look for the label, or ask the network operator, and write `earthing_shown_by`.",
    check: Check::Site(check_earthing),
};

pub const CUTOUT_NOT_KNOWN: Rule = Rule {
    id: "cutout-not-known",
    family: Family::Missing,
    grade: Grade::Doubt,
    title: "The cut-out fuse is not recorded, or only assumed",
    looks_at: "`supply.cutout` of a site with finished work or a report: rating and how it is known.",
    why: "A carrier marked 100 can hold a 60 A link. An unknown fuse is a reason to ask the network operator before load is added.",
    sources: &["network operators' conditions for connecting charge points: cut-out rating unknown means ask first", "common practice"],
    bad: Example::Keys("{sites/elm-row/site.md: {supply: {cutout: {shown_by: assumed}}}}"),
    good: Example::Keys("{sites/elm-row/site.md: {supply: {cutout: {shown_by: operator-reply}}}}"),
    cure: "Write what was seen or told: `cutout: {standard, rating_a, shown_by}`. Seals stay as they are; the network operator can say.",
    check: Check::Site(check_cutout),
};

pub const BONDING_NOT_DESCRIBED: Rule = Rule {
    id: "bonding-not-described",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "Main bonding is not described",
    looks_at: "`supply.bonding` of a site with finished work or a report: service, size and reading of each conductor. No entry at all is only asked about: \
               there may be nothing to bond.",
    why: "\"Bonding: yes\" proves nothing; the next person needs the service, the size and a reading.",
    sources: &["BS 7671:2018+A2:2022 Reg 411.3.1.2 and 643.2.1"],
    bad: Example::Keys("{sites/elm-row/site.md: {supply: {bonding: [{service: water, mm2: 10, length_m: 8}]}}}"),
    good: Example::Keys("{sites/elm-row/site.md: {supply: {bonding: [{service: water, mm2: 10, reading_ohm: 0.02}]}}}"),
    cure: "Write `{service, mm2, reading_ohm}` for each; answer this finding where there is nothing to bond.",
    check: Check::Site(check_bonding),
};

pub const BOARD_FACTS_MISSING: Rule = Rule {
    id: "board-facts-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A board is not described",
    looks_at: "`boards` of `site.md` of a site with finished work or a report: id, what feeds it, and the rating of its main switch.",
    why: "Circuits are named by their board, and its loop and fault current come from what feeds it.",
    sources: &["BS 7671:2018+A2:2022 Appendix 6 (schedule of circuit details)", "record format, version 1"],
    bad: Example::Keys("{sites/elm-row/site.md: {boards: [{id: main, main_switch: ~}]}}"),
    good: Example::Keys("{sites/elm-row/site.md: {boards: [{id: main, enclosure: metal}]}}"),
    cure: "Write `{id, fed_from, main_switch: {rating_a, poles}}` for each board.",
    check: Check::Site(check_boards),
};

pub const ORIGIN_READING_MISSING: Rule = Rule {
    id: "origin-reading-missing",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "A reading at the origin is not there",
    looks_at: "Visits that made new circuits and condition reports: Ze, Ipf, how each was obtained, and polarity of the supply. Not Ze on TT, \
               where the electrode is asked for. Only asked about at a report with a limitation and its reason.",
    why: "Every Zs is judged from Ze up, every device's breaking capacity against Ipf.",
    sources: &[
        "BS 7671:2018+A2:2022 Reg 643.7.3 and Appendix 6 (model certificates)",
        "BS 7671:2018+A2:2022 Reg 313.1 (number from memory)",
    ],
    bad: Example::Keys("supply: {ipf_ka: ~, ipf_by: ~}"),
    good: Example::Keys("supply: {ze_by: enquiry, ze_ohm: 0.35}"),
    cure: "Measure it at the origin, or ask the network operator, and write it with `ze_by` or `ipf_by`.",
    check: Check::Job(check_origin),
};

pub const ELECTRODE_NOT_MEASURED: Rule = Rule {
    id: "electrode-not-measured",
    family: Family::Missing,
    grade: Grade::Breach,
    title: "The earth electrode was not measured, or nothing says how",
    looks_at: "Visits to a TT site that made new circuits, and condition reports of one: `electrode_ohm` \
               and `electrode_by`. Quiet where Ze was measured: the loop may stand for the electrode.",
    why: "A rod corrodes and ground dries out; the RCD can only see a fault while the electrode is good.",
    sources: &[
        "BS 7671:2018+A2:2022 Reg 643.7.2 (that the loop may stand for the electrode: from memory)",
        "BS 7671:2008 to +A3:2015 Section 612",
    ],
    bad: Example::Keys(
        "{sites/elm-row/site.md: {supply: {earthing: TT, electrode: {kind: rod, where: by the gate}}}, supply: {ze_ohm: ~, ze_by: ~}, circuits: [{id: main/1, ev: {open_pen: tt}, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 62.1}}, {id: main/2, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 62.4}}]}",
    ),
    good: Example::Keys(
        "{sites/elm-row/site.md: {supply: {earthing: TT, electrode: {kind: rod, where: by the gate}}}, supply: {ze_ohm: 62}, circuits: [{id: main/1, ev: {open_pen: tt}, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 62.1}}, {id: main/2, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 62.4}}]}",
    ),
    cure: "Measure the electrode alone, disconnected, with the supply off, and write `electrode_ohm` and `electrode_by`.",
    check: Check::Job(check_electrode),
};

pub const BOARD_READING_MISSING: Rule = Rule {
    id: "board-reading-missing",
    family: Family::Missing,
    grade: Grade::Doubt,
    title: "A board away from the origin has no loop or fault current",
    looks_at: "Boards not fed from the origin, at visits that made new circuits on them or reported on them: `zdb_ohm` and `ipf_ka`.",
    why: "The devices in that board are judged by what reaches it, not by what reaches the origin.",
    sources: &["BS 7671:2018+A2:2022 Appendix 6, schedule of test results (from memory)"],
    bad: Example::Keys(
        "{sites/elm-row/site.md: {boards: [{id: shed, fed_from: main/3, standard: BS EN 61439-3, maker: M1, enclosure: metal, main_switch: {rating_a: 63, poles: 2}, ways: 1, conditional_ka: 16}]}, circuits: [{id: main/3, use: sub-main, new: true, serves: shed, design_a: 10, ocpd: {standard: BS EN 60898, curve: B, rating_a: 32, breaking_ka: 10, poles: 1, maker: M1}, cable: {make_up: armoured-90, cores: 3, line_mm2: 6, cpc_mm2: 6, cpc: core, length_m: 12, length_by: measured, method: D}, readings: {r1_r2_ohm: 0.07, ir_test_v: 500, ir_live_live_mohm: 720, ir_live_earth_mohm: 640, polarity: correct, zs_ohm: 0.28, zs_by: measured, zs_mode: high-current}}, {id: shed/1, use: lighting, new: true, serves: shed lights, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, device: shed/1}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 5, length_by: measured, method: C}, readings: {r1_r2_ohm: 0.16, ir_test_v: 500, ir_live_live_mohm: 810, ir_live_earth_mohm: 760, polarity: correct, zs_ohm: 0.45, zs_by: measured, zs_mode: no-trip, rcd_ms: 27, rcd_button: works}}]}",
    ),
    good: Example::Keys(
        "{sites/elm-row/site.md: {boards: [{id: shed, fed_from: main/3, standard: BS EN 61439-3, maker: M1, enclosure: metal, main_switch: {rating_a: 63, poles: 2}, ways: 1, conditional_ka: 16}]}, boards: [{id: shed, zdb_ohm: 0.28, ipf_ka: 0.83}], circuits: [{id: main/3, use: sub-main, new: true, serves: shed, design_a: 10, ocpd: {standard: BS EN 60898, curve: B, rating_a: 32, breaking_ka: 10, poles: 1, maker: M1}, cable: {make_up: armoured-90, cores: 3, line_mm2: 6, cpc_mm2: 6, cpc: core, length_m: 12, length_by: measured, method: D}, readings: {r1_r2_ohm: 0.07, ir_test_v: 500, ir_live_live_mohm: 720, ir_live_earth_mohm: 640, polarity: correct, zs_ohm: 0.28, zs_by: measured, zs_mode: high-current}}, {id: shed/1, use: lighting, new: true, serves: shed lights, design_a: 1, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6, breaking_ka: 10, poles: 1, maker: M1}, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, device: shed/1}, cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 5, length_by: measured, method: C}, readings: {r1_r2_ohm: 0.16, ir_test_v: 500, ir_live_live_mohm: 810, ir_live_earth_mohm: 760, polarity: correct, zs_ohm: 0.45, zs_by: measured, zs_mode: no-trip, rcd_ms: 27, rcd_button: works}}]}",
    ),
    cure: "Write it under `boards` of the visit: `{id, zdb_ohm, ipf_ka}`.",
    check: Check::Job(check_board_readings),
};

/// Whether a visit owes readings at the origin.
fn owes_origin(job: JobView<'_>) -> bool {
    let new_work = !job.is_kind(&[JobKind::Survey]) && job.data().circuits.iter().any(|circuit| circuit.new == Some(true));
    job.is_finished() && (new_work || job.is_kind(&[JobKind::Install, JobKind::Inspect]))
}

fn check_supply(site: &SiteView<'_>, report: &mut Report<'_>) {
    let Some(record) = site.record().filter(|_| is_worked_on(site)) else { return };
    let Some(supply) = &record.data.supply else {
        if !has_hole(record, &path!["supply"]) {
            report.raise(site.place(path!["supply"]), "site.md has no supply: nothing at this site can be judged against a limit");
        }
        return;
    };
    let mut gaps = Gaps::of(record);
    gaps.need(supply.earthing.is_some(), path!["supply", "earthing"], "the type of earthing");
    gaps.need(supply.phases.is_some(), path!["supply", "phases"], "the number of phases");
    gaps.raise(report, "BS 7671:2018+A2:2022 Appendix 6", |list| format!("{list} missing from the supply of this site"));
}

fn check_earthing(site: &SiteView<'_>, report: &mut Report<'_>) {
    let (Some(record), Some(supply)) = (site.record(), site.supply()) else { return };
    let Some(earthing) = supply.earthing.filter(|_| is_worked_on(site)) else { return };
    let path = path!["supply", "earthing_shown_by"];
    let assumed = supply.earthing_shown_by == Some(ShownBy::Assumed);
    if has_hole(record, &path) || (supply.earthing_shown_by.is_some() && !assumed) {
        return;
    }
    let charge_point =
        site.jobs().filter(|job| job.is_finished()).flat_map(|job| job.circuits()).find(|circuit| circuit.usage() == Some(Use::Ev));
    let message = match assumed {
        true => format!("the earthing is given as {earthing}, and that was only assumed"),
        false => format!("the earthing is given as {earthing}, and nothing says how that is known"),
    };
    let finding = report.raise(site.place(path), message);
    if let Some(circuit) = charge_point.filter(|_| earthing == Earthing::TnS) {
        finding.grade(Grade::Breach).source("BS 7671:2018+A2:2022 Reg 722.411.4.1");
        finding.help("Treat it as PME until the network operator confirms TN-S, and write `earthing_shown_by: operator-reply`.");
        finding.because(circuit.place_of("ev"), "a charge point is earthed by it");
    }
}

fn check_cutout(site: &SiteView<'_>, report: &mut Report<'_>) {
    let (Some(record), Some(supply)) = (site.record(), site.supply()) else { return };
    if !is_worked_on(site) {
        return;
    }
    let cutout = supply.cutout.as_ref();
    let shown_by = cutout.and_then(|cutout| cutout.shown_by);
    if shown_by == Some(ShownBy::Assumed) {
        let rating = cutout.and_then(|cutout| cutout.rating_a).map_or(String::new(), |rating| format!(" of {rating} A"));
        report.raise(site.place(path!["supply", "cutout", "shown_by"]), format!("the cut-out fuse{rating} is only assumed"));
        return;
    }
    let mut gaps = Gaps::of(record);
    gaps.need(cutout.is_some_and(|cutout| cutout.rating_a.is_some()), path!["supply", "cutout", "rating_a"], "its rating");
    gaps.need(shown_by.is_some(), path!["supply", "cutout", "shown_by"], "how it is known");
    gaps.raise(report, "common practice", |list| format!("of the cut-out fuse, {list} not recorded"));
}

fn check_bonding(site: &SiteView<'_>, report: &mut Report<'_>) {
    let (Some(record), Some(supply)) = (site.record(), site.supply()) else { return };
    if !is_worked_on(site) {
        return;
    }
    if supply.bonding.is_empty() {
        if !has_hole(record, &path!["supply", "bonding"]) {
            let finding = report.raise(site.place(path!["supply", "bonding"]), "no main bonding is recorded: is there nothing to bond?");
            finding.grade(Grade::Doubt);
        }
        return;
    }
    for (index, bond) in supply.bonding.iter().enumerate() {
        let at = |key: &'static str| path!["supply", "bonding", index, key];
        let mut gaps = Gaps::of(record);
        gaps.need(bond.service.is_some(), at("service"), "service");
        gaps.need(bond.mm2.is_some(), at("mm2"), "size");
        gaps.need(bond.reading_ohm.is_some(), at("reading_ohm"), "reading");
        let source = "BS 7671:2018+A2:2022 Reg 411.3.1.2 and 643.2.1";
        if let Some(finding) = gaps.raise(report, source, |list| format!("of this main bonding conductor, {list} missing")) {
            finding.subject(bond.service.map_or("", |service| service.as_str()));
        }
    }
}

fn check_boards(site: &SiteView<'_>, report: &mut Report<'_>) {
    let Some(record) = site.record().filter(|_| is_worked_on(site)) else { return };
    for (index, board) in record.data.boards.iter().enumerate() {
        let mut gaps = Gaps::of(record);
        gaps.need(says(&board.id), path!["boards", index, "id"], "id");
        gaps.need(says(&board.fed_from), path!["boards", index, "fed_from"], "what feeds it");
        let rating = board.main_switch.as_ref().is_some_and(|switch| switch.rating_a.is_some());
        gaps.need(rating, path!["boards", index, "main_switch", "rating_a"], "the rating of its main switch");
        if let Some(finding) = gaps.raise(report, "BS 7671:2018+A2:2022 Appendix 6", |list| format!("of this board, {list} missing")) {
            finding.subject(board.id.as_deref().unwrap_or_default());
        }
    }
}

fn check_origin(job: JobView<'_>, report: &mut Report<'_>) {
    if !owes_origin(job) {
        return;
    }
    let supply = job.data().supply.as_ref();
    let is_tt = job.site.earthing() == Some(Earthing::Tt);
    let has = |part: fn(&crate::record::JobSupply) -> bool| supply.is_some_and(part);
    let mut gaps = Gaps::of(job.record);
    let ze = has(|supply| supply.ze_ohm.is_some());
    gaps.need(ze || is_tt, path!["supply", "ze_ohm"], "Ze");
    if ze {
        gaps.need(has(|supply| supply.ze_by.is_some()), path!["supply", "ze_by"], "how Ze was obtained");
    }
    let ipf = has(|supply| supply.ipf_ka.is_some());
    gaps.need(ipf, path!["supply", "ipf_ka"], "Ipf");
    if ipf {
        gaps.need(has(|supply| supply.ipf_by.is_some()), path!["supply", "ipf_by"], "how Ipf was obtained");
    }
    gaps.need(has(|supply| supply.polarity.is_some()), path!["supply", "polarity"], "polarity of the supply");
    let source = "BS 7671:2018+A2:2022 Reg 643.7.3 and Appendix 6";
    let finding = gaps.raise(report, source, |list| format!("at the origin, {list} missing"));
    // A limitation is in words; whether it covers the origin is for its reader to say.
    let limitation = job.data().limitations.iter().position(|limit| says(&limit.why)).filter(|_| job.is_kind(&[JobKind::Inspect]));
    if let (Some(finding), Some(index)) = (finding, limitation) {
        finding.grade(Grade::Doubt).because(job.place(path!["limitations", index]), "does this limitation cover the origin?");
    }
}

fn check_electrode(job: JobView<'_>, report: &mut Report<'_>) {
    if !owes_origin(job) || job.site.earthing() != Some(Earthing::Tt) {
        return;
    }
    let supply = job.data().supply.as_ref();
    let measured = supply.is_some_and(|supply| supply.electrode_ohm.is_some());
    let by_loop = supply.is_some_and(|supply| supply.ze_ohm.is_some() && supply.ze_by.is_none_or(|by| by == SupplyBy::Measured));
    if by_loop && !measured {
        return;
    }
    let mut gaps = Gaps::of(job.record);
    gaps.need(measured, path!["supply", "electrode_ohm"], "the resistance");
    gaps.need(supply.is_some_and(|supply| supply.electrode_by.is_some()), path!["supply", "electrode_by"], "how it was measured");
    let source = "BS 7671:2018+A2:2022 Reg 643.7.2";
    if let Some(finding) = gaps.raise(report, source, |list| format!("of the earth electrode, {list} not recorded")) {
        if measured {
            finding.grade(Grade::Doubt);
        }
        finding.because(job.site.place(path!["supply", "earthing"]), "TT: the electrode is the only earth");
    }
}

fn check_board_readings(job: JobView<'_>, report: &mut Report<'_>) {
    if !owes_origin(job) {
        return;
    }
    for board in job.site.site().iter().flat_map(|site| &site.boards) {
        let (Some(id), Some(from)) = (board.id.as_deref(), board.fed_from.as_deref()) else { continue };
        let in_use = |usage: Option<Use>| usage != Some(Use::Spare);
        let of_report = job.is_kind(&[JobKind::Inspect]);
        let touched = job.circuits().any(|circuit| circuit.board_id() == id && in_use(circuit.usage()) && (circuit.is_new() || of_report));
        if from == "origin" || !touched {
            continue;
        }
        let entry = job.data().boards.iter().enumerate().find(|(_, reading)| reading.id.as_deref() == Some(id));
        let source = "BS 7671:2018+A2:2022 Appendix 6, schedule of test results (from memory)";
        let mut gaps = Gaps::of(job.record);
        let at = |key: &'static str| entry.map_or(path!["boards"], |(index, _)| path!["boards", index, key]);
        gaps.need(entry.is_some_and(|(_, reading)| reading.zdb_ohm.is_some()), at("zdb_ohm"), "loop (zdb_ohm)");
        gaps.need(entry.is_some_and(|(_, reading)| reading.ipf_ka.is_some()), at("ipf_ka"), "fault current (ipf_ka)");
        if let Some(finding) = gaps.raise(report, source, |list| format!("this board is fed from {from}, and of its own {list} missing")) {
            finding.subject(id);
        }
    }
}
