//! Lines, chords, keys and phrases of small made sketches.

use super::build::{Plain, line, reading, song};
use bandwright::music::{KeySignature, Mode, Quality, Tick};
use bandwright::sketch::{KeyChange, Line, PedalSpan, read_sketch};

const Q: u32 = 480;

/// Four voices in quarters.
fn hymn() -> Vec<Vec<Plain>> {
    let voices: [[u8; 8]; 4] = [
        [67, 67, 69, 67, 72, 71, 72, 72],
        [64, 64, 65, 64, 67, 67, 67, 67],
        [60, 60, 60, 60, 64, 62, 64, 64],
        [48, 48, 53, 48, 55, 55, 48, 36],
    ];
    let voice = |v: &[u8; 8]| (0..).zip(v).map(|(i, p)| (i * Q, *p, Q)).collect();
    voices.iter().map(voice).collect()
}

fn plain(notes: &[Plain]) -> Vec<(u64, u8)> {
    notes.iter().map(|n| (u64::from(n.0), n.1)).collect()
}

#[test]
fn a_hymn_gives_soprano_and_bass_in_four_tracks_or_one() {
    let voices = hymn();
    for tracks in [voices.clone(), vec![voices.concat()]] {
        let r = reading(&tracks);
        assert_eq!(line(&r, Line::Melody), plain(&voices[0]));
        assert_eq!(line(&r, Line::Bass), plain(&voices[3]));
        assert_eq!(line(&r, Line::Harmony).len(), 16);
        assert_eq!(r.chords[0].chord.quality, Quality::Major);
        assert_eq!(r.keys[0].key.tonic.number(), 0);
    }
}

#[test]
fn of_a_broken_chord_the_low_notes_are_bass() {
    let mut notes: Vec<Plain> = Vec::new();
    for (bar, melody) in [72, 74, 76, 72].into_iter().enumerate() {
        let start = bar as u32 * 4 * Q;
        notes.push((start, melody, 2 * Q));
        notes.push((start + 2 * Q, melody + 3, 2 * Q));
        for (i, pitch) in [48, 55, 52, 55, 48, 55, 52, 55].into_iter().enumerate() {
            notes.push((start + i as u32 * Q / 2, pitch, Q / 2));
        }
    }
    let r = reading(&[notes]);
    assert!(r.line(Line::Bass).all(|n| n.pitch.midi() == 48));
    assert_eq!(r.line(Line::Bass).count(), 8);
    assert_eq!(r.line(Line::Figure).count(), 24);
    assert_eq!(r.line(Line::Melody).count(), 8);
}

#[test]
fn of_a_waltz_the_first_beats_are_bass() {
    let mut notes: Vec<Plain> = Vec::new();
    for bar in 0..8 {
        let start = bar * 3 * Q;
        notes.push((start, 76 + (bar % 3) as u8, 3 * Q));
        notes.push((start, 43, Q));
        for beat in [1, 2] {
            notes.extend([55, 59, 62].map(|p| (start + beat * Q, p, Q)));
        }
    }
    let r = reading(&[notes]);
    assert_eq!(r.line(Line::Bass).count(), 8);
    assert!(r.line(Line::Bass).all(|n| n.pitch.midi() == 43));
    assert_eq!(r.line(Line::Harmony).count(), 48);
}

#[test]
fn one_note_at_a_time_is_all_melody() {
    let r = reading(&[vec![(0, 60, Q)]]);
    assert_eq!(line(&r, Line::Melody), [(0, 60)]);
    let r = reading(&[(0..30).map(|i| (i * Q, 50 + (i % 7) as u8, Q)).collect()]);
    assert_eq!(r.line(Line::Melody).count(), 30);
}

#[test]
fn of_octaves_the_top_is_melody() {
    let notes: Vec<Plain> = (0..16)
        .flat_map(|i| [60, 72].map(|p| (i * Q, p + [0, 2, 4, 5][i as usize % 4], Q)))
        .collect();
    let r = reading(&[notes]);
    assert_eq!(r.line(Line::Melody).count(), 16);
    assert!(r.line(Line::Melody).all(|n| n.pitch.midi() >= 72));
    assert_eq!(r.line(Line::Harmony).count(), 16);
}

#[test]
fn slices_and_phrases_follow_without_gaps() {
    let mut notes = hymn().concat();
    notes.extend(hymn().concat().iter().map(|n| (n.0 + 12 * Q, n.1, n.2)));
    let r = reading(&[notes]);
    assert!(r.slices.windows(2).all(|p| p[0].end == p[1].start));
    assert!(r.slices.iter().any(|s| s.sounding.is_empty()));
    assert!(r.phrases.windows(2).all(|p| p[0].end == p[1].start));
    assert_eq!(r.phrases[0].start.0, 0);
    assert_eq!(r.phrases[1].start.0, u64::from(12 * Q));
    assert_eq!(r.phrases[1].end, r.slices[r.slices.len() - 1].end);
}

#[test]
fn a_minor_tune_is_heard_in_minor() {
    let tune = [
        69, 71, 72, 74, 76, 68, 69, 69, 76, 74, 72, 71, 69, 68, 69, 69,
    ];
    let r = reading(&[(0..).zip(tune).map(|(i, p)| (i * Q, p, Q)).collect()]);
    assert_eq!(
        (r.keys[0].key.tonic.number(), r.keys[0].key.mode),
        (9, Mode::Minor)
    );
    assert!(!r.keys[0].given);
}

#[test]
fn thousands_of_notes_at_once_are_read() {
    let notes: Vec<Plain> = (0..5000).map(|i| (0, (i % 128) as u8, 1 + i)).collect();
    let r = reading(&[notes]);
    assert_eq!(r.notes.len(), 5000);
    assert_eq!(r.line(Line::Melody).count(), 1);
}

#[test]
fn a_pedal_holds_notes_until_it_comes_up_or_they_are_struck_again() {
    let mut song = song(&[vec![(0, 60, Q), (Q, 64, Q), (2 * Q, 60, Q)]]);
    song.tracks[0].pedal.push(PedalSpan {
        channel: 0,
        down: Tick(10),
        up: Tick(3000),
    });
    let r = read_sketch(&song, &[]);
    let until: Vec<u64> = r.notes.iter().map(|n| n.sounds_until.0).collect();
    assert_eq!(until, [u64::from(2 * Q), 3000, 3000]);
    assert_eq!(r.slices[1].sounding, [0, 1]);
}

#[test]
fn a_given_signature_keeps_its_accidentals_and_may_be_minor() {
    let tune = [
        69, 71, 72, 74, 76, 68, 69, 69, 76, 74, 72, 71, 69, 68, 69, 69,
    ];
    let mut song = song(&[(0..).zip(tune).map(|(i, p)| (i * Q, p, Q)).collect()]);
    song.keys.push(KeyChange {
        at: Tick(0),
        signature: KeySignature::C_MAJOR,
    });
    let r = read_sketch(&song, &[]);
    assert!(r.keys[0].given);
    assert_eq!(r.keys[0].signature.fifths(), 0);
    assert_eq!(r.keys[0].key.mode, Mode::Minor);
}

#[test]
fn left_out_tracks_and_percussion_are_not_read() {
    let mut song = song(&hymn());
    for note in &mut song.tracks[1].notes {
        note.channel = 9;
    }
    let r = read_sketch(&song, &[0]);
    assert!(r.notes.iter().all(|n| n.track >= 2));
    assert_eq!(r.notes.len(), 16);
}

#[test]
fn two_solo_tracks_that_take_turns_are_both_melody() {
    let tune = |from: u32, low: u8| -> Vec<Plain> {
        (0..32)
            .map(|i| ((from + i) * Q, low + [0, 2, 4, 5][i as usize % 4], Q))
            .collect()
    };
    let chords: Vec<Plain> = (0..64)
        .flat_map(|i| [48, 55, 64].map(|p| (i * Q, p, Q)))
        .collect();
    let r = reading(&[tune(0, 67), tune(32, 65), chords]);
    let by_track = |t| r.line(Line::Melody).filter(|n| n.track == t).count();
    assert_eq!((by_track(0), by_track(1), by_track(2)), (32, 32, 0));
}
