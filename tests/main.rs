//! All integration tests, one binary.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test and its helpers fail by panicking"
)]

mod band;
mod checker;
mod demo;
mod layers;
mod midi_file;
mod sketch;
mod whole_way;
