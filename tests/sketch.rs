//! Reading the sketch.

mod build;
mod damaged;
mod demo_sketch;
mod facts;
mod form;
mod lines;

mod random;
mod spelling;
mod tags;
mod textures;
