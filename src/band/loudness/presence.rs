//! How far a line stands above all else that sounds.

use super::critical_bands::from_place;
use super::decibels::Decibels;
use super::part_level::Tone;

/// Partials of a line that are listened for.
pub const LISTENED: usize = 6;
/// So many partials must rise above what covers them (ours, no source).
const ENOUGH: usize = 3;
/// And the best by so much, dB (ours, no source).
const CLEARLY: f64 = 6.0;

/// How far a line stands above the rest.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Presence {
    /// The line's sound power over that of the rest; infinite where nothing else sounds.
    pub plain_db: Decibels,
    /// How many of the line's six lowest partials rise above what the rest excites at their place
    /// of the ear: the most of any of its tones.
    pub audible_partials: usize,
    /// By how much the best of them does; infinite where nothing else sounds.
    pub best_band_db: Decibels,
    /// Whether the line is heard: a tone of it has three audible partials, one of them by 6 dB.
    pub heard: bool,
}

/// What all tones of a line make together.
#[must_use]
pub fn line_level<'a>(tones: impl IntoIterator<Item = &'a Tone>) -> Decibels {
    Decibels::together(tones.into_iter().map(|t| t.level))
}

/// The line's sound power over that of the rest; 0 where both are silent.
#[must_use]
pub fn plain(line: &[Tone], rest: &[Tone]) -> Decibels {
    line_level(line).above(line_level(rest))
}

/// How far a line stands above the rest at a moment: plain, and by the bands of the ear.
#[must_use]
pub fn presence(line: &[Tone], rest: &[Tone]) -> Presence {
    let heard = line.iter().map(|tone| {
        let covers = rest.iter().map(|r| covering(tone, r));
        heard_over(tone, covers)
    });
    of_tones(plain(line, rest), heard)
}

/// A line's presence from what is heard of each of its tones.
pub fn of_tones(plain: Decibels, tones: impl IntoIterator<Item = HeardTone>) -> Presence {
    let mut found = Presence {
        plain_db: plain,
        audible_partials: 0,
        best_band_db: Decibels::SILENCE,
        heard: false,
    };
    for tone in tones {
        found.audible_partials = found.audible_partials.max(tone.audible);
        found.best_band_db.0 = found.best_band_db.0.max(tone.best.0);
        found.heard |= tone.audible >= ENOUGH && tone.best.0 >= CLEARLY;
    }
    found
}

/// What is heard of one tone.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct HeardTone {
    /// How many of its six lowest partials rise above what covers them.
    pub audible: usize,
    /// By how much the best of them does.
    pub best: Decibels,
}

/// What another tone excites at the place of each of a tone's six lowest partials, as power.
#[must_use]
pub fn covering(tone: &Tone, other: &Tone) -> [f64; LISTENED] {
    let mut powers = [0.0; LISTENED];
    for (power, (_, place)) in powers.iter_mut().zip(&tone.partials) {
        let excited = other.partials.iter();
        let excited = excited.map(|(masker, at)| from_place(*masker, *at, *place));
        *power = excited.map(|e| Decibels(e).power()).sum();
    }
    powers
}

/// What is heard of a tone over all that covers it.
pub fn heard_over(tone: &Tone, covers: impl IntoIterator<Item = [f64; LISTENED]>) -> HeardTone {
    let mut sum = [0.0; LISTENED];
    for cover in covers {
        for (s, c) in sum.iter_mut().zip(cover) {
            *s += c;
        }
    }
    let mut heard = HeardTone {
        audible: 0,
        best: Decibels::SILENCE,
    };
    for ((partial, _), covered) in tone.partials.iter().zip(sum) {
        let over = partial.level - Decibels::of_power(covered).0;
        heard.audible += usize::from(over > 0.0);
        heard.best.0 = heard.best.0.max(over);
    }
    heard
}
