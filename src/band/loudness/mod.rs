//! Loudness: how loud a part is, and how far a line stands above the rest.
//!
//! Levels are mean sound power of moving passages, from memory of published measurements or by
//! analogy (`presets/playing/loudness.toml` has the mark of each row): good to about 2 dB, and to no
//! more. Outdoors all parts are about as far away, so distance does not enter the plain balance.

mod critical_bands;
mod decibels;
mod part_level;
mod presence;
mod scale;
mod tables;

pub use critical_bands::{Partial, bark, excitation};
pub use decibels::Decibels;
pub use part_level::{Tone, one_player, part_level, register_adds, tone, toward_audience};
pub use presence::{
    HeardTone, LISTENED, Presence, covering, heard_over, line_level, of_tones, plain, presence,
};
pub use scale::{full_level, intensity_of_level, wanted_level};
pub use tables::{Situation, Target, target};
