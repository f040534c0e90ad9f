//! `ampledger man`.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use clap::CommandFactory;
use clap_mangen::Man;

use super::{Exit, Failure, Screen};
use crate::write::Pending;

/// Print the manual page, or write one page for each command.
///
/// The pages say what --help says. They are made by the program itself, so that they are of the same version.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger man | man -l -
  ampledger man check | man -l -
  ampledger man --out ~/.local/share/man/man1")]
pub struct Args {
    /// The page of this command [default: the page of the whole program].
    #[arg(value_name = "COMMAND", conflicts_with = "out")]
    of: Option<String>,
    /// Write all pages into this folder; those of an earlier version are replaced.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    // `ampledger help check` prints what the page of `check` says; it needs no page of its own.
    let mut program = super::Args::command().disable_help_subcommand(true);
    program.build();
    let commands: Vec<&clap::Command> = program.get_subcommands().collect();
    if let Some(folder) = args.out {
        std::fs::create_dir_all(&folder).map_err(|error| unwritten(&folder, &error))?;
        for command in std::iter::once(&program).chain(commands.iter().copied()) {
            let name = page_name(command);
            let path = folder.join(format!("{name}.1"));
            let mut file = Pending::begin(&path, true)?;
            file.write_all(page(command)?.as_bytes()).map_err(|error| unwritten(&path, &error))?;
            file.finish()?;
        }
        screen.print(&format!("{} pages\n", commands.len() + 1));
        return Ok(Exit::Clean);
    }
    let of = match &args.of {
        None => &program,
        Some(name) => commands.iter().find(|command| command.get_name() == name).ok_or_else(|| {
            let near = crate::rules::nearest(name, commands.iter().map(|command| command.get_name()));
            let help = near.map_or_else(|| "ampledger --help lists all commands.".to_owned(), |near| format!("Did you mean {near}?"));
            Failure::new(format!("there is no command {}", crate::render::one_line(name)), help)
        })?,
    };
    screen.print(&page(of)?);
    Ok(Exit::Clean)
}

/// `ampledger-check`.
fn page_name(command: &clap::Command) -> String {
    command.get_display_name().unwrap_or_else(|| command.get_name()).to_owned()
}

/// A page in the language of man pages.
fn page(command: &clap::Command) -> Result<String, Failure> {
    let mut page = Vec::new();
    let man = Man::new(command.clone()).title(page_name(command).to_uppercase()).source(concat!("ampledger ", env!("CARGO_PKG_VERSION")));
    man.render(&mut page).map_err(|error| Failure::new(format!("the page could not be made: {error}"), ""))?;
    // What stands after the options are examples; the heading should say so, and their lines stay lines.
    Ok(String::from_utf8_lossy(&page).replacen(".SH EXTRA\n", ".SH EXAMPLES\n.nf\n", 1).replacen("\nExamples:\n", "\n", 1))
}

fn unwritten(path: &Path, error: &dyn std::fmt::Display) -> Failure {
    Failure::new(format!("{} could not be written: {error}", path.display()), "Check the folder's permissions.")
}
