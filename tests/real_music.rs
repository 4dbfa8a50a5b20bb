//! The whole way on real music, from note data with their source (`fixtures/*.csv`).

use crate::checker::not_carried;
use crate::midi_file::{File, Lane, Tone};
use crate::whole_way::{faults_of, go, moved_by_relocking};
use bandwright::band::preset;
use bandwright::sketch::Line;
use std::ops::Range;

const BANDS: [&str; 3] = ["medium-marching", "thin", "concert"];

/// A fixture as a file: a track for each voice, in the order of the rows.
fn piece(rows: &str, meter: (u8, u8), sharps: i8) -> File {
    let mut lanes: Vec<Lane> = Vec::new();
    let rows = rows.lines().filter(|l| !l.starts_with('#')).skip(1);
    for row in rows {
        let cells: Vec<&str> = row.split(',').collect();
        let [voice, onset, length, midi] = cells[..] else {
            panic!("row {row}");
        };
        let tone = Tone {
            onset: onset.parse().unwrap(),
            pitch: midi.parse().unwrap(),
            length: length.parse().unwrap(),
            velocity: 80,
        };
        match lanes.last_mut().filter(|l| l.name == voice) {
            Some(lane) => lane.notes.push(tone),
            None => lanes.push(Lane::new(voice, vec![tone])),
        }
    }
    File {
        quarter: 960,
        meters: vec![(0, meter.0, meter.1)],
        keys: vec![(0, sharps, false)],
        ..File::plain(lanes)
    }
}

/// Of a voice's highest notes that begin in some stretches, how many are melody, and how many there
/// are.
fn tune_in_voice(
    file: &File,
    voice: &str,
    reading: &bandwright::sketch::Reading,
    within: impl Fn(u64) -> bool,
) -> (usize, usize) {
    let lane = file.lanes.iter().find(|l| l.name == voice).unwrap();
    let mut top: std::collections::BTreeMap<u64, u8> = std::collections::BTreeMap::new();
    for note in lane.notes.iter().filter(|n| within(u64::from(n.onset))) {
        let highest = top.entry(u64::from(note.onset)).or_default();
        *highest = note.pitch.max(*highest);
    }
    let found = reading
        .line(Line::Melody)
        .filter(|n| top.get(&n.onset.0) == Some(&n.pitch.midi()));
    (found.count(), top.len())
}

/// `accompanies`: where the voice only accompanies a singer who is not in the file.
fn voiced_for_every_band(file: &File, voice: &str, accompanies: &Range<u64>) {
    let song = file.song();
    for name in BANDS {
        let band = preset(name).unwrap();
        let way = go(&song, &band, None);
        assert_eq!(faults_of(&way, &song, &band, None), Vec::<String>::new());
        assert_eq!(way.voiced.draft.melody_changes, [], "{name}");
        let lost = not_carried(&way.reading, &way.voiced.draft, Line::Bass);
        assert_eq!(lost, Vec::<&_>::new(), "{name}: bass is lost");
        assert_eq!(moved_by_relocking(&way, &song, &band), Vec::<String>::new());
        let leads = |onset| !accompanies.contains(&onset);
        let (found, all) = tune_in_voice(file, voice, &way.reading, leads);
        assert!(found * 10 >= all * 9, "{found} of {all} notes of the tune");
        let under = |onset| accompanies.contains(&onset);
        let (found, all) = tune_in_voice(file, voice, &way.reading, under);
        assert!(
            found * 10 <= all,
            "{found} of {all} notes of an accompaniment"
        );
    }
}

#[test]
fn aloha_oe_is_voiced_for_every_band() {
    let file = piece(include_str!("fixtures/aloha_oe.csv"), (4, 2), 1);
    let notes: usize = file.lanes.iter().map(|l| l.notes.len()).sum();
    assert_eq!((file.lanes.len(), notes), (2, 265));
    // In the corpus the singer has the tune from quarter 19 to 50; the right hand plays broken chords
    // off the beat there.
    voiced_for_every_band(&file, "Right", &(20 * 960..48 * 960));
}

#[test]
fn lift_every_voice_is_voiced_for_every_band() {
    let file = piece(include_str!("fixtures/lift_every_voice.csv"), (6, 3), -4);
    let notes: usize = file.lanes.iter().map(|l| l.notes.len()).sum();
    assert_eq!((file.lanes.len(), notes), (4, 388));
    voiced_for_every_band(&file, "Soprano", &(0..0));
}
