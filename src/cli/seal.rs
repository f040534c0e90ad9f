//! `ampledger seal`.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use super::{Exit, Failure, Screen, complete, no_such_visit, parse_day, relative_to, today, unreadable_visit};
use crate::book::{Book, Record, Roll, RollFile, SiteFiles};
use crate::finding::Finding;
use crate::record::{Date, Job, Seals};
use crate::seal::{self, Asked, Form, Outcome};
use crate::{render, rolls};

/// Seal records whose paper is issued, so that a later change shows.
///
/// A seal is a digest of what the record means, kept in seals.yaml at the book's root. From then on `check` says when a sealed record
/// or a photograph it names has changed, which part of it, or that it is gone. White space, comments, quoting and the order of keys are
/// no change; 0.3 for 0.30 is one. What the record relies on in site.md is not sealed.
///
/// A correction is a new visit, or a seal again with --reason; every seal is kept. A draft is not sealed, nor a record with a danger
/// or a breach, unless --anyway says so with a reason, and that hides no finding.
///
/// Exit status: 0 when all are sealed, 1 when one is not, 2 when the command could not do its work.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger seal oak-lane/2026-11-02-shed
  ampledger seal sites/oak-lane/2026-11-02-shed.md --reason 'Zs of main/4 was of another circuit'
  ampledger seal --form oak-lane/2026-11-02-shed | sha256sum")]
pub struct Args {
    /// The visits: SITE/VISIT, or the files.
    #[arg(required = true, value_name = "JOB", add = complete::job())]
    jobs: Vec<String>,
    /// Why it is sealed again, or although something stands against it.
    #[arg(long, value_name = "TEXT", value_parser = parse_reason)]
    reason: Option<String>,
    /// Seal although dangers or breaches stand, or a photograph is not there.
    #[arg(long, requires = "reason")]
    anyway: bool,
    /// Print the text that the digest is made of, and seal nothing.
    #[arg(long, conflicts_with_all = ["reason", "anyway"])]
    form: bool,
    /// The day of the seal, YYYY-MM-DD [default: today].
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    on: Option<Date>,
    /// The book, or any folder in it.
    #[arg(long, value_name = "PATH", default_value = ".")]
    book: PathBuf,
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let first_file = args.jobs.iter().map(Path::new).find(|path| path.is_file());
    let root = Book::find_root(first_file.unwrap_or(&args.book))?;
    let book = Book::open(&root)?;
    let wanted: Vec<String> = args.jobs.iter().map(|job| path_of(&book, job)).collect::<Result<_, _>>()?;
    let mut records: HashMap<String, (Record<Job>, &SiteFiles)> = HashMap::new();
    for path in &wanted {
        if let Some(site) = book.site_of(path).filter(|_| !records.contains_key(path)) {
            let (of_site, _) = book.read_site(site);
            records.extend(of_site.jobs.into_iter().map(|record| (record.source.path.clone(), (record, site))));
        }
    }
    if args.form {
        for path in &wanted {
            let (record, _) = records.get(path).ok_or_else(|| unreadable_visit(&book, path))?;
            screen.print(&Form::of(record).text());
        }
        return Ok(Exit::Clean);
    }
    sound(book.seals())?;
    let asked = Asked { reason: args.reason.as_deref(), anyway: args.anyway, on: args.on.unwrap_or_else(today) };
    let standing = seal::standing(&book, asked.on);
    let nothing: Vec<Finding> = Vec::new();
    let mut seals = Vec::new();
    let mut text = String::new();
    let mut refused = false;
    let mut done = std::collections::BTreeSet::new();
    for path in wanted.iter().filter(|path| done.insert(*path)) {
        let Some((record, site)) = records.get(path) else {
            refused = true;
            text.push_str(&format!("{path}\n  not sealed: {}\n", unreadable_visit(&book, path).message));
            continue;
        };
        match seal::weigh(&book, site, record, standing.get(path).unwrap_or(&nothing), &asked) {
            Outcome::Ready(seal) => {
                text.push_str(&told(path, &seal));
                seals.push(seal);
            }
            Outcome::AsSealed(on) => {
                let on = on.map_or(String::new(), |on| format!(" on {on}"));
                text.push_str(&format!("{path}\n  sealed already{on}, and as it was then\n"));
            }
            Outcome::Refused(reasons) => {
                refused = true;
                text.push_str(&format!("{path}\n  not sealed:\n"));
                text.extend(reasons.iter().map(|reason| format!("  - {}\n", render::one_line(reason))));
            }
        }
    }
    let had_none = !book.seals().is_there;
    if !seals.is_empty() {
        seal::write(&book, &seals).map_err(|error| Failure::new(error.to_string(), "Nothing was sealed. Give the command again."))?;
    }
    if !seals.is_empty() && had_none && !rolls::is_union(&book, Seals::FILE) {
        text.push_str(&format!(
            "\nWhere two people seal, put this line into .gitattributes beside book.yaml:\n  {}\n",
            rolls::union_line(Seals::FILE)
        ));
    }
    screen.print(&text);
    Ok(if refused { Exit::Found } else { Exit::Clean })
}

fn told(path: &str, seal: &crate::record::Seal) -> String {
    let pictures = match seal.photographs.len() {
        0 => String::new(),
        1 => " with 1 photograph".to_owned(),
        count => format!(" with {count} photographs"),
    };
    let again = if seal.seal.is_some_and(|number| *number > 1) { " again" } else { "" };
    let on = seal.on.map_or(String::new(), |on| format!(" {on}"));
    format!("{path}\n  sealed{again}{on}{pictures}\n  {}\n", seal.digest.as_deref().unwrap_or_default())
}

/// A file of the program's own is written anew only when all of it could be read.
pub fn sound<R: Roll>(file: &RollFile<R>) -> Result<(), Failure> {
    if file.faults.is_empty() {
        return Ok(());
    }
    let help = format!("`ampledger check` says what is wrong with it; put that right first, or take {} back from git.", R::FILE);
    Err(Failure::new(format!("{} cannot be read whole, so nothing was written into it", R::FILE), help))
}

/// A reason with words in it, on one line.
pub fn parse_reason(text: &str) -> Result<String, String> {
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if words.is_empty() { Err("a reason has words in it, for a reader who was not there".to_owned()) } else { Ok(words) }
}

/// The path in the book of a visit named by its file or as SITE/VISIT.
fn path_of(book: &Book, job: &str) -> Result<String, Failure> {
    let named = format!("sites/{}.md", job.trim_end_matches(".md").trim_start_matches("sites/"));
    let path = relative_to(&book.root, Path::new(job)).unwrap_or(named);
    if book.sites.iter().any(|site| site.jobs.binary_search(&path).is_ok()) {
        return Ok(path);
    }
    Err(no_such_visit(book, job))
}
