//! `ampledger pack`: what is handed over to whom, what never is, and what is told whatever is left out.

pub mod pictures;

use std::collections::BTreeMap;
use std::path::Path;

use crate::cli::{Ran, run};
use crate::support::{TODAY, TestBook, apply, copy, repository, verdict_on};

/// A folder for copies, beside the book.
struct Out(tempfile::TempDir);

impl Out {
    fn new() -> Out {
        Out(tempfile::tempdir().unwrap())
    }

    fn path(&self) -> std::path::PathBuf {
        self.0.path().join("copy")
    }

    fn read(&self, path: &str) -> String {
        std::fs::read_to_string(self.path().join(path)).unwrap()
    }

    /// Every file, by its path, with its bytes.
    fn files(&self) -> BTreeMap<String, Vec<u8>> {
        let mut files = BTreeMap::new();
        let mut open = vec![self.path()];
        while let Some(folder) = open.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    open.push(path);
                } else {
                    let name = path.strip_prefix(self.path()).unwrap().to_str().unwrap().to_owned();
                    files.insert(name, std::fs::read(path).unwrap());
                }
            }
        }
        files
    }

    /// The files and folders that hold a word, in their bytes or in their names.
    fn holding(&self, word: &str) -> Vec<String> {
        let needle = word.as_bytes();
        let holds = |bytes: &[u8]| bytes.windows(needle.len()).any(|part| part.eq_ignore_ascii_case(needle));
        self.files().into_iter().filter(|(name, bytes)| holds(name.as_bytes()) || holds(bytes)).map(|(name, _)| name).collect()
    }
}

fn pack(book: &Path, args: &[&str], out: &Out) -> Ran {
    let path = out.path();
    let args = [&["pack"], args, &["--out", path.to_str().unwrap(), "--on", TODAY]].concat();
    run(book, &args)
}

fn packed(book: &Path, args: &[&str]) -> (Out, Ran) {
    let out = Out::new();
    let ran = pack(book, args, &out);
    assert_eq!(ran.status, 0, "{}", ran.err);
    (out, ran)
}

/// The sound book, with a second site, and with private details wherever people put them.
fn private_book() -> TestBook {
    let book = TestBook::sound();
    book.write(
        "private/contacts.yaml",
        "elm-row:
  name: Q. Fernleigh
  telephone: \"01632 960444\"
  address: 7 Elm Row, Marlpit
  alarm: \"7712\"
far-croft:
  name: H. Nettlebed
  mobile: \"07700 900555\"
",
    );
    apply(
        book.root(),
        "
sites/elm-row/site.md:
  keep_until: 2042-01-31
  supply: {mpan: 20 0000 1234 560}
  body: |
    Kept until 2042, since a claim can be made for fifteen years. Fernleigh lets us in. Key under the blue pot.
sites/far-croft/site.md:
  record: site
  name: Far Croft
  premises: dwelling
  privacy: {share: none, photographs: none, why: asked 2026-01-05}
",
    );
    book.write(
        "sites/elm-row/2026-11-20-fernleigh-callout.md",
        "---
record: job
kind: callout
status: complete                 # alarm code 7712
title: Hot socket
regulations: BS 7671:2018+A4:2026
dates: {tested: 2026-11-20}
people: {tested: jd}
instruments: [mft-1]
minutes_on_site: 60
faults:
  - id: f1
    reported: 2026-11-20
    symptom: heat
    found: \"brown round the pin; Q. Fernleigh rang from 01632 960444: call after six\"
    believed: >
      worn contact, says the lady
      at 01632 960444
    circuit: main/2
    code: C2
    state: open
    left: live
    advice: {words: do not use it, how: verbal, on: 2026-11-20}
    return_by: 2026-12-01
joints:
  - {where: behind the socket, kind: screw, made_by: us, access: covered, conductor: solid, torque_nm: 1.2, photo: photos/2026-11-20-fernleigh.jpg}
continues: 2026-11-02-shed
---
Alarm code 7712. Ring Mrs Fernleigh on 07700 900123(mobile) or write to q.fernleigh@example.com.
Paid by card 4111 1111 1111 1111. Mr Nettlebed is next door, H. Nettlebed that is, 07700 900555. Send it to 7 Elm Row.

![Socket of Q. Fernleigh](photos/2026-11-20-fernleigh.jpg)
![Meter](photos/meter.png) ![Tails](photos/tails.webp) ![Row](photos/row.heic)
",
    );
    book.write(
        "sites/elm-row/2026-11-23-socket.md",
        "---
record: job
kind: alter
status: planned
title: New socket
continues: 2026-11-20-fernleigh-callout
---
As found on [the callout](2026-11-20-fernleigh-callout.md). 01632 960444: ring first.
",
    );
    book.write("sites/elm-row/photos/2026-11-20-fernleigh.jpg", pictures::jpeg());
    book.write("sites/elm-row/photos/meter.png", pictures::png());
    book.write("sites/elm-row/photos/tails.webp", pictures::webp());
    book.write("sites/elm-row/photos/row.heic", pictures::heic());
    book.write("sites/elm-row/notes.txt", "Fernleigh, alarm 7712");
    book
}

/// What goes into no copy.
const NEVER: [&str; 6] = ["7712", "4111", "blue pot", "Nettlebed", "900555", pictures::TELLTALE];
/// What goes into the customer's copy alone.
const THEIRS: [&str; 5] = ["Fernleigh", "960444", "Marlpit", "7 Elm Row", "1234 560"];

#[test]
fn check_tells_of_what_is_private_and_no_copy_holds_it() {
    let book = private_book();
    let rules = book.rules_found();
    for rule in ["access-code-in-text", "contact-in-text", "card-number-in-text", "photograph-tells-the-place"] {
        assert!(rules.contains(&rule), "check does not tell {rule}: {rules:?}");
    }
    for whom in ["buyer", "assessor", "successor", "customer"] {
        let (out, _) = packed(book.root(), &["elm-row", "--for", whom]);
        let theirs: &[&str] = if whom == "customer" { &[] } else { &THEIRS };
        for word in NEVER.iter().chain(theirs).chain(&["900123", "example.com"]) {
            assert_eq!(out.holding(word), Vec::<String>::new(), "{word} for a {whom}");
        }
        assert!(!out.path().join("private").exists());
    }
    let (out, _) = packed(book.root(), &["elm-row", "--for", "customer"]);
    for word in ["Fernleigh", "960444", "7 Elm Row", "1234 560"] {
        assert!(!out.holding(word).is_empty(), "{word} is the customer's own");
    }
}

#[test]
fn the_search_for_private_words_can_fail() {
    // The same search over a plain copy of the book finds every word.
    let book = private_book();
    let out = Out::new();
    copy(book.root(), &out.path());
    for word in NEVER.iter().chain(&THEIRS).chain(&["900123", "example.com"]) {
        assert!(!out.holding(word).is_empty(), "{word} is not in the book");
    }
}

#[test]
fn the_record_of_a_callout_reads_on_with_marks_in_it() {
    let book = private_book();
    let (out, ran) = packed(book.root(), &["elm-row", "--for", "successor"]);
    insta::assert_snapshot!("a_redacted_callout", out.read("sites/elm-row/2026-11-20-visit-2.md"));
    insta::assert_snapshot!("a_redacted_plan", out.read("sites/elm-row/2026-11-23-socket.md"));
    let tree: Vec<String> = out.files().into_keys().collect();
    insta::assert_snapshot!("the_tree_for_a_successor", tree.join("\n"));
    let screen = ran.out.replace(out.path().to_str().unwrap(), "DIR");
    let mark = ran.out.lines().find_map(|line| line.strip_prefix("mark: ")).unwrap();
    assert_eq!(mark.len(), 64);
    insta::assert_snapshot!("the_screen_for_a_successor", screen.replace(mark, "MARK"));
}

#[test]
fn the_cover_pages() {
    let book = private_book();
    for whom in ["buyer", "assessor", "customer"] {
        let (out, _) = packed(book.root(), &["elm-row", "--for", whom]);
        insta::assert_snapshot!(format!("cover_for_a_{whom}"), out.read("README.md"));
    }
    let (out, _) = packed(&repository().join("example-sites"), &["--all", "--for", "successor"]);
    insta::assert_snapshot!("cover_for_a_successor", out.read("README.md"));
}

#[test]
fn pictures_are_the_drawing_and_nothing_else_to_the_byte() {
    let book = private_book();
    let (out, _) = packed(book.root(), &["elm-row", "--for", "successor"]);
    let files = out.files();
    let of = |name: &str| files.get(&format!("sites/elm-row/photos/{name}")).unwrap_or_else(|| panic!("no {name} in {:?}", files.keys()));
    let jpeg = files.keys().find(|name| name.ends_with(".jpg")).unwrap();
    assert_eq!(files[jpeg], pictures::bare_jpeg());
    assert_eq!(*of("meter.png"), pictures::bare_png());
    assert_eq!(*of("tails.webp"), pictures::bare_webp());
    assert!(!files.keys().any(|name| name.ends_with(".heic")));
    assert!(out.read("README.md").contains("row.heic: a picture of this kind cannot be stripped of its place here"));
}

#[test]
fn photographs_go_where_the_site_lets_them() {
    let count = |out: &Out| out.files().keys().filter(|name| name.contains("/photos/")).count();
    for (allowed, buyer, assessor, successor) in [("any", 3, 3, 3), ("record-only", 0, 0, 3), ("none", 0, 0, 0), ("~", 0, 0, 3)] {
        let book = private_book();
        apply(book.root(), &format!("sites/elm-row/site.md: {{privacy: {{photographs: {allowed}}}}}"));
        for (whom, wanted) in [("buyer", buyer), ("assessor", assessor), ("successor", successor), ("customer", 3)] {
            let (out, _) = packed(book.root(), &["elm-row", "--for", whom]);
            assert_eq!(count(&out), wanted, "photographs: {allowed} for a {whom}");
        }
    }
}

#[test]
fn a_site_that_may_not_be_shared_stays_behind_and_its_danger_does_not() {
    let book = private_book();
    apply(book.root(), "sites/elm-row/site.md: {privacy: {share: none}}");
    for whom in ["buyer", "assessor", "successor"] {
        let out = Out::new();
        let ran = pack(book.root(), &["elm-row", "--for", whom], &out);
        assert_eq!(ran.status, 2);
        assert!(ran.err.contains("nothing of this may be shared") && ran.err.contains("a danger is open there"), "{}", ran.err);
        assert!(!out.path().exists());
    }
    let (out, _) = packed(book.root(), &["elm-row", "--for", "customer"]);
    assert!(out.read("README.md").contains("fault f1 (C2, heat) on main/2"));

    // Beside one that may be shared: no name of it anywhere, and its danger on the cover.
    apply(book.root(), "sites/far-croft/site.md: {privacy: {share: full}}");
    let (out, ran) = packed(book.root(), &["--all", "--for", "successor"]);
    assert!(out.read("README.md").contains("**A danger is open at withheld site 1.**"));
    assert_eq!(out.holding("elm-row"), Vec::<String>::new());
    assert!(ran.out.contains("withheld site 1: elm-row; a danger is open there"));
}

#[test]
fn what_may_be_shared_in_full_is_and_codes_still_are_not() {
    let book = private_book();
    apply(book.root(), "sites/elm-row/site.md: {privacy: {share: full}}");
    let (out, _) = packed(book.root(), &["elm-row", "--for", "buyer"]);
    assert!(!out.holding("Mrs Fernleigh").is_empty() && !out.holding("1234 560").is_empty());
    for word in ["7712", "4111", "blue pot", pictures::TELLTALE] {
        assert_eq!(out.holding(word), Vec::<String>::new(), "{word}");
    }
    assert!(!out.read("README.md").contains("Fernleigh"), "the cover page names nobody");
}

#[test]
fn without_a_word_on_privacy_details_are_left_out() {
    let book = private_book();
    apply(book.root(), "sites/elm-row/site.md: {privacy: ~}");
    let (out, _) = packed(book.root(), &["elm-row", "--for", "buyer"]);
    for word in NEVER.iter().chain(&THEIRS) {
        assert_eq!(out.holding(word), Vec::<String>::new(), "{word}");
    }
    // And where what it says cannot be read, nothing goes.
    book.write(
        "sites/elm-row/site.md",
        book.read("sites/elm-row/site.md").replace("record: site\n", "record: site\nprivacy: {share: nonne}\n"),
    );
    assert_eq!(pack(book.root(), &["elm-row", "--for", "buyer"], &Out::new()).status, 2);
}

#[test]
fn the_hand_over_of_the_example_book_checks_as_the_book_does() {
    let example = repository().join("example-sites");
    let (out, _) = packed(&example, &["--all", "--for", "successor"]);
    let told = |root: &Path| -> Vec<String> {
        let findings = verdict_on(root, TODAY).findings;
        findings
            .iter()
            .map(|finding| format!("{} {} {} {}", finding.grade, finding.rule, finding.place.file.path, finding.subject))
            .collect()
    };
    let expected: Vec<String> = told(&example).into_iter().filter(|line| !line.contains("osier-bank")).collect();
    assert!(expected.iter().filter(|line| line.starts_with("danger")).count() >= 3);
    assert_eq!(told(&out.path()), expected);
}

#[test]
fn the_copy_of_a_troubled_site_adds_no_finding_of_its_own() {
    let book = private_book();
    for whom in ["buyer", "assessor", "successor", "customer"] {
        let (out, _) = packed(book.root(), &["elm-row", "--for", whom]);
        let rules: Vec<&str> = verdict_on(&out.path(), TODAY).findings.iter().map(|finding| finding.rule).collect();
        let before = book.rules_found();
        let new: Vec<&&str> = rules.iter().filter(|rule| !before.contains(rule)).collect();
        assert_eq!(new, Vec::<&&str>::new(), "for a {whom}");
        assert!(rules.contains(&"fault-left-live"), "the danger is in the copy for a {whom}");
    }
}

#[cfg(unix)]
#[test]
fn the_digests_are_those_of_the_files() {
    let (out, ran) = packed(&repository().join("example-sites"), &["weir-house", "--for", "customer"]);
    let sums = out.read("SHA256SUMS");
    assert_eq!(sums.lines().count(), out.files().len() - 1, "every file but the list itself");
    let check =
        std::process::Command::new("sha256sum").args(["--check", "--quiet", "SHA256SUMS"]).current_dir(out.path()).output().unwrap();
    assert!(check.status.success(), "{check:?}");
    let again = packed(&repository().join("example-sites"), &["weir-house", "--for", "customer"]);
    assert_eq!(out.files(), again.0.files(), "the same book, day and arguments");
    assert_eq!(ran.out.lines().rev().nth(1), again.1.out.lines().rev().nth(1));
}

#[test]
fn nothing_is_overwritten_and_nothing_is_put_into_the_book() {
    let book = TestBook::sound();
    let out = Out::new();
    std::fs::create_dir(out.path()).unwrap();
    assert_eq!(pack(book.root(), &["elm-row", "--for", "buyer"], &out).status, 0, "an empty folder gives way");
    let before = out.files();
    let ran = pack(book.root(), &["elm-row", "--for", "customer"], &out);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("holds something"), "{}", ran.err);
    assert_eq!(out.files(), before);
    let ran = run(book.root(), &["pack", "elm-row", "--for", "buyer", "--out", "copy", "--on", TODAY]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("lies in the book itself"), "{}", ran.err);
    assert_eq!(std::fs::read_dir(out.0.path()).unwrap().count(), 1, "no draft stays behind");
}

#[cfg(unix)]
#[test]
fn links_are_not_followed_and_paths_do_not_leave_the_book() {
    let book = TestBook::sound();
    let elsewhere = tempfile::tempdir().unwrap();
    std::fs::write(elsewhere.path().join("other.png"), pictures::png()).unwrap();
    std::fs::create_dir_all(book.root().join("sites/elm-row/photos")).unwrap();
    std::os::unix::fs::symlink(elsewhere.path().join("other.png"), book.root().join("sites/elm-row/photos/linked.png")).unwrap();
    apply(
        book.root(),
        "sites/elm-row/2026-11-02-shed.md: {body: '![a](photos/linked.png) ![b](../../../../etc/hostname) No photographs were needed.'}",
    );
    let (out, _) = packed(book.root(), &["elm-row", "--for", "customer"]);
    assert!(!out.files().keys().any(|name| name.contains("photos")), "{:?}", out.files().keys());
}

#[test]
fn a_record_that_cannot_be_read_is_named_and_gives_nothing_away() {
    let book = private_book();
    book.write("sites/elm-row/2026-11-24-torn.md", "---\nrecord: job\n  bad: : [ 01632 960444\n---\nAlarm code 7712 by the door.\n");
    for whom in ["buyer", "successor", "customer"] {
        let (out, _) = packed(book.root(), &["elm-row", "--for", whom]);
        let cover = out.read("README.md");
        let unread = cover.split("## Records that do not read as they should").nth(1).unwrap().split("\n## ").next().unwrap();
        assert_eq!(unread.trim(), "- elm-row 2026-11-24-torn", "for a {whom}");
        assert_eq!(out.holding("7712"), Vec::<String>::new());
        let torn = out.read("sites/elm-row/2026-11-24-torn.md");
        assert!(torn.contains("Alarm code [withheld: access code] by the door."), "{torn}");
    }
}

#[test]
fn an_assessor_gets_the_sites_of_the_period() {
    let (out, _) =
        packed(&repository().join("example-sites"), &["--all", "--for", "assessor", "--from", "2026-01-01", "--to", "2026-06-30"]);
    let cover = out.read("README.md");
    let jobs = cover.split("## Jobs of the period").nth(1).unwrap().split("\n## ").next().unwrap();
    let listed: Vec<&str> = jobs.lines().filter_map(|line| line.strip_prefix("- ")).collect();
    // Of the example book, by its file names: two visits lie in that half-year.
    assert_eq!(listed.len(), 2, "{listed:?}");
    assert!(listed[0].starts_with("lantern-mews-1 2026-06-16-swap") && listed[1].starts_with("moss-farm 2026-02-10-condition"));
    assert!(cover.contains("network-operator: told 41 days after installing; 28 are allowed"));
    assert!(cover.contains("clamp-1: ") && cover.contains("1 failed"));
    assert_eq!(out.files().keys().filter(|name| name.starts_with("instruments/")).count(), 8);
}

#[test]
fn contacts_that_cannot_be_read_stop_the_copy() {
    let book = private_book();
    book.write("private/contacts.yaml", "elm-row: [Q. Fernleigh");
    let ran = pack(book.root(), &["elm-row", "--for", "buyer"], &Out::new());
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("private/contacts.yaml cannot be read") && !ran.err.contains("Fernleigh"), "{}", ran.err);
}

#[test]
fn what_cannot_be_asked_for_is_said() {
    let book = TestBook::sound();
    for (args, words) in [
        (&["--all", "--for", "buyer"][..], "a copy for a buyer is of one place"),
        (&["elm-rwo", "--for", "buyer"], "Did you mean elm-row?"),
        (&["elm-row", "--for", "customer", "--from", "2026-01-01"], "--from and --to are for an assessor"),
        (&["--all", "--for", "assessor", "--from", "2030-01-01"], "no site of this book has a visit in that period"),
    ] {
        let ran = pack(book.root(), args, &Out::new());
        assert_eq!(ran.status, 2);
        assert!(ran.err.contains(words), "{}", ran.err);
    }
}
