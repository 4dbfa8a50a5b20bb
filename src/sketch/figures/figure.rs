//! A figure: a piano pattern with its extent, the harmony under it and what winds can make of it.

use crate::music::{Sounding, Tick};

/// What the hands do.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum FigureKind {
    /// The tones of a chord one after the other.
    BrokenChord,
    /// The same: low, high, middle, high.
    Alberti,
    /// A bass note, then chords after it.
    OomPah,
    /// The same with a leap of an octave and more between bass and chord, in beats.
    Stride,
    /// Two tones, or a tone and a chord, in quick turns.
    Tremolo,
    /// A line with its octave.
    Octaves,
    /// A chord struck again and again.
    RepeatedChords,
    /// The tones of a chord struck quickly from below and held.
    RolledChord,
    /// Quick steps in one direction.
    ScalarRun,
    /// A bar of low notes again and again.
    Ostinato,
}

impl FigureKind {
    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::BrokenChord => "broken_chord",
            Self::Alberti => "alberti",
            Self::OomPah => "oom_pah",
            Self::Stride => "stride",
            Self::Tremolo => "tremolo",
            Self::Octaves => "octaves",
            Self::RepeatedChords => "repeated_chords",
            Self::RolledChord => "rolled_chord",
            Self::ScalarRun => "scalar_run",
            Self::Ostinato => "ostinato",
        }
    }

    /// The ways in which winds can play it, the usual one first (common practice, no source).
    #[must_use]
    pub const fn ways(self) -> &'static [FigureWay] {
        use FigureWay::{Kept, OffBeats, Shared, Sustained};
        match self {
            Self::BrokenChord | Self::Alberti => &[Kept, Shared, Sustained],
            Self::Tremolo | Self::RolledChord => &[Sustained],
            Self::OomPah | Self::Stride | Self::RepeatedChords => &[OffBeats],
            Self::Octaves | Self::Ostinato => &[Kept],
            Self::ScalarRun => &[Kept, Shared],
        }
    }

    /// Whether its tones are one chord after another that may be held.
    #[must_use]
    pub const fn is_held(self) -> bool {
        matches!(
            self,
            Self::BrokenChord | Self::Alberti | Self::Tremolo | Self::RolledChord
        )
    }
}

/// A way in which winds play a figure.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum FigureWay {
    /// The chord under it is held.
    Sustained,
    /// Chords are struck where the sketch strikes them.
    OffBeats,
    /// An agile part plays it.
    Kept,
    /// Two agile parts play it in turn, a bar each.
    Shared,
}

impl FigureWay {
    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sustained => "sustained_chord",
            Self::OffBeats => "off_beats",
            Self::Kept => "figure_kept",
            Self::Shared => "shared",
        }
    }
}

/// The tones of a figure over a stretch of time: they may be held all through it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Held {
    /// Where they begin.
    pub start: Tick,
    /// Where they end.
    pub end: Tick,
    /// The pitches that the figure strikes in this time, lowest first.
    pub pitches: Vec<Sounding>,
}

/// A piano pattern over a stretch of time.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Figure {
    /// What the hands do.
    pub kind: FigureKind,
    /// Where its first note begins.
    pub start: Tick,
    /// Where its last note ends.
    pub end: Tick,
    /// Indices into the reading's notes, in order.
    pub notes: Vec<usize>,
    /// The harmony under it, in order, without overlaps; empty where the pattern is none of one
    /// chord after another.
    pub harmony: Vec<Held>,
}
