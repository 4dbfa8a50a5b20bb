//! A band at a place: how loud each of its notes is heard there.

use super::events::{Chair, SoundNote};
use super::seating::{Hearing, Place, hearings};
use super::tone_of::{left_out_level, shade_of, tone_of};
use super::tones::tone;
use crate::band::loudness::{full_level, part_level, register_adds};
use crate::band::{Band, Part, PartId, TableError};
use crate::music::{Dynamic, Sounding};
use crate::score::DraftNote;

/// How loud everybody is where the band has nobody whom the model weighs, dB (ours).
const FULL_OF_NOBODY: f64 = 110.0;

/// How late chairs of the same tone come in, one after the other, seconds (ours, far below the 30 to 50 ms that good
/// ensembles are apart: Rasch, Acustica 43, 1979, MEM): tones that began at the same moment would add up to more than
/// the power of both.
const LATE: [f64; 5] = [0.0, 0.0043, 0.0081, 0.0022, 0.0064];

/// A band as it is heard at a place.
#[derive(Clone, Debug)]
pub struct Seated<'a> {
    band: &'a Band,
    heard: Vec<Hearing>,
    /// The level of everybody at their loudest, dB of sound power.
    full: f64,
}

impl<'a> Seated<'a> {
    /// The band, heard at a place.
    #[must_use]
    pub fn at(band: &'a Band, place: Place) -> Self {
        let full = full_level(band).0;
        Self {
            band,
            heard: hearings(band, place),
            full: if full.is_finite() {
                full
            } else {
                FULL_OF_NOBODY
            },
        }
    }

    /// A chair for every part, in the band's order. An instrument without a tone of its own sounds like the piano, so
    /// that no part loses its chair.
    #[must_use]
    pub fn chairs(&self) -> Vec<Chair> {
        let mut chairs: Vec<Chair> = Vec::new();
        for (part, heard) in self.band.parts.iter().zip(&self.heard) {
            let Some(tone) = tone_of(&part.instrument).or_else(|| tone("piano")) else {
                continue;
            };
            let like = chairs.iter().filter(|c| c.tone.name == tone.name).count();
            chairs.push(Chair {
                tone,
                pan: heard.pan,
                delay: heard.delay + LATE[like % LATE.len()],
            });
        }
        chairs
    }

    /// A note of a part from one second to another, as loud as the loudness model says for its pitch and written dynamic,
    /// less what the distance takes; `None` for a part that the band does not have. 0 dB is the full level of the band.
    ///
    /// # Errors
    /// If the built-in table were unreadable (a test shows that it is not).
    pub fn note(
        &self,
        part: PartId,
        note: &DraftNote,
        (onset, end): (f64, f64),
    ) -> Result<Option<SoundNote>, TableError> {
        let (Some(about), Some(heard)) = (self.band.parts.get(part.0), self.heard.get(part.0))
        else {
            return Ok(None);
        };
        let dynamic = Dynamic::of_velocity(note.velocity);
        Ok(Some(SoundNote {
            chair: part.0,
            onset,
            end,
            key: note.pitch.midi(),
            shade: shade_of(dynamic),
            gain_db: level(about, note.pitch, dynamic)? - self.full + heard.gain_db,
        }))
    }
}

/// How loud a part plays a note, dB of sound power towards the audience.
fn level(part: &Part, pitch: Sounding, dynamic: Dynamic) -> Result<f64, TableError> {
    if register_adds(&part.instrument, pitch)?.is_some() {
        return Ok(part_level(part, pitch, dynamic)?.0);
    }
    Ok(left_out_level(&part.instrument, dynamic))
}
