//! What each bar says of the key: how long each tone sounds against the profiles of scales, and
//! which tones stand where tonics usually do.

use super::reading::ReadNote;
use super::song::Song;
use crate::music::key::{AARDEN_ESSEN, ALBRECHT_SHANAHAN};
use crate::music::{BarNumber, Key, Mode, PitchClass, Tick};

/// How much a beat's notes say, in natural logarithms.
const PER_BEAT: f64 = 0.47;
/// Share of Aarden's folk-song profile beside Albrecht & Shanahan's.
const FOLK: f64 = 0.3;
/// Added to each share of a profile, so that no tone rules a key out.
const FLOOR: f64 = 0.01;
/// Extra length in quarters of a note struck on a downbeat, and on another beat.
const DOWNBEAT: f64 = 0.3;
const BEAT: f64 = 0.1;
/// Long notes, ends of four and eight bars, beginnings of eight, and the end of the piece: what a
/// tonic there says, and what a dominant does.
const LONG: (f64, f64) = (0.3, 0.08);
const END_OF_FOUR: (f64, f64) = (0.2, 0.1);
const END_OF_EIGHT: (f64, f64) = (0.7, 0.0);
const START_OF_EIGHT: (f64, f64) = (0.3, 0.16);
const END: (f64, f64) = (2.1, 0.3);
/// What the tonic as the last note of the tune says.
const LAST_OF_TUNE: f64 = 0.3;
/// A note counts as long from so many times the usual distance of onsets.
const LONG_FROM: f64 = 1.9;

/// A scale on a tonic. The church modes are there so that their tunes are heard on their own
/// tonic; their key is the major or minor one.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Scale {
    Major,
    Minor,
    Mixolydian,
    NaturalMinor,
    Dorian,
}

const SCALES: [Scale; 5] = [
    Scale::Major,
    Scale::Minor,
    Scale::Mixolydian,
    Scale::NaturalMinor,
    Scale::Dorian,
];

/// How many scales on tonics there are.
pub(super) const STATES: usize = 12 * SCALES.len();

/// What each state gets.
pub(super) type Scores = [f64; STATES];

/// The key that a state stands for.
pub(super) fn key_of(state: usize) -> Key {
    let mode = match SCALES.get(state / 12) {
        Some(Scale::Major | Scale::Mixolydian) | None => Mode::Major,
        Some(_) => Mode::Minor,
    };
    Key {
        tonic: PitchClass::of((state % 12) as i32),
        mode,
    }
}

/// How rare a scale is, in natural logarithms.
const fn rare(scale: Scale) -> f64 {
    match scale {
        Scale::Major | Scale::Minor => 0.0,
        Scale::NaturalMinor => 0.4,
        Scale::Dorian => 1.0,
        Scale::Mixolydian => 1.5,
    }
}

fn profile(scale: Scale) -> [f64; 12] {
    let mix = |a: &[f64; 12], b: &[f64; 12]| -> [f64; 12] {
        std::array::from_fn(|i| (1.0 - FOLK) * a[i] + FOLK * b[i] / 100.0)
    };
    let major = mix(&ALBRECHT_SHANAHAN.major, &AARDEN_ESSEN.major);
    let minor = mix(&ALBRECHT_SHANAHAN.minor, &AARDEN_ESSEN.minor);
    let mut natural = minor;
    natural[10] = minor[10] + 0.8 * minor[11];
    natural[11] = 0.2 * minor[11];
    let mut shares = match scale {
        Scale::Major | Scale::Mixolydian => major,
        Scale::Minor => minor,
        Scale::NaturalMinor | Scale::Dorian => natural,
    };
    match scale {
        Scale::Mixolydian => shares.swap(10, 11),
        Scale::Dorian => shares.swap(8, 9),
        _ => {}
    }
    let sum: f64 = shares.iter().map(|s| s + FLOOR).sum();
    shares.map(|s| ((s + FLOOR) / sum).ln())
}

/// A bar with notes and what it says.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    pub(super) bar: BarNumber,
    pub(super) start: Tick,
    /// Length in quarters.
    pub(super) quarters: f64,
    pub(super) scores: Scores,
}

/// The notes struck at one tick.
struct Stroke {
    at: Tick,
    low: PitchClass,
    /// Until the next.
    length: u64,
}

/// What every bar with notes says, in order. `notes` are in order of onset.
pub(super) fn frames(song: &Song, notes: &[ReadNote]) -> Vec<Frame> {
    let profiles = SCALES.map(profile);
    let bar_of = |n: &ReadNote| song.meters.bar(n.onset);
    let mut frames: Vec<Frame> = notes
        .chunk_by(|a, b| bar_of(a) == bar_of(b))
        .filter_map(|inside| frame(song, inside, &profiles))
        .collect();
    add_places(song, notes, &mut frames);
    add_ends(notes, &mut frames);
    if let Some(first) = frames.first_mut() {
        for (state, score) in first.scores.iter_mut().enumerate() {
            *score -= rare(SCALES[state / 12]);
        }
    }
    frames
}

fn frame(song: &Song, inside: &[ReadNote], profiles: &[[f64; 12]; 5]) -> Option<Frame> {
    let at = inside.first()?.onset;
    let bar = song.meters.bar(at);
    let start = song.meters.bar_start(bar);
    let meter = song.meters.meter(at);
    let beat = meter.beat(song.quarter).0;
    let mut lengths = [0.0; 12];
    for note in inside {
        let place = note.onset.since(start).0;
        let accent = match place {
            0 => DOWNBEAT,
            p if p.is_multiple_of(beat) => BEAT,
            _ => 0.0,
        };
        let quarters = song.quarter.beats(note.duration).0.min(2.0);
        lengths[usize::from(note.pitch.class().number())] += quarters + accent;
    }
    let sum: f64 = lengths.iter().sum::<f64>().max(1e-9);
    let quarters = song.quarter.beats(meter.bar(song.quarter)).0;
    let scores = std::array::from_fn(|state| {
        let (profile, tonic) = (&profiles[state / 12], state % 12);
        let all = (0..12).map(|above| profile[above] * lengths[(tonic + above) % 12]);
        PER_BEAT * quarters * all.sum::<f64>() / sum
    });
    Some(Frame {
        bar,
        start,
        quarters,
        scores,
    })
}

fn add(frame: &mut Frame, class: PitchClass, (tonic, dominant): (f64, f64)) {
    for (state, score) in frame.scores.iter_mut().enumerate() {
        let own = PitchClass::of((state % 12) as i32);
        match own.up_to(class) {
            0 => *score += tonic,
            7 => *score += dominant,
            _ => {}
        }
    }
}

fn strokes(notes: &[ReadNote]) -> Vec<Stroke> {
    let mut strokes: Vec<Stroke> = Vec::new();
    for same in notes.chunk_by(|a, b| a.onset == b.onset) {
        let Some(low) = same.iter().min_by_key(|n| n.pitch) else {
            continue;
        };
        if let Some(last) = strokes.last_mut() {
            last.length = low.onset.since(last.at).0;
        }
        strokes.push(Stroke {
            at: low.onset,
            low: low.pitch.class(),
            length: low.duration.0,
        });
    }
    strokes
}

/// Adds what long notes say, and what stands at the ends and beginnings of groups of bars,
/// counted from the first full bar.
fn add_places(song: &Song, notes: &[ReadNote], frames: &mut [Frame]) {
    let strokes = strokes(notes);
    let mut lengths: Vec<u64> = strokes.iter().map(|s| s.length).collect();
    lengths.sort_unstable();
    let usual = lengths.get(lengths.len() / 2).copied().unwrap_or(0) as f64;
    let Some(first) = frames.first().map(|f| (f.bar, f.start)) else {
        return;
    };
    let pickup = strokes.first().is_some_and(|s| s.at != first.1);
    let from = first.0.0.saturating_add(u32::from(pickup));
    let mut rest = strokes.as_slice();
    for frame in frames {
        let count = rest.partition_point(|s| song.meters.bar(s.at) <= frame.bar);
        let (inside, after) = rest.split_at(count);
        rest = after;
        for stroke in inside
            .iter()
            .filter(|s| s.length as f64 >= LONG_FROM * usual)
        {
            add(frame, stroke.low, LONG);
        }
        let Some(number) = frame.bar.0.checked_sub(from) else {
            continue;
        };
        if number.is_multiple_of(8)
            && let Some(stroke) = inside.first().filter(|s| s.at == frame.start)
        {
            add(frame, stroke.low, START_OF_EIGHT);
        }
        let ends = match number % 8 {
            3 => END_OF_FOUR,
            7 => END_OF_EIGHT,
            _ => continue,
        };
        let meter = song.meters.meter(frame.start);
        let (bar, beat) = (meter.bar(song.quarter).0, meter.beat(song.quarter).0);
        let place = |s: &Stroke| s.at.since(frame.start).0;
        let early = |s: &&Stroke| place(s).is_multiple_of(beat) && 3 * place(s) <= 2 * bar;
        if let Some(stroke) = inside.iter().rfind(early) {
            let low = stroke.low;
            add(frame, low, ends);
        }
    }
}

fn add_ends(notes: &[ReadNote], frames: &mut [Frame]) {
    let end = notes.iter().map(ReadNote::end).max();
    let last = notes.iter().filter(|n| Some(n.end()) == end);
    let (low, high) = (
        last.clone().min_by_key(|n| n.pitch),
        last.max_by_key(|n| n.pitch),
    );
    if let (Some(frame), Some(low), Some(high)) = (frames.last_mut(), low, high) {
        add(frame, low.pitch.class(), END);
        add(frame, high.pitch.class(), (LAST_OF_TUNE, 0.0));
    }
}
