//! The timeline: its curve, its file, its ties to music, and the plans that follow it.

pub mod build;
mod curve;
mod entries;
mod file;
mod followed;
mod plans;
mod templates;
mod ties;
