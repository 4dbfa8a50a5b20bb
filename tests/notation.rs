//! Notes on staves: properties of whatever is written and placed, and whole bars as a copyist would
//! write them (common practice, no source).

use bandwright::music::meter::MeterChange;
use bandwright::music::{
    BarNumber, KeySignature, Letter, Meter, MeterMap, Mode, PitchClass, Sounding, SpelledName,
    Tick, Ticks, TicksPerQuarter, Transposition, Written,
};
use bandwright::notation::{
    Accidental, Base, Bounds, Clef, Columns, Event, Grains, Reach, StaveFrame, StaveInput, Symbol,
    WrittenBar, place_bar, write_stave,
};
use proptest::prelude::*;
use std::collections::BTreeMap;

const BARS: u32 = 6;

fn meters(quarter: u16, meter: (u8, u8)) -> MeterMap {
    let change = MeterChange {
        at: Tick::ZERO,
        meter: Meter::new(meter.0, meter.1).unwrap(),
    };
    MeterMap::new(TicksPerQuarter::new(quarter).unwrap(), [change])
}

fn key(fifths: i8) -> KeySignature {
    KeySignature::new(fifths, Mode::Major).unwrap()
}

fn written(
    notes: &[StaveInput],
    meters: &MeterMap,
    fifths: i8,
    bars: (u32, u32),
) -> Vec<WrittenBar> {
    let frame = StaveFrame {
        meters,
        keys: &[(Tick::ZERO, key(fifths))],
        transposition: None,
        signatures: true,
        first: BarNumber(bars.0),
        last: BarNumber(bars.1),
    };
    write_stave(notes, &frame)
}

fn input(index: usize, onset: u64, duration: u64, midi: u8, fifths: i8) -> StaveInput {
    let pitch = Sounding::new(midi).unwrap();
    StaveInput {
        onset: Tick(onset),
        duration: Ticks(duration),
        pitch,
        name: SpelledName::in_key(pitch.class(), key(fifths)),
        index,
    }
}

/// A line from words such as `4/C5 2/r 6/Eb4+G4`: lengths in 16ths.
fn line(words: &str) -> Vec<StaveInput> {
    let (mut at, mut notes) = (0, Vec::new());
    for word in words.split_whitespace() {
        let (length, names) = word.split_once('/').unwrap();
        let ticks = length.parse::<u64>().unwrap() * 120;
        for name in names.split('+').filter(|n| *n != "r") {
            let midi: Written = name.parse().unwrap();
            notes.push(StaveInput {
                onset: Tick(at),
                duration: Ticks(ticks),
                pitch: Sounding::new(midi.0 as u8).unwrap(),
                name: spelled(name),
                index: notes.len(),
            });
        }
        at += ticks;
    }
    notes
}

fn spelled(name: &str) -> SpelledName {
    let letter = match &name[..1] {
        "C" => Letter::C,
        "D" => Letter::D,
        "E" => Letter::E,
        "F" => Letter::F,
        "G" => Letter::G,
        "A" => Letter::A,
        _ => Letter::B,
    };
    let alteration = name.matches('#').count() as i8 - name[1..].matches('b').count() as i8;
    SpelledName { letter, alteration }
}

/// A bar in words: values of each voice, `r` before rests, `~` behind what is tied on, signs shown.
fn told(bar: &WrittenBar) -> String {
    let event = |e: &Event| {
        let rest = if e.is_rest() { "r " } else { "" };
        let signs: Vec<&str> = e
            .notes
            .iter()
            .filter_map(|n| n.accidental)
            .map(Accidental::word)
            .collect();
        let signs = if signs.is_empty() {
            String::new()
        } else {
            format!("({})", signs.join(" "))
        };
        let tie = if e.notes.iter().any(|n| n.tied_to) {
            "~"
        } else {
            ""
        };
        format!("{rest}{}{signs}{tie}", e.value.words())
    };
    let voices = bar.voices.iter().map(|v| {
        let events: Vec<String> = v.events.iter().map(event).collect();
        events.join(", ")
    });
    let voices: Vec<String> = voices.collect();
    voices.join(" | ")
}

fn check(meter: (u8, u8), fifths: i8, words: &str, expected: &[&str]) {
    let meters = meters(480, meter);
    let bars = written(&line(words), &meters, fifths, (1, expected.len() as u32));
    let found: Vec<String> = bars.iter().map(told).collect();
    assert_eq!(found, expected, "{words}");
}

#[test]
fn band_rhythms_are_written_as_a_copyist_does() {
    check(
        (4, 2),
        0,
        "6/C5 2/D5 4/E5 4/r 2/C5 4/D5 2/E5 2/F5 4/E5 2/D5",
        &[
            "dotted quarter, eighth, quarter, r quarter",
            "eighth, quarter, eighth, eighth, quarter, eighth",
        ],
    );
    check(
        (4, 2),
        0,
        "12/r 2/G4 14/C5 4/r",
        &[
            "r half, r quarter, eighth, eighth~",
            "dotted half, r quarter",
        ],
    );
    check(
        (3, 2),
        0,
        "3/C5 1/D5 2/E5 2/F5 4/r 12/r",
        &["dotted eighth, 16th, eighth, eighth, r quarter", "r whole"],
    );
    check(
        (6, 3),
        0,
        "6/C5 4/D5 2/E5 2/F5 4/G5 6/r",
        &[
            "dotted quarter, quarter, eighth",
            "eighth, quarter, r dotted quarter",
        ],
    );
    check((2, 1), 0, "4/C5 8/D5 4/E5", &["quarter, half, quarter"]);
}

#[test]
fn accidentals_are_shown_once_a_bar_and_not_on_ties() {
    check(
        (4, 2),
        1,
        "4/F#5 4/F5 4/F5 4/F#5 4/F#5 4/G#5 4/G5 8/C#5 4/C#5 4/C5 4/r",
        &[
            "quarter, quarter(natural), quarter, quarter(sharp)",
            "quarter, quarter(sharp), quarter(natural), quarter(sharp)~",
            "quarter, quarter(sharp), quarter(natural), r quarter",
        ],
    );
}

#[test]
fn a_held_tune_over_moving_chords_has_two_voices() {
    let mut notes = line("16/G5");
    notes.extend(
        line("4/C5+E5 4/B4+D5 8/C5")
            .into_iter()
            .map(|n| StaveInput {
                index: n.index + 1,
                ..n
            }),
    );
    let bars = written(&notes, &meters(480, (4, 2)), 0, (1, 1));
    assert_eq!(told(&bars[0]), "whole | quarter, quarter, half");
}

#[test]
fn parts_are_written_in_their_own_key() {
    let meters = meters(480, (4, 2));
    let frame = StaveFrame {
        meters: &meters,
        keys: &[(Tick::ZERO, key(-3)), (Tick(1920), key(-1))],
        transposition: Some(Transposition::semitones(-9)),
        signatures: true,
        first: BarNumber(1),
        last: BarNumber(3),
    };
    let bars = write_stave(&line("16/Eb4"), &frame);
    let head = bars[0].voices[0].events[0].notes[0];
    assert_eq!((head.name.to_string().as_str(), head.place.step), ("C", 35));
    let keys: Vec<i8> = bars
        .iter()
        .filter_map(|b| b.key)
        .map(KeySignature::fifths)
        .collect();
    assert_eq!(keys, [0, 2, 2]);
    assert!(bars[0].old_key.is_none() && bars[2].old_key.is_none());
    assert_eq!(bars[1].old_key.map(KeySignature::fifths), Some(0));
}

#[test]
fn beams_go_by_beat_or_half_bar() {
    let groups = |meter, words: &str| -> Vec<Vec<usize>> {
        let bars = written(&line(words), &meters(480, meter), 0, (1, 1));
        let beams = bars[0].voices[0].beams.iter();
        beams.map(|g| g.events.clone()).collect()
    };
    let eighths = "2/C5 2/D5 2/E5 2/F5 2/G5 2/F5 2/E5 2/D5";
    assert_eq!(groups((4, 2), eighths), [[0, 1, 2, 3], [4, 5, 6, 7]]);
    assert_eq!(groups((3, 2), eighths), [[0, 1, 2, 3, 4, 5]]);
    assert_eq!(groups((6, 3), eighths), [[0, 1, 2], [3, 4, 5]]);
    let mixed = groups((4, 2), "1/C5 1/D5 2/E5 2/F5 2/G5 4/r 2/E5 2/r");
    assert_eq!(mixed, [vec![0, 1, 2], vec![3, 4]]);
    let bars = written(
        &line("3/C5 1/D5 1/E5 3/F5 8/r"),
        &meters(480, (4, 2)),
        0,
        (1, 1),
    );
    let hooks: Vec<Reach> = (bars[0].voices[0].beams.iter())
        .filter_map(|g| g.lines.get(1).map(|l| l.reach))
        .collect();
    let hook = |at, rightwards| Reach::Hook { at, rightwards };
    assert_eq!(hooks, [hook(1, false), hook(0, true)]);
}

#[test]
fn triplets_have_one_number_a_beat() {
    let third = |i: u64, midi| input(i as usize, i * 160, 160, midi, 0);
    let mut notes: Vec<StaveInput> = (0..3).map(|i| third(i, 72)).collect();
    notes.push(input(3, 480, 480, 74, 0));
    // A triplet of quarters over the second half.
    notes.extend((0..3).map(|i| input(4 + i as usize, 960 + i * 320, 320, 76, 0)));
    let bars = written(&notes, &meters(480, (4, 2)), 0, (1, 1));
    let triplet = "in a triplet";
    assert_eq!(
        told(&bars[0]),
        format!(
            "eighth {triplet}, eighth {triplet}, eighth {triplet}, quarter, quarter {triplet}, \
             quarter {triplet}, quarter {triplet}"
        )
    );
    let tuplets = &bars[0].voices[0].tuplets;
    assert_eq!(tuplets.len(), 2);
    let columns = Columns::of(&[(&bars[0], Clef::Treble)]);
    let placed = place_bar(&bars[0], &columns, Clef::Treble);
    let brackets: Vec<bool> = (placed.iter())
        .filter_map(|s| match s {
            Symbol::Tuplet { bracket, .. } => Some(*bracket),
            _ => None,
        })
        .collect();
    assert_eq!(brackets, [false, true]);
}

fn any_meter() -> impl Strategy<Value = (u8, u8)> {
    prop_oneof![
        4 => prop::sample::select(vec![(4, 2), (3, 2), (2, 2), (2, 1), (6, 3), (9, 3), (12, 3), (3, 3), (5, 2), (7, 3)]),
        1 => (1_u8..=24, 0_u8..=7),
    ]
}

fn any_quarter() -> impl Strategy<Value = u16> {
    prop::sample::select(vec![1, 2, 3, 7, 24, 96, 120, 480, 960, 1000, 32767])
}

/// Notes anywhere in the first bars: onset and length as shares of a bar, and pitch.
fn any_notes(most: usize) -> impl Strategy<Value = Vec<(f64, f64, u8)>> {
    prop::collection::vec((0.0..4.0_f64, 0.0..1.5_f64, 40_u8..90), 0..most)
}

fn at_random(notes: &[(f64, f64, u8)], meters: &MeterMap, fifths: i8) -> Vec<StaveInput> {
    let bar = meters.bar_end(BarNumber(1)).0 as f64;
    let notes = notes.iter().enumerate();
    let one = |(i, (at, length, midi)): (usize, &(f64, f64, u8))| {
        let length = ((length * bar) as u64).max(1);
        input(i, (at * bar) as u64, length, *midi, fifths)
    };
    notes.map(one).collect()
}

/// One note after the other: lengths of notes and of the rests before them on a grid.
fn one_voice(lengths: &[(u64, u64, u8)], unit: u64, fifths: i8) -> Vec<StaveInput> {
    let mut at = 0;
    let mut notes = Vec::new();
    for (rest, length, midi) in lengths {
        at += rest * unit;
        notes.push(input(notes.len(), at, length * unit, *midi, fifths));
        at += length * unit;
    }
    notes
}

fn placed(bars: &[WrittenBar], clef: Clef) -> Vec<(Columns, Vec<Symbol>)> {
    let place = |bar: &WrittenBar| {
        let columns = Columns::of(&[(bar, clef)]);
        let symbols = place_bar(bar, &columns, clef);
        (columns, symbols)
    };
    bars.iter().map(place).collect()
}

/// What must not stand on one another: heads, accidentals, dots, rests.
fn solid(symbols: &[Symbol]) -> Vec<(Bounds, Option<(f32, f32)>)> {
    let solid = symbols.iter().filter_map(|s| match s {
        // Two voices, or a note that is there twice, may share a head.
        Symbol::Head { at, .. } => Some((s.bounds(), Some((at.x, at.y)))),
        Symbol::Accidental { .. } | Symbol::Dot { .. } | Symbol::Rest { .. } => {
            Some((s.bounds(), None))
        }
        _ => None,
    });
    solid.collect()
}

fn collision(symbols: &[Symbol]) -> Option<(Bounds, Bounds)> {
    let solid = solid(symbols);
    for (i, (a, a_head)) in solid.iter().enumerate() {
        for (b, b_head) in &solid[i + 1..] {
            let heads = a_head.is_some() && b_head.is_some();
            let shared = heads && a_head == b_head;
            // Heads on both sides of a stem touch it.
            let slack = if heads { 0.12 } else { 0.0 };
            let narrow = Bounds {
                left: a.left + slack,
                right: a.right - slack,
                bottom: a.bottom + slack,
                top: a.top - slack,
            };
            if !shared && narrow.overlaps(b) {
                return Some((*a, *b));
            }
        }
    }
    None
}

/// What a player reads: signature and signs up to the barline, tied notes as before.
fn misread(bars: &[WrittenBar]) -> Option<String> {
    let mut tied: BTreeMap<usize, i8> = BTreeMap::new();
    for bar in bars {
        let fifths = bar.key.map_or(0, KeySignature::fifths);
        let in_signature = |step: i16| {
            let scale = (0..7).map(|i| SpelledName::from_fifths(i32::from(fifths) - 1 + i));
            let letter = [
                Letter::C,
                Letter::D,
                Letter::E,
                Letter::F,
                Letter::G,
                Letter::A,
                Letter::B,
            ][step.rem_euclid(7) as usize];
            scale
                .into_iter()
                .find(|n| n.letter == letter)
                .map_or(0, |n| n.alteration)
        };
        let mut order: Vec<(Grains, usize, &Event)> = Vec::new();
        for (v, voice) in bar.voices.iter().enumerate() {
            order.extend(voice.events.iter().map(|e| (e.place, v, e)));
        }
        order.sort_by_key(|(place, v, _)| (*place, *v));
        let mut holds: BTreeMap<i16, i8> = BTreeMap::new();
        for (_, _, event) in order {
            for note in &event.notes {
                let step = note.place.step;
                let read = match (note.accidental, note.tied_from) {
                    (Some(sign), _) => {
                        let alteration = match sign {
                            Accidental::DoubleFlat => -2,
                            Accidental::Flat => -1,
                            Accidental::Natural => 0,
                            Accidental::Sharp => 1,
                            Accidental::DoubleSharp => 2,
                        };
                        holds.insert(step, alteration);
                        alteration
                    }
                    (None, true) => tied.get(&note.index).copied().unwrap_or(99),
                    (None, false) => holds
                        .get(&step)
                        .copied()
                        .unwrap_or_else(|| in_signature(step)),
                };
                if read != note.place.accidental {
                    return Some(format!("bar {}: {} read as {read}", bar.number, note.name));
                }
                tied.insert(note.index, read);
            }
        }
    }
    None
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn every_bar_is_full_and_nothing_collides(
        quarter in any_quarter(),
        meter in any_meter(),
        notes in any_notes(14),
        fifths in -6_i8..=6,
        bass in any::<bool>(),
    ) {
        let meters = meters(quarter, meter);
        let notes = at_random(&notes, &meters, fifths);
        let bars = written(&notes, &meters, fifths, (1, BARS));
        for bar in &bars {
            for voice in &bar.voices {
                let mut at = Grains::ZERO;
                for event in &voice.events {
                    prop_assert_eq!(event.place, at);
                    prop_assert!(event.whole_bar || event.value.grains() == event.grains);
                    at = event.end();
                }
                prop_assert_eq!(at, bar.length);
            }
        }
        // No note is lost.
        for note in &notes {
            let heads = bars.iter().flat_map(|b| &b.voices).flat_map(|v| &v.events).flat_map(|e| &e.notes);
            prop_assert!(heads.into_iter().any(|h| h.index == note.index));
        }
        prop_assert_eq!(misread(&bars), None);
        let clef = if bass { Clef::Bass } else { Clef::Treble };
        for (columns, symbols) in placed(&bars, clef) {
            let xs: Vec<f32> = columns.places.iter().map(|p| p.1).collect();
            prop_assert!(xs.windows(2).all(|x| x[0] < x[1]));
            prop_assert!(xs.iter().all(|x| *x < columns.width));
            prop_assert_eq!(collision(&symbols), None);
            for symbol in &symbols {
                let b = symbol.bounds();
                prop_assert!([b.left, b.right, b.top, b.bottom].iter().all(|v| v.is_finite()));
                prop_assert!(b.left > -0.01 && b.right < columns.width + 0.01, "{symbol:?}");
            }
        }
        prop_assert_eq!(&bars, &written(&notes, &meters, fifths, (1, BARS)));
        // A bar alone is as it is among the others.
        prop_assert_eq!(&bars[2..3], &written(&notes, &meters, fifths, (3, 3))[..]);
    }

    #[test]
    fn a_line_is_written_in_full_and_tied_together(
        meter in any_meter(),
        lengths in prop::collection::vec((0_u64..5, 1_u64..20, 55_u8..85), 1..20),
        fifths in -6_i8..=6,
    ) {
        let meters = meters(480, (meter.0, meter.1.min(4)));
        let notes = one_voice(&lengths, 120, fifths);
        let last = meters.bar(Tick(notes.iter().map(|n| n.onset.0 + n.duration.0).max().unwrap()));
        let bars = written(&notes, &meters, fifths, (1, last.0));
        let events: Vec<&Event> = bars.iter().flat_map(|b| &b.voices[0].events).collect();
        prop_assert!(bars.iter().all(|b| b.voices.len() == 1));
        // Two dotted eighths in a beat of three eighths are a duplet, nothing else is a tuplet.
        let duplet = |b: &WrittenBar| b.voices[0].tuplets.iter().all(|t| t.number == 2);
        prop_assert!(bars.iter().all(duplet));
        for note in &notes {
            let own: Vec<&&Event> = events.iter().filter(|e| e.notes.iter().any(|n| n.index == note.index)).collect();
            prop_assert_eq!(own[0].at, note.onset);
            let grains: u32 = own.iter().map(|e| e.grains.0).sum();
            prop_assert_eq!(u64::from(grains) * 480, note.duration.0 * 192);
        }
        for pair in events.windows(2) {
            for note in pair[0].notes.iter().filter(|n| n.tied_to) {
                prop_assert!(pair[1].notes.iter().any(|n| n.index == note.index && n.tied_from));
            }
            for note in pair[1].notes.iter().filter(|n| n.tied_from) {
                prop_assert!(pair[0].notes.iter().any(|n| n.index == note.index && n.tied_to));
            }
        }
        prop_assert!(events.last().unwrap().notes.iter().all(|n| !n.tied_to));
        prop_assert!(events[0].notes.iter().all(|n| !n.tied_from));
    }

    #[test]
    fn beams_join_short_notes_inside_beats(
        meter in prop::sample::select(vec![(4_u8, 2_u8, 192_u32), (3, 2, 192), (2, 1, 192), (6, 3, 288), (12, 3, 288)]),
        lengths in prop::collection::vec((0_u64..2, 1_u64..5, 60_u8..80), 1..30),
    ) {
        let meters = meters(480, (meter.0, meter.1));
        let notes = one_voice(&lengths, 120, 0);
        for bar in written(&notes, &meters, 0, (1, BARS)) {
            for voice in &bar.voices {
                for group in &voice.beams {
                    let events: Vec<&Event> = group.events.iter().map(|e| &voice.events[*e]).collect();
                    prop_assert!(events.len() > 1);
                    prop_assert!(group.events.windows(2).all(|e| e[1] == e[0] + 1));
                    prop_assert!(events.iter().all(|e| !e.is_rest() && e.value.base >= Base::Eighth));
                    let eighths = events.iter().all(|e| e.value.base == Base::Eighth && e.value.dots == 0);
                    let one_beat = events.iter().all(|e| e.place.0 / meter.2 == events[0].place.0 / meter.2);
                    prop_assert!(one_beat || eighths);
                    // Every flag became a beam.
                    for (i, event) in events.iter().enumerate() {
                        let over = group.lines.iter().filter(|l| match l.reach {
                            Reach::Between { from, to } => from <= i && i <= to,
                            Reach::Hook { at, .. } => at == i,
                        });
                        prop_assert_eq!(over.count(), usize::from(event.value.base.flags()));
                    }
                }
            }
        }
    }

    #[test]
    fn staves_share_their_columns(
        upper in any_notes(8),
        lower in any_notes(8),
        fifths in -6_i8..=6,
    ) {
        let meters = meters(480, (4, 2));
        let write = |notes: &[(f64, f64, u8)]| {
            written(&at_random(notes, &meters, fifths), &meters, fifths, (1, 4))
        };
        for (a, b) in write(&upper).iter().zip(&write(&lower)) {
            let both = Columns::of(&[(a, Clef::Treble), (b, Clef::Bass)]);
            prop_assert_eq!(collision(&place_bar(a, &both, Clef::Treble)), None);
            prop_assert_eq!(collision(&place_bar(b, &both, Clef::Bass)), None);
            let mut last = -1.0;
            for i in 0..=16_u64 {
                let at = Tick(a.start.0 + i * 120);
                let x = both.x_at(at);
                prop_assert!(x > last);
                last = x;
                let back = both.tick_at(x);
                prop_assert!(back.0.abs_diff(at.0) <= 1, "{} {}", back.0, at.0);
            }
        }
    }
}

#[test]
fn a_pickup_bar_is_written_up_to_the_next_meter() {
    let change = |at, n, d| MeterChange {
        at: Tick(at),
        meter: Meter::new(n, d).unwrap(),
    };
    let meters = MeterMap::new(
        TicksPerQuarter::new(480).unwrap(),
        [change(0, 4, 2), change(480, 4, 2), change(480 + 1920, 3, 2)],
    );
    let notes = line("2/G4 2/A4 16/C5");
    let bars = written(&notes, &meters, 0, (1, 3));
    assert_eq!(bars[0].length, Grains(192));
    assert_eq!(told(&bars[0]), "eighth, eighth");
    assert_eq!(told(&bars[1]), "whole");
    assert!(bars[2].new_meter && !bars[1].new_meter);
    assert_eq!(told(&bars[2]), "r whole");
}

#[test]
fn pitch_classes_do_not_get_lost_on_the_way() {
    // Written names stand for the written pitch in every transposition of the band.
    for semitones in [-14, -9, -7, -2, 0, 3, 12, 24, -21, -26] {
        let meters = meters(480, (4, 2));
        let frame = StaveFrame {
            meters: &meters,
            keys: &[(Tick::ZERO, key(-2))],
            transposition: Some(Transposition::semitones(semitones)),
            signatures: true,
            first: BarNumber(1),
            last: BarNumber(1),
        };
        for midi in 36..90 {
            let note = input(0, 0, 480, midi, -2);
            let bars = write_stave(&[note], &frame);
            let head = bars[0].voices[0].events[0].notes[0];
            let natural = [0, 2, 4, 5, 7, 9, 11][head.place.step.rem_euclid(7) as usize];
            let octave = i32::from(head.place.step.div_euclid(7));
            let pitch = 12 * (octave + 1) + natural + i32::from(head.place.accidental);
            assert_eq!(pitch, i32::from(midi) - i32::from(semitones));
            assert_eq!(PitchClass::of(pitch), head.name.class());
        }
    }
}
