//! `ampledger due`: what is owed, what closes it, and what of it a calendar is given.

mod calendar;

use ampledger::book::Book;
use ampledger::due::{Item, due};
use ampledger::record::Date;

use crate::cli::{run, run_with};
use crate::support::{TODAY, TestBook, apply, repository};

/// What a book owes on a day, whatever the window.
fn owed_by(book: &TestBook, day: &str) -> Vec<Item> {
    let on: Date = day.parse().unwrap();
    due(&Book::open(book.root()).unwrap(), on).items
}

/// The sound book with an overlay.
fn with(overlay: &str) -> TestBook {
    let book = TestBook::sound();
    apply(book.root(), overlay);
    book
}

/// `kind day subject`, a danger marked by `!`.
fn line(item: &Item) -> String {
    let day = item.day.map_or("-".to_owned(), |day| day.to_string());
    format!("{}{} {day} {}", if item.danger { "!" } else { "" }, item.kind.as_str(), item.subject).trim_end().to_owned()
}

/// What an overlay adds to what the sound book owes.
fn added(overlay: &str) -> Vec<String> {
    let sound: Vec<String> = owed_by(&TestBook::sound(), TODAY).iter().map(line).collect();
    owed_by(&with(overlay), TODAY).iter().map(line).filter(|line| !sound.contains(line)).collect()
}

#[test]
fn the_sound_book_owes_its_instruments_and_its_next_inspection() {
    let lines: Vec<String> = owed_by(&TestBook::sound(), TODAY).iter().map(line).collect();
    assert_eq!(lines, ["calibration 2027-02-01 mft-1", "calibration 2027-03-01 torque-1", "inspection 2036-11-02"]);
    let ran = run(TestBook::sound().root(), &["due", "--on", TODAY, "--within", "60d"]);
    assert_eq!((ran.out.as_str(), ran.status), ("nothing owed by 2027-01-24 that is on record; 3 later\n", 0));
}

/// A fault of the sound job: harmless, unless these keys say otherwise.
fn fault(keys: &str) -> String {
    let usual = ["id: f1", "reported: 2026-11-02", "symptom: dead", "found: no output", "circuit: main/1", "code: C3", "left: live"];
    let unsaid = |entry: &&&str| !keys.contains(&format!("{}:", entry.split(':').next().unwrap()));
    let usual: Vec<&str> = usual.iter().filter(unsaid).copied().collect();
    format!("faults: [{{{}, {keys}}}]\n", usual.join(", "))
}

/// A later visit to the site.
fn visit(status: &str, keys: &str) -> String {
    format!(
        "sites/elm-row/2026-11-20-callout.md: {{record: job, kind: callout, status: {status}, title: Back, dates: {{tested: 2026-11-20}}, {keys}}}\n"
    )
}

const CONTINUES: &str = "continues: 2026-11-02-shed";
const REPEATED: &str =
    "continues: 2026-11-02-shed, faults: [{id: f1, repeats: 2026-11-02-shed#f1, state: fixed, fixed_by: 2026-11-20-callout}]";

/// Holds that an overlay owes exactly this, and that with each of the others nothing of it is owed any more.
fn closes(open: &str, owed: &[&str], closed: &[String]) {
    assert_eq!(added(open), owed, "{open}");
    for overlay in closed {
        let left: Vec<String> = added(overlay).into_iter().filter(|line| owed.contains(&line.as_str())).collect();
        assert_eq!(left, Vec::<String>::new(), "still owed with {overlay}");
    }
}

#[test]
fn a_return_or_a_watch_is_closed_by_going_back_and_not_by_planning_to() {
    let back = fault("state: open, return_by: 2026-12-01");
    let closed = [
        fault("state: fixed, return_by: 2026-12-01"),
        fault("state: open, return_by: 2026-12-01, fixed_by: 2026-11-20-callout") + &visit("complete", CONTINUES),
        back.clone() + &visit("complete", CONTINUES),
        back.clone() + &visit("complete", REPEATED),
    ];
    closes(&back, &["return 2026-12-01 f1"], &closed);
    let planned = added(&(back.clone() + &visit("planned", CONTINUES)));
    assert_eq!(planned, ["record 2026-11-20", "return 2026-12-01 f1"]);
    let watch = fault("state: watching, watch_until: 2026-11-13");
    closes(&watch, &["watch 2026-11-13 f1"], &[watch.clone() + &visit("complete", CONTINUES)]);
    // With no day set it is still owed.
    closes(&fault("state: open"), &["return - f1"], &[fault("state: fixed")]);
}

#[test]
fn a_danger_stays_until_it_is_fixed() {
    let open = fault("state: open, left: isolated, return_by: 2026-12-01, code: C2");
    let fixed = fault("state: open, left: isolated, return_by: 2026-12-01, code: C2, fixed_by: 2026-11-20-callout");
    let closed = [fixed.clone() + &visit("complete", CONTINUES), open.clone() + &visit("complete", REPEATED)];
    closes(&open, &["!return 2026-12-01 f1"], &closed);
    // Somebody went back without a word on it, or only means to; or a draft says it is fixed.
    for overlay in [
        open.clone() + &visit("complete", CONTINUES),
        open.clone() + &visit("planned", REPEATED),
        fixed + &visit("planned", "extent: none"),
    ] {
        assert!(added(&overlay).contains(&"!return 2026-12-01 f1".to_owned()), "{overlay}");
    }
    // Each of these alone makes it one, with or without a day.
    for keys in [
        "state: open, left: isolated",
        "state: open, code: C1",
        "state: open, symptom: spark",
        "state: watching, advice: {words: Do not use the charge point}",
        "state: watching, advice: {words: keep main/1 switched off}",
        "code: C2",
    ] {
        let told = added(&fault(keys));
        assert_eq!(told.len(), 1, "{keys}: {told:?}");
        assert!(told[0].starts_with('!'), "{keys}: {told:?}");
    }
    assert_eq!(added(&fault("state: watching, advice: {words: note the time of any trip}")), ["watch - f1"]);
}

#[test]
fn an_answer_quiets_what_its_finding_says_and_never_a_danger() {
    let answer =
        |rule: &str, until: &str| format!("answers: [{{rule: {rule}, at: f1, why: asked for later, on: 2026-11-20, until: {until}}}]\n");
    let open = fault("state: open, return_by: 2026-11-13");
    closes(&open, &["return 2026-11-13 f1"], &[open.clone() + &answer("return-date-gone-by", "2026-12-13")]);
    assert_eq!(added(&(open.clone() + &answer("return-date-gone-by", "2026-11-24"))), ["return 2026-11-13 f1"], "the answer has run out");
    assert_eq!(added(&(open + &answer("claim-chase-gone-by", "2026-12-13"))), ["return 2026-11-13 f1"], "it answers something else");
    let danger = fault("state: open, return_by: 2026-11-13, code: C2");
    assert_eq!(added(&(danger + &answer("return-date-gone-by", "2026-12-13"))), ["!return 2026-11-13 f1"]);
}

#[test]
fn claims_wait_for_an_answer() {
    let claim = |keys: &str| fault(&format!("state: fixed, claim: {{with: wholesaler, sent: 2026-11-02, ref: R-88, {keys}}}"));
    let later = "continues: 2026-11-02-shed, faults: [{id: f1, repeats: 2026-11-02-shed#f1, state: fixed, claim: {with: wholesaler, sent: 2026-11-02, answered: 2026-11-19}}]";
    let closed = [
        claim("chase: 2026-12-01, answered: 2026-11-20"),
        claim("chase: 2026-12-01, outcome: refused"),
        claim("chase: 2026-12-01") + &visit("complete", later),
    ];
    closes(&claim("chase: 2026-12-01"), &["claim 2026-12-01 f1"], &closed);
    let unsent = fault("state: fixed, claim: {with: wholesaler, chase: 2026-12-01}");
    closes(
        &unsent,
        &["claim 2026-12-01 f1"],
        &[fault("state: fixed, claim: {with: wholesaler, chase: 2026-12-01, outcome: not worth it}")],
    );
    // Without a day to chase it, a fortnight's silence: 2026-11-02 + 14 days.
    assert_eq!(added(&claim("part_kept: true"))[0], "claim 2026-11-16 f1");
}

#[test]
fn notices_are_sent_and_answered_in_time() {
    let control = "{to: building-control, sent: 2026-11-12, ref: BC-31}";
    let operator = "{to: network-operator, route: notify, sent: 2026-11-10, answered: 2026-11-14, ref: EV-118}";
    let notices = |entries: &str| format!("notices: [{entries}]\n");
    // Applied for and put into use on 2026-11-02 without the answer: over since that day.
    let applied = notices(&format!("{{to: network-operator, route: apply, sent: 2026-10-21, ref: EV-9}}, {control}"));
    let closed = [
        notices(&format!("{{to: network-operator, route: apply, sent: 2026-10-21, answered: 2026-11-20, ref: EV-9}}, {control}")),
        applied.clone() + &visit("complete", "notices: [{to: network-operator, route: apply, ref: EV-9, answered: 2026-11-20}]"),
        applied.clone() + &visit("complete", "continues: 2026-11-02-shed, notices: [{to: network-operator, answered: 2026-11-20}]"),
    ];
    closes(&applied, &["notice 2026-11-02 network-operator"], &closed);
    // By the other route connecting comes first; the answer has no day.
    let notified = notices(&format!("{{to: network-operator, route: notify, sent: 2026-11-10}}, {control}"));
    closes(&notified, &["notice - network-operator"], &[notices(&format!("{operator}, {control}"))]);
    // Never told: 2026-11-02 + 28 days.
    closes(&notices(control), &["notice 2026-11-30 network-operator"], &[notices(&format!("{operator}, {control}"))]);
    // Building control in England: 2026-11-02 + 30 days; not in Scotland, nor once there is a reference.
    let unreferenced = notices(&format!("{operator}, {{to: building-control, sent: 2026-11-12}}"));
    let scotland = format!("{unreferenced}sites/elm-row/site.md: {{nation: scotland}}\n");
    closes(&unreferenced, &["notice 2026-12-02 main/1"], &[notices(&format!("{operator}, {control}")), scotland]);
}

#[test]
fn observations_are_cleared_or_looked_at_again() {
    let report = |code: &str, keys: &str| {
        format!(
            "sites/elm-row/2026-11-10-condition.md: {{record: job, kind: inspect, status: complete, title: Report, dates: {{tested: 2026-11-10}}, outcome: unsatisfactory, next_inspection: 2036-11-02, observations: [{{id: o1, code: {code}, what: open joint, where: loft, {keys}}}], papers: [{{kind: condition-report, number: R-1, issued: 2026-11-11, given_to: customer, how: email, on: 2026-11-11}}]}}\n"
        )
    };
    let open = report("C2", "due: 2026-12-05");
    let again = "sites/elm-row/2026-11-20-condition.md: {record: job, kind: inspect, status: complete, title: Again, dates: {tested: 2026-11-20}, next_inspection: 2036-11-02, papers: [{kind: condition-report, number: R-2, on: 2026-11-21}]}\n";
    let closed = [report("C2", "due: 2026-12-05, cleared_by: 2026-11-20-callout") + &visit("complete", CONTINUES), open.clone() + again];
    closes(&open, &["!observation 2026-12-05 o1"], &closed);
    assert_eq!(added(&report("FI", "due: 2026-12-05")), ["observation 2026-12-05 o1"]);
    assert_eq!(added(&report("C3", "due: 2026-12-05")), Vec::<String>::new());
    // No day in the report: 28 days after it. In a let home in England the law's 28 days come before a later day.
    assert_eq!(added(&report("C1", "clause: \"1\"")), ["!observation 2026-12-08 o1"]);
    let let_home = report("C2", "due: 2027-03-01") + "sites/elm-row/site.md: {premises: dwelling-let}\n";
    assert!(added(&let_home).contains(&"!observation 2026-12-08 o1".to_owned()));
}

#[test]
fn inspections_calibrations_and_checks_come_round() {
    let soon = "next_inspection: 2027-01-15\n";
    let booked = "sites/elm-row/2026-12-15-condition.md: {record: job, kind: inspect, status: planned, title: Booked}\n";
    closes(soon, &["inspection 2027-01-15"], &[format!("{soon}{booked}")]);
    // Booked and not made: both are owed.
    let over = format!("next_inspection: 2026-11-20\n{}", booked.replace("2026-12-15", "2026-11-10"));
    assert_eq!(added(&over), ["record 2026-11-10", "inspection 2026-11-20"]);
    let instrument = |keys: &str| format!("instruments/mft-1.md: {{{keys}}}\n");
    let due = instrument("calibrations: [{on: 2025-11-20, due: 2026-11-20}]");
    let closed = [
        instrument("calibrations: [{on: 2025-11-20, due: 2026-11-20}, {on: 2026-11-19, due: 2027-11-19}]"),
        instrument("calibrations: [{on: 2025-11-20, due: 2026-11-20}], retired: 2026-11-24"),
    ];
    closes(&due, &["calibration 2026-11-20 mft-1"], &closed);
    let checks = |days: &[&str], last: &str| {
        let entries: Vec<String> = days.iter().map(|day| format!("{{on: {day}, result: passed}}")).collect();
        instrument(&format!("checks: [{}, {{on: 2026-11-01, result: {last}}}]", entries.join(", ")))
    };
    // Gaps of 28, 31, 28 and 31 days: the next is due 31 days after 2026-11-01.
    let monthly = ["2026-07-06", "2026-08-03", "2026-09-03", "2026-10-01"];
    assert_eq!(added(&checks(&monthly, "passed")), ["calibration 2026-12-02 mft-1"]);
    assert_eq!(added(&checks(&monthly[1..], "passed")), Vec::<String>::new(), "three gaps are no rhythm");
    assert_eq!(added(&checks(&["2026-01-01", "2026-08-03", "2026-09-03", "2026-10-01"], "passed")), Vec::<String>::new());
    assert_eq!(added(&checks(&monthly, "failed")), ["calibration 2026-11-01 mft-1"], "failed, and not found good since");
}

#[test]
fn units_under_a_warranty_or_a_notice() {
    let unit = |keys: &str| format!("units: [{{serial: CP-204117, {keys}}}]\n");
    let open = unit("warranty_until: 2027-01-10") + &fault("unit: CP-204117, state: fixed");
    let removed = visit("complete", "units: [{event: removed, serial: \"cp 204117\", circuit: main/1}]");
    closes(&open, &["warranty 2027-01-10 CP-204117"], &[unit("warranty_until: 2027-01-10"), open.clone() + &removed]);
    // Ended: only an open fault is still worth a claim.
    assert_eq!(added(&(unit("warranty_until: 2026-11-10") + &fault("unit: CP-204117, state: fixed"))), Vec::<String>::new());
    let ended = added(&(unit("warranty_until: 2026-11-10") + &fault("unit: CP-204117, state: open, return_by: 2026-12-01")));
    assert_eq!(ended, ["warranty 2026-11-10 CP-204117", "return 2026-12-01 f1"]);
    let notice = |keys: &str| format!("recalls/2026-11-15-tern.md: {{record: recall, issued: 2026-11-15, model: plover-7, {keys}}}\n");
    let recall = notice("serials: [{from: CP-200000, to: CP-209999}], advice: tighten the cover");
    let closed = [
        notice("serials: [{from: CP-200000, to: CP-209999}], done: [{serial: CP-204117}]"),
        notice("serials: [{from: CP-204118, to: CP-209999}]"),
        notice("serials: [{from: XP-200000, to: XP-209999}]"),
        notice("serials: [{from: CP-200000, to: CP-209999}], fitted: {from: 2026-11-03}"),
        notice("serials: [{from: CP-200000, to: CP-209999}], firmware_below: \"4.1\""),
        // Whom a notice without serials touches is only possible.
        notice("advice: tighten the cover"),
        recall.clone() + &removed,
    ];
    closes(&recall, &["recall - CP-204117"], &closed);
    assert_eq!(added(&notice("serials: [{from: CP-200000, to: CP-209999}], firmware_below: \"4.10\"")), ["recall - CP-204117"]);
    assert_eq!(added(&notice("serials: [{from: CP-204117}], advice: isolate until the cover screw is replaced")), ["!recall - CP-204117"]);
}

#[test]
fn promises_tasks_records_and_papers() {
    let promise = |keys: &str| format!("follow_ups: [{{what: send the photographs, with: customer, {keys}}}]\n");
    closes(&promise("due: 2026-12-10"), &["promise 2026-12-10 send the photographs"], &[promise("due: 2026-12-10, done: 2026-11-24")]);
    let task = |mark: &str| {
        format!("body: \"No photographs.\\n\\n- [{mark}] label the isolator (by 2026-12-11)\\n- [{mark}] ring about the gate\\n\"\n")
    };
    closes(&task(" "), &["task 2026-12-11 label the isolator", "task - ring about the gate"], &[task("x")]);
    let lights = |status: &str| visit(status, "extent: none");
    closes(&lights("planned"), &["record 2026-11-20"], &[lights("complete")]);
    closes(&lights("draft"), &["record -"], &[lights("complete")]);
    let next = "sites/elm-row/2026-11-22-go.md: {record: job, kind: callout, status: complete, title: Done, dates: {tested: 2026-11-22}, continues: 2026-11-20-callout}\n";
    closes(&lights("on-hold"), &["record -"], &[lights("complete"), lights("on-hold") + next]);
    let certificate =
        "papers: [{kind: installation-certificate, number: LE-0142, issued: 2026-11-03, given_to: customer, how: email, on: 2026-11-03}]";
    let none = "papers: []\n";
    closes(
        none,
        &["paper -"],
        &[format!("{certificate}\n"), format!("{none}{}", visit("complete", &format!("{CONTINUES}, {certificate}")))],
    );
    closes(
        "papers: [{kind: installation-certificate, number: LE-0142, issued: 2026-11-03}]\n",
        &["paper - LE-0142"],
        &[format!("{certificate}\n")],
    );
}

/// Each kind once, in one book: the whole page, as it was read line by line.
const ONE_OF_EACH: &str = r#"
status: complete
papers: []
next_inspection: 2027-01-15
units: [{serial: CP-204117, warranty_until: 2027-01-10}]
notices: [{to: network-operator, route: apply, sent: 2026-10-21, ref: EV-9}, {to: building-control, sent: 2026-11-12}]
follow_ups: [{what: send the photographs, with: customer, due: 2026-12-10}]
body: "No photographs.\n\n- [ ] label the isolator (by 2026-11-24)\n- [ ] ring about the gate\n"
faults:
  - {id: f1, symptom: heat, found: browned terminal, circuit: main/1, unit: CP-204117, code: C2, state: open, left: isolated, return_by: 2026-11-13, advice: {words: do not use the charge point, how: verbal}, claim: {with: wholesaler, sent: 2026-11-03, ref: R-88, chase: 2026-11-25}}
  - {id: f2, symptom: trips-later, found: nothing yet, circuit: main/2, code: C3, state: watching, left: live, watch_until: 2026-12-02}
sites/elm-row/2026-11-10-condition.md: {record: job, kind: inspect, status: complete, title: Report on the shed, dates: {tested: 2026-11-10}, observations: [{id: o1, code: FI, what: no end of the old cable found, where: loft}], papers: [{kind: condition-report, number: R-1, issued: 2026-11-11}], next_inspection: 2027-01-15}
sites/elm-row/2026-12-01-second.md: {record: job, kind: alter, status: planned, title: Second light}
recalls/2026-11-15-tern.md: {record: recall, issued: 2026-11-15, model: plover-7, serials: [{from: CP-200000, to: CP-209999}], advice: tighten the cover}
instruments/mft-1.md: {calibrations: [{on: 2025-12-20, due: 2026-12-20, certificate: C-77}]}
"#;

#[test]
fn one_of_each_kind_on_a_wide_and_on_a_narrow_screen() {
    let book = with(ONE_OF_EACH);
    for width in ["80", "40"] {
        let ran = run_with(book.root(), &[("COLUMNS", width)], &["due", "--on", TODAY]);
        assert_eq!((ran.status, ran.err.as_str()), (1, ""));
        insta::assert_snapshot!(format!("one_of_each_{width}"), ran.out);
    }
    // Every kind is there, and --kind picks it.
    for kind in [
        "danger",
        "return",
        "watch",
        "claim",
        "notice",
        "inspection",
        "observation",
        "recall",
        "calibration",
        "warranty",
        "promise",
        "task",
        "record",
        "paper",
    ] {
        let ran = run(book.root(), &["due", "--on", TODAY, "--kind", kind, "--format", "json"]);
        let report: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        let items = report["items"].as_array().unwrap();
        assert!(!items.is_empty(), "{kind}");
        let fits = |item: &serde_json::Value| match kind {
            "danger" => item["danger"] == true,
            "observation" => ["C1", "C2", "FI"].iter().any(|code| item["code"] == *code),
            _ => item["kind"] == kind,
        };
        assert!(items.iter().all(fits), "{kind}: {items:?}");
    }
}

#[test]
fn the_example_book_as_reviewed() {
    let ran = run_with(&repository(), &[("COLUMNS", "80")], &["due", "example-sites", "--on", TODAY]);
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
    insta::assert_snapshot!("example", ran.out);
    let json = run(&repository(), &["due", "example-sites", "--on", TODAY, "--kind", "notice", "--format", "json"]);
    insta::assert_snapshot!("example_notices_json", json.out);
}

#[test]
fn the_window_ends_where_the_calendar_says() {
    let until = |on: &str, within: &str| {
        let ran = run(TestBook::sound().root(), &["due", "--on", on, "--within", within, "--format", "json"]);
        serde_json::from_str::<serde_json::Value>(&ran.out).unwrap()["until"].as_str().unwrap().to_owned()
    };
    assert_eq!(until("2026-11-30", "3m"), "2027-02-28");
    assert_eq!(until("2027-11-30", "3m"), "2028-02-29");
    assert_eq!(until("2028-02-29", "1y"), "2029-02-28");
    assert_eq!(until("2026-12-31", "6w"), "2027-02-11");
    assert_eq!(until("2026-12-18", "14d"), "2027-01-01");
    for wrong in ["90", "d", "-3d", "3x", "1.5y", "99999d", "3\u{e9}"] {
        assert_eq!(run(TestBook::sound().root(), &["due", &format!("--within={wrong}")]).status, 2, "{wrong}");
    }
    // The last day is in, the next is not.
    let book = with("next_inspection: 2027-01-15\n");
    let told = |within: &str| run(book.root(), &["due", "--on", TODAY, "--within", within]).out.contains("inspect a home");
    assert!(told("51d") && !told("50d"));
}

#[test]
fn what_is_over_or_dangerous_is_told_whatever_the_window_and_sets_the_exit_status() {
    let status = |overlay: &str| run(with(overlay).root(), &["due", "--on", TODAY, "--within", "0d"]);
    assert_eq!(status(&fault("state: open, return_by: 2027-05-01")).status, 0);
    assert_eq!(status(&fault("state: open, return_by: 2026-11-25")).status, 0, "today is not over");
    let over = status(&fault("state: open, return_by: 2026-11-24"));
    assert!(over.status == 1 && over.out.contains("1 day over"), "{}", over.out);
    let danger = status(&fault("state: open, code: C1, return_by: 2027-05-01"));
    assert!(danger.status == 1 && danger.out.starts_with("Danger (1)\n"), "{}", danger.out);
}

#[test]
fn a_site_by_its_name_or_path_and_what_is_not_there() {
    let book = repository().join("example-sites");
    for path in ["moss-farm", "sites/moss-farm", "sites/moss-farm/2026-09-04-callout.md"] {
        let ran = run(&book, &["due", path, "--on", TODAY]);
        assert!(ran.status == 1 && ran.out.contains("keep dairy/3 off") && !ran.out.contains("tollgate"), "{path}: {}", ran.out);
    }
    let elsewhere = run(tempfile::tempdir().unwrap().path(), &["due", "moss-farm"]);
    assert!(elsewhere.status == 2 && elsewhere.err.contains("there is no moss-farm, and this folder is in no book"), "{}", elsewhere.err);
    let wrong = run(&book, &["due", "moss-frm"]);
    assert_eq!((wrong.status, wrong.out.as_str()), (2, ""));
    assert!(wrong.err.contains("there is no site moss-frm") && wrong.err.contains("Did you mean moss-farm?"), "{}", wrong.err);
}

#[test]
fn a_record_that_cannot_be_read_is_not_taken_for_one_that_owes_nothing() {
    let book = TestBook::sound();
    book.write("sites/elm-row/2026-11-20-broken.md", "---\nrecord: job\nfaults: [{id: f1, code: C1\n---\n");
    let ran = run(book.root(), &["due", "--on", TODAY]);
    assert_eq!(ran.status, 1);
    assert!(ran.out.contains("sites/elm-row/2026-11-20-broken.md: not read in full"), "{}", ran.out);
    // One word that cannot be read: the danger is told, and so is that the record was not read in full.
    let book = with(&fault("state: opne, code: C1"));
    let ran = run(book.root(), &["due", "--on", TODAY]);
    assert!(ran.status == 1 && ran.out.contains("Danger (1)") && ran.out.contains("not read in full"), "{}", ran.out);
}

#[test]
fn what_a_record_says_is_shown_and_not_obeyed() {
    let book = with("follow_ups: [{what: \"send\\u001b[2J it\\nDanger (9)\\u202e\", due: 2026-12-10}]\n");
    let ran = run(book.root(), &["due", "--on", TODAY]);
    assert!(ran.out.contains("    send\u{fffd}[2J it Danger (9)\u{fffd}\n"), "{}", ran.out);
    let json = run(book.root(), &["due", "--on", TODAY, "--format", "json"]).out;
    assert!(json.contains("send\\u001b[2J it\\nDanger (9)\\u202e"), "{json}");
    for out in [ran.out, json] {
        assert!(!out.contains('\u{1b}') && !out.contains('\u{202e}'));
    }
}
