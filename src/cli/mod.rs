//! The command line: arguments in, text and an exit status out. One file a command.

mod check;
mod complete;
mod completions;
mod design;
mod due;
mod explain;
mod export;
mod find;
mod history;
mod init;
mod lines;
mod lsp;
mod man;
mod new;
mod output;
mod pack;
mod paper;
mod part;
mod progress;
mod report;
mod schema;
mod seal;
mod units;

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use clap::{Parser, Subcommand};

use crate::book::{Book, SiteFiles, Unread};
use crate::record::Date;
use crate::render;
use crate::rules::nearest;

pub use output::Screen;

/// How the program ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Nothing at or above `--fail-on`.
    Clean,
    /// Something was found.
    Found,
    /// The command could not do its work.
    Failed,
}

impl From<Exit> for std::process::ExitCode {
    fn from(exit: Exit) -> Self {
        match exit {
            Exit::Clean => 0.into(),
            Exit::Found => 1.into(),
            Exit::Failed => 2.into(),
        }
    }
}

/// Why a command could not do its work, and what to do about it.
#[derive(Debug)]
pub struct Failure {
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl Failure {
    fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Failure { message: message.into(), help: help.into() }
    }
}

/// The file as it is named from where the command was given, so that an editor can be pointed at it.
fn from_here(root: &Path, path: &str) -> String {
    let whole = root.join(path);
    let here = std::env::current_dir().and_then(|here| here.canonicalize()).ok();
    let inner = here.and_then(|here| whole.strip_prefix(here).ok().map(Path::to_path_buf));
    inner.unwrap_or(whole).display().to_string()
}

/// A visit that the book has not, named by its file or as SITE/VISIT; where the place it would stand in could not be opened, that.
fn no_such_visit(book: &Book, named: &str) -> Failure {
    let named = named.strip_prefix("sites/").unwrap_or(named);
    let named = named.strip_suffix(".md").unwrap_or(named);
    let site = named.split_once('/').and_then(|(site, _)| book.site(site));
    if let Some(folder) = site.and_then(SiteFiles::closed) {
        return could_not_be_opened(folder);
    }
    let all = book.sites.iter().flat_map(|site| site.jobs.iter().filter_map(|job| job.strip_prefix("sites/")?.strip_suffix(".md")));
    let near = nearest(named, all).map_or(String::new(), |near| format!("Did you mean {near}? "));
    let help = format!("{near}A visit is named by its file, or as SITE/VISIT, as in oak-lane/2026-11-02-shed.");
    Failure::new(format!("this book has no visit {}", render::one_line(named)), help)
}

fn could_not_be_opened(unread: &Unread) -> Failure {
    let message = format!("{} could not be opened: {}", render::one_line(&unread.path), render::one_line(&unread.why));
    Failure::new(message, "Check its permissions, and that it is still there.")
}

/// A visit that the book has, and of which nothing can be read.
fn unreadable_visit(book: &Book, file: &str) -> Failure {
    match book.unread().iter().find(|unread| unread.path == file) {
        Some(unread) => could_not_be_opened(unread),
        None => Failure::new(
            format!("nothing of {} can be read", render::one_line(file)),
            format!("`ampledger check {}` says what is wrong with it.", from_here(&book.root, file)),
        ),
    }
}

impl From<crate::book::OpenError> for Failure {
    fn from(error: crate::book::OpenError) -> Self {
        let help = match &error {
            crate::book::OpenError::NoBook(_) => {
                "A book is a folder with a book.yaml in it. Name the folder, or begin one: a book.yaml with `format: 1`."
            }
            crate::book::OpenError::NoSuchPath(_) => "Check the spelling of the path.",
            crate::book::OpenError::Unreadable(..) => "Check the file's permissions.",
        };
        Failure::new(error.to_string(), help)
    }
}

/// Checks a book of electrical site records: missing tests, readings out of limit, overdue inspections, faults left open.
///
/// It reads records and says what it finds. It certifies nothing: competence, safe isolation, the current printed standard, local
/// rules and licensed practice come first.
#[derive(Debug, Parser)]
#[command(name = "ampledger", version, propagate_version = true, max_term_width = 100)]
struct Args {
    /// When to use colour.
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    color: output::Colour,
    /// When files and rules named in answers for people are links that the terminal can follow.
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    hyperlinks: output::Hyperlinks,
    #[command(subcommand)]
    command: Command,
}

/// The commands; what help says of each stands at its arguments.
#[derive(Debug, Subcommand)]
enum Command {
    Check(check::Args),
    Completions(completions::Args),
    Design(Box<design::Args>),
    Due(due::Args),
    Explain(explain::Args),
    Export(export::Args),
    Find(find::Args),
    History(history::Args),
    Init(init::Args),
    Lines(lines::Args),
    Lsp(lsp::Args),
    Man(man::Args),
    New(new::Args),
    Pack(pack::Args),
    Paper(paper::Args),
    Report(report::Args),
    Schema(schema::Args),
    Seal(seal::Args),
    Units(units::Args),
}

/// Runs the program with these arguments.
pub fn run(args: impl IntoIterator<Item = OsString>) -> Exit {
    let args: Vec<OsString> = args.into_iter().collect();
    let parsed = match complete::answer(&args) {
        Ok(true) => return Exit::Clean,
        Ok(false) => Args::try_parse_from(args),
        Err(error) => Err(error),
    };
    let args = match parsed {
        Ok(args) => args,
        Err(error) => {
            // Help and version are not failures, and clap prints them where they belong.
            let _ = error.print();
            return if error.use_stderr() { Exit::Failed } else { Exit::Clean };
        }
    };
    let mut screen = Screen::new(args.color, args.hyperlinks);
    let outcome = match args.command {
        Command::Check(args) => check::run(args, &mut screen),
        Command::Completions(args) => completions::run(args, &mut screen),
        Command::Design(args) => design::run(*args, &mut screen),
        Command::Due(args) => due::run(args, &mut screen),
        Command::Explain(args) => explain::run(args, &mut screen),
        Command::Export(args) => export::run(args, &mut screen),
        Command::Find(args) => find::run(args, &mut screen),
        Command::History(args) => history::run(args, &mut screen),
        Command::Init(args) => init::run(args, &mut screen),
        Command::Lines(args) => lines::run(args, &mut screen),
        Command::Lsp(args) => lsp::run(args, &mut screen),
        Command::Man(args) => man::run(args, &mut screen),
        Command::New(args) => new::run(args, &mut screen),
        Command::Pack(args) => pack::run(args, &mut screen),
        Command::Paper(args) => paper::run(args, &mut screen),
        Command::Report(args) => report::run(args, &mut screen),
        Command::Schema(args) => schema::run(args, &mut screen),
        Command::Seal(args) => seal::run(args, &mut screen),
        Command::Units(args) => units::run(args, &mut screen),
    };
    match outcome {
        Ok(exit) => screen.finish(exit),
        Err(failure) => {
            screen.fail(&failure);
            Exit::Failed
        }
    }
}

/// Today's date: the one place where the clock is read.
#[allow(clippy::disallowed_methods)]
fn today() -> Date {
    Date(jiff::ZonedDateTime::now().date())
}

/// Where this user's programs keep what they can make again. An empty AMPLEDGER_CACHE_DIR means nowhere.
fn cache_folder() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    match std::env::var_os("AMPLEDGER_CACHE_DIR") {
        Some(folder) if folder.is_empty() => None,
        Some(folder) => Some(PathBuf::from(folder)),
        None => Some(etcetera::choose_base_strategy().ok()?.cache_dir().join("ampledger")),
    }
}

/// A day given on the command line.
fn parse_day(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_| "a day is written YYYY-MM-DD, as in 2026-11-25".to_owned())
}

/// A word of a closed vocabulary given on the command line.
fn parse_word<T>(all: &'static [T], what: &str, text: &str) -> Result<T, String>
where
    T: std::fmt::Display + std::str::FromStr + 'static,
{
    text.parse().map_err(|_| {
        let words: Vec<String> = all.iter().map(ToString::to_string).collect();
        let near = crate::rules::nearest(text, words.iter().map(String::as_str));
        let near = near.map_or(String::new(), |near| format!("; did you mean {near}?"));
        format!("{what} is one of {}{near}", words.join(", "))
    })
}

/// The path of `path` relative to the book's root, with `/`.
fn relative_to(root: &Path, path: &Path) -> Option<String> {
    let real = path.canonicalize().ok()?;
    let inner = real.strip_prefix(root).ok()?;
    Some(inner.components().map(|part| part.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/"))
}
