//! What surrounds a note, as far as it makes it easier or harder.

use crate::band::playing::Posture;
use crate::band::remarks::NotesPerSecond;
use crate::band::roster::Band;
use crate::music::{Dynamic, Sounding};

/// After a rest so long, in seconds, a leap is no longer a leap: the player hears and sets the
/// next note afresh (ours: about one breath).
pub const FRESH_START: f64 = 1.5;

/// What surrounds a note.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct NoteContext {
    /// The note before; `None` at a start and after a rest of [`FRESH_START`].
    pub from: Option<Sounding>,
    /// How fast notes follow one another into this one; `None` where nothing is close before.
    pub speed: Option<NotesPerSecond>,
    /// Beats for which that speed is kept up; short bursts may be faster.
    pub run_beats: f64,
    /// Whether it is slurred from the note before.
    pub slurred: bool,
    /// Crossings of the clarinets' registers a beat, in the passage around.
    pub crossings: f64,
    /// How loud.
    pub dynamic: Dynamic,
    /// Sharps or flats of the written key.
    pub accidentals: u8,
    /// Whether the note belongs to the key.
    pub in_key: bool,
    /// Seconds since the last breath, at the note's end.
    pub breath: f64,
    /// Marching or seated.
    pub posture: Posture,
    /// How tired the lips are, 0 to 1.
    pub tired: f64,
}

/// The neutral note: alone, mezzo forte, in C, seated and fresh.
impl Default for NoteContext {
    fn default() -> Self {
        Self {
            from: None,
            speed: None,
            run_beats: 0.0,
            slurred: false,
            crossings: 0.0,
            dynamic: Dynamic::Mf,
            accidentals: 0,
            in_key: true,
            breath: 0.0,
            posture: Posture::Seated,
            tired: 0.0,
        }
    }
}

/// How a band plays, from what it plays on: it marches if it has an instrument that is made for
/// marching (ours; a roster does not say).
#[must_use]
pub fn usual_posture(band: &Band) -> Posture {
    let made_for_it =
        |id: &str| matches!(id, "mellophone" | "sousaphone") || id.starts_with("marching_");
    let marches = band.parts.iter().any(|p| made_for_it(&p.instrument.id));
    if marches {
        Posture::Marching
    } else {
        Posture::Seated
    }
}
