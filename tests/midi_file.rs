//! MIDI files for tests, put together by an outside writer.

use bandwright::sketch::{Song, read_song};
use midly::num::{u4, u7, u15, u24, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind,
};

/// A note, in ticks.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Tone {
    pub onset: u32,
    pub pitch: u8,
    pub length: u32,
    pub velocity: u8,
}

impl Tone {
    pub fn end(&self) -> u32 {
        self.onset + self.length
    }
}

/// A note of middling loudness.
pub fn tone(onset: u32, pitch: u8, length: u32) -> Tone {
    Tone {
        onset,
        pitch,
        length,
        velocity: 80,
    }
}

/// A track.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Lane {
    pub name: String,
    pub channel: u8,
    pub notes: Vec<Tone>,
    /// Where the sustain pedal goes down (`true`) or up.
    pub pedal: Vec<(u32, bool)>,
}

impl Lane {
    pub fn new(name: &str, notes: Vec<Tone>) -> Self {
        Self {
            name: name.to_owned(),
            notes,
            ..Self::default()
        }
    }
}

/// A whole file.
#[derive(Clone, PartialEq, Debug)]
pub struct File {
    pub quarter: u16,
    /// Tick, beats, and the power of two of the beat's note value.
    pub meters: Vec<(u32, u8, u8)>,
    /// Tick and microseconds a quarter.
    pub tempos: Vec<(u32, u32)>,
    /// Tick, sharps (flats below zero), whether minor.
    pub keys: Vec<(u32, i8, bool)>,
    pub markers: Vec<(u32, String)>,
    pub lanes: Vec<Lane>,
}

impl File {
    /// 480 ticks a quarter, in common time, and nothing else but the tracks.
    pub fn plain(lanes: Vec<Lane>) -> Self {
        Self {
            quarter: 480,
            meters: vec![(0, 4, 2)],
            tempos: vec![(0, 500_000)],
            keys: Vec::new(),
            markers: Vec::new(),
            lanes,
        }
    }

    /// One piano track.
    pub fn piano(notes: Vec<Tone>) -> Self {
        Self::plain(vec![Lane::new("Piano", notes)])
    }

    pub fn song(&self) -> Song {
        read_song(&self.bytes()).unwrap()
    }

    pub fn bytes(&self) -> Vec<u8> {
        let timing = Timing::Metrical(u15::new(self.quarter));
        let mut smf = Smf::new(Header::new(Format::Parallel, timing));
        smf.tracks.push(self.conductor());
        smf.tracks.extend(self.lanes.iter().map(lane));
        let mut bytes = Vec::new();
        smf.write_std(&mut bytes).unwrap();
        bytes
    }

    fn conductor(&self) -> Track<'_> {
        let meters = self
            .meters
            .iter()
            .map(|(at, top, power)| (*at, MetaMessage::TimeSignature(*top, *power, 24, 8)));
        let tempos = self
            .tempos
            .iter()
            .map(|(at, micros)| (*at, MetaMessage::Tempo(u24::new(*micros))));
        let keys = self
            .keys
            .iter()
            .map(|(at, sharps, minor)| (*at, MetaMessage::KeySignature(*sharps, *minor)));
        let markers = self
            .markers
            .iter()
            .map(|(at, text)| (*at, MetaMessage::Marker(text.as_bytes())));
        let metas = meters.chain(tempos).chain(keys).chain(markers);
        track(
            metas
                .map(|(at, m)| (at, 0, TrackEventKind::Meta(m)))
                .collect(),
        )
    }
}

fn lane(lane: &Lane) -> Track<'_> {
    let channel = u4::new(lane.channel);
    let midi = |message| TrackEventKind::Midi { channel, message };
    let name = MetaMessage::TrackName(lane.name.as_bytes());
    let mut events = vec![(0, 0, TrackEventKind::Meta(name))];
    for (at, down) in &lane.pedal {
        let value = u7::new(if *down { 127 } else { 0 });
        let controller = u7::new(64);
        events.push((*at, 2, midi(MidiMessage::Controller { controller, value })));
    }
    for note in &lane.notes {
        let (key, vel) = (u7::new(note.pitch), u7::new(note.velocity));
        events.push((note.onset, 3, midi(MidiMessage::NoteOn { key, vel })));
        events.push((note.end(), 1, midi(MidiMessage::NoteOff { key, vel })));
    }
    track(events)
}

/// Events by tick, then by rank.
fn track(mut events: Vec<(u32, u8, TrackEventKind<'_>)>) -> Track<'_> {
    events.sort_by_key(|(at, rank, _)| (*at, *rank));
    let mut now = 0;
    let mut track: Track<'_> = events
        .into_iter()
        .map(|(at, _, kind)| {
            let delta = u28::new(at - now);
            now = at;
            TrackEvent { delta, kind }
        })
        .collect();
    track.push(TrackEvent {
        delta: u28::new(0),
        kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
    });
    track
}
