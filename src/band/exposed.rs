//! Who may be heard alone.

use super::level::Level;
use super::remarks::Exposure;
use super::roster::Part;

/// Below this level a lone player is weak (ours).
const STRONG_ENOUGH: Level = Level::Intermediate;

/// Whether a part is one weak player of whom the director did not say whether they may be heard
/// alone: such a player is not given a line alone if anybody can go with them (scoring habits:
/// common practice, no source).
#[must_use]
pub fn is_weak_alone(part: &Part) -> bool {
    let weak = part.players.weakest().is_some_and(|l| l < STRONG_ENOUGH);
    part.players.count() == 1 && weak && part.remarks.exposure == Exposure::Unsaid
}
