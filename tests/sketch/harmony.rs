//! Chords, their numerals, and what each note is in its chord, on small made sketches.

use super::build::{Plain, reading, song};
use bandwright::music::{ChordTone, HarmonicFunction, Mode, PitchClass, Quality};
use bandwright::sketch::harmony::{Foreign, Pull};
use bandwright::sketch::{Reading, read_sketch};
use proptest::collection::vec;
use proptest::prelude::*;

const Q: u32 = 480;

/// Block chords, each so many quarters long.
fn blocks(chords: &[(&[u8], u32)]) -> Vec<Plain> {
    let mut at = 0;
    let mut notes = Vec::new();
    for (pitches, quarters) in chords {
        notes.extend(pitches.iter().map(|p| (at, *p, quarters * Q)));
        at += quarters * Q;
    }
    notes
}

fn labels(r: &Reading) -> Vec<String> {
    let signature = r.keys[0].signature;
    r.chords.iter().map(|c| c.chord.label(signature)).collect()
}

fn numerals(r: &Reading) -> Vec<String> {
    r.chords.iter().map(|c| c.numeral.to_string()).collect()
}

/// The note that begins at a quarter with a pitch.
fn index(r: &Reading, at: u32, pitch: u8) -> usize {
    let is =
        |n: &bandwright::sketch::ReadNote| n.onset.0 == u64::from(at) && n.pitch.midi() == pitch;
    r.notes.iter().position(is).unwrap()
}

const C: (&[u8], u32) = (&[48, 64, 67, 72], 4);
const F: (&[u8], u32) = (&[53, 65, 69, 72], 4);
const G: (&[u8], u32) = (&[43, 62, 67, 71], 4);
const G7: (&[u8], u32) = (&[43, 65, 67, 71, 74], 4);

#[test]
fn plain_cadences_have_their_numerals_and_functions() {
    let r = reading(&[blocks(&[C, F, G7, C])]);
    assert_eq!(labels(&r), ["C", "F", "G7", "C"]);
    assert_eq!(numerals(&r), ["I", "IV", "V7", "I"]);
    let functions: Vec<HarmonicFunction> = r.chords.iter().map(|c| c.function).collect();
    use HarmonicFunction::{Dominant, Predominant, Tonic};
    assert_eq!(functions, [Tonic, Predominant, Dominant, Tonic]);
}

#[test]
fn inversions_and_applied_dominants_are_told() {
    let chords: [(&[u8], u32); 5] = [
        C,
        (&[52, 67, 72, 76], 4),
        (&[54, 69, 72, 74], 4),
        (&[41, 67, 71, 74], 4),
        (&[40, 67, 72, 76], 4),
    ];
    let r = reading(&[blocks(&chords)]);
    assert_eq!(r.keys[0].key.mode, Mode::Major);
    let told: Vec<String> = numerals(&r);
    assert!(told.contains(&"V65/V".to_owned()), "{told:?}");
    assert!(told.contains(&"V42".to_owned()), "{told:?}");
    assert_eq!(told.last().map(String::as_str), Some("I6"));
}

#[test]
fn a_diminished_seventh_is_named_by_where_it_leads() {
    // The same four classes, once before C and once before E flat.
    let seventh: (&[u8], u32) = (&[47, 62, 65, 68], 4);
    let to_c = reading(&[blocks(&[C, F, seventh, C, C])]);
    assert_eq!(labels(&to_c)[2], "Bdim7");
    let low: (&[u8], u32) = (&[50, 62, 65, 68, 71], 4);
    let e_flat: (&[u8], u32) = (&[51, 63, 67, 70], 4);
    let b_flat: (&[u8], u32) = (&[46, 62, 65, 70], 4);
    let to_e_flat = reading(&[blocks(&[e_flat, b_flat, low, e_flat, e_flat])]);
    assert_eq!(to_e_flat.chords[2].chord.root.number(), 2);
}

#[test]
fn many_kinds_are_heard() {
    let cases: [(&[u8], Quality); 19] = [
        (&[48, 64, 67, 71], Quality::Major7),
        (&[48, 63, 67, 70], Quality::Minor7),
        (&[48, 63, 66, 70], Quality::HalfDiminished7),
        (&[48, 65, 67, 72], Quality::Sus4),
        (&[48, 62, 67, 72], Quality::Sus2),
        (&[48, 64, 67, 69], Quality::Sixth),
        (&[48, 63, 67, 69], Quality::MinorSixth),
        (&[48, 64, 68, 72], Quality::Augmented),
        (&[48, 63, 67, 71], Quality::MinorMajor7),
        (&[48, 64, 67, 70, 74], Quality::Dominant9),
        (&[48, 64, 67, 70, 73], Quality::Dominant7Flat9),
        (&[48, 64, 67, 70, 75], Quality::Dominant7Sharp9),
        (&[48, 64, 68, 70], Quality::Augmented7),
        (&[48, 65, 67, 70], Quality::Dominant7Sus4),
        (&[48, 64, 67, 74], Quality::Add9),
        (&[48, 64, 67, 69, 74], Quality::SixNinth),
        (&[48, 58, 62, 65], Quality::Dominant11),
        (&[48, 63, 67, 70, 74, 77], Quality::Minor11),
        (&[48, 64, 70, 74, 81], Quality::Dominant13),
    ];
    for (pitches, wanted) in cases {
        let r = reading(&[blocks(&[(pitches, 4), (pitches, 4)])]);
        let chord = r.chords[0].chord;
        assert_eq!(
            (chord.root.number(), chord.quality),
            (0, wanted),
            "{pitches:?}"
        );
    }
}

#[test]
fn no_third_is_invented() {
    let fifths: (&[u8], u32) = (&[48, 55, 60], 4);
    let r = reading(&[blocks(&[C, F, G7, fifths])]);
    let last = r.chords.last().unwrap();
    assert_eq!(last.chord.quality, Quality::Fifth);
    assert_eq!(last.implied, Some(Quality::Major));
    assert_eq!(last.numeral.to_string(), "I[no3]");
    let r = reading(&[vec![(0, 60, 4 * Q)]]);
    assert_eq!(r.chords[0].chord.quality, Quality::Single);
    let seventh: (&[u8], u32) = (&[43, 62, 65], 4);
    let r = reading(&[blocks(&[seventh, seventh])]);
    assert_eq!(r.chords[0].chord.quality, Quality::SeventhNoThird);
}

#[test]
fn a_bare_third_lacks_its_fifth() {
    let third: (&[u8], u32) = (&[48, 64], 4);
    let r = reading(&[blocks(&[third, third])]);
    assert_eq!(r.chords[0].chord.quality, Quality::Major);
    let missing: Vec<u8> = r.chords[0].missing.iter().map(PitchClass::number).collect();
    assert_eq!(missing, [7]);
}

/// A tune in the first track over chords in the second.
fn over(tune: &[(u32, u8, u32)], chords: &[(&[u8], u32)]) -> Reading {
    let tune = tune.iter().map(|(at, p, l)| (at * Q / 2, *p, l * Q / 2));
    read_sketch(&song(&[tune.collect(), blocks(chords)]), &[])
}

#[test]
fn a_tone_that_the_accompaniment_replaces_makes_a_new_chord() {
    let sus: (&[u8], u32) = (&[43, 60, 62, 67], 2);
    let g: (&[u8], u32) = (&[43, 59, 62, 67], 2);
    let r = reading(&[blocks(&[C, F, sus, g, C])]);
    assert_eq!(labels(&r), ["C", "F", "Gsus4", "G", "C"]);
    // The line cliche: the fifth climbs to the sixth and on.
    let c: (&[u8], u32) = (&[48, 60, 64, 67], 2);
    let augmented: (&[u8], u32) = (&[48, 60, 64, 68], 2);
    let sixth: (&[u8], u32) = (&[48, 64, 67, 69], 2);
    let r = reading(&[blocks(&[c, augmented, sixth, augmented, F, G7, C])]);
    assert_eq!(labels(&r), ["C", "Caug", "C6", "Caug", "F", "G7", "C"]);
    // The same falling, in minor.
    let minor: (&[u8], u32) = (&[48, 60, 63, 67], 4);
    let falling: [(&[u8], u32); 4] = [
        minor,
        (&[48, 59, 63, 67], 4),
        (&[48, 58, 63, 67], 4),
        (&[48, 57, 63, 67], 4),
    ];
    let r = reading(&[blocks(&[&falling[..], &[G7, minor]].concat())]);
    assert_eq!(labels(&r), ["Cm", "Cm(maj7)", "Cm7", "Cm6", "G7", "Cm"]);
}

#[test]
fn a_tune_that_passes_makes_no_new_chord() {
    let c: (&[u8], u32) = (&[48, 55, 60, 64], 2);
    let f: (&[u8], u32) = (&[41, 57, 60, 65], 4);
    let g: (&[u8], u32) = (&[43, 55, 59, 62], 4);
    // Over the first chord the tune goes by the seventh, on a beat where it is struck again, then
    // by the fourth, and by the sixth.
    let tune = [
        (0, 84, 4),
        (4, 83, 2),
        (6, 81, 2),
        (8, 79, 4),
        (12, 77, 2),
        (14, 76, 2),
        (16, 77, 8),
        (24, 74, 8),
        (32, 72, 8),
    ];
    let r = over(&tune, &[c, c, c, c, f, g, c, c]);
    assert_eq!(labels(&r), ["C", "F", "G", "C"]);
    // The seventh in the accompaniment as well is another chord.
    let seventh: (&[u8], u32) = (&[48, 58, 60, 64], 2);
    let r = over(&[(0, 76, 6), (6, 79, 2), (8, 77, 8)], &[c, seventh, f]);
    assert_eq!(labels(&r), ["C", "C7", "F"]);
}

#[test]
fn ornaments_are_named() {
    let c: (&[u8], u32) = (&[48, 55, 60, 64], 4);
    let g: (&[u8], u32) = (&[43, 50, 55, 59], 4);
    let tune = [
        (0, 76, 2),
        (2, 77, 1),
        (3, 79, 3),
        (6, 81, 1),
        (7, 79, 1),
        (8, 79, 2),
        (10, 78, 1),
        (11, 79, 4),
        (15, 76, 1),
        (16, 76, 8),
    ];
    let r = over(&tune, &[c, g, c]);
    let foreign = |at: u32, pitch: u8| r.in_chord[index(&r, at * Q / 2, pitch)].foreign;
    assert_eq!(foreign(2, 77), Some(Foreign::Passing));
    assert_eq!(foreign(6, 81), Some(Foreign::Neighbour));
    assert_eq!(foreign(10, 78), Some(Foreign::Neighbour));
    assert!(r.in_chord[index(&r, 10 * Q / 2, 78)].chromatic);
    assert_eq!(foreign(15, 76), Some(Foreign::Anticipation));
    assert_eq!(foreign(0, 76), None);
}

#[test]
fn a_suspension_hangs_over_and_falls() {
    let c: (&[u8], u32) = (&[48, 55, 60, 64], 4);
    let g: (&[u8], u32) = (&[43, 50, 55, 62], 4);
    let r = over(&[(0, 72, 9), (9, 71, 7), (16, 72, 8)], &[c, g, c]);
    let held = r.in_chord[index(&r, 0, 72)];
    assert_eq!(held.tone, Some(ChordTone::Root));
    assert_eq!(held.foreign, Some(Foreign::Suspension));
}

#[test]
fn tendency_tones_know_where_they_go() {
    let r = reading(&[blocks(&[C, F, G7, C])]);
    let pull = |pitch: u8| {
        let tendency = r.in_chord[index(&r, 8 * Q, pitch)].tendency;
        tendency.map(|t| (t.pull, t.by))
    };
    assert_eq!(pull(71), Some((Pull::LeadingTone, 1)));
    assert_eq!(pull(65), Some((Pull::Seventh, -1)));
    assert_eq!(pull(74), None);
}

#[test]
fn an_augmented_sixth_is_seen_by_what_follows() {
    let sixth: (&[u8], u32) = (&[44, 60, 63, 66], 4);
    let minor: (&[u8], u32) = (&[48, 63, 67, 72], 4);
    let r = reading(&[blocks(&[minor, sixth, G, minor, minor])]);
    let told = numerals(&r);
    assert_eq!(told[1], "Ger65", "{told:?}");
    let upper = r.in_chord[index(&r, 4 * Q, 66)];
    assert_eq!(upper.tendency.map(|t| t.by), Some(1));
}

#[test]
fn rivals_are_kept_in_order_and_differ_from_the_winner() {
    let r = reading(&[blocks(&[C, F, G7, C])]);
    for span in &r.chords {
        let rivals: Vec<_> = span.rivals.iter().flatten().collect();
        assert!(!rivals.is_empty());
        assert!(rivals.windows(2).all(|p| p[0].score >= p[1].score));
        assert!(rivals.iter().all(|x| x.chord != span.chord));
        assert!(span.score.total() >= rivals[0].score - 3.0);
    }
}

#[test]
fn a_change_of_key_is_found_where_it_is() {
    let d: (&[u8], u32) = (&[50, 66, 69, 74], 4);
    let e7: (&[u8], u32) = (&[52, 64, 68, 74], 4);
    let a: (&[u8], u32) = (&[45, 64, 69, 73], 4);
    let home = [C, F, G7, C, C, F, G7, C];
    let away = [a, d, e7, a, a, d, e7, a];
    let r = reading(&[blocks(&[home, home, away, away].concat())]);
    assert_eq!(r.keys.len(), 2, "{:?}", r.keys);
    assert_eq!(r.keys[1].key.tonic.number(), 9);
    assert_eq!(r.keys[1].start.0, u64::from(64 * Q));
}

fn notes() -> impl Strategy<Value = Vec<Plain>> {
    vec((0..40_u32, 30..90_u8, 1..9_u32), 1..60).prop_map(|all| {
        all.into_iter()
            .map(|(at, p, l)| (at * Q / 4, p, l * Q / 4))
            .collect()
    })
}

proptest! {
    #[test]
    fn spans_are_in_order_and_every_note_agrees_with_its_chord(notes in notes()) {
        let r = reading(&[notes]);
        prop_assert!(r.chords.iter().all(|c| c.start < c.end));
        prop_assert!(r.chords.windows(2).all(|p| p[0].end <= p[1].start));
        prop_assert_eq!(r.in_chord.len(), r.notes.len());
        for (note, told) in r.notes.iter().zip(&r.in_chord) {
            let chord = r.chord(note.onset).unwrap();
            prop_assert_eq!(told.tone, chord.chord.tone(note.pitch.class()));
            prop_assert!(told.tone.is_some() || told.foreign.is_some());
        }
    }

    #[test]
    fn a_third_in_a_label_sounds(notes in notes()) {
        let r = reading(&[notes]);
        for span in &r.chords {
            let third = span.chord.classes().iter().find(|c| {
                span.chord.tone(*c) == Some(ChordTone::Third)
            });
            let sounds = |class| {
                let over = r.slices.iter().filter(|s| s.start < span.end && s.end > span.start);
                over.clone().any(|s| s.classes.contains(class))
            };
            prop_assert!(third.is_none_or(sounds));
            prop_assert!(span.missing.iter().all(|c| !sounds(c)));
        }
    }
}
