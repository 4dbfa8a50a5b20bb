//! Reading the sketch.

mod build;
mod damaged;
mod demo_sketch;
mod facts;
mod harmony;
mod lines;

mod random;
mod tags;
mod textures;
