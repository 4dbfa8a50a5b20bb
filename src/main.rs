//! Starts a command.

fn main() {}
