//! Every rule by its own examples and by its folder of cases.

mod errors;
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

/// An answer or a setting refused leaves standing what it spoke for; that is part of its example.
fn spoken_for(rule: &rules::Rule, keys: &str) -> BTreeSet<&'static str> {
    let refuses = rule.family == rules::Family::Answers;
    rules::all().map(|other| other.id).filter(|id| refuses && *id != rule.id && keys.contains(&format!("rule: {id}"))).collect()
}

#[test]
fn every_bad_example_fires_its_rule_and_nothing_else() {
    let mut wrong = Vec::new();
    for rule in rules::all().filter(|rule| !WITHOUT_EXAMPLE.contains(&rule.id)) {
        let spoken_for = match rule.bad {
            Example::Keys(keys) => spoken_for(rule, keys),
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
        let known = rules::by_id(&rule).unwrap_or_else(|| panic!("tests/cases/{rule} is named after no rule"));
        let mut cases: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        cases.sort();
        for case in cases {
            let name = case.file_name().unwrap().to_string_lossy().into_owned();
            let keys = std::fs::read_to_string(&case).unwrap();
            let book = TestBook::sound();
            crate::support::apply(book.root(), &keys);
            let fires = name.starts_with("fires-");
            let aside = if fires { spoken_for(known, &keys) } else { BTreeSet::new() };
            let found: Vec<&str> = book.rules_found().into_iter().filter(|id| !aside.contains(id)).collect();
            let wanted: &[&str] = if fires { &[rule.as_str()] } else { &[] };
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

/// Rules whose fault no case can hold: not text, made and read by `tests/reading` or `tests/rules/private.rs`; or what the program itself
/// wrote down earlier, made by `tests/seals` and `tests/backlog`, which write, change and look again.
const WITHOUT_CASES: [(&str, &str); 13] = [
    ("file-unreadable", "a permission of the file system"),
    ("link-not-followed", "a link of the file system"),
    ("file-too-large", "a megabyte of text"),
    ("not-utf8", "bytes that no text holds"),
    ("photograph-tells-the-place", "bytes of a picture"),
    ("sealed-record-changed", "a seal, and a record changed since"),
    ("sealed-record-missing", "a seal, and a record gone since"),
    ("sealed-photograph-changed", "a seal over the bytes of a picture"),
    ("sealed-twice", "a roll of seals with two of one number"),
    ("seal-cannot-be-compared", "a seal of another form"),
    ("backlog-spare", "a count of findings that are gone"),
    ("backlog-run-out", "a count past its day"),
    ("backlog-without-effect", "a count that quiets nothing"),
];

#[test]
fn every_rule_has_a_case_that_fires_it_and_one_that_is_quiet() {
    let mut lacking = Vec::new();
    for rule in rules::all().filter(|rule| !WITHOUT_CASES.iter().any(|(id, _)| *id == rule.id)) {
        let (fires, quiet) = cases(rule.id);
        if fires == 0 || quiet == 0 {
            lacking.push(format!("{}: {fires} that fire, {quiet} that are quiet", rule.id));
        }
    }
    assert!(lacking.is_empty(), "{}", lacking.join("\n"));
    for (id, _) in WITHOUT_CASES {
        assert!(rules::by_id(id).is_some() && cases(id) == (0, 0), "{id} stands in the list of those without cases");
    }
}

/// How many cases of a rule fire, and how many are quiet.
fn cases(rule: &str) -> (usize, usize) {
    let folder = repository().join("tests/cases").join(rule);
    let names: Vec<String> = std::fs::read_dir(folder)
        .map(|entries| entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect())
        .unwrap_or_default();
    let count = |start: &str| names.iter().filter(|name| name.starts_with(start)).count();
    (count("fires-"), count("quiet-"))
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
