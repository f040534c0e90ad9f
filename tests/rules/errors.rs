//! The errors that an assessor looks for in a record, each with the rules that find it.

use std::path::PathBuf;

use ampledger::finding::Grade;
use ampledger::rules;

use super::cases;
use crate::support::{TestBook, apply, repository};

/// How grave an error is at its worst.
#[derive(Clone, Copy, PartialEq)]
enum AtWorst {
    /// Somebody may be hurt.
    Danger,
    /// Anything less.
    Less,
}
use AtWorst::{Danger, Less};

/// What the record says wrongly or not at all, how grave it is at its worst, and the rules that find it.
const ERRORS: [(&str, AtWorst, &[&str]); 60] = [
    // Loop, continuity and their arithmetic
    ("the loop at the end of a circuit is lower than at its start", Less, &["zs-under-ze"]),
    ("Zs is lower than the line conductor alone", Less, &["zs-under-r1"]),
    ("Zs is over what the device allows", Danger, &["zs-over-limit", "zs-left-to-rcd"]),
    ("Zs passes the printed table cold and would fail it hot", Less, &["zs-over-cold-limit"]),
    ("the limit of a type B was used for a type C or D", Danger, &["zs-over-limit"]),
    ("R1+R2 does not fit length and size", Less, &["r1-r2-does-not-fit"]),
    ("R1+R2 was made by subtraction", Less, &["r1-r2-by-subtraction"]),
    ("continuity of new work was not proved", Less, &["new-work-test-skipped", "missing-reading"]),
    ("the protective conductor of a ring does not fit its line", Less, &["ring-cpc-does-not-fit"]),
    ("line and neutral of a ring differ", Less, &["ring-ends-differ"]),
    ("the cross-connected reading is no quarter of the ring", Less, &["ring-quarter-does-not-fit"]),
    ("a broken ring stays on its device", Danger, &["ring-open"]),
    ("a bond reads high, is thin or is not described", Less, &["bonding-reading-high", "bond-too-small", "bonding-not-described"]),
    // Insulation
    ("insulation is under the minimum", Less, &["ir-under-minimum"]),
    ("one insulation figure stands everywhere, or beyond the instrument", Less, &["ir-alike-on-every-circuit", "ir-beyond-instrument"]),
    ("insulation is zero or blank beside a pass", Less, &["ir-zero", "missing-reading"]),
    ("insulation was tested at 250 V without a reason", Less, &["ir-250-without-reason"]),
    ("insulation was tested at 500 V with the unit connected", Less, &["ir-500-with-unit-connected"]),
    ("insulation is low for new wiring, or has fallen tenfold", Less, &["ir-low-for-new-wiring", "ir-fallen-tenfold"]),
    // RCDs
    ("an RCD opened in no time", Less, &["rcd-in-no-time"]),
    ("an RCD is too slow, or a delayed one too fast", Danger, &["rcd-too-slow", "rcd-too-fast"]),
    // The key says the test current: `rcd_ms` at 1 x, `rcd_5x_ms` at 5 x. What is left is the test that the edition asks for.
    ("the time at the test current of the edition is not there", Less, &["missing-reading"]),
    ("separate RCDs opened in exactly the same time", Less, &["rcd-times-identical"]),
    ("a charge point is on an RCD of type AC, or of a type not recorded", Danger, &["ev-rcd-type-ac", "rcd-facts-missing"]),
    ("a charge point or sockets are on more than 30 mA", Danger, &["rcd-over-30-ma"]),
    ("nothing detects smooth d.c. at a charge point", Danger, &["ev-dc-not-detected", "ev-facts-missing"]),
    ("the d.c. of charge points blinds an RCD upstream", Less, &["rcd-upstream-blinded"]),
    ("a charge point shares its RCD", Less, &["ev-rcd-shared"]),
    ("two RCDs in a row open together", Less, &["rcds-not-selective"]),
    ("standing leakage is over the RCD's budget", Less, &["leakage-over-rcd-budget"]),
    ("on TT the RCD was not tested", Danger, &["tt-rcd-not-tested", "missing-reading"]),
    // Supply, earthing, fault level and demand
    ("a supply passes for TN-S by its look", Less, &["tn-s-by-look-only", "earthing-not-shown"]),
    ("Ze on a TN supply is no TN reading", Danger, &["tn-ze-over-1-ohm"]),
    ("Ze is over the declared or usual figure", Less, &["ze-over-declared", "ze-over-usual"]),
    ("a Ze said to be measured is the declared figure", Less, &["ze-looks-declared"]),
    ("the fault current does not fit the loop", Less, &["ipf-does-not-fit-ze", "board-beyond-origin"]),
    ("the fault current is over what the device can break", Danger, &["fault-current-over-breaking-capacity"]),
    ("the cut-out fuse is assumed or not known", Less, &["cutout-not-known"]),
    ("the demand is over the cut-out", Danger, &["demand-over-cutout", "demand-without-charging"]),
    ("the network operator was not asked first", Less, &["operator-not-asked", "connected-before-the-answer"]),
    (
        "an electrode is too high, unstable or never measured alone",
        Danger,
        &["electrode-over-limit", "electrode-over-200-ohm", "electrode-not-measured"],
    ),
    // Charging of vehicles
    ("a vehicle is charged on a PME earth with nothing against a broken PEN", Danger, &["open-pen-unprotected"]),
    ("the open-PEN measure is for another number of phases", Less, &["open-pen-cannot-apply"]),
    ("the open-PEN measure is not in the unit's model", Danger, &["open-pen-not-in-model"]),
    (
        "the open-PEN measure has no figure or no document",
        Less,
        &["open-pen-not-evidenced", "open-pen-cannot-apply", "open-pen-voltage-too-high"],
    ),
    ("two earths are within reach of each other, or nobody measured", Danger, &["earths-apart-not-recorded", "earths-within-reach"]),
    ("a 13 A outlet for charging has no EV marking", Less, &["outlet-not-marked"]),
    ("a vehicle is charged on a circuit that it shares", Less, &["charging-shares-circuit"]),
    ("the unit is set over its device or its cable", Danger, &["set-over-device", "device-over-cable"]),
    ("the load limit is over the fuse, or was not proved", Danger, &["load-limit-over-cutout", "load-limit-not-proved"]),
    ("a private charge point has no statement of the smart rules", Less, &["smart-statement-missing"]),
    ("a charging circuit is not labelled", Less, &["ev-circuit-not-labelled"]),
    ("the device may be fed from its wrong side", Danger, &["feed-back-not-provided-for"]),
    // Cable, device and termination
    ("the device is over what the cable carries", Danger, &["device-over-cable"]),
    ("size, make-up or method of the cable is missing", Less, &["cable-facts-missing"]),
    ("the voltage drop is over the limit", Less, &["volt-drop-over-limit"]),
    (
        "a breaker passes for an RCD, or a device is one that is not made",
        Less,
        &["rcd-standard-has-no-residual-element", "device-rating-not-usual", "device-curve-not-made"],
    ),
    ("a board holds devices of another make", Less, &["mixed-makes-in-board"]),
    ("torque or ferrules are not recorded", Less, &["torque-not-recorded"]),
    ("a joint that must be inspected cannot be reached", Less, &["joint-out-of-reach"]),
];

#[test]
fn every_error_an_assessor_looks_for_has_rules_and_each_rule_its_cases() {
    for (error, _, rules) in ERRORS {
        assert!(!rules.is_empty(), "{error}: no rule");
        for rule in rules {
            assert!(rules::by_id(rule).is_some(), "{error}: {rule} is no rule");
            let (fires, quiet) = cases(rule);
            assert!(fires > 0 && quiet > 0, "{error}: {rule} has {fires} cases that fire and {quiet} that are quiet");
        }
    }
}

/// Where an error may hurt somebody, at least one case of its rules says so.
#[test]
fn what_may_hurt_somebody_is_told_as_a_danger() {
    let is_told = |rule: &str| {
        let found = |book: &TestBook| book.verdict().findings.iter().any(|finding| finding.rule == rule && finding.grade == Grade::Danger);
        let fires = |case: PathBuf| {
            let book = TestBook::sound();
            apply(book.root(), &std::fs::read_to_string(case).unwrap());
            found(&book)
        };
        let mut files: Vec<PathBuf> =
            std::fs::read_dir(repository().join("tests/cases").join(rule)).unwrap().map(|entry| entry.unwrap().path()).collect();
        files.sort();
        files.into_iter().filter(|path| path.to_string_lossy().contains("fires-")).any(fires)
            || found(&TestBook::with(&rules::by_id(rule).unwrap().bad))
    };
    let silent: Vec<&str> = ERRORS
        .iter()
        .filter(|(_, worst, rules)| *worst == Danger && !rules.iter().any(|rule| is_told(rule)))
        .map(|(error, _, _)| *error)
        .collect();
    assert!(silent.is_empty(), "told as less than a danger: {silent:?}");
}
