//! Sketches for tests, written with an outside MIDI writer.

use bandwright::sketch::{Line, Reading, Song, read_sketch, read_song};
use midly::num::{u7, u15, u24, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind,
};
use std::collections::BTreeSet;

/// Onset, pitch and length, in ticks.
pub type Plain = (u32, u8, u32);

/// A file of 480 ticks a quarter with a track for each list of notes, all equally loud.
pub fn file(tracks: &[Vec<Plain>]) -> Vec<u8> {
    let format = if tracks.len() == 1 {
        Format::SingleTrack
    } else {
        Format::Parallel
    };
    let mut smf = Smf::new(Header::new(format, Timing::Metrical(u15::new(480))));
    smf.tracks = tracks.iter().map(|notes| track(notes)).collect();
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).unwrap();
    bytes
}

fn track(notes: &[Plain]) -> Track<'static> {
    let mut events: Vec<(u32, bool, u8)> = Vec::new();
    for (onset, pitch, length) in notes {
        events.push((*onset, true, *pitch));
        events.push((onset + length, false, *pitch));
    }
    events.sort_unstable();
    let mut now = 0;
    let mut track = vec![meta(MetaMessage::Tempo(u24::new(500_000)))];
    for (at, on, pitch) in events {
        let (key, vel) = (u7::new(pitch), u7::new(80));
        let message = if on {
            MidiMessage::NoteOn { key, vel }
        } else {
            MidiMessage::NoteOff { key, vel }
        };
        track.push(TrackEvent {
            delta: u28::new(at - now),
            kind: TrackEventKind::Midi {
                channel: 0.into(),
                message,
            },
        });
        now = at;
    }
    track.push(meta(MetaMessage::EndOfTrack));
    track
}

fn meta(message: MetaMessage<'static>) -> TrackEvent<'static> {
    TrackEvent {
        delta: u28::new(0),
        kind: TrackEventKind::Meta(message),
    }
}

pub fn song(tracks: &[Vec<Plain>]) -> Song {
    read_song(&file(tracks)).unwrap()
}

pub fn reading(tracks: &[Vec<Plain>]) -> Reading {
    read_sketch(&song(tracks), &[])
}

/// Onset and pitch of the notes of a line.
pub fn line(reading: &Reading, line: Line) -> Vec<(u64, u8)> {
    reading
        .line(line)
        .map(|n| (n.onset.0, n.pitch.midi()))
        .collect()
}

/// F1 of the notes (onset and pitch) found to be of a line.
pub fn score(reading: &Reading, wanted: Line, truth: &BTreeSet<(u64, u8)>) -> f64 {
    let found: BTreeSet<(u64, u8)> = line(reading, wanted).into_iter().collect();
    let both = found.intersection(truth).count();
    2.0 * both as f64 / (found.len() + truth.len()).max(1) as f64
}
