//! Notes on the stave: where they stand, with which accidentals and ledger lines. This folder knows
//! no screen and no file.

pub mod bar_time;
mod pulse;
pub mod range_stave;
mod spell_time;
pub mod stave;
pub mod value;

pub use bar_time::BarTime;
pub use range_stave::{Mark, RangeNote, RangeStave, range_stave};
pub use stave::{Clef, StaveNote, clefs};
pub use value::{Base, Grains, Tuplet, Value};
