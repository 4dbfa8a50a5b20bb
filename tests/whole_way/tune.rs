//! Rules for the tune, on the whole way: as written, changed where that is allowed, given back; who
//! takes over, and where; leading into locks.

use super::strategies::{band, lanes, locks, said, sketch, with_remarks};
use super::{faults_of, moved_by_relocking};
use crate::midi_file::{File, Lane, Tone, tone};
use bandwright::band::{Band, read_band};
use bandwright::music::{BarNumber, Tick};
use bandwright::project::given::Given;
use bandwright::project::whole_way::{WholeWay, whole_way};
use bandwright::review::Severity;
use bandwright::score::{BarSet, DraftNote, Role, TuneRules};
use bandwright::sketch::{Line, Song};
use proptest::prelude::*;
use std::collections::BTreeSet;

fn band_of(parts: &[(&str, &str, &str)]) -> Band {
    let part = |(name, instrument, remarks): &(&str, &str, &str)| {
        format!(
            "[[part]]\nname = \"{name}\"\ninstrument = \"{instrument}\"\nplayers = {{ all_state = 2 }}\nremarks = {{ {remarks} }}\n"
        )
    };
    let text: String = parts.iter().map(part).collect();
    read_band(&format!("name = \"Some\"\n{text}")).unwrap()
}

/// A tune of quarters over held chords, four to a bar, a rest where the pitch is 0. What is tagged by
/// its place (highest, alone on its track) is the tune.
fn quarters(tune: &[u8]) -> File {
    let notes: Vec<Tone> = tune
        .iter()
        .enumerate()
        .filter(|(_, p)| **p > 0)
        .map(|(i, p)| tone(i as u32 * 480, *p, 480))
        .collect();
    let bars = tune.len().div_ceil(4) as u32;
    let low = (0..bars).flat_map(|b| [36, 43].map(|p| tone(b * 1920, p, 1920)));
    let mut file = File::piano(Vec::new());
    file.lanes = vec![Lane::new("Right", notes), Lane::new("Left", low.collect())];
    file
}

fn bars(numbers: impl IntoIterator<Item = u32>) -> BarSet {
    BarSet(numbers.into_iter().map(BarNumber).collect())
}

fn go(song: &Song, band: &Band, locks: Option<&Song>, tune: TuneRules) -> WholeWay {
    let given = Given {
        locks,
        tune,
        ..Given::default()
    };
    whole_way(song, band, &given, &mut |_| {})
}

/// A way on which nothing may go wrong.
fn well(file: &File, band: &Band, tune: TuneRules) -> WholeWay {
    let song = file.song();
    let way = go(&song, band, None, tune);
    assert_eq!(faults_of(&way, &song, band, None), Vec::<String>::new());
    let read: Vec<u8> = way
        .reading
        .line(Line::Melody)
        .map(|n| n.pitch.midi())
        .collect();
    let meant: Vec<u8> = file.lanes[0].notes.iter().map(|n| n.pitch).collect();
    assert_eq!(read, meant, "the tune is what these tests take it for");
    way
}

fn tune_of(way: &WholeWay, part: usize) -> Vec<(u64, u8)> {
    let notes = way.voiced.draft.lines[part].notes.iter();
    notes
        .filter(|n| n.role == Role::Melody)
        .map(|n| (n.onset.0 / 480, n.pitch.midi()))
        .collect()
}

const SONG: [u8; 32] = [
    72, 74, 76, 77, 79, 77, 76, 0, 72, 74, 76, 77, 74, 72, 71, 0, 72, 74, 76, 77, 79, 81, 79, 0,
    77, 76, 74, 72, 71, 74, 72, 0,
];

fn down(by: u8) -> Vec<u8> {
    let lower = |p: &u8| if *p == 0 { 0 } else { p - by };
    SONG.iter().map(lower).collect()
}

#[test]
fn as_written_moves_the_instrument_and_not_the_note() {
    // A flute cannot go so low; the plan likes it for the tune.
    let low = down(19);
    let band = band_of(&[
        ("Flute", "flute", ""),
        ("Trombone", "trombone", ""),
        ("Tuba", "tuba", ""),
    ]);
    let plain = well(&quarters(&low), &band, TuneRules::default());
    assert!(
        !tune_of(&plain, 0).is_empty(),
        "the flute has the tune, higher"
    );
    let rules = TuneRules {
        as_written: bars(1..=8),
        ..TuneRules::default()
    };
    let way = well(&quarters(&low), &band, rules);
    assert_eq!(tune_of(&way, 0), []);
    let all: Vec<(u64, u8)> = (0..32).zip(low).filter(|n| n.1 > 0).collect();
    assert_eq!(tune_of(&way, 1), all);
    assert!(way.findings.iter().all(|f| f.kind != "tune_not_as_written"));
}

#[test]
fn who_has_another_line_takes_the_tune_where_only_they_can() {
    let deep = down(36);
    let band = band_of(&[("Flute", "flute", ""), ("Tuba", "tuba", "")]);
    let rules = TuneRules {
        as_written: bars(1..=4),
        ..TuneRules::default()
    };
    let way = well(&quarters(&deep), &band, rules);
    let all: Vec<(u64, u8)> = (0..16).zip(deep).filter(|n| n.1 > 0).collect();
    let tuba = tune_of(&way, 1);
    assert!(all.iter().all(|n| tuba.contains(n)), "{tuba:?}");
}

#[test]
fn what_nobody_can_play_as_written_is_told_with_the_nearest_parts() {
    let low = down(24);
    let band = band_of(&[("Flute", "flute", ""), ("Clarinet", "clarinet_bb", "")]);
    let rules = TuneRules {
        as_written: bars(1..=8),
        may_change: bars(1..=8),
        ..TuneRules::default()
    };
    let way = well(&quarters(&low), &band, rules);
    let found: Vec<_> = way
        .findings
        .iter()
        .filter(|f| f.kind == "tune_not_as_written")
        .collect();
    assert!(!found.is_empty());
    assert!(found.iter().all(|f| f.severity == Severity::Loss));
    assert!(found[0].message.starts_with("Bar"), "{}", found[0].message);
    let lowest = band.parts[1].limits.range.low.midi();
    let short = lowest - 47;
    let nearest = format!("Nearest: Clarinet ({short} semitones short), Flute (");
    assert!(
        found.iter().any(|f| f.remedy.starts_with(&nearest)),
        "{}",
        found[0].remedy
    );
    // It is not changed either.
    assert!(
        way.voiced
            .draft
            .melody_changes
            .iter()
            .all(|c| c.new.is_none())
    );
}

#[test]
fn a_solve_around_it_never_changes_what_stays_as_written() {
    let band = band_of(&[
        ("Flute", "flute", ""),
        ("Trombone", "trombone", ""),
        ("Tuba", "tuba", ""),
    ]);
    let rules = TuneRules {
        as_written: bars(3..=4),
        may_change: bars(1..=8),
        ..TuneRules::default()
    };
    let mut file = quarters(&down(12));
    let first = well(&file, &band, rules.clone());
    file.lanes
        .push(Lane::new("Flute bars 5-6", vec![tone(4 * 1920, 79, 960)]));
    let song = file.song();
    let again = go(&song, &band, None, rules);
    assert_eq!(faults_of(&again, &song, &band, None), Vec::<String>::new());
    let in_bars = |way: &WholeWay| -> BTreeSet<(u64, u8)> {
        let all = (0..3).flat_map(|i| tune_of(way, i));
        all.filter(|n| (8..16).contains(&n.0)).collect()
    };
    assert_eq!(in_bars(&first), in_bars(&again));
}

/// One carrier whose range ends under the tune's top.
fn narrow() -> Band {
    band_of(&[
        ("Alto Sax", "sax_alto", "lowest = \"G4\", highest = \"B5\""),
        ("Tuba", "tuba", ""),
    ])
}

#[test]
fn a_note_is_changed_only_where_that_is_allowed_and_as_little_as_can_be() {
    // Sounding, the alto sax has B flat 3 to D5 (58 to 74): not the E, F, G and A above, and an octave
    // lower not the notes below B flat.
    let file = quarters(&[
        72, 74, 72, 74, 72, 70, 72, 0, 72, 74, 76, 74, 72, 69, 72, 0, 72, 74, 76, 74, 62, 60, 62,
        0, 72, 74, 72, 74, 72, 70, 72, 0,
    ]);
    let plain = well(&file, &narrow(), TuneRules::default());
    let lost = |way: &WholeWay| -> Vec<u64> {
        let changes = way.voiced.draft.melody_changes.iter();
        changes
            .filter(|c| c.new.is_none())
            .map(|c| c.onset.0 / 480)
            .collect()
    };
    assert!(
        lost(&plain).contains(&10) && lost(&plain).contains(&18),
        "{:?}",
        lost(&plain)
    );
    let rules = TuneRules {
        may_change: bars(3..=4),
        ..TuneRules::default()
    };
    let way = well(&file, &narrow(), rules.clone());
    let changes = &way.voiced.draft.melody_changes;
    let changed: Vec<_> = changes.iter().filter(|c| c.new.is_some()).collect();
    assert_eq!(changed.len(), 1, "{changes:?}");
    let one = changed[0];
    assert_eq!((one.onset, one.sketch.midi()), (Tick(10 * 480), 76));
    assert!(
        one.new.unwrap().midi() <= 74 && one.new.unwrap().midi() >= 72,
        "{one:?}"
    );
    assert!(one.reason.contains("Alto Sax"), "{}", one.reason);
    assert!(lost(&way).contains(&18), "bar 5 may not be changed");
    assert!(
        way.findings
            .iter()
            .any(|f| f.kind == "melody_changed" && f.remedy.contains("3:3"))
    );
    // Given back, it is lost as before.
    let rules = TuneRules {
        restored: [one.onset].into(),
        ..rules
    };
    let back = well(&file, &narrow(), rules);
    assert!(lost(&back).contains(&10));
    assert!(
        back.voiced
            .draft
            .melody_changes
            .iter()
            .all(|c| c.new.is_none())
    );
}

#[test]
fn a_place_that_means_no_note_is_told() {
    let song = quarters(&SONG).song();
    let place = |bar, beat| bandwright::music::BarBeat {
        bar: BarNumber(bar),
        beat,
    };
    let given = Given {
        restore: vec![place(1, 2.0), place(2, 4.0)],
        ..Given::default()
    };
    let way = whole_way(&song, &narrow(), &given, &mut |_| {});
    assert_eq!(way.tune.restored, [Tick(480)].into());
    let told: Vec<_> = way
        .warnings
        .iter()
        .filter(|w| w.text.contains("no note of the tune"))
        .collect();
    assert_eq!(told.len(), 1);
    assert!(told[0].text.contains("bar 2, beat 4"), "{}", told[0].text);
}

#[test]
fn another_part_takes_a_whole_breath_rather_than_a_note_of_it() {
    // The oboe lacks one note in the middle of the second breath; the flute has all.
    let mut tune = SONG;
    tune[10] = 91;
    let band = band_of(&[
        ("Oboe", "oboe", "highest = \"D6\", lowest = \"C5\""),
        ("Flute", "flute", ""),
        ("Tuba", "tuba", ""),
    ]);
    let way = well(&quarters(&tune), &band, TuneRules::default());
    let flute: BTreeSet<u64> = tune_of(&way, 0).iter().map(|n| n.0).collect();
    assert!((8..15).all(|i| flute.contains(&i)), "{flute:?}");
}

#[test]
fn inside_a_breath_hands_change_on_a_shared_note() {
    // One breath from A3 to B5: neither part has all of it in one octave.
    let tune = [
        57, 60, 64, 67, 69, 72, 76, 79, 81, 83, 81, 79, 76, 72, 69, 67,
    ];
    let band = band_of(&[
        ("Alto Sax", "sax_alto", "highest = \"E5\", lowest = \"D4\""),
        (
            "Clarinet",
            "clarinet_bb",
            "highest = \"D6\", lowest = \"F4\"",
        ),
    ]);
    let mut file = quarters(&tune);
    file.lanes.truncate(1);
    let way = well(&file, &band, TuneRules::default());
    let at = |part: usize| -> BTreeSet<u64> { tune_of(&way, part).iter().map(|n| n.0).collect() };
    let (sax, clarinet) = (at(0), at(1));
    assert_eq!(way.voiced.draft.melody_changes, []);
    assert!(
        sax.intersection(&clarinet).count() >= 1,
        "{sax:?} {clarinet:?}"
    );
}

#[test]
fn a_line_leads_into_a_lock_in_its_octave() {
    let band = band_of(&[("Flute", "flute", ""), ("Tuba", "tuba", "")]);
    let mut file = quarters(&SONG);
    // The flute is fixed an octave higher in the second half of the first breath.
    let own: Vec<Tone> = (4..7)
        .map(|i| tone(i * 480, SONG[i as usize] + 12, 480))
        .collect();
    file.lanes.push(Lane::new("Flute bars 2-2", own));
    let way = well(&file, &band, TuneRules::default());
    let tune = tune_of(&way, 0);
    for i in 0..4 {
        assert!(tune.contains(&(i, SONG[i as usize] + 12)), "{tune:?}");
    }
}

#[test]
fn a_chord_that_is_fixed_is_no_tune() {
    let band = band_of(&[
        ("Trumpet", "trumpet", ""),
        ("Flute", "flute", ""),
        ("Tuba", "tuba", ""),
    ]);
    let mut file = quarters(&SONG);
    let own: Vec<Tone> = (0..8).map(|i| tone(i * 240, 72, 240)).collect();
    file.lanes.push(Lane::new("Trumpet", own));
    let way = well(&file, &band, TuneRules::default());
    let locked: Vec<&DraftNote> = way.voiced.draft.lines[0]
        .notes
        .iter()
        .filter(|n| n.locked)
        .collect();
    assert!(locked.iter().all(|n| n.role == Role::Harmony));
}

#[test]
fn locked_tune_of_a_part_that_is_never_alone_is_told_whole() {
    let band = band_of(&[
        ("Trumpet 1", "trumpet", "exposed = \"never\""),
        ("Sousaphone", "sousaphone", ""),
    ]);
    let song = bandwright::cli::files::demo_song().unwrap();
    let way = go(&song, &band, None, TuneRules::default());
    assert_eq!(faults_of(&way, &song, &band, None), Vec::<String>::new());
    // Bars 41 and 43 hit the tune's tone while it is held: that is no tune.
    let locked = way.voiced.draft.lines[0].notes.iter().filter(|n| n.locked);
    assert!(locked.clone().count() > 10);
    assert!(locked.into_iter().all(|n| n.role == Role::Harmony));
    // A tune that is locked and nobody else has is told note by note.
    let mut file = quarters(&SONG);
    let own: Vec<Tone> = (8..15)
        .map(|i| tone(i * 480, SONG[i as usize], 480))
        .collect();
    file.lanes.push(Lane::new("Trumpet 1", own));
    let alone = band_of(&[("Trumpet 1", "trumpet", "exposed = \"never\"")]);
    let way = well(&file, &alone, TuneRules::default());
    let told = way
        .findings
        .iter()
        .filter(|f| f.kind == "heard_alone" && f.message.contains("tune"));
    assert_eq!(told.count(), 7);
}

/// A band of the first few parts, so that there is something that nobody can play.
fn first_parts(band: &Band, count: usize) -> Band {
    let mut few = band.clone();
    few.parts.truncate(count);
    few
}

/// Rules for bars of a small sketch.
fn rules() -> impl Strategy<Value = TuneRules> {
    let some = || proptest::collection::btree_set(1..12_u32, 0..8);
    (some(), some()).prop_map(|(as_written, may_change)| TuneRules {
        as_written: bars(as_written),
        may_change: bars(may_change),
        ..TuneRules::default()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_rule_of_the_tune_holds(
        band in band(),
        said in said(),
        (remarks, count) in (any::<bool>(), 1..9_usize),
        sketch in sketch(),
        own in locks(),
        given in locks(),
        rules in rules(),
        back in any::<prop::sample::Index>(),
    ) {
        let band = if remarks { with_remarks(&band, &said) } else { band };
        let band = first_parts(&band, count);
        let mut sketch = sketch;
        let given = File { lanes: lanes(&given, &band, &sketch), ..sketch.clone() };
        let own = lanes(&own, &band, &sketch);
        sketch.lanes.extend(own);
        let (song, given) = (sketch.song(), given.song());
        let way = go(&song, &band, Some(&given), rules.clone());
        prop_assert_eq!(faults_of(&way, &song, &band, Some(&given)), Vec::<String>::new());
        let all = &way.voiced.draft.melody_changes;
        let changed: Vec<Tick> = all.iter().filter(|c| c.new.is_some()).map(|c| c.onset).collect();
        if changed.is_empty() {
            return Ok(());
        }
        // One given back is not changed again, and all else holds.
        let back = *back.get(&changed);
        let rules = TuneRules { restored: [back].into(), ..rules };
        let way = go(&song, &band, Some(&given), rules);
        prop_assert_eq!(faults_of(&way, &song, &band, Some(&given)), Vec::<String>::new());
        let again = way.voiced.draft.melody_changes.iter();
        prop_assert!(again.filter(|c| c.onset == back).all(|c| c.new.is_none()));
    }

    #[test]
    fn a_draft_with_rules_given_again_is_kept(band in band(), sketch in sketch(), rules in rules()) {
        let song = sketch.song();
        let way = go(&song, &band, None, rules);
        prop_assert_eq!(moved_by_relocking(&way, &song, &band), Vec::<String>::new());
    }
}

/// The random rules are no idle ones: drafts made without them break as-written often, and with them
/// notes are changed often.
#[test]
fn random_rules_would_be_broken() {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let cases = (band(), sketch(), rules());
    let (mut broken, mut changed) = (0, 0);
    for _ in 0..120 {
        let (band, sketch, rules) = cases.new_tree(&mut runner).unwrap().current();
        let song = sketch.song();
        let mut plain = go(&song, &band, None, TuneRules::default());
        plain.tune = rules.clone();
        let found = faults_of(&plain, &song, &band, None);
        let word = |f: &String| f.contains("as written");
        broken += usize::from(found.iter().any(word));
        let way = go(&song, &first_parts(&band, 1), None, rules);
        let changes = &way.voiced.draft.melody_changes;
        changed += usize::from(changes.iter().any(|c| c.new.is_some()));
    }
    assert!(
        broken >= 10 && changed >= 5,
        "of 120: {broken} broken, {changed} changed"
    );
}
