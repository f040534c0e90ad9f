//! `ampledger pack`.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::PathBuf;

use super::{Exit, Failure, Screen, complete, parse_day, today};
use crate::book::Book;
use crate::pack::{self, Audience, PackError, Packed, Wanted, Withheld};
use crate::record::Date;
use crate::render::visible;
use crate::rules::nearest;

/// Hand records over: a folder of copies, with private details left out as each site's `privacy` says.
///
/// What is dangerous or open stands first on its cover page, README.md, whatever else is left out; then what is not known, what was
/// withheld and why. The folder is a book of its own, so that its reader can check it, and SHA256SUMS shows later what was handed over.
///
/// `share: none` keeps a site back, except from its own customer; on the cover page a danger there is still told of, without the place.
/// `redacted`, and no `privacy` at all, leaves out names, telephone numbers, e-mail addresses, addresses and supply numbers. `full` leaves
/// them in. Nothing under private/, no access code, no place of a key and no card number goes into any copy. `photographs: any` lets
/// pictures go to everybody, `record-only` (and nothing said) to a successor and the customer, `none` to the customer alone; they are
/// stripped of place, day and camera without being pressed anew, and a picture that cannot be stripped stays behind.
///
/// Private details are found by their look and by private/contacts.yaml. Read the copy through before you send it.
///
/// Exit status: 0 the copy is there, 2 it is not, or a record could not be opened and is not in it.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:

  ampledger pack heron-cottage --for buyer --out ../heron-for-buyer
  ampledger pack --all --for assessor --from 2026-01-01 --out ../visit-2026
  ampledger pack --all --for successor --out ../hand-over")]
pub struct Args {
    /// The sites, by their folders' names.
    #[arg(value_name = "SITE", add = complete::site(), required_unless_present = "all")]
    sites: Vec<String>,
    /// All sites, for an assessor or a successor.
    #[arg(long, conflicts_with = "sites")]
    all: bool,
    /// For whom the copy is.
    #[arg(long = "for", value_name = "WHOM")]
    whom: Whom,
    /// The folder to make, outside the book; it must not be there, or be empty.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// For an assessor: the first day of the period, YYYY-MM-DD.
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    from: Option<Date>,
    /// For an assessor: the last day of the period, YYYY-MM-DD.
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    to: Option<Date>,
    /// The day of the hand-over, YYYY-MM-DD [default: today].
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    on: Option<Date>,
    /// The book, or any folder in it.
    #[arg(long, value_name = "PATH", default_value = ".")]
    book: PathBuf,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Whom {
    /// Papers and their schedules, notices, equipment, what is open.
    Buyer,
    /// Jobs of a period, instruments with their checks, late notices, what is open.
    Assessor,
    /// All that the customers agreed to hand over, and what is still owed.
    Successor,
    /// Everything held about the one place, how long it is kept and why.
    Customer,
}

impl From<Whom> for Audience {
    fn from(whom: Whom) -> Audience {
        match whom {
            Whom::Buyer => Audience::Buyer,
            Whom::Assessor => Audience::Assessor,
            Whom::Successor => Audience::Successor,
            Whom::Customer => Audience::Customer,
        }
    }
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let root = Book::find_root(&args.book)?;
    let book = Book::open(&root)?;
    let audience = Audience::from(args.whom);
    let one_place = matches!(audience, Audience::Buyer | Audience::Customer);
    if one_place && (args.all || args.sites.len() > 1) {
        return Err(Failure::new(
            format!("a copy for a {} is of one place", audience.as_str()),
            "Name one site, and make a folder for each.",
        ));
    }
    if audience != Audience::Assessor && (args.from.is_some() || args.to.is_some()) {
        return Err(Failure::new("--from and --to are for an assessor", "The others get a place from its beginning."));
    }
    for site in &args.sites {
        if book.site(site).is_none() {
            let near = nearest(site, book.sites.iter().map(|site| site.id.as_str()));
            let help = near.map_or_else(|| "A site is a folder under sites/.".to_owned(), |near| format!("Did you mean {near}?"));
            return Err(Failure::new(format!("this book has no site {}", visible(site)), help));
        }
    }
    let on = args.on.unwrap_or_else(today);
    let wanted = Wanted { audience, sites: args.sites, from: args.from, to: args.to, on };
    let packed = pack::pack(&book, &wanted, &args.out)?;
    screen.print(&told(&packed, &args.out.display().to_string()));
    Ok(screen.but_for_unread(&book, &wanted.sites, Exit::Clean))
}

impl From<PackError> for Failure {
    fn from(error: PackError) -> Self {
        let help = match &error {
            PackError::NotEmpty(_) => "Name a folder that is not there yet.",
            PackError::InBook(_) => "Put it beside the book, as in --out ../hand-over.",
            PackError::NothingShared(_) => {
                "Only --for customer makes a copy. If the customer agreed since, change `privacy` in site.md, with the day."
            }
            PackError::ContactsUnread => "Mend it: it is YAML, a site's folder and what is known of its people.",
            PackError::Nothing => "Look at --from and --to.",
            PackError::NotClean(..) => "Take it out of the record, keep it under private/, and try again.",
            PackError::Refused(..) => "Check the folder, its permissions and the space on the disk.",
        };
        Failure::new(error.to_string(), help)
    }
}

/// Kinds of things withheld that are told one by one.
const MAX_LINES: usize = 20;

/// What the keeper of the book is told; this is not part of the copy.
fn told(packed: &Packed, out: &str) -> String {
    let counted = |count: usize, one: &str| format!("{count} {one}{}", if count == 1 { "" } else { "s" });
    let mut text = String::new();
    let _ = writeln!(
        text,
        "{}: {}, {}, {}",
        visible(out),
        counted(packed.sites, "site"),
        counted(packed.visits, "visit"),
        counted(packed.photographs, "photograph")
    );
    if packed.dangers > 0 {
        let _ = writeln!(text, "dangers told on the cover page: {}", packed.dangers);
    }
    for (number, (id, danger)) in packed.kept_back.iter().enumerate() {
        let danger = if *danger { "; a danger is open there" } else { "" };
        let _ = writeln!(text, "withheld site {}: {}{danger}", number + 1, visible(id));
    }
    let mut counts: BTreeMap<&Withheld, usize> = BTreeMap::new();
    for one in &packed.withheld {
        *counts.entry(one).or_default() += 1;
    }
    for (one, count) in counts.iter().take(MAX_LINES) {
        let site = if one.site.is_empty() { "registers" } else { &one.site };
        let times = if *count == 1 { String::new() } else { format!(" x {count}") };
        let _ = writeln!(text, "withheld: {}: {}{times}", visible(site), visible(&one.what));
    }
    if counts.len() > MAX_LINES {
        let _ = writeln!(text, "withheld: {} more; see the cover page", counts.len() - MAX_LINES);
    }
    for (old, new) in &packed.renamed {
        let _ = writeln!(text, "renamed: {} is {} in the copy", visible(old), visible(new));
    }
    let _ = writeln!(text, "mark: {}", packed.mark);
    let _ =
        writeln!(text, "Read it through before you send it, and note in the site's record to whom it went, on which day, with this mark.");
    text
}
