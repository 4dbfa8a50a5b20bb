//! Any band, any sketch, any locks.

use super::strategies::{band, lanes, locks, said, sketch, with_remarks};
use super::{drafted, faults_of, go, moved_by_relocking, sent_out};
use crate::midi_file::File;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// A sketch played so many times over, so that there are enough bars for rests.
pub fn longer(sketch: &File, times: usize) -> File {
    let bar = u32::from(sketch.quarter) * 4;
    let ends = sketch.lanes.iter().flat_map(|l| &l.notes);
    let end = ends
        .map(crate::midi_file::Tone::end)
        .max()
        .unwrap_or(bar)
        .div_ceil(bar)
        * bar;
    let mut long = sketch.clone();
    for time in 1..times as u32 {
        for (lane, once) in long.lanes.iter_mut().zip(&sketch.lanes) {
            let later = |tone: &crate::midi_file::Tone| crate::midi_file::Tone {
                onset: tone.onset + time * end,
                ..*tone
            };
            lane.notes.extend(once.notes.iter().map(later));
        }
    }
    long
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_draft_holds(
        band in band(),
        sketch in sketch(),
        own in locks(),
        given in locks(),
    ) {
        let mut sketch = sketch;
        let given = File { lanes: lanes(&given, &band, &sketch), ..sketch.clone() };
        let own = lanes(&own, &band, &sketch);
        sketch.lanes.extend(own);
        let (song, given) = (sketch.song(), given.song());
        let way = go(&song, &band, Some(&given));
        prop_assert_eq!(faults_of(&way, &song, &band, Some(&given)), Vec::<String>::new());
    }

    #[test]
    fn every_remark_holds(
        band in band(),
        said in said(),
        sketch in sketch(),
        times in 1..5_usize,
        own in locks(),
        given in locks(),
    ) {
        let band = with_remarks(&band, &said);
        let mut sketch = longer(&sketch, times);
        let given = File { lanes: lanes(&given, &band, &sketch), ..sketch.clone() };
        let own = lanes(&own, &band, &sketch);
        sketch.lanes.extend(own);
        let (song, given) = (sketch.song(), given.song());
        let way = go(&song, &band, Some(&given));
        prop_assert_eq!(faults_of(&way, &song, &band, Some(&given)), Vec::<String>::new());
    }

    #[test]
    fn a_draft_given_again_is_kept(band in band(), sketch in sketch(), own in locks()) {
        let mut sketch = sketch;
        let own = lanes(&own, &band, &sketch);
        sketch.lanes.extend(own);
        let song = sketch.song();
        let way = go(&song, &band, None);
        prop_assert_eq!(moved_by_relocking(&way, &song, &band), Vec::<String>::new());
    }
}

/// The random remarks are no idle ones: drafts made without them break each kind often.
#[test]
fn random_remarks_would_be_broken() {
    let mut runner = TestRunner::deterministic();
    let cases = (band(), said(), sketch(), 1..5_usize);
    let words = [
        " s after ",
        "plays on end",
        "is in a key",
        "nobody has it too",
        "is heard alone",
        "by the same player",
    ];
    let mut broken = [0; 6];
    for _ in 0..120 {
        let (plain, said, sketch, times) = cases.new_tree(&mut runner).unwrap().current();
        let song = longer(&sketch, times).song();
        let way = go(&song, &plain, None);
        let told = with_remarks(&plain, &said);
        let found = faults_of(&way, &song, &told, None);
        for (count, word) in broken.iter_mut().zip(words) {
            *count += usize::from(found.iter().any(|f| f.contains(word)));
        }
    }
    let often = words.iter().zip(broken).all(|(_, n)| n >= 5);
    assert!(often, "of 120: {words:?} {broken:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(60) })]

    #[test]
    fn the_same_twice_gives_the_same_bytes(band in band(), sketch in sketch()) {
        let song = sketch.song();
        let bytes = || {
            let way = go(&song, &band, None);
            sent_out(&way, &song, &band)
        };
        prop_assert_eq!(bytes(), bytes());
    }

    #[test]
    fn a_track_of_no_part_changes_no_lock(band in band(), sketch in sketch()) {
        let song = sketch.song();
        let without = go(&song, &band, None).voiced.draft;
        let strange = File {
            lanes: vec![crate::midi_file::Lane::new("Nobody here", vec![crate::midi_file::tone(0, 60, 9)])],
            ..sketch
        };
        let with = go(&song, &band, Some(&strange.song()));
        prop_assert!(with.warnings.iter().any(|w| w.text.contains("lock nothing: `Nobody here`")));
        for part in 0..band.parts.len() {
            prop_assert_eq!(drafted(&with.voiced.draft, part), drafted(&without, part));
        }
    }
}
