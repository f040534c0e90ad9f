//! Two people, two branches, one book: git merges what they did, and what it cannot merge is named. Needs the program `git`.

use crate::cli::run;
use crate::support::{Repository, SOUND_JOB, TODAY, TestBook};

/// The sound book in a repository, with the lines in `.gitattributes` that the program asks for.
fn repository() -> Option<Repository> {
    let book = TestBook::sound();
    book.write(".gitattributes", "seals.yaml merge=union\nbacklog.yaml merge=union\n");
    Repository::of(book)
}

/// Lets two people work, each on a branch from here, and merges the second into the first.
fn merge(repository: &Repository, first: impl Fn(&TestBook), second: impl Fn(&TestBook)) -> (bool, String) {
    repository.git(&["switch", "--quiet", "--create", "first"]);
    first(&repository.0);
    repository.commit("the first");
    repository.git(&["switch", "--quiet", "--create", "second", "main"]);
    second(&repository.0);
    repository.commit("the second");
    repository.git(&["switch", "--quiet", "first"]);
    repository.try_git(&["merge", "--no-edit", "second"])
}

fn edit(book: &TestBook, path: &str, find: &str, put: &str) {
    let text = book.read(path);
    assert!(text.contains(find), "{find}");
    book.write(path, text.replacen(find, put, 1));
}

fn done(book: &TestBook, args: &[&str]) {
    let ran = run(book.root(), args);
    assert_eq!(ran.status, 0, "{args:?}: {}{}", ran.out, ran.err);
}

/// A second visit like the sound one, on another day and with numbers of its own.
fn visit(book: &TestBook, day: &str, number: &str) -> String {
    let path = format!("sites/elm-row/{day}-look.md");
    book.write(&path, format!("---\nrecord: job\nkind: survey\nstatus: complete\ntitle: Look {number}\n---\n\nLooked at the meter.\n"));
    path
}

#[test]
fn visits_registers_and_seals_of_two_people_merge() {
    let Some(repository) = repository() else { return };
    let book = &repository.0;
    let paths: Vec<String> = (1..=6).map(|day| visit(book, &format!("2026-10-0{day}"), &day.to_string())).collect();
    repository.commit("six visits");
    let torque = "instruments/torque-1.md";
    let (merged, said) = merge(
        &repository,
        |book| {
            visit(book, "2026-11-20", "20");
            edit(book, &paths[0], "Looked", "Looked again");
            edit(book, torque, "calibrations:", "# read by the first\ncalibrations:");
            done(book, &["seal", &paths[0], &paths[2], &paths[4], "--on", "2026-11-20"]);
        },
        |book| {
            visit(book, "2026-11-21", "21");
            edit(book, &paths[1], "Looked", "Looked again");
            edit(book, "instruments/mft-1.md", "calibrations:", "# read by the second\ncalibrations:");
            done(book, &["seal", &paths[1], &paths[3], &paths[5], "--on", "2026-11-21"]);
        },
    );
    assert!(merged, "{said}");
    let text = book.read("seals.yaml");
    for path in &paths {
        assert_eq!(text.matches(&format!("file: {path}")).count(), 1, "{text}");
    }
    assert_eq!(book.rules_found(), Vec::<&str>::new(), "{text}");
    edit(book, &paths[3], "Looked", "Did not look");
    assert_eq!(book.rules_found(), ["sealed-record-changed"]);
    // The next seal puts the lines in order again and keeps them all.
    done(book, &["seal", &paths[3], "--reason", "nobody was in", "--on", "2026-11-22"]);
    let files: Vec<String> =
        book.read("seals.yaml").lines().filter_map(|line| Some(line.strip_prefix("- {file: ")?.split(',').next()?.to_owned())).collect();
    assert_eq!(files.len(), 7);
    assert!(files.is_sorted(), "{files:?}");
}

#[test]
fn seals_added_between_the_same_two_lines_merge() {
    let Some(repository) = repository() else { return };
    let book = &repository.0;
    let paths: Vec<String> = (1..=4).map(|day| visit(book, &format!("2026-10-0{day}"), &day.to_string())).collect();
    done(book, &["seal", &paths[0], &paths[3], "--on", "2026-11-19"]);
    repository.commit("two of four sealed");
    let (merged, said) = merge(
        &repository,
        |book| done(book, &["seal", &paths[1], "--on", "2026-11-20"]),
        |book| done(book, &["seal", &paths[2], "--on", "2026-11-21"]),
    );
    assert!(merged, "{said}");
    assert_eq!(book.read("seals.yaml").matches("\n- {").count(), 4);
    assert_eq!(book.rules_found(), Vec::<&str>::new());
}

#[test]
fn one_record_sealed_on_two_branches_is_told() {
    let Some(repository) = repository() else { return };
    let book = &repository.0;
    let path = visit(book, "2026-10-01", "1");
    repository.commit("a visit");
    let (merged, said) = merge(
        &repository,
        |book| done(book, &["seal", &path, "--on", "2026-11-20"]),
        |book| {
            edit(book, &path, "Looked at", "Looked hard at");
            done(book, &["seal", &path, "--on", "2026-11-21"]);
        },
    );
    assert!(merged, "{said}");
    assert_eq!(book.rules_found(), ["sealed-twice"], "{}", book.read("seals.yaml"));
    done(book, &["seal", &path, "--reason", "both looked", "--on", "2026-11-22"]);
    let found = book.rules_found();
    assert_eq!(found, Vec::<&str>::new(), "{}", book.read("seals.yaml"));
}

#[test]
fn a_backlog_lowered_on_two_branches_merges_and_the_lower_count_holds() {
    let Some(repository) = repository() else { return };
    let book = &repository.0;
    edit(book, SOUND_JOB, "minutes_on_site: 190", "zza: 1\nzzb: 1\nzzc: 1\nzzd: 1\nminutes_on_site: 190");
    done(book, &["check", "--accept", "--reason", "another hand", "--on", TODAY]);
    repository.commit("the backlog");
    let (merged, said) = merge(
        &repository,
        |book| {
            edit(book, SOUND_JOB, "zza: 1\n", "");
            done(book, &["check", "--accept", "--on", TODAY]);
        },
        |book| {
            edit(book, SOUND_JOB, "zzc: 1\nzzd: 1\n", "");
            done(book, &["check", "--accept", "--on", TODAY]);
        },
    );
    // The record itself was changed on lines that touch; only the backlog is looked at here.
    let text = book.read("backlog.yaml");
    assert!(text.contains("count: 3,") && text.contains("count: 2,") && !text.contains("<<<<"), "{merged} {said} {text}");
    edit(book, SOUND_JOB, &book.read(SOUND_JOB), &sound_with(&["zzb", "zze", "zzf"]));
    assert_eq!(book.verdict().findings.len(), 3, "three against two: all are shown");
    book.write(SOUND_JOB, sound_with(&["zzb", "zze"]));
    assert_eq!(book.verdict().findings.len(), 0);
    done(book, &["check", "--accept", "--on", TODAY]);
    assert_eq!(book.read("backlog.yaml").matches("\n- {").count(), 1);
}

fn sound_with(keys: &[&str]) -> String {
    let more: String = keys.iter().map(|key| format!("{key}: 1\n")).collect();
    TestBook::sound().read(SOUND_JOB).replacen("minutes_on_site: 190", &format!("{more}minutes_on_site: 190"), 1)
}

/// Without the line in `.gitattributes`, or in one record, git leaves both versions: that file is named, and all others are checked.
#[test]
fn what_git_leaves_half_merged_is_named_and_the_rest_is_checked() {
    let Some(repository) = repository() else { return };
    let book = &repository.0;
    std::fs::remove_file(book.root().join(".gitattributes")).unwrap();
    let paths: Vec<String> = (1..=3).map(|day| visit(book, &format!("2026-10-0{day}"), &day.to_string())).collect();
    repository.commit("three visits");
    let (merged, _) = merge(
        &repository,
        |book| {
            edit(book, SOUND_JOB, "zs_ohm: 0.34", "zs_ohm: 0.35");
            done(book, &["seal", &paths[0], "--on", "2026-11-20"]);
        },
        |book| {
            edit(book, SOUND_JOB, "zs_ohm: 0.34", "zs_ohm: 0.33");
            done(book, &["seal", &paths[1], "--on", "2026-11-20"]);
        },
    );
    assert!(!merged, "two readings of one circuit cannot both be true");
    let mut named: Vec<String> = book.found().into_iter().filter(|line| line.starts_with("conflict-marks")).collect();
    named.sort();
    assert_eq!(named, ["conflict-marks seals.yaml ".to_owned(), format!("conflict-marks {SOUND_JOB} main/1")]);
    assert_eq!(run(book.root(), &["seal", &paths[2]]).status, 2, "nothing is written into a half merged file");
    // Both sides' seals hold meanwhile, and the rest of the book is checked.
    edit(book, &paths[0], "Looked", "Did not look");
    edit(book, &paths[1], "Looked", "Did not look");
    edit(book, &paths[2], "kind: survey", "kind: surway");
    let found = book.rules_found();
    assert_eq!(found, ["conflict-marks", "sealed-record-changed", "unknown-word"]);
    assert_eq!(book.found().iter().filter(|line| line.starts_with("sealed-record-changed")).count(), 2);
}
