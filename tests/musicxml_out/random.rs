//! Random drafts: all that is in one is in the file, to the tick.

use super::read_back::{Heard, read_back};
use super::{Score, band_of};
use crate::midi_file::{File, Lane, Tone};
use bandwright::band::PartId;
use bandwright::export::{musicxml_bytes, mxl_bytes, part_musicxml_bytes, single_parts};
use bandwright::music::{BarNumber, Sounding, Tick, Ticks};
use bandwright::review::breath::Place;
use bandwright::review::{Breath, BreathKind};
use bandwright::score::{BarSet, Draft, DraftNote, Lock, Locks, MelodyChange, PartLine, Role};
use proptest::prelude::*;
use std::collections::BTreeMap;

const INSTRUMENTS: [&str; 7] = [
    "piccolo",
    "clarinet_bb",
    "sax_tenor",
    "horn",
    "euphonium_tc",
    "marimba",
    "glockenspiel",
];

/// Voices of a stave at the most.
const VOICES: usize = 4;

/// Onset, length, pitch, velocity.
type Raw = (u64, u64, u8, u8);

/// Notes of a line so that no pitch is struck while it sounds, nor within a quarter after it but at once: on the grid
/// that they are written on they would lie over one another, and ties of one pitch could not be told apart. No more sound at
/// once than a stave has voices: what is too much joins a chord, whatever its length.
fn line(raw: &[Raw], part: usize, quarter: u64) -> PartLine {
    let mut raw = raw.to_vec();
    raw.sort_unstable();
    let mut until: BTreeMap<u8, u64> = BTreeMap::new();
    raw.retain(|(onset, length, pitch, _)| {
        let near = |end: &u64| end == onset || end + quarter <= *onset;
        let sounding = until.values().filter(|end| **end + quarter > *onset);
        let free = until.get(pitch).is_none_or(near) && sounding.count() < VOICES;
        if free {
            until.insert(*pitch, onset + length);
        }
        free
    });
    let note = |(onset, length, pitch, velocity): &Raw| DraftNote {
        onset: Tick(*onset),
        pitch: Sounding::new(*pitch).unwrap(),
        duration: Ticks(*length),
        velocity: *velocity,
        role: Role::Harmony,
        locked: false,
    };
    let mut notes: Vec<DraftNote> = raw.iter().map(note).collect();
    notes.sort_by_key(|n| (n.onset, n.pitch));
    PartLine {
        part: PartId(part),
        notes,
    }
}

fn raw(quarter: u64) -> impl Strategy<Value = Vec<Raw>> {
    // Half of the notes lie on 16ths and triplets, half anywhere.
    let (sixteenth, third) = ((quarter / 4).max(1), (quarter / 3).max(1));
    let on_grid = (0_u64..60, 1_u64..24, prop::bool::ANY).prop_map(move |(at, long, triplets)| {
        let unit = if triplets { third } else { sixteenth };
        (at * unit, long * unit)
    });
    let anywhere = (0..16 * quarter, 1..6 * quarter);
    let time = prop_oneof![on_grid, anywhere];
    let one = (time, 48_u8..100, 1_u8..=127).prop_map(|((at, long), p, v)| (at, long, p, v));
    prop::collection::vec(one, 0..24)
}

/// Letters of many scripts, signs of XML, and what it forbids.
fn name() -> impl Strategy<Value = String> {
    prop_oneof![
        "[A-Za-z<>&'\"\\]\\[!-]{1,12}",
        "\\PC{1,8}",
        Just("a\u{0}b\u{1f}c\u{fffe}".to_owned()),
        Just("R&B <1> ]]> \u{1f3ba}".to_owned()),
    ]
}

/// Meters as they are, or each from a bar line on.
fn placed(meters: Vec<(u32, u8, u8)>, quarter: u32, whole: bool) -> Vec<(u32, u8, u8)> {
    if !whole {
        return meters;
    }
    let (mut at, mut bar) = (0, 4 * quarter);
    let place = |(many, top, power): (u32, u8, u8)| {
        at += bar * (many % 4);
        let power = power % 3;
        bar = (u32::from(top) * 4 * quarter) >> power;
        (at, top, power)
    };
    meters.into_iter().map(place).collect()
}

fn file(quarter: u16, whole: bool) -> impl Strategy<Value = File> {
    let ticks = u32::from(quarter);
    let meter = (0..12 * ticks, 1_u8..=12, 0_u8..=5);
    let tempo = (0..12 * ticks, 1_u32..16_000_000);
    let key = (0..12 * ticks, -7_i8..=7, prop::bool::ANY);
    let tone = (0..14 * ticks, 1..4 * ticks, 30_u8..96, 1_u8..=127);
    let tones = move || prop::collection::vec(tone.clone(), 1..20);
    (
        prop::collection::vec(meter, 0..4),
        prop::collection::vec(tempo, 0..4),
        prop::collection::vec(key, 0..4),
        prop::collection::vec((0..12 * ticks, name()), 0..4),
        tones(),
        tones(),
    )
        .prop_map(move |(meters, tempos, keys, markers, piano, drums)| {
            let tones = |tones: Vec<(u32, u32, u8, u8)>| {
                let tone = |(onset, length, pitch, velocity)| Tone {
                    onset,
                    pitch,
                    length,
                    velocity,
                };
                tones.into_iter().map(tone).collect()
            };
            File {
                quarter,
                meters: placed(meters, ticks, whole),
                tempos,
                keys,
                markers,
                lanes: vec![
                    Lane::new("Piano", tones(piano)),
                    Lane {
                        channel: 9,
                        ..Lane::new("Kit", tones(drums))
                    },
                ],
            }
        })
}

prop_compose! {
    fn score_of(whole: bool)(quarter in prop_oneof![Just(480_u16), Just(24), Just(1), Just(192), Just(1001), 2_u16..2000])(
        file in file(quarter, whole),
        lines in prop::collection::vec(raw(quarter.into()), INSTRUMENTS.len()),
        names in prop::collection::vec(name(), INSTRUMENTS.len()),
        title in name(),
        breaths in prop::collection::vec((0..INSTRUMENTS.len(), 0_u64..9000, 0_u8..3), 0..6),
        locked in prop::collection::btree_set(1_u32..9, 0..4),
        changed in prop::collection::vec((0_usize..40, name()), 0..3),
    ) -> Score {
        let song = file.song();
        let mut band = band_of(&INSTRUMENTS);
        for (part, name) in band.parts.iter_mut().zip(names) {
            part.name = name;
        }
        let lines: Vec<PartLine> = (0..).zip(&lines).map(|(part, raw)| line(raw, part, song.quarter.get().into())).collect();
        let changes = changed.into_iter().filter_map(|(at, reason)| {
            let note = lines[0].notes.get(at)?;
            Some(MelodyChange {
                onset: note.onset,
                sketch: note.pitch,
                new: Some(note.pitch),
                parts: vec![(PartId(0), note.pitch)],
                reason,
            })
        });
        let draft = Draft { melody_changes: changes.collect(), lines: lines.clone() };
        let mut score = Score::of(song, band, draft);
        score.title = title;
        score.locks = Locks(vec![Lock {
            part: PartId(1),
            bars: BarSet(locked.into_iter().map(BarNumber).collect()),
            notes: Vec::new(),
        }]);
        score.breaths = breaths.into_iter().map(|(part, at, kind)| Breath {
            part: PartId(part),
            at: Tick(at),
            kind: match kind {
                0 => BreathKind::Between(Place::Phrase),
                1 => BreathKind::Inside,
                _ => BreathKind::Staggered(1, 2),
            },
        }).collect();
        score
    }
}

fn score() -> impl Strategy<Value = Score> {
    score_of(false)
}

/// Scores whose meters change at bar lines alone.
pub fn in_whole_bars() -> impl Strategy<Value = Score> {
    score_of(true)
}

/// A text without what XML 1.0 forbids.
fn allowed(text: &str) -> String {
    let forbidden = |c: char| {
        (c < ' ' && !matches!(c, '\t' | '\n' | '\r')) || matches!(c, '\u{fffe}' | '\u{ffff}')
    };
    text.chars().filter(|c| !forbidden(*c)).collect()
}

fn heard(line: &PartLine) -> Vec<Heard> {
    let note = |n: &DraftNote| Heard {
        onset: n.onset.0 as i64,
        duration: n.duration.0 as i64,
        pitch: n.pitch.midi().into(),
        velocity: n.velocity.into(),
    };
    let mut notes: Vec<Heard> = line.notes.iter().map(note).collect();
    notes.sort();
    notes
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    #[test]
    fn every_note_is_in_the_file_at_its_time_and_measures_are_as_long_as_they_are(score in score()) {
        let input = score.input();
        let bytes = musicxml_bytes(&input).unwrap();
        prop_assert_eq!(&bytes, &musicxml_bytes(&input).unwrap());
        let parts = read_back(&bytes, score.song.quarter.get());
        // Woodwinds, sketch, brass, percussion, drums of the sketch.
        let order = [Some(0), Some(1), Some(2), None, Some(3), Some(4), Some(6), Some(5)];
        prop_assert_eq!(parts.len(), order.len() + 1);
        let by_order = order.iter().zip(&parts).filter_map(|(id, part)| Some(((*id)?, part)));
        for (id, part) in by_order {
            let id = score.band.parts.iter().position(|p| p.instrument.id == INSTRUMENTS[id]).unwrap();
            prop_assert_eq!(&part.notes, &heard(&score.draft.lines[id]));
            prop_assert_eq!(&part.name, &allowed(&score.band.parts[id].name));
        }
        let sketch = &parts[3];
        prop_assert_eq!(sketch.notes.len(), score.reading.notes.len());
        let drums = &parts[order.len()];
        prop_assert_eq!(&drums.name, "Kit");
        prop_assert_eq!(drums.notes.len(), score.song.tracks.iter().flat_map(|t| &t.notes).filter(|n| n.is_percussion()).count());
        for part in &parts {
            let starts = (1..).take(part.measures.len());
            let wanted: Vec<i64> = starts.map(|n| score.song.meters.bar_start(BarNumber(n)).0 as i64).collect();
            prop_assert_eq!(&part.measures, &wanted);
        }
        let text = String::from_utf8(bytes).unwrap();
        let tree = roxmltree::Document::parse(&text).unwrap();
        let title = tree.descendants().find(|n| n.has_tag_name("work-title"));
        let wanted = allowed(&score.title);
        prop_assert_eq!(title.and_then(|t| t.text()).unwrap_or_default(), wanted);
        for change in &score.draft.melody_changes {
            let reason = allowed(&change.reason);
            let mut notes = tree.descendants().filter(|n| n.has_tag_name("footnote"));
            prop_assert!(notes.any(|n| n.text().unwrap_or_default() == reason));
        }
    }

    #[test]
    fn tempos_and_markers_stand_over_the_topmost_part(score in score()) {
        let parts = read_back(&musicxml_bytes(&score.input()).unwrap(), score.song.quarter.get());
        let end = *parts[0].measures.last().unwrap();
        let given = score.song.tempo.given();
        prop_assert_eq!(parts[0].tempos.len(), given.len());
        for ((at, told), change) in parts[0].tempos.iter().zip(given) {
            prop_assert_eq!(*at, (change.at.0 as i64).min(end));
            let micros = 60e6 / told;
            prop_assert!((micros - f64::from(change.micros_per_quarter)).abs() < 0.5);
        }
        for marker in &score.song.markers {
            let text = allowed(marker.text.trim());
            let at = (marker.at.0 as i64).min(end);
            prop_assert!(text.is_empty() || parts[0].words.contains(&(at, text)));
        }
        prop_assert!(parts[1..].iter().all(|p| p.tempos.is_empty()));
        let meters: Vec<_> = parts[0].meters.iter().map(|m| (m.1, m.2)).collect();
        let wanted = score.song.meters.changes().iter().filter(|c| (c.at.0 as i64) < end);
        let mut wanted: Vec<_> = wanted.map(|c| (i64::from(c.meter.numerator()), i64::from(c.meter.denominator()))).collect();
        wanted.dedup();
        prop_assert_eq!(meters, wanted);
    }

    #[test]
    fn a_part_by_itself_has_the_same_notes(score in score()) {
        let single = single_parts(&score.input()).unwrap();
        prop_assert_eq!(single.len(), INSTRUMENTS.len());
        for part in single {
            let alone = read_back(&part.musicxml, score.song.quarter.get());
            prop_assert_eq!(alone.len(), 1);
            prop_assert_eq!(&alone[0].notes, &heard(&score.draft.lines[part.part.0]));
            prop_assert_eq!(&part.musicxml, &part_musicxml_bytes(&score.input(), part.part).unwrap());
        }
    }

    #[test]
    fn remarks_are_left_out_where_that_is_wished(score in score()) {
        let plain = bandwright::export::ScoreInput { plain: true, ..score.input() };
        let text = String::from_utf8(musicxml_bytes(&plain).unwrap()).unwrap();
        for element in ["<footnote", "<level", "<bracket"] {
            prop_assert!(!text.contains(element), "{}", element);
        }
        let quarter = score.song.quarter.get();
        let with = read_back(&musicxml_bytes(&score.input()).unwrap(), quarter);
        let without = read_back(text.as_bytes(), quarter);
        for (a, b) in with.iter().zip(&without) {
            prop_assert_eq!(&a.notes, &b.notes);
        }
    }
}

#[test]
fn an_archive_is_the_same_twice_and_holds_the_score() {
    use std::io::{Cursor, Read as _};
    let score = Score::of(
        File::plain(Vec::new()).song(),
        band_of(&["flute"]),
        Draft::default(),
    );
    let text = musicxml_bytes(&score.input()).unwrap();
    let bytes = mxl_bytes(&text).unwrap();
    assert_eq!(bytes, mxl_bytes(&text).unwrap());
    // The media type can be told from the first bytes: a local header of 30 bytes, the name, the type, uncompressed.
    assert_eq!(&bytes[30..38], b"mimetype");
    assert!(bytes[38..].starts_with(b"application/vnd.recordare.musicxml"));
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut read = |name: &str| {
        let mut text = String::new();
        archive
            .by_name(name)
            .unwrap()
            .read_to_string(&mut text)
            .unwrap();
        text
    };
    let container = read("META-INF/container.xml");
    let tree = roxmltree::Document::parse(&container).unwrap();
    let root = tree
        .descendants()
        .find(|n| n.has_tag_name("rootfile"))
        .unwrap();
    let name = root.attribute("full-path").unwrap().to_owned();
    assert_eq!(read(&name).as_bytes(), text);
}
