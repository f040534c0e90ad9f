//! `ampledger units`.

use std::path::PathBuf;

use super::{Exit, Failure, Screen, complete, parse_day, today};
use crate::book::Book;
use crate::record::{Date, LaidTo, ModelKind, OpenPen, SerialRange};
use crate::render::{self, UnitList, one_line};
use crate::rules::nearest;
use crate::units::{Asked, Fleet, OpenPenAsked, rates, recall};

/// What is fitted where: units through swaps and moves, how often they fail, and whom a recall touches.
///
/// Every unit that a visit fitted, saw or removed is followed over the visits of all sites: where it is now and since when, or when it was
/// removed and until when it is kept; its firmware as last recorded, its warranty, and the file and line to open. Visits planned or on hold
/// have not happened; one still being written up can put a unit in place, and takes none away. What is doubtful is said: no serial, a
/// placeholder, one serial in two places, an old unit that nobody removed.
///
/// --rates counts the faults that name a unit, or its circuit while it was fitted there, over the years units were in place, with the exact
/// (Garwood) 95% interval. Two models of a kind are compared by the exact conditional test with the smaller tail doubled, which agrees
/// with the interval of their ratio. Few faults are told as few.
///
/// --recall lays a notice of recalls/ over the book: certain (model, serial, dates and firmware fit), possible (something of that is not
/// recorded or does not compare), cleared and why. A unit counts as done by a finished visit that the notice's own `done` names.
///
/// Exit status: 0; with --recall 1 while a unit is certainly or possibly touched or a record could not be read; 2 when the command could
/// not do its work.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger units
  ampledger units --model 'alder-*' --rates
  ampledger units --serial AL-31000..AL-31499 --history
  ampledger units --open-pen in-unit
  ampledger units --recall 2025-04-07-alder-7-link")]
pub struct Args {
    /// The book, or any folder in it.
    #[arg(value_name = "BOOK", default_value = ".")]
    book: PathBuf,
    /// Only units of this kind of model: charge-point, ev-socket, rcd, consumer-unit, spd, other; several with commas.
    #[arg(long, value_name = "KIND", value_delimiter = ',', value_parser = parse_kind, add = complete::words(ModelKind::ALL))]
    kind: Vec<ModelKind>,
    /// Only this model; * stands for any letters; several with commas.
    #[arg(long, value_name = "MODEL", value_delimiter = ',', add = complete::model())]
    model: Vec<String>,
    /// Only this serial, or serials FROM..TO (either end may be left out); several with commas.
    #[arg(long, value_name = "SERIALS", value_delimiter = ',', add = complete::serial(), value_parser = parse_serials)]
    serial: Vec<SerialRange>,
    /// Only units whose last recorded firmware is this, or lies in FROM..TO.
    #[arg(long, value_name = "VERSIONS")]
    firmware: Option<String>,
    /// Only units whose last recorded firmware is older than this.
    #[arg(long, value_name = "VERSION")]
    firmware_below: Option<String>,
    /// Only units fitted on this day, or on days FROM..TO, YYYY-MM-DD.
    #[arg(long, value_name = "DAYS", value_parser = parse_days)]
    fitted: Option<Days>,
    /// Only units that are or were at this site; several with commas.
    #[arg(long, value_name = "SITE", value_delimiter = ',', add = complete::site())]
    site: Vec<String>,
    /// Only units on a circuit with this measure against an open PEN conductor: i to v, tt, separated, not-needed, or in-unit for one that
    /// the model itself has.
    #[arg(long, value_name = "MEASURE", value_delimiter = ',', value_parser = parse_measure)]
    open_pen: Vec<OpenPenAsked>,
    /// Only units in place now.
    #[arg(long)]
    in_place: bool,
    /// Only units about which something is doubtful: no serial, a placeholder, two places.
    #[arg(long)]
    doubtful: bool,
    /// List every entry of each unit.
    #[arg(long)]
    history: bool,
    /// Say how often each model fails.
    #[arg(long)]
    rates: bool,
    /// The faults that --rates counts, by whom they are laid to: us, manufacturer, other, unknown, or all.
    #[arg(long, value_name = "WHOM", value_delimiter = ',', default_value = "manufacturer,unknown", value_parser = parse_cause, requires = "rates")]
    causes: Vec<Causes>,
    /// A notice of recalls/, by its file name: whom does it touch?
    #[arg(long, value_name = "NOTICE", add = complete::recall(), conflicts_with_all = ["kind", "model", "serial", "firmware", "firmware_below", "fitted", "site", "open_pen", "in_place", "doubtful", "history", "rates"])]
    recall: Option<String>,
    /// The day as of which, YYYY-MM-DD [default: today].
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    on: Option<Date>,
    /// How the answer is written.
    #[arg(long, value_name = "FORM", default_value = "human")]
    format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// A few lines a unit.
    Human,
    /// One JSON object, version 1.
    Json,
}

/// Days from and to, both included.
#[derive(Debug, Clone, Copy)]
struct Days(Option<Date>, Option<Date>);

/// One to whom faults are laid, or everybody.
#[derive(Debug, Clone, Copy)]
enum Causes {
    One(LaidTo),
    All,
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let root = Book::find_root(&args.book)?;
    let book = Book::open(&root)?;
    for site in &args.site {
        if book.site(site).is_none() {
            return Err(unknown("site", site, book.sites.iter().map(|files| files.id.as_str())));
        }
    }
    let on = args.on.unwrap_or_else(today);
    let fleet = Fleet::read(&book, on);
    if let Some(name) = &args.recall {
        return run_recall(&book, &fleet, name, args.format, screen);
    }
    let causes: Vec<LaidTo> = match args.causes.iter().any(|cause| matches!(cause, Causes::All)) {
        true => LaidTo::ALL.to_vec(),
        false => args.causes.iter().filter_map(|cause| if let Causes::One(whom) = cause { Some(*whom) } else { None }).collect(),
    };
    let asked = Asked {
        kinds: args.kind,
        models: args.model,
        serials: args.serial,
        firmware_below: args.firmware_below,
        firmware: args.firmware.as_deref().map(ends),
        fitted: args.fitted.map(|Days(from, to)| (from, to)),
        sites: args.site,
        open_pen: args.open_pen,
        in_place: args.in_place,
        doubtful: args.doubtful,
    };
    let wanted = |life: &crate::units::Life| asked.lets_through(&book, life);
    let rates = args.rates.then(|| rates::rates(&fleet, &causes, wanted));
    let lives = fleet.lives.iter().enumerate().filter(|(_, life)| wanted(life)).map(|(at, _)| at).collect();
    let list = UnitList { fleet: &fleet, lives, history: args.history, rates };
    let text = match args.format {
        Format::Human => render::units(&list, screen.look().width),
        Format::Json => render::units_json(&list),
    };
    if args.format == Format::Human {
        screen.print_about(&root, &text)
    } else {
        screen.print(&text)
    }
    Ok(Exit::Clean)
}

fn run_recall(book: &Book, fleet: &Fleet, name: &str, format: Format, screen: &mut Screen) -> Result<Exit, Failure> {
    let id = name.rsplit('/').next().unwrap_or(name);
    let id = id.strip_suffix(".md").unwrap_or(id);
    let Some(notice) = book.recalls.get(id) else {
        return Err(unknown("notice in recalls/ named", id, book.recalls.keys().map(String::as_str)));
    };
    let outcome = recall::lay(fleet, notice);
    let text = match format {
        Format::Human => render::recall(fleet, &outcome, screen.look().width),
        Format::Json => render::recall_json(fleet, &outcome),
    };
    if format == Format::Human {
        screen.print_about(&book.root, &text)
    } else {
        screen.print(&text)
    }
    Ok(if outcome.is_closed() { Exit::Clean } else { Exit::Found })
}

fn unknown<'a>(what: &str, name: &str, known: impl Iterator<Item = &'a str>) -> Failure {
    let near = nearest(name, known).map_or(String::new(), |near| format!("Did you mean {near}?"));
    Failure::new(format!("there is no {what} {}", one_line(name)), near)
}

/// `FROM..TO`, with either end left out, or one value for both.
fn ends(text: &str) -> (Option<String>, Option<String>) {
    let end = |text: &str| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
    match text.split_once("..") {
        Some((from, to)) => (end(from), end(to)),
        None => (end(text), end(text)),
    }
}

fn parse_serials(text: &str) -> Result<SerialRange, String> {
    let (from, to) = ends(text);
    if from.is_none() && to.is_none() {
        return Err("a serial, or FROM..TO with at least one end".to_owned());
    }
    Ok(SerialRange { from, to })
}

fn parse_days(text: &str) -> Result<Days, String> {
    let (from, to) = ends(text);
    let day = |text: Option<String>| text.map(|text| parse_day(&text)).transpose();
    Ok(Days(day(from)?, day(to)?))
}

fn parse_kind(text: &str) -> Result<ModelKind, String> {
    word(text, ModelKind::ALL, |kind| kind.as_str()).map_err(|words| format!("a kind is one of {words}"))
}

fn parse_measure(text: &str) -> Result<OpenPenAsked, String> {
    if text == "in-unit" {
        return Ok(OpenPenAsked::InUnit);
    }
    let measure = word(text, OpenPen::ALL, |measure| measure.as_str());
    measure.map(OpenPenAsked::Is).map_err(|words| format!("a measure is one of {words}, in-unit"))
}

fn parse_cause(text: &str) -> Result<Causes, String> {
    if text == "all" {
        return Ok(Causes::All);
    }
    word(text, LaidTo::ALL, |whom| whom.as_str()).map(Causes::One).map_err(|words| format!("one of {words}, all"))
}

/// A word of a vocabulary, or all its words for a message.
fn word<T: Copy>(text: &str, all: &[T], spelt: impl Fn(T) -> &'static str) -> Result<T, String> {
    let words = || all.iter().map(|word| spelt(*word)).collect::<Vec<_>>().join(", ");
    all.iter().copied().find(|word| spelt(*word) == text).ok_or_else(words)
}
