//! Starts a command.

use std::process::ExitCode;

fn main() -> ExitCode {
    bandwright::cli::run()
}
