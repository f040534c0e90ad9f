//! `ampledger find`.

use std::path::PathBuf;

use super::{Exit, Failure, Screen, complete, parse_day};
use crate::book::Book;
use crate::find::{Asked, find};
use crate::query::Query;
use crate::record::{Date, JobKind, RecordKind};
use crate::render;
use crate::rules::nearest;
use crate::search::Words;

/// Find records by words, spelling slips forgiven, and by their fields.
///
/// A record is found when it holds every word; the name of its site counts too. `trip` finds `tripped`. One slip is forgiven in words
/// of four to seven letters, two in longer ones, none where there is a digit; what holds the words as they are comes first, then the
/// newest. Several words in one pair of quotes must follow one another. private/ is never read.
///
/// --where takes a JSONPath (RFC 9535) over the record: its keys as written, numbers as numbers, readings off the scale as text
/// (">999"), and beside them file, site, date and body. Nothing is inherited. A record is found when the path selects something, and
/// each value selected is shown at its line.
///
/// Exit status: 0 when something was found, 1 when nothing was, 2 when the command could not do its work or a record could not be opened,
/// which standard error names.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger find blue gate
  ampledger find trips when wet --from 2024-01-01
  ampledger find --where '$.joints[?@.access == \"covered\" || @.kind == \"maintenance-free\"]'
  ampledger find --where '$.supply.cutout[?@ == 60]' --kind site
  ampledger find --where '$.circuits[?@.rcd.type == \"AC\"].id' --format paths")]
pub struct Args {
    /// The words.
    #[arg(required_unless_present_any = ["where_", "site", "kind", "from", "to"])]
    words: Vec<String>,
    /// The book, or any folder in it.
    #[arg(long, value_name = "PATH", default_value = ".")]
    book: PathBuf,
    /// A JSONPath that must select something in the record; may be given more than once.
    #[arg(long = "where", id = "where_", value_name = "JSONPATH", allow_hyphen_values = true)]
    filters: Vec<String>,
    /// Only this site; may be given more than once.
    #[arg(long, add = complete::site())]
    site: Vec<String>,
    /// Only this kind of record or of visit: site, job, instrument, model, recall, install, callout...; may be given more than once.
    #[arg(long, value_parser = parse_kind)]
    kind: Vec<String>,
    /// Only visits and recalls of this day or later, YYYY-MM-DD.
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    from: Option<Date>,
    /// Only visits and recalls of this day or earlier, YYYY-MM-DD.
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    to: Option<Date>,
    /// How the answer is written.
    #[arg(long, value_name = "FORM", default_value = "human")]
    format: Format,
    /// At most so many records [default: 20 for people, all for programs].
    #[arg(long, value_name = "COUNT")]
    limit: Option<usize>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// Two lines a record: what it is, then file:line and what stands there.
    Human,
    /// One JSON object, version 1.
    Json,
    /// The files, one a line.
    Paths,
}

/// Hits shown to people unless they ask for more.
const LIMIT_FOR_PEOPLE: usize = 20;

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let mut filters = Vec::with_capacity(args.filters.len());
    for text in &args.filters {
        let query = Query::new(text).map_err(|why| {
            let shown: String = text.chars().take(80).collect();
            Failure::new(
                format!("--where {}: {why}", render::one_line(&shown)),
                "RFC 9535 JSONPath, as in $.circuits[?@.use == 'ev'].readings.zs_ohm",
            )
        })?;
        filters.push(query);
    }
    let root = Book::find_root(&args.book)?;
    let book = Book::open(&root)?;
    for site in &args.site {
        if book.site(site).is_none() {
            let near = nearest(site, book.sites.iter().map(|files| files.id.as_str()));
            let near = near.map_or(String::new(), |near| format!("Did you mean {near}?"));
            return Err(Failure::new(format!("there is no site {}", render::one_line(site)), near));
        }
    }
    let words = Words::new(&args.words);
    let typed: Vec<String> = words.iter().map(|word| word.typed.clone()).collect();
    let asked = Asked { words, filters, sites: args.site, kinds: args.kind, from: args.from, to: args.to };
    let found = find(&book, &asked);
    let all = args.limit.unwrap_or(usize::MAX);
    let text = match args.format {
        Format::Human => render::hits(&found, &typed, args.limit.unwrap_or(LIMIT_FOR_PEOPLE), screen.look().width),
        Format::Json => render::hits_json(&found, all),
        Format::Paths => render::hit_paths(&found, all),
    };
    if args.format == Format::Human {
        screen.print_about(&root, &text)
    } else {
        screen.print(&text)
    }
    Ok(screen.but_for_unread(&book, &[], if found.hits.is_empty() { Exit::Found } else { Exit::Clean }))
}

fn parse_kind(text: &str) -> Result<String, String> {
    let kinds: Vec<&str> = RecordKind::ALL.iter().map(|kind| kind.as_str()).chain(JobKind::ALL.iter().map(|kind| kind.as_str())).collect();
    if kinds.contains(&text) { Ok(text.to_owned()) } else { Err(format!("a kind is one of {}", kinds.join(", "))) }
}
