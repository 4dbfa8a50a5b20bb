//! What the key and the chord before make of a chord.

use super::labels::Label;
use super::weights::Weights;
use crate::music::{ChordTone, Key, Mode, PitchClass, Quality};

/// How usual a root progression is, in slots, by semitones from the old root up to the new one:
/// falling fifths first, then steps up and falling thirds (the order of Piston's table of usual
/// root progressions, Harmony, from memory; numbers by trial).
const PROGRESSIONS: [f64; 12] = [
    0.0, -0.6, -0.3, -0.6, -0.6, 0.0, -0.9, -0.3, -0.4, -0.3, -0.5, -0.6,
];

/// The same from or to a chord whose root is told by where it leads alone.
const SYMMETRIC: f64 = -0.4;

/// How usual a triad on each scale degree is, in slots, by semitones above the tonic (order after
/// the counts of common-practice chords in Temperley 2009, from memory; numbers by trial).
const MAJOR_DEGREES: [f64; 12] = [
    0.0, -1.0, -0.3, -1.0, -0.6, -0.2, -1.1, -0.1, -0.9, -0.4, -0.8, -0.6,
];
const MINOR_DEGREES: [f64; 12] = [
    0.0, -0.9, -0.5, -0.4, -1.0, -0.2, -1.1, -0.1, -0.4, -0.8, -0.5, -0.6,
];
/// What each tone outside the key costs, unless the chord leads to one of the key's own.
const OUTSIDE: f64 = 0.5;
/// What such a chord costs that leads to one of the key's own.
const APPLIED: f64 = 0.7;

/// What a key makes of a label, in slots.
pub(super) fn key_value(key: Key, label: &Label) -> f64 {
    let degree = key.tonic.up_to(label.root);
    let degrees = match key.mode {
        Mode::Major => &MAJOR_DEGREES,
        Mode::Minor => &MINOR_DEGREES,
    };
    let place = degrees[usize::from(degree)];
    let outside = PitchClass::all()
        .filter(|c| label.mask & (1 << c.number()) != 0 && !key.has(*c))
        .count();
    if outside == 0 {
        return place;
    }
    match target(label.root, label.quality) {
        Some(t) if t == key.tonic && is_symmetric(label.quality) => place.max(-APPLIED),
        Some(t) if t != key.tonic && key.has(t) => -APPLIED,
        _ => place - OUTSIDE * outside as f64,
    }
}

/// Where a chord of the dominant kind leads: a fifth down, or a half step up from a leading-tone
/// chord.
pub(super) fn target(root: PitchClass, quality: Quality) -> Option<PitchClass> {
    match quality {
        Quality::Diminished | Quality::Diminished7 | Quality::HalfDiminished7 => Some(root.up(1)),
        _ if is_dominant(quality) => Some(root.up(5)),
        _ => None,
    }
}

/// Whether any tone of a chord could be its root by sound.
const fn is_symmetric(quality: Quality) -> bool {
    matches!(quality, Quality::Diminished7)
}

/// Whether a kind has a major third, and a minor seventh if any.
pub(super) fn is_dominant(quality: Quality) -> bool {
    let has = |semitones: u8, kind: ChordTone| quality.tones().contains(&(semitones, kind));
    has(4, ChordTone::Third) && !has(11, ChordTone::Seventh) && !has(9, ChordTone::Sixth)
}

/// What going from one chord to another is worth.
pub(super) fn progression(from: &Label, to: &Label, w: &Weights) -> f64 {
    if from.root == to.root && !is_symmetric(from.quality) && !is_symmetric(to.quality) {
        return w.same_root;
    }
    let usual = if is_symmetric(from.quality) || is_symmetric(to.quality) {
        SYMMETRIC * w.progression
    } else {
        PROGRESSIONS[usize::from(from.root.up_to(to.root))] * w.progression
    };
    let leads = matches!(
        from.quality,
        Quality::Diminished7 | Quality::Diminished | Quality::Augmented7
    );
    if leads && target(from.root, from.quality) == Some(to.root) {
        usual + w.leading
    } else {
        usual
    }
}

/// The most that any progression is worth.
pub(super) fn most_progression(w: &Weights) -> f64 {
    let usual = |steps: f64| w.progression * steps;
    let most = PROGRESSIONS
        .map(usual)
        .into_iter()
        .fold(usual(SYMMETRIC), f64::max);
    (most + w.leading.max(0.0)).max(w.same_root)
}
