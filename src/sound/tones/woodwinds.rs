//! Woodwinds, and the string bass.
//!
//! MEM, directions and formants: J. Meyer, Acoustics and the Performance of Music, 5th ed. 2009 (flute: the first
//! partial rules, few others; oboe: formants about 1100 and 2700 Hz; bassoon: about 500 and 1150 Hz; clarinet: even
//! partials weak in the low register); A. Benade, Fundamentals of Musical Acoustics, 1976 (woodwinds fall off
//! above the cutoff frequency of their open holes: clarinet about 1500 Hz, oboe about 1400, bassoon about 400,
//! alto saxophone about 800). Slopes in dB, attack times, noise and vibrato: ours.

use super::spectrum::{Formant, Spectrum};
use super::{Attack, Body, Tone, Vibrato};

const fn breath(seconds: f64, noise_db: f64, noise_hertz: f64) -> Attack {
    Attack {
        seconds,
        noise_db,
        noise_hertz,
        opens_octaves: 0.0,
    }
}

const fn vibrato(cents: i16, hertz: f64) -> Option<Vibrato> {
    Some(Vibrato {
        cents,
        hertz,
        after: 0.35,
    })
}

const FLUTE: Spectrum = Spectrum {
    corner: 1200.0,
    fall: [14.0, 11.0, 8.0],
    rise: 1.0,
    step: [5.0, 3.5, 2.0],
    formants: &[],
    even: 0.0,
};

const PICCOLO: Spectrum = Spectrum {
    corner: 2500.0,
    step: [6.0, 4.5, 3.0],
    ..FLUTE
};

const CLARINET: Spectrum = Spectrum {
    corner: 1500.0,
    fall: [24.0, 18.0, 13.0],
    rise: 0.0,
    step: [2.5, 1.2, 0.5],
    formants: &[],
    even: 22.0,
};

const LOW_CLARINET: Spectrum = Spectrum {
    corner: 750.0,
    ..CLARINET
};

const SAX: Spectrum = Spectrum {
    corner: 850.0,
    fall: [18.0, 13.0, 9.0],
    rise: 1.0,
    step: [1.5, 0.7, 0.2],
    formants: &[Formant {
        hertz: 1200.0,
        db: 4.0,
        octaves: 0.6,
    }],
    even: 0.0,
};

const fn sax(corner: f64, formants: &'static [Formant]) -> Spectrum {
    Spectrum {
        corner,
        formants,
        ..SAX
    }
}

const OBOE: Spectrum = Spectrum {
    corner: 1400.0,
    fall: [16.0, 13.0, 11.0],
    rise: 5.0,
    step: [0.5, 0.2, 0.0],
    formants: &[
        Formant {
            hertz: 1100.0,
            db: 8.0,
            octaves: 0.5,
        },
        Formant {
            hertz: 2700.0,
            db: 8.0,
            octaves: 0.35,
        },
    ],
    even: 0.0,
};

const BASSOON: Spectrum = Spectrum {
    corner: 500.0,
    fall: [17.0, 14.0, 11.0],
    rise: 5.0,
    step: [0.3, 0.1, 0.0],
    formants: &[
        Formant {
            hertz: 500.0,
            db: 8.0,
            octaves: 0.5,
        },
        Formant {
            hertz: 1150.0,
            db: 5.0,
            octaves: 0.4,
        },
    ],
    even: 0.0,
};

const BASS: Spectrum = Spectrum {
    corner: 250.0,
    fall: [14.0, 11.0, 9.0],
    rise: 2.0,
    step: [1.5, 1.0, 0.7],
    formants: &[],
    even: 0.0,
};

const FLUTES: &str = "MEM: Meyer 2009; slopes ours";
const CLARINETS: &str = "MEM: Meyer 2009, Benade 1976; slopes ours";
const SAXES: &str = "MEM: Benade 1976 (cutoff); formant and slopes ours";
const REEDS: &str = "MEM: Meyer 2009, Benade 1976; slopes ours";

const fn held(
    name: &'static str,
    (program, variant): (u8, u8),
    keys: (u8, u8),
    spectrum: Spectrum,
    attack: Attack,
    vibrato: Option<Vibrato>,
    source: &'static str,
) -> Tone {
    Tone {
        name,
        program,
        variant,
        keys,
        body: Body::Held(spectrum),
        attack,
        release: 0.22,
        vibrato,
        source,
    }
}

const SOPRANO_HUMP: &[Formant] = &[Formant {
    hertz: 1800.0,
    db: 4.0,
    octaves: 0.6,
}];
const TENOR_HUMP: &[Formant] = &[Formant {
    hertz: 900.0,
    db: 4.0,
    octaves: 0.6,
}];
const BARITONE_HUMP: &[Formant] = &[Formant {
    hertz: 600.0,
    db: 4.0,
    octaves: 0.6,
}];

/// The woodwinds, high to low.
pub(super) const WOODWINDS: &[Tone] = &[
    held(
        "piccolo",
        (72, 0),
        (74, 108),
        PICCOLO,
        breath(0.03, -16.0, 5000.0),
        vibrato(8, 5.5),
        FLUTES,
    ),
    held(
        "flute",
        (73, 0),
        (59, 98),
        FLUTE,
        breath(0.045, -12.0, 2500.0),
        vibrato(10, 5.2),
        FLUTES,
    ),
    held(
        "oboe",
        (68, 0),
        (58, 93),
        OBOE,
        breath(0.025, -24.0, 2500.0),
        vibrato(7, 5.2),
        REEDS,
    ),
    held(
        "bassoon",
        (70, 0),
        (34, 76),
        BASSOON,
        breath(0.035, -22.0, 900.0),
        vibrato(6, 5.0),
        REEDS,
    ),
    held(
        "clarinet",
        (71, 0),
        (50, 94),
        CLARINET,
        breath(0.035, -24.0, 1800.0),
        None,
        CLARINETS,
    ),
    held(
        "low clarinet",
        (71, 1),
        (34, 82),
        LOW_CLARINET,
        breath(0.045, -22.0, 1000.0),
        None,
        CLARINETS,
    ),
    held(
        "soprano sax",
        (64, 0),
        (56, 88),
        sax(1200.0, SOPRANO_HUMP),
        breath(0.03, -20.0, 2500.0),
        vibrato(8, 5.2),
        SAXES,
    ),
    held(
        "alto sax",
        (65, 0),
        (49, 81),
        SAX,
        breath(0.03, -20.0, 1800.0),
        vibrato(8, 5.2),
        SAXES,
    ),
    held(
        "tenor sax",
        (66, 0),
        (44, 76),
        sax(620.0, TENOR_HUMP),
        breath(0.035, -19.0, 1400.0),
        vibrato(8, 5.0),
        SAXES,
    ),
    held(
        "baritone sax",
        (67, 0),
        (36, 69),
        sax(430.0, BARITONE_HUMP),
        breath(0.04, -19.0, 1000.0),
        None,
        SAXES,
    ),
    held(
        "string bass",
        (43, 0),
        (28, 67),
        BASS,
        breath(0.05, -24.0, 700.0),
        None,
        "ours, no source",
    ),
];
