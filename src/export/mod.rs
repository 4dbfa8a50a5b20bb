//! What leaves: the draft as a MIDI file and as MusicXML, ranges as a drawing, the form for the director; written so
//! that nothing is ever half there.

pub mod channels;
pub mod file_names;
pub mod midi;
pub mod musicxml;
pub mod questionnaire;
pub mod range_svg;
pub mod safe_write;
pub mod shape_svg;
pub mod single_parts;
mod svg;

pub use file_names::numbered_names;
pub use midi::midi_bytes;
pub use musicxml::{MusicXmlError, ScoreInput, musicxml_bytes, mxl_bytes, part_musicxml_bytes};
pub use questionnaire::{questionnaire, stave_place};
pub use range_svg::range_svg;
pub use safe_write::{Existing, WriteError, safe_write, safe_write_all};
pub use shape_svg::{ShapeMovement, ShapePicture, shape_svg};
pub use single_parts::{SinglePart, SinglePartError, single_part_names, single_parts};
