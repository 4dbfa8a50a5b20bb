//! Reading the sketch: bytes of MIDI or MusicXML to a [`Song`], a song to its [`Reading`].
//!
//! The only reader of such bytes. Broken input is normal here: readers give a value with
//! warnings, and an error only where nothing can be rescued.

mod any_file;
mod bass;
mod budget;
mod chord_names;
mod chunks;
mod conductor;
mod counterline;
mod cursor;
pub mod figures;
mod filling;
pub mod form;
pub mod harmony;
mod key_evidence;
mod keys;
mod lines;
mod melody;
pub mod midi_bytes;
pub mod musicxml;
mod note_pairs;
mod onsets;
mod phrases;
pub mod quantise;
pub mod read;
pub mod reading;
pub mod sections;
mod slices;
pub mod song;
mod spelling;
pub mod tag_file;
pub mod tags;
mod track_bytes;
mod track_prior;
pub mod transposed;
mod tune;
pub mod tune_repeats;
mod warnings;

pub use any_file::read_any;
pub use chord_names::chord_label;
pub use figures::figure::{Figure, FigureKind, FigureWay, Held};
pub use form::{Form, Repeat, RepeatKind};
pub use midi_bytes::read_song;
pub use musicxml::read_musicxml;
pub use quantise::{Quantised, Swing, Taken, Times, quantise};
pub use read::{ReadOptions, read_sketch, read_sketch_with};
pub use reading::{ChordSpan, Evidence, KeySpan, Line, Phrase, ReadNote, Reading, Slice};
pub use sections::Section;
pub use slices::slices as cut_slices;
pub use song::{
    Control, KeyChange, Marker, Note, PedalSpan, Played, ReadError, Song, Track, Warning,
};
pub use tag_file::{TagError, bar_ranges, read_tags, write_tags};
pub use tags::{Among, Tag, Tags, TrackChoice, file_onset};
pub use transposed::transposed;
pub use tune_repeats::RepeatedStretch;
