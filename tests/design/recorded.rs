//! Circuits of a book.

use ampledger::rules::Example;

use super::{Work, ran};
use crate::support::{SOUND_JOB, TestBook, repository};

const VISIT: &str = "elm-row/2026-11-02-shed";

/// A second board at the end of a sub-main, with sockets on it.
const OUTHOUSE: &str = "\
sites/elm-row/site.md: {boards: [{id: shed, fed_from: main/3}]}
circuits:
  - {id: main/3, use: sub-main, new: true, design_a: 40, ocpd: {standard: BS EN 60898, curve: B, rating_a: 50, poles: 1},
     cable: {make_up: armoured-90, cores: 3, line_mm2: 10, cpc_mm2: 10, cpc: core, length_m: 30, method: C}}
  - {id: shed/1, use: sockets, new: true, design_a: 16, ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 20, breaking_ka: 6, poles: 1},
     rcd: {type: A, trip_ma: 30}, cable: {make_up: flat-70, line_mm2: 2.5, cpc_mm2: 1.5, cpc: core, length_m: 12, method: C}}
";

fn outhouse(more: &str) -> TestBook {
    let book = TestBook::with(&Example::Keys(OUTHOUSE));
    crate::support::apply(book.root(), more);
    book
}

#[test]
fn a_visit_and_its_site_supply_the_facts() {
    let book = TestBook::sound();
    let work = Work::in_folder(book.root(), &[VISIT, "--circuit", "main/1"]);
    assert_eq!((work.status, work.summary()), (0, [12, 0, 0]));
    // Zdb 0.20 as read; 6.16 x 18 / 1000 x 1.28 = 0.14193.
    assert_eq!(work.held("zs"), (0.342, 1.09));
    assert!(work.notes("zs").contains("Zdb 0.2 ohm as read at the board (2026-11-02-shed)"));
    assert_eq!(work.held("breaking-capacity"), (1.15, 10.0));
    // 80 - 57; a house with a separate service, and 57 A within the 60 A that may be notified.
    assert_eq!(work.results("demand"), [23.0]);
    assert!(work.notes("operator").contains("notify within 28 days"));
    let given = work.at("/given").to_string();
    assert!(given.contains(r#""key":"cable.length_m","value":"18 m, measured","from":"2026-11-02-shed""#), "{given}");

    let looped = TestBook::with(&Example::Keys("sites/elm-row/site.md: {supply: {service: looped}}"));
    assert!(
        Work::in_folder(looped.root(), &[VISIT, "--circuit", "main/1"])
            .notes("operator")
            .contains("Apply and wait for the answer: looped service")
    );
}

#[test]
fn a_demand_to_be_tried_decides_the_operators_route() {
    let book = TestBook::with(&Example::Keys("supply: {max_demand_a: ~}\ncircuits: [{id: main/1, ev: {load_limit: ~}}]"));
    let with = |more: &[&str]| Work::in_folder(book.root(), &[&[VISIT, "--circuit", "main/1"], more].concat());
    assert_eq!(with(&[]).missing("operator").1, "supply.max_demand_a, --max-demand");
    // A house may notify up to 60 A (Energy Networks Association).
    assert!(with(&["--max-demand", "70"]).notes("operator").contains("Apply and wait for the answer: demand 70 A over 60 A."));
    let limited = TestBook::with(&Example::Keys("supply: {max_demand_a: ~}"));
    let work = Work::in_folder(limited.root(), &[VISIT, "--circuit", "main/1", "--max-demand", "70"]);
    assert_eq!(work.results("operator"), [60.0]);
    assert!(work.notes("operator").contains("Held down by a load limit only"));
}

#[test]
fn the_visit_may_be_named_by_its_file_and_from_elsewhere() {
    let book = TestBook::sound();
    let by_name = ran(book.root(), &[VISIT]);
    let by_file = ran(book.root(), &[SOUND_JOB]);
    let within = ran(&book.root().join("sites/elm-row"), &["2026-11-02-shed.md"]);
    let outside = ran(&repository(), &[VISIT, "--book", book.root().to_str().unwrap()]);
    assert!(by_name.out.contains("main/1, charge point on the garage wall") && by_name.out.contains("main/2, light in the shed"));
    for other in [by_file, within, outside] {
        assert_eq!((other.status, other.out.as_str()), (by_name.status, by_name.out.as_str()));
    }
}

#[test]
fn a_flag_stands_in_place_of_the_record_and_is_marked() {
    let book = TestBook::sound();
    let before = book.read(SOUND_JOB);
    let ran = ran(book.root(), &[VISIT, "--circuit", "main/1", "--line", "10"]);
    assert!(ran.out.contains("* cable.line_mm2: 10 mm2 (--line; the record says 6 mm2)\n"), "{}", ran.out);
    // 4.7 mV/A/m: 4.7 x 32 x 18 / 1000 = 2.707 V. The cpc follows the size: 3.66 x 18 / 1000 = 0.066 ohm.
    assert!(ran.out.contains("4.7 mV/A/m x 32 A x 18 m / 1000 = 2.71 V") && ran.out.contains("= 0.066 ohm"), "{}", ran.out);
    assert_eq!(book.read(SOUND_JOB), before);
    let same = super::ran(book.root(), &[VISIT, "--circuit", "main/1", "--line", "6"]);
    assert!(!same.out.contains("the record says"), "the same value is no change");
}

#[test]
fn what_an_earlier_visit_knows_is_taken_from_there() {
    let book = TestBook::sound();
    let later = "---\nrecord: job\nkind: survey\nstatus: draft\ncircuits: [{id: main/1, cable: {make_up: armoured-90, cores: 3, line_mm2: 10, cpc_mm2: 10, cpc: core, length_m: 41, method: C}}]\n---\n";
    book.write("sites/elm-row/2026-11-20-survey.md", later);
    let work = Work::in_folder(book.root(), &["elm-row/2026-11-20-survey"]);
    // 4.7 x 32 x 41 / 1000 = 6.166 V.
    assert_eq!(work.results("volt-drop")[0], 6.17);
    let given = work.at("/given").to_string();
    assert!(given.contains(r#""key":"ocpd","value":"BS EN 61009-1 B40","from":"2026-11-02-shed""#), "{given}");
    assert!(given.contains(r#""key":"cable.length_m","value":"41 m","from":"2026-11-20-survey""#), "{given}");
}

#[test]
fn a_sub_main_before_it_counts() {
    // Sub-main: 4.7 x 40 x 30 / 1000 = 5.64 V, 2.452 %. Own: 18 x 16 x 12 / 1000 = 3.456 V, 1.503 %. Together 3.955 %.
    let book = outhouse("{}");
    let work = Work::in_folder(book.root(), &[VISIT, "--circuit", "shed/1"]);
    assert_eq!((work.status, work.verdict("volt-drop"), work.verdict("volt-drop-upstream")), (0, "expected", "expected"));
    assert_eq!((work.results("volt-drop")[..2].to_vec(), work.results("volt-drop-upstream")), (vec![3.46, 1.50], vec![5.64, 2.45]));
    assert_eq!(work.held("volt-drop-total"), (3.95, 5.0));
    // No Zdb: Ze 0.19 + 3.66 x 30 / 1000 x 1.28 = 0.19 + 0.14054 = 0.33054. Own, hot: 19.51 x 12 / 1000 x 1.2 = 0.28094. Zs 0.611.
    assert_eq!(work.held("zs"), (0.611, 2.19));
    assert!(work.notes("zs").contains("worked from the cables, not read"));
    // (5 - 2.452) % of 230 V = 5.86 V; 5860 / (18 x 16) = 20.35 m.
    assert_eq!(work.longest(), (20.0, "volt drop"));

    // 60 m of sub-main: 4.904 % and 1.503 %: over.
    let far = outhouse("circuits: [{id: main/3, cable: {length_m: 60}}]");
    let work = Work::in_folder(far.root(), &[VISIT, "--circuit", "shed/1"]);
    assert_eq!((work.status, work.verdict("volt-drop-total"), work.held("volt-drop-total").0), (1, "fails", 6.41));

    let read = outhouse("boards: [{id: shed, zdb_ohm: 0.30}]");
    let work = Work::in_folder(read.root(), &[VISIT, "--circuit", "shed/1"]);
    assert_eq!(work.held("zs").0, 0.581);
    assert!(work.notes("zs").contains("as read at the board"));

    let unknown = outhouse("circuits: [{id: main/3, design_a: ~}]");
    let work = Work::in_folder(unknown.root(), &[VISIT, "--circuit", "shed/1"]);
    assert_eq!(work.missing("volt-drop-total"), ("the design current of main/3 is missing", "design_a"));
    let no_cable = outhouse("circuits: [{id: main/3, cable: ~}]");
    let work = Work::in_folder(no_cable.root(), &[VISIT, "--circuit", "shed/1"]);
    assert!(work.missing("zs").1.contains("boards.zdb_ohm"));
}

#[test]
fn ze_is_measured_or_else_declared_and_says_which() {
    let plain = "supply: {ze_ohm: ~}\nboards: ~\n";
    let book = TestBook::with(&Example::Keys(plain));
    let work = Work::in_folder(book.root(), &[VISIT, "--circuit", "main/1"]);
    // Declared 0.35 + 0.14193.
    assert_eq!(work.held("zs").0, 0.492);
    assert!(work.notes("zs").contains("declared by the operator"));
    let none =
        TestBook::with(&Example::Keys(&*Box::leak(format!("{plain}sites/elm-row/site.md: {{supply: {{declared: ~}}}}").into_boxed_str())));
    let work = Work::in_folder(none.root(), &[VISIT, "--circuit", "main/1"]);
    assert_eq!(work.missing("zs").1, "supply.ze_ohm, --ze");
}

#[test]
fn a_point_on_its_own_electrode_leaves_the_supplys_loop() {
    let book = TestBook::with(&Example::Keys("supply: {electrode_ohm: 85}\ncircuits: [{id: main/1, ev: {open_pen: tt}}]"));
    let work = Work::in_folder(book.root(), &[VISIT, "--circuit", "main/1"]);
    assert!(!work.has("zs"));
    // 85 + 0.14193 ohm, x 30 mA: 2.55 V.
    assert_eq!(work.held("touch-voltage"), (2.55, 50.0));
}

#[test]
fn a_value_that_cannot_be_read_is_never_left_out_quietly() {
    let book = TestBook::sound();
    book.write(SOUND_JOB, book.read(SOUND_JOB).replacen("ambient_c: 30, grouped: 1", "ambient_c: 30, grouped: four", 1));
    let one = ran(book.root(), &[VISIT, "--circuit", "main/1", "--grouped", "1"]);
    assert_eq!((one.status, one.out.as_str()), (2, ""));
    assert!(one.err.contains("main/1") && one.err.contains("ampledger check sites/elm-row/2026-11-02-shed.md"), "{}", one.err);
    // The other circuit of the visit is worked all the same.
    let all = ran(book.root(), &[VISIT]);
    assert_eq!(all.status, 2);
    assert!(all.out.contains("main/2, light in the shed") && !all.out.contains("main/1, "));
    let lost = TestBook::sound();
    lost.write(SOUND_JOB, "---\nrecord: [\n---\n");
    assert_eq!(ran(lost.root(), &[VISIT]).status, 2);
}
