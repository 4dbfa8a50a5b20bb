//! The notes of a part of a band as they go onto its stave.

use super::band_staves::named_inputs;
use super::names::shown_transposition;
use super::stave::{Clef, clefs};
use super::stave_line::StaveInput;
use crate::band::Instrument;
use crate::music::{Sounding, SpelledName, Tick, Transposition};
use crate::score::DraftNote;

/// What a part's stave is made of: its clef, how it is transposed, its notes.
#[derive(Clone, PartialEq, Debug)]
pub struct PartStave {
    /// The clef: the first of the instrument's.
    pub clef: Clef,
    /// How the part is transposed; `None`: at concert pitch.
    pub transposition: Option<Transposition>,
    /// The notes in their order; each tells its place among them.
    pub notes: Vec<StaveInput>,
}

impl PartStave {
    /// The stave of a part, as the player reads it or at concert pitch. `name` gives a note's name at concert pitch.
    #[must_use]
    pub fn of(
        instrument: &Instrument,
        notes: &[DraftNote],
        concert_pitch: bool,
        name: impl Fn(Tick, Sounding) -> SpelledName,
    ) -> Self {
        let clef = clefs(&instrument.clef).first().copied();
        Self {
            clef: clef.unwrap_or(Clef::Treble),
            transposition: shown_transposition(instrument.transposition, concert_pitch),
            notes: named_inputs(notes, name),
        }
    }
}
