//! How long the whole way takes, from the bytes of a sketch to the bytes of its draft.
//!
//! The demo (64 bars, 22 parts) has to take less than a second on one core; four and sixteen
//! times the demo show that the time grows with the bars and no faster. `bars` a second in the
//! table is the figure to compare between lengths.

#![allow(
    clippy::expect_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

use bandwright::band::{Band, Exposure, NotesPerSecond, limits, preset};
use bandwright::export::midi_bytes;
use bandwright::music::Tick;
use bandwright::project::given::Given;
use bandwright::project::whole_way::whole_way;
use bandwright::sketch::{Reading, read_sketch, read_song};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};

#[path = "repeated.rs"]
mod repeated;

use repeated::sketch;

const DEMO_BARS: u32 = 64;

fn main() {
    divan::main();
}

fn bars(times: u32) -> ItemsCount {
    ItemsCount::new(DEMO_BARS * times)
}

fn demo_band() -> Band {
    preset("demo").expect("the demo band is built in")
}

fn draft(bytes: &[u8], band: &Band) -> Vec<u8> {
    let song = read_song(bytes).expect("the sketch is sound");
    let way = whole_way(&song, band, &Given::default(), &mut |_| {});
    midi_bytes(
        &song,
        &way.own_tracks,
        band,
        &way.voiced.draft,
        &way.breathing.breaths,
    )
    .expect("the draft fits")
}

fn reading(bytes: &[u8]) -> Reading {
    let song = read_song(bytes).expect("the sketch is sound");
    read_sketch(&song, &[])
}

/// Bytes of a draft that has a note of some part in its last bars, and as many bars as it should.
fn assert_whole(bytes: &[u8], times: u32) {
    let song = read_song(bytes).expect("the draft is sound");
    let last = song.meters.bar(Tick(song.end().0 - 1)).0;
    assert_eq!(last, DEMO_BARS * times, "bars of the draft");
    let parts = demo_band().parts.len();
    let tracks = &song.tracks[song.tracks.len() - parts..];
    let notes: usize = tracks.iter().map(|t| t.notes.len()).sum();
    assert!(notes > 1_000 * times as usize, "{notes} notes");
}

#[divan::bench(args = [1, 4, 16], sample_count = 3, sample_size = 1)]
fn sketch_to_draft(bencher: Bencher<'_, '_>, times: u32) {
    let (bytes, band) = (sketch(times), demo_band());
    assert_whole(&draft(&bytes, &band), times);
    bencher
        .counter(bars(times))
        .bench(|| draft(black_box(&bytes), &band));
}

/// The demo band with a remark of each kind on many parts.
fn told_band() -> Band {
    let mut band = demo_band();
    for (i, part) in band.parts.iter_mut().enumerate() {
        part.remarks.no_faster_than = (i % 4 == 1).then_some(NotesPerSecond(2.5));
        part.remarks.rests_every = (i % 3 == 0).then_some(8);
        part.remarks.accidentals_at_most = (i % 5 == 2).then_some(3);
        if i % 2 == 1 {
            part.remarks.exposure = Exposure::Never;
        }
        part.limits = limits(&part.instrument, part.players, &part.remarks).expect("some notes");
    }
    band
}

#[divan::bench(args = [1, 4, 16], sample_count = 3, sample_size = 1)]
fn with_remarks(bencher: Bencher<'_, '_>, times: u32) {
    let (bytes, band) = (sketch(times), told_band());
    assert_whole(&draft(&bytes, &band), times);
    bencher
        .counter(bars(times))
        .bench(|| draft(black_box(&bytes), &band));
}

#[divan::bench(args = [1, 4, 16], sample_count = 10, sample_size = 1)]
fn reading_alone(bencher: Bencher<'_, '_>, times: u32) {
    let bytes = sketch(times);
    let notes = |r: &Reading| r.notes.len();
    assert_eq!(
        notes(&reading(&bytes)),
        notes(&reading(&sketch(1))) * times as usize
    );
    bencher
        .counter(bars(times))
        .bench(|| reading(black_box(&bytes)));
}

/// Ten thousand bars of a light sketch, one chord and a tune of four notes a bar.
#[divan::bench(sample_count = 1, sample_size = 1)]
fn ten_thousand_bars(bencher: Bencher<'_, '_>) {
    let (bytes, band) = (light(10_000), preset("thin").expect("it is built in"));
    bencher
        .counter(ItemsCount::new(10_000_u32))
        .bench(|| draft(black_box(&bytes), &band));
}

fn light(bars: u32) -> Vec<u8> {
    let mut bytes = b"MThd\0\0\0\x06\0\0\0\x01\0\x04MTrk".to_vec();
    let mut track: Vec<u8> = Vec::new();
    for bar in 0..bars {
        let root = 48 + (bar * 5 % 12) as u8;
        for up in [0, 4, 7] {
            track.extend([0, 0x90, root + up, 70]);
        }
        for beat in 0..4_u8 {
            let pitch = root + 24 + [0, 4, 7, 4][usize::from(beat)];
            track.extend([0, 0x90, pitch, 90, 4, 0x80, pitch, 0]);
        }
        for up in [0, 4, 7] {
            track.extend([0, 0x80, root + up, 0]);
        }
    }
    track.extend([0, 0xFF, 0x2F, 0]);
    bytes.extend((track.len() as u32).to_be_bytes());
    bytes.extend(track);
    bytes
}
