//! `ampledger paper`.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use super::{Exit, Failure, Screen, complete, no_such_visit, parse_day, relative_to, today, unreadable_visit};
use crate::book::{self, Book};
use crate::browser::{self, BrowserError};
use crate::check::check;
use crate::judge::{Filter, judge};
use crate::paper::model::Paper;
use crate::paper::words::Language;
use crate::paper::{self, Client, Kind};
use crate::record::Date;
use crate::render::{one_line, wrapped};
use crate::rules::view::SiteView;
use crate::write::Pending;

/// Make the paper that a visit owes, as one HTML file or a PDF, from the record alone.
///
/// A certificate, a condition report, an advice note, a callout report, or one page in plain words for the customer. What the record
/// does not say is shown as a gap and listed at the end, and the paper is marked as a draft. --final takes the mark off, and refuses
/// while there is a gap, or a finding of danger or breach in the visit's record.
///
/// A paper certifies nothing: it is a reader's copy of the record. It has places to sign and signs nothing. It bears the SHA-256 of the
/// record on every page, so that copy and record can be held together.
///
/// Names and addresses stay private: they are left as lines to fill in by hand unless --private takes them from private/contacts.yaml
/// (keys name, address, and site_address where it differs). Keep such a paper out of every copy of the book that you share.
///
/// Exit status: 0 when the paper was made, 1 when --final was refused, 2 when the command could not do its work or a record could not be
/// opened.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger paper sites/oak-lane/2026-11-02-shed.md --out draft.html
  ampledger paper oak-lane/2026-11-02-shed --final --private --pdf certificate.pdf
  ampledger paper oak-lane/2026-11-02-shed --kind customer-sheet --pdf sheet.pdf")]
pub struct Args {
    /// The visit: its file, or SITE/VISIT.
    #[arg(add = complete::job())]
    job: String,
    /// Which paper [default: the first that the visit names under `papers`, or what its kind of work ends in].
    #[arg(long)]
    kind: Option<Kind>,
    /// The book, or any folder in it, for SITE/VISIT.
    #[arg(long, value_name = "PATH", default_value = ".")]
    book: PathBuf,
    /// The HTML file to write; without it and --pdf the page goes to standard output.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// The PDF to write, by a browser of the Chromium family that is on this machine.
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
    /// The browser for --pdf: a program's name or path [default: the first found of chromium, chromium-browser, google-chrome,
    /// google-chrome-stable and chrome].
    #[arg(long, value_name = "PROGRAM", env = "AMPLEDGER_BROWSER", hide_env_values = true)]
    browser: Option<PathBuf>,
    /// No draft mark; refused while anything is missing or wrong.
    #[arg(long = "final")]
    is_final: bool,
    /// Print the client's name and address from private/contacts.yaml.
    #[arg(long)]
    private: bool,
    /// Print the notes below the front matter as well.
    #[arg(long)]
    notes: bool,
    /// Replace files of the same names.
    #[arg(long)]
    replace: bool,
    /// The day that dates are judged from, YYYY-MM-DD [default: today].
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    on: Option<Date>,
}

impl From<BrowserError> for Failure {
    fn from(error: BrowserError) -> Self {
        let help = match &error {
            BrowserError::NotFound => "Install chromium, name a browser with --browser, or write --out FILE.html and print that.",
            BrowserError::NoSuchProgram(_) => "Check --browser and AMPLEDGER_BROWSER.",
            _ => "Try another --browser, or write --out FILE.html and print that.",
        };
        Failure::new(error.to_string(), help)
    }
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    // What is wanting on this machine is said before any work.
    let path = std::env::var_os("PATH");
    let browser = args.pdf.as_ref().map(|_| browser::find(args.browser.as_deref(), path.as_deref())).transpose()?;
    let (book, site, id) = open(&args)?;
    let on = args.on.unwrap_or_else(today);
    let files = book.site(&site).filter(|files| files.has_job(&id)).ok_or_else(|| no_such_visit(&book, &args.job))?;
    let file = format!("sites/{site}/{id}.md");
    let verdict = judge(&book, check(&book, on, &|| ()), on, &Filter { paths: vec![file.clone()], ..Filter::default() });
    let (records, _) = book.read_site(files);
    let view = SiteView::new(&book, &records, on);
    let job = view.job(&id).filter(|job| !job.record.lost).ok_or_else(|| unreadable_visit(&book, &file))?;
    let client = args.private.then(|| client(&book, &site));
    let kind = args.kind.unwrap_or_else(|| Kind::owed(job));
    let asked = paper::Asked { kind, language: Language::English, client: client.as_ref(), notes: args.notes, findings: &verdict.findings };
    let mut paper = paper::make(job, &asked)
        .map_err(|error| Failure::new(format!("a file of the book could not be read again: {error}"), "Check the folder's permissions."))?;
    if args.is_final {
        let refusal = refusal(&paper);
        if !refusal.is_empty() {
            screen.print(&wrapped_lines(&refusal, screen.look().width));
            return Ok(screen.but_for_unread(&book, &[site], Exit::Found));
        }
        paper.draft = false;
    }
    let html = paper::html::render(&paper);
    let mut said = String::new();
    // Both files are begun before either is written, so that one that may not be replaced stops both.
    let page = args.out.as_ref().map(|target| Pending::begin(target, args.replace)).transpose()?;
    let pdf = args.pdf.as_ref().map(|target| Pending::begin(target, args.replace)).transpose()?;
    if let (Some(target), Some(pdf), Some(browser)) = (&args.pdf, pdf, &browser) {
        put(pdf, &browser::print_to_pdf(browser, &html)?, target)?;
        said.push_str(&written(target, &paper, args.private));
    }
    if let (Some(target), Some(page)) = (&args.out, page) {
        put(page, html.as_bytes(), target)?;
        said.push_str(&written(target, &paper, args.private));
    }
    screen.print(if args.out.is_none() && args.pdf.is_none() { &html } else { &said });
    Ok(screen.but_for_unread(&book, &[site], Exit::Clean))
}

/// The book, the site and the visit that the argument names.
fn open(args: &Args) -> Result<(Book, String, String), Failure> {
    let as_path = Path::new(&args.job);
    let names = |file: &str| {
        let (site, id) = file.strip_prefix("sites/")?.split_once('/')?;
        Some((site.to_owned(), id.strip_suffix(".md")?.to_owned()))
    };
    if as_path.is_file() {
        let root = Book::find_root(as_path)?;
        let (site, id) = relative_to(&root, as_path).and_then(|file| names(&file)).ok_or_else(|| no_visit(&args.job))?;
        return Ok((Book::open(&root)?, site, id));
    }
    let book = Book::open(&Book::find_root(&args.book)?)?;
    let named = args.job.strip_prefix("sites/").unwrap_or(&args.job);
    let named = named.strip_suffix(".md").unwrap_or(named);
    let (site, id) = named.split_once('/').ok_or_else(|| no_visit(&args.job))?;
    if !book.has_job(named) {
        return Err(no_such_visit(&book, named));
    }
    Ok((book, site.to_owned(), id.to_owned()))
}

fn no_visit(text: &str) -> Failure {
    Failure::new(format!("{} is no visit of a book", one_line(text)), "A visit is named by its file, or as SITE/VISIT.")
}

fn client(book: &Book, site: &str) -> Client {
    let detail = |keys: &[&str]| book::private_detail(&book.files, site, keys).unwrap_or_default();
    Client {
        name: detail(&["client", "customer", "name"]),
        address: detail(&["client_address", "address"]),
        site_address: detail(&["site_address", "address"]),
    }
}

/// Why a paper cannot be final; empty when it can.
fn refusal(paper: &Paper) -> String {
    let gaps = paper.gaps();
    if gaps.is_empty() && paper.obstacles.is_empty() {
        return String::new();
    }
    let mut text = format!("not final: {}\n", paper.language.say(paper.title).to_lowercase());
    for obstacle in &paper.obstacles {
        let rule = if obstacle.rule.is_empty() { String::new() } else { format!("{}: ", obstacle.rule) };
        text.push_str(&format!("  {rule}{}\n", one_line(&obstacle.message)));
    }
    let mut place = "";
    for gap in &gaps {
        if gap.place != place {
            place = &gap.place;
            text.push_str(&format!("  not recorded, {}:\n", one_line(place)));
        }
        text.push_str(&format!("    {}\n", one_line(&gap.what)));
    }
    text
}

/// Each line broken to the screen, what goes on a little further in than where it began.
fn wrapped_lines(text: &str, width: usize) -> String {
    let lines = text.lines().map(|line| {
        let indent = line.len() - line.trim_start().len();
        format!("{:indent$}{}\n", "", wrapped(line, indent + 2, width).trim_start())
    });
    lines.collect()
}

fn put(mut file: Pending, bytes: &[u8], target: &Path) -> Result<(), Failure> {
    file.write_all(bytes).map_err(|error| {
        Failure::new(format!("{} could not be written: {error}", target.display()), "Check the folder and the space on the disk.")
    })?;
    Ok(file.finish()?)
}

/// What was written, in one line.
fn written(target: &Path, paper: &Paper, is_private: bool) -> String {
    let gaps = paper.gaps().len();
    let state = if !paper.draft {
        String::new()
    } else if gaps == 0 && paper.obstacles.is_empty() {
        ", draft, nothing missing".to_owned()
    } else {
        let obstacles = if paper.obstacles.is_empty() { String::new() } else { format!(", {} in the way", paper.obstacles.len()) };
        format!(", draft: {gaps} not recorded{obstacles}")
    };
    let private = if is_private { ", with private details" } else { "" };
    let title = paper.language.say(paper.title).to_lowercase();
    format!("{}: {title}{state}{private}\n", one_line(&target.display().to_string()))
}
