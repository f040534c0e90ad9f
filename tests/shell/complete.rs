//! Completion, asked as a shell asks: the script is loaded into a real one, and its function called with a half-typed line.

use std::path::Path;
use std::process::Command;

use crate::cli::{program, run};
use crate::support::TestBook;

/// A site, its unit and a second site whose name begins as the first one's, in the sound book.
fn book() -> TestBook {
    let book = TestBook::sound();
    book.write("sites/elm-yard/site.md", "---\nrecord: site\nname: Yard\n---\n");
    book.write("private/contacts.yaml", "elm-row:\n  name: Zebedee Marked\n");
    book.write(
        "sites/elm-yard/2026-10-01-swap.md",
        "---\nrecord: job\nkind: swap\nstatus: complete\nequipment:\n  - role: removed\n    circuit: main/1\n    serial: \"TN-900\" # read off the plate\n---\n",
    );
    book
}

/// What bash offers for a line, the last word of which is being typed.
fn bash(folder: &Path, line: &[&str]) -> Option<Vec<String>> {
    let script = r#"source <(ampledger completions bash) || exit 9
COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); COMP_LINE="$*"; COMP_POINT=${#COMP_LINE}; COMP_TYPE=9
_clap_complete_ampledger ampledger "${COMP_WORDS[COMP_CWORD]}" 2>/dev/null
printf '%s\n' "${COMPREPLY[@]}""#;
    let here = program(folder);
    let beside = Path::new(here.get_program()).parent()?.to_owned();
    let path = std::env::join_paths(std::iter::once(beside).chain(std::env::split_paths(&std::env::var_os("PATH")?))).ok()?;
    let asked = Command::new("bash").current_dir(folder).env("PATH", path).args(["-c", script, "bash"]).args(line).output();
    let Ok(asked) = asked else {
        eprintln!("left out: no bash on this machine");
        return None;
    };
    assert!(asked.status.success(), "{line:?}: {}", String::from_utf8_lossy(&asked.stderr));
    Some(String::from_utf8(asked.stdout).unwrap().lines().filter(|word| !word.is_empty()).map(str::to_owned).collect())
}

#[test]
fn a_shell_offers_what_the_book_knows() {
    let book = book();
    let cases: &[(&[&str], &[&str])] = &[
        (&["ampledger", "che"], &["check"]),
        (&["ampledger", "check", "--staged", "--fail-on", "d"], &["danger", "doubt"]),
        (&["ampledger", "history", "elm"], &["elm-row/", "elm-yard/"]),
        (&["ampledger", "history", "elm-row/ma"], &["elm-row/main/1", "elm-row/main/2", "elm-row/main/3"]),
        (&["ampledger", "history", "tn-9"], &["TN-900"]),
        (&["ampledger", "paper", "elm-row/"], &["elm-row/2026-11-02-shed"]),
        (&["ampledger", "seal", "elm-y"], &["elm-yard", "elm-yard/2026-10-01-swap"]),
        (&["ampledger", "seal", "sites/elm-row/2"], &["sites/elm-row/2026-11-02-shed.md"]),
        (&["ampledger", "design", "elm-row/2026-11-02-shed", "--circuit", ""], &["main/1", "main/2", "main/3"]),
        (&["ampledger", "design", "--earthing", "TN-C"], &["TN-C-S"]),
        (&["ampledger", "new", "job", "elm"], &["elm-row", "elm-yard"]),
        (&["ampledger", "new", "job", "elm-row", "--kind", "in"], &["install", "inspect"]),
        (&["ampledger", "pack", "elm-row", "--for", "b"], &["buyer"]),
        (&["ampledger", "units", "--site", "elm"], &["elm-row", "elm-yard"]),
        (&["ampledger", "units", "--serial", "TN-9"], &["TN-900"]),
        (&["ampledger", "explain", "zs-over-l"], &["zs-over-limit"]),
        (&["ampledger", "check", "--rule", "zs-over-l"], &["zs-over-limit"]),
        (&["ampledger", "due", "elm-r"], &["elm-row"]),
        (&["ampledger", "paper", "private/"], &[]),
        (&["ampledger", "find", "--site", "nowhere"], &[]),
    ];
    for (line, wanted) in cases {
        let Some(mut offered) = bash(book.root(), line) else { return };
        let mut wanted: Vec<String> = wanted.iter().map(|&word| word.to_owned()).collect();
        offered.sort();
        wanted.sort();
        assert_eq!(offered, wanted, "{line:?}");
    }
}

#[test]
fn a_book_elsewhere_is_found_by_its_flag_and_no_book_is_no_fault() {
    let book = book();
    let elsewhere = tempfile::tempdir().unwrap();
    let root = book.root().to_str().unwrap();
    let Some(offered) = bash(elsewhere.path(), &["ampledger", "history", "--book", root, "elm-row/main/2"]) else { return };
    assert_eq!(offered, ["elm-row/main/2"]);
    assert_eq!(bash(elsewhere.path(), &["ampledger", "history", "elm"]).unwrap(), Vec::<String>::new());
}

#[test]
fn every_shell_has_a_script_that_asks_this_program() {
    let folder = tempfile::tempdir().unwrap();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let ran = run(folder.path(), &["completions", shell]);
        assert_eq!(ran.status, 0, "{shell}: {}", ran.err);
        assert!(ran.out.contains("AMPLEDGER_COMPLETE") && ran.out.contains("ampledger"), "{shell}: {}", ran.out);
        assert!(!ran.out.contains("target/"), "{shell}: a path of this machine in {}", ran.out);
    }
    assert_eq!(run(folder.path(), &["completions", "sh"]).status, 2);
}
