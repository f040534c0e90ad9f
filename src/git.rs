//! What git knows of a book's files: which of them changed, and what is staged. Runs the program `git` and asks; only
//! [`begin`] changes anything.

use std::collections::BTreeSet;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::book::{Overlay, SETTINGS_FILE};
use crate::system::why;

/// Why git could not say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum GitError {
    /// There is no program `git`.
    Absent,
    /// The book lies in no repository.
    NoRepository(PathBuf),
    /// There is no such revision.
    UnknownRevision(String),
    /// No commit is known that the revision and what is checked out both come from.
    NoCommonCommit(String),
    /// Git refused; its own first line.
    Refused(String),
}

impl std::fmt::Display for GitError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            GitError::Absent => write!(f, "the program git is not on this machine, or not on the PATH"),
            GitError::NoRepository(folder) => write!(f, "{} is in no git repository", folder.display()),
            GitError::UnknownRevision(revision) => write!(f, "git knows no revision {revision}"),
            GitError::NoCommonCommit(revision) => write!(f, "git knows no commit that this branch and {revision} both come from"),
            GitError::Refused(line) => write!(f, "git: {line}"),
        }
    }
}

impl std::error::Error for GitError {}

/// What is about to be committed.
#[derive(Debug)]
pub struct Staged {
    /// The files of the book that the commit changes, adds or deletes.
    pub changed: BTreeSet<String>,
    /// What turns the files on the disk into those of the commit.
    pub overlay: Overlay,
}

/// A book in its repository. Paths are relative to the book's root, with `/`, and files outside the book are left out.
pub struct Repository<'a> {
    root: &'a Path,
    settings: Vec<(&'static str, PathBuf)>,
    without: &'static [&'static str],
}

/// How git tells the programs that a hook runs where they are.
const OF_HOOKS: [&str; 4] = ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX"];

/// Arguments of every comparison: whole names, no renames (an old name and a new one are two changes), nothing configured otherwise.
const COMPARE: [&str; 7] = ["diff", "-z", "--no-renames", "--no-ext-diff", "--no-textconv", "--ignore-submodules=all", "--relative"];

/// An entry of `git diff --raw`: a file that differs between the index and the disk.
struct Differing<'a> {
    /// The kind of file in the index; `000000` where the index has none.
    mode: &'a str,
    /// The name of its bytes in the index.
    blob: &'a str,
    /// What became of it on the disk.
    status: &'a str,
    path: String,
}

impl<'a> Repository<'a> {
    /// The repository around the book at `root`, which is a canonical path.
    pub fn of(root: &'a Path) -> Result<Repository<'a>, GitError> {
        // In a hook git names its folder and its index, sometimes relative to where the hook runs. That holds for books below it.
        let here = std::env::current_dir().and_then(|here| here.canonicalize()).ok().filter(|here| root.starts_with(here));
        let mut repository = Repository { root, settings: Vec::new(), without: &[] };
        match here {
            None => repository.without = &OF_HOOKS,
            Some(here) => {
                if let Some(folder) = std::env::var_os("GIT_DIR") {
                    let tree = std::env::var_os("GIT_WORK_TREE").map_or_else(|| here.clone(), |tree| here.join(tree));
                    repository.settings.extend([("GIT_DIR", here.join(folder)), ("GIT_WORK_TREE", tree)]);
                }
                if let Some(index) = std::env::var_os("GIT_INDEX_FILE") {
                    repository.settings.push(("GIT_INDEX_FILE", here.join(index)));
                }
            }
        }
        let inside = repository.run(&["rev-parse", "--is-inside-work-tree"])?;
        if inside.trim_ascii() == b"true" { Ok(repository) } else { Err(GitError::NoRepository(root.to_owned())) }
    }

    /// The files that are otherwise now than where this branch left `revision`: committed since, staged, changed, deleted or new.
    pub fn changed_since(&self, revision: &str) -> Result<BTreeSet<String>, GitError> {
        let unknown = || GitError::UnknownRevision(revision.to_owned());
        if revision.starts_with('-') {
            return Err(unknown());
        }
        let commit = self.run(&["rev-parse", "--verify", "--quiet", &format!("{revision}^{{commit}}")]).map_err(|error| match error {
            GitError::Refused(_) => unknown(),
            other => other,
        })?;
        let commit = String::from_utf8_lossy(&commit).trim().to_owned();
        let base = self.run(&["merge-base", "HEAD", &commit]).map_err(|error| match error {
            GitError::Refused(_) => GitError::NoCommonCommit(revision.to_owned()),
            other => other,
        })?;
        let base = String::from_utf8_lossy(&base).trim().to_owned();
        let mut changed: BTreeSet<String> = names(&self.compare(&["--name-only", &base])?).collect();
        changed.extend(self.untracked()?);
        Ok(changed)
    }

    /// What is staged: what the commit changes, and what of the disk is not in it. Files that git ignores stay as they are on the disk.
    pub fn staged(&self) -> Result<Staged, GitError> {
        let changed = names(&self.compare(&["--cached", "--name-only"])?).collect();
        let raw = self.compare(&["--raw", "--no-abbrev"])?;
        let mut overlay = Overlay::new();
        let mut blobs = Vec::new();
        // A conflict that is not settled yet stands on the disk, with git's marks in it, and nothing can be committed before it is.
        let unsettled: BTreeSet<String> = differing(&raw).filter(|file| file.status == "U").map(|file| file.path).collect();
        for file in differing(&raw).filter(|file| !unsettled.contains(&file.path)) {
            match file.mode {
                // Meant for a later commit (`git add --intent-to-add`).
                _ if file.status == "A" => overlay.hide(file.path),
                "100644" | "100755" => blobs.push((file.path, file.blob.to_owned())),
                // A link or a repository within this one: no record.
                _ => {}
            }
        }
        // A book is not a book without its settings: those on the disk stand in for what is not staged yet.
        for path in self.untracked()?.into_iter().filter(|path| path != SETTINGS_FILE) {
            overlay.hide(path);
        }
        let texts = self.read(blobs.iter().map(|(_, blob)| blob.as_str()))?;
        for ((path, _), text) in blobs.into_iter().zip(texts) {
            overlay.put(path, text);
        }
        Ok(Staged { changed, overlay })
    }

    /// Files that git neither knows nor ignores.
    fn untracked(&self) -> Result<Vec<String>, GitError> {
        Ok(names(&self.run(&["ls-files", "-z", "--others", "--exclude-standard"])?).collect())
    }

    fn compare(&self, what: &[&str]) -> Result<Vec<u8>, GitError> {
        self.run(&[&COMPARE, what, &["--", "."]].concat())
    }

    /// The bytes of these blobs, in their order.
    fn read<'b>(&self, blobs: impl Iterator<Item = &'b str>) -> Result<Vec<Vec<u8>>, GitError> {
        let mut wanted = String::new();
        let mut count = 0;
        for blob in blobs {
            wanted.push_str(blob);
            wanted.push('\n');
            count += 1;
        }
        if count == 0 {
            return Ok(Vec::new());
        }
        let answer = self.run_with(&["cat-file", "--batch"], wanted)?;
        let mut rest = answer.as_slice();
        let mut texts = Vec::with_capacity(count);
        while let Some(end) = rest.iter().position(|byte| *byte == b'\n') {
            let (head, after) = (String::from_utf8_lossy(&rest[..end]), &rest[end + 1..]);
            let length = head.rsplit(' ').next().and_then(|length| length.parse::<usize>().ok());
            let Some(text) = length.and_then(|length| after.get(..length)) else {
                return Err(GitError::Refused(format!("cat-file: {head}")));
            };
            texts.push(text.to_vec());
            rest = after.get(text.len() + 1..).unwrap_or_default();
        }
        if texts.len() == count { Ok(texts) } else { Err(GitError::Refused("cat-file: not every file was answered".to_owned())) }
    }

    fn run(&self, args: &[&str]) -> Result<Vec<u8>, GitError> {
        self.run_with(args, String::new())
    }

    fn run_with(&self, args: &[&str], input: String) -> Result<Vec<u8>, GitError> {
        let mut git = Command::new("git");
        for name in self.without {
            git.env_remove(name);
        }
        git.envs(self.settings.iter().map(|(name, value)| (name, value)));
        // Its words in English, and its lock left to the commit that may be under way.
        git.env("LC_ALL", "C").env("GIT_OPTIONAL_LOCKS", "0").arg("-C").arg(self.root).args(args);
        let failed = |error: std::io::Error| match error.kind() {
            std::io::ErrorKind::NotFound => GitError::Absent,
            _ => GitError::Refused(why(&error)),
        };
        let mut git = git.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().map_err(failed)?;
        // Written beside the reading: neither side waits for the other.
        let to_git = git.stdin.take();
        let writer = std::thread::spawn(move || to_git.map(|mut to_git| to_git.write_all(input.as_bytes())));
        let output = git.wait_with_output().map_err(failed)?;
        let _ = writer.join();
        if output.status.success() {
            return Ok(output.stdout);
        }
        let said = String::from_utf8_lossy(&output.stderr);
        if said.contains("not a git repository") {
            return Err(GitError::NoRepository(self.root.to_owned()));
        }
        let line = said.lines().find(|line| !line.is_empty()).unwrap_or("it failed without a word");
        Err(GitError::Refused(line.strip_prefix("fatal: ").unwrap_or(line).to_owned()))
    }
}

/// Makes a repository of a folder that is in none.
pub fn begin(folder: &Path) -> Result<(), GitError> {
    Repository { root: folder, settings: Vec::new(), without: &OF_HOOKS }.run(&["init", "--quiet"]).map(drop)
}

/// Names with a NUL after each.
fn names(bytes: &[u8]) -> impl Iterator<Item = String> + '_ {
    bytes.split(|byte| *byte == 0).filter(|name| !name.is_empty()).map(|name| String::from_utf8_lossy(name).into_owned())
}

/// The entries of `git diff --raw -z`: `:<mode> <mode> <blob> <blob> <status>`, NUL, path, NUL.
fn differing(raw: &[u8]) -> impl Iterator<Item = Differing<'_>> {
    let mut parts = raw.split(|byte| *byte == 0);
    std::iter::from_fn(move || {
        let head = std::str::from_utf8(parts.next()?).ok()?.strip_prefix(':')?;
        let path = String::from_utf8_lossy(parts.next()?).into_owned();
        let mut words = head.split(' ');
        let (mode, blob) = (words.next()?, words.nth(1)?);
        let status = words.nth(1)?;
        Some(Differing { mode, blob, status: status.get(..1)?, path })
    })
}
