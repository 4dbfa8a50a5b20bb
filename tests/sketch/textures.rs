//! Piano textures of our own making: the tune and the bass are known by construction.

use super::build::{Plain, score, song};
use bandwright::music::Tick;
use bandwright::sketch::{Line, PedalSpan, read_sketch};
use std::collections::BTreeSet;

const Q: u32 = 480;
const BAR: u32 = 4 * Q;

/// Roots and thirds of eight bars: I vi IV V I ii V I, in semitones over the tonic.
const CHORDS: [(u8, u8); 8] = [
    (0, 4),
    (9, 3),
    (5, 4),
    (7, 4),
    (0, 4),
    (2, 3),
    (7, 4),
    (0, 4),
];

/// A tune over them: pitch over the high tonic and length in eighths, four bars at a time.
const TUNE: [&[(i8, u32)]; 8] = [
    &[(4, 3), (5, 1), (7, 2), (4, 2)],
    &[(0, 2), (4, 2), (2, 1), (0, 1), (-3, 2)],
    &[(-3, 2), (0, 2), (5, 3), (4, 1)],
    &[(2, 6)],
    &[(4, 3), (5, 1), (7, 2), (12, 2)],
    &[(9, 2), (5, 2), (4, 1), (2, 1), (5, 2)],
    &[(2, 2), (5, 2), (4, 1), (2, 1), (-1, 2)],
    &[(0, 6)],
];

/// What the left hand plays in a bar.
#[derive(Clone, Copy, Debug)]
enum Texture {
    Alberti,
    Wave,
    Up,
    Stride,
    Octaves,
    Walking,
    Blocks,
    Tremolo,
    Sixteenths,
    Down,
    Turning,
    Halves,
    Rolled,
    Rest,
}

const TEXTURES: [Texture; 14] = [
    Texture::Alberti,
    Texture::Wave,
    Texture::Up,
    Texture::Stride,
    Texture::Octaves,
    Texture::Walking,
    Texture::Blocks,
    Texture::Tremolo,
    Texture::Sixteenths,
    Texture::Down,
    Texture::Turning,
    Texture::Halves,
    Texture::Rolled,
    Texture::Rest,
];

/// Notes after the bar's start and which of them are bass.
fn left_hand(texture: Texture, root: u8, third: u8) -> Vec<(u32, u8, u32, bool)> {
    let (r, t, f) = (root, root + third, root + 7);
    let run = |pitches: &[u8], step: u32, bass: &[usize]| {
        (0..BAR / step)
            .zip(pitches.iter().cycle().enumerate())
            .map(|(i, (k, p))| (i * step, *p, step, bass.contains(&k)))
            .collect::<Vec<_>>()
    };
    let chord =
        |at: u32, length: u32, pitches: [u8; 3]| pitches.map(|p| (at, p, length, false)).to_vec();
    match texture {
        Texture::Alberti => run(&[r, f, t, f], Q / 2, &[0, 4]),
        Texture::Wave => run(
            &[r, f, r + 12, t + 12, f + 12, t + 12, r + 12, f],
            Q / 2,
            &[0],
        ),
        Texture::Up => run(&[r, f, r + 12, t + 12], Q / 2, &[0, 4]),
        Texture::Tremolo => run(&[r, r + 12], Q / 2, &[0, 2, 4, 6]),
        Texture::Sixteenths => run(&[r, f, t, f], Q / 4, &[0, 4, 8, 12]),
        Texture::Down => run(
            &[r, f + 12, t + 12, r + 12, f, r + 12, t + 12, f + 12],
            Q / 2,
            &[0],
        ),
        Texture::Turning => run(&[r, f, r + 12, f, t + 12, f, r + 12, f], Q / 2, &[0]),
        Texture::Halves => run(&[r, t + 12], 2 * Q, &[0])
            .into_iter()
            .chain([(Q, f, Q, false), (3 * Q, f, Q, false)])
            .map(|(at, p, l, b)| (at, p, if b { BAR } else { l }, b))
            .collect(),
        Texture::Rolled => (0..)
            .zip([r, f, t + 12])
            .map(|(i, p)| (i * Q / 8, p, BAR - i * Q / 8, i == 0))
            .collect(),
        Texture::Rest => [
            vec![(0, r, Q, true)],
            (1..8)
                .map(|i| (i * Q / 2, [f, r + 12, t + 12][i as usize % 3], Q / 2, false))
                .collect(),
        ]
        .concat(),
        Texture::Stride => [
            vec![(0, r, Q, true), (2 * Q, f - 12, Q, true)],
            chord(Q, Q, [r + 12, t + 12, f + 12]),
            chord(3 * Q, Q, [r + 12, t + 12, f + 12]),
        ]
        .concat(),
        Texture::Octaves => [0, 2 * Q]
            .into_iter()
            .flat_map(|at| [(at, r - 12, 2 * Q, true), (at, r, 2 * Q, false)])
            .collect(),
        Texture::Walking => [r, t, f, f + 2]
            .into_iter()
            .zip(0..)
            .map(|(p, i)| (i * Q, p, Q, true))
            .collect(),
        Texture::Blocks => [0, 2 * Q]
            .into_iter()
            .flat_map(|at| {
                [
                    [(at, r, 2 * Q, true)].to_vec(),
                    chord(at, 2 * Q, [f, r + 12, t + 12]),
                ]
                .concat()
            })
            .collect(),
    }
}

/// A texture with the tune, and with chords under the tune if `full`: all notes, tune and bass.
struct Made {
    notes: Vec<Plain>,
    tune: BTreeSet<(u64, u8)>,
    bass: BTreeSet<(u64, u8)>,
}

fn make(texture: Texture, key: u8, full: bool) -> Made {
    let mut made = Made {
        notes: Vec::new(),
        tune: BTreeSet::new(),
        bass: BTreeSet::new(),
    };
    for bar in 0..16_u32 {
        let start = bar * BAR;
        let (root, third) = CHORDS[bar as usize % 8];
        let low = 36 + (key + root) % 12 + if (key + root) % 12 < 4 { 12 } else { 0 };
        for (at, pitch, length, bass) in left_hand(texture, low, third) {
            made.notes.push((start + at, pitch, length));
            if bass {
                made.bass.insert((u64::from(start + at), pitch));
            }
        }
        let mut at = start;
        for (over, eighths) in TUNE[bar as usize % 8] {
            let pitch = (74 + key).checked_add_signed(*over).unwrap();
            made.notes.push((at, pitch, eighths * Q / 2));
            made.tune.insert((u64::from(at), pitch));
            at += eighths * Q / 2;
        }
        if full {
            for at in [0, 2 * Q] {
                let third = 60 + (key + root + third) % 12;
                made.notes.push((start + at, third, 2 * Q));
            }
        }
    }
    made.notes.sort_unstable();
    made.notes.dedup_by_key(|n| (n.0, n.1));
    made
}

/// F1 of tune and bass, and how many notes are called Figure.
fn measure(texture: Texture, key: u8, full: bool, pedal: bool) -> (f64, f64, usize) {
    let made = make(texture, key, full);
    let mut song = song(&[made.notes]);
    if pedal {
        song.tracks[0].pedal = (0..16)
            .map(|bar| PedalSpan {
                channel: 0,
                down: Tick(u64::from(bar * BAR + 10)),
                up: Tick(u64::from((bar + 1) * BAR)),
            })
            .collect();
    }
    let r = read_sketch(&song, &[]);
    (
        score(&r, Line::Melody, &made.tune),
        score(&r, Line::Bass, &made.bass),
        r.line(Line::Figure).count(),
    )
}

/// How many notes of a texture run over its bass in the sixteen bars.
fn running(texture: Texture) -> usize {
    16 * match texture {
        Texture::Alberti | Texture::Up => 6,
        Texture::Tremolo => 4,
        Texture::Sixteenths => 12,
        Texture::Wave | Texture::Down | Texture::Turning | Texture::Rest => 7,
        _ => 0,
    }
}

#[test]
fn textures_give_up_their_tune_and_their_bass() {
    for texture in TEXTURES {
        for (full, pedal) in [(false, false), (false, true), (true, false), (true, true)] {
            for key in [0, 3, 7] {
                let (tune, bass, figures) = measure(texture, key, full, pedal);
                let place = format!("{texture:?}, key {key}, full {full}, pedal {pedal}");
                assert!(tune >= 0.99 && bass >= 0.99, "{place}: {tune} {bass}");
                let wanted = running(texture);
                let near = figures <= wanted && 10 * figures >= 9 * wanted;
                assert!(near, "{place}: {figures} of {wanted} figure notes");
            }
        }
    }
}
