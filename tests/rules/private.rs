//! What must never come out: the contacts of a book, and the place that a photograph carries.

use ampledger::rules::{self, Example};

use crate::support::{TestBook, apply};

#[test]
fn a_contact_is_found_in_the_text_and_never_repeated() {
    let book = TestBook::sound();
    apply(
        book.root(),
        "private/contacts.yaml: {elm-row: {name: Jo Wigeon, telephone: \"01632 960001\", note: rings twice}}\n\
         sites/elm-row/wigeon.txt: {body: nothing}\n\
         extent: the two new circuits, shown to Jo Wigeon",
    );
    let verdict = book.verdict();
    let about: Vec<_> = verdict.findings.iter().filter(|finding| finding.rule == "contact-in-text").collect();
    assert_eq!(about.len(), 2, "{:?}", book.found());
    for finding in about {
        let said = format!("{} {} {} {}", finding.message, finding.label, finding.help, finding.subject).to_lowercase();
        assert!(!said.contains("wigeon") && !said.contains("960001") && !said.contains("rings twice"), "{said}");
    }
}

#[test]
fn contacts_show_nothing_of_themselves_when_a_book_is_printed() {
    let book = TestBook::sound();
    apply(book.root(), "private/contacts.yaml: {elm-row: {name: Jo Wigeon}}");
    let opened = ampledger::book::Book::open(book.root()).unwrap();
    assert!(!format!("{opened:?}").contains("Wigeon"));
    assert_eq!(opened.contacts.names("elm-row"), ["Jo Wigeon"]);
}

fn picture_with_place() -> (&'static str, &'static [u8]) {
    match rules::by_id("photograph-tells-the-place").unwrap().bad {
        Example::File { path, bytes } => (path, bytes),
        _ => panic!("the example is a file"),
    }
}

#[test]
fn a_picture_cut_off_anywhere_is_read_without_harm() {
    let (path, bytes) = picture_with_place();
    let book = TestBook::sound();
    for length in 0..bytes.len() {
        book.write(path, &bytes[..length]);
        let found = book.rules_found();
        assert!(found.is_empty() || found == ["photograph-tells-the-place"], "{length} bytes: {found:?}");
    }
}

#[test]
fn a_place_is_found_in_other_kinds_of_picture_too() {
    let (_, jpeg) = picture_with_place();
    let exif = &jpeg[12..jpeg.len() - 2];
    let chunk = |name: &[u8], data: &[u8]| [&u32::try_from(data.len()).unwrap().to_be_bytes(), name, data, &[0; 4]].concat();
    let png = [b"\x89PNG\r\n\x1a\n".to_vec(), chunk(b"IHDR", &[0; 13]), chunk(b"eXIf", exif), chunk(b"IEND", &[])].concat();
    let xmp = b"\x89PNG\r\n\x1a\n<rdf:Description exif:GPSLatitude=\"0,0N\"/>".to_vec();
    for (name, bytes) in [("2026-11-02-a.tif", exif.to_vec()), ("2026-11-02-b.PNG", png), ("2026-11-02-c.png", xmp)] {
        let book = TestBook::sound();
        book.write(&format!("sites/elm-row/photos/{name}"), bytes);
        assert_eq!(book.rules_found(), ["photograph-tells-the-place"], "{name}");
    }
}

#[test]
fn a_failed_check_names_exactly_the_visits_since_the_last_good_one() {
    let book = TestBook::sound();
    let visit = |day: &str, torque: &str, joint: &str| {
        format!(
            "sites/elm-row/{day}-torque.md: {{record: job, kind: survey, status: complete, title: Terminals, instruments: [{torque}], \
             joints: [{{where: {joint}, circuit: main/1, kind: screw, made_by: us, access: open, conductor: solid, torque_nm: 2.5}}]}}\n"
        )
    };
    let visits = visit("2026-08-30", "torque-1", "isolator")
        + &visit("2026-09-15", "torque-1", "isolator")
        + &visit("2026-09-20", "torque-2", "main switch");
    let register = "instruments/torque-2.md: {record: instrument, kind: torque-driver, serial: \"T-13\", reads: [torque], calibrations: [{on: 2026-03-01, due: 2027-03-01, certificate: \"C-79\"}]}\n\
                    instruments/torque-1.md: {checks: [{on: 2026-09-01, result: passed, against: test rig}, {on: 2026-11-20, result: failed, against: test rig}]}";
    apply(book.root(), &(visits + register));
    let verdict = book.verdict();
    let failed: Vec<_> = verdict.findings.iter().filter(|finding| finding.rule == "failed-check-touches-visits").collect();
    assert_eq!(failed.len(), 1, "{:?}", book.found());
    assert_eq!(failed[0].place.file.path, "instruments/torque-1.md");
    let files: Vec<&str> = failed[0].related.iter().map(|related| related.place.file.path.as_str()).collect();
    assert_eq!(files, ["sites/elm-row/2026-09-15-torque.md", "sites/elm-row/2026-11-02-shed.md"]);
    assert!(failed[0].related.iter().all(|related| related.place.span.as_ref().is_some_and(|span| !span.is_empty())));
}

/// Most bytes of a text are stepped over: no place in it may be one that hides a number.
#[test]
fn a_number_is_found_wherever_it_stands() {
    use ampledger::rules::privacy::{personal, secrets};
    let hidden = |text: &str, number: &str, hits: Vec<ampledger::rules::privacy::Hit>| {
        let found: Vec<&str> = hits.iter().map(|hit| &text[hit.span.clone()]).collect();
        (found != [number]).then(|| format!("{number} in {text:?}: {found:?}"))
    };
    let mut wrong = Vec::new();
    for before in 0..40 {
        for (space, after) in [(" ", ""), ("\n", "\nzs_ohm: 0.64\n"), ("\u{a0}", ", then 5 "), ("      - ", " ")] {
            let text = |number: &str| format!("{}{space}{number}{after}", "x".repeat(before));
            for number in ["01632 960983", "01632960983", "+441632960983", "(01632) 960983"] {
                // A bracket before a number is no part of it.
                let text = text(number);
                wrong.extend(hidden(&text, number.trim_start_matches('('), personal(&text, &[])));
            }
            for number in ["4111 1111 1111 1111", "4111111111111111"] {
                let text = text(number);
                wrong.extend(hidden(&text, number, secrets(&text)));
            }
        }
    }
    assert!(wrong.is_empty(), "{} are hidden:\n{}", wrong.len(), wrong[..wrong.len().min(5)].join("\n"));
}
