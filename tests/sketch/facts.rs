//! Published check values: key profiles.

use bandwright::music::key::{AARDEN_ESSEN, KRUMHANSL_KESSLER, KeyProfile, TEMPERLEY, key_fit};
use bandwright::music::{Key, Mode, PitchClass};

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
