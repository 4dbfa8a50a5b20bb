//! What an edit works on, what comes of it, and why it may be refused.

use super::selection::Selection;
use crate::band::{Band, Part, PartId};
use crate::music::{BarBeat, BarNumber, MeterMap, Sounding, Tick, TicksPerQuarter};
use crate::score::{Draft, DraftNote, Locks, Passage};
use crate::sketch::Reading;
use thiserror::Error;

/// What an edit works on.
#[derive(Clone, Copy, Debug)]
pub struct Desk<'a> {
    /// The band.
    pub band: &'a Band,
    /// What was read in the sketch.
    pub reading: &'a Reading,
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Ticks of a quarter note.
    pub quarter: TicksPerQuarter,
    /// The passages of the piece, in order.
    pub passages: &'a [Passage],
    /// The draft.
    pub draft: &'a Draft,
    /// What is locked.
    pub locks: &'a Locks,
}

impl<'a> Desk<'a> {
    /// The notes of a part; none for a part that the draft has no line of.
    #[must_use]
    pub fn line(&self, part: PartId) -> &'a [DraftNote] {
        line_of(self.draft, part)
    }

    /// A part; `None` for an id of another band.
    #[must_use]
    pub fn part(&self, part: PartId) -> Option<&'a Part> {
        self.band.parts.get(part.0)
    }

    /// Where the piece ends: the last that the sketch or the draft sounds.
    #[must_use]
    pub fn end(&self) -> Tick {
        let sketch = self.reading.slices.last().map(|s| s.end);
        let lines = self.draft.lines.iter().flat_map(|l| &l.notes);
        let draft = lines.map(DraftNote::end).max();
        sketch.max(draft).unwrap_or(Tick::ZERO)
    }

    /// The last bar of the piece; bar 1 where there is nothing.
    #[must_use]
    pub fn last_bar(&self) -> BarNumber {
        let last = Tick(self.end().0.saturating_sub(1));
        let locked = self.locks.0.iter().filter_map(|l| l.bars.0.last()).max();
        self.meters
            .bar(last)
            .max(locked.copied().unwrap_or(BarNumber(1)))
    }

    /// Where some bars begin and end.
    #[must_use]
    pub fn span(&self, (first, last): (BarNumber, BarNumber)) -> (Tick, Tick) {
        (self.meters.bar_start(first), self.meters.bar_end(last))
    }
}

/// The notes of a part in a draft; none for a part that it has no line of.
pub(super) fn line_of(draft: &Draft, part: PartId) -> &[DraftNote] {
    let line = draft.lines.iter().find(|l| l.part == part);
    line.map_or(&[][..], |l| &l.notes)
}

/// Which way pitches move.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Way {
    /// Up.
    Up,
    /// Down.
    Down,
}

impl Way {
    /// Its word in sentences.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Up => "up",
            Self::Down => "down",
        }
    }

    /// The pitches from one on, without it, the nearest first.
    pub(super) fn pitches(self, from: Sounding) -> impl Iterator<Item = Sounding> {
        let (low, high) = match self {
            Self::Up => (from.midi() + 1, 127),
            Self::Down => (0, from.midi().saturating_sub(1)),
        };
        // Nothing is below the lowest pitch.
        let none = self == Self::Down && from == Sounding::LOWEST;
        let count = if none {
            0
        } else {
            (high + 1).saturating_sub(low)
        };
        (0..count).filter_map(move |i| {
            Sounding::new(match self {
                Self::Up => low + i,
                Self::Down => high - i,
            })
        })
    }
}

/// What came of an edit.
#[derive(Clone, PartialEq, Debug)]
pub struct Done {
    /// The draft after it.
    pub draft: Draft,
    /// The locks after it; they agree with the draft in every bar that they hold.
    pub locks: Locks,
    /// What is selected after it: a note that moved is still selected.
    pub selection: Selection,
    /// The step's name in the history, such as `move a note of Trumpet 1 in bar 12 up an octave`.
    pub name: String,
    /// What the arranger should know of it, one sentence each.
    pub notes: Vec<String>,
}

/// Why an edit was not made; the draft is as it was.
#[derive(Clone, PartialEq, Debug, Error)]
pub enum Refused {
    /// A part is not of this band.
    #[error("the band has no such part; select a part of the score")]
    NoPart,
    /// Nothing is selected that the edit could be about.
    #[error("no note begins in {0}; select bars or a note of a part that plays")]
    NoNotes(String),
    /// The edit is about one note.
    #[error("select one note for this")]
    NotOneNote,
    /// No chord is known at a place.
    #[error("the sketch has no chord at {0}; move the note by steps or octaves")]
    NoChord(BarBeat),
    /// No key is known at a place.
    #[error("no key is known at {0}; move the note by octaves or to a pitch")]
    NoKey(BarBeat),
    /// There is no pitch to move to.
    #[error("{part} at {place}: there is no pitch to move to; it stays as it is")]
    NoPitch {
        /// The part.
        part: String,
        /// Where.
        place: BarBeat,
    },
    /// Nobody at all plays this on the instrument.
    #[error(
        "{part} at {place}: nobody plays written {pitch} on this instrument, which has {range}; choose another octave or part"
    )]
    BeyondInstrument {
        /// The part.
        part: String,
        /// Where.
        place: BarBeat,
        /// The written pitch.
        pitch: String,
        /// The instrument's widest range, written.
        range: String,
    },
    /// Two notes would sound at once that cannot.
    #[error("{part} would have two notes at once at {place}; shorten or delete one first")]
    TwoAtOnce {
        /// The part.
        part: String,
        /// Where.
        place: BarBeat,
    },
    /// Something sounds where a note was to begin.
    #[error("{part} sounds {pitch} at {place}; split or delete that note first")]
    Taken {
        /// The part.
        part: String,
        /// What sounds.
        pitch: Sounding,
        /// Where.
        place: BarBeat,
    },
    /// A note begins after the end of the piece.
    #[error("{0} is after the end of the piece; choose a place in it")]
    AfterEnd(BarBeat),
    /// A note cannot be cut there.
    #[error("the note cannot be cut there; choose a place inside it")]
    NotInside,
    /// Notes are as short as they get.
    #[error("the notes are as short as this grid makes them; choose a finer one")]
    TooShort,
    /// There is no room to grow.
    #[error("the next note begins where this one ends; move or delete it first")]
    NoRoom,
    /// There is nothing to join.
    #[error("no two notes adjoin here; make the first one longer instead")]
    NotAdjoining,
    /// Nobody was named to take notes.
    #[error("name a part to take the notes, other than {0}")]
    NobodyToTake(String),
    /// A passage and its repeat are the same bars.
    #[error("a passage cannot be pasted onto its own bars; choose its repeat")]
    OnItself,
    /// The sketch's line has nothing there.
    #[error(
        "the sketch's {line} has no note that begins in {bars}; choose other bars or another line"
    )]
    NoSketchNotes {
        /// The line's word.
        line: &'static str,
        /// The bars.
        bars: String,
    },
    /// Nothing is locked there.
    #[error("nothing is locked in {0}; select bars of a lock")]
    NotLocked(String),
    /// All is as it was.
    #[error("that changes nothing; the draft is so already")]
    NothingChanges,
}
