//! An instrument: what it is called, how it transposes, what each level can play on it.

use super::level::Level;
use super::playing::Playing;
use crate::music::{Transposition, Written};
use std::fmt;

/// The region of the score that an instrument stands in.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Family {
    /// Woodwinds.
    Woodwind,
    /// Brass.
    Brass,
    /// Basses that are plucked or bowed; they stand with the low brass.
    String,
    /// Pitched percussion.
    Percussion,
    /// Electronic instruments.
    Electronic,
}

/// Instruments that move together in a score.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Choir {
    /// Piccolos, flutes and oboes.
    Flutes,
    /// Clarinets from E flat to alto.
    Clarinets,
    /// Soprano to tenor saxophones.
    Saxophones,
    /// Bass clarinet, bassoon, baritone saxophone.
    LowReeds,
    /// Trumpets, cornets, flugelhorns.
    Trumpets,
    /// Horns and mellophones.
    Horns,
    /// Trombones.
    Trombones,
    /// Baritones and euphoniums.
    Euphoniums,
    /// Tubas, sousaphones, contras, string and electric bass.
    Basses,
    /// Pitched percussion and keyboards.
    Mallets,
}

/// A range of written pitches, both ends included.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct WrittenRange {
    /// Lowest.
    pub low: Written,
    /// Highest.
    pub high: Written,
}

impl fmt::Display for WrittenRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {}", self.low, self.high)
    }
}

/// What players of one level can play.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct LevelRange {
    /// May be relied on.
    pub comfortable: WrittenRange,
    /// Can be reached, not relied on; holds the comfortable range.
    pub stretch: WrittenRange,
}

/// An instrument of the table.
#[derive(Clone, PartialEq, Debug)]
pub struct Instrument {
    /// Its stable word in rosters, such as `clarinet_bb`.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// Family.
    pub family: Family,
    /// Choir.
    pub choir: Choir,
    /// The key it is built in, as the trade says it: `Bb`, `C written`.
    pub key: String,
    /// Sounding minus written.
    pub transposition: Transposition,
    /// Clef code and remarks as in the table: `G2`, `F4`.
    pub clef: String,
    /// General MIDI program from 0.
    pub program: u8,
    /// Sound id of the MusicXML standard.
    pub sound_id: String,
    /// Place in score order, from 0.
    pub score_order: usize,
    /// Widest ordinary professional range.
    pub professional: WrittenRange,
    /// What each level can play, by [`Level::index`].
    pub levels: [LevelRange; 5],
    /// Whether more than one note at a time can be played (keyboards, mallets).
    pub chordal: bool,
    /// Whether the player breathes through it.
    pub wind: bool,
    /// What is known of playing it besides its ranges.
    pub playing: Playing,
}

impl Instrument {
    /// What a level can play.
    #[must_use]
    pub const fn range(&self, level: Level) -> LevelRange {
        self.levels[level.index()]
    }
}
