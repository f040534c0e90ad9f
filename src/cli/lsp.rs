//! `ampledger lsp`.

use super::{Exit, Failure, Screen, parse_day, today};
use crate::lsp::{Ended, Stopped, serve};
use crate::record::Date;

/// Serve an editor: findings while you type, and the book's knowledge at the cursor.
///
/// Started by the editor, not by hand. It speaks the Language Server Protocol over standard input and output: findings of the text as
/// it stands, saved or not; what a key means and what a reading is held against; keys, words and ids to complete; the earlier visits of
/// a circuit. README.md, "Editors", says how to tell an editor of it.
///
/// Exit status: 0 after the editor has said good-bye, 1 when it went without, 2 when what it sent was no message.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Example:
  ampledger lsp    as the command of a language server for Markdown files, in the editor's settings")]
pub struct Args {
    /// The day that dates are judged from, YYYY-MM-DD [default: today].
    #[arg(long, value_name = "DAY", value_parser = parse_day)]
    on: Option<Date>,
    /// Standard input and output; that is the only way, and editors like to say so.
    #[arg(long, hide = true)]
    stdio: bool,
}

/// Runs the command.
pub fn run(args: Args, _: &mut Screen) -> Result<Exit, Failure> {
    let input = std::io::BufReader::new(std::io::stdin());
    match serve(input, std::io::stdout(), &|| args.on.unwrap_or_else(today)) {
        Ok(Ended::Properly) => Ok(Exit::Clean),
        Ok(Ended::Abruptly) => Ok(Exit::Found),
        Err(Stopped::Malformed(why)) => Err(Failure::new(
            format!("what came in is no message: {why}"),
            "This command is started by an editor; see README.md, \"Editors\".",
        )),
        Err(Stopped::Stream(error)) => {
            Err(Failure::new(format!("the editor cannot be reached: {error}"), "Start it again from the editor."))
        }
    }
}
