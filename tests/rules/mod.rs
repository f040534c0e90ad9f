//! Every rule by its own examples and by its folder of cases.

mod limits;
mod private;

use std::collections::BTreeSet;

use ampledger::rules::{self, Example};

use crate::support::{TestBook, repository};

#[test]
fn the_sound_book_is_silent() {
    assert_eq!(TestBook::sound().found(), Vec::<String>::new());
}

/// Rules whose fault cannot be written down as a file; their own tests make it.
const WITHOUT_EXAMPLE: [&str; 3] = ["file-unreadable", "link-not-followed", "file-too-large"];

#[test]
fn every_bad_example_fires_its_rule_and_nothing_else() {
    let mut wrong = Vec::new();
    for rule in rules::all().filter(|rule| !WITHOUT_EXAMPLE.contains(&rule.id)) {
        // An answer refused leaves standing what it spoke for; that is part of the example.
        let spoken_for: BTreeSet<&str> = match rule.bad {
            Example::Keys(keys) => rules::all().map(|rule| rule.id).filter(|id| keys.contains(&format!("rule: {id}"))).collect(),
            _ => BTreeSet::new(),
        };
        let found: Vec<&str> = TestBook::with(&rule.bad).rules_found();
        let others: Vec<&&str> = found.iter().filter(|id| **id != rule.id && !spoken_for.contains(*id)).collect();
        if !found.contains(&rule.id) || !others.is_empty() {
            wrong.push(format!("{}: its bad example fires {found:?}", rule.id));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_good_example_is_silent() {
    let mut wrong = Vec::new();
    for rule in rules::all() {
        let found = TestBook::with(&rule.good).found();
        let about_answers = rule.family == rules::Family::Answers;
        if !(found.is_empty() || about_answers && found.iter().all(|line| !line.starts_with(rule.id))) {
            wrong.push(format!("{}: its good example finds {found:?}", rule.id));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// `tests/cases/<rule>/fires-*.yaml` fires that rule and nothing else; `quiet-*.yaml` is silent. Both are laid over the sound book.
#[test]
fn every_case_does_what_its_name_says() {
    let mut wrong = Vec::new();
    let mut count = 0;
    let mut folders: Vec<_> = std::fs::read_dir(repository().join("tests/cases")).unwrap().map(|entry| entry.unwrap().path()).collect();
    folders.sort();
    for folder in folders.iter().filter(|path| path.is_dir()) {
        let rule = folder.file_name().unwrap().to_string_lossy().into_owned();
        assert!(rules::by_id(&rule).is_some(), "tests/cases/{rule} is named after no rule");
        let mut cases: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        cases.sort();
        for case in cases {
            let name = case.file_name().unwrap().to_string_lossy().into_owned();
            let keys = std::fs::read_to_string(&case).unwrap();
            let book = TestBook::sound();
            crate::support::apply(book.root(), &keys);
            let found = book.rules_found();
            let wanted: &[&str] = if name.starts_with("fires-") { &[rule.as_str()] } else { &[] };
            assert!(name.starts_with("fires-") || name.starts_with("quiet-"), "{rule}/{name}: a case is named fires- or quiet-");
            if found != wanted {
                wrong.push(format!("{rule}/{name} finds {:?}", book.found()));
            }
            count += 1;
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(count > 0, "there is not one case under tests/cases");
}

#[test]
fn every_rule_is_whole_and_its_id_unique() {
    let mut ids = BTreeSet::new();
    for rule in rules::all() {
        assert!(ids.insert(rule.id), "{} stands twice in the list", rule.id);
        assert!(rule.id.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-'), "{}", rule.id);
        for (what, text) in [("title", rule.title), ("looks_at", rule.looks_at), ("why", rule.why), ("cure", rule.cure)] {
            assert!(!text.trim().is_empty(), "{} has no {what}", rule.id);
        }
        assert!(!rule.sources.is_empty(), "{} names no source", rule.id);
    }
}
