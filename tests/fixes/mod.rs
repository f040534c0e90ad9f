//! `check --fix`: whole files in and out, compared byte for byte.

mod cases;

use std::collections::BTreeSet;
use std::path::Path;

use ampledger::book::{self, Book};
use ampledger::check::check;
use ampledger::fix::{self, Plan, Safety};
use ampledger::judge::{Filter, judge};
use ampledger::rules::Family;
use proptest::prelude::*;
use rayon::prelude::*;

use crate::cli::{Ran, run};
use crate::reading::properties::{damage, damaged};
use crate::support::{SOUND_JOB, TODAY, TestBook, tries};
use cases::{CASES, Case};

fn planned(root: &Path, most: Safety) -> (Book, Plan) {
    let book = Book::open(root).unwrap();
    let on = TODAY.parse().unwrap();
    let verdict = judge(&book, check(&book, on, &|| ()), on, &Filter::default());
    let plan = fix::plan(&book, &verdict, most);
    (book, plan)
}

/// What the fixes make of the sound book with this text as its job.
fn fixed(book: &TestBook, text: &str, most: Safety) -> String {
    book.write(SOUND_JOB, text);
    let (opened, plan) = planned(book.root(), most);
    assert_eq!(fix::write(&opened, &plan), []);
    book.read(SOUND_JOB)
}

fn check_with(book: &TestBook, args: &[&str]) -> Ran {
    run(book.root(), &[&["check", "--on", TODAY], args].concat())
}

fn rules(book: &TestBook) -> Vec<&'static str> {
    book.verdict().findings.iter().map(|finding| finding.rule).collect()
}

fn crlf(text: &str) -> String {
    text.replace('\n', "\r\n")
}

fn plain(text: &str) -> String {
    text.to_owned()
}

fn marked(text: &str) -> String {
    format!("\u{feff}{}", crlf(text))
}

#[test]
fn every_case_comes_out_as_written_in_files_of_any_line_end() {
    let book = TestBook::sound();
    let sound = book.read(SOUND_JOB);
    for Case { rule, find, put, fixed: wanted, safety } in CASES {
        assert!(sound.contains(find), "{find:?}");
        let damaged = sound.replacen(find, put, 1);
        for form in [plain, crlf, marked] {
            let (damaged, mended) = (form(&damaged), form(&sound.replacen(find, wanted, 1)));
            book.write(SOUND_JOB, &damaged);
            assert!(rules(&book).contains(rule), "{put:?} is no {rule}: {:?}", rules(&book));
            let safe = if *safety == Some(Safety::Safe) { &mended } else { &damaged };
            let all = if safety.is_some() { &mended } else { &damaged };
            assert_eq!(fixed(&book, &damaged, Safety::Safe), *safe, "{put:?}");
            assert_eq!(fixed(&book, &damaged, Safety::Unsafe), *all, "{put:?} with --unsafe");
            if safety.is_some() {
                assert!(!rules(&book).contains(rule), "{rule} is still found after the fix of {put:?}");
                assert_eq!(fixed(&book, all, Safety::Unsafe), *all, "{put:?} the second time");
            }
        }
    }
}

/// Numbers that are the same in every run.
struct Dice(u64);

impl Dice {
    fn throw(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % sides
    }
}

#[test]
fn a_thousand_records_of_combined_damage_change_only_where_a_fix_says_so() {
    let book = TestBook::sound();
    let sound = book.read(SOUND_JOB);
    let mut dice = Dice(20_261_125);
    let mut wanted: Vec<[String; 3]> = Vec::new();
    // Fixes are never made beside conflict marks, so those come alone, in the cases above.
    let cases: Vec<&Case> = CASES.iter().filter(|case| case.rule != "conflict-marks").collect();
    for _ in 0..1000 {
        let mut texts = [sound.clone(), sound.clone(), sound.clone()];
        let mut taken = BTreeSet::new();
        for _ in 0..=dice.throw(4) {
            let case = cases[dice.throw(cases.len())];
            // One damage a place, and one of those that upset the whole file.
            let place = &case.find[..case.find.len().min(12)];
            // Control characters are told of once a file, and mended together.
            let whole = if ["fence-damaged", "control-character"].contains(&case.rule) { case.rule } else { place };
            if taken.contains(place) || taken.contains(whole) {
                continue;
            }
            taken.extend([place, whole]);
            let outcomes = [
                case.put,
                if case.safety == Some(Safety::Safe) { case.fixed } else { case.put },
                if case.safety.is_some() { case.fixed } else { case.put },
            ];
            for (text, put) in texts.iter_mut().zip(outcomes) {
                *text = text.replacen(case.find, put, 1);
            }
        }
        let texts = if dice.throw(2) == 0 { texts } else { texts.map(|text| crlf(&text)) };
        wanted.push(texts);
    }
    let opened = Book::open(book.root()).unwrap();
    let mend = |text: &str, most| {
        let mut plan = fix::plan_text(&opened, SOUND_JOB, text, &|_| true, most);
        (plan.mended.pop().map_or_else(|| text.to_owned(), |mended| mended.after), plan.refused)
    };
    let differing = |[damaged, safe, all]: &[String; 3]| {
        for (from, wanted, most) in [(damaged, safe, Safety::Safe), (safe, all, Safety::Unsafe)] {
            let (now, refused) = mend(from, most);
            if now != *wanted {
                let diff = similar::TextDiff::from_lines(wanted, &now).unified_diff().header("wanted", "found").to_string();
                return Some(format!("{diff}\n{refused:?}"));
            }
            assert_eq!(mend(&now, most).0, now, "twice is not once");
        }
        None
    };
    let wrong: Vec<String> = wanted.par_iter().filter_map(differing).collect();
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), wanted.len(), wrong[..wrong.len().min(5)].join("\n"));
}

#[test]
fn what_is_not_mended_says_so() {
    let book = TestBook::sound();
    let sound = book.read(SOUND_JOB);
    let curly = sound.replacen("\"CP-204117\", set", "\u{201c}CP-204117\u{201d}, set", 1);
    let half_merged = curly.replacen("minutes_on_site: 190\n", "<<<<<<< a\nminutes_on_site: 190\n=======\n>>>>>>> b\n", 1);
    let taken = curly.replacen("zs_ohm: 0.64", "zs_ohm: 0.64\n      Zs_ohm: 0.66", 1);
    for (text, why) in [
        (half_merged, "curly-quotes not mended: the record is half merged"),
        (taken, "unknown-key not mended: something else would be told of: zs_ohm is given twice here"),
    ] {
        book.write(SOUND_JOB, &text);
        let ran = check_with(&book, &["--fix"]);
        assert_eq!(ran.status, 1);
        assert!(ran.out.split_whitespace().collect::<Vec<_>>().join(" ").contains(why), "{}", ran.out);
    }
    // Bytes that are not the text: UTF-16, and Latin-1 beside the fault.
    let utf16: Vec<u8> = [0xff, 0xfe].into_iter().chain(curly.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let mut latin = curly.clone().into_bytes();
    latin.extend(b"caf\xe9\n");
    for bytes in [utf16, latin] {
        book.write(SOUND_JOB, &bytes);
        let ran = check_with(&book, &["--fix"]);
        assert!(ran.out.contains("curly-quotes not mended: the file") && ran.out.contains("UTF-8"), "{}", ran.out);
        assert_eq!(std::fs::read(book.root().join(SOUND_JOB)).unwrap(), bytes);
    }
}

#[test]
fn a_sealed_record_is_mended_only_where_its_seal_still_fits() {
    let book = TestBook::sound();
    let seal = run(book.root(), &["seal", "--on", "2026-11-20", "elm-row/2026-11-02-shed"]);
    assert_eq!(seal.status, 0, "{}{}", seal.out, seal.err);
    let sound = book.read(SOUND_JOB);
    // Read from its mended copy, the record still says what was sealed.
    let unquoted = sound.replacen("ir_live_live_mohm: \">999\"", "ir_live_live_mohm: >999", 1);
    assert_eq!(fixed(&book, &unquoted, Safety::Safe), sound);
    // Digits in quotes are no other text; a date put right is one.
    let dated = sound.replacen("next_inspection: 2036-11-02", "next_inspection: 2036/11/02", 1);
    assert_eq!(fixed(&book, &dated, Safety::Safe), dated);
    let ran = check_with(&book, &["--fix"]);
    let told = "not-a-date not mended: the record is sealed, and its seal would no longer fit";
    assert!(ran.out.contains(told), "{}", ran.out);
    assert!(!ran.out.contains("mends this"), "{}", ran.out);
}

#[test]
fn only_what_stands_and_is_asked_for_is_mended() {
    let book = TestBook::sound();
    let sound = book.read(SOUND_JOB);
    let curly = ("\"CP-204117\", set", "\u{201c}CP-204117\u{201d}, set");
    let dated = ("next_inspection: 2036-11-02", "next_inspection: 2036/11/02");
    let both = sound.replacen(curly.0, curly.1, 1).replacen(dated.0, dated.1, 1);
    book.write(SOUND_JOB, &both);
    let ran = check_with(&book, &["--fix", "--rule", "not-a-date"]);
    assert_eq!((ran.status, book.read(SOUND_JOB)), (0, sound.replacen(curly.0, curly.1, 1)), "{}", ran.out);
    book.write(SOUND_JOB, &both);
    let ran = check_with(&book, &["--fix", "sites/elm-row/site.md"]);
    assert_eq!((ran.out.lines().next(), book.read(SOUND_JOB)), (Some("nothing mended"), both));
    // An answered finding is as its owner wants it.
    let answer = "answers: [{rule: curly-quotes, why: the label reads so, by: me, on: 2026-11-02}]\n---\n\n#";
    let answered = sound.replacen(curly.0, curly.1, 1).replacen("---\n\n#", answer, 1);
    assert_eq!(fixed(&book, &answered, Safety::Unsafe), answered);
}

#[test]
fn the_difference_is_shown_and_nothing_written() {
    let book = TestBook::sound();
    let sound = book.read(SOUND_JOB);
    assert_eq!(check_with(&book, &["--fix", "--diff"]).status, 0);
    let text = sound.replacen("title: Charge", "title:\u{a0}Charge", 1).replacen("zs_ohm: 0.64", "zs_ohm: 0,64", 1);
    let text = text.replacen("minutes_on_site: 190\n", "minutes_on_site:\t190 # \u{9b}31m\n", 1);
    book.write(SOUND_JOB, crlf(&text));
    let ran = check_with(&book, &["--fix", "--unsafe", "--diff"]);
    assert_eq!((ran.status, ran.err.as_str(), book.read(SOUND_JOB)), (1, "", crlf(&text)));
    insta::assert_snapshot!(ran.out);
    assert!(!ran.out.contains(|c: char| c.is_control() && c != '\n' && c != '\t'));
}

#[test]
fn the_output_says_what_was_mended_and_what_could_be() {
    let book = TestBook::sound();
    let sound = book.read(SOUND_JOB);
    let text = sound.replacen("title: Charge", "title:\u{a0}Charge", 1).replacen("zs_ohm: 0.64", "zs_ohm: 0,64", 1);
    book.write(SOUND_JOB, &text);
    let json: serde_json::Value = serde_json::from_str(&check_with(&book, &["--format", "json"]).out).unwrap();
    let fixes: Vec<_> = json["findings"].as_array().unwrap().iter().map(|finding| finding["fix"].clone()).collect();
    let wanted =
        [serde_json::json!({"title": "put plain spaces", "safe": true}), serde_json::json!({"title": "write 0.64", "safe": false})];
    assert_eq!(fixes, wanted);
    let before = check_with(&book, &[]);
    assert!(before.out.contains("\n        `--fix` mends this.\n"), "{}", before.out);
    let narrow = crate::cli::run_with(book.root(), &[("COLUMNS", "40")], &["check", "--on", TODAY, "--fix"]);
    assert_eq!(narrow.status, 1);
    insta::assert_snapshot!(narrow.out);
    let all = check_with(&book, &["--fix", "--unsafe"]);
    assert_eq!((all.status, book.read(SOUND_JOB)), (0, sound));
}

#[cfg(unix)]
#[test]
fn a_file_that_cannot_be_written_is_told_and_permissions_stay() {
    use std::os::unix::fs::PermissionsExt;
    let book = TestBook::sound();
    let text = book.read(SOUND_JOB).replacen("title: Charge", "title:\u{a0}Charge", 1);
    book.write(SOUND_JOB, &text);
    let path = book.root().join(SOUND_JOB);
    let mode = |mode| std::fs::set_permissions(&path, std::fs::Permissions::from_mode(mode)).unwrap();
    mode(0o444);
    let ran = check_with(&book, &["--fix"]);
    assert_eq!((ran.status, book.read(SOUND_JOB)), (2, text));
    assert!(ran.err.starts_with(&format!("ampledger: {SOUND_JOB} could not be written: it is read-only\n")), "{}", ran.err);
    mode(0o640);
    assert_eq!(check_with(&book, &["--fix"]).status, 0);
    assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
}

/// The findings of form in the sound book's job.
fn form_findings(book: &TestBook) -> usize {
    let is_form = |rule: &str| ampledger::rules::by_id(rule).is_some_and(|rule| rule.family == Family::Form);
    book.verdict().findings.iter().filter(|finding| is_form(finding.rule)).count()
}

proptest! {
    #![proptest_config(tries(160))]

    #[test]
    fn whatever_was_done_to_a_record_fixes_make_it_no_worse(damages in prop::collection::vec(damage(), 1..5)) {
        let book = TestBook::sound();
        book.write(SOUND_JOB, damaged(&book.read(SOUND_JOB), &damages));
        let bytes = std::fs::read(book.root().join(SOUND_JOB)).unwrap();
        let before = form_findings(&book);
        let (opened, plan) = planned(book.root(), Safety::Unsafe);
        prop_assert_eq!(fix::write(&opened, &plan), []);
        let now = std::fs::read(book.root().join(SOUND_JOB)).unwrap();
        if plan.mended.is_empty() {
            prop_assert_eq!(&bytes, &now);
        } else {
            let done: usize = plan.mended.iter().flat_map(|mended| mended.done.values()).sum();
            // The most that is told of one file hides the rest.
            prop_assert!(before >= 60 || form_findings(&book) + done <= before);
            let read = |bytes: Vec<u8>| {
                let text = String::from_utf8(bytes).unwrap();
                book::read_as_placed(SOUND_JOB, text.trim_start_matches('\u{feff}').to_owned()).unwrap()
            };
            let (was, is) = (read(bytes), read(now));
            prop_assert_eq!(was.source.body_text(), is.source.body_text());
            // A record that nothing could be read of may stay so, with one of its faults fewer.
            prop_assert!(!is.lost || was.lost);
        }
        let (_, again) = planned(book.root(), Safety::Unsafe);
        prop_assert!(again.mended.is_empty());
    }
}
