//! What a director's sheet tells, as plain values. Whoever has a draft fills them in; nothing is worked out here.

use crate::band::Level;
use crate::band::load::Conditions;
use crate::music::{BarBeat, BarNumber, KeySignature, Meter, Sounding, Written};
use crate::notation::RangeStave;
use crate::review::{Exposed, ExposedMoment, Finding, PlayedBars};
use crate::score::BeatsAMinute;

/// A director's sheet.
#[derive(Clone, PartialEq, Debug)]
pub struct DirectorsSheet {
    /// What is played.
    pub title: String,
    /// The band's name.
    pub band: String,
    /// What its roster says of it.
    pub note: String,
    /// How many players there are.
    pub players: u32,
    /// Parts that nobody is there to play.
    pub resting: Vec<String>,
    /// How many bars there are.
    pub bars: u32,
    /// How long it lasts, seconds.
    pub seconds: f64,
    /// Concert keys, each from a bar on; empty where none is known.
    pub keys: Vec<(BarNumber, KeySignature)>,
    /// Meters, each from a bar on.
    pub meters: Vec<(BarNumber, Meter)>,
    /// Beats a minute, each from a bar on.
    pub tempos: Vec<(BarNumber, BeatsAMinute)>,
    /// Under what conditions it is played.
    pub conditions: Conditions,
    /// The same in words.
    pub conditions_in_words: String,
    /// What to rehearse first, the greatest trouble first.
    pub rehearse: Vec<SpotTold>,
    /// How many spots there are besides.
    pub more_spots: usize,
    /// The parts in score order.
    pub parts: Vec<PartTold>,
    /// What became of the tune.
    pub tune: TuneTold,
    /// What a reviewer would mark.
    pub findings: Vec<Finding>,
    /// How many findings the arranger put aside; they are not among the others.
    pub put_aside: usize,
    /// Words of care about this band and this music.
    pub cautions: Vec<String>,
}

/// A spot to rehearse.
#[derive(Clone, PartialEq, Debug)]
pub struct SpotTold {
    /// Who.
    pub part: String,
    /// The bars in which it comes.
    pub bars: Vec<BarNumber>,
    /// Where its hardest note is.
    pub place: BarBeat,
    /// That note as the player reads it.
    pub written: Written,
    /// Its clean chance, 0 to 1.
    pub chance: f64,
    /// How many notes all players of the part are likely to miss there.
    pub missed: f64,
    /// Why the part is heard by itself there.
    pub exposed: Option<Exposed>,
    /// What makes it hard, dearest first.
    pub causes: Vec<String>,
}

/// A part.
#[derive(Clone, PartialEq, Debug)]
pub struct PartTold {
    /// Its name.
    pub name: String,
    /// Its instrument.
    pub instrument: String,
    /// Its players: how many of each level.
    pub levels: Vec<(Level, u16)>,
    /// Who is away, in words.
    pub away: Vec<String>,
    /// What the director said, in words.
    pub remarks: Vec<String>,
    /// Comfortable, stretch and limits, as written.
    pub stave: RangeStave,
    /// Seconds that each written pitch sounds, lowest first.
    pub times: Vec<(Written, f64)>,
    /// The mean clean chance of its notes, 0 to 1.
    pub clean: f64,
    /// How many notes each player is likely to miss.
    pub missed: f64,
    /// Its hardest spots, hardest first.
    pub hardest: Vec<HardTold>,
    /// Where it is exposed.
    pub exposed: Vec<ExposedMoment>,
    /// Bars played and rested.
    pub played: PlayedBars,
    /// How tired its lips get; `None` where no lips are at work.
    pub load: Option<LoadTold>,
    /// Keys as the player reads them, each from a bar on.
    pub keys: Vec<(BarNumber, KeySignature)>,
}

/// A hard spot of a part.
#[derive(Clone, PartialEq, Debug)]
pub struct HardTold {
    /// Where.
    pub place: BarBeat,
    /// The note as the player reads it.
    pub written: Written,
    /// Its clean chance, 0 to 1.
    pub chance: f64,
    /// What makes it hard, dearest first.
    pub causes: Vec<String>,
}

/// How tired the weakest players of a part get.
#[derive(Clone, PartialEq, Debug)]
pub struct LoadTold {
    /// Their level.
    pub level: Level,
    /// How tired at the most, 0 to 1, and in which bar.
    pub most_tired: (f64, BarNumber),
    /// The least reserve, -1 to 1, and in which bar.
    pub least_reserve: (f64, BarNumber),
    /// How many working limits of brass are exceeded.
    pub exceeded: usize,
}

/// What became of the tune.
#[derive(Clone, PartialEq, Debug)]
pub enum TuneTold {
    /// Nothing is known of the sketch.
    NoSketch,
    /// The draft was made elsewhere or left as MIDI, which carries no list of changes.
    NotListed,
    /// These notes are not as in the sketch; none, where the list is empty.
    Listed(Vec<ChangeTold>),
}

/// A note of the tune that is not as in the sketch.
#[derive(Clone, PartialEq, Debug)]
pub struct ChangeTold {
    /// Where.
    pub place: BarBeat,
    /// What the sketch has, as it sounds.
    pub sketch: Sounding,
    /// What stands in its place, as it sounds; `None`: nobody plays it.
    pub new: Option<Sounding>,
    /// Who plays it.
    pub parts: Vec<String>,
    /// Why.
    pub reason: String,
}
