//! Voices a piano sketch for one particular school marching or wind band.
//!
//! The way of the data, each stage a pure function from plain values to plain values:
//!
//! 1. [`sketch`] reads MIDI bytes into a song, and the song into lines, slices, chords and
//!    phrases.
//! 2. [`band`] knows the players: instruments, ranges by level, rosters and remarks.
//! 3. [`score`] holds what is drafted: passages, part lines, locks; tracks named like a part
//!    come in as the arranger's own passages.
//! 4. [`plan`] chooses who carries what in each passage.
//! 5. [`voicing`] chooses the notes.
//! 6. [`review`] marks what a reviewer would mark, without any code of the solver.
//! 7. [`notation`] puts notes on staves.
//! 8. [`export`] writes MIDI, drawings and pages.
//! 9. [`project`] is the open document, and strings all of the above together.
//! 10. [`sound`] makes a draft heard: tones, events, samples.
//! 11. [`device`] plays it on the machine's own speakers.
//! 12. [`cli`] holds the commands, one a file.
//!
//! A folder imports only from those above it in this list ([`music`] comes first of all); a test
//! holds the source to that.

pub mod music;

pub mod sketch;

pub mod band;

pub mod score;

pub mod plan;

pub mod voicing;

pub mod review;

pub mod notation;

pub mod export;

pub mod project;

pub mod sound;

pub mod device;

pub mod cli;

pub mod app;
