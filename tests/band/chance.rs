//! What must hold of every clean chance, and what players say of their instruments.

use bandwright::band::chance::scale::{AT_COMFORTABLE, AT_STRETCH, CAP, chance_of};
use bandwright::band::chance::{Cause, CauseKind, Chance, ChanceTable, NoteContext, chance};
use bandwright::band::playing::{Posture, Reach};
use bandwright::band::{
    Instrument, Level, NotesPerSecond, Part, Players, Remarks, find_instrument, instruments, limits,
};
use bandwright::music::{Dynamic, Sounding, Written};
use proptest::prelude::*;
use std::sync::Arc;

fn part_of(instrument: &Arc<Instrument>, players: Players) -> Part {
    let remarks = Remarks::default();
    Part {
        name: "P".to_owned(),
        instrument: Arc::clone(instrument),
        players,
        seats: Vec::new(),
        limits: limits(instrument, players, &remarks).unwrap(),
        remarks,
        rank: 1,
    }
}

fn part(id: &str, level: Level) -> Part {
    let mut players = Players::default();
    players.0[level.index()] = 2;
    part_of(&find_instrument(id).unwrap(), players)
}

/// The note of a written name.
fn note(part: &Part, written: &str) -> Sounding {
    let written: Written = written.parse().unwrap();
    part.instrument.transposition.sounding(written).unwrap()
}

fn neutral(part: &Part, written: Written) -> f64 {
    let pitch = part.instrument.transposition.sounding(written).unwrap();
    chance(part, pitch, &NoteContext::default()).value
}

fn of(id: &str, level: Level, written: &str, context: NoteContext) -> Chance {
    let part = part(id, level);
    chance(&part, note(&part, written), &context)
}

fn after(id: &str, level: Level, from: &str, to: &str, speed: f64) -> Chance {
    let part = part(id, level);
    let context = NoteContext {
        from: Some(note(&part, from)),
        speed: Some(NotesPerSecond(speed)),
        ..NoteContext::default()
    };
    chance(&part, note(&part, to), &context)
}

fn every(mut check: impl FnMut(&Part, Level)) {
    for instrument in instruments().unwrap() {
        for level in Level::ALL {
            let mut players = Players::default();
            players.0[level.index()] = 1;
            check(&part_of(instrument, players), level);
        }
    }
}

#[test]
fn every_comfortable_edge_is_95_and_every_stretch_edge_60() {
    let mut coinciding = 0;
    every(|part, level| {
        let range = part.instrument.range(level);
        for (easy, hard) in [
            (range.comfortable.low, range.stretch.low),
            (range.comfortable.high, range.stretch.high),
        ] {
            let place = format!("{} {level} {easy} {hard}", part.instrument.id);
            let found = neutral(part, easy);
            assert!(
                (found - chance_of(AT_COMFORTABLE)).abs() < 1e-12,
                "{place}: {found}"
            );
            let expected = if easy == hard {
                coinciding += 1;
                AT_COMFORTABLE
            } else {
                AT_STRETCH
            };
            let found = neutral(part, hard);
            assert!(
                (found - chance_of(expected)).abs() < 1e-12,
                "{place}: {found}"
            );
        }
    });
    // Where the instrument ends, the table has both edges on one note.
    assert!(coinciding > 10, "{coinciding}");
}

#[test]
fn beyond_the_end_of_an_instrument_the_chance_falls_as_over_two_semitones() {
    let clarinet = part("clarinet_bb", Level::Advanced);
    let chance = |name: &str| neutral(&clarinet, name.parse().unwrap());
    assert!((chance("E3") - 0.95).abs() < 1e-12);
    assert!((chance("D3") - 0.60).abs() < 1e-12);
    assert!(chance("C3") < 0.12);
}

#[test]
fn inside_the_comfortable_range_nothing_within_reach_is_below_95() {
    every(|part, level| {
        let range = part.instrument.range(level).comfortable;
        for written in (range.low.0..=range.high.0).map(Written) {
            let reach = part.instrument.playing.action.reach(written, level);
            let least = if reach == Reach::OutOfReach {
                0.60
            } else {
                0.95
            };
            let found = neutral(part, written);
            let place = format!("{} {level} {written}: {found}", part.instrument.id);
            assert!((least - 1e-12..=0.99 + 1e-12).contains(&found), "{place}");
        }
    });
}

#[test]
fn the_chance_falls_with_distance_beyond_either_edge() {
    every(|part, level| {
        let range = part.instrument.range(level).comfortable;
        let chance = |w: i16| {
            let sounding = part.instrument.transposition.sounding(Written(w));
            sounding.map(|p| chance(part, p, &NoteContext::default()).value)
        };
        for w in range.high.0..range.high.0 + 40 {
            if let (Some(near), Some(far)) = (chance(w), chance(w + 1)) {
                assert!(far <= near, "{} {level} {w}", part.instrument.id);
            }
        }
        for w in range.low.0 - 40..range.low.0 {
            if let (Some(far), Some(near)) = (chance(w), chance(w + 1)) {
                assert!(far <= near, "{} {level} {w}", part.instrument.id);
            }
        }
    });
}

/// The context of some raw numbers, sane or not.
fn context() -> impl Strategy<Value = NoteContext> {
    let number = || {
        prop_oneof![
            8 => 0.0..12.0_f64,
            1 => prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, 1e300]),
        ]
    };
    let from = prop::option::of(0..128_u8);
    let speed = prop::option::of(number());
    let first = (from, speed, number(), any::<bool>(), number());
    let second = (
        0..7_usize,
        0..8_u8,
        any::<bool>(),
        number(),
        any::<bool>(),
        number(),
    );
    (first, second).prop_map(
        |(
            (from, speed, run_beats, slurred, crossings),
            (dynamic, accidentals, in_key, breath, march, tired),
        )| NoteContext {
            from: from.and_then(Sounding::new),
            speed: speed.map(NotesPerSecond),
            run_beats,
            slurred,
            crossings,
            dynamic: Dynamic::ALL[dynamic],
            accidentals,
            in_key,
            breath,
            posture: if march {
                Posture::Marching
            } else {
                Posture::Seated
            },
            tired: tired / 4.0,
        },
    )
}

fn one_level(instrument: usize, level: usize) -> Part {
    let mut players = Players::default();
    players.0[level] = 1;
    part_of(&instruments().unwrap()[instrument], players)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn every_chance_is_a_chance_and_the_table_gives_it_exactly(
        i in 0..37_usize, players in prop::array::uniform5(0..3_u16), pitch in 0..128_u8, context in context()
    ) {
        let instrument = &instruments().unwrap()[i];
        let mut part = one_level(i, 2);
        part.players = Players(players);
        let pitch = Sounding::new(pitch).unwrap();
        let found = chance(&part, pitch, &context);
        prop_assert!((0.0..=1.0).contains(&found.value), "{} {}", instrument.id, found.value);
        let cached = ChanceTable::of(&part).value(pitch, &context);
        prop_assert_eq!(found.value.to_bits(), cached.to_bits(), "{}", &instrument.id);
        prop_assert_eq!(part.players.count() == 0, found.levels.is_empty());
    }

    #[test]
    fn the_causes_add_up_to_the_chance(
        i in 0..37_usize, level in 0..5_usize, pitch in 0..128_u8, context in context()
    ) {
        let part = one_level(i, level);
        let found = chance(&part, Sounding::new(pitch).unwrap(), &context);
        let sum: f64 = found.causes.iter().map(|c| c.points).sum();
        prop_assert!((chance_of(CAP - sum) - found.value).abs() < 1e-12);
        if found.value > 1e-9 {
            let log_odds = (found.value / (1.0 - found.value)).ln();
            prop_assert!((CAP - sum - log_odds).abs() < 1e-5, "{sum} {log_odds}");
        }
        for cause in &found.causes {
            prop_assert!(cause.points > 0.0 && !cause.text.is_empty(), "{cause:?}");
        }
    }

    #[test]
    fn a_better_player_is_never_less_sure(
        i in 0..37_usize, level in 0..4_usize, pitch in 0..128_u8, context in context()
    ) {
        let pitch = Sounding::new(pitch).unwrap();
        let weak = chance(&one_level(i, level), pitch, &context);
        let strong = chance(&one_level(i, level + 1), pitch, &context);
        prop_assert!(strong.value >= weak.value - 1e-12, "{weak:#?} {strong:#?}");
    }

    #[test]
    fn more_of_anything_is_never_easier(
        i in 0..37_usize, level in 0..5_usize, pitch in 0..128_u8, context in context(), more in 0.0..5.0_f64
    ) {
        let part = one_level(i, level);
        let pitch = Sounding::new(pitch).unwrap();
        let value = |context: &NoteContext| chance(&part, pitch, context).value;
        let before = value(&context);
        let faster = context.speed.map(|s| NotesPerSecond(s.0 + more));
        for harder in [
            NoteContext { speed: faster, ..context },
            NoteContext { breath: context.breath + more, ..context },
            NoteContext { tired: context.tired + more / 5.0, ..context },
            NoteContext { accidentals: context.accidentals + 1, ..context },
            NoteContext { in_key: false, ..context },
            NoteContext { crossings: context.crossings + more, ..context },
        ] {
            // A number that is none counts nothing; what is added to it stays none.
            prop_assert!(value(&harder) <= before + 1e-12, "{context:?} {harder:?}");
        }
    }

    #[test]
    fn a_wider_leap_is_never_easier(i in 0..37_usize, level in 0..5_usize, from in 20..100_u8, up in 1..20_u8) {
        let part = one_level(i, level);
        // Crossings of registers and slides are of pairs of notes, and not of their distance.
        let id = part.instrument.id.as_str();
        prop_assume!(!id.starts_with("clarinet") && !id.starts_with("trombone"));
        let to = Sounding::new(from + up).unwrap();
        let points = |from: u8| {
            let context = NoteContext { from: Sounding::new(from), ..NoteContext::default() };
            let causes = chance(&part, to, &context).causes;
            causes.iter().filter(|c| c.kind == CauseKind::Leap).map(|c| c.points).sum::<f64>()
        };
        prop_assert!(points(from - 1) >= points(from));
        prop_assert!(points(from) >= points(from + 1));
    }
}

#[test]
fn a_safe_leap_is_95_and_a_stretch_leap_60() {
    let alone = |found: &Chance| {
        let leap = found.causes.iter().find(|c| c.kind == CauseKind::Leap);
        leap.map_or(0.99, Cause::alone)
    };
    // Trumpets in their second year leap a fifth safely; half as much again is the stretch.
    let safe = after("trumpet", Level::SecondYear, "C4", "G4", 0.1);
    assert!((alone(&safe) - 0.95).abs() < 1e-12, "{safe:?}");
    let flute = after("flute", Level::Intermediate, "G4", "C#6", 0.1);
    assert!((alone(&flute) - 0.60).abs() < 1e-12, "{flute:?}");
    assert!((alone(&after("trumpet", Level::SecondYear, "C4", "D4", 0.1)) - 0.99).abs() < 1e-12);
}

#[test]
fn tiredness_takes_three_points_a_whole() {
    let tired = |tired| NoteContext {
        tired,
        ..NoteContext::default()
    };
    // The comfortable edge of a first-year trumpet, at the fatigue of the reference: .95 to .866.
    let trumpet = part("trumpet", Level::FirstYear);
    let top = trumpet.limits.comfortable.high;
    let found = chance(&trumpet, top, &tired(0.36)).value;
    assert!((found - 0.866).abs() < 5e-4, "{found}");
}

#[test]
fn each_chance_is_the_mean_over_the_players() {
    let flute = &find_instrument("flute").unwrap();
    let both = part_of(flute, Players([1, 0, 0, 0, 3]));
    let pitch = Sounding::new(86).unwrap();
    let alone = |level| chance(&part("flute", level), pitch, &NoteContext::default()).value;
    let mean = (alone(Level::FirstYear) + 3.0 * alone(Level::AllState)) / 4.0;
    let found = chance(&both, pitch, &NoteContext::default());
    assert!((found.value - mean).abs() < 1e-12);
    assert_eq!(found.levels.len(), 2);
}

// What players and teachers say: common practice, no source.

#[test]
fn very_high_flutes_are_less_clean_than_the_octave_below() {
    for level in Level::ALL {
        let flute = part("flute", level);
        for written in 93..=96 {
            let (high, below) = (
                neutral(&flute, Written(written)),
                neutral(&flute, Written(written - 12)),
            );
            assert!(high < below, "{level} {written}: {high} {below}");
        }
    }
}

#[test]
fn third_clarinets_above_the_break_are_poor() {
    for (from, to) in [("A4", "B4"), ("Bb4", "C5"), ("G4", "C5")] {
        let found = after("clarinet_bb", Level::FirstYear, from, to, 1.0);
        assert!(found.value < 0.2, "{from} {to}: {}", found.value);
    }
    let second = after("clarinet_bb", Level::SecondYear, "A4", "B4", 1.0).value;
    assert!((0.75..0.86).contains(&second), "{second}");
    let all_state = after("clarinet_bb", Level::AllState, "A4", "B4", 1.0).value;
    assert!(all_state > 0.95, "{all_state}");
}

#[test]
fn trills_over_the_break_are_avoided_below_all_state() {
    let trill = |level| {
        let part = part("clarinet_bb", level);
        let context = NoteContext {
            from: Some(note(&part, "A4")),
            crossings: 4.0,
            ..NoteContext::default()
        };
        chance(&part, note(&part, "B4"), &context).value
    };
    assert!(trill(Level::Advanced) < 0.61 && trill(Level::AllState) > 0.95);
}

#[test]
fn mellophones_above_their_safe_top_are_poor() {
    let safe = part("mellophone", Level::Advanced);
    let top = safe.instrument.range(Level::Advanced).comfortable.high;
    assert!(neutral(&safe, Written(top.0 + 2)) <= 0.60 + 1e-12);
    assert!(neutral(&safe, Written(top.0 + 4)) < 0.2);
    assert!(
        neutral(
            &part("mellophone", Level::SecondYear),
            "F5".parse().unwrap()
        ) < 0.2
    );
}

#[test]
fn low_saxophones_and_double_reeds_are_poor_at_piano() {
    let soft = NoteContext {
        dynamic: Dynamic::P,
        ..NoteContext::default()
    };
    for (id, low) in [
        ("sax_alto", "C4"),
        ("sax_tenor", "C4"),
        ("sax_baritone", "C4"),
        ("oboe", "D4"),
        ("bassoon", "C2"),
    ] {
        let loud = of(id, Level::Intermediate, low, NoteContext::default()).value;
        let found = of(id, Level::Intermediate, low, soft);
        assert!(found.value < 0.61, "{id}: {}", found.value);
        assert!(loud > found.value + 0.15, "{id}: {loud}");
        let middle = of(id, Level::Intermediate, "A4", soft).value;
        assert!(id == "bassoon" || middle > 0.9, "{id}: {middle}");
    }
}

#[test]
fn low_flutes_cannot_be_loud_and_high_brass_below_advanced_not_soft() {
    let at = |dynamic| NoteContext {
        dynamic,
        ..NoteContext::default()
    };
    assert!(of("flute", Level::Advanced, "G4", at(Dynamic::F)).value < 0.9);
    assert!(of("flute", Level::Advanced, "G5", at(Dynamic::F)).value > 0.97);
    assert!(of("flute", Level::AllState, "B6", at(Dynamic::P)).value < 0.7);
    let trumpet = part("trumpet", Level::Intermediate);
    let top = trumpet.limits.comfortable.high;
    assert!(chance(&trumpet, top, &at(Dynamic::P)).value < 0.4);
    let middle = note(&trumpet, "C5");
    assert!(chance(&trumpet, middle, &at(Dynamic::P)).value > 0.9);
}

#[test]
fn beginners_have_one_dynamic() {
    let at = |dynamic| {
        let context = NoteContext {
            dynamic,
            ..NoteContext::default()
        };
        of("clarinet_bb", Level::FirstYear, "E4", context).value
    };
    assert!(at(Dynamic::Mf) > at(Dynamic::F) && at(Dynamic::F) > at(Dynamic::Ff));
    assert!((at(Dynamic::F) - 0.95).abs() < 1e-12 && (at(Dynamic::Ff) - 0.60).abs() < 1e-12);
    assert!(at(Dynamic::Mp) > at(Dynamic::P) && at(Dynamic::P) > at(Dynamic::Pp));
}

#[test]
fn trombones_do_not_go_from_b_to_b_flat_fast() {
    let value = |level, speed| after("trombone", level, "B2", "Bb2", speed).value;
    assert!(value(Level::Intermediate, 0.5) > 0.9);
    assert!(value(Level::Intermediate, 3.0) < 0.1);
    assert!(value(Level::AllState, 5.0) < 0.6);
    let easy = after("trombone", Level::Intermediate, "A2", "Bb2", 3.0).value;
    assert!(easy > 0.9, "{easy}");
}

#[test]
fn first_years_do_not_reach_the_sixth_position() {
    let at = |level| of("trombone", level, "C3", NoteContext::default());
    let first = at(Level::FirstYear);
    assert!((first.value - 0.60).abs() < 1e-12);
    assert_eq!(
        first.causes[0].text,
        "C3, position 6: out of reach for first-year players"
    );
    assert!(at(Level::Intermediate).value >= 0.95 - 1e-12);
}

#[test]
fn long_valve_combinations_are_sharp_until_the_slide_is_used() {
    let tuned = |level| {
        let found = of("trumpet", level, "D4", NoteContext::default());
        found.causes.iter().all(|c| c.kind != CauseKind::Tuning)
    };
    assert!(!tuned(Level::SecondYear) && tuned(Level::Intermediate));
    let mellophone = part("mellophone", Level::AllState);
    let value = |posture| {
        let context = NoteContext {
            posture,
            ..NoteContext::default()
        };
        chance(&mellophone, note(&mellophone, "D4"), &context).value
    };
    assert!(value(Posture::Marching) < value(Posture::Seated));
}

#[test]
fn causes_are_told_in_words() {
    let found = after("clarinet_bb", Level::SecondYear, "A4", "B4", 1.0);
    let text: Vec<String> = found.causes.iter().map(ToString::to_string).collect();
    assert!(
        text.iter().any(|t| t.starts_with(
            "over the break (classic), from A4: hard for second-year players (by itself 0.85)"
        )),
        "{text:?}"
    );
    let high = of(
        "mellophone",
        Level::SecondYear,
        "F5",
        NoteContext::default(),
    );
    assert_eq!(
        high.causes[0].text,
        "F5 lies beyond D5, the top that second-year players can reach"
    );
}
