//! What leaves: the draft as a MIDI file and as MusicXML, ranges as a drawing, the form for the director; written so
//! that nothing is ever half there.

pub mod base64;
pub mod channels;
pub mod directors_sheet;
pub mod file_names;
pub mod font_face;
pub mod midi;
mod minutes;
pub mod musicxml;
pub mod page;
pub mod practice_page;
pub mod questionnaire;
pub mod range_svg;
pub mod safe_write;
pub mod shape_svg;
pub mod single_parts;
pub mod stave_svg;
mod svg;

pub use directors_sheet::{DirectorsSheet, directors_html, directors_markdown};
pub use file_names::numbered_names;
pub use midi::midi_bytes;
pub use minutes::minutes;
pub use musicxml::{MusicXmlError, ScoreInput, musicxml_bytes, mxl_bytes, part_musicxml_bytes};
pub use practice_page::{PracticePage, practice_html, practice_markdown};
pub use questionnaire::{questionnaire, stave_place};
pub use range_svg::range_svg;
pub use safe_write::{Existing, WriteError, safe_write, safe_write_all};
pub use shape_svg::{ShapeMovement, ShapePicture, shape_svg};
pub use single_parts::{SinglePart, SinglePartError, single_part_names, single_parts};
pub use stave_svg::{StaveMusic, System, systems};
