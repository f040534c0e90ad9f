//! `ampledger history`.

use std::io::Write;
use std::path::{Path, PathBuf};

use super::{Exit, Failure, Screen, complete, parse_day, today};
use crate::book::Book;
use crate::history;
use crate::plot;
use crate::record::Date;
use crate::render::{self, one_line};
use crate::rules::nearest;
use crate::rules::view::SiteView;
use crate::system::why;
use crate::write::{Pending, WriteError};

/// Tell what happened at a site, on a circuit or to a unit, over all visits.
///
/// A site: visit by visit in order of their days, what was found, read, fitted, promised and given; each fault told whole where it was
/// first recorded, through every visit that took it up again, to what was read after it was fixed. Of the readings, those that changed
/// by more than instruments scatter or are near a limit; --all shows every one.
///
/// A circuit, as SITE/BOARD/WAY: first each reading as it was last taken, with the instruments of that visit that take such a reading;
/// then the readings of all visits side by side, the newest first, with the limit of their day; what is known of the circuit; and where
/// figures are going: the slope of Theil and Sen with its 95 % interval, and the exact p of Kendall's rank test. With fewer than five
/// figures no such test can tell anything, and none is given. Off the scale (">999"), calculated, and read with the unit connected are
/// shown and left out of the trend. A trend is a question, not a verdict: it says nothing of whether the circuit is safe.
///
/// A serial, however its dashes and capitals are written: where the unit was fitted, seen and removed, its faults and claims, and what
/// was read on its circuit.
///
/// Exit status: 0, or 2 when there is no such site, circuit or serial, or a record could not be opened.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger history weir-house
  ampledger history weir-house --changed 20%
  ampledger history weir-house/main/6 --plot
  ampledger history weir-house/main/6 --svg readings.svg
  ampledger history al-31240")]
pub struct Args {
    /// The site, the circuit as SITE/BOARD/WAY, or the serial of a unit.
    #[arg(value_name = "SITE[/CIRCUIT]|SERIAL", add = complete::site_circuit_or_serial())]
    of: String,
    /// The book, or any folder in it.
    #[arg(long, value_name = "PATH", default_value = ".")]
    book: PathBuf,
    /// Only what happened on this day or later, YYYY-MM-DD.
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    since: Option<Date>,
    /// Of a site: every reading and every joint.
    #[arg(long)]
    all: bool,
    /// Of a site: only the readings that changed by more than so much between the last two visits that took them, as in 20%.
    #[arg(long, value_name = "PERCENT", value_parser = parse_percent, conflicts_with_all = ["all", "since"])]
    changed: Option<f64>,
    /// Of a circuit: plot the readings that have three figures or more [default: on a terminal of 60 columns or more].
    #[arg(long)]
    plot: bool,
    /// Of a circuit: draw the readings into this file as SVG.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// Replace that file.
    #[arg(long, requires = "svg")]
    replace: bool,
    /// How the answer is written.
    #[arg(long, value_name = "FORM", default_value = "human")]
    format: Format,
    /// The day from which the age of open faults is counted, YYYY-MM-DD [default: today].
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    on: Option<Date>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// Text.
    Human,
    /// Of a circuit: the table and the series as one JSON object, version 1.
    Json,
}

/// Columns from which a terminal has room for a plot that nobody asked for.
const ROOM_FOR_PLOTS: usize = 60;

/// What was asked for.
enum Asked<'a> {
    Site(&'a str),
    Circuit(&'a str, &'a str),
    Other(&'a str),
}

impl<'a> Asked<'a> {
    /// The words of the command line; the path of a site's folder does too.
    fn of(text: &'a str, book: &'a Book) -> Asked<'a> {
        let text = text.trim().trim_end_matches('/');
        let text = text.strip_prefix("sites/").unwrap_or(text);
        match text.split_once('/') {
            Some((site, circuit)) if book.site(site).is_some() => Asked::Circuit(site, circuit),
            None if book.site(text).is_some() => Asked::Site(text),
            _ => Asked::Other(text),
        }
    }
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let root = Book::find_root(&args.book)?;
    let book = Book::open(&root)?;
    let on = args.on.unwrap_or_else(today);
    let asked = Asked::of(&args.of, &book);
    refuse_what_does_not_fit(&args, &asked)?;
    let width = screen.look().width;
    let text = match asked {
        Asked::Site(id) => of_site(&args, &book, id, on, width),
        Asked::Circuit(site, id) => of_circuit(&args, &book, (site, id), on, screen),
        Asked::Other(serial) => match history::serial(&book, serial, args.since, on) {
            Some(story) => Ok(render::serial_story(&story, width)),
            None => Err(nothing_of(serial, &book)),
        },
    };
    // What is not there may stand where nothing could be read.
    if text.is_err() {
        screen.but_for_unread(&book, &[], Exit::Failed);
    }
    let text = text?;
    if args.format == Format::Human {
        screen.print_about(&root, &text)
    } else {
        screen.print(&text)
    }
    Ok(screen.but_for_unread(&book, &[], Exit::Clean))
}

fn refuse_what_does_not_fit(args: &Args, asked: &Asked<'_>) -> Result<(), Failure> {
    let of_circuits = [(args.plot, "--plot"), (args.svg.is_some(), "--svg"), (args.format == Format::Json, "--format json")];
    let of_sites = [(args.all, "--all"), (args.changed.is_some(), "--changed")];
    let (flags, of, help) = match asked {
        Asked::Circuit(..) => (&of_sites[..], "site", "Leave out the circuit."),
        Asked::Site(_) => (&of_circuits[..], "circuit", "Name one, as in oak-lane/main/4."),
        // What is not there is told first.
        Asked::Other(_) => return Ok(()),
    };
    match flags.iter().find(|(given, _)| *given) {
        Some((_, flag)) => Err(Failure::new(format!("{flag} is for a {of}"), help)),
        None => Ok(()),
    }
}

fn of_site(args: &Args, book: &Book, id: &str, on: Date, width: usize) -> Result<String, Failure> {
    let files = book.site(id).ok_or_else(|| nothing_of(id, book))?;
    let (records, _) = book.read_site(files);
    let view = SiteView::new(book, &records, on);
    Ok(match args.changed {
        Some(percent) => render::changed(id, percent, &history::changes(&view, percent), width),
        None => render::site_story(&history::site(&view, args.since, args.all), width),
    })
}

fn of_circuit(args: &Args, book: &Book, (site, id): (&str, &str), on: Date, screen: &Screen) -> Result<String, Failure> {
    let files = book.site(site).ok_or_else(|| nothing_of(site, book))?;
    let (records, _) = book.read_site(files);
    let view = SiteView::new(book, &records, on);
    let story = history::circuit(&view, id, args.since).ok_or_else(|| {
        let ids = history::circuit_ids(&view);
        let near = nearest(id, ids.iter().copied()).map(|near| format!("nearest: {near}. "));
        let known = if ids.is_empty() { "It has none.".to_owned() } else { format!("It has {}.", ids.join(", ")) };
        let help = one_line(&format!("{}{known}", near.unwrap_or_default()));
        Failure::new(format!("{} has no circuit {}", one_line(site), one_line(id)), help)
    })?;
    if let Some(path) = &args.svg {
        let figure = history::figure(&story, 1);
        if figure.panels.is_empty() {
            return Err(Failure::new(format!("{} has no figure to draw", one_line(&args.of)), "Only readings on the scale are drawn."));
        }
        write_svg(path, &figure, args.replace)?;
    }
    let look = screen.look();
    let plots = args.plot || screen.is_terminal() && look.width >= ROOM_FOR_PLOTS;
    Ok(match args.format {
        Format::Human => render::circuit_story(&story, look.width, plots),
        Format::Json => render::circuit_json(&story),
    })
}

fn write_svg(path: &Path, figure: &plot::Figure, replace: bool) -> Result<(), Failure> {
    let text = plot::svg(figure).map_err(|why| Failure::new(format!("the picture could not be drawn: {why}"), ""))?;
    let mut file = Pending::begin(path, replace)?;
    file.write_all(text.as_bytes()).map_err(|error| WriteError::Refused(path.display().to_string(), why(&error)))?;
    Ok(file.finish()?)
}

/// Neither a site nor a serial: which one may have been meant.
fn nothing_of(asked: &str, book: &Book) -> Failure {
    let site = asked.split('/').next().unwrap_or_default();
    let by_slip = nearest(site, book.sites.iter().map(|files| files.id.as_str()));
    let part = site.to_lowercase();
    // Half a name is no slip of the fingers: `weir` for weir-house.
    let holds = || book.sites.iter().map(|files| files.id.as_str()).filter(|id| part.len() > 2 && id.contains(&part));
    let mut near: Vec<&str> = holds().chain(by_slip).collect();
    near.sort_unstable();
    near.dedup();
    let help = if near.is_empty() {
        "`ampledger find` looks for words in all records.".to_owned()
    } else {
        format!("nearest: {}", one_line(&near.join(", ")))
    };
    Failure::new(format!("no such site, and no unit with that serial: {}", one_line(asked)), help)
}

fn parse_percent(text: &str) -> Result<f64, String> {
    let figure = text.trim().trim_end_matches('%').trim_end().parse::<f64>();
    figure.ok().filter(|percent| percent.is_finite() && *percent >= 0.0).ok_or_else(|| "a share is written as in 20%".to_owned())
}
