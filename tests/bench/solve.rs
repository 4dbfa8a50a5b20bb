//! How long a large show takes, how that grows, how near to the best the answers are, and how much
//! memory it takes.
//!
//! The show is the demo over again until it has 200 bars, for 30 parts. Four and sixteen times its
//! bars, and two and four times a band's choirs, show how the time grows: `bars` a second is the figure to
//! compare. Before the table the gaps of the demo and of every band that comes along are printed.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

use bandwright::band::{Band, preset, preset_names, read_band};
use bandwright::cli::files::DEMO_SKETCH;
use bandwright::project::given::Given;
use bandwright::project::whole_way::{WholeWay, whole_way};
use bandwright::sketch::{Song, read_sketch, read_song};
use bandwright::voicing::solve::Ready;
use bandwright::voicing::styles::{combined, style, style_words};
use bandwright::voicing::{Effort, Problem};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use midly::num::u28;
use midly::{MetaMessage, MidiMessage, Smf, TrackEvent, TrackEventKind};
use std::fmt::Write as _;

const DEMO_BARS: u32 = 64;
const SHOW_BARS: u32 = 200;
/// The most memory that the show may take, all sketches and tables counted, megabytes.
const MOST_MEGABYTES: f64 = 300.0;

fn main() {
    // Memory first: it is the greatest that the program ever had.
    let (song, band) = (show(1), thirty());
    assert_eq!(band.parts.len(), 30);
    let way = go(&song, &band, None);
    println!("200 bars, 30 parts: {}", proof(&way));
    if let Some(most) = peak_megabytes() {
        println!("most memory: {most:.0} MB");
        assert!(most < MOST_MEGABYTES, "{most:.0} MB");
    }
    gaps();
    divan::main();
}

/// The gap of the demo for every band, and in every style.
fn gaps() {
    let song = demo(1, u32::MAX);
    let mut all = Vec::new();
    for name in preset_names() {
        let way = go(&song, &preset(name).unwrap(), None);
        println!("  {name:<16} {}", proof(&way));
        all.push(way.voiced.gap());
    }
    for word in style_words() {
        let way = go(&song, &preset("demo").unwrap(), Some(word));
        println!("  demo, {word:<10} {}", proof(&way));
        all.push(way.voiced.gap());
    }
    all.sort_by(f64::total_cmp);
    let (median, worst) = (all[all.len() / 2], all[all.len() - 1]);
    println!(
        "gap: median {:.2} %, worst {:.2} %",
        100.0 * median,
        100.0 * worst
    );
}

fn proof(way: &WholeWay) -> String {
    let voiced = &way.voiced;
    format!(
        "cost {:>8.1}, bound {:>8.1}, gap {:.2} %, {}",
        voiced.cost,
        voiced.lower_bound,
        100.0 * voiced.gap(),
        voiced.status.word()
    )
}

/// The greatest resident memory that the program had, where the system tells it.
fn peak_megabytes() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    let kilobytes: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes / 1024.0)
}

fn go(song: &Song, band: &Band, word: Option<&str>) -> WholeWay {
    let styles: Vec<_> = word.and_then(|w| style(w).ok()).into_iter().collect();
    let given = Given {
        weights: combined(&styles),
        ..Given::default()
    };
    whole_way(song, band, &given, &mut |_| {})
}

fn show(times: u32) -> Song {
    demo((SHOW_BARS * times).div_ceil(DEMO_BARS), SHOW_BARS * times)
}

/// The demo so many times over, cut after so many bars. Its own passages are left out.
fn demo(times: u32, most_bars: u32) -> Song {
    let smf = Smf::parse(DEMO_SKETCH).expect("the demo is a MIDI file");
    let length = |track: &[TrackEvent<'_>]| track.iter().map(|e| e.delta.as_int()).sum::<u32>();
    let whole = smf.tracks.iter().map(|t| length(t)).max().unwrap_or(0);
    let end = whole / DEMO_BARS * most_bars.min(DEMO_BARS * times);
    let mut out = Smf::new(smf.header);
    for track in &smf.tracks {
        let mut at = 0;
        let mut events: Vec<(u32, TrackEventKind<'_>)> = Vec::new();
        for e in track {
            at += e.delta.as_int();
            events.push((at, e.kind));
        }
        let all = (0..times).flat_map(|t| {
            let copy = events.iter().map(move |(at, kind)| (at + t * whole, *kind));
            copy.filter(|(_, k)| !matches!(k, TrackEventKind::Meta(MetaMessage::EndOfTrack)))
        });
        // What still sounds at the cut ends there.
        let cut = all.filter_map(|(at, kind)| {
            let off = matches!(kind, TrackEventKind::Midi { message, .. }
                if matches!(message, MidiMessage::NoteOff { .. })
                    || matches!(message, MidiMessage::NoteOn { vel, .. } if vel.as_int() == 0));
            (at < end || (off && at < end + whole / DEMO_BARS)).then_some((at.min(end), kind))
        });
        let mut now = 0;
        let mut cut: Vec<TrackEvent<'_>> = cut
            .map(|(at, kind)| {
                let delta = u28::new(at - now);
                now = at;
                TrackEvent { delta, kind }
            })
            .collect();
        cut.push(TrackEvent {
            delta: u28::new(end - now),
            kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
        });
        out.tracks.push(cut);
    }
    let mut bytes = Vec::new();
    out.write_std(&mut bytes).expect("a file in memory");
    read_song(&bytes).expect("the sketch is sound")
}

/// Thirty parts of a full marching band.
fn thirty() -> Band {
    const PARTS: [(&str, &str, u32); 12] = [
        ("Piccolo", "piccolo", 1),
        ("Flute", "flute", 2),
        ("Clarinet", "clarinet_bb", 3),
        ("Bass Clarinet", "clarinet_bass", 1),
        ("Alto Sax", "sax_alto", 2),
        ("Tenor Sax", "sax_tenor", 2),
        ("Baritone Sax", "sax_baritone", 1),
        ("Trumpet", "trumpet", 4),
        ("Horn", "horn", 4),
        ("Trombone", "trombone", 4),
        ("Baritone", "euphonium_bc", 3),
        ("Tuba", "tuba", 3),
    ];
    roster(&PARTS)
}

/// So many choirs of three, in turn of four kinds.
fn choirs(number: usize) -> Band {
    const KINDS: [(&str, &str); 4] = [
        ("Clarinet", "clarinet_bb"),
        ("Trumpet", "trumpet"),
        ("Horn", "horn"),
        ("Trombone", "trombone"),
    ];
    let each = (number / KINDS.len()) as u32;
    let parts = KINDS.map(|(name, id)| (name, id, 3 * each));
    let lines = [("Flute", "flute", 1), ("Tuba", "tuba", 1)];
    roster(&[&parts[..], &lines[..]].concat())
}

fn roster(parts: &[(&str, &str, u32)]) -> Band {
    let mut text = "name = \"Show\"\n".to_owned();
    for (name, instrument, number) in parts {
        for rank in 1..=*number {
            let _ = write!(
                text,
                "[[part]]\nname = \"{name} {rank}\"\ninstrument = \"{instrument}\"\nplayers = {{ intermediate = 2, advanced = 1 }}\n"
            );
        }
    }
    read_band(&text).expect("the roster is sound")
}

#[divan::bench(args = [1, 4], sample_count = 3, sample_size = 1)]
fn show_of_200_bars(bencher: Bencher<'_, '_>, times: u32) {
    let (song, band) = (show(times), thirty());
    bencher
        .counter(ItemsCount::new(SHOW_BARS * times))
        .bench(|| go(black_box(&song), &band, None));
}

/// Sixteen times as long: once is enough.
#[divan::bench(sample_count = 1, sample_size = 1)]
fn show_of_3200_bars(bencher: Bencher<'_, '_>) {
    let (song, band) = (show(16), thirty());
    bencher
        .counter(ItemsCount::new(SHOW_BARS * 16))
        .bench(|| go(black_box(&song), &band, None));
}

#[divan::bench(args = [4, 8, 16], sample_count = 3, sample_size = 1)]
fn choirs_of_three(bencher: Bencher<'_, '_>, number: usize) {
    let (song, band) = (demo(1, u32::MAX), choirs(number));
    bencher
        .counter(ItemsCount::new(number))
        .bench(|| go(black_box(&song), &band, None));
}

/// A show that was read and planned, so that its later phases can be timed by themselves.
struct Planned {
    song: Song,
    band: Band,
    way: WholeWay,
}

impl Planned {
    fn show() -> Self {
        let (song, band) = (show(1), thirty());
        let way = go(&song, &band, None);
        Self { song, band, way }
    }

    fn problem(&self) -> Problem<'_> {
        self.way.problem(&self.song, &self.band)
    }
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn phase_1_reading(bencher: Bencher<'_, '_>) {
    let song = show(1);
    bencher.bench(|| read_sketch(black_box(&song), &[]));
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn phase_2_lines(bencher: Bencher<'_, '_>) {
    let planned = Planned::show();
    bencher.bench(|| Ready::of(&planned.problem()));
}

/// All steps are made ready one stretch after the other, with nothing solved.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn phase_3_tables_of_the_chords(bencher: Bencher<'_, '_>) {
    let planned = Planned::show();
    let problem = planned.problem();
    let ready = Ready::of(&problem);
    let chords = ready.chords(&problem);
    bencher.bench(|| {
        let (mut from, end) = (0, chords.steps.len());
        while from < end {
            let (stretch, to) = chords.stretch(from..end, None, &Effort::default());
            black_box(stretch);
            from = to;
        }
    });
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn phases_3_and_4_chords_solved(bencher: Bencher<'_, '_>) {
    let planned = Planned::show();
    let problem = planned.problem();
    let ready = Ready::of(&problem);
    let chords = ready.chords(&problem);
    bencher.bench(|| chords.solve(0..chords.steps.len(), &Effort::default(), &mut |_| {}));
}
