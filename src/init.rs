//! A new book laid out: its settings, its folders, and what git, an editor and a code host need to know of it. Only what is missing is
//! written, what is there stays as it is, and no answer is made up.

use std::path::{Path, PathBuf};

use crate::book::{Book, OpenError, Roll, SETTINGS_FILE};
use crate::new::{self, SiteAnswers, scalar};
use crate::record::{Backlog, Nation, Seals, Settings, Site};
use crate::system::why;
use crate::write::{self, UNFINISHED, WriteError};
use crate::{rolls, schema};

/// What is known of the book's keeper.
#[derive(Debug, Clone, Default)]
pub struct Keeper {
    /// The name the work is done under.
    pub trading_as: Option<String>,
    /// The nation whose law applies.
    pub nation: Option<Nation>,
    /// Who works, by the name that papers bear.
    pub person: Option<String>,
}

/// The host whose pipeline is to check the book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Host {
    /// GitHub Actions.
    Github,
    /// GitLab CI.
    Gitlab,
}

/// What was done.
#[derive(Debug, Default)]
pub struct Done {
    /// What was written, as it is named from the folder.
    pub made: Vec<String>,
    /// What was there and was left as it is, with the lines that it lacks.
    pub left: Vec<(String, Vec<String>)>,
}

/// Why a book was not laid out.
#[derive(Debug)]
pub enum InitError {
    /// The folder lies within another book.
    Within(PathBuf),
    /// A file could not be written.
    Write(WriteError),
    /// The book could not be read.
    Open(OpenError),
}

impl From<WriteError> for InitError {
    fn from(error: WriteError) -> Self {
        InitError::Write(error)
    }
}

impl From<OpenError> for InitError {
    fn from(error: OpenError) -> Self {
        InitError::Open(error)
    }
}

/// The folders of records, and the one that is never shared.
const FOLDERS: [&str; 5] = ["sites", "instruments", "models", "recalls", "private"];

/// Lays out a book in `root`, which is made if it is not there.
pub fn lay_out(root: &Path, keeper: &Keeper, site: Option<(&str, SiteAnswers)>, host: Option<Host>) -> Result<Done, InitError> {
    std::fs::create_dir_all(root).map_err(|error| refused(root, &error))?;
    let root = root.canonicalize().map_err(|error| refused(root, &error))?;
    if let Some(outer) = root.ancestors().skip(1).find(|folder| folder.join(SETTINGS_FILE).is_file()) {
        return Err(InitError::Within(outer.to_owned()));
    }
    let mut done = Done::default();
    done.note(SETTINGS_FILE, write::new_record::<Settings>(&root, SETTINGS_FILE, &settings(keeper)))?;
    for folder in FOLDERS {
        let path = root.join(folder);
        if path.is_dir() {
            continue;
        }
        std::fs::create_dir(&path).map_err(|error| refused(&path, &error))?;
        done.made.push(format!("{folder}/"));
    }
    for (path, lines) in line_files() {
        done.lay_lines(&root, path, &lines)?;
    }
    for kind in schema::KINDS {
        let path = format!("schema/{kind}.schema.json");
        done.note(&path, write::new_file(&root, &path, &schema::of(kind).unwrap_or_default()))?;
    }
    done.note(EDITOR, write::new_file(&root, EDITOR, &editor_settings()))?;
    if let Some(host) = host {
        // A host reads its file at the top of the repository only.
        let top = root.ancestors().find(|folder| folder.join(".git").exists()).unwrap_or(&root);
        let inner = root.strip_prefix(top).unwrap_or(Path::new(""));
        let parts: Vec<String> = inner.components().map(|part| part.as_os_str().to_string_lossy().into_owned()).collect();
        let (path, text) = pipeline(host, &parts.join("/"));
        let name = format!("{}{path}", "../".repeat(parts.len()));
        done.note(&name, write::new_file(top, path, &text))?;
    }
    if let Some((id, answers)) = site {
        let draft = new::site(&Book::open(&root)?, id, answers);
        done.note(&draft.path, write::new_record::<Site>(&root, &draft.path, &draft.text))?;
    }
    Ok(done)
}

fn refused(path: &Path, error: &std::io::Error) -> WriteError {
    WriteError::Refused(path.display().to_string(), why(error))
}

impl Done {
    fn note(&mut self, path: &str, written: Result<(), WriteError>) -> Result<(), WriteError> {
        match written {
            Ok(()) => self.made.push(path.to_owned()),
            Err(WriteError::Exists(_)) => self.left.push((path.to_owned(), Vec::new())),
            Err(error) => return Err(error),
        }
        Ok(())
    }

    /// A file of single lines; of one that is there, which of them it lacks.
    fn lay_lines(&mut self, root: &Path, path: &str, lines: &[String]) -> Result<(), WriteError> {
        self.note(path, write::new_file(root, path, &format!("{}\n", lines.join("\n"))))?;
        if let Some((last, lacks)) = self.left.last_mut().filter(|(last, _)| last == path) {
            let text = std::fs::read_to_string(root.join(last)).unwrap_or_default();
            let has = |line: &&String| text.lines().any(|there| there.trim().trim_start_matches('/') == line.as_str());
            lacks.extend(lines.iter().filter(|line| !line.starts_with('#') && !has(line)).cloned());
        }
        Ok(())
    }
}

/// `book.yaml`, blank where nothing is known.
fn settings(keeper: &Keeper) -> String {
    let value = |value: Option<String>| value.map_or(String::new(), |value| format!(" {value}"));
    let nation = match keeper.nation {
        Some(nation) => format!("nation: {nation}"),
        None => {
            let words: Vec<&str> = Nation::ALL.iter().map(|nation| nation.as_str()).collect();
            format!("nation:   # {}", words.join(" | "))
        }
    };
    let people = match &keeper.person {
        Some(name) => format!("people:\n  - {{id: {}, name: {}}}", scalar(&initials(name)), scalar(name)),
        None => "people:\n#  - {id: , name: , role: }   # role: such as qualified-supervisor".to_owned(),
    };
    format!("format: 1\ntrading_as:{}\n{nation}\n{people}\n", value(keeper.trading_as.as_deref().map(scalar)))
}

/// The short id of a person in records: `A. N. Other` is `ano`.
fn initials(name: &str) -> String {
    let first = |word: &str| word.chars().find(|c| c.is_alphanumeric());
    let id: String = name.split_whitespace().filter_map(first).flat_map(char::to_lowercase).collect();
    if id.is_empty() { "me".to_owned() } else { id }
}

/// Files of which each line stands for itself.
fn line_files() -> [(&'static str, Vec<String>); 2] {
    let unfinished = format!("{UNFINISHED}*");
    let ignored =
        ["# Names, telephones and addresses stay on this machine.", "private/", &unfinished, "*~", "*.swp", ".DS_Store", "Thumbs.db"];
    [
        (".gitignore", ignored.map(str::to_owned).into()),
        (".gitattributes", vec![rolls::union_line(Seals::FILE), rolls::union_line(Backlog::FILE)]),
    ]
}

const EDITOR: &str = ".vscode/settings.json";

/// Settings of an editor that takes schemas: which schema is for which files.
fn editor_settings() -> String {
    let files = |kind: &str| match kind {
        "site" => "sites/*/site.md".to_owned(),
        "job" => "sites/*/[0-9]*.md".to_owned(),
        "instrument" | "model" | "recall" => format!("{kind}s/*.md"),
        _ => format!("{kind}.yaml"),
    };
    let records = ["**/sites/**/*.md", "**/instruments/*.md", "**/models/*.md", "**/recalls/*.md"];
    let yaml = records.map(|files| (files.to_owned(), "yaml".into()));
    let schemas = schema::KINDS.map(|kind| (format!("schema/{kind}.schema.json"), files(kind).into()));
    let settings = serde_json::json!({
        "files.associations": serde_json::Map::from_iter(yaml),
        "yaml.schemas": serde_json::Map::from_iter(schemas),
    });
    let text = serde_json::to_string_pretty(&settings).unwrap_or_default();
    format!("{text}\n")
}

/// The file that makes a host check the book at every push, and the path where it stands. `folder` is where the book lies below it.
pub fn pipeline(host: Host, folder: &str) -> (&'static str, String) {
    let (path, text) = match host {
        Host::Github => (".github/workflows/records.yml", include_str!("init/github.yml")),
        Host::Gitlab => (".gitlab-ci.yml", include_str!("init/gitlab.yml")),
    };
    let folder = if folder.is_empty() { "." } else { folder };
    (path, text.replace("BOOK_FOLDER", &scalar_in_quotes(folder)))
}

/// A YAML text in double quotes.
fn scalar_in_quotes(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}
