//! Reading the sketch.

mod build;
mod damaged;
mod demo_sketch;
mod facts;
mod lines;
mod quantise;

mod random;
mod tags;
mod textures;
