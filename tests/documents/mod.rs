//! README.md and DEVELOPERS.md say what is so: commands give the output printed there, records decode, paths exist.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use ampledger::book::{self, Record};
use ampledger::record::{Job, Settings, Site};

use crate::support::{copy, repository};

/// Set to anything, it makes the test write the output that it found into README.md.
const REWRITE: &str = "REWRITE_README";

/// A fenced block of a document.
struct Block<'t> {
    language: &'t str,
    text: &'t str,
}

fn blocks(document: &str) -> Vec<Block<'_>> {
    let mut parts = document.split("\n```");
    parts.next();
    let mut blocks = Vec::new();
    while let (Some(inside), Some(_)) = (parts.next(), parts.next()) {
        let (language, text) = inside.split_once('\n').unwrap_or((inside, ""));
        blocks.push(Block { language, text });
    }
    blocks
}

fn read(name: &str) -> String {
    std::fs::read_to_string(repository().join(name)).unwrap()
}

/// A folder in which the README's commands are given one after another, as its reader would.
struct Session {
    folder: PathBuf,
    path: String,
}

impl Session {
    fn in_folder(folder: &Path) -> Session {
        copy(&repository().join("example-sites"), &folder.join("example-sites"));
        let programs = Path::new(env!("CARGO_BIN_EXE_ampledger")).parent().unwrap().display().to_string();
        Session { folder: folder.to_owned(), path: format!("{programs}:{}", std::env::var("PATH").unwrap()) }
    }

    /// Gives a command and returns what a terminal would have shown.
    fn run(&mut self, command: &str) -> String {
        if let Some(folder) = command.strip_prefix("cd ") {
            self.folder = self.folder.join(folder);
            return String::new();
        }
        let command = command.replace("cargo run --release -- ", "ampledger ");
        let mut shell = Command::new("sh");
        shell.arg("-c").arg(format!("{{ {command}\n}} 2>&1")).current_dir(&self.folder).stdin(Stdio::null());
        shell.env("PATH", &self.path).env("LC_ALL", "C").env_remove("NO_COLOR").env_remove("RUST_BACKTRACE");
        let output = shell.output().unwrap();
        let text = String::from_utf8(output.stdout).unwrap();
        text.lines().map(|line| format!("{}\n", line.trim_end())).collect()
    }
}

#[cfg(unix)]
#[test]
fn the_readme_shows_what_its_commands_print() {
    let readme = read("README.md");
    let folder = tempfile::tempdir().unwrap();
    let mut session = Session::in_folder(folder.path());
    let mut renewed = readme.clone();
    let mut stale = Vec::new();
    let mut commands = 0;
    for block in blocks(&readme).iter().filter(|block| block.language == "console") {
        let mut shown = String::new();
        for command in block.text.lines().filter_map(|line| line.strip_prefix("$ ")) {
            shown.push_str(&format!("$ {command}\n{}", session.run(command)));
            commands += 1;
        }
        if shown.trim_end() != block.text {
            stale.push(format!("README.md shows\n{}\nand a terminal shows\n{shown}", block.text));
        }
        renewed = renewed.replacen(&format!("```console\n{}\n```", block.text), &format!("```console\n{}\n```", shown.trim_end()), 1);
    }
    assert!(commands > 0, "README.md shows no command");
    if std::env::var_os(REWRITE).is_some() {
        std::fs::write(repository().join("README.md"), &renewed).unwrap();
        return;
    }
    let hint = format!("When this is right, `{REWRITE}=1 cargo test --test all documents` writes it into README.md.");
    assert!(stale.is_empty(), "{}\n{hint}", stale.join("\n"));
}

#[test]
fn the_records_in_the_readme_are_sound() {
    fn check<T: serde::de::DeserializeOwned + Default + ampledger::record::Kind>(path: &str, text: &str) {
        let record: Record<T> = book::record_from_text(path, text.to_owned(), String::new(), Vec::new());
        assert!(record.faults.is_empty(), "{:?} in\n{text}", record.faults);
    }
    let readme = read("README.md");
    let mut count = 0;
    for block in blocks(&readme).iter().filter(|block| block.language == "yaml") {
        count += 1;
        match block.text {
            text if text.contains("record: site") => check::<Site>("sites/a/site.md", &format!("{text}\n")),
            text if text.starts_with("format: 1") => check::<Settings>("book.yaml", &format!("{text}\n")),
            text => check::<Job>("sites/a/2026-11-02-a.md", &format!("---\n{}\n---\n", text.trim_matches(['-', '\n']))),
        }
    }
    assert!(count >= 3, "README.md shows the record, the site and the settings");
}

/// Everything in backticks that looks like a path: it has a slash or a known ending, and no blank or wildcard in it.
fn paths(document: &str) -> Vec<&str> {
    let spans = document.split("\n```").step_by(2).flat_map(|prose| prose.split('`').skip(1).step_by(2));
    let is_path = |text: &&str| {
        let file = [".rs", ".md", ".toml", ".sh", ".json", ".yaml", ".csv"].iter().any(|ending| text.ends_with(ending));
        let open = text.contains([' ', '*', '<', '$', ':', '(', '{', '=']);
        (file || text.contains('/')) && !open && !text.starts_with('/')
    };
    spans.filter(is_path).collect()
}

#[test]
fn every_path_in_the_developers_guide_exists() {
    let guide = read("DEVELOPERS.md");
    let paths = paths(&guide);
    assert!(paths.len() > 20, "{paths:?}");
    let missing: Vec<&&str> = paths.iter().filter(|path| !repository().join(path).exists()).collect();
    assert!(missing.is_empty(), "DEVELOPERS.md names {missing:?}, which are not there");
}

#[test]
fn the_developers_guide_has_every_folder_of_the_source() {
    let guide = read("DEVELOPERS.md");
    for entry in std::fs::read_dir(repository().join("src")).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        assert!(guide.contains(&format!("`src/{name}")), "the map in DEVELOPERS.md lacks src/{name}");
    }
}
