//! Where a tune may hide: our own music, in which the tune is known by construction.

use super::build::{Plain, score, song};
use bandwright::sketch::{Line, ReadOptions, Song, read_sketch, read_sketch_with};
use std::collections::BTreeSet;

const Q: u32 = 480;
const E: u32 = Q / 2;
const BAR: u32 = 4 * Q;
const BARS: u32 = 16;

/// A tune of eight bars, twice: pitch over the tonic and length in eighths.
const TUNE: Bars = [
    &[(4, 2), (5, 1), (7, 3), (9, 2)],
    &[(7, 4), (4, 2), (2, 2)],
    &[(0, 2), (2, 1), (4, 3), (2, 1), (0, 1)],
    &[(2, 6)],
    &[(4, 2), (5, 1), (7, 3), (12, 2)],
    &[(11, 1), (9, 3), (7, 2), (5, 2)],
    &[(4, 3), (5, 1), (4, 2), (2, 2)],
    &[(0, 6)],
];

/// Roots over the tonic and thirds over the roots.
const CHORDS: [(u8, u8); 8] = [
    (0, 4),
    (0, 4),
    (9, 3),
    (7, 4),
    (0, 4),
    (5, 4),
    (7, 4),
    (0, 4),
];

/// The tune with its tonic at a pitch, in these bars.
fn tune(tonic: u8, bars: impl Iterator<Item = u32>) -> Vec<Plain> {
    let mut notes = Vec::new();
    for bar in bars {
        let mut at = bar * BAR;
        for (over, eighths) in TUNE[bar as usize % 8] {
            notes.push((at, tonic.checked_add_signed(*over).unwrap(), eighths * E));
            at += eighths * E;
        }
    }
    notes
}

/// For each bar the notes of a hand: from the bar's start, root and third.
fn hand(bars: impl Iterator<Item = u32>, play: impl Fn(u8, u8) -> Vec<Plain>) -> Vec<Plain> {
    bars.flat_map(|bar| {
        let (root, third) = CHORDS[bar as usize % 8];
        let notes = play(root, third);
        notes
            .into_iter()
            .map(move |(at, pitch, length)| (bar * BAR + at, pitch, length))
    })
    .collect()
}

/// A pitch of a class from a lowest one up.
fn above(low: u8, class: u8) -> u8 {
    low + (class + 120 - low) % 12
}

/// The three tones of a chord from a lowest pitch up, lowest first.
fn close(low: u8, root: u8, third: u8) -> [u8; 3] {
    let mut tones = [root, root + third, root + 7].map(|class| above(low, class));
    tones.sort_unstable();
    tones
}

/// Equal steps through these pitches, over a bar.
fn running(pitches: &[u8], step: u32) -> Vec<Plain> {
    (0..BAR / step)
        .zip(pitches.iter().cycle())
        .map(|(i, p)| (i * step, *p, step))
        .collect()
}

fn struck(at: &[u32], length: u32, pitches: &[u8]) -> Vec<Plain> {
    at.iter()
        .flat_map(|at| pitches.iter().map(move |p| (*at, *p, length)))
        .collect()
}

const OFF: [u32; 4] = [E, 3 * E, 5 * E, 7 * E];
const HALVES: [u32; 2] = [0, 4 * E];

fn all() -> std::ops::Range<u32> {
    0..BARS
}

/// F1 of the melody found in the tracks, first with all notes equally loud, then with the tune
/// somewhat louder.
fn measure(tracks: &[Vec<Plain>], tune: &[Plain]) -> [f64; 2] {
    let truth: BTreeSet<(u64, u8)> = tune.iter().map(|n| (u64::from(n.0), n.1)).collect();
    let tracks: Vec<Vec<Plain>> = tracks
        .iter()
        .map(|notes| {
            let mut notes = notes.clone();
            notes.sort_unstable();
            notes.dedup_by_key(|n| (n.0, n.1));
            notes
        })
        .collect();
    let even = song(&tracks);
    let mut sung: Song = even.clone();
    for note in sung.tracks.iter_mut().flat_map(|t| &mut t.notes) {
        let is_tune = truth.contains(&(note.onset.0, note.pitch.midi()));
        note.velocity = if is_tune { 88 } else { 74 };
    }
    [even, sung].map(|song| score(&read_sketch(&song, &[]), Line::Melody, &truth))
}

fn check(what: &str, tracks: &[Vec<Plain>], tune: &[Plain], least: f64) {
    let found = measure(tracks, tune);
    assert!(found.iter().all(|f| *f >= least), "{what}: {found:?}");
    let merged = measure(&[tracks.concat()], tune);
    assert!(
        merged.iter().all(|f| *f >= least),
        "{what}, merged: {merged:?}"
    );
}

fn low_octaves() -> Vec<Plain> {
    hand(all(), |root, _| {
        let low = above(36, root);
        struck(&HALVES, 4 * E, &[low, low + 12])
    })
}

#[test]
fn a_tune_under_high_chords() {
    let tune = tune(60, all());
    let high = hand(all(), |r, t| struck(&OFF, E, &close(76, r, t)));
    check(
        "off-beats above",
        &[tune.clone(), high, low_octaves()],
        &tune,
        0.95,
    );
}

/// Only where it is a little louder: with all notes alike the figure may pass for the tune.
#[test]
fn a_tune_under_a_high_figure() {
    let tune = tune(60, all());
    let high = hand(all(), |r, t| {
        let [a, b, c] = close(76, r, t);
        running(&[a, b, c, b], Q / 4)
    });
    let [_, louder] = measure(&[tune.clone(), high.clone(), low_octaves()], &tune);
    assert!(louder >= 0.95, "sixteenths above: {louder}");
    let [_, merged] = measure(&[[tune.clone(), high, low_octaves()].concat()], &tune);
    assert!(merged >= 0.95, "sixteenths above, merged: {merged}");
}

#[test]
fn a_tune_in_the_tenor_under_broken_chords() {
    let tune = tune(48, all());
    let high = hand(all(), |r, t| {
        let [a, b, c] = close(67, r, t);
        running(&[a, b, c, b], E)
    });
    check("broken chords above", &[high, tune.clone()], &tune, 0.95);
}

#[test]
fn a_tune_in_the_left_hand_under_off_beats() {
    let tune = tune(45, all());
    let high = hand(all(), |r, t| struck(&OFF, E, &close(62, r, t)));
    check("off-beats above", &[high, tune.clone()], &tune, 0.95);
}

#[test]
fn of_a_tune_in_octaves_or_thirds_the_upper_strand() {
    let upper = tune(72, all());
    for down in [12, 4] {
        let lower: Vec<Plain> = upper.iter().map(|n| (n.0, n.1 - down, n.2)).collect();
        let left = hand(all(), |r, t| {
            let [a, b, c] = close(48, r, t);
            running(&[a, c, b, c], E)
        });
        let right = [upper.clone(), lower].concat();
        check(&format!("{down} below"), &[right, left], &upper, 0.97);
    }
}

#[test]
fn hands_that_cross() {
    let tune = tune(64, all());
    let left = hand(all(), |root, third| {
        let low = above(40, root);
        let mut notes = struck(&[0], Q, &[low]);
        notes.extend(struck(&[2 * Q], E, &[above(84, root + third)]));
        notes.extend(struck(&[Q, 3 * Q], E, &close(52, root, third)));
        notes
    });
    check(
        "the left hand over the right",
        &[tune.clone(), left],
        &tune,
        0.95,
    );
}

#[test]
fn a_tune_that_changes_hands() {
    let bars = |low: bool| all().filter(move |b| (b / 4 % 2 == 1) == low);
    let high = tune(72, bars(false));
    let low = tune(48, bars(true));
    let chords = hand(bars(true), |r, t| struck(&OFF, E, &close(67, r, t)));
    let figure = hand(bars(false), |r, t| {
        let [a, b, c] = close(48, r, t);
        running(&[a, c, b, c], E)
    });
    let truth = [high.clone(), low.clone()].concat();
    check(
        "four bars a hand",
        &[[high, chords].concat(), [low, figure].concat()],
        &truth,
        0.92,
    );
}

#[test]
fn two_hands_in_either_order() {
    let tune = tune(67, all());
    let right = [
        tune.clone(),
        hand(all(), |r, t| struck(&HALVES, 4 * E, &close(55, r, t)[..2])),
    ]
    .concat();
    for tracks in [[right.clone(), low_octaves()], [low_octaves(), right]] {
        check("right and left", &tracks, &tune, 0.99);
    }
}

#[test]
fn a_singer_with_a_piano() {
    // The singer has two bars, then rests for two; the piano fills.
    let sings = |bar: &u32| *bar >= 4 && bar % 4 < 2;
    let tune = tune(62, (0..32).filter(sings));
    let left = hand(0..32, |root, third| {
        let low = above(36, root);
        running(&[low, low + 7, low + 12, low + 12 + third], E)
    });
    let right = hand(0..32, |r, t| {
        struck(&[0, 3 * E, 4 * E], E, &close(60, r, t))
    });
    let fills = hand((0..32).filter(|b| b % 4 == 3), |r, t| {
        let [a, b, c] = close(72, r, t);
        running(&[c, b, a, b], E)
    });
    let piano = [left, right, fills].concat();
    let apart = measure(&[tune.clone(), piano.clone()], &tune);
    assert!(apart.iter().all(|f| *f >= 0.96), "own track: {apart:?}");
    let merged = measure(&[[tune.clone(), piano].concat()], &tune);
    // Hard: the piano lies in the singer's register and never rests.
    let [alike, louder] = merged;
    assert!(alike >= 0.6 && louder >= 0.78, "one track: {merged:?}");
}

#[test]
fn attacks_that_are_not_quite_together() {
    let tune = tune(67, all());
    let right = hand(all(), |r, t| struck(&HALVES, 4 * E, &close(52, r, t)));
    let spread = |notes: &[Plain]| -> Vec<Plain> {
        let late = |n: &Plain| (n.0 + (n.1 as u32 * 7) % 19, n.1, n.2 - 20);
        notes.iter().map(late).collect()
    };
    let (tune, rest) = (spread(&tune), spread(&[right, low_octaves()].concat()));
    check(
        "spread chords",
        &[[tune.clone(), rest].concat()],
        &tune,
        0.98,
    );
}

#[test]
fn doublings_point_to_their_tune() {
    let upper = tune(72, all());
    let lower: Vec<Plain> = upper.iter().map(|n| (n.0, n.1 - 12, n.2)).collect();
    let count = upper.len();
    let r = read_sketch(&song(&[[upper, lower, low_octaves()].concat()]), &[]);
    let doubles: Vec<_> = r.notes.iter().filter(|n| n.doubles.is_some()).collect();
    assert!(
        10 * doubles.len() >= 9 * count,
        "{} of {count}",
        doubles.len()
    );
    for note in doubles {
        let tune = &r.notes[note.doubles.unwrap()];
        assert_eq!(tune.line, Line::Melody);
        assert_ne!(note.line, Line::Melody);
        assert_eq!(tune.pitch.distance(note.pitch) % 12, 0);
        assert_eq!(tune.onset, note.onset);
    }
}

#[test]
fn the_evidence_adds_up_to_how_sure_the_reader_is() {
    let tune = tune(67, all());
    let chords = hand(all(), |r, t| struck(&HALVES, 4 * E, &close(52, r, t)));
    let options = ReadOptions {
        why: true,
        ..ReadOptions::default()
    };
    let song = song(&[[tune, chords, low_octaves()].concat()]);
    let r = read_sketch_with(&song, &options);
    assert_eq!(r.melody_evidence.len(), r.notes.len());
    let mut seen = 0;
    for (note, evidence) in r.notes.iter().zip(&r.melody_evidence) {
        let strong = evidence
            .windows(2)
            .all(|p| p[0].points.abs() >= p[1].points.abs());
        assert!(strong && evidence.iter().all(|e| !e.meaning.is_empty()));
        if note.line == Line::Melody {
            let points: f64 = evidence.iter().map(|e| f64::from(e.points)).sum();
            let sure = 1.0 / (1.0 + (-points).exp());
            // What is left out of the evidence is small.
            assert!(
                (sure - f64::from(note.confidence)).abs() < 0.1,
                "{note:?} {sure}"
            );
            seen += 1;
        }
    }
    assert!(seen > 40, "{seen}");
    assert!(read_sketch(&song, &[]).melody_evidence.is_empty());
}

/// For each of eight bars pitches over the tonic and lengths in eighths.
type Bars = [&'static [(i8, u32)]; 8];

/// Slow tunes over the same chords, twice eight bars: mostly whole notes, half notes, quarters
/// with longer notes, and half notes with rests.
const SLOW_TUNES: [(&str, Bars); 4] = [
    (
        "whole notes",
        [
            &[(4, 8)],
            &[(7, 8)],
            &[(9, 8)],
            &[(7, 4), (11, 4)],
            &[(12, 8)],
            &[(9, 6), (11, 2)],
            &[(11, 8)],
            &[(12, 8)],
        ],
    ),
    (
        "half notes",
        [
            &[(4, 4), (5, 4)],
            &[(7, 4), (4, 4)],
            &[(9, 6), (7, 2)],
            &[(7, 4), (2, 4)],
            &[(4, 4), (7, 4)],
            &[(9, 4), (12, 4)],
            &[(11, 4), (7, 4)],
            &[(12, 8)],
        ],
    ),
    (
        "quarters",
        [
            &[(4, 2), (4, 2), (5, 2), (7, 2)],
            &[(7, 2), (5, 2), (4, 4)],
            &[(0, 2), (2, 2), (4, 2), (0, 2)],
            &[(2, 6), (4, 2)],
            &[(4, 4), (5, 2), (7, 2)],
            &[(9, 4), (7, 2), (5, 2)],
            &[(4, 2), (2, 6)],
            &[(0, 8)],
        ],
    ),
    (
        "half notes with rests",
        [
            &[(7, 4), (9, 2)],
            &[(7, 6)],
            &[(4, 4), (2, 2)],
            &[(2, 6)],
            &[(4, 4), (5, 2)],
            &[(9, 6)],
            &[(7, 3), (5, 1), (2, 3)],
            &[(4, 7)],
        ],
    ),
];

fn slow_tune(bars: &Bars, tonic: u8) -> Vec<Plain> {
    let mut notes = Vec::new();
    for bar in all() {
        let mut at = bar * BAR;
        for (over, eighths) in bars[bar as usize % 8] {
            notes.push((at, tonic.checked_add_signed(*over).unwrap(), eighths * E));
            at += eighths * E;
        }
    }
    notes
}

/// Figures that run evenly from a lowest pitch up: what they are, and their notes.
fn figures(low: u8) -> Vec<(&'static str, Vec<Plain>)> {
    let open = |r: u8, t: u8| {
        let root = above(low, r);
        [0, 7, 12, 12 + t, 19].map(|over| root + over)
    };
    let triplet = Q / 3;
    vec![
        (
            "a wave over two octaves",
            hand(all(), |r, t| {
                let [a, b, c, d, e] = open(r, t);
                running(&[a, b, c, d, e, d, c, b], E)
            }),
        ),
        (
            "an octave up and down",
            hand(all(), |r, t| {
                let [a, b, c] = close(low, r, t);
                running(&[a, b, c, a + 12, c, b], triplet)
            }),
        ),
        (
            "alberti",
            hand(all(), |r, t| {
                let [a, b, c] = close(low + 5, r, t);
                running(&[a, c, b, c], E)
            }),
        ),
        (
            "sixteenths",
            hand(all(), |r, t| {
                let [a, b, c, d, _] = open(r, t);
                running(&[a, b, c, d, c, b], Q / 4)
            }),
        ),
        (
            "broken tenths",
            hand(all(), |r, t| {
                let [a, b, _, d, _] = open(r, t);
                running(&[a, b, d, b], E)
            }),
        ),
    ]
}

/// Checks every slow tune against every figure, all in one track, equally loud and with the tune
/// somewhat louder: the least F1, and the least mean.
fn check_slow(tonics: &[u8], figures: &[(&str, Vec<Plain>)], bass: &[Plain], least: [f64; 2]) {
    let mut found = Vec::new();
    for (speed, bars) in &SLOW_TUNES {
        for (what, figure) in figures {
            for tonic in tonics {
                let tune = slow_tune(bars, *tonic);
                let notes = [tune.clone(), figure.clone(), bass.to_vec()].concat();
                for f1 in measure(&[notes], &tune) {
                    found.push((f1, format!("{speed} on {tonic}, {what}: {f1:.3}")));
                }
            }
        }
    }
    let mean = found.iter().map(|f| f.0).sum::<f64>() / found.len() as f64;
    let words = |below: f64| -> Vec<&String> {
        found.iter().filter(|f| f.0 < below).map(|f| &f.1).collect()
    };
    assert!(mean >= least[1], "mean {mean}: {:#?}", words(0.95));
    assert!(words(least[0]).is_empty(), "{:#?}", words(least[0]));
}

#[test]
fn a_slow_tune_over_figures() {
    check_slow(&[67, 72], &figures(40), &[], [0.97, 0.99]);
}

#[test]
fn a_slow_tune_over_figures_with_a_held_bass() {
    let bass = hand(all(), |r, _| vec![(0, above(28, r), BAR)]);
    check_slow(&[67, 72], &figures(43), &bass, [0.97, 0.99]);
}

/// Figures high above: in eighths, sixteenths, and as a tremolo.
fn high_figures(low: u8) -> Vec<(&'static str, Vec<Plain>)> {
    let round = |step: u32| {
        hand(all(), |r, t| {
            let [a, b, c] = close(low, r, t);
            running(&[a, b, c, b], step)
        })
    };
    let tremolo = hand(all(), |r, t| {
        let [a, _, c] = close(low, r, t);
        running(&[a, c], Q / 4)
    });
    vec![
        ("eighths above", round(E)),
        ("sixteenths above", round(Q / 4)),
        ("tremolo above", tremolo),
    ]
}

#[test]
fn a_slow_tune_under_high_figures() {
    check_slow(&[60, 64], &high_figures(78), &low_octaves(), [0.97, 0.99]);
}

#[test]
fn a_slow_tune_in_the_tenor_under_figures() {
    check_slow(&[48, 52], &high_figures(67), &[], [0.97, 0.99]);
}

#[test]
fn a_slow_tune_between_bass_and_high_off_beats() {
    let bass = hand(all(), |r, _| struck(&HALVES, 4 * E, &[above(33, r)]));
    let off = hand(all(), |r, t| struck(&OFF, E, &close(77, r, t)));
    let arpeggio = hand(all(), |r, t| {
        let [a, b, c] = close(77, r, t);
        running(&[a, b, c, a + 12, c, b], Q / 4)
    });
    let above = [("off-beats above", off), ("arpeggios above", arpeggio)];
    check_slow(&[60, 64], &above, &bass, [0.97, 0.99]);
}
