//! The papers: what each must hold by `items.csv`, its gaps, when it may be final, and text that would break out of it.

mod browser;

use std::collections::BTreeSet;

use scraper::{ElementRef, Html, Selector};
use serde::Deserialize;
use sha2::{Digest, Sha256};

use ampledger::book::Book;
use ampledger::paper::words::{Language, Phrase};
use ampledger::paper::{Asked, Kind, html, make};
use ampledger::rules::view::SiteView;

use crate::cli::{Ran, run, run_with};
use crate::support::{SOUND_JOB, TODAY, TestBook, apply, repository};

/// Everything the papers ask for, laid over the sound book.
const RICH: &str = include_str!("rich.yaml");

/// What makes an inspection of the sound visit.
const INSPECTION: &str = "
kind: inspect
dates: {designed: ~, installed: ~, energised: ~}
people: {designed: ~, built: ~}
outcome: unsatisfactory
extent: whole installation
circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}, {id: main/4, new: ~}]
papers: [{kind: condition-report, number: LE-0143, issued: 2026-11-03, given_to: customer, how: email, on: 2026-11-03}]
limitations: [{what: loft wiring, where: loft, why: no boards to walk on, kind: agreed, agreed_with: customer, on: 2026-11-02, effect: joints there were not seen, lift: when the loft is boarded}]
observations:
  - {id: o1, code: C1, what: bare live end in reach, where: main/2 shed door, clause: \"416.2\", due: 2026-11-02, cleared_by: 2026-11-02-shed,
     made_safe: {how: cut off at main/2, notice: true, told: customer, on: 2026-11-02}, advice: {words: leave main/2 off, how: written, on: 2026-11-02, acknowledged: true}}
  - {id: o2, code: C2, what: cracked cover, where: shed, clause: \"416.2\", due: 2026-11-30, made_safe: {how: taped over and labelled, notice: true, told: customer, on: 2026-11-02},
     advice: {words: do not use the light in the shed, how: written, on: 2026-11-02, acknowledged: true}}
notices: ~";

/// What makes an alteration of the sound visit.
const ALTERATION: &str = "
kind: alter
circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}, {id: main/4, new: ~}]
papers: [{kind: minor-works-certificate, number: LE-0144, issued: 2026-11-03, given_to: customer, how: email, on: 2026-11-03}]
notices: ~";

/// What makes a callout with a danger of the sound visit.
const CALLOUT: &str = "
kind: callout
circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}, {id: main/4, new: ~}]
papers: [{kind: advice-note, number: LE-0145, issued: 2026-11-03, given_to: customer, how: by-hand, on: 2026-11-03}]
faults:
  - {id: f1, reported: 2026-11-01, symptom: heat, found: terminal of the shed light burnt, cause: termination, laid_to: unknown, circuit: main/2, code: C2, state: open, left: isolated,
     made_safe: {how: locked off at main/2, notice: true, told: customer, on: 2026-11-02}, advice: {words: keep main/2 off until it is renewed, how: written, on: 2026-11-02, acknowledged: true},
     return_by: 2026-12-01}
notices: ~";

/// A visit that says as little as a finished record can.
const POOR: &str =
    "---\nrecord: job\nstatus: complete\ninstruments: [mft-9]\nlimitations: [{}]\nobservations: [{id: o1}, {id: o2, code: C1}]\n---\n";

/// An item that a paper must hold.
#[derive(Debug, Deserialize)]
struct Item {
    row: String,
    paper: String,
    holds: String,
    poor: String,
    source: String,
}

fn items() -> Vec<Item> {
    let table = include_str!("items.csv");
    csv::Reader::from_reader(table.as_bytes()).deserialize().map(Result::unwrap).collect()
}

fn all<'a>(page: &'a Html, selector: &str) -> Vec<ElementRef<'a>> {
    page.select(&Selector::parse(selector).unwrap()).collect()
}

fn text(element: ElementRef<'_>) -> String {
    element.text().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The places of an item: facts, columns' cells and sections under its key.
fn places<'a>(page: &'a Html, key: &str) -> Vec<ElementRef<'a>> {
    all(page, &format!("[data-holds=\"{key}\"], [data-cell=\"{key}\"]"))
}

fn rich(more: &str) -> TestBook {
    let book = TestBook::sound();
    apply(book.root(), RICH);
    apply(book.root(), more);
    book
}

fn poor() -> TestBook {
    let book = TestBook::sound();
    std::fs::remove_file(book.root().join("sites/elm-row/site.md")).unwrap();
    book.write("book.yaml", "format: 1\n");
    book.write(SOUND_JOB, POOR);
    book
}

/// The book whose visit is the subject of that paper.
fn rich_for(paper: &str) -> TestBook {
    match paper {
        "installation-certificate" => rich("{}"),
        "minor-works-certificate" => rich(ALTERATION),
        "condition-report" => rich(INSPECTION),
        "advice-note" | "callout-report" | "customer-sheet" => rich(CALLOUT),
        other => panic!("no paper is called {other}"),
    }
}

fn paper(book: &TestBook, arguments: &[&str]) -> Ran {
    run(book.root(), &[&["paper", SOUND_JOB, "--on", TODAY], arguments].concat())
}

fn page(book: &TestBook, arguments: &[&str]) -> Html {
    let ran = paper(book, arguments);
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    Html::parse_document(&ran.out)
}

const KINDS: [&str; 6] =
    ["installation-certificate", "minor-works-certificate", "condition-report", "advice-note", "callout-report", "customer-sheet"];

#[test]
fn every_paper_holds_what_it_must_from_a_record_that_says_it() {
    let items = items();
    for kind in KINDS {
        let book = rich_for(kind);
        let page = page(&book, &["--kind", kind]);
        for item in items.iter().filter(|item| item.paper == kind) {
            let places = places(&page, &item.holds);
            assert!(!places.is_empty(), "{} ({}): {kind} has no place for {}", item.row, item.source, item.holds);
            let gap = Selector::parse(".gap").unwrap();
            for place in &places {
                assert!(!text(*place).is_empty(), "{}: {kind} says nothing of {}", item.row, item.holds);
                assert!(place.select(&gap).next().is_none(), "{}: {kind} has a gap in {}: {}", item.row, item.holds, text(*place));
            }
        }
    }
    let rows: BTreeSet<&str> = items.iter().map(|item| item.row.as_str()).collect();
    assert_eq!(rows.len(), 35, "{rows:?}");
}

#[test]
fn a_poor_record_shows_its_gaps_where_they_are() {
    let book = poor();
    for kind in KINDS {
        let page = page(&book, &["--kind", kind]);
        for item in items().iter().filter(|item| item.paper == kind && item.poor != "none") {
            let mark = Selector::parse(if item.poor == "by-hand" { ".by-hand" } else { ".gap" }).unwrap();
            let shown = places(&page, &item.holds).iter().any(|place| place.select(&mark).next().is_some());
            assert!(shown, "{}: {kind} shows no gap at {}", item.row, item.holds);
        }
        assert_eq!(all(&page, ".stamp").len(), 1, "{kind} is marked as a draft");
        // The sheet of one page has no room for the list.
        let listed: Vec<String> = all(&page, "#gaps li").iter().map(|item| text(*item)).collect();
        assert_eq!(listed.is_empty(), kind == "customer-sheet", "{kind}: {listed:?}");
        let refused = paper(&book, &["--kind", kind, "--final"]);
        assert_eq!(refused.status, 1, "{kind}: {}", refused.out);
        assert!(refused.out.contains("not recorded"), "{}", refused.out);
    }
}

#[test]
fn a_whole_record_makes_a_final_paper() {
    for kind in KINDS {
        let book = rich_for(kind);
        let ran = paper(&book, &["--kind", kind, "--final"]);
        assert_eq!(ran.status, 0, "{kind}: {}{}", ran.out, ran.err);
        let page = Html::parse_document(&ran.out);
        assert!(all(&page, ".gap, .stamp, .to-do, body.draft").is_empty(), "{kind}");
        assert!(!ran.out.contains("Draft"), "{kind}");
    }
}

#[test]
fn a_danger_refuses_the_final_paper_by_name_and_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let example = repository().join("example-sites");
    let file = folder.path().join("paper.html");
    let arguments = ["paper", "dovetail-workshop/2024-10-22-compressor", "--on", TODAY, "--final", "--out", "paper.html", "--book"];
    let ran = run(folder.path(), &[&arguments[..], &[example.to_str().unwrap()]].concat());
    assert_eq!(ran.status, 1, "{}", ran.err);
    assert!(ran.out.contains("danger zs-over-limit: main/8: Zs 0.92 ohm is over the 0.68 ohm"), "{}", ran.out);
    assert!(!file.exists());
}

#[test]
fn the_wrong_paper_is_never_final() {
    let book = rich("{}");
    let refused = paper(&book, &["--kind", "minor-works-certificate", "--final"]);
    assert_eq!(refused.status, 1);
    assert!(refused.out.contains("main/1 is a new circuit"), "{}", refused.out);
    let refused = paper(&rich(INSPECTION), &["--kind", "installation-certificate", "--final"]);
    assert!(refused.out.contains("ends in a condition report"), "{}", refused.out);
}

#[test]
fn a_draft_record_makes_no_final_paper() {
    let refused = paper(&rich("status: draft"), &["--final"]);
    assert_eq!(refused.status, 1);
    assert!(refused.out.contains("not finished"), "{}", refused.out);
}

#[test]
fn each_altered_circuit_has_a_certificate_and_a_signature_of_its_own() {
    let page = page(&rich(ALTERATION), &[]);
    let sheets: Vec<String> = all(&page, "article.sheet").iter().map(|sheet| text(*sheet)).collect();
    assert_eq!(sheets.len(), 3);
    for (sheet, id) in sheets.iter().zip(["main/1", "main/2", "main/4"]) {
        assert!(sheet.contains(id), "{sheet}");
    }
    assert_eq!(all(&page, "[data-holds=\"sign-minor\"]").len(), 3);
}

#[test]
fn what_an_earlier_visit_knows_bears_that_visit() {
    let book = rich("{}");
    let later = "---\nrecord: job\nkind: inspect\nstatus: complete\ncircuits: [{id: main/2, readings: {zs_ohm: 0.66}}]\n---\n";
    book.write("sites/elm-row/2026-11-20-look.md", later);
    let ran = run(book.root(), &["paper", "elm-row/2026-11-20-look", "--on", TODAY]);
    let page = Html::parse_document(&ran.out);
    let cell = text(all(&page, "td[data-cell=\"ocpd-rating\"]")[0]);
    assert_eq!(cell, "6a");
    let notes = text(all(&page, "#circuit-details .table-notes")[0]);
    assert!(notes.starts_with("a from the visit 2026-11-02-shed"), "{notes}");
}

#[test]
fn limits_are_those_of_the_rules_with_their_source() {
    let page = page(&rich("{}"), &[]);
    // 218.5 V / (5 x 40 A) and / (5 x 6 A), the figures of Table 41.3 for B40 and B6.
    let limits: Vec<String> = all(&page, "td[data-cell=\"max-zs\"]").iter().map(|cell| text(*cell)).collect();
    assert_eq!(limits[..2], ["1.09", "7.28"]);
    let notes = text(all(&page, "#circuit-details .table-notes")[0]);
    assert!(notes.contains("BS 7671:2018+A2:2022 Table 41.3"), "{notes}");
    let off_scale = text(all(&page, "td[data-cell=\"ir-live-live\"]")[0]);
    assert_eq!(off_scale, ">999", "off the scale as it was written");
}

#[test]
fn a_reading_not_taken_says_why_and_is_no_gap() {
    let book = rich("circuits: [{id: main/1, readings: {rcd_dc_ms: ~}, not_taken: {rcd_dc_ms: tester has no d.c. test}}]");
    let page = page(&book, &[]);
    assert_eq!(text(all(&page, "td[data-cell=\"rcd-dc-ms\"]")[0]), "not taken");
    assert!(text(all(&page, "[data-holds=\"remarks\"]")[0]).contains("tester has no d.c. test"));
}

#[test]
fn a_charge_point_left_out_of_a_report_has_to_be_named() {
    let book = rich("{}");
    let look = |limit: &str| {
        let job = format!("---\nrecord: job\nkind: inspect\nstatus: complete\ncircuits: [{{id: main/2}}]\nlimitations: [{limit}]\n---\n");
        book.write("sites/elm-row/2026-11-20-look.md", job);
        let ran = run(book.root(), &["paper", "elm-row/2026-11-20-look", "--on", TODAY]);
        text(all(&Html::parse_document(&ran.out), "[data-holds=\"charging-included\"] dd")[0])
    };
    assert_eq!(look("{what: the loft}"), "not recorded");
    assert_eq!(look("{what: main/1 charge point}"), "no; see the limitation: main/1 charge point");
}

/// A book whose texts would break out of the paper.
fn hostile() -> TestBook {
    const EVIL: &str = "</title></style><script>alert(1)</script><img src=x onerror=alert(2)>\\\"'&";
    rich(&format!(
        "title: \"{EVIL}\"\nextent: \"{EVIL}\"\npapers: [{{kind: installation-certificate, number: \"{EVIL}\", issued: 2026-11-03}}]\n\
         circuits: [{{id: main/1, serves: \"{EVIL}\"}}]\nsites/elm-row/site.md: {{name: \"{EVIL}\"}}\nbook.yaml: {{trading_as: \"{EVIL}\"}}\n\
         body: \"<script>alert(3)</script>\\n\\n[go](javascript:alert(4)) <b onclick=alert(5)>x</b> ![p](http://example.org/p.png)\\n\\n# Head\\n\""
    ))
}

#[test]
fn text_of_a_record_stays_text() {
    let ran = paper(&hostile(), &["--notes"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let page = Html::parse_document(&ran.out);
    for forbidden in ["script", "img", "a", "b", "iframe", "object", "link", "form", "svg", "body style", "body title"] {
        assert!(all(&page, forbidden).is_empty(), "{forbidden} in {}", ran.out);
    }
    assert_eq!(all(&page, "style").len(), 1);
    let style = text(all(&page, "style")[0]);
    assert!(!style.contains("alert(1)</") && style.trim_end().ends_with('}'), "{style}");
    for element in page.root_element().descendants().filter_map(ElementRef::wrap) {
        assert!(element.value().attrs().all(|(name, value)| !name.starts_with("on") && !value.contains("alert")), "{:?}", element.value());
    }
    assert!(text(all(&page, "title")[0]).contains("<script>alert(1)</script>"), "the title shows the text");
    assert!(text(all(&page, ".notes")[0]).contains("<script>alert(3)</script>"), "so do the notes");
    assert!(!ran.out.contains("javascript:"));
}

#[test]
fn names_and_addresses_are_printed_only_when_asked_for() {
    let book = rich("{}");
    book.write("private/contacts.yaml", "elm-row: {name: Q. Nobody, address: [1 Elm Row, Nowhere], telephone: \"01632 960000\"}\n");
    let without = paper(&book, &[]).out;
    let with = paper(&book, &["--private"]).out;
    assert!(!without.contains("Nobody") && !without.contains("Elm Row, Nowhere"));
    let page = Html::parse_document(&with);
    assert_eq!(text(all(&page, "[data-holds=\"client\"] dd")[0]), "Q. Nobody");
    assert_eq!(text(all(&page, "[data-holds=\"site-address\"] dd")[0]), "1 Elm Row, Nowhere");
    assert!(!with.contains("960000"));
}

#[test]
fn every_owed_paper_of_the_example_book_is_a_sound_page() {
    let book = Book::open(&repository().join("example-sites")).unwrap();
    let on = TODAY.parse().unwrap();
    let mut made = BTreeSet::new();
    for files in &book.sites {
        let (records, _) = book.read_site(files);
        let view = SiteView::new(&book, &records, on);
        for job in view.jobs() {
            for kind in [Kind::owed(job), Kind::CustomerSheet] {
                let asked = Asked { kind, language: Language::English, client: None, notes: true, findings: &[] };
                let paper = make(job, &asked).unwrap();
                let text = html::render(&paper);
                assert_eq!(text, html::render(&make(job, &asked).unwrap()), "the same bytes twice");
                let bytes = std::fs::read(book.root.join(&job.record.source.path)).unwrap();
                let digest: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
                assert!(text.contains(&digest), "{} bears its digest", job.id());
                assert_sound(&text, job.id());
                made.insert(kind.title());
            }
        }
    }
    assert!(made.len() >= 5, "{made:?}");
}

/// What holds of every page: named, in one language, one heading above all, landmarks, no heading skipped, tables that can be listened
/// to, every id once, and nothing from elsewhere.
fn assert_sound(source: &str, name: &str) {
    let page = Html::parse_document(source);
    assert!(page.errors.is_empty(), "{name}: {:?}", page.errors);
    assert_eq!(page.root_element().value().attr("lang"), Some("en-GB"));
    assert!(!text(all(&page, "title")[0]).is_empty());
    for once in ["h1", "main", "header", "footer"] {
        assert_eq!(all(&page, once).len(), 1, "{name}: {once}");
    }
    let mut above = 0;
    for heading in all(&page, "main h2, main h3, main h4, main h5, main h6") {
        let level = heading.value().name()[1..].parse::<u32>().unwrap();
        let in_notes = heading.ancestors().filter_map(ElementRef::wrap).any(|element| element.value().attr("class") == Some("notes"));
        assert!(in_notes || level <= above + 1 || above == 0, "{name}: {} under h{above}", text(heading));
        above = level;
    }
    for table in all(&page, "table") {
        let first = |selector: &str| table.select(&Selector::parse(selector).unwrap()).next();
        let of_notes = table.ancestors().filter_map(ElementRef::wrap).any(|element| element.value().attr("class") == Some("notes"));
        assert!(of_notes || !text(first("caption").unwrap()).is_empty(), "{name}");
        assert!(of_notes || table.select(&Selector::parse("th").unwrap()).all(|head| head.value().attr("scope").is_some()), "{name}");
        let width = table.select(&Selector::parse("thead th").unwrap()).count();
        for row in table.select(&Selector::parse("tbody tr").unwrap()) {
            assert_eq!(row.select(&Selector::parse("th, td").unwrap()).count(), width, "{name}: {}", text(row));
        }
    }
    let ids: Vec<&str> = all(&page, "[id]").iter().map(|element| element.value().attr("id").unwrap()).collect();
    assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "{name}: {ids:?}");
    for named in all(&page, "[aria-labelledby]") {
        let label = named.value().attr("aria-labelledby").unwrap();
        assert!(ids.contains(&label), "{name}: nothing is called {label}");
    }
    assert!(all(&page, "script, link, img, a[href], iframe").is_empty(), "{name}");
    assert!(!source.contains("url(") && !source.contains("@import"), "{name}");
    assert!(source.contains("counter(pages)"), "{name}");
}

#[test]
fn phrases_have_keys_of_their_own() {
    let keys: BTreeSet<&str> = Phrase::ALL.iter().map(|phrase| phrase.key()).collect();
    assert_eq!(keys.len(), Phrase::ALL.len());
    assert!(keys.iter().all(|key| key.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')));
}

#[test]
fn files_are_not_replaced_unasked() {
    let book = rich("{}");
    let first = paper(&book, &["--out", "paper.html"]);
    assert_eq!(first.out, "paper.html: electrical installation certificate, draft, nothing missing\n");
    let second = paper(&book, &["--out", "paper.html"]);
    assert_eq!(second.status, 2);
    assert!(second.err.contains("paper.html is there already"), "{}", second.err);
    assert_eq!(paper(&book, &["--out", "paper.html", "--replace"]).status, 0);
}

#[test]
fn a_visit_that_is_not_there_is_told_with_the_nearest() {
    let ran = run(rich("{}").root(), &["paper", "elm-row/2026-11-02-shod"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("Did you mean elm-row/2026-11-02-shed?"), "{}", ran.err);
}

/// A program in place of a browser: it writes down what it was asked and makes what `makes` says.
#[cfg(unix)]
fn stand_in(folder: &std::path::Path, makes: &str) -> String {
    use std::os::unix::fs::PermissionsExt;
    let script = format!(
        "#!/bin/sh\nfor word in \"$@\"; do case $word in --print-to-pdf=*) pdf=${{word#*=}};; file://*) page=${{word#file://}};; esac; done\n\
         printf '%s\\n' \"$@\" > {0}/asked\ncp \"$page\" {0}/page\n{makes}\n",
        folder.display()
    );
    let program = folder.join("chromium");
    std::fs::write(&program, script).unwrap();
    std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o755)).unwrap();
    folder.display().to_string()
}

#[cfg(unix)]
#[test]
fn a_pdf_is_printed_by_the_browser_on_the_path() {
    let book = rich("{}");
    let tools = tempfile::tempdir().unwrap();
    let path = format!("{}:/usr/bin:/bin", stand_in(tools.path(), "printf '%%PDF-1.4 made' > \"$pdf\""));
    let ran = run_with(book.root(), &[("PATH", &path)], &["paper", SOUND_JOB, "--on", TODAY, "--pdf", "paper.pdf"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(book.read("paper.pdf"), "%PDF-1.4 made");
    let asked = std::fs::read_to_string(tools.path().join("asked")).unwrap();
    assert!(asked.contains("--headless\n") && asked.contains("--user-data-dir="), "{asked}");
    assert!(std::fs::read_to_string(tools.path().join("page")).unwrap().contains("installation certificate"));
    let nothing = tempfile::tempdir().unwrap();
    let path = format!("{}:/usr/bin:/bin", stand_in(nothing.path(), "exit 3"));
    let ran = run_with(book.root(), &[("PATH", &path)], &["paper", SOUND_JOB, "--on", TODAY, "--pdf", "second.pdf"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("without making a PDF"), "{}", ran.err);
    assert!(!book.root().join("second.pdf").exists());
}

#[test]
fn a_machine_without_a_browser_says_what_to_do() {
    let book = rich("{}");
    let empty = tempfile::tempdir().unwrap();
    let path = empty.path().to_str().unwrap();
    let ran = run_with(book.root(), &[("PATH", path)], &["paper", SOUND_JOB, "--on", TODAY, "--pdf", "paper.pdf"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("none of chromium, ") && ran.err.contains("--browser"), "{}", ran.err);
    let ran = run_with(book.root(), &[("AMPLEDGER_BROWSER", "/nowhere/x")], &["paper", SOUND_JOB, "--on", TODAY, "--pdf", "paper.pdf"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("there is no program /nowhere/x"), "{}", ran.err);
}
