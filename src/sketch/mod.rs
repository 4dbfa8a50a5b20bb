//! Reading the sketch: MIDI bytes to a [`Song`], a song to its [`Reading`].
//!
//! The only reader of MIDI bytes. Broken input is normal here: readers give a value with
//! warnings, and an error only where nothing can be rescued.

mod bass;
mod broken;
mod budget;
pub mod chord_templates;
mod chords;
mod chunks;
mod conductor;
mod cursor;
mod filling;
mod keys;
mod lines;
mod melody;
pub mod midi_bytes;
mod note_pairs;
mod onsets;
mod path;
mod phrases;
pub mod read;
pub mod reading;
mod slices;
pub mod song;
pub mod tag_file;
pub mod tags;
mod track_bytes;
mod track_prior;
mod warnings;

pub use chord_templates::{best_template, score_template};
pub use midi_bytes::read_song;
pub use read::{ReadOptions, read_sketch, read_sketch_with};
pub use reading::{ChordSpan, Evidence, KeySpan, Line, Phrase, ReadNote, Reading, Slice};
pub use song::{Control, KeyChange, Marker, Note, PedalSpan, ReadError, Song, Track, Warning};
pub use tag_file::{TagError, read_tags, write_tags};
pub use tags::{Among, Tag, Tags, TrackChoice};
