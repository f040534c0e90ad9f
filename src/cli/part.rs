//! Which book a check is of, which part of it is asked about, and what is laid over its files.

use std::collections::BTreeSet;
use std::io::Read;
use std::path::{Path, PathBuf};

use super::{Failure, Screen};
use crate::book::{Book, OpenError, Overlay};
use crate::git::{GitError, Repository};

/// The part of a book that is asked about.
#[derive(Debug, clap::Args)]
#[group(skip)]
pub struct Args {
    /// The book, or folders and records in it. With --staged or --changed-since a folder narrows what is shown, and a record that is
    /// named is shown whether it changed or not.
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// Judge what is staged for the next commit, and not what the files say by now: show findings of the records it changes and of
    /// those they touch.
    #[arg(long, conflicts_with_all = ["accept", "stdin"])]
    staged: bool,
    /// Show findings only of the records that are otherwise than where this branch left REV, and of those they touch. Committed,
    /// staged, changed and new files count.
    #[arg(long, value_name = "REV", conflicts_with_all = ["accept", "stdin", "staged"])]
    changed_since: Option<String>,
    /// Check the text on standard input as the record at --path, for editors: the file itself may say something else or not be there.
    #[arg(long, requires = "path", conflicts_with_all = ["accept", "paths"])]
    stdin: bool,
    /// Where the text on standard input stands in the book.
    #[arg(long, value_name = "FILE", requires = "stdin")]
    path: Option<PathBuf>,
}

/// What was asked, looked up.
#[derive(Debug, Default)]
pub struct Part {
    /// The book's root.
    pub root: PathBuf,
    /// What is laid over its files.
    pub overlay: Overlay,
    /// The files and folders that are shown, relative to the root; all when empty.
    pub paths: Vec<String>,
    /// The files that changed, when only those are asked about.
    pub changed: Option<BTreeSet<String>>,
    /// Files that are shown beside what changed.
    pub named: Vec<String>,
}

impl Args {
    /// Finds the book, and asks git or standard input where that is wanted.
    pub fn look_up(&self, screen: &mut Screen) -> Result<Part, Failure> {
        if let Some(path) = self.path.as_deref().filter(|_| self.stdin) {
            return from_standard_input(path);
        }
        let mut part = self.named_part(screen)?;
        if !(self.staged || self.changed_since.is_some()) {
            part.paths.append(&mut part.named);
            return Ok(part);
        }
        let repository = Repository::of(&part.root)?;
        part.changed = Some(match &self.changed_since {
            Some(revision) => repository.changed_since(revision)?,
            None => {
                let staged = repository.staged()?;
                part.overlay = staged.overlay;
                staged.changed
            }
        });
        if !part.paths.is_empty() {
            part.paths.extend_from_slice(&part.named);
        }
        Ok(part)
    }

    /// The book around the paths, its folders in `paths` and its files in `named`.
    fn named_part(&self, screen: &mut Screen) -> Result<Part, Failure> {
        let here = [PathBuf::from(".")];
        let mut part = Part::default();
        let mut first: Option<&Path> = None;
        let mut outside = Vec::new();
        for path in if self.paths.is_empty() { &here[..] } else { &self.paths[..] } {
            let real = real(path)?;
            let at = if real.is_symlink() { real.parent().unwrap_or(&real) } else { &real };
            let root = match Book::find_root(at) {
                Err(OpenError::NoBook(_)) => {
                    outside.push(path);
                    continue;
                }
                found => found?,
            };
            match first {
                Some(first) if root != part.root => {
                    let message = format!("{} and {} are of two books", first.display(), path.display());
                    return Err(Failure::new(message, "Check one book at a time."));
                }
                _ => first = Some(path),
            }
            let inside = inside(&root, &real);
            part.root = root;
            if inside.is_empty() {
                continue;
            }
            if real.is_dir() {
                part.paths.push(inside);
            } else {
                if !Book::has_place_for(&inside) {
                    screen.note(&format!("{}: no record of this book; nothing in it is checked", path.display()));
                }
                part.named.push(inside);
            }
        }
        match (first, outside.first()) {
            (None, Some(path)) => return Err(OpenError::NoBook((*path).clone()).into()),
            _ => outside.iter().for_each(|path| screen.note(&format!("{}: in no book; not checked", path.display()))),
        }
        Ok(part)
    }
}

/// The text on standard input, laid over the file at `path`.
fn from_standard_input(path: &Path) -> Result<Part, Failure> {
    let real = real_of_new(path)?;
    let folder = real.ancestors().find(|folder| folder.is_dir()).unwrap_or(Path::new("/"));
    let root = Book::find_root(folder).map_err(|_| OpenError::NoBook(path.to_owned()))?;
    let mut text = Vec::new();
    std::io::stdin().lock().read_to_end(&mut text).map_err(|error| {
        Failure::new(
            format!("standard input cannot be read: {error}"),
            "Hand over the record's text, as in `ampledger check --stdin --path P < P`.",
        )
    })?;
    let inside = inside(&root, &real);
    let mut overlay = Overlay::new();
    overlay.put(inside.clone(), text);
    Ok(Part { root, overlay, paths: vec![inside], ..Part::default() })
}

/// A path without links on the way to it; a file that is a link itself is named as it stands.
fn real(path: &Path) -> Result<PathBuf, OpenError> {
    let absent = |_| OpenError::NoSuchPath(path.to_owned());
    let is_link = std::fs::symlink_metadata(path).map_err(absent)?.is_symlink();
    match (path.parent(), path.file_name()) {
        (Some(folder), Some(name)) if is_link && !path.is_dir() => {
            let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
            Ok(folder.canonicalize().map_err(absent)?.join(name))
        }
        _ => path.canonicalize().map_err(absent),
    }
}

/// The same for a file that need not be there, nor its folders.
fn real_of_new(path: &Path) -> Result<PathBuf, Failure> {
    let whole = std::path::absolute(path).map_err(|_| OpenError::NoSuchPath(path.to_owned()))?;
    let there = whole.ancestors().skip(1).find(|folder| folder.is_dir()).unwrap_or(Path::new("/"));
    let rest = whole.strip_prefix(there).unwrap_or(&whole);
    Ok(there.canonicalize().map_err(|_| OpenError::NoSuchPath(path.to_owned()))?.join(rest))
}

/// A path relative to the book's root, with `/`.
fn inside(root: &Path, real: &Path) -> String {
    let inner = real.strip_prefix(root).unwrap_or(real);
    inner.components().map(|part| part.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/")
}

impl From<GitError> for Failure {
    fn from(error: GitError) -> Self {
        let help = match &error {
            GitError::Absent => "Install git, or check the whole book without --staged and --changed-since.",
            GitError::NoRepository(_) => "`git init` makes one. Without it, check the whole book: `ampledger check`.",
            GitError::UnknownRevision(_) => {
                "Name a branch, a tag or a commit, as in --changed-since main. `git log --oneline` lists commits."
            }
            GitError::NoCommonCommit(_) => {
                "A clone that was made without its history cannot say: `git fetch --unshallow`, or in a pipeline ask for all of it."
            }
            GitError::Refused(_) => "Put that right, or check the whole book without --staged and --changed-since.",
        };
        Failure::new(error.to_string(), help)
    }
}
