//! Damaged and odd files: read what is there, say what is wrong.

use bandwright::music::{BarNumber, Mode, Tick};
use bandwright::sketch::{Song, read_sketch, read_song};

/// A file of one track with these events; `division` is raw.
fn smf(format: u8, division: u16, events: &[u8]) -> Vec<u8> {
    let mut bytes = b"MThd\0\0\0\x06\0".to_vec();
    bytes.extend([format, 0, 1]);
    bytes.extend(division.to_be_bytes());
    bytes.extend(b"MTrk");
    bytes.extend((events.len() as u32).to_be_bytes());
    bytes.extend(events);
    bytes
}

const END: [u8; 4] = [0, 0xFF, 0x2F, 0];
const NOTE: [u8; 9] = [0, 0x90, 60, 64, 0x83, 0x60, 0x80, 60, 0];

fn with(before: &[u8]) -> Song {
    read_song(&smf(0, 480, &[before, &NOTE, &END].concat())).unwrap()
}

fn warned(song: &Song, word: &str) -> bool {
    song.warnings.iter().any(|w| w.text.contains(word))
}

#[test]
fn what_cannot_be_used_is_refused_with_its_place() {
    let refused = |bytes: &[u8]| read_song(bytes).unwrap_err();
    assert!(refused(b"").reason.contains("empty"));
    assert!(refused(b"PK\x03\x04 a zip").reason.contains("MThd"));
    assert_eq!(refused(&smf(2, 480, &END)).offset, 8);
    let no_unit = refused(&smf(0, 0, &END));
    assert_eq!(no_unit.offset, 12);
    assert!(no_unit.reason.contains("division"));
    assert!(refused(b"MThd\0\0\0\x06\0\0").reason.contains("short"));
    assert!(
        refused(&smf(0, 480, &END)[..14])
            .reason
            .contains("no track")
    );
}

#[test]
fn a_plain_note_needs_no_warning() {
    let song = with(&[]);
    assert_eq!(song.warnings, []);
    assert_eq!(song.tracks[0].notes[0].duration.0, 480);
}

#[test]
fn a_file_without_notes_is_read_with_a_warning() {
    let song = read_song(&smf(0, 480, &END)).unwrap();
    assert!(warned(&song, "no notes"));
    let reading = read_sketch(&song, &[]);
    assert!(reading.notes.is_empty() && reading.keys.is_empty());
    assert_eq!(reading.warnings.len(), 1);
}

#[test]
fn a_cut_file_gives_what_came_before() {
    let whole = smf(0, 480, &[&NOTE[..], &NOTE, &END].concat());
    let song = read_song(&whole[..whole.len() - 8]).unwrap();
    assert_eq!(song.tracks[0].notes.len(), 2);
    assert!(warned(&song, "past the end of the file"));
    for length in 0..whole.len() {
        let _ = read_song(&whole[..length]).map(|s| read_sketch(&s, &[]));
    }
}

#[test]
fn a_key_beyond_seven_accidentals_is_ignored() {
    let song = with(&[0, 0xFF, 0x59, 2, 8, 0, 0, 0xFF, 0x59, 2, 0xFD, 1]);
    assert!(warned(&song, "key signature"));
    assert_eq!(song.keys.len(), 1);
    assert_eq!(song.keys[0].signature.fifths(), -3);
    assert_eq!(song.keys[0].signature.mode(), Mode::Minor);
}

#[test]
fn a_tempo_of_zero_is_ignored() {
    let song = with(&[0, 0xFF, 0x51, 3, 0, 0, 0]);
    assert!(warned(&song, "tempo of zero"));
    assert!((song.tempo.seconds(Tick(480)) - 0.5).abs() < 1e-9);
}

#[test]
fn a_meter_change_inside_a_bar_cuts_it() {
    let song = with(&[
        0, 0xFF, 0x58, 4, 4, 2, 24, 8, 0x87, 0x40, 0xFF, 0x58, 4, 3, 2, 24, 8,
    ]);
    assert!(warned(&song, "the meter changes inside bar 1"));
    assert_eq!(song.meters.bar(Tick(960)), BarNumber(2));
}

#[test]
fn running_status_after_a_meta_event_is_mended() {
    let song = with(&[
        0, 0x90, 62, 64, 0, 0xFF, 1, 1, b'x', 10, 62, 0, 0, 64, 64, 10, 64, 0,
    ]);
    assert!(warned(&song, "last status"));
    assert_eq!(song.tracks[0].notes.len(), 3);
}

#[test]
fn smpte_time_of_25_by_40_counts_milliseconds() {
    let song = read_song(&smf(0, 0xE728, &[&NOTE[..], &END].concat())).unwrap();
    assert_eq!(song.quarter.get(), 500);
    assert!((song.tempo.seconds(Tick(480)) - 0.48).abs() < 1e-9);
}

#[test]
fn a_wrapped_file_is_unwrapped() {
    let inner = smf(0, 480, &[&NOTE[..], &END].concat());
    let mut bytes = b"RIFF\0\0\0\0RMIDdata".to_vec();
    bytes.extend((inner.len() as u32).to_le_bytes());
    bytes.extend(&inner);
    let song = read_song(&bytes).unwrap();
    assert!(warned(&song, "RIFF"));
    assert_eq!(song.tracks[0].notes.len(), 1);
}

#[test]
fn odd_notes_are_kept_or_told() {
    let song = with(&[
        0, 0x80, 50, 0, // releases nothing
        0, 0x90, 70, 64, 0, 70, 0, // no length
        0, 72, 64, 0, 72, 64, 5, 72, 0, 5, 72, 0, // struck twice
        0, 74, 64, // never released
    ]);
    for word in [
        "release nothing",
        "no length",
        "struck again",
        "never released",
    ] {
        assert!(warned(&song, word), "{word}");
    }
    assert_eq!(song.tracks[0].notes.len(), 5);
}

#[test]
fn names_markers_and_pedal_are_read() {
    let song = with(&[
        0, 0xFF, 3, 4, b' ', 0xE9, b'a', 0, 0, 0xFF, 6, 1, b'A', 0, 0xB0, 64, 127, 10, 64, 0,
    ]);
    assert_eq!(song.tracks[0].name, "\u{e9}a");
    assert_eq!(song.markers[0].text, "A");
    assert_eq!(song.tracks[0].pedal[0].up, Tick(10));
    assert_eq!(song.tracks[0].controls.len(), 2);
}

#[test]
fn far_more_than_a_sketch_is_refused() {
    let many = |event: &[u8], times: usize| read_song(&smf(0, 480, &event.repeat(times)));
    let notes = many(&[1, 0x90, 60, 64, 1, 0x90, 60, 0], 300_001).unwrap_err();
    assert!(notes.reason.contains("more than 300000 notes"), "{notes}");
    assert_eq!(notes.offset, 22 + 8 * 300_000 + 1);
    assert!(many(&[1, 0x90, 60, 64, 1, 0x90, 60, 0], 300_000).is_ok());
    let bends = many(&[0, 0xE0, 0, 0], 2_000_001).unwrap_err();
    assert!(bends.reason.contains("controllers"), "{bends}");
    let silent = many(&[1, 0xF0, 3, 1, 2, 0xF7], 2_000_001);
    assert!(silent.is_ok(), "what is not kept is not counted");
}

#[test]
fn more_tracks_than_a_header_can_tell_are_refused() {
    let mut bytes = smf(1, 480, &END);
    bytes.extend(b"MTrk\0\0\0\x04\0\xFF\x2F\0".repeat(65_534));
    assert_eq!(read_song(&bytes).unwrap().tracks.len(), 65_535);
    bytes.extend(b"MTrk\0\0\0\x04\0\xFF\x2F\0");
    assert!(
        read_song(&bytes)
            .unwrap_err()
            .reason
            .contains("more tracks")
    );
}
