//! Reading the sketch.

mod build;
mod damaged;
mod demo_sketch;
mod facts;
mod lines;
mod melody;

mod random;
mod tags;
mod textures;
