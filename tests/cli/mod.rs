//! The program as its users run it: arguments, exit statuses, and what goes where.

mod check;
mod explain;

use std::path::Path;
use std::process::{Command, Output};

use crate::support::GIT_SETTINGS;

/// What a run printed, and its exit status.
pub struct Ran {
    pub out: String,
    pub err: String,
    pub status: i32,
}

impl From<Output> for Ran {
    fn from(output: Output) -> Ran {
        Ran {
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
            status: output.status.code().unwrap(),
        }
    }
}

/// The program in a folder, without any setting of whoever runs the tests.
pub fn program(folder: &Path) -> Command {
    program_under(folder, &[])
}

/// The same, started by another program: its name and the arguments that go before those of this one.
pub fn program_under(folder: &Path, other: &[&str]) -> Command {
    let words: Vec<&str> = other.iter().copied().chain([env!("CARGO_BIN_EXE_ampledger")]).collect();
    let mut command = Command::new(words[0]);
    command.args(&words[1..]).current_dir(folder);
    // What one test kept is nothing to another.
    command.env("AMPLEDGER_CACHE_DIR", "");
    for setting in ["NO_COLOR", "COLUMNS", "TERM", "CLICOLOR_FORCE"].into_iter().chain(GIT_SETTINGS) {
        command.env_remove(setting);
    }
    command
}

/// Runs the program in a folder.
pub fn run(folder: &Path, args: &[&str]) -> Ran {
    program(folder).args(args).output().unwrap().into()
}

/// Runs it with an environment of its own.
pub fn run_with(folder: &Path, settings: &[(&str, &str)], args: &[&str]) -> Ran {
    program(folder).envs(settings.iter().copied()).args(args).output().unwrap().into()
}
