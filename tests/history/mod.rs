//! `ampledger history`: stories of sites, circuits and units, whole, and pictures held against their data.

use std::path::Path;

use ampledger::book::Book;
use ampledger::history::{self, CircuitStory};
use ampledger::plot;
use ampledger::rules::view::SiteView;
use serde_json::Value;

use crate::cli::{run, run_with};
use crate::support::{TODAY, TestBook, repository};

fn history(book: &Path, width: &str, args: &[&str]) -> String {
    let args: Vec<&str> = ["history"].into_iter().chain(args.iter().copied()).chain(["--on", TODAY]).collect();
    let ran = run_with(book, &[("COLUMNS", width)], &args);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{args:?}");
    ran.out
}

fn example() -> std::path::PathBuf {
    repository().join("example-sites")
}

/// A circuit read at eight visits: its Zs creeps up, its insulation is off the scale at first, one Zs is calculated, one insulation reading
/// has the unit connected, and one visit could not read.
fn creeping() -> TestBook {
    let book = TestBook::sound();
    let visit = |day: &str, circuit: &str| {
        let text = format!(
            "---\nrecord: job\nkind: survey\nstatus: complete\ntitle: Look at the drive\nregulations: BS 7671:2018+A4:2026\n\
             dates: {{tested: {day}}}\npeople: {{tested: jd}}\ninstruments: [mft-1]\ncircuits:\n  - id: main/9\n{circuit}---\n"
        );
        book.write(&format!("sites/elm-row/{day}-look.md"), text);
    };
    visit(
        "2018-05-01",
        "    serves: pump in the drive\n    use: fixed\n    new: true\n    ocpd: {standard: BS EN 60898, curve: B, rating_a: 32}\n    \
         cable: {line_mm2: 6, cpc_mm2: 2.5, length_m: 20}\n    readings: {zs_ohm: 0.50, ir_live_earth_mohm: \">999\", rcd_ms: 20}\n",
    );
    visit("2019-05-01", "    readings: {zs_ohm: 0.55, ir_live_earth_mohm: 800}\n");
    visit("2020-05-01", "    readings: {zs_ohm: 0.61, ir_live_earth_mohm: 0.3, ir_with_unit: true}\n");
    visit(
        "2021-05-01",
        "    readings: {zs_ohm: 0.20, zs_by: calculated}\n    not_taken: {ir_live_earth_mohm: the pump could not be stopped}\n",
    );
    visit("2022-05-01", "    readings: {zs_ohm: 0.66, ir_live_earth_mohm: 400}\n");
    visit("2023-05-01", "    readings: {zs_ohm: 0.74, ir_live_earth_mohm: 60}\n");
    visit("2024-05-01", "    readings: {zs_ohm: 1.52}\n");
    book
}

fn story(book: &Path, site: &str, circuit: &str) -> CircuitStory {
    let book = Book::open(book).unwrap();
    let (records, _) = book.read_site(book.site(site).unwrap());
    history::circuit(&SiteView::new(&book, &records, TODAY.parse().unwrap()), circuit, None).unwrap()
}

#[test]
fn a_fault_of_three_visits_is_told_as_one() {
    insta::assert_snapshot!(history(&example(), "80", &["weir-house"]));
}

#[test]
fn a_site_on_a_telephone() {
    let out = history(&example(), "40", &["tollgate-14", "--since", "2022-01-01"]);
    assert!(out.lines().all(|line| line.chars().count() <= 40), "{out}");
    insta::assert_snapshot!(out);
}

#[test]
fn every_reading_where_all_are_asked_for() {
    insta::assert_snapshot!(history(&example(), "80", &["sexton-yard", "--all", "--since", "2026-09-01"]));
}

#[test]
fn a_circuit_side_by_side() {
    insta::assert_snapshot!(history(&example(), "80", &["weir-house/main/6"]));
}

#[test]
fn a_circuit_that_creeps_with_its_plots() {
    insta::assert_snapshot!(history(creeping().root(), "80", &["elm-row/main/9", "--plot"]));
}

#[test]
fn a_circuit_on_a_telephone() {
    let out = history(creeping().root(), "40", &["elm-row/main/9", "--plot"]);
    assert!(out.lines().all(|line| line.chars().count() <= 40), "{out}");
    insta::assert_snapshot!(out);
}

#[test]
fn a_unit_through_its_sites() {
    let out = history(&example(), "80", &["AL-31077"]);
    insta::assert_snapshot!(out);
    for spelling in ["al31077", "AL 31077", "al-31077"] {
        assert_eq!(history(&example(), "80", &[spelling]), out, "{spelling}");
    }
}

#[test]
fn what_changed_by_more_than_a_fifth() {
    insta::assert_snapshot!(history(&example(), "80", &["weir-house", "--changed", "20%"]));
    let nothing = history(&example(), "80", &["weir-house", "--changed", "500"]);
    assert_eq!(nothing, "weir-house: no reading changed by more than 500 % between the last two visits\n  that took it\n");
    // Off the scale: 999 and more, then 640, is a fall of 36 % at the least.
    let book = creeping();
    book.write(
        "sites/elm-row/2025-05-01-look.md",
        "---\nrecord: job\ndates: {tested: 2025-05-01}\ncircuits: [{id: main/9, readings: {ir_live_earth_mohm: \">999\"}}]\n---\n",
    );
    let out = history(book.root(), "200", &["elm-row", "--changed", "20"]);
    assert!(out.contains("main/9 IR L-E from 60 Mohm on 2023-05-01 to >999 Mohm on 2025-05-01 (at least +1565 %)"), "{out}");
}

#[test]
fn the_table_for_programs() {
    let out = history(creeping().root(), "80", &["elm-row/main/9", "--format", "json"]);
    let json: Value = serde_json::from_str(&out).unwrap();
    assert_eq!((json["format"].as_u64(), json["circuit"].as_str()), (Some(1), Some("main/9")));
    let visits = json["visits"].as_array().unwrap();
    assert_eq!(visits.len(), 7);
    assert_eq!(visits[0]["date"], "2024-05-01");
    let oldest = visits[6]["readings"].as_array().unwrap();
    let off_scale = oldest.iter().find(|reading| reading["reading"] == "ir_live_earth_mohm").unwrap();
    assert_eq!((off_scale["written"].as_str(), off_scale["scale"].as_str()), (Some(">999"), Some("above")));
    let series = json["series"].as_array().unwrap();
    let of = |key: &str| series.iter().find(|series| series["reading"] == key).unwrap();
    let zs = of("zs_ohm");
    let values: Vec<f64> = zs["points"].as_array().unwrap().iter().map(|point| point["value"].as_f64().unwrap()).collect();
    assert_eq!(values, [0.50, 0.55, 0.61, 0.66, 0.74, 1.52]);
    assert_eq!((zs["left_out"].as_u64(), zs["trend"]["enough_to_call"].as_bool()), (Some(1), Some(true)));
    // Six figures, each higher than the last: two orders of 720 lie as far out.
    assert!((zs["trend"]["kendall_p_exact"].as_f64().unwrap() - 2.0 / 720.0).abs() < 1e-12);
    // 800, 400 and 60: the first was off the scale, another had the unit connected. Too few to bear an interval.
    let insulation = of("ir_live_earth_mohm");
    assert_eq!((insulation["points"].as_array().unwrap().len(), insulation["left_out"].as_u64()), (3, Some(2)));
    assert_eq!((insulation["trend"]["interval_95"].is_null(), insulation["within_scatter"].as_bool()), (true, Some(false)));
}

#[test]
fn what_stood_there_before_is_no_point() {
    let book = creeping();
    book.write(
        "sites/elm-row/2025-05-01-new.md",
        "---\nrecord: job\nkind: alter\ndates: {tested: 2025-05-01}\ncircuits: [{id: main/9, new: true, readings: {zs_ohm: 0.30}}]\n---\n",
    );
    let out = history(book.root(), "120", &["elm-row/main/9"]);
    assert!(!out.contains("IR L-E: 60 Mohm on"), "the last reading of another circuit\n{out}");
    assert!(out.contains("Zs: 1 figure, too few to call a trend; 7 left out (another circuit or cable then)"), "{out}");
    assert!(!out.contains("device: "), "a new circuit inherits no device\n{out}");
}

#[test]
fn what_is_not_there_says_what_is() {
    let root = example();
    let none = |args: &[&str]| {
        let args: Vec<&str> = ["history"].into_iter().chain(args.iter().copied()).collect();
        let ran = run(&root, &args);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}");
        ran.err
    };
    let no_site = "ampledger: no such site, and no unit with that serial: ";
    assert_eq!(none(&["wier-hous"]), format!("{no_site}wier-hous\n  nearest: weir-house\n"));
    assert_eq!(none(&["weir"]), format!("{no_site}weir\n  nearest: weir-house\n"));
    assert_eq!(none(&["wier-house/main/6"]), format!("{no_site}wier-house/main/6\n  nearest: weir-house\n"));
    assert_eq!(none(&["..."]), format!("{no_site}...\n  `ampledger find` looks for words in all records.\n"));
    let no_circuit = none(&["weir-house/mian/6"]);
    assert!(no_circuit.starts_with("ampledger: weir-house has no circuit mian/6\n  nearest: main/6. It has main/1, "), "{no_circuit}");
    assert!(none(&["weir-house", "--plot"]).contains("--plot is for a circuit"));
    assert!(none(&["weir-house/main/6", "--all"]).contains("--all is for a site"));
}

#[test]
fn records_steer_no_terminal_and_give_no_private_detail_away() {
    let book = TestBook::sound();
    book.write("private/contacts.yaml", "elm-row: {name: Quillfeather, telephone: 01632 960001}\n");
    let text = "---\nrecord: job\ntitle: \"bell\\a \\e[31mred\"\ncircuits: [{id: main/1, serves: \"a\\e[2Jb\", readings: {zs_ohm: 0.4}}]\n\
                faults: [{id: f1, found: \"one\\ntwo\\e[31m\", circuit: main/1}]\n---\n";
    book.write("sites/elm-row/2026-11-03-odd.md", text);
    for of in ["elm-row", "elm-row/main/1", "CP-204117"] {
        let ran = run(book.root(), &["history", of, "--on", TODAY]);
        assert!(!ran.out.contains('\u{1b}') && !ran.out.contains('\u{7}') && !ran.out.contains("Quillfeather"), "{of}: {}", ran.out);
    }
    let out = history(book.root(), "80", &["elm-row"]);
    assert!(out.contains("bell\u{fffd} \u{fffd}[31mred") && out.contains("found: one two\u{fffd}[31m"), "{out}");
}

#[test]
fn a_broken_record_is_named_and_the_rest_is_told() {
    let book = creeping();
    book.write("sites/elm-row/2025-05-01-torn.md", "---\nrecord: job\ntitle: \"Torn\nkind: [survey\n");
    let out = history(book.root(), "80", &["elm-row"]);
    assert!(out.contains("not all of this record can be read; `ampledger check` says where"), "{out}");
    assert!(out.contains("2024-05-01 survey, complete: Look at the drive"), "{out}");
    // Two faults that name one another go round no circle.
    let text =
        "---\nrecord: job\nfaults:\n  - {id: f1, repeats: \"2025-06-01-round#f2\"}\n  - {id: f2, repeats: \"2025-06-01-round#f1\"}\n---\n";
    book.write("sites/elm-row/2025-06-01-round.md", text);
    assert!(history(book.root(), "80", &["elm-row"]).contains("fault 2025-06-01-round#f2"));
}

/// The texts, circles and dashes of a picture, in order.
fn drawn(svg: &str) -> (Vec<String>, Vec<(f64, f64)>) {
    let tree = roxmltree::Document::parse(svg).unwrap();
    let texts = tree.descendants().filter(|node| node.has_tag_name("text")).filter_map(|node| Some(node.text()?.trim().to_owned()));
    let number = |node: &roxmltree::Node<'_, '_>, name: &str| node.attribute(name).unwrap().parse().unwrap();
    let circles = tree.descendants().filter(|node| node.has_tag_name("circle"));
    (texts.collect(), circles.map(|node| (number(&node, "cx"), number(&node, "cy"))).collect())
}

#[test]
fn the_picture_shows_each_figure_where_it_belongs() {
    let book = creeping();
    let svg = book.root().join("zs.svg");
    let name = svg.display().to_string();
    let write = |more: &[&str]| {
        let args: Vec<&str> = ["history", "elm-row/main/9", "--svg", &name].into_iter().chain(more.iter().copied()).collect();
        run(book.root(), &args)
    };
    assert_eq!(write(&[]).status, 0);
    let text = std::fs::read_to_string(&svg).unwrap();
    let refused = write(&[]);
    assert_eq!(refused.status, 2);
    assert!(refused.err.contains("is there already"), "{}", refused.err);
    assert_eq!(write(&["--replace"]).status, 0);
    assert_eq!(std::fs::read_to_string(&svg).unwrap(), text, "the same figures, other bytes");

    let tree = roxmltree::Document::parse(&text).unwrap();
    let root = tree.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let word = |name: &str| root.children().find(|node| node.has_tag_name(name)).unwrap().text().unwrap();
    assert_eq!(word("title"), "elm-row main/9, pump in the drive: readings over the years");
    assert!(word("desc").contains("Zs in ohm: 0.50 on 2018-05-01, 0.55 on 2019-05-01,"), "{}", word("desc"));

    // One panel alone, so that every circle is a Zs.
    let story = story(book.root(), "elm-row", "main/9");
    let zs = story.series.iter().find(|series| series.key.as_str() == "zs_ohm").unwrap();
    let panel = history::panel(zs, &story.site, &story.id);
    let figure = plot::Figure { title: "a < b & c".to_owned(), description: "\"quoted\"".to_owned(), panels: vec![panel] };
    let (texts, circles) = drawn(&plot::svg(&figure).unwrap());
    // A B32 to BS EN 60898: 230 V x 0.95 / 160 A, to the printed digit.
    for label in ["0.50", "0.55", "0.61", "0.20", "0.66", "0.74", "1.52", "limit 1.37 ohm", "Zs, ohm", "day of the test"] {
        // 0.50 stands at the axis too.
        let times = if label == "0.50" { 2 } else { 1 };
        assert_eq!(texts.iter().filter(|text| *text == label).count(), times, "{label}: {texts:?}");
    }
    assert!(texts.iter().any(|text| text.starts_with("elm-row main/9: Zs, ohm; line: Theil-Sen slope +0.05")), "{texts:?}");
    // Seven figures with the calculated one, each as far to the right as its day is late, and as high as it is great.
    let values = [0.50, 0.55, 0.61, 0.20, 0.66, 0.74, 1.52];
    assert_eq!(circles.len(), values.len());
    let scale = (circles[6].1 - circles[0].1) / (values[6] - values[0]);
    for ((x, y), (index, value)) in circles.iter().zip(values.iter().enumerate()) {
        let right = circles[0].0 + (circles[6].0 - circles[0].0) * index as f64 / 6.0;
        assert!((x - right).abs() <= 1.5, "{value}: {x} against {right}");
        let down = circles[0].1 + scale * (value - values[0]);
        assert!((y - down).abs() <= 1.5, "{value}: {y} against {down}");
    }
}

#[test]
fn off_the_scale_is_told_by_shape() {
    let book = creeping();
    let story = story(book.root(), "elm-row", "main/9");
    let insulation = story.series.iter().find(|series| series.key.as_str() == "ir_live_earth_mohm").unwrap();
    let panel = history::panel(insulation, "elm-row", "main/9");
    assert_eq!(plot::text(&panel, 60).iter().filter(|line| line.contains("^ more than shown")).count(), 1);
    let svg = plot::svg(&plot::Figure { title: String::new(), description: String::new(), panels: vec![panel] }).unwrap();
    let tree = roxmltree::Document::parse(&svg).unwrap();
    // 800, 400 and 60 are filled circles, 0.3 with the unit connected an open one, >999 a triangle.
    let circles: Vec<_> = tree.descendants().filter(|node| node.has_tag_name("circle")).collect();
    assert_eq!(circles.iter().filter(|node| node.attribute("fill") == Some("none")).count(), 1);
    assert_eq!(circles.len(), 4);
    assert_eq!(tree.descendants().filter(|node| node.has_tag_name("polygon")).count(), 1);
}
