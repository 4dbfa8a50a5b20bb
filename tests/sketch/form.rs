//! Phrases, repeats and sections.

use super::build::{Plain, file, reading, song};
use bandwright::music::Tick;
use bandwright::plan::passages::passages;
use bandwright::sketch::{Marker, Reading, RepeatKind, read_sketch, read_song};
use proptest::prelude::*;

/// Eight bars of 4/4, two phrases of four bars.
const TUNE: [(u8, u32); 26] = [
    (67, 1),
    (69, 1),
    (71, 1),
    (72, 1),
    (74, 2),
    (71, 2),
    (72, 1),
    (69, 1),
    (67, 1),
    (66, 1),
    (67, 4),
    (74, 1),
    (76, 1),
    (78, 1),
    (74, 1),
    (79, 2),
    (76, 2),
    (74, 1),
    (72, 1),
    (71, 1),
    (69, 1),
    (67, 1),
    (71, 1),
    (67, 1),
    (62, 1),
    (67, 0),
];
/// Another eight bars.
const OTHER: [(u8, u32); 18] = [
    (76, 2),
    (76, 1),
    (78, 1),
    (79, 2),
    (74, 2),
    (76, 2),
    (72, 2),
    (71, 4),
    (69, 2),
    (69, 1),
    (71, 1),
    (72, 2),
    (69, 2),
    (71, 2),
    (74, 1),
    (73, 1),
    (74, 4),
    (74, 0),
];

const BAR: u32 = 4 * 480;

fn line(tune: &[(u8, u32)], from_bar: u32, up: i8) -> Vec<Plain> {
    let mut at = from_bar * BAR;
    let mut notes = Vec::new();
    for (pitch, quarters) in tune.iter().filter(|(_, q)| *q > 0) {
        notes.push((at, pitch.wrapping_add_signed(up), quarters * 480));
        at += quarters * 480;
    }
    notes
}

/// Chords of one bar each under a tune, from a bar on.
fn under(chords: &[[u8; 3]], from_bar: u32) -> Vec<Plain> {
    let bar = |(i, chord): (u32, &[u8; 3])| chord.map(|p| ((from_bar + i) * BAR, p, BAR));
    (0..).zip(chords).flat_map(bar).collect()
}

fn joined(parts: &[Vec<Plain>]) -> Vec<Plain> {
    let mut all = parts.concat();
    all.sort_unstable();
    all
}

/// The phrase that begins at a bar line of the piece, with what it repeats.
fn kind(reading: &Reading, bar: u32) -> Option<RepeatKind> {
    let at = u64::from(bar * BAR);
    let i = reading.phrases.iter().position(|p| p.start.0 == at)?;
    reading.form.phrases[i].map(|r| r.kind)
}

#[test]
fn a_part_that_comes_again_has_its_letter_again() {
    let read = reading(&[joined(&[
        line(&TUNE, 0, 0),
        line(&TUNE, 8, 0),
        line(&OTHER, 16, 0),
        line(&TUNE, 24, 0),
    ])]);
    assert_eq!(read.form.letters(), "A A B A");
    let starts: Vec<u64> = read.form.sections.iter().map(|s| s.start.0).collect();
    assert_eq!(starts, [0, 8, 16, 24].map(|b| u64::from(b * BAR)));
    assert_eq!(kind(&read, 8), Some(RepeatKind::Same));
    assert_eq!(kind(&read, 16), None);
    assert_eq!(kind(&read, 24), Some(RepeatKind::Same));
}

#[test]
fn a_tune_higher_up_is_transposed() {
    let read = reading(&[joined(&[line(&TUNE, 0, 0), line(&TUNE, 8, 5)])]);
    assert_eq!(kind(&read, 8), Some(RepeatKind::Transposed(5)));
    assert_eq!(read.form.letters(), "A A'");
}

#[test]
fn an_ornamented_tune_is_varied() {
    // Every note of two beats is broken up with its upper neighbour.
    let mut ornamented = Vec::new();
    for (pitch, quarters) in TUNE {
        if quarters == 2 {
            ornamented.extend([(pitch, 1), (pitch + 2, 1)]);
        } else {
            ornamented.push((pitch, quarters));
        }
    }
    let read = reading(&[joined(&[line(&TUNE, 0, 0), line(&ornamented, 8, 0)])]);
    let varied = kind(&read, 8);
    assert!(matches!(varied, Some(RepeatKind::Varied)), "{varied:?}");
    assert_eq!(read.form.letters(), "A A'");
}

#[test]
fn other_chords_or_another_accompaniment_are_told_apart() {
    let g = [43, 47, 50];
    let home = [
        g,
        g,
        [45, 48, 50],
        g,
        [43, 48, 52],
        [42, 45, 50],
        [42, 45, 50],
        g,
    ];
    let away = home
        .map(|c| c.map(|p| p - 3))
        .map(|[a, _, b]| [a, a + 3, b]);
    let tracks = |second: Vec<Plain>| {
        let tunes = joined(&[line(&TUNE, 0, 0), line(&TUNE, 8, 0)]);
        reading(&[tunes, joined(&[under(&home, 0), second])])
    };
    let same = tracks(under(&home, 8));
    assert_eq!(kind(&same, 8), Some(RepeatKind::Same));
    let chords = tracks(under(&away, 8));
    assert_eq!(kind(&chords, 8), Some(RepeatKind::Reharmonised));
    let broken = under(&home, 8)
        .into_iter()
        .flat_map(|(at, p, length)| (0..4).map(move |i| (at + i * length / 4, p - 12, length / 4)));
    let other = tracks(broken.collect());
    assert_eq!(kind(&other, 8), Some(RepeatKind::OtherAccompaniment));
}

#[test]
fn markers_begin_sections() {
    let mut song = song(&[joined(&[line(&TUNE, 0, 0), line(&OTHER, 8, 0)])]);
    song.markers = vec![Marker {
        at: Tick(u64::from(4 * BAR)),
        text: "Bridge".to_owned(),
    }];
    let sections = read_sketch(&song, &[]).form.sections;
    let marked = sections.iter().find(|s| s.start.0 == u64::from(4 * BAR));
    assert_eq!(marked.and_then(|s| s.marker.as_deref()), Some("Bridge"));
}

#[test]
fn passages_know_what_they_repeat() {
    let song = song(&[joined(&[
        line(&TUNE, 0, 0),
        line(&OTHER, 8, 0),
        line(&TUNE, 16, 0),
    ])]);
    let read = read_sketch(&song, &[]);
    let passages = passages(&read, &song.meters, &song.markers, None);
    let at = |bar: u32| {
        passages
            .iter()
            .position(|p| p.start.0 == u64::from(bar * BAR))
    };
    let (first, third) = (at(0).unwrap(), at(16).unwrap());
    assert_eq!(passages[first].repeats, None);
    assert_eq!(passages[third].repeats, Some(first));
}

proptest! {
    #[test]
    fn any_notes_have_a_sound_form(
        notes in prop::collection::vec((0u32..60_000, 40u8..90, 1u32..3000), 1..160),
    ) {
        let song = read_song(&file(&[notes.clone(), notes])).unwrap();
        let read = read_sketch(&song, &[]);
        let form = &read.form;
        prop_assert_eq!(form.phrases.len(), read.phrases.len());
        for (i, repeat) in form.phrases.iter().enumerate() {
            prop_assert!(repeat.is_none_or(|r| r.of < i && (0.0..=1.0).contains(&r.likeness)));
        }
        prop_assert!(form.stretches.windows(2).all(|p| p[0].end <= p[1].start));
        prop_assert!(form.stretches.iter().all(|s| s.source < s.start && s.start < s.end));
        prop_assert!(form.sections.windows(2).all(|p| p[0].end == p[1].start));
        let ends = form.sections.first().zip(form.sections.last()).map(|(f, l)| (f.start, l.end));
        let whole = read.phrases.first().zip(read.phrases.last()).map(|(f, l)| (f.start, l.end));
        prop_assert_eq!(ends, whole);
        prop_assert!(form.sections.iter().all(|s| s.start < s.end));
    }
}
