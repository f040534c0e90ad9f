//! `ampledger schema`.

use super::{Exit, Failure, Screen};
use crate::schema;

/// Print the JSON Schema of a kind of record, for editors.
///
/// The same schemas are in the folder `schema` of the source. An editor with YAML support completes and checks keys by them.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger schema job > job.schema.json")]
pub struct Args {
    /// The kind of record.
    #[arg(value_parser = clap::builder::PossibleValuesParser::new(schema::KINDS))]
    kind: String,
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let text = schema::of(&args.kind).ok_or_else(|| Failure::new(format!("there is no schema of {}", args.kind), String::new()))?;
    screen.print(&text);
    Ok(Exit::Clean)
}
