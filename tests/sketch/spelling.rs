//! Names of notes, in the sketch and in transposing parts.

use super::build::{Plain, file, reading, song};
use bandwright::band::instruments;
use bandwright::music::{
    KeySignature, Mode, PartNames, Sounding, SpelledName, Tick, Transposition,
};
use bandwright::sketch::{KeyChange, Reading, chord_label, read_sketch, read_song};
use proptest::prelude::*;

/// Notes of one line, a quarter each, and their names.
fn line(pitches: &[u8]) -> String {
    let notes: Vec<Plain> = (0..)
        .zip(pitches)
        .map(|(i, p)| (480 * i, *p, 480))
        .collect();
    names(&reading(&[notes]))
}

fn names(reading: &Reading) -> String {
    let named = reading.notes.iter().zip(&reading.names);
    let names: Vec<String> = named.map(|(n, name)| name.with_octave(n.pitch)).collect();
    names.join(" ")
}

fn chords(bars: &[&[u8]]) -> Vec<Plain> {
    let bar = |(i, pitches): (u32, &&[u8])| {
        let notes: Vec<Plain> = pitches.iter().map(|p| (1920 * i, *p, 1920)).collect();
        notes
    };
    (0..).zip(bars).flat_map(bar).collect()
}

#[test]
fn chromatic_notes_lean_where_they_go() {
    // Common practice, no source: a chromatic scale rises in sharps and falls in flats.
    let rising = line(&[60, 64, 67, 65, 66, 67, 68, 69, 67, 65, 64, 62, 60]);
    assert_eq!(rising, "C4 E4 G4 F4 F#4 G4 G#4 A4 G4 F4 E4 D4 C4");
    let falling = line(&[72, 71, 72, 67, 69, 68, 67, 64, 65, 64, 62, 60]);
    assert_eq!(falling, "C5 B4 C5 G4 A4 Ab4 G4 E4 F4 E4 D4 C4");
}

#[test]
fn a_minor_key_has_its_leading_tone() {
    let d_minor = line(&[62, 64, 65, 67, 69, 70, 69, 67, 65, 64, 62, 61, 62]);
    assert_eq!(d_minor, "D4 E4 F4 G4 A4 Bb4 A4 G4 F4 E4 D4 C#4 D4");
}

#[test]
fn secondary_dominants_are_spelled_by_thirds() {
    // E flat: tonic, dominant of the second degree, second degree, dominant, tonic.
    let bars = chords(&[
        &[51, 58, 63, 67],
        &[48, 58, 64, 67],
        &[53, 56, 60, 65],
        &[46, 56, 62, 65],
        &[51, 58, 63, 67],
    ]);
    let read = reading(&[bars]);
    assert_eq!(
        names(&read),
        "Eb3 Bb3 Eb4 G4 C3 Bb3 E4 G4 F3 Ab3 C4 F4 Bb2 Ab3 D4 F4 Eb3 Bb3 Eb4 G4"
    );
    let labels: Vec<String> = read.chords.iter().map(|c| chord_label(&read, c)).collect();
    assert_eq!(labels, ["Eb", "C7", "Fm", "Bb7", "Eb"]);
}

#[test]
fn the_signature_settles_enharmonic_keys() {
    let mut scale = song(&[(0..)
        .zip([66, 68, 70, 71, 73, 75, 77, 78, 73, 70, 66])
        .map(|(i, p)| (480 * i, p, 480))
        .collect()]);
    let sign = |fifths| KeyChange {
        at: Tick::ZERO,
        signature: KeySignature::new(fifths, Mode::Major).unwrap(),
    };
    scale.keys = vec![sign(6)];
    let sharp = names(&read_sketch(&scale, &[]));
    assert_eq!(sharp, "F#4 G#4 A#4 B4 C#5 D#5 E#5 F#5 C#5 A#4 F#4");
    scale.keys = vec![sign(-6)];
    let flat = names(&read_sketch(&scale, &[]));
    assert_eq!(flat, "Gb4 Ab4 Bb4 Cb5 Db5 Eb5 F5 Gb5 Db5 Bb4 Gb4");
}

#[test]
fn a_crowd_of_notes_at_once_is_named() {
    let crowd: Vec<Plain> = (0..128).map(|p| (0, p as u8, 480)).collect();
    let read = reading(&[crowd.clone(), crowd]);
    assert_eq!(read.names.len(), read.notes.len());
}

proptest! {
    #[test]
    fn every_note_gets_a_writable_name_of_its_pitch(
        notes in prop::collection::vec((0u32..20_000, 0u8..128, 1u32..4000), 1..120),
        fifths in -7i8..=7,
        given: bool,
    ) {
        let mut song = read_song(&file(&[notes])).unwrap();
        if given {
            let signature = KeySignature::new(fifths, Mode::Major).unwrap();
            song.keys = vec![KeyChange { at: Tick::ZERO, signature }];
        }
        let read = read_sketch(&song, &[]);
        prop_assert_eq!(read.names.len(), read.notes.len());
        for (note, name) in read.notes.iter().zip(&read.names) {
            prop_assert_eq!(name.class(), note.pitch.class());
            prop_assert!(name.alteration.abs() <= 2);
        }
        let again = read_sketch(&song, &[]);
        prop_assert_eq!(again.names, read.names);
    }
}

const C_MAJOR: KeySignature = KeySignature::C_MAJOR;

#[test]
fn parts_are_written_as_an_independent_library_transposes() {
    // Concert C, C sharp, D flat, F sharp, B flat, B, E, G sharp, C flat as music21 10.5.1's
    // instrument classes turn them into written names (Pitch.transpose by each class's own
    // interval); the semitones are its too.
    let concert = [0, 7, -5, 6, -2, 5, 4, 8, -7];
    let rows = [
        (-2, "D D# Eb G# C C# F# A# Db"),  // Clarinet
        (-7, "G G# Ab C# F F# B D# Gb"),   // Horn, EnglishHorn
        (-9, "A A# Bb D# G G# C# E# Ab"),  // AltoSaxophone
        (-14, "D D# Eb G# C C# F# A# Db"), // TenorSaxophone
        (-21, "A A# Bb D# G G# C# E# Ab"), // BaritoneSaxophone
        (12, "C C# Db F# Bb B E G# Cb"),   // Piccolo
        (-12, "C C# Db F# Bb B E G# Cb"),  // Contrabass
    ];
    for (semitones, written) in rows {
        let part = PartNames::of(Transposition::semitones(semitones), C_MAJOR);
        let names = concert.map(|c| part.written(SpelledName::from_fifths(c)).to_string());
        assert_eq!(names.join(" "), written, "{semitones}");
    }
}

#[test]
fn written_keys_and_letters_are_those_of_musicxml() {
    // MusicXML 4.0: written key = concert key + 2 for B flat, + 3 for E flat, + 1 for F
    // instruments; `<diatonic>` of clarinet, horn, alto saxophone, piccolo.
    for (semitones, sharper, letters) in [(-2, 2, -1), (-7, 1, -4), (-9, 3, -5), (12, 0, 0)] {
        let part = PartNames::of(Transposition::semitones(semitones), C_MAJOR);
        assert_eq!(part.signature(C_MAJOR).fifths(), sharper);
        assert_eq!(part.letters(), letters);
    }
}

#[test]
fn parts_beyond_six_accidentals_take_the_enharmonic_key() {
    for (semitones, concert, written) in [
        (-2, 4, 6),
        (-2, 5, -5),
        (-9, 3, 6),
        (-9, 4, -5),
        (-7, 6, -5),
        (-2, -7, -5),
        (0, -7, 5),
    ] {
        let concert = KeySignature::new(concert, Mode::Major).unwrap();
        let part = PartNames::of(Transposition::semitones(semitones), concert);
        assert_eq!(
            part.signature(concert).fifths(),
            written,
            "{semitones} {concert}"
        );
        let tonic = part.written(concert.tonic_name());
        assert_eq!(tonic, part.signature(concert).tonic_name());
    }
}

#[test]
fn written_names_are_the_written_pitches_of_every_instrument() {
    for instrument in instruments().unwrap() {
        for fifths in -7..=7 {
            let key = KeySignature::new(fifths, Mode::Major).unwrap();
            let part = PartNames::of(instrument.transposition, key);
            for midi in 30..90 {
                let sounding = Sounding::new(midi).unwrap();
                let name = part.written(SpelledName::in_key(sounding.class(), key));
                let written = instrument.transposition.written(sounding);
                let class = i32::from(written.0).rem_euclid(12);
                assert_eq!(i32::from(name.class().number()), class, "{}", instrument.id);
                assert!(name.alteration.abs() <= 2);
            }
        }
    }
}
