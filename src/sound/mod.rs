//! Sound: what a draft sounds like, as a sketch of the sound.
//!
//! Modelled tones ([`tones`]) are written as a SoundFont in memory ([`built_in`]), which a kept library plays. A
//! draft becomes plain events ([`events`], [`of_draft`]) whose levels are those of the loudness model; [`render`] makes samples
//! of them, [`wav`] a file of those. While one works, [`live`] fills the buffers of a device with a program. No thread,
//! no device and no file is known here.

pub mod built_in;
pub mod events;
pub mod heard;
pub mod live;
pub mod midi;
pub mod of_draft;
pub mod render;
pub mod seated;
pub mod seating;
pub mod sound_font;
pub mod sounds;
pub mod tone_of;
pub mod tones;
pub mod user_font;
pub mod wav;
