//! Which files of a folder are records of which kind, and which stand where none belongs.

use std::collections::{BTreeSet, HashMap};
use std::path::Path;
use std::sync::Arc;

use walkdir::{DirEntry, WalkDir};

use super::fault::{Fault, FaultKind};
use super::source::SourceFile;
use super::{Files, SiteFiles, Stray, Unread};

/// The files of a book, sorted.
#[derive(Debug, Default)]
pub struct Tree {
    /// Instrument records.
    pub instruments: Vec<String>,
    /// Model records.
    pub models: Vec<String>,
    /// Recall records.
    pub recalls: Vec<String>,
    /// Sites and what their folders hold.
    pub sites: Vec<SiteFiles>,
}

/// The folders that records stand in.
const FOLDERS: [&str; 4] = ["sites", "instruments", "models", "recalls"];

/// Lists the records of the book at `root`. Links are told of and not followed: a record is read where it is.
pub fn walk(root: &Path, files: &Files, strays: &mut Vec<Stray>) -> Tree {
    let mut tree = Tree::default();
    let mut stray = |path: String, kind: FaultKind| {
        let source = Arc::new(SourceFile::unread(path));
        strays.push(Stray { source, fault: Fault::at(kind, 0..0) });
    };
    for name in miswritten_folders(root) {
        stray(name, FaultKind::Misplaced { why: "a folder of records is named in small letters".into() });
    }
    let mut names: HashMap<String, String> = HashMap::new();
    // Sites of which something is hidden: a folder that has nothing else is none.
    let mut hidden_in: BTreeSet<String> = BTreeSet::new();
    for folder in FOLDERS {
        for path in files.laid_in(folder) {
            if let Some(why) = place_laid(&mut tree, path, &mut names) {
                stray(path.to_owned(), FaultKind::Misplaced { why: why.into() });
            }
        }
        let top = root.join(folder);
        if std::fs::symlink_metadata(&top).is_err() {
            continue;
        }
        let entries = WalkDir::new(&top).follow_root_links(false).sort_by_file_name().into_iter().filter_entry(|entry| !is_hidden(entry));
        for entry in entries {
            let entry = match entry {
                Ok(entry) => entry,
                Err(error) => {
                    let path = error.path().map_or_else(|| folder.to_owned(), |path| relative(root, path));
                    let why = error.io_error().map_or_else(|| "it cannot be listed".to_owned(), crate::system::why);
                    match site_of(&path).and_then(|id| tree.sites.iter_mut().rev().find(|site| site.id == id)) {
                        Some(site) => site.unlisted.push(Unread { path, why }),
                        None => stray(path, FaultKind::Unreadable { why }),
                    }
                    continue;
                }
            };
            let path = relative(root, entry.path());
            if files.is_hidden(&path) {
                hidden_in.extend(site_of(&path).map(str::to_owned));
                continue;
            }
            // What is laid there has been placed.
            if names.get(&path.to_lowercase()).is_some_and(|there| *there == path) {
                continue;
            }
            if let Some(other) = names.insert(path.to_lowercase(), path.clone()) {
                stray(path.clone(), FaultKind::SameName { other });
            }
            if entry.path_is_symlink() {
                stray(path, link_fault(root, entry.path()));
            } else if entry.file_type().is_dir() {
                if let Some(id) = path.strip_prefix("sites/").filter(|id| !id.contains('/')) {
                    tree.sites.push(SiteFiles { id: id.to_owned(), ..SiteFiles::default() });
                }
            } else if !entry.file_type().is_file() {
                stray(path, FaultKind::Unreadable { why: crate::system::NO_FILE.to_owned() });
            } else if entry.path().to_str().is_none() {
                stray(path, FaultKind::Misplaced { why: "its name is not UTF-8, so that other programs cannot name it".into() });
            } else if let Some(why) = place(&mut tree, path.clone()) {
                stray(path, FaultKind::Misplaced { why: why.into() });
            }
        }
    }
    for register in [&mut tree.instruments, &mut tree.models, &mut tree.recalls] {
        register.sort();
    }
    let is_empty = |site: &SiteFiles| site.site.is_none() && site.jobs.is_empty() && site.others.is_empty() && site.unlisted.is_empty();
    tree.sites.retain(|site| !(hidden_in.contains(&site.id) && is_empty(site)));
    for site in &mut tree.sites {
        site.jobs.sort();
        site.others.sort();
    }
    tree.sites.sort_by(|a, b| a.id.cmp(&b.id));
    tree
}

/// Whether a path lies in a folder of records and in no hidden one.
pub fn is_in_folders(path: &str) -> bool {
    let mut parts = path.split('/');
    parts.next().is_some_and(|top| FOLDERS.contains(&top)) && parts.all(|part| !part.starts_with('.'))
}

/// Folders at the book's root that would hold records if they were spelt in small letters.
fn miswritten_folders(root: &Path) -> Vec<String> {
    let Ok(entries) = std::fs::read_dir(root) else { return Vec::new() };
    let names = entries.flatten().filter_map(|entry| entry.file_name().into_string().ok());
    let mut wrong: Vec<String> =
        names.filter(|name| FOLDERS.contains(&name.to_lowercase().as_str()) && !FOLDERS.contains(&name.as_str())).collect();
    wrong.sort();
    wrong
}

/// Whether a file's name says that it was meant to be a record, in another spelling of `.md`.
fn is_miswritten_record(name: &str) -> bool {
    let lower = name.to_lowercase();
    [".md", ".markdown", ".mdown", ".md.txt", ".yaml", ".yml"].iter().any(|ending| lower.ends_with(ending))
}

/// Why a file of another ending is told of.
const NOT_MD: &str = "a record's name ends in .md, in small letters; this file is not read";

fn is_hidden(entry: &DirEntry) -> bool {
    entry.depth() > 0 && entry.file_name().to_string_lossy().starts_with('.')
}

fn relative(root: &Path, path: &Path) -> String {
    let path = path.strip_prefix(root).unwrap_or(path);
    path.components().map(|part| part.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/")
}

/// What is to be said of a link.
fn link_fault(root: &Path, link: &Path) -> FaultKind {
    let Ok(target) = link.canonicalize() else { return FaultKind::LinkLoop };
    let own_folder = link.parent().and_then(|folder| folder.canonicalize().ok());
    if own_folder.is_some_and(|folder| folder.starts_with(&target)) {
        return FaultKind::LinkLoop;
    }
    let root = root.canonicalize().unwrap_or_else(|_| root.to_owned());
    if target.starts_with(root) {
        FaultKind::Misplaced { why: "it is a link; a record is read where it is, and not a second time through a link".into() }
    } else {
        FaultKind::LinkOut
    }
}

/// The site that a path lies in, or is the folder of.
fn site_of(path: &str) -> Option<&str> {
    path.strip_prefix("sites/")?.split('/').next()
}

/// Puts a file that may not be on the disk where it belongs, with the folder it needs.
fn place_laid(tree: &mut Tree, path: &str, names: &mut HashMap<String, String>) -> Option<&'static str> {
    if !is_in_folders(path) {
        return None;
    }
    let folder = site_of(path).filter(|id| path.len() > "sites/".len() + id.len());
    if let Some(id) = folder
        && names.insert(format!("sites/{id}").to_lowercase(), format!("sites/{id}")).is_none()
    {
        tree.sites.push(SiteFiles { id: id.to_owned(), ..SiteFiles::default() });
    }
    names.insert(path.to_lowercase(), path.to_owned());
    place(tree, path.to_owned())
}

/// Puts a file where it belongs, or says why it belongs nowhere.
fn place(tree: &mut Tree, path: String) -> Option<&'static str> {
    let parts: Vec<&str> = path.split('/').collect();
    let name = *parts.last()?;
    let is_record = name.ends_with(".md");
    let register = match parts[0] {
        "instruments" => &mut tree.instruments,
        "models" => &mut tree.models,
        "recalls" => &mut tree.recalls,
        _ => {
            let site = tree.sites.iter_mut().rev().find(|site| parts.len() > 2 && site.id == parts[1]);
            return match (site, parts.len()) {
                (Some(site), 3) if name == "site.md" => {
                    site.site = Some(path);
                    None
                }
                (Some(site), 3) if is_record => {
                    let dated =
                        name.get(..10).is_some_and(|day| day.parse::<crate::record::Date>().is_ok()) && name.get(10..11) == Some("-");
                    site.jobs.push(path);
                    (!dated).then_some("a job's file is named <YYYY-MM-DD>-<slug>.md after the day of the visit")
                }
                (Some(_), _) if is_record => Some("a job stands directly in its site's folder"),
                (Some(site), depth) => {
                    let miswritten = depth == 3 && is_miswritten_record(name);
                    site.others.push(path);
                    miswritten.then_some(NOT_MD)
                }
                (None, _) if is_record => Some("a site's records stand in a folder of its own under sites/"),
                (None, _) => None,
            };
        }
    };
    if is_record && parts.len() == 2 {
        register.push(path);
        return None;
    }
    if parts.len() == 2 && is_miswritten_record(name) {
        return Some(NOT_MD);
    }
    is_record.then_some("this folder holds its records directly, without folders in between")
}
