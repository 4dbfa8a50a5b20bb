//! Rests for brass players: nobody's lips last a whole show.

use crate::band::{Family, Level, Part};
use crate::score::Passage;

/// So many bars beyond are counted in one passage, so that a piece that leaves no rest is not judged by it
/// alone.
const MOST_COUNTED: u32 = 8;

/// How many bars brass players of a level may go without a passage of rest (common practice, no source for
/// the numbers; the director knows better).
const fn most_bars(level: Level) -> u32 {
    match level {
        Level::FirstYear => 12,
        Level::SecondYear => 16,
        Level::Intermediate => 20,
        Level::Advanced => 28,
        Level::AllState => 36,
    }
}

/// How many bars a passage has.
pub(super) fn bars_of(passage: &Passage) -> u32 {
    passage.last_bar.0.saturating_sub(passage.first_bar.0) + 1
}

/// By how many bars a brass part that has now played so many is past its rest, eight at most; 0 for others.
pub(super) fn due_bars(part: &Part, played: u32) -> u32 {
    let brass = part.instrument.family == Family::Brass;
    let most = part.players.weakest().filter(|_| brass).map(most_bars);
    most.map_or(0, |most| played.saturating_sub(most).min(MOST_COUNTED))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::preset;

    #[test]
    fn brass_is_due_a_rest_the_sooner_the_weaker_it_is() {
        let band = preset("demo").unwrap();
        let part = |name: &str| band.parts.iter().find(|p| p.name == name).unwrap();
        assert_eq!(due_bars(part("Trombone 3"), 12), 0);
        assert_eq!(due_bars(part("Trombone 3"), 16), 4);
        assert_eq!(due_bars(part("Trombone 3"), 99), MOST_COUNTED);
        assert_eq!(due_bars(part("Mellophone 1"), 28), 0);
        assert_eq!(due_bars(part("Flute 1"), 500), 0);
    }
}
