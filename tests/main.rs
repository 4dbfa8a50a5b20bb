//! All integration tests, one binary.

mod demo;
