//! Published check values: key profiles and chord templates.

use bandwright::music::key::{AARDEN_ESSEN, KRUMHANSL_KESSLER, KeyProfile, TEMPERLEY, key_fit};
use bandwright::music::{Key, Mode, PitchClass, Quality};
use bandwright::sketch::{best_template, score_template};

fn key(tonic: i32, mode: Mode) -> Key {
    Key {
        tonic: PitchClass::of(tonic),
        mode,
    }
}

fn bag(pairs: &[(usize, f64)]) -> [f64; 12] {
    let mut bag = [0.0; 12];
    for (class, weight) in pairs {
        bag[*class] = *weight;
    }
    bag
}

fn near(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 6e-5, "{found} is not {wanted}");
}

#[test]
fn krumhansl_kessler_profiles_correlate_as_published() {
    let c = KRUMHANSL_KESSLER.major;
    let fit = |tonic, mode| key_fit(&c, key(tonic, mode), &KRUMHANSL_KESSLER);
    near(fit(9, Mode::Minor), 0.6496);
    near(fit(7, Mode::Major), 0.5910);
    near(fit(0, Mode::Minor), 0.5121);
    near(fit(6, Mode::Major), -0.6828);
    near(fit(4, Mode::Minor), 0.5361);
}

#[test]
fn profiles_fit_known_inputs() {
    let all: [&KeyProfile; 3] = [&KRUMHANSL_KESSLER, &TEMPERLEY, &AARDEN_ESSEN];
    let check = |bag: [f64; 12], k: Key, wanted: [f64; 3]| {
        for (profile, wanted) in all.iter().zip(wanted) {
            near(key_fit(&bag, k, profile), wanted);
        }
    };
    let twinkle = bag(&[(0, 4.0), (2, 2.0), (4, 2.0), (5, 2.0), (7, 4.0), (9, 2.0)]);
    check(twinkle, key(0, Mode::Major), [0.9586, 0.8364, 0.9182]);
    let scale = [0, 2, 4, 5, 7, 9, 11].map(|c| (c, 1.0));
    check(bag(&scale), key(0, Mode::Major), [0.7564, 0.9365, 0.8401]);
    let harmonic = [9, 11, 0, 2, 4, 5, 8].map(|c| (c, 1.0));
    check(
        bag(&harmonic),
        key(9, Mode::Minor),
        [0.6872, 0.9365, 0.7103],
    );
    let cadence = [
        (0, 3.0),
        (2, 1.0),
        (4, 2.0),
        (5, 2.0),
        (7, 3.0),
        (9, 1.0),
        (11, 1.0),
    ];
    check(bag(&cadence), key(0, Mode::Major), [0.9650, 0.9364, 0.9268]);
}

#[test]
fn templates_score_as_published() {
    let score = |bag: &[f64; 12], root, quality| score_template(bag, PitchClass::of(root), quality);
    let c = bag(&[(0, 3.0), (4, 3.0), (7, 3.0), (5, 1.0)]);
    near(score(&c, 0, Quality::Major), 8.0);
    near(score(&c, 0, Quality::Dominant7), 7.0);
    let g = bag(&[(7, 2.0), (11, 2.0), (5, 1.0)]);
    near(score(&g, 7, Quality::Dominant7), 4.0);
    near(score(&g, 7, Quality::Major), 2.0);
}

#[test]
fn ties_go_by_root_then_prior_and_the_bass_settles_the_rest() {
    let best = |bag: &[f64; 12], bass: Option<i32>| {
        let found = best_template(bag, bass.map(PitchClass::of), 1.0);
        found.map(|(root, quality, _)| (root.number(), quality))
    };
    let third = bag(&[(0, 1.0), (4, 1.0)]);
    assert_eq!(best(&third, None), Some((0, Quality::Major)));
    let four = bag(&[(9, 1.0), (0, 1.0), (4, 1.0), (7, 1.0)]);
    assert_eq!(best(&four, Some(9)), Some((9, Quality::Minor7)));
    assert_eq!(best(&four, Some(0)), Some((0, Quality::Sixth)));
    let triad = bag(&[(9, 1.0), (0, 1.0), (4, 1.0)]);
    assert_eq!(best(&triad, None), Some((9, Quality::Minor)));
    let fifth = bag(&[(2, 1.0), (9, 1.0)]);
    assert_eq!(best(&fifth, None), Some((2, Quality::Fifth)));
    assert_eq!(best(&bag(&[(2, 1.0)]), None), Some((2, Quality::Single)));
    assert_eq!(best(&[0.0; 12], None), None);
}
