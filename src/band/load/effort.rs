//! The effort of a note.

use super::conditions::Conditions;
use super::tables;
use crate::band::instrument::{Instrument, LevelRange};
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::band::playing::Posture;
use crate::music::{Dynamic, Written};

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
    let Some(weight) = tables::weight(&instrument.id)? else {
        return Ok(None);
    };
    let marching = match conditions.posture {
        Posture::Seated => 1.0,
        Posture::Marching => tables::marching()?,
    };
    let bare = bare_effort(instrument.range(level), pitch, dynamic)?;
    Ok(Some((bare * weight * marching).min(1.0)))
}
