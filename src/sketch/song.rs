//! A file as music: tracks of notes under one tempo map and one set of meters.

use crate::music::{
    KeySignature, MeterMap, Sounding, SpelledName, TempoMap, Tick, Ticks, TicksPerQuarter,
};
use std::fmt;
use thiserror::Error;

/// A note as the file holds it: how long the key is held. What the pedal adds is not in it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Note {
    /// Where it begins.
    pub onset: Tick,
    /// Concert pitch.
    pub pitch: Sounding,
    /// How long the key is held, never zero.
    pub duration: Ticks,
    /// 1 to 127.
    pub velocity: u8,
    /// MIDI channel from 0; 9 is percussion in General MIDI.
    pub channel: u8,
}

impl Note {
    /// Where the key is let go.
    #[must_use]
    pub fn end(&self) -> Tick {
        self.onset + self.duration
    }

    /// Whether General MIDI plays it as a drum.
    #[must_use]
    pub const fn is_percussion(&self) -> bool {
        self.channel == 9
    }
}

/// A stretch with the sustain pedal down, on one channel.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct PedalSpan {
    /// MIDI channel from 0.
    pub channel: u8,
    /// Where the pedal goes down.
    pub down: Tick,
    /// Where it comes up.
    pub up: Tick,
}

/// A channel message that is no note: program, controller, bend or pressure. Kept so that the
/// sketch leaves as it came.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Control {
    /// When.
    pub at: Tick,
    /// Status byte with its channel (0xA0 to 0xEF).
    pub status: u8,
    /// First data byte.
    pub first: u8,
    /// Second data byte; zero for messages of one data byte.
    pub second: u8,
}

/// How the file holds a note whose written time is another.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Played {
    /// Where it begins, in ticks of the file.
    pub onset: Tick,
    /// How long the key is held, in ticks of the file.
    pub duration: Ticks,
    /// Whether it is a grace note: an ornament without a beat of its own.
    pub grace: bool,
    /// Whether it belongs to a rolled chord.
    pub rolled: bool,
}

/// A track of the file.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Track {
    /// Its name, without white space at the ends; empty if it has none.
    pub name: String,
    /// Its notes, by onset, then pitch.
    pub notes: Vec<Note>,
    /// Where the sustain pedal is down.
    pub pedal: Vec<PedalSpan>,
    /// Its other channel messages in file order.
    pub controls: Vec<Control>,
    /// How the file holds each of the notes, in their order, where they were re-timed; else empty.
    pub played: Vec<Played>,
    /// The names that the file gives the notes, in their order (none for a drum), where it names
    /// notes at all; else empty. MIDI has none.
    pub names: Vec<Option<SpelledName>>,
}

/// A key signature from a tick on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct KeyChange {
    /// Where it begins.
    pub at: Tick,
    /// The signature.
    pub signature: KeySignature,
}

/// A marker (rehearsal letter, section name).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Marker {
    /// Where it stands.
    pub at: Tick,
    /// Its text.
    pub text: String,
}

/// Something that was malformed but could be used, or that the reader had to decide.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Warning {
    /// Where in the file, if it is about bytes.
    pub byte: Option<usize>,
    /// One sentence.
    pub text: String,
}

impl Warning {
    /// A warning about the music.
    pub fn music(text: impl Into<String>) -> Self {
        Self {
            byte: None,
            text: text.into(),
        }
    }

    /// A warning about the bytes at an offset.
    pub fn bytes(offset: usize, text: impl Into<String>) -> Self {
        Self {
            byte: Some(offset),
            text: text.into(),
        }
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.byte {
            Some(byte) => write!(f, "byte {byte}: {}", self.text),
            None => f.write_str(&self.text),
        }
    }
}

/// Why a file cannot be used at all.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("byte {offset}: {reason}")]
pub struct ReadError {
    /// Where in the file.
    pub offset: usize,
    /// What is wrong there and what to do.
    pub reason: String,
}

/// A MIDI or MusicXML file as music.
#[derive(Clone, PartialEq, Debug)]
pub struct Song {
    /// Ticks of a quarter note. Files in SMPTE time get the number that their first tempo makes.
    pub quarter: TicksPerQuarter,
    /// Tempos.
    pub tempo: TempoMap,
    /// Meters and bars.
    pub meters: MeterMap,
    /// Key signatures in order; may be empty.
    pub keys: Vec<KeyChange>,
    /// Markers in order.
    pub markers: Vec<Marker>,
    /// The tracks in file order, those without notes too (format 0 has one).
    pub tracks: Vec<Track>,
    /// What was malformed.
    pub warnings: Vec<Warning>,
}

impl Song {
    /// How the file held a note of a track; `None` where the song is as it came.
    #[must_use]
    pub fn played(&self, track: usize, index: usize) -> Option<&Played> {
        self.tracks.get(track)?.played.get(index)
    }

    /// The name that the file gives a note of a track; `None` where it gives none.
    #[must_use]
    pub fn name(&self, track: usize, index: usize) -> Option<SpelledName> {
        self.tracks.get(track)?.names.get(index).copied().flatten()
    }

    /// Whether its times are those of a score, so that there is nothing to quantise.
    #[must_use]
    pub fn is_written(&self) -> bool {
        self.tracks.iter().any(|t| !t.names.is_empty())
    }

    /// Where the last note ends; tick 0 for a song without notes.
    #[must_use]
    pub fn end(&self) -> Tick {
        let ends = self.tracks.iter().flat_map(|t| &t.notes).map(Note::end);
        ends.max().unwrap_or(Tick::ZERO)
    }
}
