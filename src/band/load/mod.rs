//! Load: how tired the lips of a part's players are, note by note.
//!
//! The model is the three-compartment model of muscle fatigue (Xia and Frey-Law 2008; rest multiplier:
//! Looft et al. 2018). For lips no values are published: the structure is theirs, the numbers are
//! borrowed (`presets/playing/load.toml` has the source of each). Read what comes out as a warning
//! light, not as a measurement. The director, local rules and medical advice decide.
//!
//! Three things add up to 1: what works, what rests, and what is tired (MF). An effort is the share
//! that a note asks for. What is left, `1 - MF - effort`, is the **reserve**; under 0 the
//! note cannot be held as it is written.

mod carry;
mod conditions;
mod effort;
mod muscle;
mod part_load;
mod tables;
mod working;

pub use carry::{after_pause, after_rest};
pub use conditions::{Conditions, Start};
pub use effort::{bare_effort, effort};
pub use muscle::{Muscle, Piece};
pub use part_load::{
    Held, PartLoad, PlayerLoad, TimedNote, part_load, part_load_from, player_load,
    player_load_from, tired,
};
pub use tables::{
    Caution, StatedLoad, caution, low_reserve, muscle_of, shortest_rest, start as tired_at_start,
    stated_load,
};
pub use working::{Exceeded, Worked, WorkingLimits, worked, working_limits};
