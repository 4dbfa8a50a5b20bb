//! How long the reading takes, from the bytes of a sketch to its lines, chords and phrases.
//!
//! The piece is made here: 200 bars of tune, broken chords and bass, about 2,600 notes (at 160 a
//! minute five minutes of music). Ten and a hundred times its length show that the time grows
//! with the bars and no faster: `bars` a second is the figure to compare between lengths.

#![allow(
    clippy::expect_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

use bandwright::sketch::{Line, Reading, Times, quantise, read_sketch, read_song};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind};

const BARS: u32 = 200;
const QUARTER: u32 = 480;

fn main() {
    divan::main();
}

/// Onset, pitch, length and velocity.
type Note = (u32, u8, u32, u8);

/// A bar of the piece: a tune over eighths of a broken chord and a bass note each half bar. The
/// chords go I vi ii V, the key moves by a fourth every sixteen bars.
fn bar(number: u32) -> Vec<Note> {
    let key = (number / 16 * 5 % 12) as u8;
    let degree = [0, 9, 2, 7][(number % 4) as usize];
    let minor = matches!(degree, 9 | 2);
    let third = if minor { 3 } else { 4 };
    let root = 48 + (key + degree) % 12;
    let at = number * 4 * QUARTER;
    let mut notes = vec![
        (at, root - 12, 2 * QUARTER, 64),
        (at + 2 * QUARTER, root - 5, 2 * QUARTER, 62),
    ];
    for eighth in 0..8 {
        let up = [0, 7, 12 + third, 7][eighth % 4];
        notes.push((at + eighth as u32 * 240, root + up, 240, 55));
    }
    let tune: &[(u32, u32, i32)] = match number % 8 {
        0 | 4 => &[(0, 720, 4), (720, 240, 2), (960, 960, 0)],
        1 | 5 => &[(0, 480, 7), (480, 480, 5), (960, 480, 4), (1440, 480, 2)],
        2 => &[
            (0, 240, 0),
            (240, 240, 2),
            (480, 240, 4),
            (720, 240, 5),
            (960, 960, 7),
        ],
        3 | 7 => &[(0, 1440, 2)],
        _ => &[(0, 960, 9), (960, 480, 7), (1440, 480, 5)],
    };
    let tonic = 72 + i32::from(key % 6);
    let sung = |(on, length, up): &(u32, u32, i32)| (at + on, (tonic + up) as u8, *length, 84);
    notes.extend(tune.iter().map(sung));
    notes
}

fn sketch(times: u32) -> Vec<u8> {
    let mut events: Vec<(u32, u8, u8)> = Vec::new();
    for (at, pitch, length, velocity) in (0..BARS * times).flat_map(bar) {
        events.push((at, pitch, velocity));
        events.push((at + length, pitch, 0));
    }
    // At one tick keys come up before others go down.
    events.sort_unstable_by_key(|(at, pitch, velocity)| (*at, *velocity > 0, *pitch));
    let event = |delta, kind| TrackEvent {
        delta: u28::new(delta),
        kind,
    };
    let tempo = MetaMessage::Tempo(u24::new(375_000));
    let mut track = vec![event(0, TrackEventKind::Meta(tempo))];
    let mut now = 0;
    for (at, key, vel) in events {
        let message = MidiMessage::NoteOn {
            key: u7::new(key),
            vel: u7::new(vel),
        };
        let channel = u4::new(0);
        track.push(event(at - now, TrackEventKind::Midi { channel, message }));
        now = at;
    }
    track.push(event(0, TrackEventKind::Meta(MetaMessage::EndOfTrack)));
    let header = Header::new(
        Format::SingleTrack,
        Timing::Metrical(u15::new(QUARTER as u16)),
    );
    let mut smf = Smf::new(header);
    smf.tracks.push(track);
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).expect("a file in memory");
    bytes
}

fn reading(bytes: &[u8]) -> Reading {
    let song = read_song(bytes).expect("the sketch is sound");
    read_sketch(&quantise(&song, Times::Auto).song, &[])
}

/// Import to phrases: all lines must be found in it, and as much of each as its length has.
#[divan::bench(args = [1, 10, 100], sample_size = 1, sample_count = 4)]
fn import_to_phrases(bencher: Bencher<'_, '_>, times: u32) {
    let bytes = sketch(times);
    let read = reading(&bytes);
    let bars = (BARS * times) as usize;
    assert!(read.line(Line::Melody).count() > 2 * bars, "melody");
    assert!(read.line(Line::Bass).count() >= bars, "bass");
    assert!(read.chords.len() >= bars / 2, "chords");
    bencher
        .counter(ItemsCount::new(BARS * times))
        .bench(|| reading(black_box(&bytes)));
}
