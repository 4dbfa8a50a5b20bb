//! The draft: every part's notes, with what each note is for.

use super::role::Role;
use crate::band::PartId;
use crate::music::{Sounding, Tick, Ticks};

/// A note of a part.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct DraftNote {
    /// Where it begins.
    pub onset: Tick,
    /// Concert pitch.
    pub pitch: Sounding,
    /// How long, never zero.
    pub duration: Ticks,
    /// 1 to 127.
    pub velocity: u8,
    /// What it is for. Locked notes have the role that they were found to play.
    pub role: Role,
    /// Whether the arranger fixed it.
    pub locked: bool,
}

impl DraftNote {
    /// Where it ends.
    #[must_use]
    pub fn end(&self) -> Tick {
        self.onset + self.duration
    }
}

/// The notes of one part, by onset, then pitch.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PartLine {
    /// Whose notes they are.
    pub part: PartId,
    /// The notes.
    pub notes: Vec<DraftNote>,
}

/// A melody note that is not in the draft as the sketch has it: another is played in its place, or
/// no part plays it (in any octave).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct MelodyChange {
    /// Where the sketch has it.
    pub onset: Tick,
    /// The sketch's pitch.
    pub sketch: Sounding,
    /// What stands in its place, in the sketch's octave; `None`: nothing does.
    pub new: Option<Sounding>,
    /// Who plays what stands in its place, each with its own pitch, in the band's order.
    pub parts: Vec<(PartId, Sounding)>,
    /// What became of it and why, in words.
    pub reason: String,
}

impl MelodyChange {
    /// A note that no part plays.
    #[must_use]
    pub const fn not_carried(onset: Tick, sketch: Sounding, reason: String) -> Self {
        Self {
            onset,
            sketch,
            new: None,
            parts: Vec::new(),
            reason,
        }
    }
}

/// A voiced draft: one line for every part of the band, in the band's order.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Draft {
    /// The lines; a part that rests has an empty one.
    pub lines: Vec<PartLine>,
    /// Melody notes that could not be kept, by onset.
    pub melody_changes: Vec<MelodyChange>,
}
