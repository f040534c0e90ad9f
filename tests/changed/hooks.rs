//! `check --staged` in a hook, as git runs it: with an index and a folder of git's choosing.

use crate::support::{Repository, SOUND_JOB, TestBook, copy, git_in};

/// A repository with the book in a folder of it, and a hook that checks what is staged.
fn with_hook() -> Option<Repository> {
    let repository = Repository::of(TestBook::sound())?;
    let root = repository.0.root();
    let book = root.join("jobs/the book");
    std::fs::create_dir_all(root.join("jobs")).unwrap();
    copy(&crate::support::repository().join("tests/sound-book"), &book);
    for name in ["book.yaml", "sites", "instruments", "models"] {
        repository.git(&["rm", "-r", "--quiet", name]);
    }
    repository.commit("the book in a folder");
    let program = env!("CARGO_BIN_EXE_ampledger");
    let hook = format!("#!/bin/sh\nexec '{program}' check 'jobs/the book' --staged --on 2026-11-25 --format concise\n");
    std::fs::create_dir_all(root.join(".git/hooks")).unwrap();
    let path = root.join(".git/hooks/pre-commit");
    std::fs::write(&path, hook).unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o755)).unwrap();
    }
    Some(repository)
}

#[cfg(unix)]
#[test]
fn a_commit_of_a_bad_record_is_blocked_however_it_is_made() {
    let Some(repository) = with_hook() else { return };
    let root = repository.0.root();
    let job = format!("jobs/the book/{SOUND_JOB}");
    let sound = repository.0.read(&job);
    let bad = sound.replace("zs_ohm: 0.64", "zs_ohm: 64");
    // Git works from the top, from below, and in a second folder of the same repository; each with its own idea of where the index is.
    let beside = root.join("../").join(format!("{}-beside", root.file_name().unwrap().to_str().unwrap()));
    repository.git(&["worktree", "add", "--quiet", "-b", "beside", beside.to_str().unwrap()]);
    for top in [root, beside.as_path()] {
        for folder in ["", "jobs", "jobs/the book/sites"] {
            for args in [&["commit", "--message", "x", "--all"][..], &["commit", "--message", "x", "--", ":/jobs"]] {
                std::fs::write(top.join(&job), &bad).unwrap();
                let (done, said) = git_in(&top.join(folder), args);
                assert!(!done && said.contains("danger zs-over-limit"), "{folder} {args:?}: {said}");
                std::fs::write(top.join(&job), format!("{sound}\nAnother line, {folder:?} {}.\n", args.len())).unwrap();
                let (done, said) = git_in(&top.join(folder), args);
                assert!(done && said.contains("nothing found in 1 changed file and what it touches"), "{folder} {args:?}: {said}");
            }
        }
    }
    // Staged bad and mended only on the disk: what would be committed is bad.
    std::fs::write(root.join(&job), &bad).unwrap();
    repository.git(&["add", "--all"]);
    std::fs::write(root.join(&job), &sound).unwrap();
    let (done, said) = repository.try_git(&["commit", "--message", "x"]);
    assert!(!done && said.contains("danger zs-over-limit"), "{said}");
    std::fs::remove_dir_all(beside).unwrap();
}
