//! The sketch in every key.

use crate::midi_file::{File, Lane, tone};
use bandwright::band::{preset, read_band};
use bandwright::cli::files::demo_song;
use bandwright::cli::key_choice::{cleanest, key_choice};
use bandwright::cli::keys::report;
use bandwright::music::Interval;
use bandwright::project::given::Given;
use bandwright::project::other_key::other_key;
use bandwright::sketch::{Line, Tags, read_sketch, transposed};
use proptest::prelude::*;

/// A trumpet alone that keeps between F4 and B flat 4, sounding.
fn narrow_trumpet() -> bandwright::band::Band {
    read_band("name = \"Solo\"\n[[part]]\nname = \"Trumpet\"\ninstrument = \"trumpet\"\nplayers = { advanced = 1 }\nremarks = { lowest = \"G4\", highest = \"C5\" }\n").unwrap()
}

#[test]
fn the_one_key_in_which_all_can_be_played_is_found() {
    // C4 to F4: whatever the octave, all of it fits only a fourth higher.
    let notes = [60, 62, 64, 65, 64, 62, 60, 65];
    let tones = notes.iter().zip(0..);
    let song = File::piano(tones.map(|(p, i)| tone(i * 480, *p, 480)).collect()).song();
    let band = narrow_trumpet();
    let keys = key_choice(&song, &band, &Given::default(), 1, &mut |_| {});
    let shifts: Vec<i16> = keys.iter().map(|k| k.shift).collect();
    assert_eq!(shifts, (-6..=6).collect::<Vec<_>>());
    let whole: Vec<i16> = keys
        .iter()
        .filter(|k| k.tune_lost == 0)
        .map(|k| k.shift)
        .collect();
    assert_eq!(whole, [5]);
    assert_eq!(cleanest(&keys).unwrap().shift, 5);
    for key in &keys {
        assert_eq!(key.tune.notes + key.tune_lost, notes.len(), "{}", key.shift);
        assert!((0.0..=1.0).contains(&key.total));
    }
    let text = report("tune.mid", &band.name, &keys);
    assert!(text.contains("Cleanest: 5 higher"), "{text}");
}

#[test]
fn the_answer_does_not_depend_on_threads() {
    let (song, band) = (demo_song().unwrap(), preset("thin").unwrap());
    let go = |threads| key_choice(&song, &band, &Given::default(), threads, &mut |_| {});
    let one = go(1);
    assert_eq!(one, go(2));
    assert_eq!(one, go(7));
}

#[test]
fn equal_keys_prefer_the_nearest_then_the_lower() {
    let (song, band) = (File::piano(Vec::new()).song(), narrow_trumpet());
    let keys = key_choice(&song, &band, &Given::default(), 1, &mut |_| {});
    assert!(keys.iter().all(|k| k.total == 0.0));
    assert_eq!(cleanest(&keys).unwrap().shift, 0);
    let without: Vec<_> = keys.into_iter().filter(|k| k.shift != 0).collect();
    assert_eq!(cleanest(&without).unwrap().shift, -1);
}

#[test]
fn lines_are_the_same_in_every_key() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let lines = |s: &bandwright::sketch::Song, found: &[Line]| -> Vec<Line> {
        let options = bandwright::sketch::ReadOptions {
            lines: found,
            ..Default::default()
        };
        let reading = bandwright::sketch::read_sketch_with(s, &options);
        reading.notes.iter().map(|n| n.line).collect()
    };
    let here = lines(&song, &[]);
    let whole = other_key(song.clone(), &band, Tags::default(), 0);
    assert_eq!((whole.song, whole.lines.len()), (song.clone(), 0));
    for shift in [-12, -5, 3, 12] {
        assert_eq!(
            lines(&transposed(&song, Interval(shift)), &here),
            here,
            "{shift}"
        );
    }
}

proptest! {
    #[test]
    fn going_there_and_back_changes_nothing(by in -12_i16..=12, pitches in prop::collection::vec(12_u8..116, 1..40)) {
        let tones = pitches.iter().zip(0..);
        let song = File::piano(tones.map(|(p, i)| tone(i * 240, *p, 240)).collect()).song();
        let there = transposed(&song, Interval(by));
        prop_assert_eq!(&transposed(&there, Interval(-by)).tracks, &song.tracks);
        let moved = read_sketch(&there, &[]).notes;
        for (a, b) in read_sketch(&song, &[]).notes.iter().zip(moved) {
            prop_assert_eq!(a.pitch.up(Interval(by)), Some(b.pitch));
        }
    }

    #[test]
    fn drums_stay_and_notes_stay_in_midi(by in -12_i16..=12, pitches in prop::collection::vec(0_u8..128, 1..40)) {
        let tones: Vec<_> = pitches.iter().zip(0..).map(|(p, i)| tone(i * 240, *p, 240)).collect();
        let mut file = File::plain(vec![Lane::new("Piano", tones.clone()), Lane::new("Drums", tones)]);
        file.lanes[1].channel = 9;
        let song = file.song();
        let there = transposed(&song, Interval(by));
        for (before, after) in song.tracks.iter().zip(&there.tracks) {
            prop_assert_eq!(before.notes.len(), after.notes.len());
            prop_assert!(after.notes.is_sorted_by_key(|n| (n.onset, n.pitch)));
            for (a, b) in before.notes.iter().zip(&after.notes) {
                let way = i16::from(b.pitch.midi()) - i16::from(a.pitch.midi()) - by;
                let right = if a.is_percussion() { a == b } else { way % 12 == 0 };
                prop_assert!(right);
            }
        }
    }
}
