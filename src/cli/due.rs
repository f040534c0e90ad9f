//! `ampledger due`.

use std::fmt::Write as _;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use super::{Exit, Failure, Screen, complete, parse_day, relative_to, today};
use crate::book::Book;
use crate::due::{Kind, Selection, Wanted, due};
use crate::record::Date;
use crate::render::{self, one_line};
use crate::rules::nearest;
use crate::write::Pending;

/// Everything owed, dangers first, then by date: returns, claims, notices, inspections, calibrations, promises.
///
/// What was told not to be used, was isolated, or carries a C1 or C2 stands first until a record closes it, whatever --within says. What is
/// over stays listed too, and so does what has no day. A thing closed by a later visit (continues, repeats, fixed_by, cleared_by, done,
/// answered) is not owed. An answer to the rule's finding quiets an item as it quiets the finding; a danger it does not.
///
/// It tells what the records leave open. What nobody wrote down is not in it, and nothing here says that a thing is in order.
///
/// --ical writes what has a day as a calendar, replaces its own older file and no other. It goes to telephones: of a site whose
/// privacy.share is not full it holds the kind, the day and the site's id; of the others no text with a person, number, access code or
/// serial in it.
///
/// Exit status: 0 when nothing of what is listed is overdue, 1 when something is overdue or dangerous, or a record that may say so could
/// not be read, 2 when the command could not do its work.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger due                                 the next 90 days, and all that is over
  ampledger due moss-farm                       one site
  ampledger due --kind danger                   told not to use, and never gone back to
  ampledger due --kind watch                    watch and wait: whose date has passed
  ampledger due --kind claim                    claims without a reply, with their references
  ampledger due --kind warranty --within 60d    warranties that end, with a fault on record
  ampledger due --kind notice                   who waits on the network operator, and how long
  ampledger due --kind inspection --within 3m   inspections and landlords' reports of the next quarter
  ampledger due --kind observation              C1, C2 and FI that nothing closes
  ampledger due --kind paper                    jobs without a certificate
  ampledger due --within 1y --ical owed.ics     a calendar of the year")]
pub struct Args {
    /// The book, a folder or record in it, or a site's id.
    #[arg(default_value = ".", value_name = "BOOK|SITE", add = complete::site_or_path())]
    path: PathBuf,
    /// How far to look ahead: days, weeks, months or years, as in 14d, 6w, 3m, 1y.
    #[arg(long, value_name = "SPAN", default_value = "90d", value_parser = parse_span)]
    within: Span,
    /// Only this kind; may be given more than once.
    #[arg(long, value_name = "KIND")]
    kind: Vec<Kind>,
    /// The day that dates are judged from, YYYY-MM-DD [default: today].
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    on: Option<Date>,
    /// Write the dated items to this calendar file too.
    #[arg(long, value_name = "FILE")]
    ical: Option<PathBuf>,
    /// How the list is written.
    #[arg(long, value_name = "FORM", default_value = "human")]
    format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// Grouped, a few short lines an item.
    Human,
    /// One JSON object, version 1.
    Json,
}

/// A time to look ahead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Span {
    Days(i32),
    Months(i32),
}

impl Span {
    /// The last day of it: the same day of a later month, or the last of a shorter one.
    fn end(self, from: Date) -> Date {
        match self {
            Span::Days(days) => from.plus_days(days),
            Span::Months(months) => from.plus_months(months),
        }
    }
}

fn parse_span(text: &str) -> Result<Span, String> {
    let wrong = || "a span is a number with d, w, m or y, as in 14d, 6w, 3m, 1y".to_owned();
    let unit = text.chars().next_back().filter(char::is_ascii_lowercase).ok_or_else(wrong)?;
    let digits = &text[..text.len() - 1];
    let plain = (1..=4).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
    let count: i32 = digits.parse().ok().filter(|_| plain).ok_or_else(wrong)?;
    match unit {
        'd' => Ok(Span::Days(count)),
        'w' => Ok(Span::Days(count * 7)),
        'm' => Ok(Span::Months(count)),
        'y' => Ok(Span::Months(count * 12)),
        _ => Err(wrong()),
    }
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let (book, paths) = open(&args.path)?;
    let on = args.on.unwrap_or_else(today);
    let wanted = Wanted { until: Some(args.within.end(on)), kinds: args.kind, paths };
    let selection = due(&book, on).select(&wanted, on);
    let calendar = args.ical.as_deref().map(|file| write_calendar(file, &selection)).transpose()?;
    let text = match args.format {
        Format::Json => render::due_json(&selection, calendar),
        Format::Human => {
            let mut text = render::due(&selection, screen.look());
            if let (Some(file), Some((events, undated))) = (&args.ical, calendar) {
                let events = if events == 1 { "1 event".to_owned() } else { format!("{events} events") };
                let _ = writeln!(text, "{}: {events}; {undated} without a day left out", one_line(&file.display().to_string()));
            }
            text
        }
    };
    if args.format == Format::Human {
        screen.print_about(&book.root, &text)
    } else {
        screen.print(&text)
    }
    Ok(if selection.is_pressing() { Exit::Found } else { Exit::Clean })
}

/// The book, and the part of it that was named: by a path, or by a site's id where no path of that name is there.
fn open(path: &Path) -> Result<(Book, Vec<String>), Failure> {
    let id = path.to_str().filter(|id| !id.contains(['/', '\\', '.']) && !path.exists());
    let Some(id) = id else {
        let root = Book::find_root(path)?;
        let book = Book::open(&root)?;
        let part = relative_to(&root, path).filter(|path| !path.is_empty());
        return Ok((book, part.into_iter().collect()));
    };
    let nowhere =
        |_| Failure::new(format!("there is no {}, and this folder is in no book", one_line(id)), "Check the spelling of the path.");
    let root = Book::find_root(Path::new(".")).map_err(nowhere)?;
    let book = Book::open(&root)?;
    if book.site(id).is_none() {
        let near = nearest(id, book.sites.iter().map(|files| files.id.as_str()));
        let near = near.map_or("Name the book's folder, or a site in it.".to_owned(), |near| format!("Did you mean {near}?"));
        return Err(Failure::new(format!("there is no site {}, and no such path", one_line(id)), near));
    }
    Ok((book, vec![format!("sites/{id}")]))
}

/// Writes the calendar whole; returns how many events it holds and how many items have no day.
fn write_calendar(file: &Path, selection: &Selection) -> Result<(usize, usize), Failure> {
    let replace = is_ours(file)?;
    let refused = |error: std::io::Error| {
        Failure::new(format!("{} could not be written: {error}", file.display()), "Check the folder and its permissions.")
    };
    let mut pending = Pending::begin(file, replace)?;
    pending.write_all(render::ical(selection).as_bytes()).map_err(refused)?;
    pending.finish()?;
    let events = render::dated(selection).count();
    Ok((events, selection.items.len() - events))
}

/// More bytes than stand before the product in a calendar of this program's.
const HEAD_BYTES: u64 = 256;

/// Whether a calendar of this program's stands there; a failure where anything else does.
fn is_ours(file: &Path) -> Result<bool, Failure> {
    let Ok(there) = std::fs::symlink_metadata(file) else { return Ok(false) };
    let mut head = Vec::new();
    let read = there.is_file() && std::fs::File::open(file).is_ok_and(|open| open.take(HEAD_BYTES).read_to_end(&mut head).is_ok());
    let text = String::from_utf8_lossy(&head);
    let mut lines = text.lines();
    if read && lines.next() == Some("BEGIN:VCALENDAR") && lines.any(|line| line == render::PRODUCT) {
        return Ok(true);
    }
    let message =
        format!("{} is there already and is no calendar of this program's; it was left as it is", one_line(&file.display().to_string()));
    Err(Failure::new(message, "Name another file: a calendar written by `ampledger due` is replaced, and nothing else."))
}
