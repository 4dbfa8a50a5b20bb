//! Estimates for the plan: how loud, how present, how tiring and how usual it is that some parts carry
//! some lines in a passage, before a single note is set.
//!
//! They are made once for a piece ([`Powers::of_passages`], [`load_steps`], [`Doublings::of`]) and
//! are then sums of a few numbers for each part ([`Sums`]), so that very many ways of scoring can be
//! weighed. What stands out of them, as of every estimate of levels and load, is for the ear and the director
//! to judge.

mod doublings;
mod ear;
mod functions;
mod load;
mod octave;
mod powers;
mod stretch;
mod sums;
mod texture;

pub use doublings::{Double, Doublings};
pub use ear::heard_by;
pub use functions::left_thin;
pub use load::{LoadStep, PartLoads, load_steps};
pub use octave::{WISHES, best_octave};
pub use powers::{Powers, Sound};
pub use sums::{Sums, covered_by, density, loudness, tune_presence};
pub use texture::{Texture, wanted_texture};
