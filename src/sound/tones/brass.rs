//! Brass: all partials up to the corner, falling off above it, far less so the louder they are played.
//!
//! MEM: D. Luce and M. Clark, Physical correlates of brass-instrument tones, J. Acoust. Soc. Am. 42, 1967 (below a
//! cutoff the partials are about level, above it they fall off, at ff some 10 dB an octave, softly much faster);
//! J. Meyer, Acoustics and the Performance of Music, 5th ed. 2009 (main formant: trumpet 1200 to 1500 Hz, trombone
//! 520 to 600 Hz, horn about 340 Hz, tuba 210 to 250 Hz); J.-C. Risset 1966 (a brass tone opens up as it grows).
//! Mellophone, flugelhorn, baritone and euphonium stand between their neighbours, ours.

use super::spectrum::Spectrum;
use super::{Attack, Body, Tone};

const fn horn(corner: f64, fall: [f64; 3], rise: f64) -> Body {
    Body::Held(Spectrum {
        corner,
        fall,
        rise,
        step: [0.8, 0.3, 0.0],
        formants: &[],
        even: 0.0,
    })
}

const BRIGHT: [f64; 3] = [26.0, 17.0, 10.0];
const DARK: [f64; 3] = [30.0, 21.0, 13.0];

const fn brass(
    name: &'static str,
    (program, variant): (u8, u8),
    keys: (u8, u8),
    body: Body,
    (seconds, noise_hertz): (f64, f64),
    source: &'static str,
) -> Tone {
    Tone {
        name,
        program,
        variant,
        keys,
        body,
        attack: Attack {
            seconds,
            noise_db: -20.0,
            noise_hertz,
            opens_octaves: 3.0,
        },
        release: 0.2,
        vibrato: None,
        source,
    }
}

const PUBLISHED: &str = "MEM: Luce and Clark 1967, Meyer 2009; slopes in dB ours";
const BETWEEN: &str = "ours, no source: between its neighbours";

/// The brass, high to low.
pub(super) const BRASS: &[Tone] = &[
    brass(
        "trumpet",
        (56, 0),
        (52, 88),
        horn(1250.0, BRIGHT, 2.0),
        (0.022, 2500.0),
        PUBLISHED,
    ),
    brass(
        "cornet",
        (56, 1),
        (52, 88),
        horn(1050.0, [28.0, 19.0, 11.5], 2.0),
        (0.025, 2200.0),
        BETWEEN,
    ),
    brass(
        "flugelhorn",
        (56, 2),
        (52, 88),
        horn(700.0, DARK, 1.5),
        (0.03, 1600.0),
        BETWEEN,
    ),
    brass(
        "horn",
        (60, 0),
        (35, 77),
        horn(420.0, [26.0, 19.0, 12.0], 2.0),
        (0.04, 1000.0),
        PUBLISHED,
    ),
    brass(
        "mellophone",
        (60, 1),
        (47, 81),
        horn(700.0, [27.0, 18.0, 11.0], 2.0),
        (0.03, 1500.0),
        BETWEEN,
    ),
    brass(
        "trombone",
        (57, 0),
        (29, 77),
        horn(600.0, BRIGHT, 2.0),
        (0.03, 1300.0),
        PUBLISHED,
    ),
    brass(
        "baritone",
        (57, 1),
        (34, 77),
        horn(480.0, [28.0, 19.0, 12.0], 1.5),
        (0.035, 1000.0),
        BETWEEN,
    ),
    brass(
        "euphonium",
        (57, 2),
        (34, 77),
        horn(400.0, DARK, 1.5),
        (0.04, 900.0),
        BETWEEN,
    ),
    brass(
        "tuba",
        (58, 0),
        (26, 65),
        horn(240.0, [28.0, 20.0, 13.0], 2.0),
        (0.05, 500.0),
        PUBLISHED,
    ),
];
