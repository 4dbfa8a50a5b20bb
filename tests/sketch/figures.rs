//! Figures: each kind is found in music made for it, with its extent and the chords under it.

use super::build::{Plain, line, reading};
use bandwright::music::Tick;
use bandwright::sketch::{Figure, FigureKind, FigureWay, Line, Reading};
use proptest::prelude::*;
use std::collections::BTreeMap;

const Q: u32 = 480;
const BAR: u32 = 4 * Q;

/// A tune in halves over eight bars of I vi IV V, and a left hand for each bar's root and third.
fn over(left: impl Fn(u8, u8) -> Vec<Plain>) -> Vec<Plain> {
    let mut notes = Vec::new();
    for bar in 0..8_u32 {
        let (root, third) = [(48, 4), (45, 3), (41, 4), (43, 4)][bar as usize % 4];
        let top = [76, 72, 69, 74][bar as usize % 4];
        notes.extend([(bar * BAR, top, 2 * Q), (bar * BAR + 2 * Q, top + 3, 2 * Q)]);
        notes.extend(
            left(root, third)
                .into_iter()
                .map(|(a, p, d)| (bar * BAR + a, p, d)),
        );
    }
    notes
}

fn run(pitches: &[u8], step: u32) -> Vec<Plain> {
    (0..BAR / step)
        .zip(pitches.iter().cycle())
        .map(|(i, p)| (i * step, *p, step))
        .collect()
}

fn of_kind(reading: &Reading, kind: FigureKind) -> Vec<&Figure> {
    reading.figures.iter().filter(|f| f.kind == kind).collect()
}

/// The pitches of the chord under a figure at a tick.
fn chord(figure: &Figure, at: u32) -> Vec<u8> {
    let at = Tick(u64::from(at));
    let held = figure.harmony.iter().find(|h| h.start <= at && at < h.end);
    held.map_or(Vec::new(), |h| h.pitches.iter().map(|p| p.midi()).collect())
}

#[test]
fn an_alberti_bass_is_one_figure_with_its_chords() {
    let notes = over(|r, t| run(&[r, r + 7, r + t, r + 7], Q / 2));
    let r = reading(&[notes]);
    let found = of_kind(&r, FigureKind::Alberti);
    assert_eq!(found.len(), 1, "{:?}", r.figures);
    assert_eq!(
        (found[0].start, found[0].end),
        (Tick(0), Tick(u64::from(8 * BAR)))
    );
    assert_eq!(found[0].notes.len(), 64);
    assert_eq!(chord(found[0], Q), [48, 52, 55]);
    assert_eq!(chord(found[0], BAR + 3 * Q), [45, 48, 52]);
    assert!(found[0].harmony.windows(2).all(|p| p[0].end == p[1].start));
    assert_eq!(found[0].kind.ways()[0], FigureWay::Kept);
}

#[test]
fn a_wave_over_two_octaves_is_a_broken_chord() {
    let wave = |r: u8, t: u8| {
        let up = [
            r,
            r + 7,
            r + 12,
            r + 12 + t,
            r + 19,
            r + 12 + t,
            r + 12,
            r + 7,
        ];
        run(&up, Q / 2)
    };
    let r = reading(&[over(wave)]);
    let found = of_kind(&r, FigureKind::BrokenChord);
    assert_eq!(found.len(), 1, "{:?}", r.figures);
    assert_eq!(found[0].notes.len(), 64);
    assert_eq!(chord(found[0], 0), [48, 55, 60, 64, 67]);
    assert_eq!(r.line(Line::Bass).count(), 8);
}

#[test]
fn what_runs_over_a_held_bass_is_a_broken_chord_too() {
    let held = |r: u8, t: u8| {
        let mut all = vec![(0, r, BAR)];
        let tones = [r + 7, r + 12, r + 12 + t, r + 12];
        all.extend((1..8).map(|i| (i * Q / 2, tones[i as usize % 4], Q / 2)));
        all
    };
    let r = reading(&[over(held)]);
    let found = of_kind(&r, FigureKind::BrokenChord);
    let notes: usize = found.iter().map(|f| f.notes.len()).sum();
    assert!(notes >= 8 * 7, "{notes}: {:?}", r.figures);
    assert!(chord(found[0], Q).contains(&60));
}

#[test]
fn oom_pah_and_stride_differ_in_their_leap() {
    let pah = |low: u8| {
        move |r: u8, t: u8| {
            let mut all = vec![(0, r - low, Q), (2 * Q, r - low, Q)];
            for at in [Q, 3 * Q] {
                all.extend([r + 7, r + 12, r + 12 + t].map(|p| (at, p, Q)));
            }
            all
        }
    };
    let r = reading(&[over(pah(0))]);
    assert_eq!(of_kind(&r, FigureKind::OomPah).len(), 1, "{:?}", r.figures);
    let r = reading(&[over(pah(12))]);
    let found = of_kind(&r, FigureKind::Stride);
    assert_eq!(found.len(), 1, "{:?}", r.figures);
    assert_eq!(found[0].notes.len(), 64);
    assert_eq!(found[0].kind.ways(), [FigureWay::OffBeats]);
}

#[test]
fn a_tremolo_is_told_from_a_broken_chord() {
    let r = reading(&[over(|r, _| run(&[r, r + 12], Q / 4))]);
    assert_eq!(of_kind(&r, FigureKind::Tremolo).len(), 1, "{:?}", r.figures);
    assert!(of_kind(&r, FigureKind::BrokenChord).is_empty());
}

#[test]
fn octaves_of_the_bass_are_found() {
    let r = reading(&[over(|r, _| {
        [0, 2 * Q]
            .into_iter()
            .flat_map(|at| [(at, r - 12, 2 * Q), (at, r, 2 * Q)])
            .collect()
    })]);
    let found = of_kind(&r, FigureKind::Octaves);
    assert_eq!(found.len(), 1, "{:?}", r.figures);
    assert_eq!(found[0].notes.len(), 32);
}

#[test]
fn repeated_chords_are_found_and_a_hymn_has_none() {
    let beats = |r: u8, t: u8| {
        (0..4)
            .flat_map(|b| [r, r + 7, r + 12 + t].map(|p| (b * Q, p, Q)))
            .collect()
    };
    let r = reading(&[over(beats)]);
    let found = of_kind(&r, FigureKind::RepeatedChords);
    assert_eq!(found.len(), 1, "{:?}", r.figures);
    assert_eq!(chord(found[0], 2 * Q), [48, 55, 64]);
    let blocks = |r: u8, t: u8| {
        [(0, 0), (2 * Q, 2)]
            .into_iter()
            .flat_map(|(at, up)| [r + up, r + 7, r + 12 + t].map(|p| (at, p, 2 * Q)))
            .collect()
    };
    let r = reading(&[over(blocks)]);
    assert!(r.figures.is_empty(), "{:?}", r.figures);
}

#[test]
fn chords_rolled_from_below_are_found() {
    let roll = |r: u8, t: u8| {
        (0..)
            .zip([r, r + 7, r + 12 + t, r + 19])
            .map(|(i, p)| (i * 30, p, BAR - i * 30))
            .collect()
    };
    let r = reading(&[over(roll)]);
    assert_eq!(
        of_kind(&r, FigureKind::RolledChord).len(),
        8,
        "{:?}",
        r.figures
    );
}

#[test]
fn a_quick_scale_is_a_run() {
    let mut notes = over(|r, t| [r, r + 7, r + 12 + t].map(|p| (0, p, BAR)).to_vec());
    notes.retain(|n| n.1 < 69 || n.0 != 3 * BAR);
    let scale = [72, 74, 76, 77, 79, 81, 83, 84];
    notes.extend(
        (0..)
            .zip(scale)
            .map(|(i, p)| (3 * BAR + i * Q / 4, p, Q / 4)),
    );
    let r = reading(&[notes]);
    let found = of_kind(&r, FigureKind::ScalarRun);
    assert_eq!(found.len(), 1, "{:?}", r.figures);
    assert_eq!(found[0].start, Tick(u64::from(3 * BAR)));
    assert!(found[0].notes.len() >= 7);
}

#[test]
fn a_bar_of_low_notes_again_and_again_is_an_ostinato() {
    let mut notes = Vec::new();
    for bar in 0..8_u32 {
        notes.extend([(bar * BAR, 72 + (bar % 5) as u8 * 2, BAR)]);
        let low = [
            (0, 36, 3 * Q / 2),
            (3 * Q / 2, 36, Q / 2),
            (2 * Q, 43, Q),
            (3 * Q, 41, Q),
        ];
        notes.extend(low.map(|(a, p, d)| (bar * BAR + a, p, d)));
    }
    let r = reading(&[notes]);
    let found = of_kind(&r, FigureKind::Ostinato);
    assert_eq!(found.len(), 1, "{:?}", r.figures);
    assert_eq!(found[0].notes.len(), 32);
}

/// A tenor line of its own rhythm under a tune in halves, over bass notes of a bar.
fn two_tunes(second: &[(u32, u8, u32)]) -> Vec<Plain> {
    let mut notes = Vec::new();
    for bar in 0..8_u32 {
        let top = [76, 79, 77, 74][bar as usize % 4];
        notes.extend([(bar * BAR, top, 2 * Q), (bar * BAR + 2 * Q, top - 2, 2 * Q)]);
        notes.push((bar * BAR, [36, 41, 43, 36][bar as usize % 4], BAR));
        notes.extend(second.iter().map(|(a, p, d)| (bar * BAR + a, *p, *d)));
    }
    notes
}

#[test]
fn a_second_tune_is_found_with_how_sure_that_is() {
    let tenor = [
        (Q, 60, Q / 2),
        (3 * Q / 2, 62, Q / 2),
        (2 * Q, 64, Q),
        (3 * Q, 62, Q / 2),
        (7 * Q / 2, 60, Q / 2),
    ];
    let r = reading(&[two_tunes(&tenor)]);
    let found = line(&r, Line::Counterline);
    assert!(found.len() >= 36, "{}", found.len());
    assert!(
        r.line(Line::Counterline)
            .all(|n| n.confidence > 0.5 && n.confidence <= 1.0)
    );
}

#[test]
fn voices_that_move_with_the_tune_and_figures_are_no_second_tune() {
    let with_it = [(0, 60, 2 * Q), (2 * Q, 62, 2 * Q)];
    let leaping = [
        (Q / 2, 55, Q / 2),
        (Q, 60, Q / 2),
        (3 * Q / 2, 64, Q / 2),
        (2 * Q, 60, Q / 2),
    ];
    for second in [&with_it[..], &leaping[..]] {
        let r = reading(&[two_tunes(second)]);
        assert_eq!(r.line(Line::Counterline).count(), 0);
    }
}

proptest! {
    /// On any notes: figures lie in the sketch, in order, and no note is in two of a kind.
    #[test]
    fn figures_keep_to_their_notes(
        notes in prop::collection::vec((0_u32..64, 30_u8..90, 1_u32..8), 0..200)
    ) {
        let notes: Vec<Plain> = notes.iter().map(|(a, p, d)| (a * Q / 4, *p, d * Q / 4)).collect();
        let r = reading(&[notes]);
        let mut taken: BTreeMap<(FigureKind, usize), ()> = BTreeMap::new();
        prop_assert!(r.figures.windows(2).all(|p| p[0].start <= p[1].start));
        for figure in &r.figures {
            prop_assert!(figure.start < figure.end && figure.notes.len() >= 3);
            prop_assert!(figure.notes.windows(2).all(|p| p[0] < p[1]));
            for i in &figure.notes {
                let note = &r.notes[*i];
                prop_assert!(figure.start <= note.onset && note.onset < figure.end);
                prop_assert!(taken.insert((figure.kind, *i), ()).is_none());
            }
            prop_assert!(figure.harmony.windows(2).all(|p| p[0].end <= p[1].start));
            for held in &figure.harmony {
                prop_assert!(held.start < held.end && !held.pitches.is_empty());
                for pitch in &held.pitches {
                    let struck = figure.notes.iter().any(|i| {
                        let n = &r.notes[*i];
                        n.pitch == *pitch && held.start <= n.onset && n.onset < held.end
                    });
                    prop_assert!(struck);
                }
            }
        }
        for note in &r.notes {
            prop_assert!((0.0..=1.0).contains(&note.confidence));
        }
    }
}
