//! Answers in records and grades in `book.yaml`: what they quiet, what they do not, and what is said of those that quiet nothing.

use std::sync::Arc;

use ampledger::book::{Book, FieldPath, SourceFile};
use ampledger::check::Checked;
use ampledger::finding::{Finding, Grade, Place};
use ampledger::judge::{Filter, Verdict, judge};

use crate::support::{SOUND_JOB, TODAY, TestBook, verdict_on};

/// The sound book with a doubt (a link to nothing), a breach (a key that is none), and these answers in the job.
fn book(answers: &str) -> TestBook {
    let book = TestBook::sound();
    let job = book.read(SOUND_JOB) + "\n[x](photos/none.jpg)\n";
    let job = job.replacen("next_inspection:", &format!("zzz: 1\nanswers: [{answers}]\nnext_inspection:"), 1);
    book.write(SOUND_JOB, job);
    book
}

/// Those of the two findings that stand, and what is said of answers and settings.
fn standing(verdict: &Verdict) -> Vec<&'static str> {
    let mut rules: Vec<&str> = verdict.findings.iter().map(|finding| finding.rule).collect();
    rules.sort_unstable();
    rules
}

fn answered(verdict: &Verdict) -> Vec<&'static str> {
    verdict.answered.iter().map(|answered| answered.finding.rule).collect()
}

const DOUBT: &str = "link-to-nothing";
const BREACH: &str = "unknown-key";

#[test]
fn a_doubt_is_quiet_with_a_reason_and_shown_as_answered() {
    let verdict = book("{rule: link-to-nothing, why: the phone was stolen}").verdict();
    assert_eq!(standing(&verdict), [BREACH]);
    assert_eq!(answered(&verdict), [DOUBT]);
    assert_eq!((verdict.answered[0].why.as_str(), verdict.answered[0].until), ("the phone was stolen", None));
    assert_eq!((verdict.summary.answered, verdict.summary.doubt, verdict.summary.breach), (1, 0, 1));
}

#[test]
fn an_answer_holds_until_the_end_of_its_last_day() {
    for (until, holds) in [("2026-11-24", false), (TODAY, true), ("2026-11-26", true)] {
        for rule in [DOUBT, BREACH] {
            let verdict = book(&format!("{{rule: {rule}, why: old program, until: {until}}}")).verdict();
            let other = if rule == DOUBT { BREACH } else { DOUBT };
            if holds {
                assert_eq!((standing(&verdict), answered(&verdict)), (vec![other], vec![rule]), "{until}");
            } else {
                let mut wanted = vec!["answer-run-out", DOUBT, BREACH];
                wanted.sort_unstable();
                assert_eq!((standing(&verdict), answered(&verdict)), (wanted, vec![]), "{until}");
            }
        }
    }
    // The same answer runs out between one day and the next.
    let book = book("{rule: unknown-key, why: old program, until: 2026-11-25}");
    assert_eq!(answered(&verdict_on(book.root(), "2026-11-25")), [BREACH]);
    assert_eq!(answered(&verdict_on(book.root(), "2026-11-26")), Vec::<&str>::new());
}

#[test]
fn a_breach_is_quiet_only_until_a_date() {
    let verdict = book("{rule: unknown-key, why: old program}").verdict();
    assert_eq!(standing(&verdict), ["answer-run-out", DOUBT, BREACH]);
    let told = verdict.findings.iter().find(|finding| finding.rule == "answer-run-out").unwrap();
    assert_eq!(told.message, "unknown-key is a breach, and is quiet only until a date: this answer gives none");
    assert_eq!(told.place.path.to_string(), "/answers/0/until");
}

#[test]
fn an_answer_speaks_of_its_subject_only() {
    let verdict = book("{rule: link-to-nothing, at: photos/none.jpg, why: stolen}").verdict();
    assert_eq!(answered(&verdict), [DOUBT]);
    let verdict = book("{rule: link-to-nothing, at: main/1, why: stolen}").verdict();
    assert_eq!(standing(&verdict), ["answer-matches-nothing", DOUBT, BREACH]);
    let told = verdict.findings.iter().find(|finding| finding.rule == "answer-matches-nothing").unwrap();
    assert_eq!((told.grade, told.subject.as_str()), (Grade::Tidy, "main/1"));
    assert_eq!(told.message, "link-to-nothing finds nothing at main/1: this answer answers nothing");
}

#[test]
fn an_answer_without_at_speaks_for_the_whole_file_and_for_no_other() {
    let book = book("{rule: link-to-nothing, why: stolen}");
    book.write(SOUND_JOB, book.read(SOUND_JOB) + "\n[y](photos/neither.jpg)\n");
    book.write("sites/elm-row/2026-11-20-look.md", "---\nrecord: job\nkind: survey\nstatus: planned\ntitle: Look\n---\n\n[z](z.jpg)\n");
    let verdict = book.verdict();
    assert_eq!(answered(&verdict), [DOUBT, DOUBT]);
    assert_eq!(standing(&verdict), [DOUBT, BREACH]);
}

#[test]
fn an_answer_in_the_site_record_speaks_for_every_visit_there_and_nowhere_else() {
    let book = book("");
    let site = book.read("sites/elm-row/site.md");
    let with_answer = site.replacen("storeys: 2", "storeys: 2\nanswers: [{rule: link-to-nothing, why: their camera broke}]", 1);
    book.write("sites/elm-row/site.md", with_answer);
    let visit = "---\nrecord: job\nkind: survey\nstatus: planned\ntitle: Look\n---\n\n[z](z.jpg)\n";
    book.write("sites/elm-row/2026-11-20-look.md", visit);
    assert_eq!((standing(&book.verdict()), answered(&book.verdict())), (vec![BREACH], vec![DOUBT, DOUBT]));
    book.write("sites/oak-lane/site.md", site);
    book.write("sites/oak-lane/2026-11-20-look.md", visit);
    let verdict = book.verdict();
    assert_eq!(answered(&verdict), [DOUBT, DOUBT]);
    let doubt = verdict.findings.iter().find(|finding| finding.rule == DOUBT).unwrap();
    assert_eq!(doubt.place.file.path, "sites/oak-lane/2026-11-20-look.md");
}

#[test]
fn a_reason_is_more_than_blanks() {
    for reason in ["", "why: ,", "why: '  ',"] {
        let verdict = book(&format!("{{{reason} rule: link-to-nothing}}")).verdict();
        assert_eq!(standing(&verdict), ["answer-without-reason", DOUBT, BREACH], "{reason}");
    }
}

#[test]
fn an_answer_to_no_rule_is_told_with_the_nearest() {
    let verdict = book("{rule: link-to-nothin, why: stolen}, {why: stolen}").verdict();
    assert_eq!(standing(&verdict), ["answer-matches-nothing", DOUBT, BREACH, "unknown-rule"]);
    let told = verdict.findings.iter().find(|finding| finding.rule == "unknown-rule").unwrap();
    assert_eq!(told.help, "Did you mean link-to-nothing? `ampledger explain` lists all rules.");
}

#[test]
fn a_new_answer_stands_in_for_one_that_has_run_out() {
    let old = "{rule: unknown-key, why: old program, until: 2026-11-01}";
    let new = "{rule: unknown-key, why: still the old program, until: 2027-11-01}";
    for answers in [format!("{old}, {new}"), format!("{new}, {old}")] {
        let verdict = book(&answers).verdict();
        assert_eq!((standing(&verdict), answered(&verdict)), (vec![DOUBT], vec![BREACH]), "{answers}");
        assert_eq!(verdict.answered[0].why, "still the old program");
    }
}

fn with_settings(book: TestBook, rules: &str) -> TestBook {
    book.write("book.yaml", format!("{}rules: [{rules}]\n", book.read("book.yaml")));
    book
}

#[test]
fn the_book_grades_a_rule_otherwise_with_a_reason() {
    let grade = |rules: &str| {
        let verdict = with_settings(book(""), rules).verdict();
        verdict.findings.iter().find(|finding| finding.rule == DOUBT).map(|finding| finding.grade)
    };
    assert_eq!(grade("{rule: link-to-nothing, grade: tidy, why: no camera}"), Some(Grade::Tidy));
    assert_eq!(grade("{rule: link-to-nothing, grade: breach, why: photographs are our proof}"), Some(Grade::Breach));
    assert_eq!(grade("{rule: link-to-nothing, grade: danger, why: photographs are our proof}"), Some(Grade::Danger));
    assert_eq!(grade("{rule: link-to-nothing, grade: silent, why: no camera}"), None);
    assert_eq!(grade("{rule: unknown-key, grade: silent, why: old program}"), Some(Grade::Doubt));
}

#[test]
fn a_setting_that_lacks_something_has_no_effect_and_is_told() {
    for (rules, message) in [
        ("{rule: link-to-nothing, grade: silent}", "link-to-nothing is graded otherwise in this book, and nothing says why"),
        ("{rule: link-to-nothing, grade: silent, why: ' '}", "link-to-nothing is graded otherwise in this book, and nothing says why"),
        ("{rule: link-to-nothing, why: no camera}", "the entry for link-to-nothing gives no grade"),
        ("{grade: silent, why: no camera}", "this entry names no rule"),
    ] {
        let verdict = with_settings(book(""), rules).verdict();
        assert_eq!(standing(&verdict), [DOUBT, "setting-without-effect", BREACH], "{rules}");
        let told = verdict.findings.iter().find(|finding| finding.rule == "setting-without-effect").unwrap();
        assert_eq!((told.message.as_str(), told.place.file.path.as_str()), (message, "book.yaml"));
    }
    let verdict = with_settings(book(""), "{rule: link-to-nothin, grade: silent, why: no camera}").verdict();
    assert_eq!(standing(&verdict), [DOUBT, BREACH, "unknown-rule"]);
}

#[test]
fn what_the_book_makes_a_danger_is_not_answered() {
    let book = with_settings(
        book("{rule: link-to-nothing, why: stolen, until: 2030-01-01}"),
        "{rule: link-to-nothing, grade: danger, why: photographs are our proof}",
    );
    let verdict = book.verdict();
    assert_eq!((standing(&verdict), answered(&verdict)), (vec!["danger-silenced", DOUBT, BREACH], vec![]));
    let told = verdict.findings.iter().find(|finding| finding.rule == "danger-silenced").unwrap();
    assert_eq!(told.grade, Grade::Breach);
    assert_eq!(told.related[0].place.file.path, SOUND_JOB);
}

#[test]
fn no_setting_lowers_a_danger() {
    for grade in ["silent", "tidy", "breach"] {
        let test_book = with_settings(TestBook::sound(), &format!("{{rule: link-to-nothing, grade: {grade}, why: it is an old house}}"));
        let book = Book::open(test_book.root()).unwrap();
        let file = Arc::new(SourceFile::yaml("sites/elm-row/x.md".to_owned(), "x".to_owned()));
        let danger = Finding {
            rule: DOUBT,
            grade: Grade::Danger,
            place: Place::bytes(&file, FieldPath::root(), 0..1),
            subject: String::new(),
            message: "live metal".to_owned(),
            label: String::new(),
            help: "Isolate it.".to_owned(),
            source: String::new(),
            related: Vec::new(),
            fault: None,
            fix: None,
        };
        let doubt = Finding { grade: Grade::Doubt, message: "a doubt of the same rule".to_owned(), ..danger.clone() };
        let checked = Checked { findings: vec![danger, doubt], ..Checked::default() };
        let verdict = judge(&book, checked, TODAY.parse().unwrap(), &Filter::default());
        let dangers: Vec<&str> = verdict.findings.iter().filter(|f| f.grade == Grade::Danger).map(|f| f.message.as_str()).collect();
        assert_eq!(dangers, ["live metal"], "{grade}");
        assert!(standing(&verdict).contains(&"danger-silenced"), "{grade}");
        let milder = verdict.findings.iter().find(|finding| finding.message.starts_with("a doubt")).map(|finding| finding.grade.as_str());
        assert_eq!(milder, (grade != "silent").then_some(grade), "what is no danger follows the setting");
    }
}
