//! The arranger's locks as evidence: what locked parts are found to do, and how the plan follows.

use crate::estimates::{Sketch, any_role};
use crate::midi_file::{File, Lane, Tone, tone};
use crate::whole_way::{faults_of, go};
use bandwright::band::{Band, PartId, read_band};
use bandwright::plan::evidence::From;
use bandwright::plan::{Evidence, PartRole};
use bandwright::project::whole_way::WholeWay;
use bandwright::score::{Role, own_passages};
use bandwright::sketch::{ReadOptions, read_sketch_with};
use proptest::prelude::*;

const BAR: u32 = 1920;
const BEAT: u32 = 480;

/// Four chords of four bars twice over: tonic, subdominant, dominant, tonic.
const CHORDS: [[u8; 4]; 4] = [
    [48, 60, 64, 67],
    [41, 60, 65, 69],
    [43, 59, 62, 67],
    [48, 60, 64, 67],
];
/// The tune of the A sections, bar by bar, in quarters and halves.
const A: [[u8; 4]; 8] = [
    [72, 74, 76, 72],
    [77, 76, 74, 72],
    [74, 71, 74, 79],
    [76, 76, 72, 72],
    [76, 77, 79, 76],
    [81, 79, 77, 76],
    [79, 77, 74, 71],
    [72, 72, 72, 72],
];
/// The contrast: other chords, another tune, in another rhythm.
const B: [[u8; 2]; 8] = [
    [69, 72],
    [76, 74],
    [72, 69],
    [71, 68],
    [69, 76],
    [77, 74],
    [72, 71],
    [74, 67],
];
const B_CHORDS: [[u8; 4]; 4] = [
    [45, 57, 60, 64],
    [45, 57, 60, 64],
    [38, 57, 62, 65],
    [40, 56, 59, 64],
];

fn a(from: u32) -> Vec<Tone> {
    let mut notes = Vec::new();
    for (bar, tune) in (0..).zip(A) {
        let at = from + bar * BAR;
        for (beat, pitch) in (0..).zip(tune) {
            notes.push(tone(at + beat * BEAT, pitch, BEAT - 20));
        }
        for pitch in CHORDS[bar as usize % 4] {
            notes.push(tone(at, pitch, BAR - 20));
        }
    }
    notes
}

fn b(from: u32) -> Vec<Tone> {
    let mut notes = Vec::new();
    for (bar, tune) in (0..).zip(B) {
        let at = from + bar * BAR;
        for (half, pitch) in (0..).zip(tune) {
            notes.push(tone(at + half * 2 * BEAT, pitch, 2 * BEAT - 20));
        }
        for pitch in B_CHORDS[bar as usize % 4] {
            notes.push(tone(at, pitch, BAR - 20));
        }
    }
    notes
}

/// AABA, eight bars each, with marks.
fn aaba() -> File {
    let notes = [a(0), a(8 * BAR), b(16 * BAR), a(24 * BAR)].concat();
    let mut file = File::piano(notes);
    file.markers = [(0, "A"), (8, "A"), (16, "B"), (24, "A")]
        .map(|(bar, name)| (bar * BAR, name.to_owned()))
        .to_vec();
    file
}

/// A track of the arranger's own over eight bars.
fn own(part: &str, first: u32, notes: Vec<Tone>) -> Lane {
    Lane::new(&format!("{part} bars {}-{}", first + 1, first + 8), notes)
}

fn tune(first: u32, octave: i32) -> Vec<Tone> {
    let mut notes = Vec::new();
    for (bar, tune) in (first..).zip(A) {
        for (beat, pitch) in (0..).zip(tune) {
            let pitch = u8::try_from(i32::from(pitch) + 12 * octave).unwrap();
            notes.push(tone(bar * BAR + beat * BEAT, pitch, BEAT - 20));
        }
    }
    notes
}

/// One tone of each chord, moved by octaves.
fn chord_tone(first: u32, which: usize, octave: i32) -> Vec<Tone> {
    let bars = (first..first + 8).zip(0..);
    bars.map(|(bar, i): (u32, usize)| {
        let pitch = i32::from(CHORDS[i % 4][which]) + 12 * octave;
        tone(bar * BAR, u8::try_from(pitch).unwrap(), BAR - 20)
    })
    .collect()
}

/// The tune in the clarinets over trombones; trumpets and mellophones rest.
fn in_clarinets(first: u32) -> Vec<Lane> {
    vec![
        own("Clarinet 1", first, tune(first, 0)),
        own("Clarinet 2", first, tune(first, 0)),
        own("Trombone 1", first, chord_tone(first, 1, 0)),
        own("Trombone 2", first, chord_tone(first, 2, -1)),
        own("Tuba", first, chord_tone(first, 0, -1)),
        own("Trumpet 1", first, Vec::new()),
        own("Trumpet 2", first, Vec::new()),
        own("Mellophone", first, Vec::new()),
    ]
}

/// The tune in the trumpets over woodwinds; trombones rest.
fn in_trumpets(first: u32) -> Vec<Lane> {
    vec![
        own("Trumpet 1", first, tune(first, 0)),
        own("Trumpet 2", first, tune(first, -1)),
        own("Clarinet 1", first, chord_tone(first, 3, 0)),
        own("Clarinet 2", first, chord_tone(first, 2, 0)),
        own("Alto Sax", first, chord_tone(first, 1, 0)),
        own("Tuba", first, chord_tone(first, 0, -1)),
        own("Trombone 1", first, Vec::new()),
        own("Trombone 2", first, Vec::new()),
    ]
}

fn band() -> Band {
    let part = |name: &str, id: &str, n: u16| {
        format!(
            "[[part]]\nname = \"{name}\"\ninstrument = \"{id}\"\nplayers = {{ advanced = {n} }}\n"
        )
    };
    let text = [
        "name = \"Elm Hollow Marching Band\"\n".to_owned(),
        part("Flute", "flute", 3),
        part("Clarinet 1", "clarinet_bb", 3),
        part("Clarinet 2", "clarinet_bb", 3),
        part("Alto Sax", "sax_alto", 2),
        part("Tenor Sax", "sax_tenor", 2),
        part("Trumpet 1", "trumpet", 2),
        part("Trumpet 2", "trumpet", 3),
        part("Mellophone", "mellophone", 2),
        part("Trombone 1", "trombone", 2),
        part("Trombone 2", "trombone", 2),
        part("Euphonium", "euphonium_bc", 2),
        part("Tuba", "tuba", 2),
    ];
    read_band(&text.concat()).unwrap()
}

fn locked(lanes: Vec<Lane>) -> File {
    let mut file = aaba();
    file.lanes.extend(lanes);
    file
}

/// The evidence of a file as the plan has it.
fn evidence(file: &File, band: &Band) -> (Evidence, Sketch) {
    let song = file.song();
    let own = own_passages(&song, band, (&song.meters, song.quarter));
    let reading = read_sketch_with(
        &song,
        &ReadOptions {
            leave_out: &own.tracks,
            ..ReadOptions::default()
        },
    );
    let sketch = Sketch {
        locks: own.locks,
        ..Sketch::read(song, reading)
    };
    (Evidence::of(&sketch.setting(band)), sketch)
}

fn part(band: &Band, name: &str) -> PartId {
    band.ids().find(|(_, p)| p.name == name).unwrap().0
}

/// The roles of named parts in the passages that begin in a bar.
fn role(way: &WholeWay, band: &Band, name: &str, bar: u32) -> PartRole {
    let planned = way.plan.passages.iter();
    let planned = planned.rev().find(|p| p.passage.first_bar.0 <= bar);
    planned.unwrap().roles[part(band, name).0]
}

/// The test of the issue: one sketch, two locked passages, two plans.
#[test]
fn the_same_sketch_follows_two_different_locks_into_the_repeats() {
    let band = band();
    let mut plans = Vec::new();
    for (lanes, tune, chords, rests) in [
        (
            in_clarinets(0),
            ["Clarinet 1", "Clarinet 2"],
            ["Trombone 1", "Trombone 2"],
            ["Trumpet 1", "Trumpet 2"],
        ),
        (
            in_trumpets(0),
            ["Trumpet 1", "Trumpet 2"],
            ["Clarinet 1", "Clarinet 2"],
            ["Trombone 1", "Trombone 2"],
        ),
    ] {
        let file = locked(lanes);
        let song = file.song();
        let way = go(&song, &band, None);
        assert_eq!(faults_of(&way, &song, &band, None), Vec::<String>::new());
        for bar in [9, 13, 25, 29] {
            let wanted = [
                (tune, Role::Melody),
                (chords, Role::Harmony),
                (rests, Role::Rest),
            ];
            for (names, wanted) in wanted {
                for name in names {
                    assert_eq!(
                        role(&way, &band, name, bar).role,
                        wanted,
                        "{name} in bar {bar}"
                    );
                }
            }
        }
        // What is heard: the tune of the repeats is in the notes of those parts.
        for name in tune {
            let line = &way.voiced.draft.lines[part(&band, name).0];
            let free = line
                .notes
                .iter()
                .filter(|n| !n.locked && n.role == Role::Melody);
            assert!(free.count() >= 48, "{name}");
        }
        plans.push(way.plan);
    }
    let roles = |i: usize| -> Vec<Vec<PartRole>> {
        plans[i].passages.iter().map(|p| p.roles.clone()).collect()
    };
    assert_ne!(roles(0), roles(1));
}

#[test]
fn a_lock_in_the_last_section_reaches_the_first() {
    let band = band();
    let file = locked(in_trumpets(24));
    let song = file.song();
    let way = go(&song, &band, None);
    assert_eq!(faults_of(&way, &song, &band, None), Vec::<String>::new());
    for bar in [1, 5, 9, 13] {
        for name in ["Trumpet 1", "Trumpet 2"] {
            assert_eq!(
                role(&way, &band, name, bar).role,
                Role::Melody,
                "{name} in bar {bar}"
            );
        }
        for name in ["Trombone 1", "Trombone 2"] {
            assert_eq!(
                role(&way, &band, name, bar).role,
                Role::Rest,
                "{name} in bar {bar}"
            );
        }
    }
}

#[test]
fn what_locked_parts_do_is_found() {
    let band = band();
    let (evidence, sketch) = evidence(&locked(in_trumpets(0)), &band);
    let found = |name: &str, passage: usize| {
        let all = evidence.found(passage).iter();
        all.copied().find(|f| f.part == part(&band, name))
    };
    for passage in [0, 1] {
        let does = |name: &str| found(name, passage).map(|f| (f.role, f.octave)).unwrap();
        assert_eq!(does("Trumpet 1"), (Role::Melody, 0));
        assert_eq!(does("Trumpet 2"), (Role::Melody, -1));
        assert_eq!(does("Clarinet 1"), (Role::Harmony, 0));
        assert_eq!(does("Tuba"), (Role::Bass, -1));
        assert_eq!(does("Trombone 1"), (Role::Rest, 0));
        assert!(found("Flute", passage).is_none());
        let all = evidence.found(passage);
        assert!(
            all.iter().all(|f| f.agrees > 0.99 && f.share > 0.99),
            "{all:?}"
        );
        let pairs: Vec<_> = evidence.doublings(passage).collect();
        let trumpets = (part(&band, "Trumpet 1"), part(&band, "Trumpet 2"));
        assert_eq!(pairs, [(trumpets.0, trumpets.1, Role::Melody, 1)]);
        assert!(evidence.carried(passage, Role::Melody) > 0.99);
    }
    assert!(evidence.found(2).is_empty());
    let of = |passage: usize| {
        evidence
            .wishes(passage, part(&band, "Trumpet 2"))
            .first()
            .copied()
    };
    let (here, repeat, beside) = (of(0).unwrap(), of(2).unwrap(), of(4).unwrap());
    assert_eq!(
        (here.from, repeat.from, beside.from),
        (From::Here, From::Repeat, From::Neighbour)
    );
    assert!(here.strength > repeat.strength && repeat.strength > 3.0 * beside.strength);
    assert_eq!(repeat.why(), "as in your bars 1-4, the same music");
    assert_eq!(sketch.passages.len(), 7);
}

#[test]
fn of_two_locks_the_nearer_is_followed() {
    let band = band();
    let (evidence, sketch) = evidence(&locked([in_clarinets(0), in_trumpets(24)].concat()), &band);
    for (i, passage) in sketch.passages.iter().enumerate() {
        let tune = |name: &str| {
            let wish = evidence.wishes(i, part(&band, name)).first().unwrap();
            wish.role == Role::Melody
        };
        match passage.first_bar.0 {
            1..=16 => assert!(tune("Clarinet 1") && !tune("Trumpet 1")),
            25.. => assert!(tune("Trumpet 1") && !tune("Clarinet 1")),
            _ => {}
        }
        for id in band.ids().map(|(id, _)| id) {
            let wishes = evidence.wishes(i, id);
            assert!(wishes.iter().all(|w| w.role == wishes[0].role));
            assert!(wishes.is_sorted_by(|a, b| a.strength >= b.strength));
        }
    }
}

#[test]
fn some_bars_of_a_passage_count_by_their_share() {
    let band = band();
    let whole = own("Trumpet 1", 0, tune(0, 0));
    let mut half = whole.clone();
    half.name = "Trumpet 1 bars 1-2".to_owned();
    let strength = |lane: Lane, passage: usize| {
        let (evidence, _) = evidence(&locked(vec![lane]), &band);
        let wish = evidence
            .wishes(passage, part(&band, "Trumpet 1"))
            .first()
            .copied();
        wish.map_or(0.0, |w| w.strength)
    };
    for passage in [0, 2] {
        let ratio = strength(half.clone(), passage) / strength(whole.clone(), passage);
        assert!((ratio - 0.5).abs() < 0.05, "{ratio}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn without_locks_nothing_is_wished(roles in prop::collection::vec(any_role(), 12)) {
        let band = band();
        let (evidence, sketch) = evidence(&aaba(), &band);
        prop_assert!(evidence.is_empty());
        for passage in 0..sketch.passages.len() {
            for ((id, _), role) in band.ids().zip(&roles) {
                prop_assert_eq!(evidence.cost(passage, id, *role), 0.0);
            }
            prop_assert!(evidence.followed(passage, &roles, |_, _| true).is_none());
        }
    }

    #[test]
    fn a_kept_wish_costs_nothing_and_any_other_something(role in any_role(), trumpets in any::<bool>()) {
        let band = band();
        let lanes = if trumpets { in_trumpets(0) } else { in_clarinets(0) };
        let (evidence, sketch) = evidence(&locked(lanes), &band);
        for passage in 0..sketch.passages.len() {
            for (id, _) in band.ids() {
                let cost = evidence.cost(passage, id, role);
                let wish = evidence.wishes(passage, id).first();
                let kept = wish.is_none_or(|w| w.missed(role) == 0.0);
                prop_assert_eq!(cost == 0.0, kept);
                prop_assert!(cost >= 0.0);
            }
        }
        let roles = vec![role; 12];
        let followed = evidence.followed(2, &roles, |_, _| true).unwrap_or(roles);
        for (id, role) in band.ids().map(|(id, _)| id).zip(followed) {
            prop_assert_eq!(evidence.cost(2, id, role), 0.0);
        }
    }

    /// A few other notes do not hide what a part does.
    #[test]
    fn a_few_other_notes_change_nothing(wrong in prop::collection::btree_map(0_usize..32, 0_u8..12, 0..7), octave in -2_i32..=1) {
        let band = band();
        let mut notes = tune(0, octave);
        for (at, pitch) in wrong {
            notes[at].pitch = 60 + pitch;
        }
        let (evidence, _) = evidence(&locked(vec![own("Alto Sax", 0, notes)]), &band);
        let found = evidence.found(0).iter().chain(evidence.found(1));
        let found: Vec<_> = found.filter(|f| f.agrees > 0.62).collect();
        prop_assert!(!found.is_empty());
        for f in found {
            prop_assert_eq!((f.role, i32::from(f.octave)), (Role::Melody, octave));
        }
    }
}
