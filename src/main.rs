//! Starts the window or a command.

use bandwright::cli::{Run, run};
use std::process::ExitCode;

fn main() -> ExitCode {
    match run() {
        Run::Done(status) => status,
        Run::Window(file) => bandwright::app::open(file),
    }
}
