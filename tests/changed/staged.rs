//! `check --staged` judges what the next commit holds, whatever the files on the disk say by now.

use std::collections::BTreeSet;

use super::{check, shown};
use crate::support::{Repository, SOUND_JOB, TestBook, git_in};

const DRAFT: &str = "---\nrecord: job\nkind: surway\nstatus: complete\n---\n";

#[test]
fn a_record_staged_in_one_state_and_edited_further_is_judged_as_staged() {
    let Some(repository) = Repository::of(TestBook::sound()) else { return };
    let book = &repository.0;
    let sound = book.read(SOUND_JOB);
    let bad = sound.replace("zs_ohm: 0.64", "zs_ohm: 64").replace("title: ", "# a line more\ntitle: ");
    book.write(SOUND_JOB, &bad);
    repository.git(&["add", SOUND_JOB]);
    book.write(SOUND_JOB, &sound);
    let staged = check(book.root(), &["--staged", "--format", "concise"]);
    assert_eq!(staged.status, 1, "{}", staged.err);
    assert!(staged.out.starts_with(&format!("{SOUND_JOB}:54:15: danger zs-over-limit: main/2: Zs 64 ohm")), "{}", staged.out);
    assert_eq!(check(book.root(), &[]).status, 0);

    repository.git(&["add", SOUND_JOB]);
    book.write(SOUND_JOB, &bad);
    book.write("sites/oak/2026-11-20-look.md", DRAFT);
    // Nothing staged differs from the last commit, and the rest is not looked at, nor read.
    let staged = check(book.root(), &["--staged"]);
    assert_eq!(staged.status, 0);
    assert!(staged.out.starts_with("nothing found in 0 changed files and what they touch; 1 site and 1 visit read in 6 files"));
    book.write("book.yaml", book.read("book.yaml") + "\n");
    repository.git(&["add", "book.yaml"]);
    assert_eq!(shown(book.root(), &["--staged"]), BTreeSet::new());
    // A record of which only the name is told to git is for a later commit.
    repository.git(&["add", "--intent-to-add", "sites/oak/2026-11-20-look.md"]);
    assert_eq!(shown(book.root(), &["--staged"]), BTreeSet::new());
    repository.git(&["add", "sites/oak/2026-11-20-look.md"]);
    assert!(shown(book.root(), &["--staged"]).contains("unknown-word sites/oak/2026-11-20-look.md"));
}

/// The index, however it came about, is judged as a folder that holds what it holds.
#[test]
fn what_is_staged_is_judged_as_the_same_files_in_a_folder() {
    let book = TestBook::sound();
    for site in ["ash", "c\u{e9}dar \"end\"", "elder", "fir"] {
        book.write(&format!("sites/{site}/2026-11-20-look.md"), DRAFT);
    }
    let Some(repository) = Repository::of(book) else { return };
    let book = &repository.0;
    // Staged: one record changed, one deleted, one new, the settings. Not staged: the changed one once more, one changed, one deleted,
    // one new, and a deleted one that is back.
    book.write("book.yaml", book.read("book.yaml").replace("Lapwing", "Plover"));
    book.write("sites/ash/2026-11-20-look.md", DRAFT.replace("surway", "survoy"));
    book.write("sites/gorse/2026-11-20-look.md", DRAFT);
    std::fs::remove_file(book.root().join("sites/fir/2026-11-20-look.md")).unwrap();
    repository.git(&["add", "--all"]);
    book.write("sites/ash/2026-11-20-look.md", "");
    book.write("sites/c\u{e9}dar \"end\"/2026-11-20-look.md", "");
    std::fs::remove_dir_all(book.root().join("sites/elder")).unwrap();
    book.write("sites/hazel/2026-11-20-look.md", DRAFT);
    book.write("sites/fir/2026-11-20-look.md", "");
    let folder = tempfile::tempdir().unwrap();
    repository.git(&["checkout-index", "--all", &format!("--prefix={}/", folder.path().display())]);
    let in_folder = check(folder.path(), &["--format", "json"]);
    let staged = check(book.root(), &["--staged", "--format", "json"]);
    assert!(in_folder.out.contains("survoy"), "{}", in_folder.out);
    assert_eq!(staged.out, in_folder.out);
}

#[test]
fn the_first_commit_of_a_book_is_judged_whole() {
    let book = TestBook::sound();
    book.write("sites/oak/2026-11-20-look.md", DRAFT);
    if !git_in(book.root(), &["init", "--quiet"]).0 {
        return;
    }
    assert_eq!(shown(book.root(), &["--staged"]), BTreeSet::new());
    git_in(book.root(), &["add", "sites", "instruments", "models"]);
    assert!(shown(book.root(), &["--staged"]).contains("unknown-word sites/oak/2026-11-20-look.md"));
}

#[test]
fn a_merge_with_a_conflict_left_in_it_is_told() {
    let Some(repository) = Repository::of(TestBook::sound()) else { return };
    let book = &repository.0;
    for (branch, reading) in [("one", "0.65"), ("two", "0.66")] {
        repository.git(&["switch", "--quiet", "--create", branch, "main"]);
        book.write(SOUND_JOB, book.read(SOUND_JOB).replace("zs_ohm: 0.64", &format!("zs_ohm: {reading}")));
        repository.commit(branch);
    }
    assert!(!repository.try_git(&["merge", "--no-edit", "one"]).0);
    assert!(shown(book.root(), &["--staged"]).contains(&format!("conflict-marks {SOUND_JOB}")));
}
