//! A bar of one stave as it is written: plain values for whoever draws or exports it.

use super::accidentals::Accidental;
use super::beams::BeamGroup;
use super::stave::StaveNote;
use super::value::{Grains, Value};
use crate::music::{BarNumber, KeySignature, Meter, SpelledName, Tick, Ticks};

/// A notehead.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct WrittenNote {
    /// Which of the stave's notes it belongs to.
    pub index: usize,
    /// Its name as written.
    pub name: SpelledName,
    /// Where it stands.
    pub place: StaveNote,
    /// The sign before it, if one is shown.
    pub accidental: Option<Accidental>,
    /// Whether it is tied to what comes before.
    pub tied_from: bool,
    /// Whether it is tied to what follows.
    pub tied_to: bool,
}

/// A note, a chord or a rest.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Event {
    /// Where it begins in the bar.
    pub place: Grains,
    /// How long it is.
    pub grains: Grains,
    /// The tick nearest to where it begins.
    pub at: Tick,
    /// How long it is in ticks.
    pub length: Ticks,
    /// Its value; a whole note's for the rest of a whole bar.
    pub value: Value,
    /// Whether it is the rest of a whole bar, whatever the meter.
    pub whole_bar: bool,
    /// Its notes, lowest first; none for a rest.
    pub notes: Vec<WrittenNote>,
}

impl Event {
    /// Whether it is a rest.
    #[must_use]
    pub const fn is_rest(&self) -> bool {
        self.notes.is_empty()
    }

    /// Where it ends in the bar.
    #[must_use]
    pub fn end(&self) -> Grains {
        self.place + self.grains
    }
}

/// Events under one tuplet's number.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct WrittenTuplet {
    /// The first of its events.
    pub from: usize,
    /// The last of its events.
    pub to: usize,
    /// The number shown.
    pub number: u8,
}

/// One voice of a bar; its events fill the bar.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct WrittenVoice {
    /// What is written, in order.
    pub events: Vec<Event>,
    /// What is beamed together.
    pub beams: Vec<BeamGroup>,
    /// Tuplets in order.
    pub tuplets: Vec<WrittenTuplet>,
}

/// A bar of one stave.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct WrittenBar {
    /// Its number.
    pub number: BarNumber,
    /// Where it begins.
    pub start: Tick,
    /// Where it ends.
    pub end: Tick,
    /// How long it is in writing.
    pub length: Grains,
    /// The meter that holds in it.
    pub meter: Meter,
    /// Whether the meter is another than in the bar before.
    pub new_meter: bool,
    /// The written signature that holds in it; `None` for parts without one.
    pub key: Option<KeySignature>,
    /// The signature of the bar before, where that was another.
    pub old_key: Option<KeySignature>,
    /// One to four voices, the upper ones first.
    pub voices: Vec<WrittenVoice>,
}

impl WrittenBar {
    /// Where a tick lies in the bar, in grains, from its start to its end.
    #[must_use]
    pub fn place(&self, at: Tick) -> f32 {
        let whole = self.end.since(self.start).0.max(1) as f64;
        let share = at.since(self.start).0 as f64 / whole;
        (share.min(1.0) * f64::from(self.length.0)) as f32
    }
}
