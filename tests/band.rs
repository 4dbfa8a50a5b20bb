//! Instruments, rosters, limits, and the arranger's own passages.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod absent;
pub mod any_roster;
mod chance;
mod division;
mod go_easy;
mod load;
mod loudness;
mod outside;
mod overrides;
mod own_passages;
mod people;
mod playing;
mod ranges;
mod refusals;
mod remarks;
mod roster;
mod table;
