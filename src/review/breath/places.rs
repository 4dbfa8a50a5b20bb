//! Where between two notes a breath is better and where worse.

use super::BreathFrame;
use super::air::Held;

/// A note of so many beats is long: it may be let go a little early.
const LONG_BEATS: u64 = 2;
/// A leap of so many semitones is taken after a breath, a fifth.
const LEAP: u8 = 7;
/// In less there is no time to breathe, seconds: what is asked more then.
const QUICK: (f64, u32) = (0.3, 10);

/// A place between two notes, best first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Place {
    /// A phrase begins with the note after it.
    Phrase,
    /// After a long note.
    LongNote,
    /// Before a leap.
    Leap,
    /// Between two notes of one pitch.
    Repeated,
    /// Before a beat that is not the first of its bar.
    WeakBeat,
    /// Before the first beat of a bar.
    Barline,
    /// Before a note between the beats.
    OffBeat,
}

impl Place {
    /// All, best first.
    pub const ALL: [Self; 7] = [
        Self::Phrase,
        Self::LongNote,
        Self::Leap,
        Self::Repeated,
        Self::WeakBeat,
        Self::Barline,
        Self::OffBeat,
    ];

    /// What a breath costs there, points. Phrases before all else; not over the barline; rather after long notes,
    /// before leaps and between repeated notes than in a line that moves by step (common practice, no source; the
    /// sizes are ours). Every breath costs something, so that there are no more than need be.
    #[must_use]
    pub const fn points(self) -> u32 {
        match self {
            Self::Phrase => 1,
            Self::LongNote => 3,
            Self::Leap | Self::Repeated => 4,
            Self::WeakBeat => 6,
            Self::Barline => 8,
            Self::OffBeat => 12,
        }
    }

    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Phrase => "phrase",
            Self::LongNote => "long_note",
            Self::Leap => "leap",
            Self::Repeated => "repeated",
            Self::WeakBeat => "weak_beat",
            Self::Barline => "barline",
            Self::OffBeat => "off_beat",
        }
    }
}

/// What the place between two notes is, the best that can be said of it, and what a breath costs there.
#[must_use]
pub fn cost(before: &Held, after: &Held, frame: &BreathFrame<'_>) -> (Place, u32) {
    let meters = frame.meters;
    let at = after.onset;
    let beat = meters.meter(at).beat(frame.tempo.quarter()).0.max(1);
    let in_bar = at.since(meters.bar_start(meters.bar(at))).0;
    let says = |place| match place {
        Place::Phrase => frame.phrases.binary_search(&at).is_ok(),
        Place::LongNote => before.end.since(before.onset).0 >= LONG_BEATS * beat,
        Place::Leap => before.pitch.distance(after.pitch) >= LEAP,
        Place::Repeated => before.pitch == after.pitch,
        Place::WeakBeat => in_bar > 0 && in_bar.is_multiple_of(beat),
        Place::Barline => in_bar == 0,
        Place::OffBeat => true,
    };
    let place = Place::ALL.into_iter().find(|p| says(*p));
    let place = place.unwrap_or(Place::OffBeat);
    let quick = if before.seconds < QUICK.0 { QUICK.1 } else { 0 };
    (place, place.points() + quick)
}
