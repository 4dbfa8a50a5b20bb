//! What a draft and a sketch sound like: their notes as events.

use super::events::{Chair, SoundNote, SoundScore};
use super::heard::Heard;
use super::seated::Seated;
use super::seating::Place;
use super::tone_of::shade_of;
use super::tones::tone;
use crate::band::{Band, TableError};
use crate::music::{Dynamic, TempoMap, Tick};
use crate::score::PartLine;
use crate::sketch::{ReadNote, Reading};

/// From where to where.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Span {
    /// The first tick that is heard.
    pub from: Tick,
    /// The first that is not.
    pub to: Tick,
}

impl Span {
    /// From the beginning to the end.
    pub const ALL: Self = Self {
        from: Tick::ZERO,
        to: Tick(u64::MAX),
    };
}

/// How much of a note's end is left silent, so that the next is heard to begin: at most so many seconds, and so
/// much of the note (ours).
const GAP_SECONDS: f64 = 0.025;
const GAP_SHARE: f64 = 0.15;
/// A note of the sketch at mezzo forte on the piano, against the full band, and a step of dynamics, dB (ours: so
/// that a handful of fingers is about as loud as the band at that dynamic).
const PIANO_DB: f64 = -18.0;
const PIANO_STEP: f64 = 3.0;

/// Time and bounds of what is heard.
struct Clock<'a> {
    tempo: &'a TempoMap,
    span: Span,
}

impl Clock<'_> {
    /// Onset and end in seconds from the beginning of the span; `None` outside it.
    fn seconds(&self, onset: Tick, end: Tick) -> Option<(f64, f64)> {
        let (onset, end) = (onset.max(self.span.from), end.min(self.span.to));
        if onset >= end {
            return None;
        }
        let zero = self.tempo.seconds(self.span.from);
        let (onset, end) = (
            self.tempo.seconds(onset) - zero,
            self.tempo.seconds(end) - zero,
        );
        let gap = GAP_SECONDS.min(GAP_SHARE * (end - onset));
        Some((onset, end - gap))
    }
}

/// A draft as it is heard at a place: a chair for every part of the band, in its order.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn of_draft(
    band: &Band,
    lines: &[PartLine],
    tempo: &TempoMap,
    span: Span,
    place: Place,
) -> Result<SoundScore, TableError> {
    let seated = Seated::at(band, place);
    let clock = Clock { tempo, span };
    let mut score = SoundScore {
        chairs: seated.chairs(),
        notes: Vec::new(),
    };
    for line in lines {
        for note in &line.notes {
            if let Some(seconds) = clock.seconds(note.onset, note.end()) {
                score.notes.extend(seated.note(line.part, note, seconds)?);
            }
        }
    }
    Ok(score)
}

/// The notes of a draft that are heard, line by line; `locked` says which notes are.
#[must_use]
pub fn heard_lines(
    lines: &[PartLine],
    heard: &Heard,
    locked: impl Fn(&PartLine, usize) -> bool,
) -> Vec<PartLine> {
    let of_line = |line: &PartLine| {
        let kept = line.notes.iter().enumerate();
        let kept = kept.filter(|(i, n)| heard.only.has(n.role, locked(line, *i)));
        PartLine {
            part: line.part,
            notes: kept.map(|(_, n)| *n).collect(),
        }
    };
    let lines = lines.iter().filter(|l| heard.part(l.part));
    lines.map(of_line).collect()
}

/// The chair of the piano: in front of the listener.
#[must_use]
pub fn piano() -> Option<Chair> {
    let tone = tone("piano")?;
    Some(Chair {
        tone,
        pan: 0.0,
        delay: 0.0,
    })
}

/// A note of the sketch on the piano that is a chair of a score, from one second to another.
#[must_use]
pub fn piano_note(chair: usize, note: &ReadNote, (onset, end): (f64, f64)) -> SoundNote {
    let dynamic = Dynamic::of_velocity(note.velocity);
    let steps = dynamic.steps() as f64 - Dynamic::Mf.steps() as f64;
    SoundNote {
        chair,
        onset,
        end,
        key: note.pitch.midi(),
        shade: shade_of(dynamic),
        gain_db: PIANO_DB + PIANO_STEP * steps,
    }
}

/// The sketch on a piano in front of the listener: the notes of the lines that are heard, as long as keys and pedal hold
/// them.
#[must_use]
pub fn of_sketch(reading: &Reading, tempo: &TempoMap, span: Span, heard: &Heard) -> SoundScore {
    let clock = Clock { tempo, span };
    let kept = reading.notes.iter().filter(|n| heard.only.has_line(n.line));
    let notes = kept.filter_map(|note| {
        let held = (note.onset + note.duration).max(note.sounds_until);
        Some(piano_note(0, note, clock.seconds(note.onset, held)?))
    });
    SoundScore {
        notes: notes.collect(),
        chairs: piano().into_iter().collect(),
    }
}
