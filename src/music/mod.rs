//! The words of music as values: pitch, interval, spelling, key, meter, time, chord and motion.
//!
//! This folder knows nothing of files, bands or solvers. Types keep apart what is easily
//! confused: [`Sounding`] and [`Written`] pitch, [`Tick`] positions and [`Ticks`] lengths,
//! [`Beats`] and ticks.

pub mod chord;
pub mod dynamic;
pub mod interval;
pub mod key;
pub mod meter;
pub mod motion;
pub mod note_name;
pub mod numeral;
pub mod part_names;
pub mod pitch;
pub mod roughness;
pub mod spelling;
pub mod tempo;
pub mod time;
pub mod voice_leading;

pub use chord::{Chord, ChordTone, Quality};
pub use dynamic::{Dynamic, DynamicError};
pub use interval::{Interval, Transposition};
pub use key::{Key, KeySignature, Mode};
pub use meter::{BarBeat, BarNumber, Meter, MeterMap};
pub use motion::Motion;
pub use note_name::NoteNameError;
pub use numeral::{HarmonicFunction, Numeral};
pub use part_names::PartNames;
pub use pitch::{PitchClass, PitchClassSet, Sounding, Written};
pub use spelling::{Letter, SpelledName};
pub use tempo::TempoMap;
pub use time::{Beats, Tick, Ticks, TicksPerQuarter};
