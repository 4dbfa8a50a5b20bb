//! Timpani: roots and fifths of the bass on drums that are tuned once.

use crate::estimates::Sketch;
use crate::midi_file::{File, Tone, tone};
use crate::whole_way::{faults_of, go};
use bandwright::band::playing::{set_of, tuning};
use bandwright::band::{Band, preset, read_band};
use bandwright::music::{PitchClass, Tick, Written};
use bandwright::plan::drums::{DrumMusic, Drums};
use bandwright::score::Role;
use bandwright::sketch::read_song;
use proptest::prelude::*;
use std::collections::BTreeSet;

fn band(level: &str) -> Band {
    let part = |name: &str, id: &str| {
        format!("[[part]]\nname = \"{name}\"\ninstrument = \"{id}\"\nplayers = {{ {level} = 2 }}\n")
    };
    let text = [
        "name = \"Birch Lane Winds\"\n".to_owned(),
        part("Flute", "flute"),
        part("Clarinet", "clarinet_bb"),
        part("Trumpet", "trumpet"),
        part("Trombone", "trombone"),
        part("Tuba", "tuba"),
        part("Timpani", "timpani"),
    ];
    read_band(&text.concat()).unwrap()
}

/// Four-part chords over some roots, a bar each, with a tune.
fn sketch(roots: &[u8], velocity: u8) -> File {
    let mut notes: Vec<Tone> = Vec::new();
    for (bar, root) in (0..).zip(roots) {
        let at = bar * 1920;
        for beat in 0..4 {
            notes.push(tone(
                at + beat * 480,
                76 + [0, 2, 3, 5][beat as usize] - root % 2,
                460,
            ));
        }
        notes.push(tone(at, 36 + root, 940));
        notes.push(tone(at + 960, 43 + root, 940));
        for above in [12, 16, 19] {
            notes.push(tone(at, 36 + root + above, 1900));
        }
    }
    for note in &mut notes {
        note.velocity = velocity;
    }
    File::piano(notes)
}

fn written(drums: &Drums) -> Vec<Written> {
    drums
        .tuned
        .iter()
        .map(|p| Written(p.midi().into()))
        .collect()
}

#[test]
fn strong_passages_have_timpani_with_the_bass_and_soft_ones_none() {
    for (velocity, plays) in [(112, true), (50, false)] {
        let (file, band) = (
            sketch(&[0, 5, 7, 0, 0, 5, 7, 0], velocity),
            band("advanced"),
        );
        let song = file.song();
        let way = go(&song, &band, None);
        assert_eq!(faults_of(&way, &song, &band, None), Vec::<String>::new());
        let lines = &way.voiced.draft.lines;
        let strokes = &lines.last().unwrap().notes;
        assert_eq!(!strokes.is_empty(), plays, "{velocity}");
        assert!(!plays || strokes.len() >= 12, "{}", strokes.len());
        let pitches: BTreeSet<_> = strokes.iter().map(|n| n.pitch).collect();
        assert!(pitches.len() <= 4, "{pitches:?}");
        let tuba = &lines[4].notes;
        for stroke in strokes {
            assert_eq!(stroke.role, Role::Bass);
            let with = tuba
                .iter()
                .any(|n| n.onset == stroke.onset && n.pitch.class() == stroke.pitch.class());
            assert!(with, "{stroke:?}");
        }
    }
}

#[test]
fn a_concert_band_has_them_in_the_demo() {
    let band = preset("concert").unwrap();
    let song = read_song(include_bytes!("../assets/demo/harvest-lights.mid")).unwrap();
    let way = go(&song, &band, None);
    let at = band
        .parts
        .iter()
        .position(|p| p.instrument.id == "timpani")
        .unwrap();
    let notes = &way.voiced.draft.lines[at].notes;
    let bars: BTreeSet<u32> = notes.iter().map(|n| song.meters.bar(n.onset).0).collect();
    println!("{} strokes in {} bars", notes.len(), bars.len());
    for planned in &way.plan.passages {
        let inside = notes.iter().filter(|n| planned.passage.contains(n.onset));
        assert!(planned.roles[at].role == Role::Bass || inside.count() == 0);
        assert!(planned.passage.intensity >= 6.5 || planned.roles[at].role == Role::Rest);
    }
    assert!(!notes.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// The set can be tuned so, a weaker player has fewer drums, and no other tuning of one note more or
    /// another has more strokes.
    #[test]
    fn the_tuning_is_possible_and_the_best(roots in prop::collection::vec(0_u8..12, 4..9), level in 0_usize..5) {
        let (word, count) = [("first_year", 2), ("second_year", 2), ("intermediate", 3), ("advanced", 4), ("all_state", 4)][level];
        let (sketch, band) = (Sketch::of(sketch(&roots, 110).song()), band(word));
        let part = band.parts.last().unwrap();
        let music = DrumMusic { reading: &sketch.reading, lines: &sketch.lines, meters: &sketch.song.meters };
        let drums = Drums::of(&music, part, Tick(0), Tick(100_000));
        let set = set_of(count).unwrap();
        prop_assert!(tuning(&set, &written(&drums)).is_some());
        prop_assert!(drums.tuned.iter().all(|p| part.limits.range.contains(*p)));
        prop_assert!(drums.strokes.iter().all(|n| drums.tuned.contains(&n.pitch)));
        let bass = &sketch.lines.bass.notes;
        let of = |class: PitchClass| bass.iter().filter(|n| n.pitch.class() == class).count();
        // Not more than one stroke for each note of the bass, at its time.
        prop_assert!(drums.strokes.len() <= drums.tuned.iter().map(|p| of(p.class())).sum());
        prop_assert!(drums.strokes.iter().all(|s| bass.iter().any(|n| n.onset == s.onset && n.pitch.class() == s.pitch.class())));
        // All sets of pitches of different classes, one after the other.
        let on_beat = bass.iter().filter(|n| n.onset.0.is_multiple_of(480));
        let chordal = |n: &&bandwright::plan::LineNote| {
            let chord = sketch.reading.chord(n.onset).map(|c| c.chord);
            let class = n.pitch.class();
            chord.is_some_and(|c| class == c.root || class == c.root.up(7) && c.classes().contains(class))
        };
        let wanted: Vec<PitchClass> = on_beat.filter(chordal).map(|n| n.pitch.class()).collect();
        let mut most = 0;
        let mut sets: Vec<Vec<Written>> = vec![Vec::new()];
        for midi in part.limits.range.low.midi()..=part.limits.range.high.midi() {
            let new = Written(midi.into());
            let other = |s: &&Vec<Written>| s.iter().all(|w| (w.0 - new.0) % 12 != 0);
            let more: Vec<Vec<Written>> = sets.iter().filter(other).map(|s| [s.clone(), vec![new]].concat()).collect();
            sets.extend(more.into_iter().filter(|s| tuning(&set, s).is_some()));
        }
        for tuned in sets {
            let struck = |c: &&PitchClass| tuned.iter().any(|w| PitchClass::of(w.0.into()) == **c);
            most = most.max(wanted.iter().filter(struck).count());
        }
        prop_assert_eq!(drums.strokes.len(), most);
    }
}
