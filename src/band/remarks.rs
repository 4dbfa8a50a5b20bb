//! What the director said of a part: a small closed vocabulary, each word of which becomes a limit.

use super::instrument::Instrument;
use crate::music::{Interval, Written};
use std::fmt;
use std::sync::Arc;

/// Notes a second.
#[derive(Clone, Copy, PartialEq, PartialOrd, Debug)]
pub struct NotesPerSecond(pub f64);

/// Whether a part may be heard alone.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Exposure {
    /// The director said nothing: alone only where its players are strong.
    #[default]
    Unsaid,
    /// May be heard alone, as a soloist.
    May,
    /// Never heard alone: another part plays the same line with it.
    Never,
}

/// Why players are to be gone easy on.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum GoEasy {
    /// Braces on the teeth.
    Braces,
    /// An injury, of which nothing more need be said.
    Injury,
}

impl GoEasy {
    /// The word that rosters use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Braces => "braces",
            Self::Injury => "injury",
        }
    }
}

impl fmt::Display for GoEasy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// What the director said of a part.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Remarks {
    /// Nothing written below this.
    pub lowest: Option<Written>,
    /// Nothing written above this.
    pub highest: Option<Written>,
    /// Clarinets: stay below the break (nothing above written B flat 4).
    pub below_the_break: bool,
    /// No interval greater than this between two notes that follow one another.
    pub no_leaps_over: Option<Interval>,
    /// No notes that follow one another faster than this.
    pub no_faster_than: Option<NotesPerSecond>,
    /// A rest of a whole bar at least once in so many bars: never more bars than this played
    /// without one.
    pub rests_every: Option<u16>,
    /// No written key with more sharps or flats than this.
    pub accidentals_at_most: Option<u8>,
    /// Whether it may be heard alone.
    pub exposure: Exposure,
    /// The second instrument of its players; they cannot play both at once.
    pub doubles: Option<Arc<Instrument>>,
    /// Braces or an injury: narrower and shorter, and the director is asked ([`GoEasy::caution`]).
    pub go_easy: Option<GoEasy>,
    /// Free text.
    pub note: String,
}
