//! Patterns that go round, as accompaniments do.

use super::attacks::{Attacks, Struck, bit};

/// How far a transposed pattern may lie from where it was, in semitones.
const NEAR: u8 = 7;
/// How unlike two lengths of a pattern may be, as a share of the longer.
const UNLIKE: f64 = 0.3;
/// How many rounds count on either side.
const ROUNDS: u32 = 3;

/// Whether the same pitch is struck so many quarters later (earlier, if negative).
pub(super) fn same(attacks: &Attacks, note: &Struck, lag: f64) -> bool {
    let there = attacks.near(note.at + lag);
    there.is_some_and(|k| attacks.list[k].new & bit(note.pitch) != 0)
}

/// Whether a note of the same length near in pitch is struck so many quarters later.
pub(super) fn shape(attacks: &Attacks, note: &Struck, lag: f64) -> bool {
    let Some(there) = attacks.near(note.at + lag) else {
        return false;
    };
    attacks.of(&attacks.list[there]).iter().any(|n| {
        let longer = n.length().max(note.length());
        n.pitch.abs_diff(note.pitch) <= NEAR
            && (n.length() - note.length()).abs() <= UNLIKE * longer
    })
}

/// How long a note's shape goes round, by half bars or by bars: 0 to 1.
pub(super) fn run(attacks: &Attacks, note: &Struck, bar: f64) -> f64 {
    let rounds = |period: f64, sign: f64| {
        (1..=ROUNDS)
            .take_while(|i| shape(attacks, note, sign * period * f64::from(*i)))
            .count()
    };
    let most = [bar / 2.0, bar]
        .into_iter()
        .map(|period| rounds(period, 1.0) + rounds(period, -1.0))
        .max();
    most.unwrap_or(0) as f64 / f64::from(2 * ROUNDS)
}
