//! How well a chord explains what sounds: templates after Pardo & Birmingham, "Algorithms for
//! Chordal Analysis", Computer Music Journal 26(2), 2002.

use crate::music::{PitchClass, Quality};

/// The kinds that are looked for, each with its prior. The six of Pardo & Birmingham keep their
/// published priors; the others (common practice, no source) come after them.
pub const TEMPLATES: [(Quality, f64); 14] = [
    (Quality::Major, 0.436),
    (Quality::Dominant7, 0.219),
    (Quality::Minor, 0.194),
    (Quality::Diminished7, 0.044),
    (Quality::HalfDiminished7, 0.037),
    (Quality::Diminished, 0.018),
    (Quality::Minor7, 0.017),
    (Quality::Major7, 0.016),
    (Quality::Sus4, 0.012),
    (Quality::Sixth, 0.010),
    (Quality::Dominant7Sus4, 0.008),
    (Quality::Augmented, 0.006),
    (Quality::Add9, 0.005),
    (Quality::Sus2, 0.004),
];

/// The score of a chord: weight of the notes in it, less the weight of those outside, less the
/// number of its tones that are missing. `weights` are by pitch class, C first.
///
/// ```
/// use bandwright::music::{PitchClass, Quality};
/// use bandwright::sketch::score_template;
/// let mut weights = [0.0; 12];
/// (weights[0], weights[4], weights[7], weights[5]) = (3.0, 3.0, 3.0, 1.0);
/// assert_eq!(score_template(&weights, PitchClass::C, Quality::Major), 8.0);
/// assert_eq!(score_template(&weights, PitchClass::C, Quality::Dominant7), 7.0);
/// ```
#[must_use]
pub fn score_template(weights: &[f64; 12], root: PitchClass, quality: Quality) -> f64 {
    let total: f64 = weights.iter().sum();
    let (mut inside, mut missing) = (0.0, 0.0);
    for (above, _) in quality.tones() {
        let class = (usize::from(root.number()) + usize::from(*above)) % 12;
        inside += weights[class];
        if weights[class] <= 0.0 {
            missing += 1.0;
        }
    }
    2.0 * inside - total - missing
}

/// The best chord for the weights and its score; `bass` is the lowest class, which is likelier
/// the root by `bass_bonus`. Ties go to the greater weight of the root, then the likelier kind,
/// then the lower root. One class alone is [`Quality::Single`], a bare fifth [`Quality::Fifth`]:
/// no third is invented. `None` where nothing sounds.
#[must_use]
pub fn best_template(
    weights: &[f64; 12],
    bass: Option<PitchClass>,
    bass_bonus: f64,
) -> Option<(PitchClass, Quality, f64)> {
    let total: f64 = weights.iter().sum();
    let sounding: Vec<PitchClass> = PitchClass::all()
        .filter(|c| weights[usize::from(c.number())] > 0.0)
        .collect();
    match sounding.as_slice() {
        [] => return None,
        [one] => return Some((*one, Quality::Single, total)),
        [a, b] if a.up_to(*b) == 7 => return Some((*a, Quality::Fifth, total)),
        [a, b] if a.up_to(*b) == 5 => return Some((*b, Quality::Fifth, total)),
        _ => {}
    }
    let mut best: Option<(f64, f64, f64, PitchClass, Quality)> = None;
    for root in sounding {
        let bonus = if bass == Some(root) { bass_bonus } else { 0.0 };
        let weight = weights[usize::from(root.number())];
        for (quality, prior) in TEMPLATES {
            let score = score_template(weights, root, quality) - rarity(quality) * total;
            let key = (score + bonus, weight, prior);
            if best.is_none_or(|b| is_better(key, (b.0, b.1, b.2))) {
                best = Some((key.0, key.1, key.2, root, quality));
            }
        }
    }
    best.map(|b| (b.3, b.4, b.0))
}

/// Which part of all weight a rarer kind must explain better than a plain one, so that passing
/// tones do not become chord tones. Chosen by trial.
const fn rarity(quality: Quality) -> f64 {
    match quality {
        Quality::Minor7 => 0.07,
        Quality::Major7 => 0.12,
        Quality::Sus4
        | Quality::Sixth
        | Quality::Dominant7Sus4
        | Quality::Augmented
        | Quality::Add9
        | Quality::Sus2 => 0.15,
        _ => 0.0,
    }
}

fn is_better(a: (f64, f64, f64), b: (f64, f64, f64)) -> bool {
    const SAME: f64 = 1e-9;
    if (a.0 - b.0).abs() > SAME {
        return a.0 > b.0;
    }
    if (a.1 - b.1).abs() > SAME {
        return a.1 > b.1;
    }
    a.2 > b.2 + SAME
}
