//! `check` of what changed: over real repositories, with everything that git and its users do to the names and states of files.

mod hooks;
mod staged;

use std::collections::BTreeSet;
use std::path::Path;

use crate::cli::{Ran, program, run, run_with};
use crate::support::{Repository, SOUND_JOB, TODAY, TestBook, copy, git_in, repository};

/// `rule file` of every finding that is shown.
pub fn shown(folder: &Path, args: &[&str]) -> BTreeSet<String> {
    let ran = run(folder, &[&["check", "--on", TODAY, "--format", "json"], args].concat());
    assert!(ran.status < 2, "{args:?}: {}", ran.err);
    let report: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let word = |finding: &serde_json::Value, key: &str| finding[key].as_str().unwrap().to_owned();
    let findings = report["findings"].as_array().unwrap();
    findings.iter().map(|finding| format!("{} {}", word(finding, "rule"), word(finding, "file"))).collect()
}

pub fn check(folder: &Path, args: &[&str]) -> Ran {
    run(folder, &[&["check", "--on", TODAY], args].concat())
}

/// A book, the example book, in which every kind of record has something to be said of it.
fn example() -> Option<Repository> {
    let book = TestBook::sound();
    for entry in std::fs::read_dir(book.root()).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { std::fs::remove_dir_all(path).unwrap() } else { std::fs::remove_file(path).unwrap() }
    }
    copy(&repository().join("example-sites"), book.root());
    Repository::of(book)
}

#[test]
fn a_change_shows_the_records_that_it_touches() {
    let Some(example) = example() else { return };
    let book = &example.0;
    let all = shown(book.root(), &[]);
    assert_eq!(shown(book.root(), &["--changed-since", "HEAD"]), BTreeSet::new());
    // Which finding is in reach of which record follows from what the records say: osier-bank's visit names mft-1, the check that clamp-1
    // failed names its visits as a reason, and no finding of the example rests on torque-1 or on a model.
    let cases: [(&str, &[&str]); 8] = [
        ("sites/tollgate-14/2018-06-05-condition.md", &["fault-left-live sites/tollgate-14/2026-11-12-socket.md"]),
        (
            "sites/plover-close-5/site.md",
            &["missing-reading sites/plover-close-5/2023-10-17-charge-point.md", "not-a-number sites/plover-close-5/2025-11-18-sockets.md"],
        ),
        ("instruments/clamp-1.md", &["failed-check-touches-visits instruments/clamp-1.md"]),
        ("instruments/torque-1.md", &[]),
        ("README.md", &[]),
        ("sites/wren-hall/photos/new.txt", &["task-past-date sites/wren-hall/2025-03-18-kitchen.md"]),
        ("instruments/mft-1.md", &["instrument-out-of-calibration sites/osier-bank/2021-03-24-garden.md"]),
        ("book.yaml", &[]),
    ];
    for (path, expected) in cases {
        let before = std::fs::read(book.root().join(path)).unwrap_or_default();
        book.write(path, [&before[..], b"\n"].concat());
        let found = shown(book.root(), &["--changed-since", "HEAD"]);
        if path == "book.yaml" {
            assert_eq!(found, all, "everything is judged by the book's settings");
        } else {
            let expected: BTreeSet<String> = expected.iter().map(ToString::to_string).collect();
            assert!(expected.is_subset(&found), "{path}: {found:?}");
            let names = |finding: &&String| !expected.contains(*finding);
            let more: Vec<&String> = found.iter().filter(names).collect();
            let by_name = |finding: &&&String| {
                let file = finding.split(' ').nth(1).unwrap();
                let id = path.rsplit('/').next().unwrap().trim_end_matches(".md");
                path.starts_with("instruments/") && book.read(file).contains(id)
            };
            assert_eq!(more.iter().filter(by_name).count(), more.len(), "{path}: {more:?}");
        }
        if before.is_empty() { std::fs::remove_file(book.root().join(path)).unwrap() } else { book.write(path, before) }
    }
    assert_eq!(shown(book.root(), &["--changed-since", "HEAD"]), BTreeSet::new());
}

#[test]
fn a_visit_named_as_a_reason_elsewhere_brings_that_finding() {
    let Some(example) = example() else { return };
    let book = &example.0;
    let report: serde_json::Value = serde_json::from_str(&check(book.root(), &["--format", "json", "instruments"]).out).unwrap();
    let mut visit = report["findings"][0]["related"].as_array().unwrap().iter().map(|reason| reason["file"].as_str().unwrap());
    let visit = visit.rfind(|file| file.starts_with("sites/")).unwrap();
    book.write(visit, book.read(visit) + "\n");
    let found = shown(book.root(), &["--changed-since", "main"]);
    assert!(found.contains("failed-check-touches-visits instruments/clamp-1.md"), "{visit}: {found:?}");
}

#[test]
fn what_a_branch_changed_is_told_however_it_changed_it_and_what_it_left_alone_is_not() {
    let Some(repository) = Repository::of(TestBook::sound()) else { return };
    let book = &repository.0;
    let site = |name: &str| format!("sites/{name}/2026-11-20-look.md");
    let bad = "---\nrecord: job\nkind: surway\nstatus: complete\n---\n";
    // Names as phones and people make them.
    let names = ["oak lane", "c\u{e9}dar \u{201c}end\u{201d}", "a\"quote\"", "tab\tname", "-dash"];
    repository.git(&["switch", "--quiet", "--create", "work"]);
    for (number, name) in names.iter().enumerate() {
        book.write(&site(name), bad);
        match number {
            0 => repository.commit("one"),
            1 => drop(repository.git(&["add", "--all"])),
            _ => {}
        }
    }
    let told = |book: &TestBook, args: &[&str]| -> BTreeSet<String> {
        shown(book.root(), args).into_iter().filter_map(|line| Some(line.strip_prefix("unknown-word ")?.to_owned())).collect()
    };
    let expected: BTreeSet<String> = names.iter().map(|name| site(name)).collect();
    assert_eq!(told(book, &["--changed-since", "main"]), expected);
    // Since its own last commit, one less; in one folder, that one.
    assert_eq!(told(book, &["--changed-since", "HEAD"]).len(), expected.len() - 1);
    assert_eq!(told(book, &["--changed-since", "main", "sites/oak lane"]), BTreeSet::from([site("oak lane")]));

    // What came to main meanwhile is not this branch's doing.
    repository.commit("the rest");
    repository.git(&["switch", "--quiet", "main"]);
    book.write(&site("main-only"), bad);
    repository.commit("on main");
    repository.git(&["switch", "--quiet", "work"]);
    assert_eq!(told(book, &["--changed-since", "main"]), expected);
    // Renamed: both names are a change, and the new one is told.
    std::fs::create_dir_all(book.root().join("sites/ash")).unwrap();
    repository.git(&["mv", &site("oak lane"), "sites/ash/2026-11-20-look.md"]);
    assert_eq!(told(book, &["--changed-since", "HEAD"]), BTreeSet::from([site("ash")]));
}

#[test]
fn a_deleted_record_touches_those_that_name_it() {
    let book = TestBook::sound();
    let later = "sites/elm-row/2026-11-20-look.md";
    book.write(later, "---\nrecord: job\nkind: survey\nstatus: complete\ntitle: Look\ncontinues: 2026-11-05-note\n---\n");
    let visit = "sites/elm-row/2026-11-05-note.md";
    book.write(visit, "---\nrecord: job\nkind: survey\nstatus: complete\ntitle: Note\n---\n");
    let recall = "recalls/2026-06-01-cover.md";
    let text = "---\nrecord: recall\nissued: 2026-06-01\nmodel: plover-7\nadvice: isolate\n";
    book.write(recall, format!("{text}done: [{{serial: \"CP-204117\", by: elm-row/2026-11-05-note}}]\n---\n"));
    let Some(repository) = Repository::of(book) else { return };
    let book = &repository.0;
    let before = shown(book.root(), &[]);
    std::fs::remove_file(book.root().join(visit)).unwrap();
    let new: BTreeSet<String> = shown(book.root(), &[]).difference(&before).cloned().collect();
    assert_eq!(new.iter().map(|line| line.split(' ').nth(1).unwrap()).collect::<Vec<_>>(), [recall, later], "{new:?}");
    assert!(new.is_subset(&shown(book.root(), &["--changed-since", "HEAD"])));
    repository.git(&["checkout", "--quiet", "--", "."]);
    std::fs::remove_file(book.root().join("models/plover-7.md")).unwrap();
    let new: BTreeSet<String> = shown(book.root(), &[]).difference(&before).cloned().collect();
    let files: BTreeSet<&str> = new.iter().map(|line| line.split(' ').nth(1).unwrap()).collect();
    assert!(files.contains(SOUND_JOB) && files.contains(recall), "{new:?}");
    assert!(new.is_subset(&shown(book.root(), &["--changed-since", "HEAD"])));
}

#[test]
fn seals_and_the_backlog_reach_what_they_speak_of() {
    let Some(repository) = Repository::of(TestBook::sound()) else { return };
    let book = &repository.0;
    assert_eq!(run(book.root(), &["seal", SOUND_JOB, "--on", TODAY]).status, 0);
    book.write(SOUND_JOB, book.read(SOUND_JOB).replace("zs_ohm: 0.64", "zs_ohm: 0.63"));
    repository.commit("sealed, and changed after");
    assert_eq!(shown(book.root(), &["--changed-since", "HEAD"]), BTreeSet::new());
    let seals = book.read("seals.yaml");
    book.write("seals.yaml", seals.clone() + "# looked at\n");
    let broken = BTreeSet::from([format!("sealed-record-changed {SOUND_JOB}")]);
    assert_eq!(shown(book.root(), &["--changed-since", "HEAD"]), broken);
    book.write("seals.yaml", seals);
    book.write("sites/oak/2026-11-20-look.md", "---\nrecord: job\nkind: surway\nstatus: complete\n---\n");
    check(book.root(), &["--accept", "--reason", "before this book"]);
    repository.commit("accepted");
    assert_eq!(shown(book.root(), &[]), broken);
    book.write("backlog.yaml", "format: 1\naccepted:\n");
    let all = shown(book.root(), &[]);
    assert!(all.contains("unknown-word sites/oak/2026-11-20-look.md"), "{all:?}");
    assert_eq!(shown(book.root(), &["--changed-since", "HEAD"]), all);
}

#[test]
fn the_summary_says_of_what_it_speaks_and_that_there_is_danger_elsewhere() {
    let Some(example) = example() else { return };
    let book = &example.0;
    let sound = check(book.root(), &["--changed-since", "HEAD"]);
    assert_eq!(sound.status, 0);
    let read = "16 sites and 55 visits read in 88 files\n";
    assert_eq!(sound.out, format!("nothing found in 0 changed files and what they touch; 3 dangers elsewhere in the book; {read}"));
    let path = "sites/tollgate-14/2026-11-12-socket.md";
    book.write(path, book.read(path) + "\n");
    let touched = check(book.root(), &["--changed-since", "HEAD", "--format", "concise"]);
    assert_eq!(touched.status, 1);
    let end = format!("\n1 danger in 1 changed file and what it touches; 2 dangers elsewhere in the book; {read}");
    assert!(touched.out.ends_with(&end), "{}", touched.out);
}

#[test]
fn a_file_that_is_named_is_shown_whether_it_changed_or_not() {
    let book = TestBook::sound();
    let paths = ["oak", "ash"].map(|site| format!("sites/{site}/2026-11-20-look.md"));
    for path in &paths {
        book.write(path, "---\nrecord: job\nkind: surway\nstatus: complete\n---\n");
    }
    book.write("notes.md", "Not a record.\n");
    let Some(repository) = Repository::of(book) else { return };
    let book = &repository.0;
    let files = |args: &[&str]| -> BTreeSet<String> {
        shown(book.root(), args).iter().map(|line| line.split(' ').nth(1).unwrap().to_owned()).collect()
    };
    let both = BTreeSet::from(paths.clone());
    assert_eq!(files(&[&paths[0], &paths[1]]), both);
    assert_eq!(files(&["sites/oak", &paths[1]]), both);
    assert_eq!(files(&["--staged"]), BTreeSet::new());
    assert_eq!(files(&["--staged", &paths[0]]), BTreeSet::from([paths[0].clone()]));
    assert_eq!(files(&["--staged", "sites"]), BTreeSet::new());

    // What is no record, or of no book, is said; nothing passes for checked that was not looked at.
    let outside = tempfile::tempdir().unwrap();
    std::fs::write(outside.path().join("letter.md"), "Dear").unwrap();
    let letter = outside.path().join("letter.md");
    let letter = letter.to_str().unwrap();
    let ran = check(book.root(), &["notes.md", letter, SOUND_JOB]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let said =
        format!("ampledger: notes.md: no record of this book; nothing in it is checked\nampledger: {letter}: in no book; not checked\n");
    assert_eq!(ran.err, said);
    let alone = check(book.root(), &[letter]);
    assert_eq!((alone.status, alone.err.contains("no book.yaml in")), (2, true), "{}", alone.err);
    let other = TestBook::sound();
    let of_two = check(book.root(), &[SOUND_JOB, other.root().to_str().unwrap()]);
    assert_eq!((of_two.status, of_two.err.contains("are of two books")), (2, true), "{}", of_two.err);
}

#[test]
fn an_editor_hands_over_a_text_that_is_not_saved() {
    let book = TestBook::sound();
    let with_input = |args: &[&str], input: &str| {
        let file = book.root().join(".input");
        std::fs::write(&file, input).unwrap();
        let mut command = program(&book.root().join("sites"));
        let out = command.args(["check", "--on", TODAY, "--format", "concise"]).args(args).stdin(std::fs::File::open(&file).unwrap());
        Ran::from(out.output().unwrap())
    };
    let bad = book.read(SOUND_JOB).replace("zs_ohm: 0.64", "zs_ohm: 64");
    let ran = with_input(&["--stdin", "--path", "elm-row/2026-11-02-shed.md"], &bad);
    assert_eq!(ran.status, 1, "{}", ran.err);
    assert!(ran.out.starts_with(&format!("{SOUND_JOB}:53:15: danger zs-over-limit: main/2: Zs 64 ohm")), "{}", ran.out);
    assert_eq!(with_input(&["--stdin", "--path", "elm-row/2026-11-02-shed.md"], &book.read(SOUND_JOB)).status, 0);
    assert_eq!(check(book.root(), &[]).status, 0, "the file was not written");
    // A new file in a new folder is judged in the book that it will be of, and only it is told.
    let new = with_input(&["--stdin", "--path", "oak/2026-11-20-look.md"], "---\nrecord: job\nkind: surway\nstatus: draft\n---\n");
    assert_eq!(new.status, 1, "{}", new.err);
    assert!(new.out.contains("sites/oak/2026-11-20-look.md:3:7: breach unknown-word"), "{}", new.out);
    let nowhere = with_input(&["--stdin", "--path", "/nowhere/at/all.md"], "x");
    assert_eq!((nowhere.status, nowhere.err.contains("no book.yaml in /nowhere/at/all.md")), (2, true), "{}", nowhere.err);
    assert_eq!(with_input(&["--stdin"], "x").status, 2);
}

#[test]
fn what_git_cannot_say_is_told_with_a_cure() {
    let Some(repository) = Repository::of(TestBook::sound()) else { return };
    let book = &repository.0;
    let alone = TestBook::sound();
    let no_repository = check(alone.root(), &["--staged"]);
    assert_eq!((no_repository.status, no_repository.out.as_str()), (2, ""));
    assert!(no_repository.err.contains("is in no git repository\n  `git init` makes one."), "{}", no_repository.err);
    for revision in ["no-such-branch", "--output=x", "-x", ""] {
        let unknown = check(book.root(), &[&format!("--changed-since={revision}")]);
        assert_eq!(unknown.status, 2, "{revision}");
        assert!(unknown.err.contains(&format!("git knows no revision {revision}\n")), "{revision}: {}", unknown.err);
    }
    let no_git = run_with(book.root(), &[("PATH", "/nowhere")], &["check", "--staged"]);
    assert_eq!(no_git.status, 2);
    assert!(no_git.err.contains("the program git is not on this machine"), "{}", no_git.err);
    repository.git(&["checkout", "--quiet", "--orphan", "other"]);
    repository.commit("another beginning");
    let no_common = check(book.root(), &["--changed-since", "main"]);
    assert_eq!(no_common.status, 2);
    assert!(no_common.err.contains("git knows no commit that this branch and main both come from"), "{}", no_common.err);

    // The clone that a pipeline makes: one commit, without its history.
    let pipeline = tempfile::tempdir().unwrap();
    repository.git(&["switch", "--quiet", "main"]);
    book.write("sites/oak/site.md", "");
    repository.commit("one more");
    let url = format!("file://{}", book.root().display());
    let (cloned, said) = git_in(pipeline.path(), &["clone", "--quiet", "--depth=1", &url, "book"]);
    assert!(cloned, "{said}");
    let shallow = check(&pipeline.path().join("book"), &["--changed-since", "HEAD~1"]);
    assert_eq!(shallow.status, 2);
    assert!(shallow.err.contains("git knows no revision HEAD~1"), "{}", shallow.err);
}
