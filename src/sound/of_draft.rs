//! What a draft sounds like: its notes as events, as loud as the loudness model says.

use super::events::{Chair, SoundNote, SoundScore};
use super::seating::{Hearing, Place, hearings};
use super::tone_of::{left_out_level, shade_of, tone_of};
use super::tones::tone;
use crate::band::loudness::{full_level, part_level, register_adds};
use crate::band::{Band, Part, TableError};
use crate::music::{Dynamic, Sounding, TempoMap, Tick};
use crate::score::PartLine;
use crate::sketch::Reading;

/// From where to where.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Span {
    /// The first tick that is heard.
    pub from: Tick,
    /// The first that is not.
    pub to: Tick,
}

/// How much of a note's end is left silent, so that the next is heard to begin: at most so many seconds, and so
/// much of the note (ours).
const GAP_SECONDS: f64 = 0.025;
const GAP_SHARE: f64 = 0.15;
/// How loud everybody is where the band has nobody whom the model weighs, dB (ours).
const FULL_OF_NOBODY: f64 = 110.0;
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

/// How loud a part plays a note, dB of sound power towards the audience.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn level(part: &Part, pitch: Sounding, dynamic: Dynamic) -> Result<f64, TableError> {
    if register_adds(&part.instrument, pitch)?.is_some() {
        return Ok(part_level(part, pitch, dynamic)?.0);
    }
    Ok(left_out_level(&part.instrument, dynamic))
}

/// A draft as it is heard at a place: a chair for every part of the band, in its order.
///
/// Each note is as loud as the loudness model says for its part, pitch and written dynamic, and as far as its
/// distance takes; 0 dB is the full level of the band.
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
    let heard = hearings(band, place);
    let chairs = band.parts.iter().zip(&heard);
    let mut score = SoundScore {
        chairs: chairs.filter_map(|(p, h)| chair(p, *h)).collect(),
        notes: Vec::new(),
    };
    let full = full_level(band).0;
    let full = if full.is_finite() {
        full
    } else {
        FULL_OF_NOBODY
    };
    let clock = Clock { tempo, span };
    for line in lines {
        let at = line.part.0;
        let (Some(part), Some(heard)) = (band.parts.get(at), heard.get(at)) else {
            continue;
        };
        for note in &line.notes {
            let Some((onset, end)) = clock.seconds(note.onset, note.end()) else {
                continue;
            };
            let dynamic = Dynamic::of_velocity(note.velocity);
            score.notes.push(SoundNote {
                chair: at,
                onset,
                end,
                key: note.pitch.midi(),
                shade: shade_of(dynamic),
                gain_db: level(part, note.pitch, dynamic)? - full + heard.gain_db,
            });
        }
    }
    Ok(score)
}

/// An instrument without a tone of its own sounds like the piano, so that no part loses its chair.
fn chair(part: &Part, heard: Hearing) -> Option<Chair> {
    let tone = tone_of(&part.instrument).or_else(|| tone("piano"))?;
    Some(Chair {
        tone,
        pan: heard.pan,
        delay: heard.delay,
    })
}

/// The sketch on a piano in front of the listener.
#[must_use]
pub fn of_sketch(reading: &Reading, tempo: &TempoMap, span: Span) -> SoundScore {
    let clock = Clock { tempo, span };
    let notes = reading.notes.iter().filter_map(|note| {
        let (onset, end) = clock.seconds(note.onset, note.onset + note.duration)?;
        let dynamic = Dynamic::of_velocity(note.velocity);
        let steps = dynamic.steps() as f64 - Dynamic::Mf.steps() as f64;
        Some(SoundNote {
            chair: 0,
            onset,
            end,
            key: note.pitch.midi(),
            shade: shade_of(dynamic),
            gain_db: PIANO_DB + PIANO_STEP * steps,
        })
    });
    SoundScore {
        notes: notes.collect(),
        chairs: tone("piano")
            .map(|tone| Chair {
                tone,
                pan: 0.0,
                delay: 0.0,
            })
            .into_iter()
            .collect(),
    }
}
