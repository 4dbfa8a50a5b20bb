//! The effort of a note.

use super::conditions::Conditions;
use super::tables;
use crate::band::instrument::{Instrument, LevelRange};
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::band::playing::Posture;
use crate::music::{Dynamic, Sounding, Written};

/// The effort of a note on brass, standing still: a share, 0 to 1, of what the lips of the player can
/// do at most. It rises with the place of the note between the lowest comfortable and the highest
/// stretch note of the player's range, and with the dynamic.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn bare_effort(range: LevelRange, pitch: Written, dynamic: Dynamic) -> Result<f64, TableError> {
    let row = &tables::table()?.effort;
    let number = |w: Written| f64::from(w.0);
    let low = number(range.comfortable.low);
    let span = (number(range.stretch.high) - low).max(1.0);
    let place = ((number(pitch) - low) / span).max(0.0);
    let wanted =
        row.base + row.height * place.powf(row.power) + row.dynamic * row.steps.of(dynamic);
    Ok(wanted.clamp(row.least, row.most))
}

/// The effort of a note for a player of a level on an instrument: by the family's share, and more
/// while marching. `None` where no lips are at work.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn effort(
    instrument: &Instrument,
    level: Level,
    pitch: Written,
    dynamic: Dynamic,
    conditions: Conditions,
) -> Result<Option<f64>, TableError> {
    let lips = LipsOf::of(instrument, level, conditions)?;
    lips.map(|l| l.effort(pitch, dynamic)).transpose()
}

/// What the lips of a player of a level on an instrument go by.
struct LipsOf {
    range: LevelRange,
    /// What share of the effort they bear, and by how much marching raises it.
    weight: f64,
    marching: f64,
}

impl LipsOf {
    /// `None` where no lips are at work.
    fn of(
        instrument: &Instrument,
        level: Level,
        conditions: Conditions,
    ) -> Result<Option<Self>, TableError> {
        let Some(weight) = tables::weight(&instrument.id)? else {
            return Ok(None);
        };
        let marching = match conditions.posture {
            Posture::Seated => 1.0,
            Posture::Marching => tables::marching()?,
        };
        Ok(Some(Self {
            range: instrument.range(level),
            weight,
            marching,
        }))
    }

    fn effort(&self, pitch: Written, dynamic: Dynamic) -> Result<f64, TableError> {
        let bare = bare_effort(self.range, pitch, dynamic)?;
        Ok((bare * self.weight * self.marching).min(1.0))
    }
}

/// The efforts of a part's notes for its players of a level, each worked out once; 0 where no lips are at work.
pub(super) struct Efforts<'a> {
    instrument: &'a Instrument,
    lips: Option<LipsOf>,
    /// By dynamic, then pitch.
    known: Vec<Option<f64>>,
}

/// Pitches that a note may have.
const PITCHES: usize = 128;

impl<'a> Efforts<'a> {
    pub fn of(
        instrument: &'a Instrument,
        level: Level,
        conditions: Conditions,
    ) -> Result<Self, TableError> {
        Ok(Self {
            instrument,
            lips: LipsOf::of(instrument, level, conditions)?,
            known: vec![None; PITCHES * Dynamic::ALL.len()],
        })
    }

    pub fn at(&mut self, pitch: Sounding, dynamic: Dynamic) -> Result<f64, TableError> {
        let Some(lips) = &self.lips else {
            return Ok(0.0);
        };
        let find = || lips.effort(self.instrument.transposition.written(pitch), dynamic);
        let place = dynamic.steps() * PITCHES + usize::from(pitch.midi());
        let Some(known) = self.known.get_mut(place) else {
            return find();
        };
        if let Some(effort) = known {
            return Ok(*effort);
        }
        let found = find()?;
        *known = Some(found);
        Ok(found)
    }
}
