//! Reading the sketch: MIDI bytes to a [`Song`], a song to its [`Reading`].
//!
//! The only reader of MIDI bytes. Broken input is normal here: readers give a value with
//! warnings, and an error only where nothing can be rescued.

pub mod reading;
pub mod song;

pub use reading::{ChordSpan, KeySpan, Line, Phrase, ReadNote, Reading, Slice};
pub use song::{Control, KeyChange, Marker, Note, PedalSpan, ReadError, Song, Track, Warning};
