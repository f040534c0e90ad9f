//! What could not be read is not missing: where a part of a record is torn, nothing is said that rests on that part.

use ampledger::book::{FieldPath, Record, record_from_text};
use ampledger::path;
use ampledger::record::{Job, Settings, Site};

use crate::support::{SOUND_JOB, TestBook};

/// The sound job with a piece replaced, read.
fn job(find: &str, put: &str) -> Record<Job> {
    let text = TestBook::sound().read(SOUND_JOB);
    assert!(text.contains(find), "{find}");
    record_from_text(SOUND_JOB, text.replacen(find, put, 1), "2026-11-02-shed".to_owned(), Vec::new())
}

fn zs(circuit: usize) -> FieldPath {
    path!["circuits", circuit, "readings", "zs_ohm"]
}

#[test]
fn a_value_that_would_not_read_is_a_hole_and_its_neighbours_are_none() {
    for put in ["zs_ohm: 0,64", "zs_ohm:0.64", "zs_ohm: [0.64]", "zs_ohm: 0.64\n      zs_ohm: 0.46", "zs_ohm: \"0.64"] {
        let record = job("zs_ohm: 0.64", put);
        assert!(record.is_unreadable(&zs(1)), "{put}");
        assert!(!record.is_unreadable(&zs(0)), "{put}");
        assert!(!record.is_unreadable(&path!["circuits", 1, "readings", "ring_r1_ohm"]), "{put}");
        assert_eq!(record.data.circuits[1].readings.zs_ohm, None, "{put}: no sum may rest on it");
        assert_eq!(record.data.circuits[1].readings.rcd_ms.map(|reading| reading.value), Some(31.0), "{put}: the next reading is read");
    }
}

#[test]
fn both_sides_of_a_conflict_are_holes_and_nothing_else_is() {
    let record =
        job("      zs_ohm: 0.64\n", "<<<<<<< a\n      zs_ohm: 0.64\n=======\n      zs_ohm: 0.46\n      leakage_ma: 2\n>>>>>>> b\n");
    assert!(record.is_unreadable(&zs(1)));
    assert!(record.is_unreadable(&path!["circuits", 1, "readings", "leakage_ma"]), "it may stand in the other version");
    assert!(!record.is_unreadable(&path!["circuits", 1, "readings", "rcd_ms"]));
    assert!(!record.is_unreadable(&zs(0)));
    assert_eq!(record.data.circuits[1].readings.zs_ohm, None);
    assert_eq!(record.data.circuits.len(), 3);
}

#[test]
fn a_conflict_of_list_items_keeps_the_places_of_the_others() {
    let find = "  - id: main/2\n    serves: light in the shed\n";
    let put = "<<<<<<< a\n  - {id: main/7, use: spare}\n=======\n  - {id: main/8, use: spare}\n>>>>>>> b\n  - id: main/2\n    serves: light in the shed\n";
    let record = job(find, put);
    assert_eq!(record.data.circuits.len(), 4);
    assert!(record.is_unreadable(&path!["circuits", 1, "id"]));
    assert!(!record.is_unreadable(&path!["circuits", 2, "id"]));
    assert_eq!(record.data.circuits[2].id.as_deref(), Some("main/2"));
    assert!(record.may_lack(&path!["circuits"]));
}

#[test]
fn merged_keys_may_hold_anything() {
    let record = job("      zs_ohm: 0.64\n", "      <<: {zs_ohm: 0.64}\n");
    assert!(record.is_unreadable(&zs(1)));
    assert!(!record.is_unreadable(&path!["circuits", 1, "readings", "rcd_ms"]));
    assert!(!record.is_unreadable(&zs(0)));
}

#[test]
fn a_line_without_a_key_may_have_been_any_of_the_keys_around_it() {
    let record = job("      zs_ohm: 0.64\n", "      0.64\n");
    assert!(record.is_unreadable(&zs(1)), "{:?}", record.faults);
    assert!(!record.is_unreadable(&path!["circuits", 1, "readings", "rcd_ms"]));
    assert!(!record.is_unreadable(&path!["circuits", 1, "cable"]));
    assert!(!record.is_unreadable(&zs(0)));
}

#[test]
fn what_a_cut_off_file_would_have_said_is_not_missing() {
    let whole = TestBook::sound().read(SOUND_JOB);
    let cut = |more: usize| {
        let at = whole.find("      zs_ohm: 0.64").unwrap() + more;
        record_from_text::<Job>(SOUND_JOB, whole[..at].to_owned(), "2026-11-02-shed".to_owned(), Vec::new())
    };
    for more in [10, 17, 18] {
        let record = cut(more);
        assert!(record.is_unreadable(&zs(1)), "{more}: half a value, or none");
        assert!(record.is_unreadable(&path!["circuits", 1, "readings", "rcd_ms"]), "{more}");
        assert!(record.is_unreadable(&path!["next_inspection"]), "{more}");
        assert!(!record.is_unreadable(&path!["title"]), "{more}");
        assert!(!record.is_unreadable(&path!["circuits", 0, "readings", "rcd_5x_ms"]), "{more}: above the cut nothing is torn");
        assert!(record.may_lack(&path!["circuits"]), "{more}");
    }
    assert!(!cut(19).is_unreadable(&zs(1)), "a whole line is a whole value");
}

#[test]
fn the_smallest_part_that_helps_is_left_out() {
    // A bracket left open takes its own line and not the circuit.
    let record = job("insulation_mm: 0}\n    readings:\n      r1_r2_ohm: 0.43", "insulation_mm: 0\n    readings:\n      r1_r2_ohm: 0.43");
    assert!(record.is_unreadable(&path!["circuits", 1, "cable", "length_m"]));
    assert_eq!(record.data.circuits[1].readings.r1_r2_ohm.map(|reading| reading.value), Some(0.43));
    assert_eq!(record.data.circuits.len(), 3);
    // A whole item in disorder takes the item, and the next keeps its place.
    let record = job("  - id: main/2\n    serves", "  - id: main/2\n   {\n    serves");
    assert_eq!(record.data.circuits.len(), 3);
    assert_eq!(record.data.circuits[2].id.as_deref(), Some("main/3"));
}

#[test]
fn references_are_silent_where_their_list_is_torn() {
    let book = TestBook::sound();
    let job = book.read(SOUND_JOB);
    let site = book.read("sites/elm-row/site.md");
    let quiet = |book: &TestBook, what: &str| {
        let found = book.found();
        assert!(!found.iter().any(|line| line.starts_with("unknown-reference")), "{what}: {found:?}");
        assert!(!found.is_empty(), "{what}: the damage itself is told");
    };
    // The circuits are given twice, so that none is known; joints and units name them.
    book.write(SOUND_JOB, job.replace("units:\n", "circuits:\n  - {id: main/9}\nunits:\n"));
    quiet(&book, "circuits twice");
    // A circuit's id cannot be read.
    book.write(SOUND_JOB, job.replace("  - id: main/1\n", "  - id: [main/1]\n"));
    quiet(&book, "an id that is a list");
    // The job that recorded the circuit is unreadable.
    book.write(SOUND_JOB, job.replace("---\nrecord", "---\n- record"));
    book.write(
        "sites/elm-row/2026-11-20-callout.md",
        "---\nrecord: job\nkind: callout\nstatus: draft\ntitle: Look\njoints: [{where: lid, circuit: main/1}]\n---\n",
    );
    let found = book.found();
    assert!(!found.iter().any(|line| line.starts_with("unknown-reference")), "{found:?}");
    std::fs::remove_file(book.root().join("sites/elm-row/2026-11-20-callout.md")).unwrap();
    // The boards of the site cannot be read.
    book.write(SOUND_JOB, &job);
    book.write("sites/elm-row/site.md", site.replace("  - id: main\n", "  - id: [main]\n"));
    quiet(&book, "a board without id");
    book.write("sites/elm-row/site.md", &site);
    // The people of the book cannot be read.
    book.write("book.yaml", book.read("book.yaml").replace("people:\n", "people: \"\n"));
    quiet(&book, "people");
}

#[test]
fn a_lost_record_says_nothing_and_a_sound_one_has_no_holes() {
    let lost: Record<Job> = record_from_text(SOUND_JOB, "---\nwords\n---\n".to_owned(), "x".to_owned(), Vec::new());
    assert!(lost.lost && lost.is_unreadable(&path!["title"]) && lost.may_lack(&path!["circuits"]));
    let book = TestBook::sound();
    let site: Record<Site> =
        record_from_text("sites/elm-row/site.md", book.read("sites/elm-row/site.md"), "elm-row".to_owned(), Vec::new());
    let settings: Record<Settings> = record_from_text("book.yaml", book.read("book.yaml"), "book".to_owned(), Vec::new());
    assert!(site.unreadable.is_empty() && settings.unreadable.is_empty());
    assert!(!site.may_lack(&path!["boards"]));
}
