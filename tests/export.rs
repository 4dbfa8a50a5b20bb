//! What leaves, by the standards and by an outside reader.

use crate::midi_file::{File, Lane, tone};
use crate::whole_way::{go, sent_out};
use bandwright::band::{Band, preset, read_band};
use bandwright::cli::files::{DEMO_SKETCH, demo_song};
use bandwright::sketch::{Song, read_song};
use midly::{MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind};
use std::collections::{BTreeMap, BTreeSet};

fn exported(song: &Song, band: &Band) -> Vec<u8> {
    sent_out(&go(song, band, None), song, band)
}

fn demo(band: &str) -> (Band, Vec<u8>) {
    let band = preset(band).unwrap();
    let bytes = exported(&demo_song().unwrap(), &band);
    (band, bytes)
}

fn name<'a>(track: &[TrackEvent<'a>]) -> &'a str {
    let names = track.iter().find_map(|e| match e.kind {
        TrackEventKind::Meta(MetaMessage::TrackName(name)) => Some(name),
        _ => None,
    });
    std::str::from_utf8(names.unwrap()).unwrap()
}

/// The channel messages of a track with their channels.
fn messages(track: &[TrackEvent<'_>]) -> Vec<(u8, MidiMessage)> {
    let message = |e: &TrackEvent<'_>| match e.kind {
        TrackEventKind::Midi { channel, message } => Some((channel.as_int(), message)),
        _ => None,
    };
    track.iter().filter_map(message).collect()
}

fn channel_and_program(track: &[TrackEvent<'_>]) -> (u8, u8) {
    let all = messages(track);
    let (channel, first) = all[0];
    let MidiMessage::ProgramChange { program } = first else {
        panic!("a part begins with {first:?}");
    };
    assert!(all.iter().all(|m| m.0 == channel), "one channel for a part");
    (channel, program.as_int())
}

/// Tempos, meters, keys and markers with their ticks.
fn conducted(smf: &Smf<'_>) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for track in &smf.tracks {
        let mut now = 0;
        for event in track {
            now += event.delta.as_int();
            let TrackEventKind::Meta(meta) = event.kind else {
                continue;
            };
            match meta {
                MetaMessage::Tempo(micros) => found.insert(format!("{now} tempo {micros}")),
                MetaMessage::TimeSignature(top, power, _, _) => {
                    found.insert(format!("{now} meter {top} {power}"))
                }
                MetaMessage::KeySignature(sharps, minor) => {
                    found.insert(format!("{now} key {sharps} {minor}"))
                }
                MetaMessage::Marker(text) => found.insert(format!("{now} marker {text:?}")),
                _ => continue,
            };
        }
    }
    found
}

#[test]
fn the_bytes_begin_as_the_standard_says() {
    let (band, bytes) = demo("demo");
    // SMF 1.0: "MThd", length 6, format 1, tracks, division.
    assert_eq!(&bytes[..10], b"MThd\0\0\0\x06\0\x01");
    let tracks = u16::from_be_bytes([bytes[10], bytes[11]]);
    let song = demo_song().unwrap();
    assert_eq!(bytes[12..14], song.quarter.get().to_be_bytes());
    assert_eq!(bytes[12] & 0x80, 0, "metrical time");
    let (mut at, mut found) = (14, 0);
    while at < bytes.len() {
        assert_eq!(&bytes[at..at + 4], b"MTrk");
        let length: [u8; 4] = bytes[at + 4..at + 8].try_into().unwrap();
        at += 8 + u32::from_be_bytes(length) as usize;
        assert_eq!(bytes[at - 4..at], [0, 0xFF, 0x2F, 0], "end of track");
        found += 1;
    }
    assert_eq!((at, found), (bytes.len(), tracks));
    assert!(usize::from(tracks) > band.parts.len());
}

#[test]
fn the_conductor_is_the_sketchs() {
    let (_, bytes) = demo("demo");
    let (sketch, draft) = (
        Smf::parse(DEMO_SKETCH).unwrap(),
        Smf::parse(&bytes).unwrap(),
    );
    let wanted = conducted(&sketch);
    assert!(wanted.len() > 8, "{wanted:?}");
    assert_eq!(conducted(&draft), wanted);
    for track in &draft.tracks[1..] {
        let own = Smf {
            tracks: vec![track.clone()],
            ..draft.clone()
        };
        assert!(conducted(&own).is_empty(), "only the conductor conducts");
    }
}

#[test]
fn changes_of_tempo_meter_and_key_leave_as_they_came() {
    let file = File {
        meters: vec![(0, 4, 2), (1920, 7, 3), (1920 + 1680, 3, 2)],
        tempos: vec![(0, 500_000), (100, 400_001), (1921, 16_777_215)],
        keys: vec![(0, -7, true), (1920, 7, false)],
        markers: vec![(0, "Start".to_owned()), (1920, "B \u{e4}".to_owned())],
        ..File::piano(vec![tone(0, 60, 1920), tone(1920, 62, 3000)])
    };
    let (bytes, band) = (file.bytes(), preset("thin").unwrap());
    let draft = exported(&read_song(&bytes).unwrap(), &band);
    let wanted = conducted(&Smf::parse(&bytes).unwrap());
    assert_eq!(wanted.len(), 10);
    assert_eq!(conducted(&Smf::parse(&draft).unwrap()), wanted);
}

#[test]
fn tracks_stand_in_score_order_with_names_and_programs() {
    for preset in ["demo", "large-marching", "concert"] {
        let (band, bytes) = demo(preset);
        let smf = Smf::parse(&bytes).unwrap();
        assert!(matches!(smf.header.timing, Timing::Metrical(_)));
        let first = smf.tracks.len() - band.parts.len();
        let sketch: Vec<&str> = smf.tracks[1..first].iter().map(|t| name(t)).collect();
        assert!(
            sketch.iter().all(|n| n.starts_with("Piano")) || preset != "demo",
            "{sketch:?}"
        );
        let mut order = 0;
        for (part, track) in band.parts.iter().zip(&smf.tracks[first..]) {
            assert_eq!(name(track), part.name);
            let (channel, program) = channel_and_program(track);
            assert_eq!(program, part.instrument.program);
            assert_ne!(channel, 9, "{} is on the percussion channel", part.name);
            assert!(order <= part.instrument.score_order);
            order = part.instrument.score_order;
        }
    }
}

#[test]
fn nothing_hangs_or_overlaps() {
    for preset in ["demo", "thin"] {
        let (band, bytes) = demo(preset);
        let smf = Smf::parse(&bytes).unwrap();
        let first = smf.tracks.len() - band.parts.len();
        let mut notes = 0;
        for (part, track) in band.parts.iter().zip(&smf.tracks[first..]) {
            let mut held: BTreeMap<u8, u32> = BTreeMap::new();
            let mut now = 0;
            for event in track {
                now += event.delta.as_int();
                let TrackEventKind::Midi { message, .. } = event.kind else {
                    continue;
                };
                match message {
                    MidiMessage::NoteOn { key, vel } => {
                        assert!(vel > 0, "{} strikes silently at {now}", part.name);
                        let alone = held.is_empty() || part.instrument.chordal;
                        assert!(alone, "{} plays two notes at {now}", part.name);
                        assert_eq!(held.insert(key.as_int(), now), None);
                        notes += 1;
                    }
                    MidiMessage::NoteOff { key, .. } => {
                        let from = held.remove(&key.as_int()).unwrap();
                        assert!(from < now, "{} has no length at {now}", part.name);
                    }
                    _ => {}
                }
            }
            assert!(held.is_empty(), "{} hangs", part.name);
        }
        assert!(notes > 500, "{notes} notes");
    }
}

fn many(ids: &[&str], count: usize) -> Band {
    let part = |i: usize| {
        let id = ids[i % ids.len()];
        format!("[[part]]\nname = \"P {i}\"\ninstrument = \"{id}\"\nplayers = {{ advanced = 1 }}\n")
    };
    let parts: String = (0..count).map(part).collect();
    read_band(&format!("name = \"Many\"\n{parts}")).unwrap()
}

#[test]
fn parts_over_fifteen_share_channels_by_program() {
    let song = File::piano(vec![tone(0, 60, 480)]).song();
    let band = many(&["flute", "clarinet_bb", "trumpet", "trombone"], 40);
    let bytes = exported(&song, &band);
    let smf = Smf::parse(&bytes).unwrap();
    let first = smf.tracks.len() - band.parts.len();
    let mut of_program: BTreeMap<u8, BTreeSet<u8>> = BTreeMap::new();
    for track in &smf.tracks[first..] {
        let (channel, program) = channel_and_program(track);
        of_program.entry(program).or_default().insert(channel);
    }
    assert_eq!(of_program.len(), 4);
    let channels: BTreeSet<u8> = of_program.values().flatten().copied().collect();
    assert!(of_program.values().all(|c| c.len() == 1), "{of_program:?}");
    assert_eq!(channels.len(), 4, "no channel has two programs");
    assert!(!channels.contains(&9) && !channels.contains(&0));
}

#[test]
fn fifteen_parts_have_channels_of_their_own() {
    let mut file = File::piano(vec![tone(0, 60, 480)]);
    file.lanes[0].channel = 3;
    let band = many(&["flute", "tuba"], 14);
    let bytes = exported(&file.song(), &band);
    let smf = Smf::parse(&bytes).unwrap();
    let first = smf.tracks.len() - band.parts.len();
    let channels: BTreeSet<u8> = smf.tracks[first..]
        .iter()
        .map(|t| channel_and_program(t).0)
        .collect();
    assert_eq!(channels.len(), 14);
    assert!(!channels.contains(&9) && !channels.contains(&3));
}

#[test]
fn the_sketchs_own_tracks_leave_as_they_came() {
    let mut file = File::plain(vec![
        Lane::new("Right", vec![tone(0, 72, 480), tone(480, 74, 480)]),
        Lane::new("Left", vec![tone(0, 48, 960)]),
    ]);
    file.lanes[1].pedal = vec![(0, true), (900, false)];
    let song = file.song();
    let bytes = exported(&song, &many(&["flute"], 1));
    let back = read_song(&bytes).unwrap();
    let named = |song: &Song, name: &str| {
        let found = song.tracks.iter().find(|t| t.name == name);
        found.cloned().unwrap()
    };
    for name in ["Right", "Left"] {
        assert_eq!(named(&back, name), named(&song, name));
    }
}

#[test]
fn a_sketch_in_seconds_keeps_its_speed() {
    // 30 frames of 255 ticks a second; a quarter note of almost 17 seconds.
    let mut bytes = b"MThd\0\0\0\x06\0\0\0\x01\xE2\xFFMTrk\0\0\0\x14".to_vec();
    bytes.extend([0, 0xFF, 0x51, 3, 0xFF, 0xFF, 0xFF]);
    bytes.extend([0, 0x90, 60, 64, 0x83, 0x60, 0x80, 60, 0]);
    bytes.extend([0, 0xFF, 0x2F, 0]);
    let song = read_song(&bytes).unwrap();
    let draft = read_song(&exported(&song, &many(&["flute"], 1))).unwrap();
    let seconds = |song: &Song| song.tempo.seconds(song.end());
    assert!((seconds(&song) - 480.0 / 7650.0).abs() < 1e-6);
    assert!((seconds(&draft) - seconds(&song)).abs() < 1e-6);
}
