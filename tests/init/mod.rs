//! `ampledger init`, as its user meets it: a folder, new or with files in it, and the program run there.

use std::collections::BTreeMap;
use std::path::Path;

use ampledger::book::Book;
use ampledger::record::{Earthing, Nation, Premises};

use crate::cli::{Ran, run};
use crate::support::{TODAY, git_in, python_with};

const ALL: [&str; 12] = [
    "--trading-as",
    "Lapwing: & Sons",
    "--nation",
    "wales",
    "--person",
    "A. N. Other",
    "--site",
    "oak-lane",
    "--premises",
    "dwelling",
    "--earthing",
    "TN-C-S",
];

fn init(folder: &Path, args: &[&str]) -> Ran {
    let ran = run(folder, &[&["init"], args].concat());
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{args:?}");
    ran
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = walkdir::WalkDir::new(folder).into_iter().map(Result::unwrap).filter(|entry| entry.file_type().is_file());
    let name = |path: &Path| path.strip_prefix(folder).unwrap().to_str().unwrap().to_owned();
    entries.map(|entry| (name(entry.path()), std::fs::read(entry.path()).unwrap())).collect()
}

fn clean(folder: &Path) {
    let ran = run(folder, &["check", "--on", TODAY, "--fail-on", "tidy"]);
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
}

#[test]
fn without_answers_a_book_is_laid_out_with_blanks_and_passes() {
    let folder = tempfile::tempdir().unwrap();
    let ran = init(folder.path(), &["jobs"]);
    let root = folder.path().join("jobs");
    clean(&root);
    let book = Book::open(&root).unwrap();
    let settings = &book.settings.data;
    assert_eq!((settings.format.map(|format| *format), &settings.trading_as, settings.nation), (Some(1), &None, None));
    assert!(settings.people.is_empty() && book.sites.is_empty(), "nobody and nothing is made up");
    for path in ran.out.lines().filter_map(|line| line.strip_prefix("  ")).filter(|line| !line.starts_with("ampledger")) {
        assert!(root.join(path).exists(), "{path} is said to be made");
    }
    assert!(!root.join(".git").exists());
    // The next command that it names works.
    assert_eq!(run(&root, &["new", "site", "oak-lane"]).status, 0);
    clean(&root);
}

#[test]
fn every_answer_is_written_down_and_read_again() {
    let folder = tempfile::tempdir().unwrap();
    init(folder.path(), &ALL);
    clean(folder.path());
    let book = Book::open(folder.path()).unwrap();
    let settings = &book.settings.data;
    assert_eq!((settings.trading_as.as_deref(), settings.nation), (Some("Lapwing: & Sons"), Some(Nation::Wales)));
    let person = &settings.people[0];
    assert_eq!((person.id.as_deref(), person.name.as_deref(), &person.role), (Some("ano"), Some("A. N. Other"), &None));
    let (records, _) = book.read_site(book.site("oak-lane").unwrap());
    let site = records.site.unwrap().data;
    assert_eq!((site.premises, site.supply.unwrap().earthing), (Some(Premises::Dwelling), Some(Earthing::TnCS)));
}

#[test]
fn what_is_there_is_left_to_the_byte_and_listed_and_what_it_lacks_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    std::fs::create_dir_all(root.join("sites/elm-row")).unwrap();
    for (path, text) in
        [("book.yaml", "format: 1 # mine\n"), (".gitignore", "/private/\n"), (".gitattributes", "x y\n"), ("sites/elm-row/note.txt", "x")]
    {
        std::fs::write(root.join(path), text).unwrap();
    }
    let before = files(root);
    let ran = init(root, &ALL);
    let after = files(root);
    for (path, bytes) in &before {
        assert_eq!(after.get(path), Some(bytes), "{path}");
    }
    let left = ran.out.split("there already, left as it is\n").nth(1).unwrap().split("next\n").next().unwrap();
    let expected = "  book.yaml\n  .gitignore\n    lacks the line: .ampledger-unfinished-*\n    lacks the line: *~\n    lacks the line: *.swp\n    lacks the line: .DS_Store\n    lacks the line: Thumbs.db\n  .gitattributes\n    lacks the line: seals.yaml merge=union\n    lacks the line: backlog.yaml merge=union\n";
    assert_eq!(left, expected);
    clean(root);
    // A second time there is nothing to do.
    let again = init(root, &ALL);
    assert!(again.out.starts_with("there already, left as it is\n"), "{}", again.out);
    assert_eq!(files(root), after);
}

#[test]
fn a_wrong_answer_and_a_book_within_a_book_are_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let cases: [(&[&str], &str); 4] = [
        (&["--nation", "englnd"], "did you mean england?"),
        (&["--site", "Oak Lane"], "Did you mean oak-lane?"),
        (&["--premises", "dwelling"], "--site"),
        (&["--trading-as", ""], "one line of text"),
    ];
    for (args, cure) in cases {
        let ran = run(folder.path(), &[&["init", "jobs"], args].concat());
        assert_eq!(ran.status, 2, "{args:?}");
        assert!(ran.err.contains(cure), "{args:?}: {}", ran.err);
        assert_eq!(files(folder.path()), BTreeMap::new(), "{args:?}");
    }
    init(folder.path(), &[]);
    let before = files(folder.path());
    let ran = run(folder.path(), &["init", "sites/inner"]);
    assert_eq!((ran.status, ran.err.contains("A book does not hold another")), (2, true), "{}", ran.err);
    assert_eq!(files(folder.path()), before);
}

#[test]
fn git_is_begun_only_when_asked_and_keeps_private_things_out() {
    let folder = tempfile::tempdir().unwrap();
    if !git_in(folder.path(), &["--version"]).0 {
        return;
    }
    init(folder.path(), &["jobs", "--git", "--site", "oak-lane"]);
    let root = folder.path().join("jobs");
    std::fs::write(root.join("private/contacts.yaml"), "oak-lane: {name: A. N. Other}\n").unwrap();
    let (_, staged) = git_in(&root, &["add", "--all", "--verbose"]);
    assert!(staged.contains("book.yaml") && staged.contains("sites/oak-lane/site.md") && !staged.contains("contacts"), "{staged}");
    let (_, merge) = git_in(&root, &["check-attr", "merge", "seals.yaml", "backlog.yaml", "book.yaml"]);
    assert_eq!(merge, "seals.yaml: merge: union\nbacklog.yaml: merge: union\nbook.yaml: merge: unspecified\n");
    assert_eq!(run(&root, &["check", "--staged", "--on", TODAY]).status, 0);
}

/// The lines that a pipeline's file gives the shell, run by it: what they write is what the host is told to read.
#[cfg(unix)]
#[test]
fn the_pipelines_check_the_book_where_it_lies() {
    let programs = Path::new(env!("CARGO_BIN_EXE_ampledger")).parent().unwrap();
    let path = format!("{}:{}", programs.display(), std::env::var("PATH").unwrap());
    for (host, file) in [("github", ".github/workflows/records.yml"), ("gitlab", ".gitlab-ci.yml")] {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir_all(folder.path().join(".git")).unwrap();
        init(folder.path(), &["my jobs", "--ci", host, "--site", "oak-lane"]);
        let text = std::fs::read_to_string(folder.path().join(file)).unwrap();
        let pipeline: serde_yaml::Value = serde_yaml::from_str(&text).unwrap();
        let (book, lines): (&serde_yaml::Value, Vec<String>) = if host == "github" {
            let steps = pipeline["jobs"]["check"]["steps"].as_sequence().unwrap();
            (&pipeline["env"]["BOOK"], steps.iter().filter_map(|step| Some(step["run"].as_str()?.to_owned())).collect())
        } else {
            let script = pipeline["records"]["script"].as_sequence().unwrap();
            (&pipeline["records"]["variables"]["BOOK"], script.iter().map(|line| line.as_str().unwrap().to_owned()).collect())
        };
        assert_eq!(book.as_str(), Some("my jobs"), "{host}");
        let checks = lines.iter().filter(|line| line.starts_with("ampledger check")).cloned().collect::<Vec<_>>().join("\n");
        let statuses = |expected: bool| {
            let output = std::process::Command::new("sh")
                .args(["-e", "-c", &checks])
                .current_dir(folder.path())
                .env("PATH", &path)
                .env("BOOK", "my jobs")
                .env("GITHUB_STEP_SUMMARY", folder.path().join("summary.md"))
                .output()
                .unwrap();
            assert_eq!(output.status.success(), expected, "{host}: {}", String::from_utf8_lossy(&output.stdout));
            String::from_utf8(output.stdout).unwrap()
        };
        statuses(true);
        let bad = "my jobs/sites/oak-lane/2026-11-20-look.md";
        std::fs::write(folder.path().join(bad), "---\nrecord: job\nkind: surway\nstatus: complete\n---\n").unwrap();
        let said = statuses(false);
        let written = |name: &str| std::fs::read_to_string(folder.path().join(name)).unwrap();
        if host == "github" {
            assert!(said.contains(&format!("file={bad},line=3")), "{said}");
            assert!(written("summary.md").contains("unknown-word"));
        } else {
            let reports = &pipeline["records"]["artifacts"]["reports"];
            assert!(written(reports["codequality"].as_str().unwrap()).contains(bad));
            assert!(written(reports["junit"].as_str().unwrap()).contains("unknown-word"));
        }
    }
}

#[test]
fn the_framework_pre_commit_blocks_a_bad_record() {
    let Some(python) = python_with("pre_commit") else { return };
    let script = crate::support::repository().join("tests/hooks/pre_commit.sh");
    let output = std::process::Command::new("bash").arg(script).arg(python).arg(env!("CARGO_BIN_EXE_ampledger")).output().unwrap();
    let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success() && said.contains("blocked the bad record, let the mended one pass"), "{said}");
}
