//! The piano of the sketch, mallets, chimes, timpani; what is plucked; a plain electronic tone.
//!
//! MEM, ratios of modes: N. Fletcher and T. Rossing, The Physics of Musical Instruments, 2nd ed. 1998 (marimba and
//! vibraphone bars are tuned to 1 : 4 and about 10, xylophone bars to 1 : 3 and about 6, glockenspiel bars ring
//! as free bars, 1 : 2.76 : 5.40; kettledrums about 1 : 1.5 : 1.99 : 2.44 : 2.89; chimes as 2 : 3 : 4.16 : 5.43 with
//! the strike pitch an octave below the first of these). Levels, times and the piano: ours.

use super::spectrum::Spectrum;
use super::strike::{Mode, Strike};
use super::{Attack, Body, Tone};

const fn mode(ratio: f64, db: f64, faster: f64) -> Mode {
    Mode { ratio, db, faster }
}

const PIANO: &[Mode] = &[
    mode(1.0, 0.0, 1.0),
    mode(2.0, -3.0, 1.2),
    mode(3.0, -7.0, 1.4),
    mode(4.0, -10.0, 1.6),
    mode(5.0, -13.0, 1.9),
    mode(6.0, -17.0, 2.2),
    mode(7.0, -26.0, 2.5),
    mode(8.0, -24.0, 2.8),
    mode(9.0, -27.0, 3.2),
    mode(10.0, -31.0, 3.6),
];
const MARIMBA: &[Mode] = &[
    mode(1.0, 0.0, 1.0),
    mode(4.0, -16.0, 3.0),
    mode(9.9, -24.0, 8.0),
];
const XYLOPHONE: &[Mode] = &[
    mode(1.0, 0.0, 1.0),
    mode(3.0, -6.0, 2.5),
    mode(6.1, -14.0, 6.0),
];
const VIBRAPHONE: &[Mode] = &[
    mode(1.0, 0.0, 1.0),
    mode(4.0, -14.0, 2.5),
    mode(9.9, -24.0, 5.0),
];
const BELLS: &[Mode] = &[
    mode(1.0, 0.0, 1.0),
    mode(2.76, -12.0, 2.0),
    mode(5.4, -18.0, 4.0),
];
const CHIMES: &[Mode] = &[
    mode(1.0, 0.0, 1.0),
    mode(2.0, -1.0, 1.0),
    mode(3.0, -4.0, 1.3),
    mode(4.16, -8.0, 1.8),
    mode(5.43, -13.0, 2.4),
];
const TIMPANI: &[Mode] = &[
    mode(1.0, 0.0, 1.0),
    mode(1.5, -5.0, 1.1),
    mode(1.99, -9.0, 1.4),
    mode(2.44, -14.0, 1.8),
    mode(2.89, -18.0, 2.2),
];
const PLUCKED: &[Mode] = &[
    mode(1.0, 0.0, 1.0),
    mode(2.0, -5.0, 1.3),
    mode(3.0, -11.0, 1.7),
    mode(4.0, -17.0, 2.2),
    mode(5.0, -22.0, 2.8),
];

const fn rung(
    name: &'static str,
    program: u8,
    keys: (u8, u8),
    (modes, rings, harder): (&'static [Mode], (f64, f64), f64),
    (noise_db, noise_hertz): (f64, f64),
    release: f64,
    source: &'static str,
) -> Tone {
    Tone {
        name,
        program,
        variant: 0,
        keys,
        body: Body::Struck(Strike {
            modes,
            rings,
            harder,
        }),
        attack: Attack {
            seconds: 0.001,
            noise_db,
            noise_hertz,
            opens_octaves: 0.0,
        },
        release,
        vibrato: None,
        source,
    }
}

const MODES: &str = "MEM: ratios after Fletcher and Rossing 1998; levels and times ours";
const OURS: &str = "ours, no source";

const ELECTRONIC: Spectrum = Spectrum {
    corner: 900.0,
    fall: [12.0, 12.0, 12.0],
    rise: 0.0,
    step: [3.0, 2.0, 1.0],
    formants: &[],
    even: 0.0,
};

/// The piano of the sketch first, then what the band strikes and plucks.
pub(super) const STRUCK: &[Tone] = &[
    rung(
        "piano",
        0,
        (21, 108),
        (PIANO, (9.0, 0.7), 5.0),
        (-20.0, 900.0),
        0.3,
        OURS,
    ),
    rung(
        "glockenspiel",
        9,
        (79, 108),
        (BELLS, (3.5, 1.5), 3.0),
        (-14.0, 6000.0),
        2.0,
        MODES,
    ),
    rung(
        "vibraphone",
        11,
        (53, 89),
        (VIBRAPHONE, (6.0, 3.0), 4.0),
        (-22.0, 1500.0),
        0.5,
        MODES,
    ),
    rung(
        "marimba",
        12,
        (45, 96),
        (MARIMBA, (1.8, 0.25), 5.0),
        (-16.0, 900.0),
        1.0,
        MODES,
    ),
    rung(
        "xylophone",
        13,
        (65, 108),
        (XYLOPHONE, (0.7, 0.2), 4.0),
        (-10.0, 3500.0),
        0.6,
        MODES,
    ),
    rung(
        "chimes",
        14,
        (60, 77),
        (CHIMES, (7.0, 5.0), 3.0),
        (-16.0, 3000.0),
        2.0,
        MODES,
    ),
    rung(
        "timpani",
        47,
        (38, 57),
        (TIMPANI, (2.6, 1.8), 4.0),
        (-14.0, 200.0),
        1.2,
        MODES,
    ),
    rung(
        "electric bass",
        33,
        (28, 67),
        (PLUCKED, (6.0, 3.0), 4.0),
        (-24.0, 900.0),
        0.15,
        OURS,
    ),
    Tone {
        name: "synthesizer",
        program: 89,
        variant: 0,
        keys: (21, 108),
        body: Body::Held(ELECTRONIC),
        attack: Attack {
            seconds: 0.03,
            noise_db: -60.0,
            noise_hertz: 1000.0,
            opens_octaves: 0.0,
        },
        release: 0.3,
        vibrato: None,
        source: OURS,
    },
];
