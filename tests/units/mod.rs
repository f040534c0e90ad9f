//! `ampledger units`: where each unit is through swaps and moves, how often models fail, whom a notice touches.

use std::cmp::Ordering;

use ampledger::record::SerialRange;
use ampledger::units::order::{Fit, compare_firmware, in_range};
use serde_json::Value;

use crate::cli::{Ran, run, run_with};
use crate::support::{TODAY, TestBook, repository};

/// The sound book, whose one unit is CP-204117 at elm-row, with these visits beside it: `<site>/<visit>` and what they say.
fn book(visits: &[(&str, &str)]) -> TestBook {
    let book = TestBook::sound();
    for (path, says) in visits {
        let status = if says.contains("status:") { "" } else { "status: complete\n" };
        book.write(&format!("sites/{path}.md"), format!("---\nrecord: job\nkind: swap\n{status}title: a visit\n{says}\n---\n"));
    }
    book
}

fn units(book: &TestBook, args: &[&str]) -> Ran {
    let all: Vec<&str> = ["units", "--on", TODAY].iter().chain(args).copied().collect();
    run_with(book.root(), &[("COLUMNS", "100")], &all)
}

/// The units that are listed, by serial, with where they are.
fn listed(book: &TestBook, args: &[&str]) -> Vec<String> {
    let args: Vec<&str> = args.iter().chain(&["--format", "json"]).copied().collect();
    let ran = units(book, &args);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let json: Value = serde_json::from_str(&ran.out).unwrap();
    let unit = |unit: &Value| {
        let now = unit["places"].as_array().unwrap().iter().filter(|place| place["until"].is_null());
        let now: Vec<String> =
            now.map(|place| format!("{} {}", place["site"].as_str().unwrap(), place["circuit"].as_str().unwrap())).collect();
        format!("{} {}", unit["serial"].as_str().unwrap_or("-"), if now.is_empty() { "removed".to_owned() } else { now.join(" + ") })
    };
    json["units"].as_array().unwrap().iter().map(unit).collect()
}

/// Swaps, moves and slips, each at sites of its own.
fn moves() -> TestBook {
    book(&[
        // Swapped, and the old one fitted elsewhere; its serial is written in another way each time.
        ("ash/2024-01-10-fit", "units: [{event: fitted, serial: KX-1001, model: plover-7, circuit: main/1, firmware: \"3.2\"}]"),
        (
            "ash/2025-01-10-swap",
            "units: [{event: fitted, serial: KX-1002, model: plover-7, circuit: main/1}, {event: removed, serial: kx 1001, circuit: main/1, why: lock seized, kept_until: 2025-06-30}]",
        ),
        ("bay/2025-03-01-fit", "units: [{event: fitted, serial: Kx1001, model: plover-7, circuit: main/4, firmware: \"3.10\"}]"),
        // Moved on one day to a site that comes first in the folder.
        ("cove/2024-05-01-fit", "units: [{event: fitted, serial: KX-1003, model: plover-7, circuit: main/1}]"),
        ("cove/2025-06-01-take", "units: [{event: removed, serial: KX-1003, circuit: main/1}]"),
        ("brook/2025-06-01-put", "units: [{event: fitted, serial: KX-1003, model: plover-7, circuit: main/2}]"),
        // Taken out for repair and fitted again where it was.
        ("dale/2024-02-01-fit", "units: [{event: fitted, serial: KX-1004, model: plover-7, circuit: main/1}]"),
        ("dale/2025-02-01-out", "units: [{event: removed, serial: KX-1004, circuit: main/1, kept_until: 2027-01-01}]"),
        ("dale/2025-03-01-in", "units: [{event: fitted, serial: KX-1004, model: plover-7, circuit: main/1}]"),
        // Removed and fitted again at one visit that is the first to name it.
        (
            "elm/2025-02-01-turn",
            "units: [{event: removed, serial: KX-1005, circuit: main/1}, {event: fitted, serial: KX-1005, model: plover-7, circuit: main/1}]",
        ),
        // The new serial was read only at the next visit.
        ("fen/2024-02-01-fit", "units: [{event: fitted, serial: KX-1006, model: plover-7, circuit: main/1}]"),
        (
            "fen/2025-02-01-swap",
            "units: [{event: removed, serial: KX-1006, circuit: main/1}, {event: fitted, model: plover-7, circuit: main/1}]",
        ),
        ("fen/2025-08-01-look", "units: [{event: seen, serial: KX-1007, circuit: main/1, firmware: \"3.4\"}]"),
        // The old one was never in the book, and the new one's serial is not recorded: the removal is no word on the new one.
        (
            "gill/2025-02-01-swap",
            "units: [{event: removed, serial: KX-0900, circuit: main/1}, {event: fitted, model: plover-7, circuit: main/1}]",
        ),
        // A removal in a draft, and one that is only planned.
        (
            "holt/2024-02-01-fit",
            "units: [{event: fitted, serial: KX-1008, model: plover-7, circuit: main/1}, {event: fitted, serial: KX-1009, model: plover-7, circuit: main/2}]",
        ),
        ("holt/2026-11-20-draft", "status: draft\nunits: [{event: removed, serial: KX-1008, circuit: main/1}]"),
        ("holt/2026-11-24-plan", "status: planned\nunits: [{event: removed, serial: KX-1009, circuit: main/2}]"),
        // After the day.
        ("holt/2026-12-24-later", "units: [{event: removed, serial: KX-1009, circuit: main/2}]"),
        // In two places; a placeholder; an old one that nobody took out; named by its circuit only.
        ("isle/2024-02-01-fit", "units: [{event: fitted, serial: KX-1010, model: plover-7, circuit: main/1}]"),
        ("jetty/2025-02-01-fit", "units: [{event: fitted, serial: KX-1010, model: plover-7, circuit: main/1}]"),
        ("kiln/2024-02-01-fit", "units: [{event: fitted, serial: TBC, model: plover-7, circuit: main/1}]"),
        ("lane/2024-02-01-fit", "units: [{event: fitted, serial: KX-1011, model: plover-7, circuit: main/1}]"),
        ("lane/2025-02-01-swap", "units: [{event: fitted, serial: KX-1012, model: plover-7, circuit: main/1}]"),
        // A charging circuit whose unit nobody wrote down, and one that is only planned.
        ("nook/2024-02-01-fit", "circuits: [{id: main/1, use: ev}]"),
        ("nook/2026-11-24-plan", "status: planned\ncircuits: [{id: main/2, use: ev}]"),
        ("mere/2024-02-01-fit", "circuits: [{id: main/1, use: ev, ev: {unit: KX-1013, open_pen: iv}}]"),
    ])
}

#[test]
fn every_unit_is_where_its_last_entry_leaves_it() {
    let book = moves();
    assert_eq!(
        listed(&book, &[]),
        [
            "CP-204117 elm-row main/1",
            "Kx1001 bay main/4",
            "KX-1002 ash main/1",
            "KX-1003 brook main/2",
            "KX-1004 dale main/1",
            "KX-1005 elm main/1",
            "KX-1006 removed",
            "KX-1007 fen main/1",
            "KX-1008 holt main/1",
            "KX-1009 holt main/2",
            "KX-1010 isle main/1 + jetty main/1",
            "KX-1011 lane main/1",
            "KX-1012 lane main/1",
            "- gill main/1",
            "- kiln main/1",
            "KX-0900 removed",
            "KX-1013 mere main/1",
        ]
    );
    // Two days earlier in the story: as of a day, what comes after has not happened.
    let then = run(book.root(), &["units", "--on", "2024-06-01", "--serial", "KX-1001", "--format", "json"]);
    let then: Value = serde_json::from_str(&then.out).unwrap();
    assert_eq!(then["units"][0]["places"][0]["site"], "ash");
    assert!(then["units"][0]["removed"].is_null());
}

#[test]
fn the_list_as_people_read_it() {
    let book = moves();
    insta::assert_snapshot!("list", units(&book, &["--doubtful"]).out);
    insta::assert_snapshot!("history", units(&book, &["--serial", "KX-1001,KX-1004..KX-1005,KX-1006", "--history"]).out);
}

#[test]
fn filters_leave_what_they_say() {
    let book = moves();
    let serials = |args: &[&str]| listed(&book, args).iter().map(|unit| unit.split(' ').next().unwrap().to_owned()).collect::<Vec<_>>();
    assert_eq!(serials(&["--serial", "KX-1003..KX-1005"]), ["KX-1003", "KX-1004", "KX-1005"]);
    assert_eq!(serials(&["--serial", "kx 01002"]), ["KX-1002"]);
    assert_eq!(serials(&["--serial", "..KX-999"]), ["KX-0900"]);
    assert_eq!(serials(&["--site", "ash"]), ["Kx1001", "KX-1002"]);
    assert_eq!(serials(&["--firmware-below", "3.10", "--model", "plover-*"]), ["KX-1007"]);
    assert_eq!(serials(&["--firmware", "3.10..4"]), ["Kx1001"]);
    assert_eq!(serials(&["--fitted", "2024-05-01..2024-12-31"]), ["KX-1003"]);
    assert_eq!(serials(&["--open-pen", "iv"]), ["CP-204117", "KX-1013"]);
    assert_eq!(serials(&["--open-pen", "in-unit"]), ["CP-204117"]);
    assert_eq!(serials(&["--kind", "spd"]), [""; 0]);
    assert!(!serials(&["--in-place"]).contains(&"KX-1006".to_owned()));
    assert_eq!(
        units(&book, &["--kind", "spd"]).out,
        "no unit fits; 17 units are on record; as of 2026-11-25\n1 charging circuit names no unit: nook main/1\n"
    );
    let wrong = units(&book, &["--site", "jety"]);
    assert_eq!((wrong.status, wrong.err.as_str()), (2, "ampledger: there is no site jety\n  Did you mean jetty?\n"));
}

/// What a range says of a serial: inside, outside, or nobody can tell.
#[test]
fn serials_compare_as_people_mean_them() {
    let range = |from: &str, to: &str| {
        let end = |text: &str| Some(text.to_owned()).filter(|text| !text.is_empty());
        SerialRange { from: end(from), to: end(to) }
    };
    let fits = |serial: &str, from: &str, to: &str| match in_range(serial, &range(from, to)) {
        Fit::Yes => "in",
        Fit::No(_) => "out",
        Fit::Unclear(_) => "?",
    };
    for (serial, from, to, expected) in [
        ("KX-20417", "KX-20000", "KX-20999", "in"),
        ("kx 20 417", "KX-20000", "KX-20999", "in"),
        ("KX-20000", "KX-20000", "KX-20999", "in"),
        ("KX-20999", "KX-20000", "KX-20999", "in"),
        ("KX-21000", "KX-20000", "KX-20999", "out"),
        // Digits are a number: 204170 is not between 20000 and 20999.
        ("KX-204170", "KX-20000", "KX-20999", "out"),
        ("KX-020417", "KX-20000", "KX-20999", "in"),
        ("KY-20417", "KX-20000", "KX-20999", "out"),
        // More on it than the range has, or without its letters: nobody can tell.
        ("KX-20417-B", "KX-20000", "KX-20999", "?"),
        ("20417", "KX-20000", "KX-20999", "?"),
        // The wrong way round.
        ("KX-20417", "KX-20999", "KX-20000", "in"),
        ("KX-99", "KX-20", "", "in"),
        ("KX-9", "KX-20", "", "out"),
        ("KY-99", "KX-20", "", "out"),
        ("KX-9", "", "KX-20", "in"),
        ("KX-21", "", "KX-20", "out"),
        ("2417", "2000", "2999", "in"),
        ("A7-0012-C", "A7-0001-A", "A7-0100-Z", "in"),
        ("KX-1", "KX-1", "LM-2-B", "?"),
        ("KX-1", "", "", "?"),
    ] {
        assert_eq!(fits(serial, from, to), expected, "{serial} in {from}..{to}");
    }
    for (a, b, expected) in [
        ("3.10", "3.2", Some(Ordering::Greater)),
        ("3.2", "3.10", Some(Ordering::Less)),
        ("3", "3.0.0", Some(Ordering::Equal)),
        ("v2.1", "2.1", Some(Ordering::Equal)),
        ("2.1b", "2.2", Some(Ordering::Less)),
        ("2.2-rc1", "2.2", None),
        ("winter", "2.2", None),
        ("", "2.2", None),
    ] {
        assert_eq!(compare_firmware(a, b), expected, "{a} against {b}");
    }
}

const NOTICE: &str = "recalls/2026-06-01-cover.md";

fn notice(book: &TestBook, more: &str) {
    let says = "serials: [{from: KX-20000, to: KX-20999}, {from: KZ-5}]\nfitted: {from: 2025-03-01, to: 2025-09-30}\nfirmware_below: \"3.2\"\nadvice: isolate until the cover screw is replaced";
    book.write(NOTICE, format!("---\nrecord: recall\nissued: 2026-06-01\nmodel: plover-7\n{says}\n{more}\n---\n"));
}

fn recall(book: &TestBook) -> Ran {
    units(book, &["--recall", "2026-06-01-cover"])
}

/// One unit for each way of being touched or not.
fn recalled() -> TestBook {
    let fit = |serial: &str, day: &str, firmware: &str| {
        let serial = if serial.is_empty() { String::new() } else { format!("serial: {serial}, ") };
        let firmware = if firmware.is_empty() { String::new() } else { format!(", firmware: \"{firmware}\"") };
        (day.to_owned(), format!("units: [{{event: fitted, {serial}model: plover-7, circuit: main/1{firmware}}}]"))
    };
    let cases = [
        ("a-isolated", fit("KX-20001", "2025-04-01", "3.1")),
        ("b-in-use", fit("kx 20002", "2025-04-01", "3.1")),
        ("c-second-range", fit("KZ-70", "2025-04-01", "2.9")),
        ("d-done", fit("KX-20003", "2025-04-01", "3.1")),
        ("e-ticked-by-plan", fit("KX-20004", "2025-04-01", "3.1")),
        ("f-ticked-by-nobody", fit("KX-20005", "2025-04-01", "3.1")),
        ("g-removed", fit("KX-20006", "2025-04-01", "3.1")),
        ("h-removed-in-draft", fit("KX-20007", "2025-04-01", "3.1")),
        ("i-out-of-range", fit("KX-21000", "2025-04-01", "3.1")),
        ("j-fitted-later", fit("KX-20008", "2025-10-01", "3.1")),
        ("k-newer", fit("KX-20009", "2025-04-01", "3.10")),
        ("l-updated-since", fit("KX-20010", "2025-04-01", "3.1")),
        ("m-no-serial", fit("", "2025-04-01", "3.1")),
        ("n-placeholder", fit("TBC", "2025-04-01", "3.1")),
        ("o-no-firmware", fit("KX-20011", "2025-04-01", "")),
        ("p-no-serial-later", fit("", "2025-10-01", "3.1")),
        ("q-longer-serial", fit("KX-20012-B", "2025-04-01", "3.1")),
    ];
    let mut visits: Vec<(String, String)> = cases.into_iter().map(|(site, (day, says))| (format!("{site}/{day}-fit"), says)).collect();
    let more = [
        ("a-isolated/2026-06-10-off", "faults: [{id: f1, reported: 2026-06-10, circuit: main/1, state: open, left: isolated}]"),
        ("d-done/2026-06-20-cover", "units: [{event: seen, serial: KX-20003, circuit: main/1}]"),
        ("e-ticked-by-plan/2026-12-20-cover", "status: planned"),
        ("g-removed/2026-06-20-swap", "units: [{event: removed, serial: KX-20006, circuit: main/1, kept_until: 2027-06-20}]"),
        ("h-removed-in-draft/2026-11-20-swap", "status: draft\nunits: [{event: removed, serial: KX-20007, circuit: main/1}]"),
        ("l-updated-since/2026-06-20-look", "units: [{event: seen, serial: KX-20010, circuit: main/1, firmware: \"3.2\"}]"),
        ("r-no-model/2025-04-01-fit", "units: [{event: fitted, serial: KX-20013, circuit: main/1, firmware: \"3.1\"}]"),
        ("s-only-seen/2026-01-01-look", "units: [{event: seen, serial: KX-20014, model: plover-7, circuit: main/1, firmware: \"3.1\"}]"),
        ("t-other-model/2025-04-01-fit", "units: [{event: fitted, serial: KX-20015, model: other-1, circuit: main/1, firmware: \"3.1\"}]"),
    ];
    visits.extend(more.map(|(path, says)| (path.to_owned(), says.to_owned())));
    let visits: Vec<(&str, &str)> = visits.iter().map(|(path, says)| (path.as_str(), says.as_str())).collect();
    let book = book(&visits);
    notice(
        &book,
        "done: [{serial: kx20003, by: d-done/2026-06-20-cover}, {serial: KX-20004, by: e-ticked-by-plan/2026-12-20-cover}, {serial: KX-20005}, {serial: KX-20999, by: d-done/2026-06-20-cover}]",
    );
    book
}

#[test]
fn a_notice_makes_three_lists() {
    let book = recalled();
    let ran = recall(&book);
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
    insta::assert_snapshot!("recall", ran.out);
    let json: Value = serde_json::from_str(&units(&book, &["--recall", NOTICE, "--format", "json"]).out).unwrap();
    let names = |list: &str| -> Vec<String> {
        let site = |touched: &Value| touched["unit"]["places"][0]["site"].as_str().unwrap().split('-').next().unwrap().to_owned();
        let mut names: Vec<String> = json[list].as_array().unwrap().iter().map(site).collect();
        names.sort();
        names
    };
    assert_eq!(names("certain"), ["a", "b", "c", "e", "f", "h"]);
    assert_eq!(names("possible"), ["m", "n", "o", "q", "r", "s"]);
    // elm-row's CP-204117, fitted in November 2026, is of the model too.
    assert_eq!(names("cleared"), ["d", "elm", "g", "i", "j", "k", "l", "p"]);
}

#[test]
fn a_notice_is_closed_only_when_nothing_is_left_and_everything_could_be_read() {
    let book = book(&[
        ("oak/2025-04-01-fit", "units: [{event: fitted, serial: KX-20001, model: plover-7, circuit: main/1, firmware: \"3.1\"}]"),
        ("oak/2026-06-20-cover", "units: [{event: seen, serial: KX-20001, circuit: main/1}]"),
    ]);
    notice(&book, "done: [{serial: KX-20001, by: oak/2026-06-20-cover}]");
    assert_eq!(recall(&book).status, 0);
    // A visit that cannot be read may hold another.
    book.write("sites/ivy/2025-04-01-fit.md", "---\nunits: [{serial: KX\n  : [\n---\n");
    let ran = recall(&book);
    assert_eq!(ran.status, 1);
    assert!(ran.out.contains("not complete: the units in sites/ivy/2025-04-01-fit.md could not all be read"), "{}", ran.out);
    // So may an entry that cannot be read, whatever stands beside it.
    book.write(
        "sites/ivy/2025-04-01-fit.md",
        "---\nrecord: job\nstatus: complete\nunits:\n  - {event: fitted, serial: ZZ-1, model: other-1, circuit: main/1}\n  - {event: fitted, serial: KX-20002\n---\n",
    );
    let ran = recall(&book);
    assert_eq!((ran.status, ran.out.contains("not complete: the units in sites/ivy")), (1, true), "{}", ran.out);
    // A part of the notice that cannot be read makes nobody certain, and clears nobody.
    let torn = TestBook::sound();
    torn.write(
        "sites/oak/2025-04-01-fit.md",
        "---\nrecord: job\nstatus: complete\nunits: [{event: fitted, serial: XX-1, model: plover-7, circuit: main/1}]\n---\n",
    );
    torn.write(NOTICE, "---\nrecord: recall\nmodel: plover-7\nserials: KX-20000 to KX-20999\n---\n");
    let ran = recall(&torn);
    assert_eq!(ran.status, 1);
    assert!(ran.out.contains("0 certain still in place, 2 possible"), "{}", ran.out);
    let unknown = units(&torn, &["--recall", "2026-06-01-covre"]);
    assert_eq!(
        (unknown.status, unknown.err.as_str()),
        (2, "ampledger: there is no notice in recalls/ named 2026-06-01-covre\n  Did you mean 2026-06-01-cover?\n")
    );
}

/// A book whose units have been in place for round times up to 2026-11-25: 1461 days are four years of 365.25.
fn failing() -> TestBook {
    let mut visits: Vec<(String, String)> = Vec::new();
    let mut fit = |model: &str, count: usize, day: &str| {
        for number in 0..count {
            let serial = format!("{}-{number}{}", &model[..2], &day[..4]);
            let says = format!("units: [{{event: fitted, serial: {serial}, model: {model}, circuit: main/1}}]");
            visits.push((format!("{model}-{}-{number:02}/{day}-fit", &day[..4]), says));
        }
    };
    // 10 x 4 years and 365 days: 41.0 unit-years. 10 x 4 each for the others.
    fit("aa-1", 10, "2022-11-25");
    fit("aa-1", 1, "2025-11-25");
    fit("bb-1", 10, "2022-11-25");
    fit("cc-1", 10, "2022-11-25");
    let fault =
        |site: &str, day: &str, says: &str| (format!("{site}/{day}-callout"), format!("faults: [{{id: f1, reported: {day}, {says}}}]"));
    // Three that count: by circuit, by serial, and one whose cause nobody wrote down, which is unknown.
    visits.push(fault("aa-1-2022-00", "2024-01-01", "circuit: main/1, laid_to: manufacturer"));
    visits.push(fault("aa-1-2022-01", "2024-01-01", "unit: aa 12022, laid_to: unknown"));
    visits.push(fault("aa-1-2022-02", "2024-01-01", "circuit: main/1"));
    // None of these: ours; on another circuit; before the unit was there; a plan; and the first told again.
    visits.push(fault("aa-1-2022-03", "2024-01-01", "circuit: main/1, laid_to: us"));
    visits.push(fault("aa-1-2022-04", "2024-01-01", "circuit: main/2, laid_to: manufacturer"));
    visits.push(fault("aa-1-2022-05", "2022-11-24", "circuit: main/1, laid_to: manufacturer"));
    visits.push((
        "aa-1-2022-06/2024-01-01-callout".to_owned(),
        "status: planned\nfaults: [{id: f1, reported: 2024-01-01, circuit: main/1, laid_to: manufacturer}]".to_owned(),
    ));
    visits.push(fault("aa-1-2022-00", "2024-02-01", "circuit: main/1, laid_to: manufacturer, repeats: 2024-01-01-callout#f1"));
    for number in 0..12 {
        visits.push(fault(
            &format!("cc-1-2022-{:02}", number % 10),
            &format!("2024-03-{:02}", number + 1),
            "circuit: main/1, laid_to: manufacturer",
        ));
    }
    let visits: Vec<(&str, &str)> = visits.iter().map(|(path, says)| (path.as_str(), says.as_str())).collect();
    let book = book(&visits);
    for model in ["aa-1", "bb-1", "cc-1"] {
        book.write(&format!("models/{model}.md"), "---\nrecord: model\nkind: charge-point\n---\n");
    }
    book
}

#[test]
fn rates_are_those_worked_out_by_hand() {
    let book = failing();
    let ran = units(&book, &["--model", "aa-1,bb-1,cc-1", "--rates", "--format", "json"]);
    let json: Value = serde_json::from_str(&ran.out).unwrap();
    let models = json["rates"]["models"].as_array().unwrap();
    let row = |at: usize| {
        (models[at]["units"].as_u64().unwrap(), models[at]["faults"].as_u64().unwrap(), models[at]["faults_not_counted"].as_u64().unwrap())
    };
    assert_eq!((row(0), row(1), row(2)), ((11, 3, 1), (10, 0, 0), (10, 12, 0)));
    let close = |value: &Value, by_hand: f64| {
        let value = value.as_f64().unwrap();
        assert!((value - by_hand).abs() < 0.001 * by_hand, "{value} against {by_hand}");
    };
    // 10 x 1461 + 365 days over 365.25 = 40.999 years; 3 / 40.999 = 7.317 per 100. Half the chi-square quantiles for 3 events are
    // 0.6187 and 8.7673 (printed tables of the Poisson interval): 1.509 and 21.384 per 100.
    close(&models[0]["unit_years"], 40.999);
    close(&models[0]["per_100_unit_years"], 7.317);
    close(&models[0]["low"], 1.509);
    close(&models[0]["high"], 21.384);
    // None in 40 years: 3.6889 / 40.
    close(&models[1]["high"], 9.222);
    let pairs = json["rates"]["pairs"].as_array().unwrap();
    let said: Vec<&str> = pairs.iter().map(|pair| pair["says"].as_str().unwrap()).collect();
    // 3 against 0 is too few to be tested. Two pairs are left, so that each is held to 0.025: 3 against 12 in as long is
    // p = 2 x P(X <= 3 of 15) at a share of 40.999/80.999 = 0.03124; 0 against 12 is p = 2 x 0.5^12 = 0.000488.
    assert_eq!(said, ["too-few", "not-told-apart", "differ"]);
    close(&pairs[0]["confidence"], 0.975);
    close(&pairs[1]["p"], 0.03124);
    close(&pairs[2]["p"], 2.0 * 0.5f64.powi(12));
    insta::assert_snapshot!("rates", rates_part(&units(&book, &["--model", "aa-1,bb-1", "--rates"]).out));
    insta::assert_snapshot!("rates_40", rates_part(&run_with(book.root(), &[("COLUMNS", "40")], &["units", "--on", TODAY, "--rates"]).out));
    // Everybody's faults.
    let all = units(&book, &["--model", "aa-1", "--rates", "--causes", "all", "--format", "json"]);
    let all: Value = serde_json::from_str(&all.out).unwrap();
    assert_eq!(all["rates"]["models"][0]["faults"], 4);
}

fn rates_part(out: &str) -> String {
    out[out.find("Faults laid").unwrap()..].to_owned()
}

#[test]
fn a_fault_on_the_day_of_a_swap_is_the_old_units() {
    let book = book(&[
        ("oak/2024-01-01-fit", "units: [{event: fitted, serial: KX-1, model: plover-7, circuit: main/1}]"),
        (
            "oak/2025-01-01-swap",
            "units: [{event: removed, serial: KX-1, circuit: main/1}, {event: fitted, serial: KX-2, model: plover-7, circuit: main/1}]\nfaults: [{id: f1, reported: 2025-01-01, circuit: main/1, state: fixed, laid_to: manufacturer}]",
        ),
    ]);
    let out = units(&book, &["--site", "oak"]).out;
    let (new, old) = out.split_once("Removed: 1").unwrap();
    assert!(old.contains("fault oak/2025-01-01-swap#f1, laid to manufacturer") && !new.contains("fault"), "{out}");
}

/// Lines that one word does not fill.
fn too_wide(text: &str, width: usize) -> Vec<&str> {
    text.lines().filter(|line| line.chars().count() > width && line.trim_start().contains(' ')).collect()
}

#[test]
fn the_example_book_at_80_and_at_40_columns() {
    let root = repository().join("example-sites");
    for width in ["80", "40"] {
        let ran = run_with(&root, &[("COLUMNS", width)], &["units", "--on", TODAY, "--rates", "--history"]);
        assert_eq!(ran.status, 0);
        assert_eq!(too_wide(&ran.out, width.parse().unwrap()), [""; 0]);
        let list = run_with(&root, &[("COLUMNS", width)], &["units", "--on", TODAY]).out;
        insta::assert_snapshot!(format!("example_{width}"), list);
    }
    let json = run(&root, &["units", "--on", TODAY, "--rates", "--format", "json"]);
    insta::assert_snapshot!("example_json", json.out);
}
