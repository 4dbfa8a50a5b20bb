//! Any bytes, and any song, against an outside reader and writer.

use super::build::{Plain, file};
use bandwright::sketch::{Line, Reading, read_sketch, read_song};
use proptest::collection::vec;
use proptest::prelude::*;
use std::collections::BTreeSet;

fn is_sound(r: &Reading) -> bool {
    let melody: Vec<_> = r.line(Line::Melody).map(|n| n.onset).collect();
    melody.windows(2).all(|p| p[0] < p[1])
        && r.slices.windows(2).all(|p| p[0].end == p[1].start)
        && r.phrases.windows(2).all(|p| p[0].end == p[1].start)
        && r.chords.windows(2).all(|p| p[0].end <= p[1].start)
        && r.notes.iter().all(|n| n.sounds_until >= n.end())
        && r.keys.first().is_none_or(|k| k.start.0 == 0)
}

fn song() -> impl Strategy<Value = Vec<Vec<Plain>>> {
    let note = (0..4000_u32, 21..109_u8, 1..2000_u32);
    vec(vec(note, 0..40), 1..4).prop_map(|tracks| tracks.into_iter().map(apart).collect())
}

/// Leaves out notes that overlap one of their own pitch, which MIDI cannot tell apart.
fn apart(mut notes: Vec<Plain>) -> Vec<Plain> {
    notes.sort_unstable();
    let mut kept: Vec<Plain> = Vec::new();
    for note in notes {
        if kept.iter().all(|k| k.1 != note.1 || k.0 + k.2 <= note.0) {
            kept.push(note);
        }
    }
    kept
}

proptest! {
    #[test]
    fn no_bytes_panic(bytes in vec(any::<u8>(), 0..400)) {
        let _ = read_song(&bytes);
    }

    #[test]
    fn no_bytes_after_a_header_panic(
        division in any::<u16>(),
        events in vec(prop_oneof![any::<u8>(), 0..4_u8, 0x90..0x92_u8, Just(0xFF), Just(0x51)], 0..600),
    ) {
        let mut bytes = b"MThd\0\0\0\x06\0\x01\0\x01".to_vec();
        bytes.extend(division.to_be_bytes());
        bytes.extend(b"MTrk\0\0\x04\0");
        bytes.extend(events);
        if let Ok(song) = read_song(&bytes) {
            prop_assert!(is_sound(&read_sketch(&song, &[])));
            prop_assert!(song.warnings.len() <= 101);
        }
    }

    #[test]
    fn no_damage_to_a_good_file_panics(
        tracks in song(),
        damage in vec((any::<prop::sample::Index>(), any::<u8>()), 1..12),
    ) {
        let mut bytes = file(&tracks);
        for (index, byte) in damage {
            let place = index.index(bytes.len());
            bytes[place] = byte;
        }
        if let Ok(song) = read_song(&bytes) {
            prop_assert!(is_sound(&read_sketch(&song, &[])));
        }
    }

    #[test]
    fn songs_come_back_with_the_same_notes(tracks in song()) {
        let song = read_song(&file(&tracks)).unwrap();
        prop_assert_eq!(song.tracks.len(), tracks.len());
        for (read, wrote) in song.tracks.iter().zip(&tracks) {
            let notes: Vec<Plain> = read
                .notes
                .iter()
                .map(|n| (n.onset.0 as u32, n.pitch.midi(), n.duration.0 as u32))
                .collect();
            prop_assert_eq!(&notes, wrote);
        }
        prop_assert!(is_sound(&read_sketch(&song, &[])));
    }

    #[test]
    fn an_outside_reader_hears_the_same_onsets(tracks in song()) {
        let bytes = file(&tracks);
        let outside = midly::Smf::parse(&bytes).unwrap();
        let song = read_song(&bytes).unwrap();
        for (ours, theirs) in song.tracks.iter().zip(&outside.tracks) {
            let ours: BTreeSet<(u64, u8)> =
                ours.notes.iter().map(|n| (n.onset.0, n.pitch.midi())).collect();
            prop_assert_eq!(ours, onsets(theirs));
        }
    }
}

fn onsets(track: &[midly::TrackEvent]) -> BTreeSet<(u64, u8)> {
    let mut now = 0;
    let mut found = BTreeSet::new();
    for event in track {
        now += u64::from(event.delta.as_int());
        if let midly::TrackEventKind::Midi {
            message: midly::MidiMessage::NoteOn { key, vel },
            ..
        } = event.kind
            && vel > 0
        {
            found.insert((now, key.as_int()));
        }
    }
    found
}
