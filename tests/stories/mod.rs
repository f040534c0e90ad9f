//! Stories over several visits: which visit has the last word on a fault, on an observation, on the next inspection.
//!
//! Each is told to the whole program; only what the two families say of it is compared, since an old visit has other gaps as well.

use ampledger::rules::{self, Family};

use crate::support::{TestBook, apply};

/// `grade rule subject`, worst first, of what the families of inspections and faults say of an overlay.
fn told(overlay: &str) -> Vec<String> {
    findings(overlay).into_iter().map(|(head, _)| head).collect()
}

/// The same, each with its message.
fn findings(overlay: &str) -> Vec<(String, String)> {
    let book = TestBook::sound();
    apply(book.root(), overlay);
    let verdict = book.verdict();
    let ours = verdict.findings.iter().filter(|finding| {
        let family = rules::by_id(finding.rule).map(|rule| rule.family);
        matches!(family, Some(Family::Inspections | Family::Faults))
    });
    let head =
        |finding: &ampledger::finding::Finding| format!("{} {} {}", finding.grade, finding.rule, finding.subject).trim_end().to_owned();
    ours.map(|finding| (head(finding), finding.message.clone())).collect()
}

/// The sound book without its visit, as premises of a kind, with these visits instead; each is its id, its kind and more keys.
fn place(premises: &str, visits: &[(&str, &str, &str)]) -> String {
    let mut overlay = format!("sites/elm-row/2026-11-02-shed.md: ~\nsites/elm-row/site.md: {{premises: {premises}}}\n");
    overlay.extend(visits.iter().map(|(id, kind, keys)| visit(id, kind, keys)));
    overlay
}

/// A finished visit as one more file.
fn visit(id: &str, kind: &str, keys: &str) -> String {
    let day = &id[..10];
    let status = if keys.contains("status:") { "" } else { "status: complete, " };
    format!("sites/elm-row/{id}.md: {{record: job, kind: {kind}, {status}title: A visit, dates: {{tested: {day}}}, {keys}}}\n")
}

const NOTHING: [&str; 0] = [];

#[test]
fn without_a_date_the_law_or_else_guidance_sets_the_day() {
    let undated = [("2021-06-01-condition", "inspect", "outcome: satisfactory")];
    assert_eq!(told(&place("dwelling-let", &undated)), ["breach reinspection-overdue"]);
    assert_eq!(told(&place("shop", &undated)), ["doubt reinspection-overdue"]);
    // Ten years for a home lived in by its owner are not over, so the missing date is what is told; nothing is known of other premises.
    assert_eq!(told(&place("dwelling", &undated)), ["breach next-inspection-missing"]);
    assert_eq!(told(&place("other", &undated)), ["breach next-inspection-missing"]);
    let (_, message) = &findings(&place("dwelling-let", &undated))[0];
    assert!(message.contains("overdue since 2026-06-01 (177 days)") && message.contains("law for a let home"), "{message}");
    let (_, message) = &findings(&place("shop", &undated))[0];
    assert!(message.contains("guidance for a shop"), "{message}");
}

#[test]
fn the_law_comes_before_a_later_date_on_the_paper() {
    let report = |day: &str, next: &str| told(&place("dwelling-let", &[(day, "inspect", &format!("next_inspection: {next}"))]));
    // The law bound every tenancy in England from 1 April 2021, and new ones from 1 July 2020.
    assert_eq!(report("2021-04-02-condition", "2031-04-02"), ["breach next-inspection-too-far", "breach reinspection-overdue"]);
    assert_eq!(report("2020-10-01-condition", "2030-10-01"), ["breach reinspection-overdue", "doubt next-inspection-too-far"]);
    // Before that there was guidance only; today's law still counts five years from that report.
    assert_eq!(report("2018-10-01-condition", "2028-10-01"), ["breach reinspection-overdue", "doubt next-inspection-too-far"]);
    assert_eq!(report("2024-10-01-condition", "2029-10-01"), NOTHING);
}

#[test]
fn the_newest_visit_that_counts_sets_the_day() {
    let old = ("2016-06-01-condition", "inspect", "next_inspection: 2026-06-01");
    let circuit = "circuits: [{id: main/3, use: sockets, new: true}]";
    let after = |id: &str, kind: &str, keys: &str| told(&place("dwelling", &[old, (id, kind, keys)]));
    assert_eq!(told(&place("dwelling", &[old])), ["breach reinspection-overdue"]);
    assert_eq!(after("2025-05-01-condition", "inspect", "next_inspection: 2035-05-01"), NOTHING);
    // A circuit of its own does not put the whole off; a rewire does.
    let overdue = ["breach reinspection-overdue"];
    let wired = format!("{circuit}, next_inspection: 2035-05-01");
    let known = ("2016-06-01-condition", "inspect", "next_inspection: 2026-06-01, circuits: [{id: main/1, use: lighting}]");
    assert_eq!(told(&place("dwelling", &[known, ("2025-05-01-sockets", "install", &wired)])), overdue);
    let rewired = format!("{wired}, extent: whole installation");
    assert_eq!(told(&place("dwelling", &[known, ("2025-05-01-rewire", "install", &rewired)])), NOTHING);
    // An alteration or a callout without a date changes nothing, and neither does a report that is not finished.
    assert_eq!(after("2025-05-01-socket", "alter", ""), overdue);
    assert_eq!(after("2026-07-01-condition", "inspect", "status: planned"), overdue);
    assert_eq!(after("2026-07-01-condition", "inspect", "status: draft, next_inspection: 2036-07-01"), overdue);
    // An earlier date for a part brings the day forward.
    let recent = ("2022-06-01-condition", "inspect", "next_inspection: 2032-06-01");
    assert_eq!(told(&place("dwelling", &[recent, ("2024-05-01-heater", "alter", "next_inspection: 2026-05-01")])), overdue);
}

#[test]
fn a_date_that_cannot_be_meant_or_read_is_told_once() {
    let report = |next: &str| told(&place("dwelling", &[("2016-06-01-condition", "inspect", &format!("next_inspection: {next}"))]));
    assert_eq!(report("2016-06-01"), ["breach next-inspection-not-after-test"]);
    assert_eq!(report("2015-06-01"), ["breach next-inspection-not-after-test"]);
    assert_eq!(report("June 2026"), NOTHING, "the form of the date is told by another family");
}

#[test]
fn the_landlords_clock_runs_28_days() {
    let report = |premises: &str, keys: &str| {
        let keys =
            format!("outcome: unsatisfactory, next_inspection: 2031-09-08, observations: [{{id: o1, code: C2, what: loose bond{keys}}}]");
        findings(&place(premises, &[("2026-09-08-condition", "inspect", &keys)]))
    };
    let one = |found: Vec<(String, String)>, head: &str, words: &str| {
        assert_eq!(found.iter().map(|(head, _)| head.as_str()).collect::<Vec<_>>(), [head]);
        assert!(found[0].1.contains(words), "{found:?}");
    };
    one(report("dwelling-let", ""), "breach observation-past-due o1", "due 2026-10-06 (50 days ago)");
    // A later date on the report does not help; an earlier one counts.
    one(report("dwelling-let", ", due: 2027-01-31"), "breach observation-past-due o1", "due 2026-10-06");
    one(report("dwelling-let", ", due: 2026-09-22"), "breach observation-past-due o1", "due 2026-09-22");
    one(report("shop", ""), "doubt observation-past-due o1", "28 days were over on 2026-10-06");
    assert_eq!(report("shop", ", due: 2027-01-31"), []);
    assert_eq!(report("dwelling-let", ", cleared_by: 2026-09-08-condition"), []);
    let keys = "next_inspection: 2031-09-08, observations: [{id: o1, code: C2, what: loose bond}]";
    let again = ("2026-11-10-condition", "inspect", "outcome: satisfactory, next_inspection: 2031-11-10");
    assert_eq!(told(&place("dwelling-let", &[("2026-09-08-condition", "inspect", keys), again])), NOTHING);
    let overlay = place("dwelling-let", &[("2026-09-08-condition", "inspect", keys)]).replace("premises:", "nation: scotland, premises:");
    assert_eq!(told(&overlay), ["doubt observation-past-due o1"], "the 28 days are England's");
}

#[test]
fn further_investigation_and_satisfactory_depend_on_the_edition() {
    let report = |edition: &str| {
        let keys = format!(
            "regulations: BS 7671:2018+{edition}, outcome: satisfactory, next_inspection: 2031-11-10, observations: [{{id: o1, code: FI, what: joint not seen}}]"
        );
        told(&place("shop", &[("2026-11-10-condition", "inspect", &keys)]))
    };
    assert_eq!(report("A3:2024"), ["breach satisfactory-with-open-code o1"]);
    assert_eq!(report("A4:2026"), ["doubt satisfactory-with-open-code o1"]);
}

/// A fault that sparked, left live with a word at the door.
const SPARKING: &str = "id: f1, reported: 2026-09-01, symptom: spark, found: terminal loose, cause: termination, circuit: main/1, code: C2, advice: {words: leave it off, how: verbal, on: 2026-09-01}";

/// The same, put in writing and acknowledged.
const ADVISED: &str = "advice: {words: leave it off, how: written, on: 2026-10-01, acknowledged: true}";

#[test]
fn the_last_entry_of_a_fault_decides_and_remembers_the_first_day() {
    let first = format!("faults: [{{{SPARKING}, state: open, left: live}}]");
    let again = |keys: &str| format!("continues: 2026-09-01-callout, faults: [{{{SPARKING}, repeats: 2026-09-01-callout#f1, {keys}}}]");
    let story = |keys: &str| {
        let second = again(keys);
        findings(&place("dwelling", &[("2026-09-01-callout", "callout", &first), ("2026-10-01-callout", "callout", &second)]))
    };
    let dangers = |found: Vec<(String, String)>| -> Vec<(String, String)> {
        found.into_iter().filter(|(head, _)| head.starts_with("danger")).collect()
    };
    let live = dangers(story("state: open, left: live, return_by: 2026-12-01"));
    assert_eq!(live.len(), 1, "{live:?}");
    assert_eq!(live[0].1, "left live since 2026-09-01 with verbal advice only (C2, spark, 85 days)");
    let safe = "made_safe: {how: locked off at main/1, notice: true, told: owner, on: 2026-10-01}";
    assert_eq!(dangers(story(&format!("state: open, left: isolated, {safe}, return_by: 2026-12-01"))), []);
    assert_eq!(dangers(story("state: fixed, left: live, fixed_by: 2026-10-01-callout")), []);
    // An entry in a draft closes nothing, and a fix that is only planned has fixed nothing.
    let draft = format!("status: draft, {}", again("state: fixed, left: live, fixed_by: 2026-10-01-callout"));
    let drafted = place("dwelling", &[("2026-09-01-callout", "callout", &first), ("2026-10-01-callout", "callout", &draft)]);
    assert_eq!(dangers(findings(&drafted)).len(), 1);
    let planned = format!("faults: [{{{SPARKING}, state: fixed, left: live, fixed_by: 2026-12-01-alter}}]");
    let planned = place("dwelling", &[("2026-09-01-callout", "callout", &planned), ("2026-12-01-alter", "alter", "status: planned")]);
    assert_eq!(dangers(findings(&planned)).len(), 1);
}

#[test]
fn a_word_that_cannot_be_read_does_not_silence_a_danger() {
    for (broken, what) in [("state: opne, left: live", "the state"), ("state: open, left: live, fixed_by: [x]", "the fixing visit")] {
        let keys = format!("faults: [{{{SPARKING}, {broken}}}]");
        let found = findings(&place("dwelling", &[("2026-09-01-callout", "callout", &keys)]));
        let danger = found.iter().find(|(head, _)| head == "danger fault-left-live f1");
        let message = &danger.unwrap_or_else(|| panic!("{what} cannot be read, and nothing is said of the danger: {found:?}")).1;
        assert!(message.contains("cannot be read"), "{message}");
    }
    // A fault that is no danger stays a matter of its form.
    let keys = "faults: [{id: f1, reported: 2026-09-01, symptom: dead, found: lamp, cause: device, circuit: main/1, code: FI, state: opne, left: live}]";
    let found = findings(&place("dwelling", &[("2026-09-01-callout", "callout", keys)]));
    assert!(found.iter().all(|(head, _)| !head.contains("fault-left-live")), "{found:?}");
}

#[test]
fn a_draft_is_still_told_of_danger() {
    let keys = format!("status: draft, faults: [{{{SPARKING}, state: open, left: live}}]");
    assert_eq!(told(&place("dwelling", &[("2026-11-24-callout", "callout", &keys)])), ["danger fault-left-live f1"]);
    let quiet = "status: draft, faults: [{id: f1, symptom: dead, circuit: main/1, state: open, left: isolated}]";
    assert_eq!(told(&place("dwelling", &[("2026-11-24-callout", "callout", quiet)])), NOTHING);
}

#[test]
fn a_danger_cannot_be_answered() {
    let keys = format!(
        "faults: [{{{SPARKING}, state: open, left: live, return_by: 2026-12-01}}], answers: [{{rule: fault-left-live, at: f1, why: customer knows, by: jd, on: 2026-11-24, until: 2027-11-24}}]"
    );
    let found = told(&place("dwelling", &[("2026-11-24-callout", "callout", &keys)]));
    assert!(found.contains(&"danger fault-left-live f1".to_owned()), "{found:?}");
}

#[test]
fn advice_that_cannot_be_read_is_not_called_missing() {
    let keys = format!("faults: [{{{}, state: open, left: live, return_by: 2026-12-01}}]", SPARKING.replace("how: verbal", "how: shouted"));
    let found = findings(&place("dwelling", &[("2026-11-24-callout", "callout", &keys)]));
    // The danger is told all the same, in words that do not say there was no advice.
    let [(head, message)] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!(head, "danger fault-left-live f1");
    assert_eq!(message, "left live since 2026-11-24, and what was done or advised cannot be read (C2, spark, 1 day)");
}

#[test]
fn a_later_visit_that_goes_back_quiets_the_day_to_return() {
    let first = format!("faults: [{{{SPARKING}, {ADVISED}, state: open, left: live, return_by: 2026-10-01}}]").replacen(
        ", advice: {words: leave it off, how: verbal, on: 2026-09-01}",
        "",
        1,
    );
    let story = |later: &[(&str, &str, &str)]| {
        let mut visits = vec![("2026-09-01-callout", "callout", first.as_str())];
        visits.extend(later);
        told(&place("dwelling", &visits))
    };
    let overdue = ["danger return-date-gone-by f1"];
    assert_eq!(story(&[]), overdue);
    assert_eq!(story(&[("2026-10-05-callout", "callout", "")]), overdue, "a visit for something else is no return");
    assert_eq!(story(&[("2026-12-01-callout", "callout", "status: planned, continues: 2026-09-01-callout")]), overdue);
    assert_eq!(story(&[("2026-11-24-callout", "callout", "status: draft, continues: 2026-09-01-callout")]), NOTHING);
    let silent = story(&[("2026-10-05-callout", "callout", "continues: 2026-09-01-callout")]);
    assert_eq!(silent, ["doubt fault-not-mentioned-again f1"]);
}

#[test]
fn a_repair_is_tested_by_the_visit_that_made_it_or_later() {
    let circuit = "{id: main/1, use: sockets, rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, device: main/1}}";
    let fixed = |cause: &str, symptom: &str, more: &str| {
        format!(
            "circuits: [{circuit}], faults: [{{id: f1, reported: 2026-09-01, symptom: {symptom}, found: found, cause: {cause}, circuit: main/1, code: C3, state: fixed, left: live, fixed_by: 2026-09-01-callout{more}}}]"
        )
    };
    let story = |keys: &str, later: &str| {
        findings(&place("dwelling", &[("2026-09-01-callout", "callout", keys), ("2026-10-01-callout", "callout", later)]))
    };
    let missing = |cause: &str, symptom: &str, readings: &str| {
        let later = format!("circuits: [{{id: main/1, {readings}}}]");
        let found = story(&fixed(cause, symptom, ""), &later);
        found.into_iter().map(|(_, message)| message).collect::<Vec<_>>().join("; ")
    };
    assert_eq!(
        missing("cable", "trips-later", "readings: {zs_ohm: 0.8}"),
        "fixed (cause: cable), and main/1 was not tested since: continuity, insulation resistance and RCD operating time missing"
    );
    assert_eq!(missing("water", "trips-when-wet", "readings: {ir_live_earth_mohm: 90, rcd_ms: 21}"), "");
    assert_eq!(missing("termination", "dead", "readings: {zs_ohm: 0.8, ir_live_earth_mohm: 90}"), "");
    assert_eq!(missing("termination", "dead", "not_taken: {zs_ohm: supply off, ir_live_earth_mohm: alarm in use}"), "");
    assert_eq!(missing("other", "dead", "readings: {polarity: correct}"), "");
    assert_eq!(missing("device", "dead", "readings: {zs_ohm: 0.8, rcd_ms: 24}"), "");
    assert!(missing("device", "dead", "readings: {zs_ohm: 0.8}").ends_with("since: RCD operating time missing"));
    assert_eq!(missing("not-found", "trips-later", "readings: {}"), "");
}

#[test]
fn a_swap_names_the_new_unit() {
    let swap = |unit: &str| {
        told(&place("dwelling", &[("2026-10-01-swap", "swap", &format!("units: [{{event: fitted, circuit: main/1{unit}}}]"))]))
    };
    assert_eq!(swap(""), ["breach new-serial-missing main/1"]);
    assert_eq!(swap(", serial: ' '"), ["breach new-serial-missing main/1"]);
    assert_eq!(swap(", serial: CP-7"), NOTHING);
}

#[test]
fn what_was_removed_is_accounted_for_by_a_later_visit() {
    let removed = ("2026-10-01-callout", "callout", "units: [{event: removed, serial: CP-1, circuit: main/1, why: sent to the maker}]");
    let story = |later: &[(&str, &str, &str)]| told(&place("dwelling", &[&[removed], later].concat()));
    assert_eq!(story(&[]), ["breach removed-and-not-isolated main/1"]);
    assert_eq!(story(&[("2026-10-09-swap", "swap", "units: [{event: fitted, serial: CP-2, circuit: main/1}]")]), NOTHING);
    assert_eq!(story(&[("2026-10-09-alter", "alter", "circuits: [{id: main/1, use: spare}]")]), NOTHING);
}

#[test]
fn a_photograph_shows_heat_damage() {
    let fault = "faults: [{id: f1, reported: 2026-10-01, symptom: heat, found: brown, cut_back_mm: 30, cause: load, circuit: main/1, code: C2, state: fixed, left: live, fixed_by: 2026-10-01-callout}]";
    let with = |more: &str| told(&place("dwelling", &[("2026-10-01-callout", "callout", &format!("{fault}{more}"))]));
    assert_eq!(with(""), ["doubt heat-damage-not-shown f1"]);
    assert_eq!(with(", joints: [{where: socket, circuit: main/1, photo: photos/socket.jpg}]"), NOTHING);
    assert_eq!(with(", body: '![socket](photos/socket.jpg)'"), NOTHING);
}

#[test]
fn a_claim_is_carried_on_by_a_later_entry_of_its_fault() {
    let fault = |more: &str| {
        format!(
            "id: f1, reported: 2026-09-01, symptom: dead, found: board dark, cause: device, circuit: main/1, code: C3, state: open, left: live, claim: {{with: wholesaler, sent: 2026-09-02{more}}}"
        )
    };
    let first = format!("faults: [{{{}}}]", fault(""));
    assert_eq!(told(&place("dwelling", &[("2026-09-01-callout", "callout", &first)])), ["tidy claim-without-chase f1"]);
    let later = |more: &str| format!("continues: 2026-09-01-callout, faults: [{{{}, repeats: 2026-09-01-callout#f1}}]", fault(more));
    let story =
        |later: &str| told(&place("dwelling", &[("2026-09-01-callout", "callout", &first), ("2026-10-01-callout", "callout", later)]));
    assert_eq!(story(&later(", chase: 2026-12-01")), NOTHING);
    assert_eq!(story(&later(", chase: 2026-11-01")), ["breach claim-chase-gone-by f1"]);
}
