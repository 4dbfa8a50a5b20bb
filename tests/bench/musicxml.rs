//! How long it takes to write a draft as MusicXML: 200 bars for 30 parts, wanted in less than 100 ms, and 400 bars, which
//! are to take twice as long and no more. Beside them the compressed file, all single parts, and the draft as MIDI.
//!
//! The music is the demo over and over; the draft of 400 bars is that of 200 bars twice.

#![allow(
    clippy::expect_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

#[path = "repeated.rs"]
mod repeated;
#[path = "thirty.rs"]
mod thirty;

use bandwright::band::Band;
use bandwright::export::{ScoreInput, midi_bytes, musicxml_bytes, mxl_bytes, single_parts};
use bandwright::music::{BarNumber, Tick};
use bandwright::project::given::Given;
use bandwright::project::whole_way::{WholeWay, whole_way};
use bandwright::sketch::{Song, read_sketch, read_song};
use divan::{Bencher, black_box};
use std::sync::OnceLock;

const BARS: u32 = 200;

fn main() {
    divan::main();
}

/// The demo over and over, so many bars.
fn song(bars: u32) -> Song {
    let whole = repeated::sketch(bars.div_ceil(64));
    let mut song = read_song(&whole).expect("the sketch is sound");
    let end = song.meters.bar_start(BarNumber(bars + 1));
    for track in &mut song.tracks {
        track.notes.retain(|n| n.onset < end);
        for note in &mut track.notes {
            note.duration = note.duration.min(end.since(note.onset));
        }
    }
    song
}

struct Show {
    song: Song,
    band: Band,
    way: WholeWay,
}

impl Show {
    fn input(&self) -> ScoreInput<'_> {
        self.way.score("Show", &self.song, &self.band, false)
    }
}

/// 200 bars, solved once.
fn two_hundred() -> &'static Show {
    static SHOW: OnceLock<Show> = OnceLock::new();
    SHOW.get_or_init(|| {
        let (song, band) = (song(BARS), thirty::band());
        let way = whole_way(&song, &band, &Given::default(), &mut |_| {});
        let show = Show { song, band, way };
        told(&show, BARS);
        show
    })
}

/// 400 bars: all of it twice.
fn four_hundred() -> &'static Show {
    static SHOW: OnceLock<Show> = OnceLock::new();
    SHOW.get_or_init(|| {
        let once = two_hundred();
        let song = song(2 * BARS);
        let later = song.meters.bar_start(BarNumber(BARS + 1)).since(Tick::ZERO);
        let mut way = once.way.clone();
        way.reading = read_sketch(&song, &way.own_tracks);
        for line in &mut way.voiced.draft.lines {
            let again = line.notes.clone().into_iter().map(|mut note| {
                note.onset += later;
                note
            });
            let again: Vec<_> = again.collect();
            line.notes.extend(again);
        }
        let again = way.breathing.breaths.clone().into_iter().map(|mut breath| {
            breath.at += later;
            breath
        });
        let again: Vec<_> = again.collect();
        way.breathing.breaths.extend(again);
        way.breathing.breaths.sort();
        let show = Show {
            song,
            band: once.band.clone(),
            way,
        };
        told(&show, 2 * BARS);
        show
    })
}

/// Tells what is written, and holds it against what is wanted.
fn told(show: &Show, bars: u32) {
    let bytes = musicxml_bytes(&show.input()).expect("a score");
    let text = String::from_utf8(bytes).expect("text");
    let measures = text.matches("<measure ").count();
    let notes: usize = show
        .way
        .voiced
        .draft
        .lines
        .iter()
        .map(|l| l.notes.len())
        .sum();
    println!(
        "{bars} bars, 30 parts and the sketch: {notes} notes, {} kB",
        text.len() / 1000
    );
    assert_eq!(measures, 31 * bars as usize);
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn score_of_200_bars(bencher: Bencher<'_, '_>) {
    let show = two_hundred();
    bencher.bench_local(|| musicxml_bytes(black_box(&show.input())).expect("a score"));
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn score_of_400_bars(bencher: Bencher<'_, '_>) {
    let show = four_hundred();
    bencher.bench_local(|| musicxml_bytes(black_box(&show.input())).expect("a score"));
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn compressed_score_of_200_bars(bencher: Bencher<'_, '_>) {
    let text = musicxml_bytes(&two_hundred().input()).expect("a score");
    bencher.bench_local(|| mxl_bytes(black_box(&text)).expect("an archive"));
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn single_parts_of_200_bars(bencher: Bencher<'_, '_>) {
    let show = two_hundred();
    bencher.bench_local(|| single_parts(black_box(&show.input())).expect("parts"));
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn midi_of_200_bars(bencher: Bencher<'_, '_>) {
    let show = two_hundred();
    let way = &show.way;
    bencher.bench_local(|| {
        let breaths = &way.breathing.breaths;
        midi_bytes(
            &show.song,
            &way.own_tracks,
            &show.band,
            black_box(&way.voiced.draft),
            breaths,
        )
        .expect("a file")
    });
}
