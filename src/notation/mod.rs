//! Notes on the stave: where they stand, with which accidentals and ledger lines. This folder knows
//! no screen and no file.
//!
//! Two levels: what is written (`stave_line` joins values, voices, names, accidentals and beams to
//! written bars), and where it stands (`spacing` for all staves together, `place` for one: symbols in
//! stave spaces). Whoever draws needs `place_bar`, `openings` and `Symbol::glyph`.

pub mod accidentals;
pub mod band_staves;
pub mod bar_time;
pub mod beams;
mod chord_shape;
pub mod clef_choice;
pub mod dynamic_signs;
pub mod glyph_sizes;
pub mod names;
pub mod opening;
pub mod part_stave;
pub mod piano;
pub mod place;
mod pulse;
pub mod range_stave;
pub mod score_order;
mod snap;
pub mod spacing;
mod spell_time;
pub mod stave;
pub mod stave_line;
mod stems;
pub mod strokes;
pub mod symbol;
mod ties;
mod tuplet_marks;
pub mod value;
mod voices;
pub mod written;

pub use accidentals::Accidental;
pub use band_staves::{part_inputs, sketch_inputs};
pub use bar_time::BarTime;
pub use beams::{BeamGroup, BeamLine, Reach};
pub use clef_choice::clef_for;
pub use names::{Writing, chord_name, concert_name, shown_transposition};
pub use opening::{Opening, courtesy, opening, openings};
pub use part_stave::PartStave;
pub use piano::{PianoStave, split_staves};
pub use place::place_bar;
pub use range_stave::{Mark, RangeNote, RangeStave, range_stave};
pub use score_order::{Region, Whose, region_of, score_order};
pub use spacing::Columns;
pub use stave::{Clef, StaveNote, clefs};
pub use stave_line::{StaveFrame, StaveInput, write_stave};
pub use strokes::Bezier;
pub use symbol::{Bounds, PlacedGlyph, Spot, Symbol};
pub use value::{Base, Grains, Tuplet, Value};
pub use written::{Event, WrittenBar, WrittenNote, WrittenTuplet, WrittenVoice};
