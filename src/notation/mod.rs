//! Notes on the stave: where they stand, with which accidentals and ledger lines. This folder knows
//! no screen and no file.

pub mod range_stave;
pub mod stave;

pub use range_stave::{Mark, RangeNote, RangeStave, range_stave};
pub use stave::{Clef, StaveNote, clefs};
