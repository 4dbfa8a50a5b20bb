//! Going easy on players with braces or an injury: narrower and shorter than what they could do.
//!
//! All numbers are ours. They are a start for the talk with the director, not medical advice.

use super::instrument::{Family, Instrument, WrittenRange};
use super::level::Level;
use super::remarks::{GoEasy, NotesPerSecond};
use super::roster::Players;
use crate::music::Written;

/// Braces: brass stays so many semitones below its comfortable top, where the mouthpiece presses
/// least (the direction is common practice, the number ours).
const BELOW_THE_TOP: i16 = 2;
/// Injury: a whole bar of rest at least after so many bars (ours).
const BARS_ON_END: u16 = 8;

impl GoEasy {
    /// What to tell whoever writes for such players: the limits are no more than a start, and others
    /// decide.
    #[must_use]
    pub const fn caution(self) -> &'static str {
        match self {
            Self::Braces => {
                "Braces: pressure on the lips can hurt. Ask the players and the director what is \
                 comfortable; medical advice goes before everything here."
            }
            Self::Injury => {
                "An injury: nobody plays through pain. Ask the director whether they should play at \
                 all; medical advice goes before everything here."
            }
        }
    }
}

/// What going easy leaves of a hard range: with braces, brass keeps two semitones below the
/// comfortable top and other winds keep to the comfortable range; with an injury everybody keeps to
/// the comfortable range.
pub(super) fn eased(
    instrument: &Instrument,
    why: Option<GoEasy>,
    comfortable: WrittenRange,
    hard: WrittenRange,
) -> WrittenRange {
    let inside = WrittenRange {
        low: hard.low.max(comfortable.low),
        high: hard.high.min(comfortable.high),
    };
    match why {
        Some(GoEasy::Braces) if instrument.family == Family::Brass => WrittenRange {
            low: hard.low,
            high: hard.high.min(Written(comfortable.high.0 - BELOW_THE_TOP)),
        },
        Some(GoEasy::Braces) if !instrument.wind => hard,
        Some(_) => inside,
        None => hard,
    }
}

/// Most bars played without a bar of rest: what was said, and at most eight with an injury.
pub(super) fn bars_on_end(said: Option<u16>, why: Option<GoEasy>) -> Option<u16> {
    let own = (why == Some(GoEasy::Injury)).then_some(BARS_ON_END);
    [said, own].into_iter().flatten().min()
}

/// Greatest speed: what was said, and with an injury at most what players one level below the
/// weakest keep up with the tongue (first-year players: what they keep up themselves).
pub(super) fn speed(
    instrument: &Instrument,
    players: Players,
    said: Option<NotesPerSecond>,
    why: Option<GoEasy>,
) -> Option<NotesPerSecond> {
    let weakest = players.weakest().filter(|_| why == Some(GoEasy::Injury));
    let own = weakest.map(|level| {
        let below = Level::ALL.get(level.index().saturating_sub(1));
        let kept_up = instrument.playing.speeds.tongued;
        NotesPerSecond(kept_up.at(below.copied().unwrap_or(level)))
    });
    let all = [said, own].into_iter().flatten();
    all.min_by(|a, b| a.0.total_cmp(&b.0))
}
