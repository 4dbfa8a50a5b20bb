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

mod musicxml;
mod musicxml_build;
mod musicxml_damaged;
mod musicxml_marks;
mod musicxml_order;
mod musicxml_random;
mod random;
mod spelling;
mod tags;
mod textures;
