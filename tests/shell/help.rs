//! Help and manual pages: each command teaches by examples, and the examples are commands of this version.

use std::process::Stdio;

use crate::cli::{program, run};

/// The commands that the help lists.
fn commands() -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let help = run(folder.path(), &["help"]).out;
    let listed = help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    let names = listed.filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names: Vec<String> = names.map(|line| line.split_whitespace().next().unwrap().to_owned()).filter(|name| name != "help").collect();
    assert!(names.len() > 15, "{help}");
    names
}

#[test]
fn every_command_has_an_example_that_this_version_takes() {
    for name in commands() {
        let folder = tempfile::tempdir().unwrap();
        let help = run(folder.path(), &[&name, "--help"]).out;
        let examples = help.split_once("\nExample").unwrap_or_else(|| panic!("{name} has no example:\n{help}")).1;
        let mut tried = 0;
        for line in examples.lines().filter(|line| line.starts_with("  ")) {
            // Of a line for a shell, what it gives to this program; two spaces end it and begin a remark.
            let Some(at) = line.find("ampledger ") else { continue };
            let line = line[at..].split("   ").next().unwrap().split([')', '|', '>']).next().unwrap();
            let words = words(line);
            let mut command = program(folder.path());
            command.args(&words[1..]).env("HOME", folder.path()).stdin(Stdio::null());
            let output = command.output().unwrap();
            let said = String::from_utf8_lossy(&output.stderr);
            assert!(!said.contains("Usage:") && !said.contains("error:"), "{line}: {said}");
            tried += 1;
        }
        assert!(tried > 0, "{name}: no example of its own in\n{examples}");
    }
}

/// The words of a line, quotes taken off.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quote = None;
    for c in line.trim().chars() {
        match (quote, c) {
            (Some(open), c) if c == open => quote = None,
            (None, '\'' | '"') => quote = Some(c),
            (None, ' ') => words.push(String::new()),
            _ => words.last_mut().unwrap().push(c),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

#[test]
fn help_fits_a_phone() {
    for name in commands() {
        let folder = tempfile::tempdir().unwrap();
        let output = program(folder.path()).args([&name, "--help"]).env("COLUMNS", "40").output().unwrap();
        let help = String::from_utf8(output.stdout).unwrap();
        let prose = help.split_once("\nExample").map_or(help.as_str(), |(prose, _)| prose);
        for line in prose.lines().filter(|line| !line.starts_with("Usage:")) {
            let is_one_word = line.split_whitespace().count() <= 2;
            assert!(line.chars().count() <= 40 || is_one_word || is_taken_as_it_stands(&name), "{name}: {line}");
        }
    }
}

/// `lines` shows its columns as they are printed.
fn is_taken_as_it_stands(name: &str) -> bool {
    name == "lines"
}

#[test]
fn there_is_a_manual_page_of_each_command() {
    let folder = tempfile::tempdir().unwrap();
    let pages = folder.path().join("man1");
    let ran = run(folder.path(), &["man", "--out", pages.to_str().unwrap()]);
    let commands = commands();
    assert_eq!((ran.status, ran.out), (0, format!("{} pages\n", commands.len() + 1)));
    let whole = std::fs::read_to_string(pages.join("ampledger.1")).unwrap();
    assert_eq!(run(folder.path(), &["man"]).out, whole);
    for name in commands {
        let page = std::fs::read_to_string(pages.join(format!("ampledger-{name}.1"))).unwrap();
        assert!(page.contains(&format!(".TH AMPLEDGER-{}", name.to_uppercase())), "{page}");
        assert!(page.contains(".SH OPTIONS") && page.contains(".SH EXAMPLES\n.nf\n"), "{name}: {page}");
        assert!(whole.contains(&format!("ampledger\\-{name}(1)")), "{name} is not in\n{whole}");
        assert_eq!(run(folder.path(), &["man", &name]).out, page);
    }
    // Given again, the pages of before are replaced.
    assert_eq!(run(folder.path(), &["man", "--out", pages.to_str().unwrap()]).status, 0);
    let wrong = run(folder.path(), &["man", "chekc"]);
    assert_eq!(wrong.status, 2);
    assert!(wrong.err.contains("Did you mean check?"), "{}", wrong.err);
}
