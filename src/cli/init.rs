//! `ampledger init`.

use std::io::{BufRead, IsTerminal};
use std::path::PathBuf;

use super::new::wanted_id;
use super::{Exit, Failure, Screen, parse_word};
use crate::git::{self, Repository};
use crate::init::{self, Done, Host, InitError, Keeper};
use crate::new::SiteAnswers;
use crate::record::{Earthing, Nation, Premises};

/// Begin a book: settings, folders, and what git, an editor and a code host need to know of it.
///
/// In a terminal it asks what it is not told by a flag; Enter leaves an answer blank. Elsewhere it asks nothing. No answer is made up.
/// In a folder that holds files already it writes only what is missing, and says what it left as it was.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger init jobs
  ampledger init jobs --nation england --site oak-lane --premises dwelling --ci github --git")]
pub struct Args {
    /// The folder; made if it is not there.
    #[arg(value_name = "DIR", default_value = ".")]
    folder: PathBuf,
    /// The name the work is done under.
    #[arg(long, value_name = "NAME", value_parser = parse_line)]
    trading_as: Option<String>,
    /// The nation whose law applies: england, wales, scotland or northern-ireland.
    #[arg(long, value_name = "NATION", value_parser = parse_nation)]
    nation: Option<Nation>,
    /// Who does the work, by the name that papers bear.
    #[arg(long, value_name = "NAME", value_parser = parse_line)]
    person: Option<String>,
    /// A first site, by a short name such as oak-lane; no personal details.
    #[arg(long, value_name = "SITE")]
    site: Option<String>,
    /// What the site is used for, such as dwelling or shop.
    #[arg(long, value_name = "WORD", value_parser = parse_premises, requires = "site")]
    premises: Option<Premises>,
    /// How the site is earthed: TN-S, TN-C-S, TT or IT.
    #[arg(long, value_name = "SYSTEM", value_parser = parse_earthing, requires = "site")]
    earthing: Option<Earthing>,
    /// The code host whose pipeline is to check the book at every push.
    #[arg(long, value_name = "HOST", default_value = "none")]
    ci: Ci,
    /// Make the folder a git repository too, unless it is in one.
    #[arg(long)]
    git: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Ci {
    /// .github/workflows/records.yml
    Github,
    /// .gitlab-ci.yml
    Gitlab,
    /// No pipeline.
    None,
}

/// Runs the command.
pub fn run(mut args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    if std::io::stdin().is_terminal() && screen.is_terminal() {
        ask_all(&mut args, screen)?;
    }
    let keeper = Keeper { trading_as: args.trading_as, nation: args.nation, person: args.person };
    let answers = SiteAnswers { premises: args.premises, earthing: args.earthing };
    let site = args.site.as_deref().map(wanted_id).transpose()?;
    let host = match args.ci {
        Ci::Github => Some(Host::Github),
        Ci::Gitlab => Some(Host::Gitlab),
        Ci::None => None,
    };
    if args.git {
        std::fs::create_dir_all(&args.folder).map_err(|error| {
            Failure::new(format!("{} could not be made: {error}", args.folder.display()), "Check the folder's permissions.")
        })?;
        let root = args.folder.canonicalize().unwrap_or(args.folder.clone());
        if Repository::of(&root).is_err() {
            git::begin(&root)?;
        }
    }
    let done = init::lay_out(&args.folder, &keeper, site.map(|site| (site, answers)), host)?;
    screen.print(&told(&done, site));
    Ok(Exit::Clean)
}

/// What was made, what was left, and what comes next.
fn told(done: &Done, site: Option<&str>) -> String {
    let mut text = String::new();
    if !done.made.is_empty() {
        text.push_str("made\n");
        done.made.iter().for_each(|path| text.push_str(&format!("  {path}\n")));
    }
    if !done.left.is_empty() {
        text.push_str("there already, left as it is\n");
        for (path, lacks) in &done.left {
            text.push_str(&format!("  {path}\n"));
            lacks.iter().for_each(|line| text.push_str(&format!("    lacks the line: {line}\n")));
        }
    }
    let next = match site {
        Some(site) => format!("ampledger new job {site} --kind install"),
        None => "ampledger new site oak-lane".to_owned(),
    };
    text.push_str(&format!("next\n  {next}\n  ampledger check\n"));
    text
}

/// Asks for what no flag says.
fn ask_all(args: &mut Args, screen: &mut Screen) -> Result<(), Failure> {
    ask(&mut args.trading_as, screen, "Name the work is done under", parse_line)?;
    ask(&mut args.nation, screen, "Nation (england, wales, scotland, northern-ireland)", parse_nation)?;
    ask(&mut args.person, screen, "Who does the work, as papers name them", parse_line)?;
    let id = |text: &str| wanted_id(text).map(str::to_owned).map_err(|failure| format!("{}. {}", failure.message, failure.help));
    ask(&mut args.site, screen, "A first site, such as oak-lane", id)?;
    if args.site.is_some() {
        let words: Vec<&str> = Premises::ALL.iter().map(|word| word.as_str()).collect();
        ask(&mut args.premises, screen, &format!("Its premises ({})", words.join(", ")), parse_premises)?;
        ask(&mut args.earthing, screen, "Its earthing (TN-S, TN-C-S, TT, IT)", parse_earthing)?;
    }
    Ok(())
}

/// Asks until the answer can be read; an empty line, or the end of the input, leaves it blank.
fn ask<T>(answer: &mut Option<T>, screen: &mut Screen, question: &str, read: impl Fn(&str) -> Result<T, String>) -> Result<(), Failure> {
    while answer.is_none() {
        screen.print(&format!("{question}: "));
        let mut line = String::new();
        std::io::stdin().lock().read_line(&mut line).map_err(|error| {
            Failure::new(format!("the terminal cannot be read: {error}"), "Give the answers as flags: `ampledger init --help`.")
        })?;
        let line = line.trim();
        if line.is_empty() {
            return Ok(());
        }
        match read(line) {
            Ok(read) => *answer = Some(read),
            Err(why) => screen.print(&format!("  {why}\n")),
        }
    }
    Ok(())
}

/// A text of one line that says something.
fn parse_line(text: &str) -> Result<String, String> {
    let text = text.trim();
    let sound = !text.is_empty() && !text.contains(char::is_control);
    if sound { Ok(text.to_owned()) } else { Err("one line of text".to_owned()) }
}

fn parse_nation(text: &str) -> Result<Nation, String> {
    parse_word(Nation::ALL, "a nation", text)
}

fn parse_premises(text: &str) -> Result<Premises, String> {
    parse_word(Premises::ALL, "what a site is used for", text)
}

fn parse_earthing(text: &str) -> Result<Earthing, String> {
    parse_word(Earthing::ALL, "an earthing system", text)
}

impl From<InitError> for Failure {
    fn from(error: InitError) -> Self {
        match error {
            InitError::Within(outer) => {
                let message = format!("this folder lies in the book at {}", outer.display());
                Failure::new(message, "A book does not hold another. `ampledger new site` begins a site in that one.")
            }
            InitError::Write(error) => {
                Failure::new(error.to_string(), "Check the folder's permissions and links. What was written before stays.")
            }
            InitError::Open(error) => error.into(),
        }
    }
}
