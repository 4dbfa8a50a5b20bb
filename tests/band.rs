//! Instruments, rosters, limits, and the arranger's own passages.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod load;
mod loudness;
mod outside;
mod own_passages;
mod ranges;
mod refusals;
mod roster;
