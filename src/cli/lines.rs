//! `ampledger lines`.

use std::fmt::Write;
use std::path::PathBuf;

use super::{Exit, Failure, Screen, relative_to};
use crate::book::{Book, SiteFiles};
use crate::flat;
use crate::render::{line_number, one_line};
use crate::sheets::{self, Sheet};

/// Print the book as flat text, one fact a line, for grep, awk and sort.
///
/// Seven columns with a tab between them, `-` where a column has nothing to say:
///
///   site, date, visit, thing, key, value, file:line
///
/// `thing` is what the fact is about: circuit:shed/1, unit:CP-204117, fault:f1, joint#2 for the second joint, which has no id,
/// instrument:mft-1, or job, site and book for the whole of these. `key` is the way from there: readings.zs_ohm, excluded[0]; `text` is a line of the body, and
/// `unreadable` a line that no value can be made of. `value` is as written, `0.30` and `>999` and all; line breaks and tabs in it are
/// shown as \n and \t, a backslash as \\, and other control characters as U+FFFD.
///
/// Only what is written is printed: nothing that a visit inherits. private/ is never read.
///
/// Exit status: 0, or 2 when the command could not do its work or a record could not be opened.
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
#[command(after_long_help = "Examples, with $'\\t' as the separator of awk:
  ampledger lines | grep 'readings.zs_ohm'
  ampledger lines | awk -F'\\t' '$5 == \"rcd.type\" && $6 == \"AC\"'
  ampledger lines sites/weir-house | sort -t$'\\t' -k4,4 -k2,2")]
pub struct Args {
    /// The book, or a folder or record in it.
    #[arg(default_value = ".")]
    path: PathBuf,
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let root = Book::find_root(&args.path)?;
    let book = Book::open(&root)?;
    let part = relative_to(&root, &args.path).unwrap_or_default();
    let wanted =
        |path: &str| part.is_empty() || path.strip_prefix(part.as_str()).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'));
    let mut text = String::new();
    for sheet in sheets::registers(&book).iter().filter(|sheet| wanted(&sheet.source.path)) {
        print(&mut text, sheet);
    }
    screen.print(&text);
    let folders = |files: &&SiteFiles| files.unlisted.iter().any(|folder| wanted(&folder.path));
    let holds_some = |files: &&SiteFiles| files.site.iter().chain(&files.jobs).any(|path| wanted(path)) || folders(files);
    let sites: Vec<&SiteFiles> = book.sites.iter().filter(holds_some).collect();
    let make = |files: &SiteFiles| {
        let (records, _) = book.read_site(files);
        let mut text = String::new();
        for sheet in sheets::of_site(&records).iter().filter(|sheet| wanted(&sheet.source.path)) {
            print(&mut text, sheet);
        }
        text
    };
    sheets::each_site(&sites, make, |text| {
        screen.print(&text);
        !screen.is_closed()
    });
    Ok(screen.but_for_unread(&book, &[], Exit::Clean))
}

/// One line a fact.
fn print(out: &mut String, sheet: &Sheet) {
    let facts = flat::facts(sheet);
    let site = or_dash(sheet.site.as_deref());
    let day = or_dash(sheet.day.map(|day| day.to_string()).as_deref());
    let visit = or_dash((sheet.kind == sheets::SheetKind::Job).then_some(sheet.id.as_str()));
    let file = one_line(&sheet.source.path);
    for fact in facts {
        let line = line_number(&sheet.source, fact.at);
        let value = if fact.value.is_empty() { "-" } else { fact.value.as_str() };
        let _ = writeln!(out, "{site}\t{day}\t{visit}\t{}\t{}\t{value}\t{file}:{line}", fact.thing, fact.key);
    }
}

fn or_dash(text: Option<&str>) -> String {
    text.filter(|text| !text.is_empty()).map_or_else(|| "-".to_owned(), one_line)
}
