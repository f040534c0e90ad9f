//! What a shell may offer while a command is typed: commands and flags from their definitions, sites, visits, circuits, units and rules from
//! the book. It reads only the files it needs, never `private/`, and where there is no book it offers nothing and says nothing.

use std::collections::BTreeSet;
use std::ffi::{OsStr, OsString};
use std::path::{Path, PathBuf};

use clap::CommandFactory;
use clap_complete::CompleteEnv;
use clap_complete::engine::{ArgValueCandidates, ArgValueCompleter, CompletionCandidate, PathCompleter, ValueCompleter as _};

use crate::book::{Book, SiteFiles};
use crate::record::Job;
use crate::rules;

/// What the scripts set when they ask; a name of our own, so that no other program's script starts this one.
pub const VARIABLE: &str = "AMPLEDGER_COMPLETE";

/// Answers a shell's question, when this run is one; `false`: it is none.
pub fn answer(args: &[OsString]) -> Result<bool, clap::Error> {
    let here = std::env::current_dir().ok();
    CompleteEnv::with_factory(super::Args::command).var(VARIABLE).try_complete(args.iter().cloned(), here.as_deref())
}

/// Names of sites.
pub fn site() -> ArgValueCandidates {
    ArgValueCandidates::new(|| match book() {
        Some(book) => plain(book.sites.iter().map(|site| site.id.clone())),
        None => Vec::new(),
    })
}

/// Sites, or the folders and files of a path.
pub fn site_or_path() -> ArgValueCompleter {
    ArgValueCompleter::new(|typed: &OsStr| {
        let sites = book().map_or_else(Vec::new, |book| plain(book.sites.iter().map(|site| site.id.clone())));
        beginning(sites, typed).into_iter().chain(paths(typed)).collect()
    })
}

/// Visits as SITE/VISIT, the newest first, or the path of a file.
pub fn job() -> ArgValueCompleter {
    ArgValueCompleter::new(|typed: &OsStr| {
        let typed_text = typed.to_string_lossy();
        let jobs = book().map_or_else(Vec::new, |book| {
            step_by_step(&book, &typed_text, |site| {
                site.jobs.iter().rev().filter_map(|path| Some(path.strip_prefix("sites/")?.strip_suffix(".md")?.to_owned())).collect()
            })
        });
        beginning(jobs, typed).into_iter().chain(paths(typed)).collect()
    })
}

/// A site, a circuit of it as SITE/BOARD/WAY, or the serial of a unit.
pub fn site_circuit_or_serial() -> ArgValueCompleter {
    ArgValueCompleter::new(|typed: &OsStr| {
        let Some(book) = book() else { return Vec::new() };
        let typed_text = typed.to_string_lossy();
        let mut offered = step_by_step(&book, &typed_text, |site| {
            circuits(&book, site, None).into_iter().map(|circuit| format!("{}/{circuit}", site.id)).collect()
        });
        // The serials of a working life are no list to choose from; two letters make it one.
        if typed_text.len() >= 2 && !typed_text.contains('/') {
            offered.extend(serials(&book, &typed_text));
        }
        beginning(offered, typed)
    })
}

/// Circuits of the visit that stands on the command line already.
pub fn circuit_of_job() -> ArgValueCandidates {
    ArgValueCandidates::new(|| {
        let Some(book) = book() else { return Vec::new() };
        let job = std::env::args().find_map(|word| {
            let word = word.trim_start_matches("./").trim_start_matches("sites/").trim_end_matches(".md");
            let (site, job) = word.split_once('/')?;
            book.site(site).filter(|site| site.has_job(job)).map(|site| (site.clone(), job.to_owned()))
        });
        job.map_or_else(Vec::new, |(site, job)| plain(circuits(&book, &site, Some(&job)).into_iter()))
    })
}

/// Serials of units.
pub fn serial() -> ArgValueCompleter {
    ArgValueCompleter::new(|typed: &OsStr| {
        let serials = book().map_or_else(Vec::new, |book| serials(&book, &typed.to_string_lossy()));
        beginning(serials, typed)
    })
}

/// Models of the book's register.
pub fn model() -> ArgValueCandidates {
    ArgValueCandidates::new(|| book().map_or_else(Vec::new, |book| plain(book.models.into_keys())))
}

/// Notices of the book.
pub fn recall() -> ArgValueCandidates {
    ArgValueCandidates::new(|| book().map_or_else(Vec::new, |book| plain(book.recalls.into_keys())))
}

/// Rules, each with what it says.
pub fn rule() -> ArgValueCandidates {
    ArgValueCandidates::new(|| rules::all().map(|rule| CompletionCandidate::new(rule.id).help(Some(rule.title.into()))).collect())
}

/// The words of a closed vocabulary.
pub fn words<T: ToString + Sync>(all: &'static [T]) -> ArgValueCandidates {
    ArgValueCandidates::new(move || all.iter().map(|word| CompletionCandidate::new(word.to_string())).collect())
}

/// The book that the command line is about: the one that `--book` names, or the one around this folder.
fn book() -> Option<Book> {
    let words: Vec<OsString> = std::env::args_os().collect();
    let named = words.iter().enumerate().find_map(|(at, word)| {
        if word == "--book" {
            return words.get(at + 1).map(PathBuf::from);
        }
        word.to_str()?.strip_prefix("--book=").map(PathBuf::from)
    });
    let root = Book::find_root(named.as_deref().unwrap_or(Path::new("."))).ok()?;
    Book::open(&root).ok()
}

/// What is within a site, once that site's name is typed out; until then the sites, so that nobody is shown ten thousand visits.
fn step_by_step(book: &Book, typed: &str, within: impl Fn(&SiteFiles) -> Vec<String>) -> Vec<CompletionCandidate> {
    if let Some((site, _)) = typed.split_once('/') {
        return book.site(site).map_or_else(Vec::new, |site| plain(within(site).into_iter()));
    }
    let begun: Vec<&SiteFiles> = book.sites.iter().filter(|site| site.id.starts_with(typed)).collect();
    match begun.as_slice() {
        [only] => plain(std::iter::once(only.id.clone()).chain(within(only))),
        many => plain(many.iter().map(|site| format!("{}/", site.id))),
    }
}

/// The ids of the circuits that a site's visits name; of one visit only, where it is given.
fn circuits(book: &Book, site: &SiteFiles, job: Option<&str>) -> BTreeSet<String> {
    let (records, _) = book.read_site(site);
    let of = |job: Job| job.circuits.into_iter().filter_map(|circuit| circuit.id);
    records.jobs.into_iter().filter(|record| job.is_none_or(|job| record.id == job)).flat_map(|record| of(record.data)).collect()
}

/// The serials that visits name and that begin as `typed` does. They are looked for in the lines of the files: a whole decoding would
/// keep somebody waiting at each press of a key.
fn serials(book: &Book, typed: &str) -> Vec<CompletionCandidate> {
    let files: Vec<&SiteFiles> = book.sites.iter().collect();
    let mut found = BTreeSet::new();
    let of_site = |site: &SiteFiles| -> BTreeSet<String> {
        let texts = site.jobs.iter().filter_map(|path| book.text(path));
        texts.flat_map(|text| text.lines().filter_map(serial_in).filter(|serial| starts(serial, typed)).collect::<Vec<_>>()).collect()
    };
    crate::sheets::each_site(&files, of_site, |serials| {
        found.extend(serials);
        true
    });
    plain(found.into_iter())
}

/// The serial that a line of front matter gives.
fn serial_in(line: &str) -> Option<String> {
    let value = line.trim_start().trim_start_matches("- ").strip_prefix("serial:")?;
    let value = value.split(" #").next()?.trim().trim_matches(['"', '\'']);
    (!value.is_empty()).then(|| value.to_owned())
}

/// Whether a word begins so; capitals do not matter.
fn starts(word: &str, typed: &str) -> bool {
    word.get(..typed.len()).is_some_and(|start| start.eq_ignore_ascii_case(typed))
}

/// Candidates without help, in their order. What a shell could not show on one line is left out.
fn plain(words: impl Iterator<Item = String>) -> Vec<CompletionCandidate> {
    let fit = words.filter(|word| !word.chars().any(|c| c.is_control() || c.is_whitespace()));
    fit.enumerate().map(|(order, word)| CompletionCandidate::new(word).display_order(Some(order))).collect()
}

/// Those of the candidates that begin with what is typed.
fn beginning(candidates: Vec<CompletionCandidate>, typed: &OsStr) -> Vec<CompletionCandidate> {
    let typed = typed.to_string_lossy();
    candidates.into_iter().filter(|candidate| starts(&candidate.get_value().to_string_lossy(), &typed)).collect()
}

/// Files and folders that begin with what is typed, once something is; `private/` is nobody's argument.
fn paths(typed: &OsStr) -> Vec<CompletionCandidate> {
    if typed.is_empty() {
        return Vec::new();
    }
    let of_files = PathCompleter::any().complete(typed);
    of_files.into_iter().filter(|path| !Path::new(path.get_value()).iter().any(|part| part == "private")).collect()
}
