//! Instruments, rosters, limits, and the arranger's own passages.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod outside;
mod overrides;
mod own_passages;
mod playing;
mod ranges;
mod refusals;
mod roster;
