//! Reading the sketch.

mod build;
mod damaged;
mod facts;
mod lines;

mod random;
