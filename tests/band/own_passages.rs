//! Tracks named like a part.

use bandwright::band::{Band, preset};
use bandwright::music::{MeterMap, Sounding, TempoMap, Tick, Ticks, TicksPerQuarter};
use bandwright::score::{Lock, OwnPassages, own_passages};
use bandwright::sketch::{Note, Song, Track};

/// A note of a quarter's ticks, in quarters.
fn note(quarter: u64, onset: u64, length: u64) -> Note {
    Note {
        onset: Tick(onset * quarter),
        pitch: Sounding::new(65).unwrap(),
        duration: Ticks(length * quarter),
        velocity: 80,
        channel: 0,
    }
}

fn song(quarter: u16, tracks: Vec<(&str, Vec<Note>)>) -> Song {
    let quarter = TicksPerQuarter::new(quarter).unwrap();
    let track = |(name, notes): (&str, Vec<Note>)| Track {
        name: name.to_owned(),
        notes,
        ..Track::default()
    };
    Song {
        quarter,
        tempo: TempoMap::new(quarter, []),
        meters: MeterMap::new(quarter, []),
        keys: vec![],
        markers: vec![],
        tracks: tracks.into_iter().map(track).collect(),
        warnings: vec![],
    }
}

/// Reads onto 480 ticks a quarter in 4/4.
fn read(song: &Song) -> (OwnPassages, Band) {
    let band = preset("demo").unwrap();
    let quarter = TicksPerQuarter::new(480).unwrap();
    let found = own_passages(song, &band, (&MeterMap::new(quarter, []), quarter));
    (found, band)
}

fn bars(lock: &Lock) -> Vec<u32> {
    lock.bars.0.iter().map(|b| b.0).collect()
}

#[test]
fn names_match_whatever_case_space_and_dashes() {
    let names = [
        "TRUMPET 1",
        "trumpet-1",
        "Trumpet_1",
        "Trumpet1",
        " Trumpet.1 ",
    ];
    for name in names {
        let (found, band) = read(&song(
            480,
            vec![("Piano", vec![]), (name, vec![note(480, 4, 1)])],
        ));
        assert_eq!(found.tracks, [1], "{name}");
        assert_eq!(band.part(found.locks.0[0].part).name, "Trumpet 1");
        assert_eq!(bars(&found.locks.0[0]), [2]);
        assert!(found.warnings.is_empty());
    }
}

#[test]
fn named_bars_are_fixed_silent_ones_too() {
    let notes = vec![note(480, 0, 1), note(480, 4, 1)];
    let (found, _) = read(&song(480, vec![("Trumpet 1 bars 2-3, 6", notes)]));
    let lock = &found.locks.0[0];
    assert_eq!(bars(lock), [2, 3, 6]);
    assert_eq!(lock.notes, [note(480, 4, 1)]);
    assert!(
        found.warnings[0]
            .text
            .contains("notes outside its bars are left out (1)")
    );
}

#[test]
fn a_note_over_the_barline_fixes_the_next_bar_too() {
    let (found, _) = read(&song(480, vec![("Trumpet 1", vec![note(480, 3, 2)])]));
    assert_eq!(bars(&found.locks.0[0]), [1, 2]);
    let (found, _) = read(&song(
        480,
        vec![("Trumpet 1 bars 1", vec![note(480, 3, 2)])],
    ));
    assert_eq!(bars(&found.locks.0[0]), [1, 2]);
    let (found, _) = read(&song(480, vec![("Trumpet 1", vec![note(480, 3, 1)])]));
    assert_eq!(bars(&found.locks.0[0]), [1]);
}

#[test]
fn unreadable_bars_are_told_and_the_notes_taken() {
    let (found, _) = read(&song(
        480,
        vec![("Trumpet 1 bars two", vec![note(480, 4, 1)])],
    ));
    assert_eq!(bars(&found.locks.0[0]), [2]);
    assert!(
        found.warnings[0]
            .text
            .contains("cannot read the bars `two`")
    );
}

#[test]
fn ticks_are_scaled() {
    let (found, _) = read(&song(960, vec![("Trumpet 1", vec![note(960, 5, 2)])]));
    assert_eq!(found.locks.0[0].notes, [note(480, 5, 2)]);
    assert!(found.warnings.is_empty());
    let odd = Note {
        onset: Tick(1),
        duration: Ticks(1),
        ..note(960, 0, 1)
    };
    let (found, _) = read(&song(960, vec![("Trumpet 1", vec![odd])]));
    let note = found.locks.0[0].notes[0];
    assert_eq!((note.onset, note.duration), (Tick(1), Ticks(1)));
    assert!(found.warnings[0].text.contains("moved by less than a tick"));
}

#[test]
fn two_tracks_of_one_part_are_taken_together() {
    let tracks = vec![
        ("Trumpet 1", vec![note(480, 8, 1)]),
        ("Trumpet-1 bars 1", vec![note(480, 0, 1)]),
    ];
    let (found, _) = read(&song(480, tracks));
    assert_eq!(found.tracks, [0, 1]);
    assert_eq!(found.locks.0.len(), 1);
    assert_eq!(bars(&found.locks.0[0]), [1, 3]);
    assert_eq!(found.locks.0[0].notes, [note(480, 0, 1), note(480, 8, 1)]);
    assert!(found.warnings[0].text.contains("taken together"));
}

#[test]
fn nearly_named_tracks_are_sketch_with_a_warning() {
    let (found, _) = read(&song(
        480,
        vec![("Trumppet 1", vec![note(480, 0, 1)]), ("Piano", vec![])],
    ));
    assert_eq!((found.tracks.len(), found.locks.0.len()), (0, 0));
    assert_eq!(
        found.warnings[0].text,
        "no part is named `Trumppet 1` like a track; did you mean `Trumpet 1`?"
    );
    assert_eq!(found.warnings.len(), 1);
}

#[test]
fn a_track_without_notes_or_bars_fixes_nothing() {
    let (found, _) = read(&song(
        480,
        vec![("Trumpet 1", vec![]), ("", vec![note(480, 0, 1)])],
    ));
    assert_eq!((found.tracks, found.locks.0.len()), (vec![0], 0));
}

#[test]
fn notes_never_let_go_and_endless_names_do_no_harm() {
    let (found, _) = read(&song(1, vec![("Trumpet 1", vec![note(1, 0, 1 << 40)])]));
    assert_eq!(found.locks.0.len(), 0);
    assert!(found.warnings[0].text.contains("longer than 1000 bars"));
    let long = format!("Trumpet 1 bars 1{}", ",1-9999".repeat(9999));
    let (found, _) = read(&song(480, vec![(&long, vec![note(480, 4, 1)])]));
    assert_eq!(bars(&found.locks.0[0]), [2]);
    let (found, _) = read(&song(480, vec![(&"x".repeat(100_000), vec![])]));
    assert!(found.warnings.is_empty());
}
