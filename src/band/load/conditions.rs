//! Under what conditions a show is played.

use crate::band::playing::Posture;

/// How the players come to the first note.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Start {
    /// Rested.
    #[default]
    Fresh,
    /// In the middle of a programme: somewhat tired.
    MidProgramme,
}

/// Under what conditions a show is played. Marching and fresh, if nothing is said.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Conditions {
    /// Seated or marching.
    pub posture: Posture,
    /// Fresh or in the middle of a programme.
    pub start: Start,
}
