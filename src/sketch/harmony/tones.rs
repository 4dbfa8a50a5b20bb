//! What each note is in its chord: its tone, where it wants to go, and if it is foreign, what kind
//! of ornament it is.

use super::neighbours::{Neighbours, is_on_beat};
use super::spans::key_at;
use crate::music::{ChordTone, HarmonicFunction, Key, MeterMap, Quality, Tick};
use crate::sketch::reading::{ChordSpan, KeySpan, Line, ReadNote};

/// How a note that is foreign to its chord came about, by its steps in its own line (the terms of
/// the textbooks: Piston, Harmony, from memory).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Foreign {
    /// Between two notes a step away on either side.
    Passing,
    /// A step away from a note and back.
    Neighbour,
    /// One of both neighbours around a note.
    DoubleNeighbour,
    /// Held or struck again from the chord before, then a step down.
    Suspension,
    /// The same, then a step up.
    Retardation,
    /// Early: it belongs to the next chord.
    Anticipation,
    /// Reached by leap, left by step.
    Appoggiatura,
    /// Reached by step, left by leap.
    Escape,
    /// Held or repeated while chords change.
    Pedal,
    /// Reached and left by leap.
    Free,
}

impl Foreign {
    /// A stable word for files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Passing => "passing",
            Self::Neighbour => "neighbour",
            Self::DoubleNeighbour => "double_neighbour",
            Self::Suspension => "suspension",
            Self::Retardation => "retardation",
            Self::Anticipation => "anticipation",
            Self::Appoggiatura => "appoggiatura",
            Self::Escape => "escape",
            Self::Pedal => "pedal",
            Self::Free => "free",
        }
    }
}

/// Why a note wants to go somewhere.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Pull {
    /// The third of a dominant, or the root of a leading-tone chord: up a half step.
    LeadingTone,
    /// A seventh: down a step.
    Seventh,
    /// A diminished fifth down, an augmented one up a half step.
    AlteredFifth,
    /// A flat ninth: down a half step.
    FlatNinth,
    /// A fourth in the third's place: down a step.
    SuspendedFourth,
    /// The upper tone of an augmented sixth: up a half step.
    AugmentedSixth,
    /// A foreign note that resolves by step.
    Ornament,
}

impl Pull {
    /// A stable word for files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::LeadingTone => "leading_tone",
            Self::Seventh => "seventh",
            Self::AlteredFifth => "altered_fifth",
            Self::FlatNinth => "flat_ninth",
            Self::SuspendedFourth => "suspended_fourth",
            Self::AugmentedSixth => "augmented_sixth",
            Self::Ornament => "ornament",
        }
    }
}

/// Where a tendency tone wants to go.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Tendency {
    /// Why.
    pub pull: Pull,
    /// Where to, in semitones up.
    pub by: i8,
}

/// What a note is in its chord.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct NoteInChord {
    /// Its tone in the chord at its onset; `None` where it is foreign or there is no chord.
    pub tone: Option<ChordTone>,
    /// What it is where it is foreign: at its onset, or (a suspension or pedal that was a tone of
    /// its first chord) where it hangs over into the next.
    pub foreign: Option<Foreign>,
    /// Whether the foreign note lies outside the key.
    pub chromatic: bool,
    /// Where it wants to go.
    pub tendency: Option<Tendency>,
}

/// What the notes are judged by.
pub(super) struct View<'a> {
    pub(super) notes: &'a [ReadNote],
    pub(super) around: &'a [Neighbours],
    pub(super) chords: &'a [ChordSpan],
    pub(super) keys: &'a [KeySpan],
    pub(super) meters: &'a MeterMap,
}

impl View<'_> {
    /// What each note is in its chord.
    pub(super) fn all(&self) -> Vec<NoteInChord> {
        (0..self.notes.len()).map(|i| self.one(i)).collect()
    }

    fn chord(&self, at: Tick) -> Option<usize> {
        let next = self.chords.partition_point(|c| c.start <= at);
        let index = next.checked_sub(1)?;
        (at < self.chords[index].end).then_some(index)
    }

    fn one(&self, i: usize) -> NoteInChord {
        let note = &self.notes[i];
        let Some(index) = self.chord(note.onset) else {
            return NoteInChord::default();
        };
        let span = &self.chords[index];
        let key = key_at(self.keys, note.onset);
        let class = note.pitch.class();
        let tone = span.chord.tone(class);
        let foreign = match tone {
            None => Some(self.foreign(i, index)),
            Some(_) => self.hangs_over(i, index),
        };
        NoteInChord {
            tone,
            foreign,
            chromatic: tone.is_none() && !key.has(class),
            tendency: match tone {
                Some(tone) => tendency(span, key, note, tone),
                None => self.ornament(i, foreign),
            },
        }
    }

    /// Semitones from the note before and to the note after.
    fn steps(&self, i: usize) -> (Option<i32>, Option<i32>) {
        let midi = |j: usize| self.notes.get(j).map(|n| i32::from(n.pitch.midi()));
        let own = i32::from(self.notes[i].pitch.midi());
        let near = self.around[i];
        let from = near.before.and_then(midi).map(|b| own - b);
        let to = near.after.and_then(midi).map(|a| a - own);
        (from, to)
    }

    fn foreign(&self, i: usize, chord: usize) -> Foreign {
        let (from, to) = self.steps(i);
        let is_step = |x: i32| matches!(x.abs(), 1 | 2);
        let note = &self.notes[i];
        let early = self.belongs_to_next(i, chord);
        match (from, to) {
            (Some(0), Some(0)) => Foreign::Pedal,
            (_, Some(0)) if early => Foreign::Anticipation,
            (Some(0), Some(-1 | -2)) => Foreign::Suspension,
            (Some(0), Some(1 | 2)) => Foreign::Retardation,
            (Some(a), Some(b)) if is_step(a) && is_step(b) => {
                if a.signum() == b.signum() {
                    Foreign::Passing
                } else {
                    Foreign::Neighbour
                }
            }
            _ if self.is_double_neighbour(i) => Foreign::DoubleNeighbour,
            (_, Some(b)) if is_step(b) => Foreign::Appoggiatura,
            _ if early && !is_on_beat(self.meters, note.onset) => Foreign::Anticipation,
            (Some(a), _) if is_step(a) => Foreign::Escape,
            _ if note.line == Line::Bass && note.end() >= self.chords[chord].end => Foreign::Pedal,
            _ => Foreign::Free,
        }
    }

    /// Whether a note is a tone of the next chord, which begins where it ends or before.
    fn belongs_to_next(&self, i: usize, chord: usize) -> bool {
        let note = &self.notes[i];
        let near = note.duration.0 / 8;
        self.chords.get(chord + 1).is_some_and(|next| {
            next.start.0 <= note.end().0.saturating_add(near)
                && next.chord.tone(note.pitch.class()).is_some()
        })
    }

    /// Whether a note and the one before or after it lie a step on either side of a note that
    /// comes before and after both.
    fn is_double_neighbour(&self, i: usize) -> bool {
        let around = |j: usize| self.around.get(j).copied().unwrap_or_default();
        let near = around(i);
        let first = |a: Option<usize>, x: Option<usize>, y: Option<usize>, b: Option<usize>| {
            let midi = |j: Option<usize>| Some(i32::from(self.notes.get(j?)?.pitch.midi()));
            let Some((((a, x), y), b)) = midi(a).zip(midi(x)).zip(midi(y)).zip(midi(b)) else {
                return false;
            };
            a == b && matches!((x - a) * (y - a), -4..=-1) && (x - a).abs() < 3 && (y - a).abs() < 3
        };
        let after = near.after.and_then(|a| around(a).after);
        let before = near.before.and_then(|b| around(b).before);
        first(near.before, Some(i), near.after, after)
            || first(before, near.before, Some(i), near.after)
    }

    /// What a chord tone becomes that is held into a chord it is foreign to.
    fn hangs_over(&self, i: usize, chord: usize) -> Option<Foreign> {
        let note = &self.notes[i];
        let next = self.chords.get(chord + 1)?;
        let over = note.end().since(next.start).0;
        if 16 * over < note.duration.0 || next.chord.tone(note.pitch.class()).is_some() {
            return None;
        }
        match self.steps(i).1 {
            Some(-1 | -2) => Some(Foreign::Suspension),
            Some(1 | 2) => Some(Foreign::Retardation),
            _ if note.line == Line::Bass => Some(Foreign::Pedal),
            _ => None,
        }
    }

    fn ornament(&self, i: usize, foreign: Option<Foreign>) -> Option<Tendency> {
        let resolves = matches!(
            foreign?,
            Foreign::Suspension | Foreign::Retardation | Foreign::Appoggiatura
        );
        let by = self.steps(i).1.filter(|_| resolves)?;
        Some(Tendency {
            pull: Pull::Ornament,
            by: by as i8,
        })
    }
}

fn tendency(span: &ChordSpan, key: Key, note: &ReadNote, tone: ChordTone) -> Option<Tendency> {
    let class = note.pitch.class();
    let above = span.chord.root.up_to(class);
    let down = if key.has(class.up(-1)) || !key.has(class.up(-2)) {
        -1
    } else {
        -2
    };
    let pull = |pull, by| Some(Tendency { pull, by });
    let dominant =
        span.function == HarmonicFunction::Dominant || span.numeral.applied_to().is_some();
    let leading = matches!(
        span.chord.quality,
        Quality::Diminished | Quality::Diminished7 | Quality::HalfDiminished7
    );
    match tone {
        ChordTone::Third if above == 4 && dominant && !leading => pull(Pull::LeadingTone, 1),
        ChordTone::Root if leading && dominant => pull(Pull::LeadingTone, 1),
        ChordTone::Seventh if span.numeral.is_augmented_sixth() => pull(Pull::AugmentedSixth, 1),
        ChordTone::Seventh if above == 11 && span.function == HarmonicFunction::Tonic => None,
        ChordTone::Seventh => pull(Pull::Seventh, down),
        ChordTone::Fifth if above == 6 => pull(Pull::AlteredFifth, -1),
        ChordTone::Fifth if above == 8 => pull(Pull::AlteredFifth, 1),
        ChordTone::Ninth if above == 1 => pull(Pull::FlatNinth, -1),
        ChordTone::Suspended if above == 5 => pull(Pull::SuspendedFourth, down),
        _ => None,
    }
}
