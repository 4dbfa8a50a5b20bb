//! Why a part carries this note of a line, in this octave.

use super::rest::words;
use super::{Explainer, Explanation};
use crate::band::PartId;
use crate::score::DraftNote;

impl Explainer<'_> {
    /// A note of the tune, the second tune, the bass or a figure.
    pub(super) fn line_note(&self, part: PartId, note: &DraftNote) -> Explanation {
        Explanation {
            part,
            start: note.onset,
            end: note.end(),
            sounds: Some(note.pitch),
            role: note.role,
            locked: false,
            reasons: vec![format!("carries the {}", words(note.role))],
            costs: Vec::new(),
            total: 0.0,
            runners_up: Vec::new(),
            ruled_out: Vec::new(),
        }
    }
}
