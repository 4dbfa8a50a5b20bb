//! Who of a section plays which part: the cheapest of all divisions, by a small named cost.
//!
//! Strong players go to the first part, but not all of them; the lower parts have enough players
//! for the chords; nobody is alone who should not be. What the director fixed stays.

mod cost;
mod part_count;
mod seats;
mod solve;
mod words;

pub use cost::{Counts, DivisionCost, Task, division_cost};
pub use part_count::{MOST_SECTION_PARTS, usual_parts};
pub use solve::divide;

pub(super) use seats::divide_section;

use crate::band::roster::Players;

/// A part of a divided section.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Share {
    /// The part's name.
    pub part: String,
    /// Who plays it.
    pub players: Players,
    /// Their seats, indices of the section's.
    pub seats: Vec<usize>,
}

/// How a section is divided over its parts.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Division {
    /// The section's name.
    pub section: String,
    /// Its parts, the first part first; those that nobody plays too.
    pub shares: Vec<Share>,
    /// What the division costs.
    pub cost: DivisionCost,
    /// Why it is so, in sentences for the director.
    pub reasons: Vec<String>,
}
