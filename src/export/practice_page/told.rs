//! What a practice page tells, as plain values.

use crate::band::Level;
use crate::music::{BarBeat, BarNumber, KeySignature, MeterMap, Tick, Written};
use crate::notation::PartStave;
use crate::review::{BarsOfRest, Exposed, Ladder};
use crate::score::{DynamicMark, TempoMark};

/// The practice page of one part.
#[derive(Clone, PartialEq, Debug)]
pub struct PracticePage {
    /// What is played.
    pub title: String,
    /// The band's name.
    pub band: String,
    /// The part's name.
    pub part: String,
    /// Its instrument.
    pub instrument: String,
    /// Its players: how many of each level.
    pub levels: Vec<(Level, u16)>,
    /// How many bars there are.
    pub bars: u32,
    /// How long it lasts, seconds.
    pub seconds: f64,
    /// Keys as the player reads them, each from a bar on.
    pub keys: Vec<(BarNumber, KeySignature)>,
    /// The line.
    pub line: LineTold,
    /// Hard spots, the greatest trouble first.
    pub spots: Vec<PracticeSpot>,
    /// Rests to count, in order.
    pub rests: Vec<RestTold>,
    /// Who breathes when in notes that are held by several.
    pub in_turns: Vec<String>,
    /// Words of care about this band and this music.
    pub cautions: Vec<String>,
}

/// A line as it is written.
#[derive(Clone, PartialEq, Debug)]
pub struct LineTold {
    /// The notes with their clef.
    pub stave: PartStave,
    /// Bars.
    pub meters: MeterMap,
    /// Concert keys, each from a tick on, in order.
    pub keys: Vec<(Tick, KeySignature)>,
    /// Where the music ends.
    pub end: Tick,
    /// How loud it is written.
    pub dynamics: Vec<DynamicMark>,
    /// Where all of its players breathe.
    pub breaths: Vec<Tick>,
    /// Rehearsal marks.
    pub marks: Vec<(Tick, String)>,
    /// Tempos.
    pub tempos: Vec<TempoMark>,
}

/// A hard spot with how to practise it.
#[derive(Clone, PartialEq, Debug)]
pub struct PracticeSpot {
    /// The bars in which it comes.
    pub bars: Vec<BarNumber>,
    /// Where its hardest note is.
    pub place: BarBeat,
    /// That note as the player reads it.
    pub written: Written,
    /// Its clean chance, 0 to 1.
    pub chance: f64,
    /// Why the part is heard by itself there.
    pub exposed: Option<Exposed>,
    /// What makes it hard, dearest first.
    pub causes: Vec<String>,
    /// Tempos to practise it at.
    pub ladder: Ladder,
}

/// A rest to count.
#[derive(Clone, PartialEq, Debug)]
pub struct RestTold {
    /// The bars.
    pub rest: BarsOfRest,
    /// Who has the tune in its last bar.
    pub cue: Vec<String>,
}
