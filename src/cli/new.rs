//! `ampledger new`.

use std::path::PathBuf;

use super::{Exit, Failure, Screen, complete, from_here, parse_day, parse_word, today};
use crate::book::{Book, SiteFiles};
use crate::new::{self, Draft};
use crate::record::{Date, Instrument, Job, JobKind, Model, Recall, Site};
use crate::rules::nearest;
use crate::rules::view::SiteView;
use crate::write::{self, WriteError};

/// Begin a record: a file ready to fill, with what the book knows already.
///
/// Earlier readings stand in it as comments, each with the day it comes from. Nothing is made up and no file is ever overwritten.
/// Prints the path of the file.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger new site oak-lane
  ampledger new job oak-lane --kind install --slug shed
  ampledger new job oak-lane --kind callout --on 2026-11-02
  ampledger new instrument mft-2
  ampledger new recall tern-7-cover --on 2026-10-01")]
pub struct Args {
    /// The book, or any folder in it.
    #[arg(long, global = true, value_name = "PATH", default_value = ".")]
    book: PathBuf,
    #[command(subcommand)]
    kind: Kind,
}

#[derive(Debug, clap::Subcommand)]
enum Kind {
    /// What stays at a place: sites/<SITE>/site.md.
    Site {
        /// A short name for it, such as oak-lane; no personal details.
        site: String,
    },
    /// One visit: sites/<SITE>/<DAY>-<SLUG>.md.
    Job {
        /// The site.
        #[arg(add = complete::site())]
        site: String,
        /// What the visit is for: survey, install, alter, inspect, callout or swap.
        #[arg(long, value_parser = parse_kind, add = complete::words(JobKind::ALL))]
        kind: JobKind,
        /// A short name for the visit [default: its kind].
        #[arg(long)]
        slug: Option<String>,
        /// The day of the visit, YYYY-MM-DD [default: today].
        #[arg(long, value_name = "DAY", value_parser = parse_day)]
        on: Option<Date>,
    },
    /// A test instrument or tool: instruments/<ID>.md.
    Instrument {
        /// A short name for it, such as mft-2.
        id: String,
    },
    /// A make and model of equipment: models/<ID>.md.
    Model {
        /// A short name for it, such as tern-7.
        id: String,
    },
    /// A safety notice: recalls/<DAY>-<SLUG>.md.
    Recall {
        /// A short name for it, such as tern-7-cover.
        slug: String,
        /// The day the notice bears, YYYY-MM-DD; without it the file is named after today.
        #[arg(long, value_name = "DAY", value_parser = parse_day)]
        on: Option<Date>,
    },
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let root = Book::find_root(&args.book)?;
    let book = Book::open(&root)?;
    let (draft, written) = match args.kind {
        Kind::Site { site } => {
            let draft = new::site(&book, wanted_id(&site)?, new::SiteAnswers::default());
            let written = write::new_record::<Site>(&root, &draft.path, &draft.text);
            (draft, written)
        }
        Kind::Job { site, kind, slug, on } => {
            let slug = slug.as_deref().map(wanted_id).transpose()?.unwrap_or(kind.as_str());
            let day = on.unwrap_or_else(today);
            let (records, _) = book.read_site(site_named(&book, &site)?);
            let draft = new::job(&SiteView::new(&book, &records, day), kind, day, slug);
            let written = write::new_record::<Job>(&root, &draft.path, &draft.text);
            (draft, written)
        }
        Kind::Instrument { id } => {
            let draft = new::instrument(wanted_id(&id)?);
            let written = write::new_record::<Instrument>(&root, &draft.path, &draft.text);
            (draft, written)
        }
        Kind::Model { id } => {
            let draft = new::model(wanted_id(&id)?);
            let written = write::new_record::<Model>(&root, &draft.path, &draft.text);
            (draft, written)
        }
        Kind::Recall { slug, on } => {
            let draft = new::recall(&book, wanted_id(&slug)?, on, today());
            let written = write::new_record::<Recall>(&root, &draft.path, &draft.text);
            (draft, written)
        }
    };
    written.map_err(|error| failure(&error, &draft))?;
    screen.print(&format!("{}\n", from_here(&root, &draft.path)));
    // What was read to begin the record with; the record stands all the same.
    screen.but_for_unread(&book, &[], Exit::Clean);
    Ok(Exit::Clean)
}

fn failure(error: &WriteError, draft: &Draft) -> Failure {
    let help = match error {
        WriteError::Exists(_) if draft.text.contains("\nrecord: job\n") => "Open that file, or give this visit another --slug.",
        WriteError::Exists(_) => "Open that file, or choose another name.",
        WriteError::LeadsOut(_) => "A book's records stand in the book itself. Put a folder in place of the link.",
        WriteError::ReadsOtherwise(_) => "This is a fault of the program; please report it with the command.",
        WriteError::ChangedMeanwhile(_) => "Give the command again.",
        WriteError::Refused(..) => "Check the folder's permissions and the space on the disk.",
    };
    Failure::new(error.to_string(), help)
}

pub(super) fn wanted_id(text: &str) -> Result<&str, Failure> {
    if new::is_id(text) {
        return Ok(text);
    }
    let near = new::id_of(text).map_or(String::new(), |near| format!(" Did you mean {near}?"));
    let help = format!("Small letters, digits and single hyphens, as in oak-lane.{near}");
    Err(Failure::new(format!("`{}` cannot be a file's name in a book", crate::render::visible(text)), help))
}

fn site_named<'b>(book: &'b Book, id: &str) -> Result<&'b SiteFiles, Failure> {
    book.site(id).ok_or_else(|| {
        let near = nearest(id, book.sites.iter().map(|site| site.id.as_str()));
        let near = near.map_or(String::new(), |near| format!("Did you mean {near}? "));
        let id = crate::render::visible(id);
        Failure::new(format!("this book has no site {id}"), format!("{near}`ampledger new site` begins a site."))
    })
}

fn parse_kind(text: &str) -> Result<JobKind, String> {
    parse_word(JobKind::ALL, "a visit", text)
}
