//! Sound while one works: it goes where it is told, keeps what goes on, and never allocates.

use super::{at, built_in, named, note};
use bandwright::sound::events::{Chair, SoundNote, SoundScore};
use bandwright::sound::live::{Control, Engine, Line, Marks, engine};
use bandwright::sound::render::{BLOCK, CountIn, Passage, Player, Program};
use bandwright::sound::tones::{RATE, tones};
use proptest::prelude::*;

fn passage(from: f64) -> Passage {
    Passage {
        from,
        number: 1,
        ..Passage::WHOLE
    }
}

fn chairs(count: usize) -> Vec<Chair> {
    let all: Vec<_> = tones().filter(|t| t.name != "piano").collect();
    let chair = |i: usize| Chair {
        tone: all[i % all.len()],
        pan: 0.0,
        delay: 0.0,
    };
    (0..count).map(chair).collect()
}

/// Notes of a flute, a second each, ever higher.
fn steps(count: usize) -> SoundScore {
    let flute = Chair {
        tone: named("flute"),
        pan: 0.0,
        delay: 0.0,
    };
    let step = |i: usize| note(0, i as f64, i as f64 + 0.9, 60 + i as u8);
    SoundScore {
        chairs: vec![flute],
        notes: (0..count).map(step).collect(),
    }
}

fn program(score: &SoundScore, speed: f64) -> Box<Program> {
    Box::new(Program::of(score, &[], speed))
}

fn on(score: &SoundScore) -> (Engine, Control) {
    let (engine, control, _) = marked(score);
    (engine, control)
}

fn marked(score: &SoundScore) -> (Engine, Control, Marks) {
    engine(Box::new(
        Player::new(built_in(), program(score, 1.0)).unwrap(),
    ))
}

/// The left side of so many seconds, asked for in buffers of a usual size.
fn seconds(engine: &mut Engine, seconds: f64) -> Vec<f32> {
    let mut left = Vec::new();
    let mut frames = [0.0; 2 * 441];
    while left.len() < at(seconds) {
        engine.fill(&mut frames);
        left.extend(frames.chunks(2).map(|f| f[0]));
    }
    left
}

/// How strong the fundamental of a key is in some samples.
fn strength(samples: &[f32], key: u8) -> f64 {
    let hertz = 440.0 * ((f64::from(key) - 69.0) / 12.0).exp2();
    let turn = std::f64::consts::TAU * hertz / f64::from(RATE);
    let whole = samples.len() as f64;
    let (mut x, mut y) = (0.0, 0.0);
    for (i, sample) in samples.iter().enumerate() {
        let i = i as f64;
        let window = 1.0 - (std::f64::consts::TAU * i / whole).cos();
        x += f64::from(*sample) * window * (turn * i).cos();
        y += f64::from(*sample) * window * (turn * i).sin();
    }
    (x.hypot(y) / whole).powi(2)
}

/// Whether a key sounds, and neither of its neighbours.
fn sounds(samples: &[f32], key: u8) -> bool {
    let here = strength(samples, key);
    let others = strength(samples, key - 1).max(strength(samples, key + 1));
    here > 1e-7 && here > 8.0 * others
}

fn is_silent(samples: &[f32]) -> bool {
    samples.iter().all(|s| *s == 0.0)
}

#[test]
fn nothing_is_heard_before_it_is_told_to_play() {
    let (mut engine, mut control) = on(&steps(3));
    assert!(is_silent(&seconds(&mut engine, 0.5)));
    control.play(&passage(0.0)).unwrap();
    assert!(sounds(&seconds(&mut engine, 0.8)[at(0.2)..], 60));
}

#[test]
fn it_begins_anywhere_in_the_middle_of_notes_too() {
    for (from, key) in [(0.0, 60), (1.3, 61), (2.0, 62), (2.5, 62)] {
        let (mut engine, mut control) = on(&steps(4));
        control.play(&passage(from)).unwrap();
        let heard = seconds(&mut engine, 0.4);
        assert!(sounds(&heard[at(0.15)..at(0.38)], key), "from {from}");
    }
}

#[test]
fn it_is_silent_at_once_when_stopped() {
    let (mut engine, mut control) = on(&steps(3));
    control.play(&passage(0.0)).unwrap();
    let before = seconds(&mut engine, 0.5);
    control.stop().unwrap();
    let after = seconds(&mut engine, 0.5);
    assert!(!is_silent(&after[..at(0.005)]), "it stops with a crack");
    assert!(is_silent(&after[at(0.02)..]));
    // Down to nothing without a step that is larger than those of the tone.
    let step = |s: &[f32]| {
        s.windows(2)
            .map(|w| (w[1] - w[0]).abs())
            .fold(0.0, f32::max)
    };
    assert!(step(&after) < 1.5 * step(&before[at(0.2)..]));
    // And it begins again as though nothing had been.
    control.play(&passage(1.0)).unwrap();
    assert!(sounds(&seconds(&mut engine, 0.4)[at(0.15)..], 61));
}

#[test]
fn a_passage_ends_or_begins_anew() {
    let (mut engine, mut control) = on(&steps(4));
    let bars = Passage {
        to: Some(2.0),
        ..passage(1.0)
    };
    control.play(&bars).unwrap();
    let heard = seconds(&mut engine, 3.0);
    assert!(sounds(&heard[at(0.2)..at(0.8)], 61));
    assert!(is_silent(&heard[at(1.6)..]));
    assert!(engine.player().is_silent());
    control
        .play(&Passage {
            again: true,
            ..bars
        })
        .unwrap();
    let heard = seconds(&mut engine, 4.0);
    for round in [0.0, 1.0, 2.0, 3.0] {
        assert!(sounds(&heard[at(round + 0.2)..at(round + 0.8)], 61));
    }
}

#[test]
fn the_end_of_the_music_is_an_end() {
    let (mut engine, mut control) = on(&steps(1));
    control.play(&passage(0.0)).unwrap();
    let heard = seconds(&mut engine, 2.0);
    assert!(is_silent(&heard[at(1.7)..]));
    assert!(!engine.player().plays());
}

#[test]
fn bars_are_counted_in() {
    let (mut engine, mut control) = on(&steps(3));
    let count_in = CountIn::new(&[0.0, 0.5, 1.0, 1.5], 2.0);
    let counted = Passage {
        count_in,
        ..passage(1.0)
    };
    control.play(&counted).unwrap();
    let heard = seconds(&mut engine, 2.6);
    for tick in [0.0, 0.5, 1.0, 1.5] {
        assert!(!is_silent(&heard[at(tick + 0.002)..at(tick + 0.02)]));
        assert!(is_silent(&heard[at(tick + 0.4)..at(tick + 0.49)]));
    }
    assert!(sounds(&heard[at(2.2)..at(2.55)], 61));
}

#[test]
fn what_both_programs_have_goes_on_and_what_is_new_is_heard_at_once() {
    let mut score = SoundScore {
        chairs: chairs(2),
        notes: vec![note(0, 0.0, 3.0, 67)],
    };
    let (mut plain, mut order) = on(&score);
    order.play(&passage(0.0)).unwrap();
    let alone = seconds(&mut plain, 2.0);
    // The same with a note of another chair that comes in while it plays, and is taken out again.
    let (mut engine, mut control) = on(&score);
    control.play(&passage(0.0)).unwrap();
    let mut heard = seconds(&mut engine, 0.5);
    let without = program(&score, 1.0);
    score.notes.push(note(1, 0.2, 2.5, 60));
    control.take(program(&score, 1.0)).unwrap();
    heard.extend(seconds(&mut engine, 0.5));
    control.take(without).unwrap();
    heard.extend(seconds(&mut engine, 1.0));
    let place = heard.len() - at(0.3);
    let differs = |from: usize, to: usize| {
        let pairs = heard[from..to].iter().zip(&alone[from..to]);
        pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f32::max)
    };
    assert_eq!(differs(0, at(0.5)), 0.0);
    assert!(
        differs(at(0.52), at(0.9)) > 0.01,
        "the new note is not heard"
    );
    // The first was never struck anew: once the other has died away, it is as it was.
    assert_eq!(differs(place - at(0.1), place), 0.0);
}

#[test]
fn a_change_of_speed_keeps_the_place() {
    let score = steps(12);
    let (mut engine, mut control) = on(&score);
    control.play(&passage(0.0)).unwrap();
    seconds(&mut engine, 2.0);
    control.take(program(&score, 2.0)).unwrap();
    let heard = seconds(&mut engine, 2.0);
    // From two seconds on at twice the speed: 62 for half a second, then 63.
    for (from, key) in [(0.1, 62), (0.6, 63), (1.1, 64)] {
        assert!(sounds(&heard[at(from)..at(from + 0.3)], key), "{key}");
    }
    assert!((engine.player().at() - 6.0).abs() < 0.05);
    control.take(program(&score, 0.5)).unwrap();
    let heard = seconds(&mut engine, 1.8);
    assert!(sounds(&heard[at(0.2)..at(1.7)], 66));
}

#[test]
fn another_player_goes_on_where_the_first_was() {
    let score = steps(6);
    let (mut engine, mut control) = on(&score);
    control.play(&passage(0.0)).unwrap();
    seconds(&mut engine, 2.3);
    let next = Player::new(built_in(), program(&score, 1.0)).unwrap();
    control.seat(Box::new(next)).unwrap();
    assert!(sounds(&seconds(&mut engine, 0.5)[at(0.2)..], 62));
    assert!((engine.player().at() - 2.8).abs() < 0.03);
}

#[test]
fn the_engine_never_allocates() {
    let mut score = SoundScore {
        chairs: chairs(30),
        notes: Vec::new(),
    };
    for chair in 0..30 {
        let notes = (0..40_u8).map(|i| {
            let onset = f64::from(i) * 0.1;
            note(chair, onset, onset + 0.15, 55 + (i + chair as u8) % 12)
        });
        score.notes.extend(notes);
    }
    let mut other = score.clone();
    for note in &mut other.notes {
        note.key += 1;
    }
    let (mut engine, mut control) = on(&score);
    let mut frames = [0.0; 2 * 512];
    let mut allocated = 0;
    let mut counted = |engine: &mut Engine| {
        let info = allocation_counter::measure(|| engine.fill(&mut frames));
        allocated += info.count_total + info.count_current.unsigned_abs();
    };
    let looped = Passage {
        to: Some(2.0),
        again: true,
        count_in: CountIn::new(&[0.0, 0.1], 0.2),
        ..passage(0.5)
    };
    counted(&mut engine);
    control.play(&looped).unwrap();
    for round in 0..400_u32 {
        match round % 40 {
            3 => control.take(program(&other, 1.0)).unwrap(),
            11 => control.take(program(&score, 1.5)).unwrap(),
            19 => control.stop().unwrap(),
            21 => control.play(&looped).unwrap(),
            30 => {
                let next = Player::new(built_in(), program(&score, 1.0)).unwrap();
                control.seat(Box::new(next)).unwrap();
            }
            _ => {}
        }
        counted(&mut engine);
    }
    assert_eq!(allocated, 0);
    // The counter counts.
    let info = allocation_counter::measure(|| drop(std::hint::black_box(vec![1_u8; 99])));
    assert_eq!(info.count_total, 1);
}

#[test]
fn the_line_is_where_the_music_is() {
    let score = steps(8);
    let (mut engine, mut control, mut marks) = marked(&score);
    let mut line = Line::default();
    let mut frames = [0.0; 2 * 441];
    let mut heard = 0.0;
    let mut hundredth = |engine: &mut Engine, marks: &mut Marks, line: &mut Line| {
        engine.fill(&mut frames);
        heard += 441.0;
        marks.new_ones().for_each(|m| line.told(m));
        line.at(heard)
    };
    assert_eq!(hundredth(&mut engine, &mut marks, &mut line), None);
    let looped = Passage {
        to: Some(3.0),
        again: true,
        count_in: CountIn::new(&[0.0], 0.5),
        ..passage(1.0)
    };
    control.play(&looped).unwrap();
    let mut seen = Vec::new();
    for _ in 0..600 {
        seen.push(hundredth(&mut engine, &mut marks, &mut line));
    }
    let close = |i: usize, wanted: f64| {
        let at = seen[i].unwrap();
        assert!((at - wanted).abs() < 0.005, "{i}: {at} for {wanted}");
    };
    // Half a second of counting, in which it stands; two seconds a round.
    close(20, 1.0);
    close(99, 1.5);
    close(199, 2.5);
    close(299, 1.5);
    close(499, 1.5);
    assert!(line.is_moving());
    control.take(program(&score, 0.5)).unwrap();
    let slower: Vec<_> = (0..60)
        .map(|_| hundredth(&mut engine, &mut marks, &mut line).unwrap())
        .collect();
    assert!((slower[59] - slower[9] - 0.25).abs() < 0.005);
    control.stop().unwrap();
    for _ in 0..5 {
        hundredth(&mut engine, &mut marks, &mut line);
    }
    assert_eq!(hundredth(&mut engine, &mut marks, &mut line), None);
    assert!(!line.is_moving());
}

#[test]
fn where_nobody_asks_for_sound_orders_are_refused() {
    let (engine, mut control) = on(&steps(1));
    let refused = (0..1000).find(|_| control.stop().is_err());
    assert!(refused.is_some());
    drop(engine);
}

#[derive(Clone, Debug)]
enum Told {
    Play(f64, Option<f64>, bool),
    Stop,
    Take(usize, f64),
    Wait(usize),
}

fn told() -> impl Strategy<Value = Told> {
    prop_oneof![
        (0.0..6.0, proptest::option::of(0.0..6.0), any::<bool>())
            .prop_map(|(from, to, again)| Told::Play(from, to, again)),
        Just(Told::Stop),
        (0..3_usize, 0.1..3.0).prop_map(|(i, speed)| Told::Take(i, speed)),
        (1..3000_usize).prop_map(Told::Wait),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Whatever it is told: what is heard afterwards from a place is what a fresh player plays from there.
    #[test]
    fn whatever_it_was_told_it_then_plays_like_a_fresh_one(
        all in proptest::collection::vec(told(), 1..12), from in 0.0..4.0_f64
    ) {
        let scores: Vec<SoundScore> = [1, 4, 7].map(steps).into();
        let (mut engine, mut control) = on(&scores[2]);
        for one in all {
            let mut frames = 0;
            match one {
                Told::Play(from, to, again) => {
                    control.play(&Passage { to, again, ..passage(from) }).unwrap();
                }
                Told::Stop => control.stop().unwrap(),
                Told::Take(i, speed) => control.take(program(&scores[i], speed)).unwrap(),
                Told::Wait(n) => frames = n,
            }
            let mut buffer = vec![0.0; 2 * (frames + 1)];
            engine.fill(&mut buffer);
            prop_assert!(buffer.iter().all(|s| s.is_finite()));
        }
        control.stop().unwrap();
        let block = |engine: &mut Engine| engine.fill(&mut [0.0; 2 * BLOCK * 12]);
        block(&mut engine);
        control.take(program(&scores[2], 1.0)).unwrap();
        control.play(&passage(from)).unwrap();
        let (mut fresh, mut order) = on(&scores[2]);
        order.play(&passage(from)).unwrap();
        let heard = seconds(&mut engine, 0.6);
        let wanted = seconds(&mut fresh, 0.6);
        // Blocks of the two may begin at other frames of a buffer.
        let begin = |s: &[f32]| s.iter().position(|s| *s != 0.0);
        match (begin(&heard), begin(&wanted)) {
            (Some(a), Some(b)) => {
                let count = heard.len().min(wanted.len()) - a.max(b);
                prop_assert!(a.abs_diff(b) <= BLOCK);
                for i in 0..count {
                    prop_assert!((heard[a + i] - wanted[b + i]).abs() < 1e-3);
                }
            }
            (a, b) => prop_assert_eq!(a, b),
        }
    }
}

/// A note that is not one is left out, and what is beyond all bounds does not break anything.
#[test]
fn damaged_scores_are_played_as_far_as_they_go() {
    let odd = [
        note(7, 0.0, 1.0, 60),
        note(0, 1.0, 0.5, 60),
        note(0, f64::NAN, 1.0, 60),
        note(0, 0.0, f64::INFINITY, 60),
        note(0, -1.0, 1.0, 60),
        note(0, 0.0, 1.0, 200),
        SoundNote {
            gain_db: f64::NAN,
            ..note(0, 0.0, 1.0, 60)
        },
    ];
    let score = SoundScore {
        chairs: chairs(1),
        notes: odd.to_vec(),
    };
    for speed in [0.0, -3.0, f64::NAN, f64::INFINITY, 1.0] {
        let (mut engine, mut control, _) = engine(Box::new(
            Player::new(built_in(), program(&score, speed)).unwrap(),
        ));
        control.play(&passage(f64::NAN)).unwrap();
        seconds(&mut engine, 0.2);
        control.play(&passage(f64::INFINITY)).unwrap();
        control.play(&passage(1e18)).unwrap();
        seconds(&mut engine, 0.2);
    }
}
