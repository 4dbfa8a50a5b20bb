//! What was found in a sketch: lines, slices, chords, keys and phrases, as plain values.

use super::figures::figure::Figure;
use super::form::Form;
use super::harmony::{ChordScore, NoteInChord, RIVALS};
use super::song::Warning;
use crate::music::{
    Chord, HarmonicFunction, Key, KeySignature, Numeral, PitchClassSet, Quality, Sounding,
    SpelledName, Tick, Ticks,
};

/// The line that a note of the sketch belongs to.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Line {
    /// The tune.
    Melody,
    /// A second tune.
    Counterline,
    /// What fills the chord.
    Harmony,
    /// The lowest line.
    Bass,
    /// A broken-chord or repeated-note pattern.
    Figure,
}

impl Line {
    /// All lines, from the one heard first.
    pub const ALL: [Self; 5] = [
        Self::Melody,
        Self::Counterline,
        Self::Harmony,
        Self::Bass,
        Self::Figure,
    ];

    /// Its word in files and messages.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Melody => "melody",
            Self::Counterline => "counterline",
            Self::Harmony => "harmony",
            Self::Bass => "bass",
            Self::Figure => "figure",
        }
    }
}

/// A note of the sketch with the line it was found to belong to.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ReadNote {
    /// Where it begins.
    pub onset: Tick,
    /// How long the key is held, never zero.
    pub duration: Ticks,
    /// Until when it sounds: the key's release, or the pedal's if that is later and the note is
    /// not struck again before.
    pub sounds_until: Tick,
    /// Concert pitch.
    pub pitch: Sounding,
    /// 1 to 127.
    pub velocity: u8,
    /// Index of its track in the song.
    pub track: usize,
    /// Its line.
    pub line: Line,
    /// How sure the reader is of the line, 0 to 1.
    pub confidence: f32,
    /// The line that the arranger says it belongs to.
    pub tag: Option<Line>,
    /// Index in the notes of its track.
    pub index: usize,
    /// Whether it was played in as a grace note: an ornament without a beat of its own.
    pub grace: bool,
    /// Whether it was played in as part of a rolled chord.
    pub rolled: bool,
    /// The melody note that it goes along with in octaves, thirds or sixths: an index into
    /// [`Reading::notes`].
    pub doubles: Option<usize>,
}

/// What spoke for a note being melody, or against it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Evidence {
    /// The feature's word in `presets/melody-weights.toml`; `track` is what the file's tracks
    /// tell, `line` how the note fits the line before and after it.
    pub feature: &'static str,
    /// What the feature means.
    pub meaning: &'static str,
    /// Points for it (positive) or against. All points of a note add up to the log odds of its
    /// being melody: 0 is even, 3 is about 95 in 100.
    pub points: f32,
}

impl ReadNote {
    /// Where the key is let go.
    #[must_use]
    pub fn end(&self) -> Tick {
        self.onset + self.duration
    }
}

/// A longest stretch of time in which the sounding notes do not change. Slices follow one
/// another without gaps from the first onset to the last end; a silent one has no notes.
#[derive(Clone, PartialEq, Debug)]
pub struct Slice {
    /// Where it begins.
    pub start: Tick,
    /// Where it ends.
    pub end: Tick,
    /// Indices into [`Reading::notes`] of what sounds, pedal included, lowest first.
    pub sounding: Vec<usize>,
    /// Pitch classes of what sounds.
    pub classes: PitchClassSet,
    /// Index into [`Reading::chords`] of the chord over this slice.
    pub chord: Option<usize>,
}

/// A chord over a stretch of time.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ChordSpan {
    /// Where it begins.
    pub start: Tick,
    /// Where it ends.
    pub end: Tick,
    /// The chord.
    pub chord: Chord,
    /// Classes of the chord that nobody sounds: a fifth left out, say. Thirds are never added to
    /// what sounds: without one the kind is [`Quality::Single`], [`Quality::Fifth`] or the like.
    pub missing: PitchClassSet,
    /// Where no third sounds: the triad that the key would have there.
    pub implied: Option<Quality>,
    /// What the chord is in its key.
    pub numeral: Numeral,
    /// What it does there.
    pub function: HarmonicFunction,
    /// Why it was chosen, part by part.
    pub score: ChordScore,
    /// What else was near, best first.
    pub rivals: [Option<Rival>; RIVALS],
}

/// A chord that competed for a stretch.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Rival {
    /// The chord.
    pub chord: Chord,
    /// Its score there, to be held against [`ChordScore::total`] of the chosen one.
    pub score: f32,
}

/// A key over a stretch of time.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct KeySpan {
    /// Where it begins.
    pub start: Tick,
    /// The key, as sounding.
    pub key: Key,
    /// The signature that spells it: the file's own where it has one that agrees.
    pub signature: KeySignature,
    /// Whether the file says so (or it was found by ear).
    pub given: bool,
}

/// A phrase: a stretch between two breathing places of the melody. Phrases follow one another
/// without gaps over the whole sketch.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Phrase {
    /// Where it begins: the onset of its first note, a pickup included.
    pub start: Tick,
    /// Where the next begins (the last: where the sketch ends).
    pub end: Tick,
}

/// All that was found in a sketch.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Reading {
    /// All pitched notes, by onset, then pitch.
    pub notes: Vec<ReadNote>,
    /// Slices in order.
    pub slices: Vec<Slice>,
    /// Chords in order, without overlaps.
    pub chords: Vec<ChordSpan>,
    /// Keys in order, the first from tick 0; empty only for an empty sketch.
    pub keys: Vec<KeySpan>,
    /// Phrases in order.
    pub phrases: Vec<Phrase>,
    /// What the reader wants the arranger to know.
    pub warnings: Vec<Warning>,
    /// The names of the notes, one for each of [`Reading::notes`].
    pub names: Vec<SpelledName>,
    /// What repeats what, and the sections.
    pub form: Form,
    /// What each note is in its chord, in the order of `notes`.
    pub in_chord: Vec<NoteInChord>,
    /// Piano patterns, by start; a note is in at most one of a kind.
    pub figures: Vec<Figure>,
    /// For each note what spoke for and against its being melody, strongest first; none for
    /// notes that were never thought of. Empty unless asked for ([`super::ReadOptions::why`]).
    pub melody_evidence: Vec<Vec<Evidence>>,
}

impl Reading {
    /// The notes of one line, in order.
    pub fn line(&self, line: Line) -> impl Iterator<Item = &ReadNote> {
        self.notes.iter().filter(move |n| n.line == line)
    }

    /// The key at a tick; `None` only for an empty sketch.
    #[must_use]
    pub fn key(&self, at: Tick) -> Option<&KeySpan> {
        let next = self.keys.partition_point(|k| k.start <= at);
        self.keys.get(next.saturating_sub(1))
    }

    /// The chord at a tick.
    #[must_use]
    pub fn chord(&self, at: Tick) -> Option<&ChordSpan> {
        let next = self.chords.partition_point(|c| c.start <= at);
        self.chords.get(next.checked_sub(1)?).filter(|c| at < c.end)
    }

    /// The slice at a tick.
    #[must_use]
    pub fn slice(&self, at: Tick) -> Option<&Slice> {
        let next = self.slices.partition_point(|s| s.start <= at);
        self.slices.get(next.checked_sub(1)?).filter(|s| at < s.end)
    }
}
