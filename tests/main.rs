//! All integration tests, one binary.

mod band;
mod demo;
mod sketch;
