//! Notes on the stave: where they stand, with which accidentals and ledger lines. This folder knows
//! no screen and no file.
//!
//! Two levels: what is written (`stave_line` joins values, voices, names, accidentals and beams to
//! written bars), and where it stands.

pub mod accidentals;
pub mod bar_time;
pub mod beams;
pub mod names;
pub mod piano;
mod pulse;
pub mod range_stave;
mod snap;
mod spell_time;
pub mod stave;
pub mod stave_line;
pub mod value;
mod voices;
pub mod written;

pub use accidentals::Accidental;
pub use bar_time::BarTime;
pub use beams::{BeamGroup, BeamLine, Reach};
pub use names::{Writing, chord_name, concert_name, shown_transposition};
pub use piano::{PianoStave, split_staves};
pub use range_stave::{Mark, RangeNote, RangeStave, range_stave};
pub use stave::{Clef, StaveNote, clefs};
pub use stave_line::{StaveFrame, StaveInput, write_stave};
pub use value::{Base, Grains, Tuplet, Value};
pub use written::{Event, WrittenBar, WrittenNote, WrittenTuplet, WrittenVoice};
