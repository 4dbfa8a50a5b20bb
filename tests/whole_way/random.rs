//! Any band, any sketch, any locks.

use super::strategies::{band, lanes, locks, sketch};
use super::{drafted, faults_of, go, moved_by_relocking};
use crate::midi_file::File;
use bandwright::export::midi_bytes;
use proptest::prelude::*;

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
    fn a_draft_given_again_is_kept(band in band(), sketch in sketch(), own in locks()) {
        let mut sketch = sketch;
        let own = lanes(&own, &band, &sketch);
        sketch.lanes.extend(own);
        let song = sketch.song();
        let way = go(&song, &band, None);
        prop_assert_eq!(moved_by_relocking(&way, &song, &band), Vec::<String>::new());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(60) })]

    #[test]
    fn the_same_twice_gives_the_same_bytes(band in band(), sketch in sketch()) {
        let song = sketch.song();
        let bytes = || {
            let way = go(&song, &band, None);
            midi_bytes(&song, &way.own_tracks, &band, &way.voiced.draft).unwrap()
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
