//! `ampledger seal`, and what `check` says of sealed records.

use sha2::{Digest, Sha256};

use crate::cli::{Ran, run};
use crate::support::{SOUND_JOB, TestBook};

const JOB: &str = "elm-row/2026-11-02-shed";

/// The bytes of a JPEG with an empty EXIF directory.
const PICTURE: &[u8] = b"\xff\xd8\xff\xe1\x00\x16Exif\0\0MM\0\x2a\0\0\0\x08\0\0\0\0\0\0\xff\xd9";

fn seal(book: &TestBook, args: &[&str]) -> Ran {
    let mut all = vec!["seal", "--on", "2026-11-20"];
    all.extend_from_slice(args);
    run(book.root(), &all)
}

/// `rule: message` of everything found.
fn told(book: &TestBook) -> Vec<String> {
    book.verdict().findings.iter().map(|finding| format!("{}: {}", finding.rule, finding.message)).collect()
}

/// The sound book with a photograph in its job, sealed.
fn sealed() -> TestBook {
    let book = TestBook::sound();
    book.write("sites/elm-row/photos/2026-11-02-board.jpg", PICTURE);
    book.write(SOUND_JOB, book.read(SOUND_JOB) + "\n# Pictures\n\n![the board](photos/2026-11-02-board.jpg)\n");
    let ran = seal(&book, &[JOB]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    assert_eq!(told(&book), Vec::<String>::new());
    book
}

fn edit(book: &TestBook, find: &str, put: &str) {
    let text = book.read(SOUND_JOB);
    assert!(text.contains(find), "{find}");
    book.write(SOUND_JOB, text.replacen(find, put, 1));
}

fn hexadecimal(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The canonical form as DEVELOPERS and README describe it, written out by hand for a record with something of everything.
#[test]
fn the_canonical_form_is_the_one_described() {
    let book = TestBook::sound();
    let record = "---\r\nstatus: complete   # said last, stands first\r\nrecord: job\ntitle: >-\n  Look at   the\n  board\nextent: 'the \"old\" board'\n\
                  circuits:\n  - {readings: {zs_ohm: 0.30, zs_by: measured}, id: main/2}\n  - {id: \"main/1\", serves: ~, use: spare}\n\
                  joints: [{where: lid}, {where: box}]\nnotices: [{to: landlord, sent: 2026-10-21, answered: 2026-10-30, ref: \"R\\e1\"}]\nunits: []\nboards:\n\
                  answers: [{rule: unknown-key, why: asked}]\n---\n\nRang first.\n\n##  What was  done\n- [x] measured\n   twice\n\n# Left\n";
    book.write("sites/elm-row/2026-10-20-survey.md", record);
    let by_hand = "/circuits/main~11/id\tmain/1\n/circuits/main~11/use\tspare\n/circuits/main~12/id\tmain/2\n\
                   /circuits/main~12/readings/zs_by\tmeasured\n/circuits/main~12/readings/zs_ohm\t0.30\n/extent\tthe \"old\" board\n\
                   /joints/0/where\tlid\n/joints/1/where\tbox\n/notices/0/ref\tR\\u{1b}1\n/notices/0/sent\t2026-10-21\n/notices/0/to\tlandlord\n/record\tjob\n\
                   /status\tcomplete\n/title\tLook at the board\n#\tRang first.\n## What was done\t- [ ] measured twice\n# Left\t\n";
    let ran = run(book.root(), &["seal", "--form", "elm-row/2026-10-20-survey"]);
    assert_eq!((ran.status, ran.out.as_str()), (0, by_hand));
    assert!(!book.root().join("seals.yaml").exists(), "--form seals nothing");
    let opened = ampledger::book::Book::open(book.root()).unwrap();
    let (records, _) = opened.read_site(opened.site("elm-row").unwrap());
    let record = records.jobs.iter().find(|job| job.id == "2026-10-20-survey").unwrap();
    assert_eq!(ampledger::seal::digest(record), hexadecimal(by_hand));
}

#[test]
fn what_sealing_prints_and_writes() {
    let book = sealed();
    let form = run(book.root(), &["seal", "--form", JOB]).out;
    let text = book.read("seals.yaml");
    let head = "# What each record said when it was sealed. `ampledger seal` writes this file; comments are not kept.\nformat: 1\nseals:\n";
    let line = text.strip_prefix(head).unwrap();
    assert_eq!(line.lines().count(), 1, "one line a seal: {line}");
    let digest = hexadecimal(&form);
    assert!(
        line.starts_with(&format!("- {{file: {SOUND_JOB}, seal: 1, on: 2026-11-20, form: 1, digest: \"{digest}\", parts: {{")),
        "{line}"
    );
    let picture: String = Sha256::digest(PICTURE).iter().map(|byte| format!("{byte:02x}")).collect();
    assert!(line.ends_with(&format!("photographs: {{sites/elm-row/photos/2026-11-02-board.jpg: \"{picture}\"}}}}\n")), "{line}");
    // A part has the first digits of the digest of its own lines.
    let status = hexadecimal("/status\tissued\n");
    assert!(line.contains(&format!(", status: \"{}\"", &status[..8])), "{line}");
    for value in ["Charge point", "0.34", "LE-0142"] {
        assert!(!text.contains(value), "no value of the record stands in seals.yaml: {value}");
    }
    assert_eq!(crate::schema::marks("seals", &serde_yaml::from_str(&text).unwrap()), Vec::<String>::new());

    let again = seal(&book, &[JOB, SOUND_JOB]);
    assert_eq!((again.status, again.out), (0, format!("{SOUND_JOB}\n  sealed already on 2026-11-20, and as it was then\n")));
    assert_eq!(book.read("seals.yaml"), text);

    let other = TestBook::sound();
    let ran = seal(&other, &[JOB]);
    let form = run(other.root(), &["seal", "--form", JOB]).out;
    let note = "Where two people seal, put this line into .gitattributes beside book.yaml:\n  seals.yaml merge=union\n";
    assert_eq!(ran.out, format!("{SOUND_JOB}\n  sealed 2026-11-20\n  {}\n\n{note}", hexadecimal(&form)));
}

#[test]
fn how_a_record_is_written_is_no_change() {
    let book = sealed();
    let text = book.read(SOUND_JOB);
    let (title, extent) = ("title: Charge point on the drive and a light in the shed\n", "extent: the two new circuits\n");
    let other = text
        .replace(title, "")
        .replace(extent, &format!("{extent}# a comment\n{}", title.replace("Charge point", "Charge   point")))
        .replace("zs_ohm: 0.34", "zs_ohm:   \"0.34\"   # again")
        .replace("Charge point on the garage wall, armoured", "Charge point on the garage wall,\narmoured");
    assert_ne!(other, text);
    book.write(SOUND_JOB, other.replace('\n', "\r\n"));
    assert_eq!(told(&book), Vec::<String>::new());
}

#[test]
fn what_is_written_later_by_its_nature_is_no_change() {
    let book = TestBook::sound();
    book.write(SOUND_JOB, book.read(SOUND_JOB) + "\n- [ ] send the handbook (by 2026-12-01)\n");
    edit(&book, "next_inspection:", "follow_ups: [{what: send the handbook, with: customer, due: 2026-12-01}]\nnext_inspection:");
    assert_eq!(seal(&book, &[JOB]).status, 0);
    edit(&book, "due: 2026-12-01}", "due: 2026-12-01, done: 2026-11-10}");
    edit(&book, "- [ ] send", "- [x] send");
    assert_eq!(told(&book), Vec::<String>::new());
}

/// Edit, and what is said of it; the place is the part that changed.
#[test]
fn a_change_is_told_with_the_part_that_changed() {
    let since = "sealed-record-changed: changed since it was sealed on 2026-11-20: ";
    for (find, put, parts, pointer) in [
        ("zs_ohm: 0.34", "zs_ohm: 0.35", "circuits main/1 readings", "/circuits/0/readings"),
        ("zs_ohm: 0.64", "zs_ohm: 0.640", "circuits main/2 readings", "/circuits/1/readings"),
        ("serves: light in the shed", "serves: lights in the shed", "circuits main/2", "/circuits/1"),
        ("minutes_on_site: 190", "minutes_on_site: 180", "minutes_on_site", "/minutes_on_site"),
        ("extent: the two new circuits\n", "", "extent (gone)", ""),
        ("clipped along the garage", "clipped along the wall", "the text under \"What was done\"", ""),
        ("# Pictures", "# Photographs", "the text under \"Photographs\", the text under \"Pictures\" (gone)", ""),
        ("title: Charge point on", "title: Charger on", "title", "/title"),
    ] {
        let book = sealed();
        edit(&book, find, put);
        let found = told(&book);
        assert!(found.contains(&format!("{since}{parts}")), "{find}: {found:?}");
        let verdict = book.verdict();
        let finding = verdict.findings.iter().find(|finding| finding.rule == "sealed-record-changed").unwrap();
        assert_eq!((finding.place.file.path.as_str(), finding.place.path.to_string().as_str()), (SOUND_JOB, pointer));
        assert_eq!((finding.grade.as_str(), finding.related[0].place.file.path.as_str()), ("breach", "seals.yaml"));
    }
}

#[test]
fn calling_it_a_draft_breaks_the_seal_and_says_so() {
    let book = sealed();
    edit(&book, "status: issued", "status: draft");
    assert!(
        told(&book).contains(&"sealed-record-changed: changed since it was sealed on 2026-11-20: status".to_owned()),
        "{:?}",
        told(&book)
    );
}

#[test]
fn a_change_is_answered_where_it_stands_and_the_next_one_is_told() {
    let book = sealed();
    edit(&book, "minutes_on_site: 190", "minutes_on_site: 180");
    let subject = book.verdict().findings[0].subject.clone();
    let answer = format!("answers: [{{rule: sealed-record-changed, at: {subject}, why: agreed with the customer, until: 2027-01-01}}]\n");
    edit(&book, "next_inspection:", &format!("{answer}next_inspection:"));
    let verdict = book.verdict();
    assert_eq!((verdict.findings.len(), verdict.summary.answered), (0, 1), "{:?}", told(&book));
    edit(&book, "minutes_on_site: 180", "minutes_on_site: 170");
    assert_eq!(book.rules_found(), ["answer-matches-nothing", "sealed-record-changed"]);
}

#[test]
fn a_photograph_that_changed_or_went_is_told() {
    let book = sealed();
    let picture = "sites/elm-row/photos/2026-11-02-board.jpg";
    let other = [PICTURE, b"\0"].concat();
    book.write(picture, other);
    let is_another = format!("sealed-photograph-changed: {picture} is another than when the record was sealed on 2026-11-20");
    assert_eq!(told(&book), [is_another]);
    std::fs::remove_file(book.root().join(picture)).unwrap();
    let is_gone = format!("sealed-photograph-changed: {picture} is no longer there; the record was sealed on 2026-11-20");
    assert!(told(&book).contains(&is_gone), "{:?}", told(&book));
}

#[test]
fn a_record_that_went_or_goes_by_another_name_is_told() {
    let book = sealed();
    let new_name = "sites/elm-row/2026-11-02-charge-point.md";
    std::fs::rename(book.root().join(SOUND_JOB), book.root().join(new_name)).unwrap();
    let renamed = format!("sealed-record-missing: {SOUND_JOB}, sealed on 2026-11-20, is no longer there; {new_name} says the same");
    assert!(told(&book).contains(&renamed), "{:?}", told(&book));
    std::fs::remove_file(book.root().join(new_name)).unwrap();
    assert!(
        told(&book).contains(&format!("sealed-record-missing: {SOUND_JOB}, sealed on 2026-11-20, is no longer there")),
        "{:?}",
        told(&book)
    );
    std::fs::remove_dir_all(book.root().join("sites/elm-row")).unwrap();
    assert!(book.rules_found().contains(&"sealed-record-missing"));
}

#[test]
fn sealing_again_takes_a_reason_and_keeps_the_first_seal() {
    let book = sealed();
    let first = book.read("seals.yaml");
    edit(&book, "zs_ohm: 0.34", "zs_ohm: 0.33");
    let ran = seal(&book, &[JOB]);
    let refused = "  not sealed:\n  - it was sealed on 2026-11-20, and circuits main/1 readings changed since: say why with --reason\n";
    assert_eq!((ran.status, ran.out), (1, format!("{SOUND_JOB}\n{refused}")));
    assert_eq!(book.read("seals.yaml"), first);
    let ran = run(book.root(), &["seal", JOB, "--on", "2026-11-21", "--reason", "misread: \"0.33\" on the\nmeter"]);
    assert_eq!(ran.status, 0, "{}", ran.out);
    assert!(ran.out.starts_with(&format!("{SOUND_JOB}\n  sealed again 2026-11-21 with 1 photograph\n")), "{}", ran.out);
    assert_eq!(told(&book), Vec::<String>::new());
    let second = book.read("seals.yaml");
    let added = second.strip_prefix(&first).unwrap();
    assert!(added.contains("seal: 2, on: 2026-11-21, why: \"misread: \\\"0.33\\\" on the meter\", form: 1"), "{added}");
    // What it said first is a change now, though it was sealed once.
    edit(&book, "zs_ohm: 0.33", "zs_ohm: 0.34");
    assert_eq!(book.rules_found(), ["sealed-record-changed"]);
}

#[test]
fn what_is_not_ready_is_not_sealed() {
    for (find, put, reason) in [
        ("status: issued", "status: draft", "its status is draft; set it to complete or issued first"),
        ("status: issued\n", "", "it has no status; set it to complete or issued first"),
        ("zs_ohm: 0.34", "zs_ohm: 0,34", "part of it cannot be read; `ampledger check` says where"),
        ("rcd_ms: 31", "rcd_ms: 320", "breach rcd-too-slow: main/2: "),
        ("zs_ohm: 0.34", "zs_ohm: 3.40", "danger zs-over-limit: main/1: "),
        ("# What was done", "![lid](photos/lid.jpg)\n", "sites/elm-row/photos/lid.jpg is named and is not there"),
    ] {
        let book = TestBook::sound();
        edit(&book, find, put);
        let ran = seal(&book, &[JOB]);
        assert!(ran.status == 1 && ran.out.contains(&format!("{SOUND_JOB}\n  not sealed:\n")) && ran.out.contains(reason), "{}", ran.out);
        assert!(!book.root().join("seals.yaml").exists());
        // Dangers, breaches and pictures can be sealed over with a reason; a draft and a record that cannot be read never.
        let ran = seal(&book, &[JOB, "--anyway", "--reason", "the customer insists"]);
        let can = !reason.contains("status") && !reason.contains("read");
        assert_eq!(ran.status, i32::from(!can), "{}", ran.out);
        if can && !reason.contains("named") {
            let rule = reason.split([' ', ':']).nth(1).unwrap();
            assert!(book.rules_found().contains(&rule), "the finding stays: {:?}", book.rules_found());
            assert!(book.read("seals.yaml").contains("why: \"the customer insists\""));
        }
    }
}

#[test]
fn what_the_command_cannot_do_is_said_with_a_cure() {
    let book = sealed();
    let sound = book.read("seals.yaml");
    for (args, said) in [
        (&["elm-row/2026-11-02-shet"][..], "Did you mean elm-row/2026-11-02-shed?"),
        (&[JOB, "--anyway"][..], "--reason"),
        (&[JOB, "--reason", " "][..], "a reason has words in it"),
    ] {
        let ran = seal(&book, args);
        assert!(ran.status == 2 && ran.err.contains(said), "{args:?}: {}", ran.err);
    }
    book.write("seals.yaml", sound.replace("seal: 1", "seal: one"));
    let ran = seal(&book, &[JOB]);
    assert_eq!(
        (ran.status, ran.err.lines().next()),
        (2, Some("ampledger: seals.yaml cannot be read whole, so nothing was written into it"))
    );
    assert_eq!(book.rules_found(), ["not-a-number"]);
    let verdict = book.verdict();
    let finding = &verdict.findings[0];
    assert_eq!((finding.place.file.path.as_str(), finding.place.path.to_string()), ("seals.yaml", "/seals/0/seal".to_owned()));
    assert_eq!(&finding.place.file.text[finding.place.span.clone().unwrap()], "one");
}

/// A seal that this program cannot compare is told of as such, whether or not its record has changed, and is taken for no broken one.
#[test]
fn a_seal_that_cannot_be_compared_is_told() {
    let digest = |text: &str| text.split("digest: \"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let sound = sealed().read("seals.yaml");
    for (find, put, said) in [
        (", form: 1".to_owned(), ", form: 2", format!("the seal of {SOUND_JOB} is of form 2, and this program knows form 1")),
        (", form: 1".to_owned(), "", format!("the seal of {SOUND_JOB} does not say its form")),
        (format!(", digest: \"{}\"", digest(&sound)), "", format!("the seal of {SOUND_JOB} has no digest")),
        (format!("file: {SOUND_JOB}, "), "", "this seal names no record".to_owned()),
    ] {
        let book = sealed();
        assert!(sound.contains(&find), "{find}");
        book.write("seals.yaml", sound.replacen(&find, put, 1));
        let wanted = [format!("seal-cannot-be-compared: {said}")];
        assert_eq!(told(&book), wanted);
        let verdict = book.verdict();
        assert_eq!((verdict.findings[0].grade.as_str(), verdict.findings[0].place.file.path.as_str()), ("breach", "seals.yaml"));
        edit(&book, "zs_ohm: 0.34", "zs_ohm: 0.35");
        assert_eq!(told(&book), wanted);
    }
}

#[test]
fn an_issued_record_without_a_seal_is_told_from_the_day_the_book_began_to_seal() {
    let book = sealed();
    let later = book.read(SOUND_JOB).replace("LE-0142", "LE-0150").replace("2026-11-03", "2026-11-20");
    book.write("sites/elm-row/2026-11-05-shed.md", later);
    let unsealed = |book: &TestBook| book.verdict().findings.iter().filter(|finding| finding.rule == "issued-record-not-sealed").count();
    assert_eq!(unsealed(&book), 1);
    book.write("seals.yaml", book.read("seals.yaml").replace("format: 1", "format: 1\nsince: 2026-11-21"));
    assert_eq!(unsealed(&book), 0);
}

/// A list that another program wrote its own way, in blocks or with an indent, is the same list.
#[test]
fn seals_written_by_another_program_are_read() {
    let book = sealed();
    edit(&book, "zs_ohm: 0.34", "zs_ohm: 0.35");
    let value: serde_yaml::Value = serde_yaml::from_str(&book.read("seals.yaml")).unwrap();
    let blocks = serde_yaml::to_string(&value).unwrap();
    let indented: String = blocks
        .lines()
        .map(|line| if line.starts_with("- ") || line.starts_with("  ") { format!("  {line}\n") } else { format!("{line}\n") })
        .collect();
    let flow = serde_json::to_string(&value).unwrap();
    for text in [blocks, indented, flow] {
        book.write("seals.yaml", &text);
        assert_eq!(book.rules_found(), ["sealed-record-changed"], "{text}");
    }
    book.write("seals.yaml", "");
    assert_eq!(book.rules_found(), ["file-empty"]);
}
