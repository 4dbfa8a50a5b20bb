//! The demo sketch: built from its readable text, and held to what it promises.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "the helpers of tests may panic like the tests themselves"
)]

use midly::num::{u4, u7, u15, u24, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind,
};
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

/// One note of the text, in ticks.
#[derive(Clone, Debug)]
struct Sung {
    bar: u32,
    start: u32,
    end: u32,
    pitch: u8,
    velocity: u8,
}

/// One track of the text.
#[derive(Default, Debug)]
struct Lane {
    name: String,
    channel: u8,
    program: u8,
    notes: Vec<Sung>,
    /// Ticks at which the pedal is lifted, and whether it is pressed again at once.
    pedal: Vec<(u32, bool)>,
    /// Every written bar of every voice, with its length in ticks.
    lengths: Vec<(String, u32, u32)>,
}

/// The whole text.
#[derive(Default, Debug)]
struct Piece {
    title: String,
    quarter: u32,
    bars: u32,
    meter: (u8, u8),
    tempos: Vec<(u32, f64)>,
    keys: Vec<(u32, i8, bool)>,
    markers: Vec<(u32, String)>,
    lanes: Vec<Lane>,
}

impl Piece {
    fn bar_ticks(&self) -> u32 {
        self.quarter * 4 * u32::from(self.meter.0) / u32::from(self.meter.1)
    }

    fn bar_start(&self, bar: u32) -> u32 {
        assert!(
            (1..=self.bars).contains(&bar),
            "bar {bar} is not in the piece"
        );
        (bar - 1) * self.bar_ticks()
    }

    fn end(&self) -> u32 {
        self.bars * self.bar_ticks()
    }

    fn sketch(&self) -> impl Iterator<Item = &Lane> {
        self.lanes.iter().filter(|l| l.name.starts_with("Piano"))
    }

    fn own(&self) -> impl Iterator<Item = &Lane> {
        self.lanes.iter().filter(|l| !l.name.starts_with("Piano"))
    }

    /// The pitch classes of the sketch's written notes at a tick.
    fn sounding(&self, at: u32) -> BTreeSet<u8> {
        self.sketch()
            .flat_map(|l| &l.notes)
            .filter(|n| n.start <= at && at < n.end)
            .map(|n| n.pitch % 12)
            .collect()
    }
}

fn pitch(text: &str) -> u8 {
    let split = text
        .find(|c: char| c.is_ascii_digit())
        .unwrap_or_else(|| panic!("pitch {text}"));
    let (letter, octave) = text.split_at(split);
    let step = match &letter[..1] {
        "c" => 0,
        "d" => 2,
        "e" => 4,
        "f" => 5,
        "g" => 7,
        "a" => 9,
        "b" => 11,
        _ => panic!("pitch {text}"),
    };
    let bend = match &letter[1..] {
        "" => 0,
        "b" => -1,
        "#" => 1,
        _ => panic!("pitch {text}"),
    };
    let octave: i32 = octave.parse().unwrap();
    u8::try_from(step + bend + 12 * (octave + 1)).unwrap()
}

fn ticks(text: &str, quarter: u32) -> u32 {
    let exact = |top: u32, bottom: u32| {
        assert_eq!(top % bottom, 0, "length {text} does not fit the ticks");
        top / bottom
    };
    if let Some((top, bottom)) = text.split_once('/') {
        exact(
            top.parse::<u32>().unwrap() * quarter,
            bottom.parse().unwrap(),
        )
    } else if let Some((whole, part)) = text.split_once('.') {
        let scale = 10_u32.pow(u32::try_from(part.len()).unwrap());
        let value = whole.parse::<u32>().unwrap() * scale + part.parse::<u32>().unwrap();
        exact(value * quarter, scale)
    } else {
        text.parse::<u32>().unwrap() * quarter
    }
}

/// Sharps of a key, flats below zero.
fn sharps(name: &str, minor: bool) -> i8 {
    const MAJOR: [&str; 15] = [
        "Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#",
    ];
    let at = MAJOR.iter().position(|k| *k == name).unwrap();
    i8::try_from(at).unwrap() - 7 - if minor { 3 } else { 0 }
}

/// Words of a bar: a chord in brackets is one word.
fn words(text: &str) -> Vec<String> {
    let mut out = vec![String::new()];
    let mut inside = false;
    for c in text.chars() {
        match c {
            '[' => inside = true,
            ']' => inside = false,
            _ => {}
        }
        if c == ' ' && !inside {
            out.push(String::new());
        } else {
            out.last_mut().unwrap().push(c);
        }
    }
    out.retain(|w| !w.is_empty());
    out
}

fn read_bar(lane: &mut Lane, voice: &str, bar: u32, start: u32, quarter: u32, text: &str) {
    let mut now = start;
    let mut velocity = 64;
    for word in words(text) {
        if word == "ped" || word == "*" {
            lane.pedal.push((now, word == "ped"));
        } else if let Some(v) = word.strip_prefix('v') {
            velocity = v.parse().unwrap();
        } else {
            let (what, length) = word
                .split_once(':')
                .unwrap_or_else(|| panic!("bar {bar}: {word}"));
            let end = now + ticks(length, quarter);
            if what != "r" {
                for name in what.trim_matches(['[', ']']).split(' ') {
                    let pitch = pitch(name);
                    lane.notes.push(Sung {
                        bar,
                        start: now,
                        end,
                        pitch,
                        velocity,
                    });
                }
            }
            now = end;
        }
    }
    lane.lengths.push((voice.to_owned(), bar, now - start));
}

fn read(text: &str) -> Piece {
    let mut piece = Piece::default();
    let mut voice = String::new();
    for line in text.lines() {
        let line = line.trim();
        // A remark takes its whole line: `#` inside a line is a sharp.
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        if let Some((bar, rest)) = line.split_once('|') {
            let bar: u32 = bar.trim().parse().unwrap();
            let (start, quarter) = (piece.bar_start(bar), piece.quarter);
            let lane = piece.lanes.last_mut().expect("bars stand in a track");
            read_bar(lane, &voice, bar, start, quarter, rest);
            continue;
        }
        let (head, rest) = line
            .split_once(' ')
            .unwrap_or_else(|| panic!("line {line}"));
        let (first, after) = rest.split_once(' ').unwrap_or((rest, ""));
        match head {
            "title" => rest.clone_into(&mut piece.title),
            "quarter" => piece.quarter = rest.parse().unwrap(),
            "bars" => piece.bars = rest.parse().unwrap(),
            "tempo" => {
                let (bar, beat) = first.split_once('.').unwrap_or((first, "1"));
                let at = piece.bar_start(bar.parse().unwrap())
                    + (beat.parse::<u32>().unwrap() - 1) * piece.quarter;
                piece.tempos.push((at, after.parse().unwrap()));
            }
            "meter" => {
                assert_eq!(first, "1", "one meter for the whole piece");
                let (top, bottom) = after.split_once('/').unwrap();
                piece.meter = (top.parse().unwrap(), bottom.parse().unwrap());
            }
            "key" => {
                let (name, mode) = after.split_once(' ').unwrap();
                let minor = mode == "minor";
                let at = piece.bar_start(first.parse().unwrap());
                piece.keys.push((at, sharps(name, minor), minor));
            }
            "marker" => {
                let at = piece.bar_start(first.parse().unwrap());
                piece.markers.push((at, after.to_owned()));
            }
            "track" => {
                let (name, rest) = rest.split_once(" channel ").unwrap();
                let (channel, program) = rest.split_once(" program ").unwrap();
                piece.lanes.push(Lane {
                    name: name.to_owned(),
                    channel: channel.parse::<u8>().unwrap() - 1,
                    program: program.parse().unwrap(),
                    ..Lane::default()
                });
            }
            "voice" => rest.clone_into(&mut voice),
            _ => panic!("line {line}"),
        }
    }
    piece
}

/// Events by tick, then by rank, into a track that ends at `end`.
fn track<'a>(mut events: Vec<(u32, u8, TrackEventKind<'a>)>, end: u32) -> Track<'a> {
    events.sort_by_key(|(at, rank, _)| (*at, *rank));
    events.push((end, u8::MAX, TrackEventKind::Meta(MetaMessage::EndOfTrack)));
    let mut now = 0;
    events
        .into_iter()
        .map(|(at, _, kind)| {
            let delta = u28::new(at - now);
            now = at;
            TrackEvent { delta, kind }
        })
        .collect()
}

fn conductor(piece: &Piece) -> Track<'_> {
    let mut events = vec![
        (
            0,
            0,
            TrackEventKind::Meta(MetaMessage::TrackName(piece.title.as_bytes())),
        ),
        (
            0,
            1,
            TrackEventKind::Meta(MetaMessage::TimeSignature(
                piece.meter.0,
                u8::try_from(piece.meter.1.ilog2()).unwrap(),
                24,
                8,
            )),
        ),
    ];
    for (at, sharps, minor) in &piece.keys {
        events.push((
            *at,
            2,
            TrackEventKind::Meta(MetaMessage::KeySignature(*sharps, *minor)),
        ));
    }
    for (at, bpm) in &piece.tempos {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a small whole number"
        )]
        let micros = (60_000_000.0 / bpm).round() as u32;
        events.push((
            *at,
            3,
            TrackEventKind::Meta(MetaMessage::Tempo(u24::new(micros))),
        ));
    }
    for (at, text) in &piece.markers {
        events.push((
            *at,
            4,
            TrackEventKind::Meta(MetaMessage::Marker(text.as_bytes())),
        ));
    }
    track(events, piece.end())
}

fn lane<'a>(lane: &'a Lane, piece: &Piece) -> Track<'a> {
    let channel = u4::new(lane.channel);
    let midi = |message| TrackEventKind::Midi { channel, message };
    let pedal = |value| {
        midi(MidiMessage::Controller {
            controller: u7::new(64),
            value: u7::new(value),
        })
    };
    let program = MidiMessage::ProgramChange {
        program: u7::new(lane.program),
    };
    let mut events = vec![
        (
            0,
            0,
            TrackEventKind::Meta(MetaMessage::TrackName(lane.name.as_bytes())),
        ),
        (0, 1, midi(program)),
    ];
    for (at, again) in &lane.pedal {
        events.push((*at, 3, pedal(0)));
        if *again {
            events.push((*at + piece.quarter / 16, 3, pedal(127)));
        }
    }
    let mut notes = lane.notes.clone();
    notes.sort_by_key(|n| (n.start, n.pitch));
    for note in &notes {
        let (key, vel) = (u7::new(note.pitch), u7::new(note.velocity));
        events.push((note.start, 4, midi(MidiMessage::NoteOn { key, vel })));
        events.push((
            note.end,
            2,
            midi(MidiMessage::NoteOff {
                key,
                vel: u7::new(64),
            }),
        ));
    }
    track(events, piece.end())
}

fn build(piece: &Piece) -> Vec<u8> {
    let timing = Timing::Metrical(u15::new(u16::try_from(piece.quarter).unwrap()));
    let mut smf = Smf::new(Header::new(Format::Parallel, timing));
    smf.tracks.push(conductor(piece));
    smf.tracks
        .extend(piece.lanes.iter().map(|l| lane(l, piece)));
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).unwrap();
    bytes
}

fn folder() -> PathBuf {
    [env!("CARGO_MANIFEST_DIR"), "assets", "demo"]
        .iter()
        .collect()
}

fn piece() -> Piece {
    read(&std::fs::read_to_string(folder().join("harvest-lights.txt")).unwrap())
}

/// The committed file is what the text says; `RENEW_DEMO=1` writes it anew.
#[test]
fn the_file_is_built_from_the_text() {
    let bytes = build(&piece());
    let path = folder().join("harvest-lights.mid");
    if std::env::var_os("RENEW_DEMO").is_some() {
        std::fs::write(&path, &bytes).unwrap();
    }
    let committed = std::fs::read(&path).unwrap();
    assert!(
        committed == bytes,
        "the demo file is stale: run the tests with RENEW_DEMO=1"
    );
    Smf::parse(&committed).unwrap();
}

#[test]
fn sixty_four_bars_and_every_bar_full() {
    let piece = piece();
    assert_eq!(piece.bars, 64);
    for lane in &piece.lanes {
        let mut seen = BTreeSet::new();
        for (voice, bar, length) in &lane.lengths {
            assert_eq!(
                *length,
                piece.bar_ticks(),
                "{}, {voice}, bar {bar}",
                lane.name
            );
            assert!(
                seen.insert((voice, bar)),
                "{}, {voice}: bar {bar} twice",
                lane.name
            );
        }
    }
    for lane in piece.sketch() {
        let played: BTreeSet<u32> = lane.notes.iter().map(|n| n.bar).collect();
        assert_eq!(
            played,
            (1..=64).collect(),
            "{} plays in every bar",
            lane.name
        );
    }
}

#[test]
fn keys_sections_and_pedal() {
    let piece = piece();
    let first = piece.keys.first().unwrap();
    let last = piece.keys.last().unwrap();
    assert_eq!(*first, (0, -2, false));
    assert_eq!(*last, (piece.bar_start(41), -3, false));
    let letters: Vec<&str> = piece.markers.iter().map(|(_, m)| &m[..2]).collect();
    assert_eq!(letters, ["A ", "B ", "C ", "D ", "E ", "F "]);
    let last_pedal = piece.sketch().flat_map(|l| &l.pedal).max().unwrap();
    assert!(!last_pedal.1, "the pedal ends lifted");
}

/// Every pitch of a track ends before it is struck again, so no note-off ends a wrong note.
#[test]
fn no_pitch_is_struck_while_it_sounds() {
    for lane in &piece().lanes {
        let mut notes = lane.notes.clone();
        notes.sort_by_key(|n| (n.pitch, n.start));
        for pair in notes.windows(2) {
            assert!(
                pair[0].pitch != pair[1].pitch || pair[0].end <= pair[1].start,
                "{}: {:?}",
                lane.name,
                pair
            );
        }
    }
}

#[test]
fn own_passages_fit_their_parts_and_the_sketch() {
    let piece = piece();
    let ranges: BTreeMap<&str, (u8, u8, u32, u32)> = BTreeMap::from([
        ("Trumpet 1", (56, 77, 41, 44)),
        ("Trumpet 2", (56, 74, 41, 44)),
        ("Mellophone 1", (50, 70, 41, 44)),
        ("Clarinet 1", (52, 79, 25, 28)),
        ("Clarinet 2", (52, 74, 25, 28)),
        ("Clarinet 3", (53, 67, 25, 28)),
    ]);
    let names: BTreeSet<&str> = piece.own().map(|l| l.name.as_str()).collect();
    assert_eq!(names, ranges.keys().copied().collect());
    for lane in piece.own() {
        let (low, high, first, last) = ranges[lane.name.as_str()];
        let mut before = 0;
        for note in &lane.notes {
            let place = format!("{}, bar {}, {note:?}", lane.name, note.bar);
            assert!((low..=high).contains(&note.pitch), "out of range: {place}");
            assert!(
                (first..=last).contains(&note.bar),
                "out of the passage: {place}"
            );
            assert!(note.start >= before, "overlap: {place}");
            before = note.end;
            for at in note.start..note.end {
                let sounding = piece.sounding(at);
                assert!(
                    sounding.contains(&(note.pitch % 12)),
                    "foreign to the sketch {sounding:?} at {at}: {place}"
                );
            }
        }
        let bars: BTreeSet<u32> = lane.notes.iter().map(|n| n.bar).collect();
        assert_eq!(bars, (first..=last).collect(), "{}", lane.name);
    }
}

/// On every beat of the block-chord bars a chord sounds: three pitch classes, unless all rest.
#[test]
fn chords_are_full_from_letter_b_on() {
    let piece = piece();
    for bar in 17..=64 {
        for beat in 0..4 {
            let sounding = piece.sounding(piece.bar_start(bar) + beat * piece.quarter);
            assert!(
                sounding.len() >= 3 || beat == 3,
                "bar {bar}, beat {}: {sounding:?}",
                beat + 1
            );
        }
    }
}
