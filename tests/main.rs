//! All integration tests, one binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test and its helpers fail by panicking"
)]

mod again;
mod app;
mod band;
mod checker;
mod checker_remarks;
mod checker_tune;
mod clean;
mod command_line;
mod conflicts;
mod course;
mod demo;
#[cfg(target_os = "linux")]
mod device;
mod director;
mod drums;
mod estimates;
mod evidence;
mod export;
mod keys;
mod layers;
mod lines;
mod midi_file;
mod midi_out;
mod musicxml_out;
mod musicxml_ways;
mod notation;
mod notation_font;
mod plan;
mod project;
mod proofs;
mod range_staves;
mod real_music;
mod returned;
mod review;
mod roster_commands;
mod schemas;
mod sketch;
mod sound;
mod styles_page;
mod timeline;
mod user_font;
mod voice_leading;
mod whole_way;
mod why_command;
mod work;
