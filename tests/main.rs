//! All integration tests, one binary.

mod sketch;
