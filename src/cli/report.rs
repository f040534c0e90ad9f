//! `ampledger report`.

use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::{Exit, Failure, Screen, parse_day, progress, today};
use crate::book::Book;
use crate::record::Date;
use crate::render::{counted, one_line};
use crate::report::{Folder, FolderError, Report, SiteLine};

/// Write the whole book as linked pages, to read in any browser without a network or a server.
///
/// Begin at index.html: what is dangerous and owed, the counts, every site, and what was found by rule. Each site has a page with its
/// supply, boards and circuits as last recorded, its readings over the years as tables and plots, its equipment and its story;
/// units.html has the failures of each model and whom notices touch, instruments.html the calibrations and what each instrument read,
/// findings.html every finding with its explanation.
///
/// Run it again after a change: a page that is still the same is not written again, and the page of a site that has gone is removed.
/// Nothing else in the folder is touched; a folder with other files in it is refused.
///
/// The pages are for your own eyes: they hold what the records hold. Of private/contacts.yaml nothing is in them, nor the supply number,
/// unless --private asks for it. Photographs are copied without anything but the picture, and not at all where the site asks for none.
///
/// Exit status: 0 when the pages are written, 2 when the command could not do its work or a record could not be opened. What the pages say
/// of the book is for `check`.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger report --out ~/register
  ampledger report my-book --out register --on 2026-11-25
  ampledger report --out ~/register-with-names --private")]
pub struct Args {
    /// The book, or any folder in it.
    #[arg(value_name = "BOOK", default_value = ".")]
    book: PathBuf,
    /// The folder to write into: an empty or a new one, or one with an older report.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// The day that dates are judged from, YYYY-MM-DD [default: today].
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    on: Option<Date>,
    /// Show what private/contacts.yaml says of each site, and supply numbers.
    #[arg(long)]
    private: bool,
}

impl From<FolderError> for Failure {
    fn from(error: FolderError) -> Self {
        let help = match &error {
            FolderError::Foreign(_) => "Name a new or an empty folder; nothing was written.",
            FolderError::InTheWay(_) => "Move it away, or name another folder; nothing was written.",
            FolderError::BrokenList(_) => "Remove the report's folder by hand, or name another.",
            FolderError::Refused(..) => "Check the folder and its permissions.",
        };
        Failure::new(one_line(&error.to_string()), help)
    }
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let root = Book::find_root(&args.book)?;
    refuse_among_records(&root, &args.out)?;
    let book = Book::open(&root)?;
    let bar = progress::bar("reading", book.sites.len(), screen);
    let report = Report::gather(&book, args.on.unwrap_or_else(today), args.private, &|| bar.inc(1));
    bar.finish_and_clear();
    let folder = Folder::begin(&args.out, &report.paths())?;
    let bar = progress::bar("writing", book.sites.len(), screen);
    let write = |files| {
        let (pages, line) = report.site(files);
        bar.inc(1);
        pages.iter().try_for_each(|page| folder.put(page)).map(|()| line)
    };
    let sites: Vec<SiteLine> = book.sites.par_iter().map(write).collect::<Result<_, FolderError>>()?;
    bar.finish_and_clear();
    report.rest(&sites).iter().try_for_each(|page| folder.put(page))?;
    let done = folder.finish()?;
    let mut parts = vec![counted(done.written, "file written", "files written")];
    for (count, words) in [(done.unchanged, "unchanged"), (done.removed, "removed"), (done.left, "changed by somebody and left")] {
        if count > 0 {
            parts.push(format!("{count} {words}"));
        }
    }
    screen.print(&format!("{}: {}\n", one_line(&args.out.join("index.html").display().to_string()), parts.join(", ")));
    Ok(screen.but_for_unread(&book, &[], Exit::Clean))
}

/// Folders of a book in which every file is a record.
const RECORDS: [&str; 5] = ["sites", "instruments", "models", "recalls", "private"];

/// A report among the records would be read as one of them.
fn refuse_among_records(root: &Path, out: &Path) -> Result<(), Failure> {
    let there = out.ancestors().find_map(|above| {
        above.canonicalize().ok().or_else(|| above.as_os_str().is_empty().then(|| Path::new(".").canonicalize().ok()).flatten())
    });
    let Some(there) = there else { return Ok(()) };
    let is_among = RECORDS.iter().any(|folder| there.starts_with(root.join(folder)));
    if is_among {
        Err(Failure::new(format!("{} is among the records of the book", one_line(&out.display().to_string())), "Name a folder outside it."))
    } else {
        Ok(())
    }
}
