//! Readings out of limit: how grave, in what words, and what silences a sum.

use ampledger::finding::{Finding, Grade};

use crate::support::{TestBook, apply};

fn laid(keys: &str) -> TestBook {
    let book = TestBook::sound();
    apply(book.root(), keys);
    book
}

/// What a rule finds in the sound book with these keys laid over it.
fn found(rule: &str, keys: &str) -> Vec<Finding> {
    laid(keys).verdict().findings.into_iter().filter(|finding| finding.rule == rule).collect()
}

fn only(rule: &str, keys: &str) -> Finding {
    let mut found = found(rule, keys);
    assert_eq!(found.len(), 1, "{rule} in {keys}: {:?}", found.iter().map(|finding| &finding.message).collect::<Vec<_>>());
    found.remove(0)
}

const TT: &str = "sites/elm-row/site.md: {supply: {earthing: TT, declared: {ze_ohm: ~}}}\n";

/// A visit that found a circuit and left it locked off.
fn left_isolated(circuit: &str, readings: &str) -> String {
    format!(
        "sites/elm-row/2026-11-20-callout.md:
  record: job
  kind: callout
  status: complete
  regulations: BS 7671:2018+A4:2026
  dates: {{tested: 2026-11-20}}
  circuits: [{{id: {circuit}, readings: {{{readings}}}}}]
  faults: [{{id: f1, circuit: {circuit}, state: open, left: isolated}}]"
    )
}

#[test]
fn each_case_has_the_grade_it_deserves() {
    let d_curve = "circuits: [{id: main/1, ocpd: {curve: D}}]";
    let tt_fails = format!("{TT}circuits: [{{id: main/2, readings: {{rcd_button: fails, rcd_ms: 320}}}}]");
    let tt_undelayed = format!("{TT}circuits: [{{id: main/2, rcd: {{delayed: ~}}, readings: {{rcd_ms: 320}}}}]");
    let tt_slower = format!("{TT}circuits: [{{id: main/2, rcd: {{delayed: ~}}, readings: {{rcd_ms: 520}}}}]");
    let old = "circuits: [{id: main/1, ocpd: {standard: BS 3871, curve: '2', rating_a: 100}}]";
    let ring = |r1: &str, r2: &str| {
        format!(
            "circuits: [{{id: main/2, use: ring, ocpd: {{rating_a: 32}}, readings: {{ring_r1_ohm: {r1}, ring_rn_ohm: 0.37, ring_r2_ohm: {r2}}}}}]"
        )
    };
    let unrated = "sites/elm-row/site.md: {boards: [{id: main, conditional_ka: ~}]}\n";
    let cases: Vec<(&str, String, Grade)> = vec![
        ("zs-over-limit", d_curve.to_owned(), Grade::Danger),
        ("zs-over-limit", left_isolated("main/1", "zs_ohm: 1.20"), Grade::Breach),
        ("zs-over-limit", old.to_owned(), Grade::Doubt),
        (
            "zs-over-limit",
            format!("{TT}circuits: [{{id: main/2, rcd: ~}}]\nsupply: {{electrode_ohm: 90}}\nboards: []")
                .replace("rcd: ~", "rcd: ~, readings: {zs_ohm: 48.6}"),
            Grade::Danger,
        ),
        ("rcd-too-slow", "circuits: [{id: main/2, readings: {rcd_ms: 320}}]".to_owned(), Grade::Breach),
        (
            "rcd-too-slow",
            "circuits: [{id: main/2, rcd: {gives_fault_protection: true}, readings: {rcd_ms: 320}}]".to_owned(),
            Grade::Danger,
        ),
        ("rcd-too-slow", tt_fails.clone(), Grade::Danger),
        ("rcd-too-slow", tt_undelayed, Grade::Breach),
        ("rcd-too-slow", tt_slower, Grade::Danger),
        ("rcd-too-slow", "circuits: [{id: main/2, readings: {rcd_5x_ms: 45}}]".to_owned(), Grade::Doubt),
        (
            "rcd-too-slow",
            "regulations: BS 7671:2018+A1:2020\ncircuits: [{id: main/2, readings: {rcd_5x_ms: 45}}]".to_owned(),
            Grade::Breach,
        ),
        ("rcd-button-fails", "circuits: [{id: main/2, readings: {rcd_button: fails}}]".to_owned(), Grade::Breach),
        ("rcd-button-fails", tt_fails, Grade::Danger),
        ("pilot-check-fails", "circuits: [{id: main/1, readings: {pilot: {error: fails}}}]".to_owned(), Grade::Breach),
        ("pilot-check-fails", "circuits: [{id: main/1, readings: {pilot: {fault: fails}}}]".to_owned(), Grade::Danger),
        ("polarity-reversed", "circuits: [{id: main/2, readings: {polarity: reversed}}]".to_owned(), Grade::Danger),
        ("polarity-reversed", left_isolated("main/2", "polarity: reversed"), Grade::Breach),
        ("ring-open", ring("'>19.99'", "0.60"), Grade::Danger),
        ("ring-open", ring("0.37", "'>19.99'"), Grade::Breach),
        ("fault-current-over-breaking-capacity", format!("{unrated}boards: [{{id: main, ipf_ka: 10.4}}]"), Grade::Danger),
        (
            "fault-current-over-breaking-capacity",
            format!("{unrated}boards: [{{id: main, zdb_ohm: 0.02, ipf_ka: ~}}]\nsupply: {{ipf_ka: ~}}"),
            Grade::Doubt,
        ),
        (
            "fault-current-over-breaking-capacity",
            "sites/elm-row/site.md: {supply: {cutout: ~}}\nboards: [{id: main, ipf_ka: 10.4}]".to_owned(),
            Grade::Doubt,
        ),
        ("electrode-over-limit", format!("{TT}supply: {{electrode_ohm: 1668}}"), Grade::Danger),
        ("tn-ze-over-1-ohm", "supply: {ze_ohm: 48}".to_owned(), Grade::Danger),
        ("ir-under-minimum", "circuits: [{id: main/2, readings: {ir_live_earth_mohm: 0.6}}]".to_owned(), Grade::Breach),
        (
            "bonding-reading-high",
            "sites/elm-row/site.md: {supply: {bonding: [{service: water, reading_ohm: 0.9}]}}".to_owned(),
            Grade::Doubt,
        ),
    ];
    for (rule, keys, grade) in cases {
        assert_eq!(only(rule, &keys).grade, grade, "{rule} in {keys}");
    }
}

#[test]
fn the_words_give_figure_limit_device_and_source() {
    let finding = only("zs-over-limit", "circuits: [{id: main/1, ocpd: {curve: D}}]");
    assert_eq!(finding.message, "Zs 0.34 ohm is over the 0.27 ohm that a D40 to BS EN 61009-1 allows for 0.4 s");
    assert_eq!(finding.label, "measured here");
    assert_eq!(finding.source, "BS 7671:2018+A2:2022 Table 41.3");
    assert_eq!(finding.place.path.to_string(), "/circuits/0/readings/zs_ohm");
    assert_eq!(finding.related[0].place.path.to_string(), "/circuits/0/ocpd/rating_a");
    assert_eq!(finding.related[0].message, "limit from this device");
    assert!(finding.help.contains("It would pass on a B40"), "{}", finding.help);

    let tt = only("zs-over-limit", &format!("{TT}circuits: [{{id: main/2, readings: {{zs_ohm: 1700}}}}]"));
    assert_eq!(tt.message, "Zs 1700 ohm is over the 1667 ohm that a 30 mA RCD allows (50 V / 30 mA)");
    assert_eq!(tt.related[0].place.path.to_string(), "/circuits/1/rcd/trip_ma");

    let fuse =
        only("zs-over-limit", "circuits: [{id: main/1, ocpd: {standard: BS 3036, curve: ~, rating_a: 60}, readings: {zs_ohm: 0.41}}]");
    assert_eq!(fuse.message, "Zs 0.41 ohm is over the 0.40 ohm that a 60 A fuse to BS 3036 allows for 0.4 s");

    let cold = only("zs-over-cold-limit", "circuits: [{id: main/1, readings: {zs_ohm: 1.01}}]");
    assert_eq!(cold.message, "Zs 1.01 ohm read cold is over 0.872 ohm, 0.8 of the 1.09 ohm that a B40 to BS EN 61009-1 allows for 0.4 s");

    let electrode = only("electrode-over-limit", &format!("{TT}supply: {{electrode_ohm: 1840}}"));
    assert_eq!(electrode.message, "electrode 1840 ohm is over the 1667 ohm that the 30 mA RCD of main/1 allows (50 V / 30 mA)");

    let insulation = only("ir-under-minimum", "circuits: [{id: main/2, readings: {ir_live_earth_mohm: 0.6}}]");
    assert_eq!(insulation.message, "insulation live to earth 0.6 Mohm (tested at 500 V) is under the minimum of 1.0 Mohm");

    let ends = only("ring-ends-differ", "circuits: [{id: main/2, readings: {ring_r1_ohm: 0.52, ring_rn_ohm: 0.81}}]");
    assert_eq!(ends.message, "ring line 0.52 and neutral 0.81 ohm end to end are 0.29 ohm apart; within 0.05 ohm is usual. A loose end?");

    let reversed = only("polarity-reversed", "circuits: [{id: main/2, readings: {polarity: reversed}}]");
    assert_eq!(reversed.subject, "main/2");
    assert_eq!(reversed.source, "BS 7671:2018 643.6");

    let fault = only("fault-current-over-breaking-capacity", "boards: [{id: main, ipf_ka: 17.1}]");
    assert!(
        fault.message.contains("17.1 kA at main is over the 10 kA that the device of main/1 and 1 more can break"),
        "{}",
        fault.message
    );
    assert!(fault.help.contains("conditional rating of 16 kA as well"), "{}", fault.help);
}

/// The edition is the visit's own: the same reading passes on the figures of 2013 and fails on those of 2015.
#[test]
fn a_reading_is_judged_by_the_edition_its_visit_cites() {
    let visit = |regulations: &str, day: &str| {
        format!(
            "sites/elm-row/{day}-earlier.md:
  record: job
  kind: alter
  status: complete
  regulations: {regulations}
  dates: {{designed: {day}, tested: {day}}}
  circuits: [{{id: main/9, use: heating, ocpd: {{standard: BS EN 60898, curve: B, rating_a: 32}}, readings: {{zs_ohm: 1.44, zs_by: calculated}}}}]"
        )
    };
    assert!(found("zs-over-limit", &visit("BS 7671:2008+A2:2013", "2014-05-06")).is_empty());
    let late = only("zs-over-limit", &visit("BS 7671:2008+A3:2015", "2016-05-06"));
    assert_eq!(late.source, "BS 7671:2008+A3:2015 Table 41.3");
    // Cited while it was still to come into force, and where nothing is cited, the day decides.
    assert_eq!(found("zs-over-limit", &visit("BS 7671:2008+A3:2015", "2015-06-01")).len(), 1);
    assert!(found("zs-over-limit", &visit("~", "2014-05-06")).is_empty());
    assert_eq!(found("zs-over-limit", &visit("~", "2016-05-06")).len(), 1);
}

/// What cannot be read, or is not there, silences the sums that need it.
#[test]
fn a_missing_or_unreadable_input_is_not_worked_with() {
    let over = "readings: {zs_ohm: 9.99}";
    let quiet = [
        format!("circuits: [{{id: main/1, ocpd: {{rating_a: 40 A}}, {over}}}]"),
        format!("circuits: [{{id: main/1, ocpd: {{rating_a: ~}}, {over}}}]"),
        format!("circuits: [{{id: main/1, ocpd: {{curve: ~}}, {over}}}]"),
        format!("circuits: [{{id: main/1, ocpd: {{standard: ~}}, {over}}}]"),
        format!("circuits: [{{id: main/1, ocpd: ~, {over}}}]"),
        format!("circuits: [{{id: main/1, rcd: {{gives_fault_protection: perhaps}}, {over}}}]"),
        format!("sites/elm-row/site.md: {{supply: {{earthing: ~}}}}\ncircuits: [{{id: main/1, {over}}}]"),
        format!("sites/elm-row/site.md: {{supply: {{nominal_v: 110}}}}\ncircuits: [{{id: main/1, {over}}}]"),
        "circuits: [{id: main/1, readings: {zs_ohm: 9.99 ohm}}]".to_owned(),
    ];
    for keys in &quiet {
        for rule in ["zs-over-limit", "zs-over-cold-limit", "zs-left-to-rcd", "zs-not-judged", "reading-decides-nothing"] {
            assert!(found(rule, keys).is_empty(), "{rule} in {keys}");
        }
    }
    assert!(found("ir-250-without-reason", "circuits: [{id: main/2, readings: {ir_test_v: 250, ir_with_unit: perhaps}}]").is_empty());
    assert!(found("ir-250-without-reason", "circuits: [{id: main/2, readings: {ir_test_v: 250, ir_with_unit: true}}]").is_empty());
    assert!(found("rcd-too-slow", "circuits: [{id: main/2, rcd: {delayed: perhaps}, readings: {rcd_ms: 320}}]").is_empty());
    assert!(found("ze-over-usual", "sites/elm-row/site.md: {supply: {declared: {ze_ohm: about 0.7}}}\nsupply: {ze_ohm: 0.62}").is_empty());
    let cutout = "sites/elm-row/site.md: {supply: {cutout: {rating_a: 80 A}}}\nboards: [{id: main, ipf_ka: 10.4}]";
    assert!(found("fault-current-over-breaking-capacity", cutout).is_empty());
}

/// Where the use is not recorded, only what is over the longest time's limit is over for certain.
#[test]
fn an_unknown_use_is_given_the_longest_time() {
    let with = |zs: &str| format!("circuits: [{{id: main/1, use: other, ocpd: {{curve: D, rating_a: 32}}, readings: {{zs_ohm: {zs}}}}}]");
    assert!(found("zs-over-limit", &with("0.68")).is_empty());
    assert!(only("zs-over-limit", &with("0.69")).message.ends_with("allows for 5 s"));
}

#[test]
fn an_rcd_without_a_record_is_slow_only_beyond_what_any_may_take() {
    let with = |ms: u32| format!("circuits: [{{id: main/2, rcd: ~, readings: {{rcd_ms: {ms}}}}}]");
    assert!(found("rcd-too-slow", &with(500)).is_empty());
    assert!(only("rcd-too-slow", &with(501)).message.contains("any RCD"));
}

#[test]
fn a_danger_is_told_of_a_draft() {
    assert_eq!(only("zs-over-limit", "status: draft\ncircuits: [{id: main/1, ocpd: {curve: D}}]").grade, Grade::Danger);
    assert!(found("ir-under-minimum", "status: draft\ncircuits: [{id: main/2, readings: {ir_live_earth_mohm: 0.6}}]").is_empty());
}

/// A device brought by a later visit is held against the fault current that an earlier visit read, and is the one that is told.
#[test]
fn a_new_device_meets_the_fault_current_read_before_it() {
    let keys = "sites/elm-row/site.md: {boards: [{id: main, conditional_ka: ~}]}
boards: [{id: main, ipf_ka: 7.8}]
sites/elm-row/2026-11-20-alter.md:
  record: job
  kind: alter
  status: complete
  regulations: BS 7671:2018+A4:2026
  dates: {tested: 2026-11-20}
  circuits: [{id: main/3, use: fixed, ocpd: {standard: BS EN 60898, curve: B, rating_a: 16, breaking_ka: 6}}]";
    let finding = only("fault-current-over-breaking-capacity", keys);
    assert_eq!(finding.place.file.path, "sites/elm-row/2026-11-20-alter.md");
    assert_eq!(finding.place.path.to_string(), "/circuits/0/ocpd/breaking_ka");
    assert_eq!(finding.related[0].place.file.path, "sites/elm-row/2026-11-02-shed.md");
    assert_eq!(finding.message, "prospective fault current 7.8 kA at main is over the 6 kA that the device of main/3 can break");
}

/// A sub-board is judged by its own reading, never by the origin's.
#[test]
fn a_sub_board_is_judged_by_its_own_fault_current() {
    let keys = |reading: &str| {
        format!(
            "sites/elm-row/site.md: {{boards: [{{id: main}}, {{id: shed, fed_from: main/3, standard: BS EN 61439-3, conditional_ka: 16}}]}}
supply: {{ipf_ka: 10.9}}
boards: [{{id: main, ipf_ka: 10.4}}{reading}]
circuits: [{{id: main/3, use: sub-main}}, {{id: shed/1, use: fixed, ocpd: {{breaking_ka: 6}}}}]"
        )
    };
    assert!(found("fault-current-over-breaking-capacity", &keys("")).is_empty());
    assert!(found("fault-current-over-breaking-capacity", &keys(", {id: shed, ipf_ka: 6.0}")).is_empty());
    let finding = only("fault-current-over-breaking-capacity", &keys(", {id: shed, ipf_ka: 6.4}"));
    assert_eq!((finding.subject.as_str(), finding.grade), ("shed", Grade::Danger));
}

/// A delayed RCD in front of a sub-board that gives the fault protection gives it to what the sub-board feeds.
#[test]
fn fault_protection_may_stand_upstream() {
    let keys = |appointed: bool| {
        format!(
            "sites/elm-row/site.md: {{boards: [{{id: main}}, {{id: shed, fed_from: main/3}}]}}
circuits:
  - {{id: main/3, use: sub-main, ocpd: {{standard: BS EN 60898, curve: C, rating_a: 63}}, rcd: {{trip_ma: 100, delayed: true, gives_fault_protection: {appointed}}}}}
  - {{id: shed/1, use: heating, ocpd: {{standard: BS EN 60898, curve: B, rating_a: 32}}, readings: {{zs_ohm: 1.70}}}}"
        )
    };
    assert_eq!(found("zs-over-limit", &keys(false)).len(), 1);
    assert!(found("zs-over-limit", &keys(true)).is_empty());
    let asked = only("zs-left-to-rcd", &keys(true));
    assert_eq!((asked.subject.as_str(), asked.grade), ("shed/1", Grade::Doubt));
    assert_eq!(asked.related[0].place.path.to_string(), "/circuits/2/rcd/gives_fault_protection");
}

/// A lost earth that was reported and read again is history; one that nobody reported is not.
#[test]
fn a_reading_at_the_origin_is_settled_only_when_it_was_reported() {
    let keys = |faults: &str| {
        format!(
            "sites/elm-row/2026-11-10-callout.md:
  record: job
  kind: callout
  status: complete
  regulations: BS 7671:2018+A4:2026
  dates: {{tested: 2026-11-10}}
  supply: {{ze_ohm: 48, ze_by: measured}}
  faults: [{faults}]
sites/elm-row/2026-11-12-survey.md:
  record: job
  kind: survey
  status: complete
  regulations: BS 7671:2018+A4:2026
  dates: {{tested: 2026-11-12}}
  supply: {{ze_ohm: 0.20, ze_by: measured}}"
        )
    };
    assert_eq!(found("tn-ze-over-1-ohm", &keys("")).len(), 1);
    assert!(found("tn-ze-over-1-ohm", &keys("{id: f1, found: no earth from the supply, state: open}")).is_empty());
}

/// A later good reading settles only what its own visit had reported.
#[test]
fn a_circuit_reading_is_settled_only_when_it_was_reported() {
    let keys = |place: &str| {
        format!(
            "sites/elm-row/2026-11-10-condition.md:
  record: job
  kind: inspect
  status: complete
  regulations: BS 7671:2018+A4:2026
  dates: {{tested: 2026-11-10}}
  circuits: [{{id: main/2, readings: {{ir_live_earth_mohm: 0.6}}}}]
  observations: [{{id: o1, code: C2, what: low insulation, where: {place}}}]
sites/elm-row/2026-11-12-alter.md:
  record: job
  kind: alter
  status: complete
  regulations: BS 7671:2018+A4:2026
  dates: {{tested: 2026-11-12}}
  circuits: [{{id: main/2, readings: {{ir_live_earth_mohm: 180}}}}]"
        )
    };
    assert!(found("ir-under-minimum", &keys("'main/2, the shed'")).is_empty());
    assert_eq!(found("ir-under-minimum", &keys("main/21")).len(), 1);
    assert_eq!(found("ir-under-minimum", &keys("main")).len(), 1);
}

/// On TT the loop at the origin stands for the electrode where that was not read by itself.
#[test]
fn the_loop_at_the_origin_stands_for_an_electrode_not_read() {
    let keys = |ohm: u32| format!("{TT}supply: {{ze_ohm: {ohm}}}");
    assert!(found("electrode-over-200-ohm", &keys(200)).is_empty());
    assert_eq!(only("electrode-over-200-ohm", &keys(244)).place.path.to_string(), "/supply/ze_ohm");
    assert!(found("electrode-over-limit", &keys(1667)).is_empty());
    assert_eq!(only("electrode-over-limit", &keys(1668)).grade, Grade::Danger);
    assert!(found("electrode-over-200-ohm", &keys(1668)).is_empty());
}

/// An RCD that is said to leave the fault protection to another is held to that other's limit, where there is another; alone it is not
/// believed.
#[test]
fn an_rcd_leaves_the_fault_protection_only_to_another_that_is_there() {
    let keys = |upstream: &str, zs: u32| {
        format!(
            "sites/elm-row/site.md: {{supply: {{earthing: TT, declared: {{ze_ohm: ~}}}}, boards: [{{id: main}}, {{id: shed, fed_from: main/3}}]}}
circuits:
  - {{id: main/3, use: sub-main, ocpd: {{standard: BS EN 60898, curve: C, rating_a: 63}}{upstream}}}
  - {{id: shed/1, use: heating, ocpd: {{standard: BS EN 60898, curve: B, rating_a: 16}}, rcd: {{standard: BS EN 61008-1, type: A, trip_ma: 30, \
             gives_fault_protection: false}}, readings: {{zs_ohm: {zs}}}}}"
        )
    };
    let delayed = ", rcd: {standard: BS EN 61008-1, type: A, trip_ma: 100, delayed: true}";
    let of_shed = |keys: &str| found("zs-over-limit", keys).into_iter().filter(|finding| finding.subject == "shed/1").collect::<Vec<_>>();
    // 50 V / 100 mA is 500 ohm; 50 V / 30 mA is 1667 ohm.
    assert!(of_shed(&keys(delayed, 500)).is_empty());
    assert!(of_shed(&keys(delayed, 501))[0].message.contains("that a 100 mA RCD allows"));
    assert!(of_shed(&keys("", 1667)).is_empty());
    assert!(of_shed(&keys("", 1668))[0].message.contains("that a 30 mA RCD allows"));
}

/// What a feeder loses by itself beyond the limit is told at the feeder, and not again at every circuit behind it.
#[test]
fn a_feeder_that_loses_too_much_is_told_once() {
    let keys = |length: u32| {
        format!(
            "sites/elm-row/site.md: {{boards: [{{id: main}}, {{id: shed, fed_from: main/3}}]}}
circuits:
  - {{id: main/3, use: sub-main, design_a: 20, ocpd: {{standard: BS EN 60898, curve: B, rating_a: 32}}, cable: {{make_up: armoured-90, line_mm2: 6, length_m: {length}, length_by: measured}}}}
  - {{id: shed/1, use: heating, design_a: 13, ocpd: {{standard: BS EN 60898, curve: B, rating_a: 16}}, cable: {{make_up: flat-70, line_mm2: 2.5, length_m: 20, length_by: measured}}}}"
        )
    };
    // 7.9 mV/A/m x 20 A x 72 m = 11.4 V, and 18 x 13 x 20 = 4.7 V; 5 % is 11.5 V.
    assert_eq!(only("volt-drop-over-limit", &keys(72)).subject, "shed/1");
    assert_eq!(only("volt-drop-over-limit", &keys(74)).subject, "main/3");
}
