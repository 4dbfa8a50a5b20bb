//! Reading the sketch.

mod build;
mod damaged;
mod demo_sketch;
mod facts;
mod figures;
mod form;
mod harmony;
mod lines;
mod melody;
mod quantise;

mod random;
mod spelling;
mod tags;
mod textures;
