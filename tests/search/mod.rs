//! `ampledger lines` and `ampledger find`: sound books, broken records, and names and filters that mean harm.

use ampledger::book::{Book, Written};
use ampledger::flat::Forms;
use ampledger::query::Query;
use ampledger::sheets::{self, Sheet};
use serde_json::{Value, json};

use crate::cli::run;
use crate::support::{SOUND_JOB, TestBook, repository};

fn sheets_of(root: &std::path::Path) -> Vec<Sheet> {
    let book = Book::open(root).unwrap();
    let mut sheets = sheets::registers(&book);
    for files in &book.sites {
        sheets.extend(sheets::of_site(&book.read_site(files).0));
    }
    sheets
}

#[test]
fn one_visit_as_flat_lines() {
    let book = TestBook::sound();
    insta::assert_snapshot!(run(book.root(), &["lines", SOUND_JOB]).out);
}

#[test]
fn every_line_has_seven_columns_and_points_at_a_line_that_says_so() {
    let root = repository().join("example-sites");
    let ran = run(&root, &["lines"]);
    assert_eq!(ran.status, 0);
    let mut checked = 0;
    for line in ran.out.lines() {
        let columns: Vec<&str> = line.split('\t').collect();
        assert_eq!(columns.len(), 7, "{line}");
        assert!(columns.iter().all(|column| !column.is_empty()), "{line}");
        let (file, number) = columns[6].rsplit_once(':').unwrap();
        let text = std::fs::read_to_string(root.join(file)).unwrap();
        let there = text.lines().nth(number.parse::<usize>().unwrap() - 1).unwrap();
        let value = columns[5].split("\\n").next().unwrap();
        assert!(there.contains(value) || value == "-", "{line}\n{there}");
        checked += 1;
    }
    assert!(checked > 8000, "{checked}");
    assert_eq!(run(&root, &["lines"]).out, ran.out, "the same book, other lines");
    assert!(!ran.out.contains("contacts.yaml"));
}

#[test]
fn private_details_are_neither_listed_nor_found() {
    let book = TestBook::sound();
    book.write("private/contacts.yaml", "elm-row: {name: Quillfeather, telephone: 01632 960001}\n");
    assert!(!run(book.root(), &["lines"]).out.contains("Quillfeather"));
    assert!(!run(book.root(), &["lines", "private"]).out.contains("Quillfeather"));
    assert_eq!(run(book.root(), &["find", "Quillfeather"]).status, 1);
}

#[test]
fn a_part_of_a_book_is_listed_by_its_folder_or_file() {
    let root = repository().join("example-sites");
    let of = |path: &str| run(&root, &["lines", path]).out;
    assert!(of("sites/weir-house").lines().all(|line| line.starts_with("weir-house\t")));
    assert!(of("instruments").lines().all(|line| line.starts_with("-	-	-	instrument:")));
    assert!(of("instruments/clamp-1.md").contains("	instrument:clamp-1	checks[0].on	"));
    assert_eq!(of("sites/weir-house/site.md").lines().count(), 36);
    assert_eq!(run(&root, &["lines", "sites/no-such"]).status, 2);
}

#[test]
fn values_keep_their_line_and_what_would_steer_a_terminal_is_shown() {
    let book = TestBook::sound();
    let text = "---\nrecord: job\ntitle: \"bell\\a and\\tbreak\\nhere \\\\ end\"\nfaults:\n  - id: f1\n    found: |\n      first line\n      second line\n---\nred \u{1b}[31mtext\n";
    book.write("sites/elm-row/2026-11-03-odd.md", text);
    let out = run(book.root(), &["lines", "sites/elm-row/2026-11-03-odd.md"]).out;
    let values: Vec<&str> = out.lines().map(|line| line.split('\t').nth(5).unwrap()).collect();
    assert_eq!(values, ["job", "bell\u{fffd} and\\tbreak\\nhere \\\\ end", "f1", "first line\\nsecond line\\n", "red \u{fffd}[31mtext"]);
    let found = run(book.root(), &["find", "red", "--site", "elm-row", "--from", "2026-11-03"]).out;
    assert!(found.contains("red \u{fffd}[31mtext") && !found.contains('\u{1b}'), "{found:?}");
}

#[cfg(unix)]
#[test]
fn a_name_with_a_line_break_stays_on_its_line() {
    let book = TestBook::sound();
    book.write("sites/two\nlines/2026-11-03-visit.md", "---\nrecord: job\ntitle: Zeppelin hangar\n---\n");
    let lines = run(book.root(), &["lines"]).out;
    assert!(lines.lines().all(|line| line.split('\t').count() == 7));
    assert_eq!(run(book.root(), &["find", "zeppelin", "--format", "paths"]).out, "sites/two\\nlines/2026-11-03-visit.md\n");
    assert_eq!(run(book.root(), &["find", "zeppelin"]).out.lines().count(), 2);
}

/// Ways in which a front matter is broken; each still says `Zeppelin`, and each is found by it.
#[test]
fn broken_records_are_found_by_their_text_and_listed_whole() {
    let broken = [
        ("no-front", "Zeppelin hangar, nothing else\n"),
        ("unclosed", "---\nrecord: job\ntitle: Zeppelin hangar\n"),
        ("not-yaml", "---\nrecord: job\ntitle: \"Zeppelin hangar\nkind: [install\n---\n"),
        ("tab", "---\nrecord: job\nfaults:\n\t- found: Zeppelin hangar\n---\n"),
        ("deep", &format!("---\nrecord: job\ntitle: {}Zeppelin hangar\n---\n", "[".repeat(2000))),
        ("dashes", &format!("---\nrecord: job\nfollow_ups:\n  {}Zeppelin hangar\n---\n", "- ".repeat(20_000))),
        ("conflict", "---\nrecord: job\n<<<<<<< ours\ntitle: Zeppelin hangar\n=======\ntitle: Airship hangar\n>>>>>>> theirs\n---\n"),
        ("twice", "---\nrecord: job\ntitle: Airship hangar\ntitle: Zeppelin hangar\n---\n"),
        ("list", "---\n- Zeppelin hangar\n---\n"),
        ("alias", "---\nrecord: job\ntitle: *nowhere\nextent: Zeppelin hangar\n---\n"),
    ];
    for (name, text) in broken {
        let book = TestBook::sound();
        let path = format!("sites/elm-row/2026-11-03-{name}.md");
        book.write(&path, text);
        assert_eq!(run(book.root(), &["find", "zeppelin", "hangar", "--format", "paths"]).out, format!("{path}\n"), "{name}");
        let lines = run(book.root(), &["lines", &path]);
        assert_eq!(lines.status, 0, "{name}: {}", lines.err);
        assert!(lines.out.contains("Zeppelin"), "{name}: {}", lines.out.chars().take(2000).collect::<String>());
    }
}

#[test]
fn a_value_that_could_not_be_read_is_listed_as_written() {
    let root = repository().join("example-sites");
    let out = run(&root, &["lines", "sites/plover-close-5/2025-11-18-sockets.md"]).out;
    assert!(out.contains("\tcircuit:main/3\treadings.zs_ohm\t0,43\t"), "{out}");
}

/// What filters see is the published form: every record of the example book passes its schema, but for the trouble put there.
#[test]
fn records_as_filters_see_them_are_of_the_published_form() {
    let forms = Forms::new();
    let mut marks = Vec::new();
    let mut count = 0;
    for sheet in sheets_of(&repository().join("example-sites")) {
        let mut record = forms.json(&sheet, Written::of(&sheet.source).as_ref());
        let keys = record.as_object_mut().unwrap();
        for (key, wanted) in [("file", json!(sheet.source.path)), ("site", json!(sheet.site)), ("body", json!(sheet.source.body_text()))] {
            assert_eq!(keys.remove(key), Some(wanted));
        }
        keys.remove("date");
        let kind = sheet.kind.as_str();
        let schema: Value = serde_json::from_str(&ampledger::schema::of(kind).unwrap()).unwrap();
        let validator = jsonschema::validator_for(&schema).unwrap();
        marks.extend(validator.iter_errors(&record).map(|error| format!("{} {}", sheet.source.path, error.instance_path())));
        count += 1;
    }
    assert_eq!(count, 88);
    assert_eq!(marks, ["sites/plover-close-5/2025-11-18-sockets.md /circuits/0/readings/zs_ohm"]);
}

#[test]
fn figures_are_figures_and_readings_off_the_scale_are_text() {
    let book = TestBook::sound();
    let path = "sites/elm-row/2026-11-03-figures.md";
    let circuit = "{id: main/9, ocpd: {rating_a: 40}, readings: {zs_ohm: 0.30, r1_r2_ohm: \"<0.01\", ir_live_earth_mohm: \">999\"}}";
    book.write(path, format!("---\nrecord: job\nunits: [{{serial: 0042, smart_statement: true}}]\ncircuits: [{circuit}]\n---\n"));
    let sheet = sheets_of(book.root()).into_iter().find(|sheet| sheet.source.path == path).unwrap();
    let forms = Forms::new();
    let record = forms.json(&sheet, Written::of(&sheet.source).as_ref());
    let picked = |path: &str| -> Vec<Value> { Query::new(path).unwrap().select(&record).iter().map(|node| node.value.clone()).collect() };
    assert_eq!(picked("$.circuits[0].ocpd.rating_a"), [json!(40)]);
    assert_eq!(picked("$.circuits[0].readings.*"), [json!(0.3), json!("<0.01"), json!(">999")]);
    assert_eq!(picked("$.circuits[?@.readings.zs_ohm < 0.5].id"), [json!("main/9")]);
    assert_eq!(picked("$.circuits[?@.readings.ir_live_earth_mohm > 1].id"), [json!(null); 0], "text is not more than a figure");
    assert_eq!(picked("$.units[0].*"), [json!("0042"), json!(true)]);
    assert_eq!(picked("$['site','date']"), [json!("elm-row"), json!("2026-11-03")]);
}

#[test]
fn filters_that_are_no_jsonpath_say_where_they_stop() {
    let book = TestBook::sound();
    let said = |path: &str| {
        let ran = run(book.root(), &["find", "--where", path]);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{path}");
        assert!(!ran.err.contains("panicked"), "{}", ran.err);
        ran.err.lines().next().unwrap().chars().take(200).collect::<String>()
    };
    insta::assert_snapshot!(
        ["circuits", "$.circuits[", "$.circuits[?@.use = 'ev']", "$[?match(@.a)]", "", "$\u{1b}[31m"].map(said).join("\n")
    );
    for (path, why) in [
        (format!("$[?{}@.a{}]", "(".repeat(50_000), ")".repeat(50_000)), "longer than"),
        (format!("$[?{}@.a{}]", "(".repeat(500), ")".repeat(500)), "deep"),
        (format!("$[?{}@.a]", "!".repeat(900)), "side by side"),
        (format!("${}", "[*,*,*,*]".repeat(100)), "side by side"),
        (format!("${}", "..*".repeat(300)), ".. too often"),
        (format!("${}", "[?@".repeat(300)), "deep"),
    ] {
        assert!(
            said(&path).contains(why) || why == "longer than" && run(book.root(), &["find", "--where", &path]).err.contains(why),
            "{why}"
        );
    }
    // What could not be looked for is told; in silence it would match nothing. Places are counted in characters, from 1.
    for (path, why) in [
        ("$[?match(@, '(a{9999}){9999}')]".to_owned(), "too large"),
        ("$[?search(@, \"a\\u007b9999}{999}\")]".to_owned(), "too large"),
        ("$[?match(@, '(')]".to_owned(), "no regular expression"),
        ("$.circuits[?match(@.id, $.title)]".to_owned(), "in quotes"),
        (format!("$[?{}]", ["match(@, 'a')"; 5].join("||")), "too many places"),
        ("$..*..[?match(@, 'a')]..*".to_owned(), "too many places"),
        ("$['\u{e9}\u{e9}'] x".to_owned(), "character 8:"),
        ("$['\\u".to_owned(), "no closing '"),
        ("$[\"a'\\ud83d\\u".to_owned(), "no closing \""),
    ] {
        assert!(said(&path).contains(why), "{path}: {}", said(&path));
    }
    let kept = run(book.root(), &["find", "--where", "$..[?match(@, '\\\\w+ \\\\w+ .*') || @ == 'a\"b{9999}']"]);
    assert_eq!(kept.status, 0, "{}", kept.err);
    // Brackets in quotes are text.
    assert_eq!(run(book.root(), &["find", "--where", &format!("$[?@ == '{}']", "[(".repeat(200))]).status, 1);
}

#[test]
fn slips_are_forgiven_by_the_length_of_the_word_and_exact_words_come_first() {
    let book = TestBook::sound();
    let visit =
        |day: &str, title: &str| book.write(&format!("sites/elm-row/{day}-note.md"), format!("---\nrecord: job\ntitle: {title}\n---\n"));
    visit("2024-01-01", "Zephyr pump");
    visit("2025-01-01", "Zehpyr pump");
    visit("2026-01-01", "Zaphir pump");
    visit("2026-02-01", "Quernstone mill ZX-2041");
    let paths = |words: &[&str]| run(book.root(), &[&["find", "--format", "paths"], words].concat()).out;
    // The word as it is, then letters swapped, though that visit is newer; two slips in six letters are too many.
    assert_eq!(paths(&["zephyr"]), "sites/elm-row/2024-01-01-note.md\nsites/elm-row/2025-01-01-note.md\n");
    assert_eq!(paths(&["quernstome"]), "sites/elm-row/2026-02-01-note.md\n");
    assert_eq!(paths(&["quernsdome"]), "sites/elm-row/2026-02-01-note.md\n");
    assert_eq!(paths(&["quarnsdome"]), "");
    // Nothing is forgiven in short words or figures; a beginning is enough.
    assert_eq!(paths(&["mil"]), "sites/elm-row/2026-02-01-note.md\n");
    assert_eq!(paths(&["mel"]), "");
    assert_eq!(paths(&["ZX-2042"]), "");
    assert_eq!(paths(&["zx-204"]), "sites/elm-row/2026-02-01-note.md\n");
    assert_eq!(paths(&["mill quernstone"]), "", "a phrase keeps its order");
    assert_eq!(paths(&["quernstone mill"]), "sites/elm-row/2026-02-01-note.md\n");
}

#[test]
fn answers_fit_a_telephone_and_say_why_there_is_none() {
    let root = repository().join("example-sites");
    let found = run(&root, &["find", "socket"]).out;
    assert!(found.lines().all(|line| line.chars().count() <= 100), "{found}");
    assert_eq!(found.lines().filter(|line| !line.starts_with(' ')).count(), 21, "twenty and the count of the rest");
    insta::assert_snapshot!(
        [
            run(&root, &["find", "zebra", "gate"]),
            run(&root, &["find", "zebra"]),
            run(&root, &["find", "--site", "wier-house", "gate"]),
            run(&root, &["find", "--kind", "visit", "gate"]),
            run(&root, &["find"]),
        ]
        .map(|ran| format!("{}{}(exit status {})", ran.out, ran.err, ran.status))
        .join("\n")
    );
}

#[test]
fn programs_get_one_json_object() {
    let root = repository().join("example-sites");
    let out = run(&root, &["find", "water", "--kind", "callout", "--where", "$.faults[*].code", "--format", "json"]).out;
    let answer: Value = serde_json::from_str(&out).unwrap();
    insta::assert_json_snapshot!(answer);
}
