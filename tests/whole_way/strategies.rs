//! Random bands, sketches and locks, small enough to look at when they fail.

use crate::midi_file::{File, Lane, Tone};
use bandwright::band::{
    Band, Exposure, GoEasy, NotesPerSecond, Part, Remarks, instruments, limits, read_band,
};
use proptest::collection::vec;
use proptest::option::weighted as maybe;
use proptest::prelude::*;
use std::fmt::Write as _;

const LEVELS: [&str; 5] = [
    "first_year",
    "second_year",
    "intermediate",
    "advanced",
    "all_state",
];

/// The remarks that say when and how much a part plays, before they are given.
#[derive(Clone, Debug)]
pub struct Said {
    speed: Option<f64>,
    rests: Option<u16>,
    accidentals: Option<u8>,
    exposure: Exposure,
    /// The part whose instrument is the second one of its players.
    doubles: Option<usize>,
    go_easy: Option<GoEasy>,
}

/// Remarks for the parts of a band, each given to about a third of them.
pub fn said() -> impl Strategy<Value = Vec<Said>> {
    let one = (
        maybe(0.3, 0.5..9.0_f64),
        maybe(0.3, 1..6_u16),
        maybe(0.3, 0..5_u8),
        prop_oneof![
            2 => Just(Exposure::Unsaid),
            1 => Just(Exposure::May),
            2 => Just(Exposure::Never)
        ],
        maybe(0.2, 0..8_usize),
        maybe(0.2, prop_oneof![Just(GoEasy::Braces), Just(GoEasy::Injury)]),
    );
    let said = |(speed, rests, accidentals, exposure, doubles, go_easy)| Said {
        speed,
        rests,
        accidentals,
        exposure,
        doubles,
        go_easy,
    };
    vec(one.prop_map(said), 8)
}

/// A band with remarks; those that leave a part no notes are not given.
pub fn with_remarks(band: &Band, said: &[Said]) -> Band {
    let mut told = band.clone();
    for (i, part) in told.parts.iter_mut().enumerate() {
        let said = &said[i % said.len()];
        let second = said
            .doubles
            .map(|d| &band.parts[d % band.parts.len()].instrument);
        let remarks = Remarks {
            no_faster_than: said.speed.map(NotesPerSecond),
            rests_every: said.rests,
            accidentals_at_most: said.accidentals,
            exposure: said.exposure,
            doubles: second.filter(|s| s.id != part.instrument.id).cloned(),
            go_easy: said.go_easy,
            ..part.remarks.clone()
        };
        if let Some(again) = retold(part, remarks) {
            *part = again;
        }
    }
    told
}

/// A part with other remarks; `None` if they leave it no notes.
pub fn retold(part: &Part, remarks: Remarks) -> Option<Part> {
    let limits = limits(&part.instrument, part.players, &remarks).ok()?;
    Some(Part {
        limits,
        remarks,
        ..part.clone()
    })
}

/// A part before it is written down.
#[derive(Clone, Debug)]
struct Wish {
    instrument: usize,
    players: [u16; 5],
    leap: Option<u8>,
    below_the_break: bool,
    /// Semitones taken from the bottom and the top of what the players reach.
    cut: (Option<u8>, Option<u8>),
}

fn wish() -> impl Strategy<Value = Wish> {
    let count = instruments().unwrap().len();
    let leap = prop_oneof![2 => Just(None), 1 => (1..13_u8).prop_map(Some)];
    let cut = || prop_oneof![3 => Just(None), 1 => (0..14_u8).prop_map(Some)];
    let players = prop_oneof![
        (0..5_usize, 1..4_u16).prop_map(|(level, n)| {
            let mut all = [0; 5];
            all[level] = n;
            all
        }),
        any::<[bool; 5]>().prop_map(|on| on.map(u16::from)),
    ];
    (0..count, players, leap, any::<bool>(), (cut(), cut())).prop_map(
        |(instrument, players, leap, below_the_break, cut)| Wish {
            instrument,
            players,
            leap,
            below_the_break,
            cut,
        },
    )
}

/// One to eight parts of any instruments and players, with remarks.
pub fn band() -> impl Strategy<Value = Band> {
    band_of(1..9)
}

/// One to three parts, so few that all they can do can be gone through.
pub fn small_band() -> impl Strategy<Value = Band> {
    band_of(1..4)
}

fn band_of(parts: std::ops::Range<usize>) -> impl Strategy<Value = Band> {
    vec(wish(), parts).prop_map(|wishes| {
        let parts = wishes.iter().enumerate().map(|(i, w)| written(i, w));
        let text: String = parts.collect();
        read_band(&format!("name = \"Any band\"\n{text}")).unwrap()
    })
}

/// A part of a roster; cuts that leave no notes are left out.
fn written(index: usize, wish: &Wish) -> String {
    let plain = part(index, wish, "");
    let alone = read_band(&format!("name = \"One\"\n{plain}")).unwrap();
    let limits = alone.parts[0].limits.range;
    let shift = alone.parts[0].instrument.transposition;
    let (low, high) = (shift.written(limits.low), shift.written(limits.high));
    let mut cuts = String::new();
    let step = bandwright::music::Interval;
    if let Some(by) = wish.cut.0.and_then(|by| limits.low.up(step(i16::from(by)))) {
        let _ = write!(cuts, "lowest = \"{}\", ", shift.written(by).max(low));
    }
    if let Some(by) = wish
        .cut
        .1
        .and_then(|by| limits.high.up(step(-i16::from(by))))
    {
        let _ = write!(cuts, "highest = \"{}\", ", shift.written(by).min(high));
    }
    let narrowed = part(index, wish, &cuts);
    match read_band(&format!("name = \"One\"\n{narrowed}")) {
        Ok(_) => narrowed,
        Err(_) => plain,
    }
}

fn part(index: usize, wish: &Wish, cuts: &str) -> String {
    let instrument = &instruments().unwrap()[wish.instrument].id;
    let mut counts = wish.players;
    if counts == [0; 5] {
        counts[2] = 1;
    }
    let players = LEVELS.iter().zip(counts).filter(|(_, n)| *n > 0);
    let players: Vec<String> = players.map(|(level, n)| format!("{level} = {n}")).collect();
    let mut remarks = cuts.to_owned();
    if wish.below_the_break && instrument.starts_with("clarinet") {
        remarks += "below_the_break = true, ";
    }
    if let Some(leap) = wish.leap {
        let _ = write!(remarks, "no_leaps_over = {leap}, ");
    }
    format!(
        "[[part]]\nname = \"Part {index}\"\ninstrument = \"{instrument}\"\nplayers = {{ {} }}\nremarks = {{ {}note = \"\" }}\n",
        players.join(", "),
        remarks
    )
}

/// What stands in a bar of a random sketch.
#[derive(Clone, Debug)]
struct Bar {
    texture: u8,
    root: u8,
    seeds: Vec<u8>,
}

fn bar() -> impl Strategy<Value = Bar> {
    (0..7_u8, 36..66_u8, vec(any::<u8>(), 1..8)).prop_map(|(texture, root, seeds)| Bar {
        texture,
        root,
        seeds,
    })
}

/// One to eight bars in several textures, with odd meters, gaps, a pedal, and a key or none.
pub fn sketch() -> impl Strategy<Value = File> {
    let meter = prop_oneof![
        Just((4, 2)),
        Just((3, 2)),
        Just((6, 3)),
        Just((7, 3)),
        Just((5, 2)),
        Just((1, 2)),
    ];
    let later = proptest::option::of((1..6_usize, meter.clone()));
    let quarter = prop_oneof![Just(480_u16), Just(96), Just(12)];
    let keys = proptest::option::of((-7..8_i8, any::<bool>()));
    (
        vec(bar(), 1..9),
        (meter, later),
        quarter,
        any::<(bool, bool)>(),
        keys,
    )
        .prop_map(|(bars, (first, later), quarter, (even, pedal), key)| {
            let mut meters = vec![(0, first.0, first.1)];
            let (mut now, mut meter) = (0, first);
            let mut hands = [Vec::new(), Vec::new()];
            let mut feet = Vec::new();
            for (i, bar) in bars.iter().enumerate() {
                if let Some((_, next)) = later.filter(|(at, _)| *at == i) {
                    meter = next;
                    meters.push((now, meter.0, meter.1));
                }
                let beat = u32::from(quarter) * 4 / (1 << meter.1);
                if pedal {
                    feet.extend([(now, false), (now + 1, true)]);
                }
                fill(bar, now, beat, u32::from(meter.0), even, &mut hands);
                now += beat * u32::from(meter.0);
            }
            feet.push((now, false));
            let [left, right] = hands.map(apart);
            let mut left = Lane::new("Left", left);
            if pedal {
                left.pedal = feet;
            }
            File {
                quarter,
                meters,
                tempos: vec![(0, 500_000), (u32::from(quarter), 480_000)],
                keys: key.map(|(s, minor)| (0, s, minor)).into_iter().collect(),
                markers: vec![(0, "A".to_owned())],
                lanes: vec![Lane::new("Right", right), left],
            }
        })
}

fn fill(bar: &Bar, start: u32, beat: u32, beats: u32, even: bool, hands: &mut [Vec<Tone>; 2]) {
    let seed = |i: u32| bar.seeds[i as usize % bar.seeds.len()];
    let velocity = |i: u32| if even { 80 } else { 1 + seed(i + 3) % 127 };
    let third = 3 + bar.seeds[0] % 2;
    let chord = [
        bar.root,
        bar.root + third,
        bar.root + 7,
        bar.root + 12 + third,
    ];
    let mut put = |hand: usize, onset: u32, pitch: u8, length: u32, i: u32| {
        hands[hand].push(Tone {
            onset,
            pitch,
            length: length.max(1),
            velocity: velocity(i),
        });
    };
    let tune = |i: u32| bar.root + 12 + seed(i) % 24;
    let half = (beat / 2).max(1);
    match bar.texture {
        0 => {}
        1 => (0..beats).for_each(|b| {
            for (k, pitch) in chord.iter().enumerate() {
                put(k / 2, start + b * beat, *pitch, beat, b);
            }
        }),
        2 => (0..2 * beats).for_each(|b| {
            let at = start + b * half;
            put(1, at, chord[b as usize % 4], half, b);
            if b % 2 == 0 {
                put(0, at, tune(b), beat, b);
            }
        }),
        3 => (0..beats).for_each(|b| put(0, start + b * beat, tune(b), beat, b)),
        4 => {
            for (k, pitch) in chord.iter().enumerate() {
                put(1, start, *pitch, beat * beats, k as u32);
            }
            (0..beats).for_each(|b| put(0, start + b * beat, tune(b), beat - beat / 8, b));
        }
        5 => (0..bar.seeds.len() as u32).for_each(|i| {
            let at = start + u32::from(seed(i)) * beat * beats / 256;
            let length = 1 + u32::from(seed(i + 1)) * 2 * beat / 256;
            let pitch = 21 + seed(i + 2) % 88;
            put((i % 2) as usize, at, pitch, length, i);
        }),
        // A single held note, over the barline.
        _ => put(1, start + beat / 2, bar.root, beat * beats, 0),
    }
}

/// Leaves out notes that overlap one of their own pitch, which a file cannot tell apart.
fn apart(mut notes: Vec<Tone>) -> Vec<Tone> {
    notes.sort_unstable();
    let mut kept: Vec<Tone> = Vec::new();
    for note in notes {
        let meets = |k: &Tone| k.pitch == note.pitch && note.onset < k.end();
        if !kept.iter().any(meets) {
            kept.push(note);
        }
    }
    kept
}

/// A lock before it is laid on a band.
#[derive(Clone, Debug)]
pub struct LockWish {
    part: usize,
    /// Onset as a share of the sketch, pitch, and length as a share of three quarters.
    notes: Vec<(u8, u8, u8)>,
    /// The bars named, first and how many more.
    bars: Option<(u32, u32)>,
}

pub fn locks() -> impl Strategy<Value = Vec<LockWish>> {
    let note = (any::<u8>(), prop_oneof![40..80_u8, 0..128_u8], any::<u8>());
    let bars = prop_oneof![2 => Just(None), 1 => (1..8_u32, 0..3_u32).prop_map(Some)];
    let wish = (0..8_usize, vec(note, 0..6), bars);
    vec(wish, 0..3).prop_map(|wishes| {
        let wish = |(part, notes, bars)| LockWish { part, notes, bars };
        wishes.into_iter().map(wish).collect()
    })
}

/// Tracks of locks named like parts of a band, at most one for each part.
pub fn lanes(wishes: &[LockWish], band: &Band, sketch: &File) -> Vec<Lane> {
    let notes = sketch.lanes.iter().flat_map(|l| &l.notes);
    let end = notes.map(Tone::end).max().unwrap_or(960).max(16);
    let mut taken = std::collections::BTreeSet::new();
    let mut lanes: Vec<Lane> = Vec::new();
    for wish in wishes {
        let part = wish.part % band.parts.len();
        if !taken.insert(part) {
            continue;
        }
        let tones = wish.notes.iter().map(|(at, pitch, length)| Tone {
            onset: u32::from(*at) * end / 256,
            pitch: *pitch,
            length: 1 + u32::from(*length) * u32::from(sketch.quarter) * 3 / 256,
            velocity: 1 + length % 127,
        });
        let bars = wish.bars.map(|(first, more)| (first, first + more));
        let bars = bars.map_or(String::new(), |(first, last)| {
            format!(" bars {first}-{last}")
        });
        let name = format!("{}{bars}", band.parts[part].name);
        let mut lane = Lane::new(&name, apart(tones.collect()));
        lane.channel = 1;
        lanes.push(lane);
    }
    lanes
}
