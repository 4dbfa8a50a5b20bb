//! All integration tests, one binary.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod band;
mod demo;
mod lines;
mod sketch;
