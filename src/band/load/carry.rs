//! Rests between what is played: how tired lips still are after a pause.

use super::tables::muscle_of;
use crate::band::instruments::TableError;
use crate::band::level::Level;

/// How tired players are, 0 to 1, who were so tired when a pause of some seconds began: the state after one
/// movement is the state before the next.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
///
/// ```
/// use bandwright::band::Level;
/// use bandwright::band::load::after_pause;
/// // Half of it is gone after 50.8 seconds.
/// let after = after_pause(Level::Advanced, 0.4, 50.8).unwrap();
/// assert!((after - 0.2).abs() < 1e-4);
/// ```
pub fn after_pause(level: Level, tired: f64, seconds: f64) -> Result<f64, TableError> {
    Ok(muscle_of(level)?.after(tired.clamp(0.0, 1.0), 0.0, seconds.max(0.0)))
}

/// The same for a gap between two notes: one shorter than a rest recovers nothing.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn after_rest(level: Level, tired: f64, seconds: f64) -> Result<f64, TableError> {
    if seconds < super::tables::shortest_rest()? {
        return Ok(tired);
    }
    after_pause(level, tired, seconds)
}
