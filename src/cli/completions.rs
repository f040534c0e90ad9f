//! `ampledger completions`.

use clap_complete::env::Shells;

use super::{Exit, Failure, Screen, complete};

/// Print the script that lets a shell complete commands, flags, and what the book knows: sites, visits, circuits, units, rules.
///
/// The script asks this program at each press of the Tab key, so that it stays right when the book changes. It is fetched anew by each
/// shell that starts, so that it stays right when the program changes.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  source <(ampledger completions bash)            in ~/.bashrc
  source <(ampledger completions zsh)             in ~/.zshrc, after compinit
  ampledger completions fish | source             in ~/.config/fish/config.fish
  eval (ampledger completions elvish | slurp)     in ~/.config/elvish/rc.elv
  ampledger completions powershell | Out-String | Invoke-Expression    in $PROFILE")]
pub struct Args {
    /// The shell.
    #[arg(value_parser = clap::builder::PossibleValuesParser::new(["bash", "elvish", "fish", "powershell", "zsh"]))]
    shell: String,
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let shells = Shells::builtins();
    let shell = shells.completer(&args.shell).ok_or_else(|| Failure::new(format!("there is no script for {}", args.shell), ""))?;
    let mut script = Vec::new();
    // The program by its name, so that the script outlives a move of the file.
    shell
        .write_registration(complete::VARIABLE, "ampledger", "ampledger", "ampledger", &mut script)
        .map_err(|error| Failure::new(format!("the script could not be written: {error}"), ""))?;
    screen.print(&String::from_utf8_lossy(&script));
    Ok(Exit::Clean)
}
