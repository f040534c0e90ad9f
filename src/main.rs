//! Arguments in, exit status out.

use std::process::ExitCode;

/// A fifth off decoding, measured; see DEVELOPERS.md.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    ampledger::cli::run(std::env::args_os()).into()
}
