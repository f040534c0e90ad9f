//! Every command in every format, for what must hold of all of them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

use crate::cli::{program, run};
use crate::support::TestBook;

/// What one run printed.
pub struct Told {
    /// The command as it was given.
    pub command: String,
    /// Its exit status.
    pub status: i32,
    /// Standard output, then standard error.
    pub streams: [Vec<u8>; 2],
    /// The files written outside the book, by their names, with their bytes.
    pub files: BTreeMap<String, Vec<u8>>,
}

impl Told {
    /// Whether what it prints is JSON, in which a steering character is written as an escape or stands as data.
    pub fn is_json(&self) -> bool {
        ["json", "sarif", "gitlab", "schema "].iter().any(|word| self.command.contains(word))
    }

    /// Whether tabs stand between what it prints on a line.
    pub fn is_tabbed(&self) -> bool {
        self.command == "lines" || self.command.contains("seal --form")
    }
}

/// The commands, to be given in a book that holds the site `elm-row` with its visit and circuits; `OUT` is a place that does not exist yet.
/// A command that `--help` lists and that is not here fails the test below, and so does a format.
const COMMANDS: &[&str] = &[
    "check",
    "check --format human",
    "check --format concise",
    "check --format json",
    "check --format sarif",
    "check --format github",
    "check --format gitlab",
    "check --format junit",
    "check --format markdown",
    "check --answered --accepted --fail-on never",
    "check sites/elm-row",
    "check --fix --unsafe --diff",
    "completions bash",
    "completions elvish",
    "completions fish",
    "completions powershell",
    "completions zsh",
    "design elm-row/2026-11-02-shed --circuit main/1",
    "design elm-row/2026-11-02-shed --circuit main/2 --format human",
    "design elm-row/2026-11-02-shed --circuit main/1 --format json",
    "due",
    "due elm-row --format human",
    "due --format json --within 3650d",
    "due --ical OUT",
    "explain",
    "explain contact-in-text",
    "export --out OUT",
    "export --out OUT --format csv",
    "export --out OUT --format jsonl",
    "find shed",
    "find elm-row charge --format human",
    "find shed --format json",
    "find shed --format paths",
    "find nowhere-at-all",
    "find --where $.circuits[*]",
    "history elm-row",
    "history elm-row/main/1 --format human",
    "history elm-row/main/1 --format json",
    "history elm-row/main/1 --plot",
    "history elm-row/main/1 --svg OUT",
    "history CP-204117",
    "init OUT",
    "lines",
    "man",
    "man check",
    "man --out OUT",
    "new job elm-row --kind callout --slug one --on 2026-11-25",
    "new job elm-row --kind inspect --slug two --on 2026-11-25",
    "new job elm-row --kind swap --slug three --on 2026-11-25",
    "new site other-place",
    "new instrument mft-8",
    "new model tern-8",
    "new recall cover --on 2026-11-25",
    "pack elm-row --for buyer --out OUT",
    "pack elm-row --for customer --out OUT",
    "pack --all --for successor --out OUT",
    "pack --all --for assessor --out OUT",
    "paper elm-row/2026-11-02-shed",
    "paper elm-row/2026-11-02-shed --notes --out OUT",
    "paper elm-row/2026-11-02-shed --final",
    "paper elm-row/2026-11-02-shed --kind advice-note",
    "paper elm-row/2026-11-02-shed --kind callout-report",
    "paper elm-row/2026-11-02-shed --kind condition-report",
    "paper elm-row/2026-11-02-shed --kind customer-sheet --out OUT",
    "paper elm-row/2026-11-02-shed --kind minor-works-certificate",
    "report --out OUT",
    "schema book",
    "schema site",
    "schema job",
    "schema instrument",
    "schema model",
    "schema recall",
    "schema seals",
    "schema backlog",
    "seal --form elm-row/2026-11-02-shed",
    "seal elm-row/2026-11-02-shed --anyway --reason tried",
    "seal elm-row/no-such-visit",
    "units",
    "units --history --format human",
    "units --format json",
    "units --rates",
    "units --rates --causes all",
];

/// Formats that a command lists and that the program under test is built without.
const NOT_BUILT: &[(&str, &str)] = &[("export", "parquet")];

/// Commands that do not print and end: `tests/lsp` talks with the server and holds it to the same.
const CONVERSING: &[&str] = &["lsp"];

/// Runs every command over a book.
pub fn all(book: &TestBook) -> Vec<Told> {
    those(book, |_| true)
}

/// Runs the commands that are wanted.
pub fn those(book: &TestBook, wanted: impl Fn(&str) -> bool) -> Vec<Told> {
    those_by(&|| program(book.root()), wanted)
}

/// Runs the commands that are wanted, each by a program of its own that is ready in the folder of the book.
pub fn those_by(ready: &dyn Fn() -> Command, wanted: impl Fn(&str) -> bool) -> Vec<Told> {
    let tell = |command: &&str| {
        let outside = tempfile::tempdir().unwrap();
        let out = outside.path().join("out");
        let on_a_day = ["check", "due", "history", "pack", "paper", "report", "seal"].iter().any(|word| command.starts_with(word))
            && !command.contains("--form ");
        let words = command.split(' ').map(|word| word.replace("OUT", out.to_str().unwrap()));
        let day = if on_a_day { vec!["--on".to_owned(), "2026-11-25".to_owned()] } else { Vec::new() };
        let output = ready().args(["--color", "never"]).args(words).args(day).output().unwrap();
        assert!(output.status.code().is_some_and(|code| code <= 2), "{command}: {output:?}");
        Told {
            command: (*command).to_owned(),
            status: output.status.code().unwrap(),
            streams: [output.stdout, output.stderr],
            files: files(outside.path()),
        }
    };
    COMMANDS.iter().filter(|command| wanted(command)).map(tell).collect()
}

/// Every file below a folder, by its path, with its bytes.
pub fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(inner) = open.pop() {
        for entry in std::fs::read_dir(inner).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_string_lossy().into_owned();
                files.insert(name, std::fs::read(path).unwrap());
            }
        }
    }
    files
}

/// The commands that help lists, and the formats that each lists.
fn listed() -> BTreeMap<String, BTreeSet<String>> {
    let folder = tempfile::tempdir().unwrap();
    let help = run(folder.path(), &["--help"]).out;
    let list = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let names = list.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names = names.map(|line| line.split_whitespace().next().unwrap().to_owned()).filter(|name| name != "help");
    names
        .map(|name| {
            let help = run(folder.path(), &[&name, "--help"]).out;
            let formats = help.split("--format <").nth(1).map_or("", |rest| rest.split("\n      -").next().unwrap());
            let formats = formats.lines().filter_map(|line| line.trim().strip_prefix("- ")?.split_once(':'));
            (name, formats.map(|(format, _)| format.to_owned()).collect())
        })
        .collect()
}

/// A command that cannot do its work would hold nothing back.
#[test]
fn every_command_does_its_work_on_a_sound_book() {
    let told = all(&TestBook::sound());
    let failed: Vec<&str> = told.iter().filter(|told| told.status == 2).map(|told| told.command.as_str()).collect();
    assert_eq!(failed, ["seal elm-row/no-such-visit"]);
    let silent = told.iter().filter(|told| told.streams.iter().all(Vec::is_empty) && told.files.is_empty());
    assert_eq!(silent.map(|told| told.command.as_str()).collect::<Vec<_>>(), Vec::<&str>::new());
}

#[test]
fn no_command_and_no_format_is_forgotten_here() {
    let listed = listed();
    assert!(listed.len() >= 13 && listed["check"].len() >= 8, "{listed:?}");
    let mut forgotten = Vec::new();
    for (name, formats) in &listed {
        let given: Vec<&&str> = COMMANDS.iter().filter(|command| command.split(' ').next() == Some(name)).collect();
        if given.is_empty() && !CONVERSING.contains(&name.as_str()) {
            forgotten.push(name.clone());
        }
        for format in formats.iter().filter(|format| !NOT_BUILT.contains(&(name, format))) {
            if !given.iter().any(|command| command.contains(&format!("--format {format}"))) {
                forgotten.push(format!("{name} --format {format}"));
            }
        }
    }
    assert!(forgotten.is_empty(), "not in COMMANDS: {forgotten:?}");
    let unknown: Vec<&&str> = COMMANDS.iter().filter(|command| !listed.contains_key(command.split(' ').next().unwrap())).collect();
    assert!(unknown.is_empty(), "no such command: {unknown:?}");
}
