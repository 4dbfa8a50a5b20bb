//! Instruments, rosters, limits, and the arranger's own passages.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod absent;
mod any_roster;
mod division;
mod outside;
mod own_passages;
mod people;
mod ranges;
mod refusals;
mod remarks;
mod roster;
mod table;
