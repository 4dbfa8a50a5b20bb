//! A sketch taken to another key before anything else is done with it.

use crate::band::Band;
use crate::music::Interval;
use crate::score::own_passages;
use crate::sketch::{Line, ReadOptions, Song, Tags, read_sketch_with, transposed};

/// A sketch in another key, with what was said and found of it in its own.
#[derive(Clone, PartialEq, Debug)]
pub struct OtherKey {
    /// The sketch, moved.
    pub song: Song,
    /// The tags, moved.
    pub tags: Tags,
    /// The line of every note as found in the sketch's own key, so that the key changes nothing of
    /// what is tune and what is bass; empty where the sketch was not moved.
    pub lines: Vec<Line>,
}

/// Moves a sketch by semitones (0: not at all).
#[must_use]
pub fn other_key(song: Song, band: &Band, tags: Tags, semitones: i16) -> OtherKey {
    if semitones == 0 {
        return OtherKey {
            song,
            tags,
            lines: Vec::new(),
        };
    }
    let own = own_passages(&song, band, (&song.meters, song.quarter));
    let options = ReadOptions {
        leave_out: &own.tracks,
        tags: tags.clone(),
        ..ReadOptions::default()
    };
    let notes = read_sketch_with(&song, &options).notes;
    let by = Interval(semitones);
    OtherKey {
        song: transposed(&song, by),
        tags: tags.moved(by),
        lines: notes.iter().map(|n| n.line).collect(),
    }
}
