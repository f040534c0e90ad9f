//! `ampledger check`.

use std::path::Path;

use super::seal::{parse_reason, sound};
use super::{Exit, Failure, Screen, cache_folder, complete, parse_day, part, progress, today};
use crate::book::{Book, Roll};
use crate::cache::Cache;
use crate::changed::Reach;
use crate::check::{check, check_with};
use crate::fix::{self, Safety};
use crate::judge::{Filter, Verdict, judge};
use crate::record::{Backlog, Date, Grade};
use crate::{backlog, render, rolls, rules};

/// Check a book and say what is missing, out of limit, overdue or left open.
///
/// The whole book is read, whatever part of it PATH names; findings are shown for that part. Exit status: 0 when nothing at or above
/// --fail-on stands, 1 when something does, 2 when there is no book to read.
///
/// --staged is for the hook before a commit, --changed-since for a branch under review.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger check                                  the book around this folder
  ampledger check sites/oak-lane                   what is found at one site
  ampledger check --rule zs-over-limit             one rule
  ampledger check --staged                         before a commit
  ampledger check --changed-since main             on a branch
  ampledger check --fix --diff                     what can be mended, and nothing written
  ampledger check --format concise --fail-on doubt one line each, and stricter
  ampledger check --accept --reason 'as bought'    begin with an inherited book")]
pub struct Args {
    #[command(flatten)]
    part: part::Args,
    /// The day that dates are judged from, YYYY-MM-DD [default: today].
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    on: Option<Date>,
    /// How findings are written.
    #[arg(long, value_name = "FORM", default_value = "human")]
    format: Format,
    /// The mildest grade that makes the exit status 1.
    #[arg(long, value_name = "GRADE", default_value = "breach")]
    fail_on: FailOn,
    /// Show only this rule's findings; may be given more than once.
    #[arg(long, value_name = "RULE", add = complete::rule())]
    rule: Vec<String>,
    /// Show answered findings too.
    #[arg(long)]
    answered: bool,
    /// Show what the backlog accepts too.
    #[arg(long)]
    accepted: bool,
    /// Accept what is found now, dangers apart, as the backlog that this book begins with: backlog.yaml. Given again, it lowers the
    /// counts to what is still found. With --rule or a PATH, only there.
    #[arg(long)]
    accept: bool,
    /// Why the findings are accepted.
    #[arg(long, value_name = "TEXT", requires = "accept", value_parser = parse_reason)]
    reason: Option<String>,
    /// Take findings into a backlog that is there already.
    #[arg(long, requires_all = ["accept", "reason"])]
    add: bool,
    /// The last day on which they are accepted, YYYY-MM-DD.
    #[arg(long, value_name = "DAY", requires_all = ["accept", "reason"], value_parser = parse_day)]
    until: Option<Date>,
    /// Mend what can be mended by changing only how it is written: quotes, fences, indents, the form of a date. Every mended file is read
    /// again before it takes the old one's place; comments, order and line ends stay.
    #[arg(long, conflicts_with = "accept")]
    fix: bool,
    /// Mend too where what was meant has to be guessed: a misspelt key, a decimal comma.
    #[arg(long = "unsafe", requires = "fix")]
    risky: bool,
    /// Read every record anew. Otherwise what was found at a site that is still the same, on the same day, is kept from an earlier run
    /// in this user's cache folder (in AMPLEDGER_CACHE_DIR where that is set; nowhere where it is empty).
    #[arg(long)]
    no_cache: bool,
    /// Show what --fix would change, as a unified diff, and write nothing. Exit status 1 when something would change.
    #[arg(long, requires = "fix", conflicts_with = "format")]
    diff: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// The record's own lines, with what to do.
    Human,
    /// One line each, path:line:column first.
    Concise,
    /// One JSON object, version 1.
    Json,
    /// SARIF 2.1.0, for code scanning and editors.
    Sarif,
    /// Annotations of GitHub Actions.
    Github,
    /// A code quality report of GitLab.
    Gitlab,
    /// JUnit XML, for pipelines that show test reports.
    Junit,
    /// Tables in Markdown, for a run's summary page.
    Markdown,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum FailOn {
    /// Someone may be hurt.
    Danger,
    /// A rule, a limit or a date is not met.
    Breach,
    /// Probably wrong, or needs a reason.
    Doubt,
    /// A record that a reader will trip over.
    Tidy,
    /// Never.
    Never,
}

impl FailOn {
    fn grade(self) -> Option<Grade> {
        match self {
            FailOn::Danger => Some(Grade::Danger),
            FailOn::Breach => Some(Grade::Breach),
            FailOn::Doubt => Some(Grade::Doubt),
            FailOn::Tidy => Some(Grade::Tidy),
            FailOn::Never => None,
        }
    }
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    for rule in &args.rule {
        if rules::by_id(rule).is_none() {
            let near = rules::nearest(rule, rules::all().map(|rule| rule.id));
            let near = near.map_or(String::new(), |near| format!("Did you mean {near}? "));
            return Err(Failure::new(format!("there is no rule {rule}"), format!("{near}`ampledger explain` lists all rules.")));
        }
    }
    let part = args.part.look_up(screen)?;
    let root = part.root;
    let book = Book::open_under(&root, part.overlay)?;
    let on = args.on.unwrap_or_else(today);
    let bar = progress::bar("reading", book.sites.len(), screen);
    let cache = if args.no_cache { None } else { cache_folder().and_then(|folder| Cache::open(&book, on, &folder)) };
    let checked = check_with(&book, on, cache.as_ref(), &|| bar.inc(1));
    // A run that could not keep anything has lost nothing but time.
    let _ = cache.map(Cache::save);
    bar.finish_and_clear();
    let reach = part.changed.map(|changed| {
        let mut reach = Reach::of(&book, changed);
        part.named.into_iter().for_each(|path| reach.add(path));
        reach
    });
    let filter = Filter { rules: args.rule, paths: part.paths, reach };
    let mut verdict = judge(&book, checked, on, &filter);
    if args.accept {
        let asked = backlog::Asked { reason: args.reason.as_deref(), add: args.add, on, until: args.until };
        let note = accept(&book, &verdict, &filter, &asked)?;
        let book = Book::open(&root)?;
        verdict = judge(&book, check(&book, on, &|| ()), on, &filter);
        if args.format == Format::Human {
            screen.print(&note);
        }
    }
    let mut unwritten = false;
    if args.fix {
        let most = if args.risky { Safety::Unsafe } else { Safety::Safe };
        let plan = fix::plan(&book, &verdict, most);
        if args.diff {
            fix::offer(&book, &mut verdict);
            let exit = show(&plan, &verdict, args.risky, screen);
            return Ok(screen.but_for_unread(&book, &[], exit));
        }
        unwritten = mend(&book, plan, args.format == Format::Human, screen);
        let book = Book::open(&root)?;
        verdict = judge(&book, check(&book, on, &|| ()), on, &filter);
        fix::offer(&book, &mut verdict);
    } else if matches!(args.format, Format::Human | Format::Json) {
        fix::offer(&book, &mut verdict);
    }
    // SARIF holds all, and says what is suppressed.
    if !args.accepted && args.format != Format::Sarif {
        verdict.accepted.clear();
    }
    let run = render::Run { prefix: prefix_in_repository(&root), fail_on: args.fail_on.grade(), show_answered: args.answered };
    let text = match args.format {
        Format::Human => render::human(&verdict, screen.look(), args.answered),
        Format::Concise => render::concise(&verdict, args.answered),
        Format::Json => render::json(&verdict, args.answered),
        Format::Sarif => render::sarif(&verdict, &run),
        Format::Github => render::github(&verdict, &run),
        Format::Gitlab => render::gitlab(&verdict, &run),
        Format::Junit => render::junit(&verdict, &run),
        Format::Markdown => render::markdown(&verdict, &run),
    };
    let for_people = matches!(args.format, Format::Human | Format::Concise);
    if for_people {
        screen.print_about(&root, &text)
    } else {
        screen.print(&text)
    }
    if args.fix && !args.risky && args.format == Format::Human {
        screen.print(&render::left_words(&verdict.findings, screen.look().width));
    }
    if unwritten {
        return Ok(Exit::Failed);
    }
    let found = args.fail_on.grade().is_some_and(|grade| verdict.has_at_least(grade));
    Ok(if found { Exit::Found } else { Exit::Clean })
}

/// Shows what fixes would change.
fn show(plan: &fix::Plan, verdict: &Verdict, risky: bool, screen: &mut Screen) -> Exit {
    let diff = render::diff(plan);
    let space = if diff.is_empty() { "" } else { "\n" };
    screen.print(&format!("{diff}{space}{}", render::plan_words(plan, false, screen.look().width)));
    if !risky {
        screen.print(&render::left_words(&verdict.findings, screen.look().width));
    }
    if plan.mended.is_empty() { Exit::Clean } else { Exit::Found }
}

/// Writes the mended files, and says what became of them; true when one could not be written.
fn mend(book: &Book, mut plan: fix::Plan, told: bool, screen: &mut Screen) -> bool {
    let failed = fix::write(book, &plan);
    for (file, error) in &failed {
        plan.mended.retain(|mended| mended.file != *file);
        screen.fail(&Failure::new(error.to_string(), "It was left as it is. See to the file, and give the command again."));
    }
    if told {
        screen.print(&format!("{}\n", render::plan_words(&plan, true, screen.look().width)));
    }
    !failed.is_empty()
}

/// The path from the top of the repository that holds the book down to the book: empty, or ending with `/`. The top is the nearest
/// folder upward with a `.git` in it; a book outside any repository is its own top.
fn prefix_in_repository(root: &Path) -> String {
    let top = root.ancestors().find(|folder| folder.join(".git").exists()).unwrap_or(root);
    let inner = root.strip_prefix(top).unwrap_or(Path::new(""));
    inner.components().map(|part| format!("{}/", part.as_os_str().to_string_lossy())).collect()
}

/// Writes the backlog, and says what became of it.
fn accept(book: &Book, verdict: &Verdict, filter: &Filter, asked: &backlog::Asked<'_>) -> Result<String, Failure> {
    let file = book.backlog();
    sound(file)?;
    if !file.is_there && asked.reason.is_none() {
        let help = "Say why with --reason, as in --reason 'records of the years before this book'.";
        return Err(Failure::new("a backlog begins with a reason", help));
    }
    let renewed = backlog::renew(file, verdict, filter, asked);
    if !file.is_there || renewed.added + renewed.lowered > 0 {
        let help = "Nothing was accepted. Give the command again.";
        backlog::write(book, &renewed).map_err(|error| Failure::new(error.to_string(), help))?;
    }
    let findings = |count: u32| if count == 1 { "1 finding".to_owned() } else { format!("{count} findings") };
    let mut note = format!("{}: {} accepted", Backlog::FILE, findings(renewed.added));
    if renewed.lowered > 0 {
        note.push_str(&format!(", counts lowered by {}", renewed.lowered));
    }
    note.push('\n');
    if renewed.left > 0 {
        let (them, are) = if renewed.left == 1 { ("it", "is") } else { ("them", "are") };
        let left = findings(renewed.left);
        note.push_str(&format!("{left} {are} not in the backlog; `--accept --add --reason TEXT` takes {them} in.\n"));
    }
    if !file.is_there && !rolls::is_union(book, Backlog::FILE) {
        let line = rolls::union_line(Backlog::FILE);
        note.push_str(&format!("Where two people work, put this line into .gitattributes beside book.yaml:\n  {line}\n"));
    }
    note.push('\n');
    Ok(note)
}
