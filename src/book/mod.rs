//! A folder of records becomes a book: walk, split, decode, locate, index. Knows no rules.
//!
//! Registers (settings, instruments, models, recalls) are few and stay in memory. Sites are read one at a time, each with all its
//! visits, since nearly everything that is said of a visit needs the visits before it and nothing of another site.

mod body;
mod contacts;
mod decode;
mod fault;
mod holes;
mod lexical;
mod mend;
mod overlay;
mod path;
mod repair;
mod roll;
mod serde_words;
mod slip;
mod source;
mod syntax;
mod tree;
mod walk;
mod written;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use serde::de::DeserializeOwned;

pub use body::{Body, Link, Task, links};
pub use contacts::{CONTACTS_FILE, Contacts, Detail, DetailSort, private_detail, private_entries};
pub use decode::MAX_FRONT_BYTES;
pub use fault::{Cure, Fault, FaultKind};
pub use holes::Holes;
pub use lexical::is_odd_space;
pub use mend::{Edit, Mend};
pub use overlay::{Files, Open, Overlay};
pub use path::{FieldPath, Step};
pub use roll::{Entry as RollEntry, Roll, RollFile};
pub use slip::{is_same_word, nearest, slip_of};
pub use source::SourceFile;
pub use syntax::Syntax;
pub use tree::{Broken, Entry, Node, NodeKind};
pub use written::{Leaf, Written, body_lines, front_lines};

use crate::record::{Backlog, Date, Instrument, Job, Kind, Model, Recall, RecordKind, Seals, Settings, Site};
use crate::system;

/// The name of the file that makes a folder a book.
pub const SETTINGS_FILE: &str = "book.yaml";
/// More bytes than any record needs; what lies beyond is not read.
pub const MAX_FILE_BYTES: u64 = 1024 * 1024;

/// A record and the file it stands in.
#[derive(Debug)]
pub struct Record<T> {
    /// Its id: the file's name without ending; for a site, its folder.
    pub id: String,
    /// The file.
    pub source: Arc<SourceFile>,
    /// What it says, with holes where it could not be read.
    pub data: T,
    /// What is there and could not be read.
    pub unreadable: Holes,
    /// True when nothing of the front matter could be read.
    pub lost: bool,
    /// What is wrong with its form.
    pub faults: Vec<Fault>,
    /// What its body holds.
    pub body: Body,
}

impl<T> Record<T> {
    /// Whether something stands at `path` (or around it) that could not be read, so that nothing can be said of it.
    pub fn is_unreadable(&self, path: &FieldPath) -> bool {
        self.unreadable.hold(path)
    }

    /// Whether what is seen at `path` may not be all of it, because something there could not be read.
    pub fn may_lack(&self, path: &FieldPath) -> bool {
        self.lost || self.unreadable.touch(path)
    }
}

impl Record<Job> {
    /// The day that the file's name gives.
    pub fn day(&self) -> Option<Date> {
        self.id.get(..10)?.parse().ok()
    }
}

/// The files of one site's folder.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub struct SiteFiles {
    /// The folder's name.
    pub id: String,
    /// `site.md`, relative to the book's root.
    pub site: Option<String>,
    /// The jobs, in order of their names.
    pub jobs: Vec<String>,
    /// Everything else, such as photographs.
    pub others: Vec<String>,
    /// Folders of it that could not be listed: what stands in them is not known.
    pub unlisted: Vec<Unread>,
}

/// A file or folder that is there and could not be opened.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unread {
    /// Where it is, relative to the book's root.
    pub path: String,
    /// Why, in the system's words.
    pub why: String,
}

impl Unread {
    fn stray(&self) -> Stray {
        let fault = Fault::at(FaultKind::Unreadable { why: self.why.clone() }, 0..0);
        Stray { source: Arc::new(SourceFile::unread(self.path.clone())), fault }
    }
}

impl SiteFiles {
    /// Whether this site has a job of that id.
    pub fn has_job(&self, id: &str) -> bool {
        let wanted = format!("sites/{}/{id}.md", self.id);
        self.jobs.binary_search(&wanted).is_ok()
    }

    /// The site's own folder, in which its records stand, where it could not be listed.
    pub fn closed(&self) -> Option<&Unread> {
        self.unlisted.iter().find(|folder| folder.path.strip_prefix("sites/") == Some(&self.id))
    }

    /// Whether this site has a record at that path.
    pub fn is_record(&self, path: &str) -> bool {
        self.site.as_deref() == Some(path) || self.jobs.binary_search_by(|job| job.as_str().cmp(path)).is_ok()
    }
}

/// One site with all its visits.
#[derive(Debug)]
pub struct SiteRecords {
    /// Which files these are.
    pub files: SiteFiles,
    /// What stays at the place.
    pub site: Option<Record<Site>>,
    /// The visits, in order of their names and so of their dates.
    pub jobs: Vec<Record<Job>>,
}

/// A file's first bytes and how many it has, or why it could not be read.
type ReadBytes = std::io::Result<(Vec<u8>, u64)>;

/// The bytes of one site's records.
#[derive(Debug)]
pub struct SiteBytes {
    site: Option<ReadBytes>,
    jobs: Vec<ReadBytes>,
}

impl SiteBytes {
    /// The files in the order of [`SiteFiles`], `site.md` first: the bytes and the length of each. Nothing when one of them could not be
    /// read.
    pub fn all(&self) -> Option<Vec<(&[u8], u64)>> {
        self.site.iter().chain(&self.jobs).map(|read| read.as_ref().ok().map(|(bytes, length)| (bytes.as_slice(), *length))).collect()
    }

    /// The file at `path`, split, with the reading copy that was made of it when it was decoded.
    pub fn source(&self, files: &SiteFiles, path: &str, mended: Option<Mend>) -> Option<Arc<SourceFile>> {
        let read = if files.site.as_deref() == Some(path) {
            self.site.as_ref()?
        } else {
            self.jobs.get(files.jobs.binary_search_by(|job| job.as_str().cmp(path)).ok()?)?
        };
        let (bytes, length) = read.as_ref().ok()?;
        let mut faults = Vec::new();
        let text = text_of(bytes.clone(), *length, MAX_FILE_BYTES, &mut faults);
        let mut source = SourceFile::markdown(path.to_owned(), text, &mut faults);
        source.mended = mended;
        Some(Arc::new(source))
    }
}

/// A fault of a file that holds no readable record.
#[derive(Debug)]
pub struct Stray {
    /// The file.
    pub source: Arc<SourceFile>,
    /// What is wrong with it.
    pub fault: Fault,
}

/// A book: its registers, and the files of its sites.
#[derive(Debug)]
pub struct Book {
    /// The folder that holds `book.yaml`.
    pub root: PathBuf,
    /// Its files, as they are to be read.
    pub files: Files,
    /// `book.yaml`.
    pub settings: Record<Settings>,
    /// Instruments by id.
    pub instruments: BTreeMap<String, Record<Instrument>>,
    /// Models by id.
    pub models: BTreeMap<String, Record<Model>>,
    /// Recalls by id.
    pub recalls: BTreeMap<String, Record<Recall>>,
    /// Sites in order of their folders.
    pub sites: Vec<SiteFiles>,
    /// The people behind the sites, held apart and never shown.
    pub contacts: Contacts,
    /// Files that are no records and should be, or stand where none belongs.
    pub strays: Vec<Stray>,
    /// What could not be opened of the sites that have been read.
    unread: Mutex<BTreeSet<Unread>>,
    /// `seals.yaml`, once somebody has asked.
    seals: OnceLock<RollFile<Seals>>,
    /// `backlog.yaml`, once somebody has asked.
    backlog: OnceLock<RollFile<Backlog>>,
}

/// Why there is no book to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OpenError {
    /// The path does not exist.
    NoSuchPath(PathBuf),
    /// No folder from there upward holds `book.yaml`.
    NoBook(PathBuf),
    /// `book.yaml` is there and cannot be read.
    Unreadable(PathBuf, String),
}

impl std::fmt::Display for OpenError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            OpenError::NoSuchPath(path) => write!(f, "there is no {}", path.display()),
            OpenError::NoBook(path) => write!(f, "no {SETTINGS_FILE} in {} or in any folder above it", path.display()),
            OpenError::Unreadable(path, why) => write!(f, "{} cannot be read: {why}", path.display()),
        }
    }
}

impl std::error::Error for OpenError {}

impl Book {
    /// The root of the book that `path` lies in: the nearest folder upward that holds `book.yaml`.
    pub fn find_root(path: &Path) -> Result<PathBuf, OpenError> {
        let real = path.canonicalize().map_err(|_| OpenError::NoSuchPath(path.to_owned()))?;
        let root = real.ancestors().find(|folder| folder.join(SETTINGS_FILE).is_file());
        root.map(Path::to_owned).ok_or_else(|| OpenError::NoBook(path.to_owned()))
    }

    /// Whether a file at `path` is part of what is checked: it stands in a folder of records, or is one of the files beside them.
    pub fn has_place_for(path: &str) -> bool {
        [SETTINGS_FILE, Seals::FILE, Backlog::FILE].contains(&path) || walk::is_in_folders(path)
    }

    /// Opens the book whose root is `root`: reads its registers and lists its sites.
    pub fn open(root: &Path) -> Result<Book, OpenError> {
        Book::open_under(root, Overlay::new())
    }

    /// Opens the book whose root is `root`, with texts laid over its files: whatever reads the book reads those.
    pub fn open_under(root: &Path, overlay: Overlay) -> Result<Book, OpenError> {
        let files = Files::new(root.to_owned(), overlay);
        let settings_path = root.join(SETTINGS_FILE);
        files.open(SETTINGS_FILE).map_err(|error| OpenError::Unreadable(settings_path.clone(), system::why(&error)))?;
        let mut strays = Vec::new();
        let tree = walk::walk(root, &files, &mut strays);
        let settings = read_record(&files, SETTINGS_FILE, "book".to_owned(), &mut strays).ok_or_else(|| {
            let why = strays.pop().map(|stray| stray.fault.kind);
            let why = if let Some(FaultKind::Unreadable { why }) = why { why } else { "it is no readable file".to_owned() };
            OpenError::Unreadable(settings_path, why)
        })?;
        Ok(Book {
            instruments: read_register(&files, &tree.instruments, &mut strays),
            models: read_register(&files, &tree.models, &mut strays),
            recalls: read_register(&files, &tree.recalls, &mut strays),
            contacts: Contacts::read(&files),
            root: root.to_owned(),
            files,
            settings,
            sites: tree.sites,
            strays,
            unread: Mutex::default(),
            seals: OnceLock::new(),
            backlog: OnceLock::new(),
        })
    }

    /// Reads one site with all its visits. Files that cannot be read come back as strays.
    pub fn read_site(&self, files: &SiteFiles) -> (SiteRecords, Vec<Stray>) {
        Book::decode_site(files, self.read_bytes(files))
    }

    /// Reads the bytes of one site's records, and makes nothing of them yet.
    pub fn read_bytes(&self, files: &SiteFiles) -> SiteBytes {
        let note = |unread: Unread| {
            self.unread.lock().unwrap_or_else(PoisonError::into_inner).insert(unread);
        };
        files.unlisted.iter().cloned().for_each(note);
        let read = |path: &String| {
            self.files.read(path, MAX_FILE_BYTES).inspect_err(|error| note(Unread { path: path.clone(), why: system::why(error) }))
        };
        SiteBytes { site: files.site.as_ref().map(read), jobs: files.jobs.iter().map(read).collect() }
    }

    /// What [`Book::read_site`] makes of the bytes that were read.
    pub fn decode_site(files: &SiteFiles, bytes: SiteBytes) -> (SiteRecords, Vec<Stray>) {
        let mut strays: Vec<Stray> = files.unlisted.iter().map(Unread::stray).collect();
        let site = files.site.as_ref().zip(bytes.site);
        let site = site.and_then(|(path, read)| record_of_bytes(path, read, files.id.clone(), &mut strays));
        let jobs = files.jobs.iter().zip(bytes.jobs).filter_map(|(path, read)| record_of_bytes(path, read, stem(path), &mut strays));
        let jobs = jobs.collect();
        (SiteRecords { files: files.clone(), site, jobs }, strays)
    }

    /// What was there and could not be opened, of the registers and of every site that has been read so far, in order of the paths. Whoever
    /// answers from the book answers without it.
    pub fn unread(&self) -> Vec<Unread> {
        let mut unread = self.unread.lock().unwrap_or_else(PoisonError::into_inner).clone();
        unread.extend(self.strays.iter().filter_map(|stray| match &stray.fault.kind {
            FaultKind::Unreadable { why } => Some(Unread { path: stray.source.path.clone(), why: why.clone() }),
            _ => None,
        }));
        unread.into_iter().collect()
    }

    /// What is laid over the book's files.
    pub fn overlay(&self) -> &Overlay {
        self.files.overlay()
    }

    /// Lays other bytes over a file of a site that this book knows already. What else changes a book wants it opened again.
    pub fn put(&mut self, path: &str, bytes: impl Into<Arc<[u8]>>) {
        self.files.put(path, bytes);
    }

    /// A file's text; nothing when it cannot be read.
    pub fn text(&self, path: &str) -> Option<String> {
        read_text(&self.files, path, MAX_FILE_BYTES, &mut Vec::new()).ok()
    }

    /// A record's file once more, as it was read the first time; nothing when it has gone meanwhile.
    pub fn reread(&self, path: &str) -> Option<Arc<SourceFile>> {
        let record: Record<Job> = read_record(&self.files, path, stem(path), &mut Vec::new())?;
        Some(record.source)
    }

    /// Opens what [`Book::plain_file`] would name, or what is laid over it.
    pub fn open_plain(&self, path: &str) -> Option<Box<dyn Open>> {
        if !self.files.is_laid(path) {
            self.plain_file(path)?;
        }
        self.files.open(path).ok()
    }

    /// Whether [`Book::open_plain`] would find something.
    pub fn has_plain(&self, path: &str) -> bool {
        if self.files.is_laid(path) { self.files.has(path) } else { self.plain_file(path).is_some() }
    }

    /// The file of the book at `path`, relative to its root: a plain file, to which neither a step upward nor a link leads. What a record
    /// names need not be in the book at all.
    pub fn plain_file(&self, path: &str) -> Option<PathBuf> {
        let mut whole = self.root.clone();
        for step in Path::new(path).components() {
            let Component::Normal(step) = step else { return None };
            whole.push(step);
            if std::fs::symlink_metadata(&whole).ok()?.is_symlink() {
                return None;
            }
        }
        whole.is_file().then_some(whole)
    }

    /// The files of the site with that id.
    pub fn site(&self, id: &str) -> Option<&SiteFiles> {
        let place = self.sites.binary_search_by(|site| site.id.as_str().cmp(id)).ok()?;
        self.sites.get(place)
    }

    /// `seals.yaml`; empty where there is none.
    pub fn seals(&self) -> &RollFile<Seals> {
        self.seals.get_or_init(|| RollFile::read(&self.files))
    }

    /// `backlog.yaml`; empty where there is none.
    pub fn backlog(&self) -> &RollFile<Backlog> {
        self.backlog.get_or_init(|| RollFile::read(&self.files))
    }

    /// The site whose folder holds the file at `path`.
    pub fn site_of(&self, path: &str) -> Option<&SiteFiles> {
        self.site(path.strip_prefix("sites/")?.split('/').next()?)
    }

    /// Whether `<site>/<job>` names a job of this book.
    pub fn has_job(&self, reference: &str) -> bool {
        reference.split_once('/').is_some_and(|(site, job)| self.site(site).is_some_and(|files| files.has_job(job)))
    }
}

fn stem(path: &str) -> String {
    let name = path.rsplit('/').next().unwrap_or_default();
    name.strip_suffix(".md").unwrap_or(name).to_owned()
}

fn read_register<T: DeserializeOwned + Default + Kind>(
    files: &Files,
    paths: &[String],
    strays: &mut Vec<Stray>,
) -> BTreeMap<String, Record<T>> {
    paths.iter().filter_map(|path| Some((stem(path), read_record(files, path, stem(path), strays)?))).collect()
}

/// Reads one file as a record of the kind its folder holds.
fn read_record<T: DeserializeOwned + Default + Kind>(files: &Files, path: &str, id: String, strays: &mut Vec<Stray>) -> Option<Record<T>> {
    record_of_bytes(path, files.read(path, MAX_FILE_BYTES), id, strays)
}

/// Reads bytes as a record.
fn record_of_bytes<T: DeserializeOwned + Default + Kind>(
    path: &str,
    read: ReadBytes,
    id: String,
    strays: &mut Vec<Stray>,
) -> Option<Record<T>> {
    let mut faults = Vec::new();
    let text = match read {
        Ok((bytes, length)) => text_of(bytes, length, MAX_FILE_BYTES, &mut faults),
        Err(error) => {
            let source = Arc::new(SourceFile::unread(path.to_owned()));
            strays.push(Stray { source, fault: unreadable(&error) });
            return None;
        }
    };
    Some(record_from_text(path, text, id, faults))
}

/// Makes a record of a text that may not have reached the disk yet.
pub fn record_from_text<T: DeserializeOwned + Default + Kind>(path: &str, text: String, id: String, faults: Vec<Fault>) -> Record<T> {
    let (mut source, mut faults, mut decoded) = decode_text::<T>(path, text, faults);
    let unsaid = decoded.lost || decoded.unreadable.hold(&crate::path!["record"]);
    if let Some(expected) = T::EXPECTED.filter(|_| !unsaid)
        && let said = decoded.data.kind_said()
        && said != Some(expected)
    {
        // A record of another kind is full of keys that this kind has not; it is read as what it says when that fits better.
        if let Some((other, others)) = said.map(|kind| faults_as(kind, path, source.text.clone()))
            && others.len() < faults.len()
        {
            (source, faults, decoded) = (other, others, decode::Decoded::lost());
        }
        let kind = FaultKind::WrongRecord { found: said.map(|said| said.as_str().into()), expected: expected.as_str().into() };
        faults.push(Fault { path: crate::path!["record"], ..Fault::at(kind, 0..0) });
    }
    if let Some((range, _)) = source::lines(source.body_text()).find(|(_, line)| line.starts_with("<<<<<<< ")) {
        let start = source.body.start;
        faults.push(Fault::at(FaultKind::ConflictMarks, range.start + start..range.end + start));
    }
    let body = body::read(source.body_text(), source.body.start);
    Record { id, source: Arc::new(source), data: decoded.data, unreadable: decoded.unreadable, lost: decoded.lost, faults, body }
}

/// A text read as the record that its path makes it, for those who ask how it reads and not what it means.
#[derive(Debug)]
pub struct Reading {
    /// The text, split.
    pub source: Arc<SourceFile>,
    /// What is wrong with its form.
    pub faults: Vec<Fault>,
    /// What is there and could not be read.
    pub unreadable: Holes,
    /// True when nothing of the front matter could be read.
    pub lost: bool,
    /// The decoded record, spelt out so that two can be compared.
    pub decoded: String,
}

/// Reads a text as the record that belongs at `path`; nothing where none does.
pub fn read_as_placed(path: &str, text: String) -> Option<Reading> {
    fn of<T: DeserializeOwned + Default + Kind + std::fmt::Debug>(path: &str, text: String) -> Reading {
        let record: Record<T> = record_from_text(path, text, stem(path), Vec::new());
        let decoded = format!("{:?}", record.data);
        Reading { source: record.source, faults: record.faults, unreadable: record.unreadable, lost: record.lost, decoded }
    }
    let folders: Vec<&str> = path.split('/').collect();
    Some(match folders[..] {
        [SETTINGS_FILE] => of::<Settings>(path, text),
        ["sites", _, "site.md"] => of::<Site>(path, text),
        ["sites", _, _] => of::<Job>(path, text),
        ["instruments", _] => of::<Instrument>(path, text),
        ["models", _] => of::<Model>(path, text),
        ["recalls", _] => of::<Recall>(path, text),
        _ => return None,
    })
}

/// Splits and decodes a text as one kind of record.
fn decode_text<T: DeserializeOwned + Default>(
    path: &str,
    text: String,
    mut faults: Vec<Fault>,
) -> (SourceFile, Vec<Fault>, decode::Decoded<T>) {
    let is_yaml = path.ends_with(".yaml");
    let mut source =
        if is_yaml { SourceFile::yaml(path.to_owned(), text) } else { SourceFile::markdown(path.to_owned(), text, &mut faults) };
    let no_front = faults.iter().any(|fault| matches!(fault.kind, FaultKind::NoFrontMatter | FaultKind::Empty));
    let decoded = if no_front { decode::Decoded::lost() } else { decode::decode(&mut source, &mut faults) };
    (source, faults, decoded)
}

/// What is wrong with a text when it is read as another kind of record.
fn faults_as(kind: RecordKind, path: &str, text: String) -> (SourceFile, Vec<Fault>) {
    fn of<T: DeserializeOwned + Default>(path: &str, text: String) -> (SourceFile, Vec<Fault>) {
        let (source, faults, _) = decode_text::<T>(path, text, Vec::new());
        (source, faults)
    }
    match kind {
        RecordKind::Site => of::<Site>(path, text),
        RecordKind::Job => of::<Job>(path, text),
        RecordKind::Instrument => of::<Instrument>(path, text),
        RecordKind::Model => of::<Model>(path, text),
        RecordKind::Recall => of::<Recall>(path, text),
    }
}

/// Reads a file's text up to the size cap, without its byte-order mark; what is not UTF-8 is told and shown as U+FFFD.
fn read_text(files: &Files, path: &str, most: u64, faults: &mut Vec<Fault>) -> std::io::Result<String> {
    let (bytes, length) = files.read(path, most)?;
    Ok(text_of(bytes, length, most, faults))
}

/// The text of a file's first bytes; `length` is how many it has.
fn text_of(mut bytes: Vec<u8>, length: u64, most: u64, faults: &mut Vec<Fault>) -> String {
    if length > most {
        faults.push(Fault::at(FaultKind::TooLarge { bytes: length }, 0..0));
        // The cap may fall within a character.
        while bytes.last().is_some_and(|byte| *byte >= 0x80) {
            bytes.pop();
        }
    }
    if let Some(text) = from_utf16(&bytes) {
        faults.push(Fault::at(FaultKind::Utf16, 0..0));
        return text;
    }
    if bytes.starts_with(b"\xef\xbb\xbf") {
        bytes.drain(..3);
    }
    match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            let byte = error.as_bytes().get(at).copied().unwrap_or_default();
            faults.push(Fault::at(FaultKind::NotUtf8 { byte }, at..at + '\u{fffd}'.len_utf8()));
            String::from_utf8_lossy(error.as_bytes()).into_owned()
        }
    }
}

/// A text that an editor saved as UTF-16, known by its byte-order mark.
fn from_utf16(bytes: &[u8]) -> Option<String> {
    let unit: fn([u8; 2]) -> u16 = match bytes.get(..2)? {
        [0xff, 0xfe] => u16::from_le_bytes,
        [0xfe, 0xff] => u16::from_be_bytes,
        _ => return None,
    };
    let units: Vec<u16> = bytes[2..].chunks_exact(2).map(|pair| unit([pair[0], pair[1]])).collect();
    Some(String::from_utf16_lossy(&units))
}

/// The fault of a file that cannot be read at all.
fn unreadable(error: &std::io::Error) -> Fault {
    Fault::at(FaultKind::Unreadable { why: system::why(error) }, 0..0)
}

/// The bytes to show for a path of a file's front matter, in file coordinates.
pub struct Places {
    tree: Option<Node>,
}

impl Places {
    /// Builds the span tree of a file; empty when even the reading copy is not YAML.
    pub fn of(file: &SourceFile) -> Places {
        let tree = match &file.mended {
            Some(mend) => tree::parse(&mend.text()).ok(),
            None => tree::parse(file.front_text()).ok(),
        };
        Places { tree }
    }

    /// The bytes to show for `path`: itself, or the nearest thing above it that is there.
    pub fn span(&self, file: &SourceFile, path: &FieldPath) -> std::ops::Range<usize> {
        let start = file.front.start;
        let Some(tree) = &self.tree else { return start..start };
        let span = tree.span_to_show(path);
        let span = match &file.mended {
            Some(mend) => mend.original_range(&span),
            None => span,
        };
        span.start + start..span.end + start
    }

    /// Every single value, and every map or list with nothing in it, as the record is read.
    pub fn values(&self) -> impl Iterator<Item = tree::Value<'_>> {
        self.tree.iter().flat_map(Node::values)
    }

    /// Whether a value is written at `path`.
    pub fn has(&self, path: &FieldPath) -> bool {
        self.tree.as_ref().is_some_and(|tree| tree.find(path).depth == path.steps().len())
    }
}
