//! Loudness: worked values, published equivalences as bounds, and what always holds.

use bandwright::band::loudness::{
    Decibels, Partial, Situation, bark, excitation, line_level, one_player, part_level, plain,
    presence, register_adds, target, tone, toward_audience,
};
use bandwright::band::{Band, Instrument, Level, find_instrument, instruments, read_band};
use bandwright::music::{Dynamic, Sounding};
use proptest::prelude::*;
use std::sync::Arc;

fn near(a: f64, b: f64, within: f64) -> bool {
    (a - b).abs() <= within
}

/// The sounding pitch at a share of the professional range.
fn at(instrument: &Instrument, share: f64) -> Sounding {
    let (low, high) = (
        instrument.professional.low.0,
        instrument.professional.high.0,
    );
    let written = f64::from(low) + share * f64::from(high - low);
    let written = bandwright::music::Written(written.round() as i16);
    instrument.transposition.sounding(written).unwrap()
}

fn named(id: &str) -> Arc<Instrument> {
    find_instrument(id).unwrap()
}

/// A good player's level, what the register adds taken off.
fn line(id: &str, dynamic: Dynamic) -> f64 {
    let instrument = named(id);
    let middle = at(&instrument, 0.5);
    let level = one_player(&instrument, Level::AllState, middle, dynamic).unwrap();
    level.unwrap().0 - register_adds(&instrument, middle).unwrap().unwrap()
}

/// pp, p, mf, f, ff as worked, and the mean forte remembered from Meyer.
const TABLE: [(&str, [f64; 5], Option<f64>); 24] = [
    ("flute", [82.0, 84.4, 89.2, 91.6, 94.0], Some(91.0)),
    ("oboe", [83.0, 85.4, 90.2, 92.6, 95.0], Some(93.0)),
    ("clarinet_bb", [77.0, 81.0, 89.0, 93.0, 97.0], Some(93.0)),
    ("bassoon", [81.0, 84.0, 90.0, 93.0, 96.0], Some(93.0)),
    ("horn", [86.0, 90.2, 98.6, 102.8, 107.0], Some(102.0)),
    ("trumpet", [89.0, 92.0, 98.0, 101.0, 104.0], Some(101.0)),
    ("trombone", [89.0, 92.2, 98.6, 101.8, 105.0], Some(101.0)),
    ("tuba", [93.0, 96.0, 102.0, 105.0, 108.0], Some(104.0)),
    ("piccolo", [85.0, 88.6, 95.8, 99.4, 103.0], None),
    ("clarinet_eb", [80.0, 83.8, 91.4, 95.2, 99.0], None),
    ("clarinet_bass", [77.0, 80.6, 87.8, 91.4, 95.0], None),
    ("sax_soprano", [82.0, 85.6, 92.8, 96.4, 100.0], None),
    ("sax_alto", [82.0, 85.8, 93.4, 97.2, 101.0], None),
    ("sax_tenor", [83.0, 86.6, 93.8, 97.4, 101.0], None),
    ("sax_baritone", [84.0, 87.6, 94.8, 98.4, 102.0], None),
    ("cornet", [87.0, 90.0, 96.0, 99.0, 102.0], None),
    ("flugelhorn", [85.0, 88.0, 94.0, 97.0, 100.0], None),
    ("mellophone", [88.0, 91.4, 98.2, 101.6, 105.0], None),
    ("baritone_bc", [87.0, 90.2, 96.6, 99.8, 103.0], None),
    (
        "marching_baritone_tc",
        [87.0, 90.2, 96.6, 99.8, 103.0],
        None,
    ),
    ("euphonium_bc", [88.0, 91.4, 98.2, 101.6, 105.0], None),
    ("trombone_bass", [90.0, 93.2, 99.6, 102.8, 106.0], None),
    ("sousaphone", [93.0, 96.0, 102.0, 105.0, 108.0], None),
    ("marching_contra", [93.0, 96.0, 102.0, 105.0, 108.0], None),
];

#[test]
fn levels_as_worked() {
    let five = [
        Dynamic::Pp,
        Dynamic::P,
        Dynamic::Mf,
        Dynamic::F,
        Dynamic::Ff,
    ];
    for (id, row, mean_forte) in TABLE {
        for (dynamic, value) in five.into_iter().zip(row) {
            let found = line(id, dynamic);
            assert!(near(found, value, 0.051), "{id} {dynamic}: {found}");
        }
        if let Some(mean) = mean_forte {
            assert!(near(line(id, Dynamic::F), mean, 1.0 + 1e-9), "{id}");
        }
    }
}

/// Single sustained notes reach further than moving passages (from memory of Meyer, +-3 dB): no row
/// goes beyond them, not at `fff` either.
#[test]
fn levels_stay_within_the_extremes() {
    let extremes = [
        ("flute", 67.0, 103.0),
        ("oboe", 70.0, 103.0),
        ("clarinet_bb", 65.0, 106.0),
        ("bassoon", 72.0, 102.0),
        ("horn", 65.0, 117.0),
        ("trumpet", 78.0, 111.0),
        ("trombone", 73.0, 113.0),
        ("tuba", 77.0, 112.0),
    ];
    for (id, softest, loudest) in extremes {
        assert!(line(id, Dynamic::Pp) > softest, "{id}");
        assert!(line(id, Dynamic::Fff) < loudest, "{id}");
    }
}

#[test]
fn winds_have_a_row_and_what_is_struck_or_amplified_has_none() {
    for instrument in instruments().unwrap() {
        let found = one_player(instrument, Level::Advanced, at(instrument, 0.5), Dynamic::F);
        let wanted = instrument.wind || instrument.id == "double_bass";
        assert_eq!(found.unwrap().is_some(), wanted, "{}", instrument.id);
    }
}

#[test]
fn sums_as_worked() {
    let one = Decibels(0.0);
    let worked = [
        (2, 3.0),
        (3, 4.8),
        (4, 6.0),
        (6, 7.8),
        (8, 9.0),
        (10, 10.0),
        (12, 10.8),
        (16, 12.0),
        (20, 13.0),
    ];
    for (players, more) in worked {
        assert!(near(one.times(players).0, more, 0.051), "{players}");
    }
    let pairs = [
        (0.0, 3.01),
        (1.0, 2.54),
        (3.0, 1.76),
        (6.0, 0.97),
        (10.0, 0.41),
        (15.0, 0.14),
    ];
    for (apart, more) in pairs {
        let sum = Decibels::together([one, Decibels(-apart)]);
        assert!(near(sum.0, more, 0.0051), "{apart}: {sum}");
    }
    assert_eq!(Decibels::together([]), Decibels::SILENCE);
}

/// The worked band at forte, with the mean levels remembered from Meyer (ours for the saxophones).
#[test]
fn the_worked_band() {
    let section = |each: f64, players| Decibels(each).times(players);
    let (flutes, clarinets, altos) = (section(91.0, 6), section(93.0, 8), section(97.0, 4));
    let (tenors, trumpets, horns) = (section(97.4, 2), section(101.0, 6), section(102.0, 2));
    let (trombones, tubas) = (section(101.0, 4), section(104.0, 2));
    let sections = [
        flutes, clarinets, altos, tenors, trumpets, horns, trombones, tubas,
    ];
    let worked = [98.8, 102.0, 103.0, 100.4, 108.8, 105.0, 107.0, 107.0];
    for (found, value) in sections.into_iter().zip(worked) {
        assert!(near(found.0, value, 0.06), "{found} {value}");
    }
    assert!(near(Decibels::together(sections).0, 114.2, 0.06));
    let rest = Decibels::together([horns, trombones, tubas, tenors]);
    assert!(near((trumpets - rest).0, -2.8, 0.06));
    let woodwinds = Decibels::together([flutes, clarinets, altos]);
    assert!(near((woodwinds - rest).0, -5.2, 0.06));
    assert!(near((woodwinds - (rest - Decibels(6.0))).0, 0.8, 0.06));
}

/// Rimsky-Korsakov, Principles of Orchestration, chapter I: at forte a trumpet is as loud as a trombone
/// or a tuba, as two horns, as four single woodwinds. In dB: horn -3, woodwind -6; by the table
/// woodwinds -8.5. What comes out must lie between, horn -2 to -5 and woodwinds -6 to -9, if the horn's bell
/// counts and the trumpet's does not. With the 3 dB of a forward bell as well, the table's own numbers
/// go beyond these bounds: the two sources do not agree there, and the last lines say by how much.
#[test]
fn equivalences_of_the_trade() {
    let front = |id: &str| line(id, Dynamic::F) + toward_audience(&named(id)).unwrap().0;
    let trumpet = line("trumpet", Dynamic::F);
    let woodwinds = ["flute", "oboe", "clarinet_bb", "bassoon"];
    let mean: f64 = woodwinds.iter().map(|id| line(id, Dynamic::F)).sum::<f64>() / 4.0;
    assert!(
        (-9.0..=-6.0).contains(&(mean - trumpet)),
        "{}",
        mean - trumpet
    );
    let horn = front("horn") - trumpet;
    assert!((-5.0..=-2.0).contains(&horn), "{horn}");
    assert!(near(front("horn") - front("trumpet"), -5.2, 0.06));
    assert!(near(mean - front("trumpet"), -11.45, 0.06));
    assert!(near(line("trombone", Dynamic::F), trumpet, 1.0));
    // The bell of the tuba points upwards, the trumpet's forward.
    assert!(near(front("tuba"), front("trumpet"), 1.1));
}

#[test]
fn directions() {
    let adds = [
        ("trumpet", 3.0),
        ("cornet", 3.0),
        ("trombone", 3.0),
        ("mellophone", 3.0),
        ("marching_baritone_bc", 3.0),
        ("sousaphone", 3.0),
        ("euphonium_bc", 0.0),
        ("tuba", 0.0),
        ("horn", -4.0),
        ("flute", 0.0),
        ("marimba", 0.0),
    ];
    for (id, more) in adds {
        assert_eq!(toward_audience(&named(id)).unwrap(), Decibels(more), "{id}");
    }
}

#[test]
fn registers_as_given() {
    let rows = [
        ("flute", [-8.0, -4.0, 0.0, 4.0, 7.0]),
        ("oboe", [3.0, 1.0, 0.0, -1.0, -3.0]),
        ("clarinet_bb", [-1.0, -3.0, 0.0, 3.0, 6.0]),
        ("bassoon", [2.0, 2.0, 0.0, -3.0, -4.0]),
        ("sax_alto", [2.0, 1.0, 0.0, 0.0, 1.0]),
        ("trumpet", [-5.0, -2.0, 0.0, 3.0, 5.0]),
        ("mellophone", [-6.0, -3.0, 0.0, 3.0, 4.0]),
        ("trombone", [-4.0, -1.0, 0.0, 2.0, 4.0]),
        ("sousaphone", [-5.0, -1.0, 0.0, 1.0, 1.0]),
    ];
    for (id, row) in rows {
        let instrument = named(id);
        for (quarter, adds) in (0..5).zip(row) {
            let pitch = at(&instrument, f64::from(quarter) / 4.0);
            let found = register_adds(&instrument, pitch).unwrap().unwrap();
            // A semitone of rounding moves it a little.
            assert!(near(found, adds, 0.35), "{id} {quarter}: {found}");
        }
    }
}

#[test]
fn school_players_have_less_and_cannot_be_soft_everywhere() {
    let flute = named("flute");
    let level = |pitch, level, dynamic| {
        one_player(&flute, level, pitch, dynamic)
            .unwrap()
            .unwrap()
            .0
    };
    let middle = at(&flute, 0.5);
    let span = |l| level(middle, l, Dynamic::Ff) - level(middle, l, Dynamic::Pp);
    assert!(near(span(Level::AllState), 12.0, 1e-9));
    assert!(near(span(Level::Advanced), 0.9 * 12.0, 1e-9));
    assert!(near(span(Level::Intermediate), 0.75 * 12.0, 1e-9));
    assert!(near(span(Level::FirstYear), 0.5 * 12.0, 1e-9));
    // At the top of a flute p is hardly softer than mf; the same at the bottom of an oboe.
    let top = at(&flute, 1.0);
    let softer = |i: &Instrument, pitch| {
        let of = |d| one_player(i, Level::AllState, pitch, d).unwrap().unwrap().0;
        of(Dynamic::Mf) - of(Dynamic::P)
    };
    assert!(near(softer(&flute, top), 2.0, 1e-9));
    assert!(near(softer(&flute, middle), 4.8, 1e-9));
    let oboe = named("oboe");
    assert!(near(softer(&oboe, at(&oboe, 0.0)), 2.0, 1e-9));
    assert!(near(softer(&oboe, at(&oboe, 0.6)), 4.8, 1e-9));
}

#[test]
fn the_ear_as_worked() {
    let heard = |hertz, level, at: f64| excitation(Partial { hertz, level }, bark(at));
    assert!(near(heard(250.0, 80.0, 500.0), 59.6, 0.06));
    assert!(near(heard(250.0, 80.0, 125.0), 47.3, 0.06));
    assert!(near(heard(250.0, 60.0, 500.0), 30.4, 0.06));
    assert!(near(heard(1000.0, 80.0, 2000.0), 42.2, 0.06));
}

#[test]
fn targets_as_given() {
    let rows = [
        (Situation::OnTop, -3.0, 3.0),
        (Situation::SameFamily, 0.0, 6.0),
        (Situation::Inside, 3.0, 8.0),
        (Situation::Low, 3.0, 6.0),
        (Situation::Counterline, -6.0, -3.0),
        (Situation::Bass, -10.0, -6.0),
    ];
    for (situation, least, good) in rows {
        let found = target(situation).unwrap();
        assert_eq!((found.least, found.good), (least, good));
    }
}

fn band(parts: &[(&str, &str)]) -> Band {
    let part = |(i, (instrument, players)): (usize, &(&str, &str))| {
        format!(
            "[[part]]\nname = \"Part {i}\"\ninstrument = \"{instrument}\"\nplayers = {{ {players} }}\n"
        )
    };
    let parts: String = parts.iter().enumerate().map(part).collect();
    read_band(&format!("name = \"Test\"\n{parts}")).unwrap()
}

fn pitch(midi: i32) -> Sounding {
    Sounding::nearest(midi)
}

/// A tune an octave above the chords escapes them; inside their octave it does not.
#[test]
fn a_tune_above_the_chords_is_heard() {
    let band = band(&[
        ("clarinet_bb", "advanced = 3"),
        ("trombone", "advanced = 3"),
    ]);
    let (clarinet, trombone) = (&band.parts[0], &band.parts[1]);
    let chord: Vec<_> = [55, 59, 62]
        .map(|p| tone(trombone, pitch(p), Dynamic::Mp).unwrap().unwrap())
        .into();
    let tune = |p| [tone(clarinet, pitch(p), Dynamic::F).unwrap().unwrap()];
    let (high, inside) = (presence(&tune(86), &chord), presence(&tune(59), &chord));
    assert!(high.heard, "{high:?}");
    assert!(!inside.heard, "{inside:?}");
    assert!(high.best_band_db > inside.best_band_db);
    let alone = presence(&tune(60), &[]);
    assert!(alone.heard && alone.plain_db.0 == f64::INFINITY);
    assert_eq!(alone.audible_partials, 6);
    assert!(!presence(&[], &chord).heard);
}

#[test]
fn partials_carry_the_power_of_the_tone() {
    let band = band(&[("trumpet", "advanced = 1")]);
    let tone = tone(&band.parts[0], pitch(67), Dynamic::Ff)
        .unwrap()
        .unwrap();
    let sum = Decibels::together(tone.partials.iter().map(|(p, _)| Decibels(p.level)));
    // 25 m over hard ground: -36.0 dB.
    assert!(near((tone.level - sum).0, 36.0, 0.05));
}

proptest! {
    #[test]
    fn more_players_are_never_quieter(id in 0_usize..28, n in 1_u16..40, more in 0_u16..40, p in 24_i32..100, d in 0_usize..7, l in 0_usize..5) {
        let id = &instruments().unwrap()[id].id;
        let level = Level::ALL[l].word();
        let (few, many) = (format!("{level} = {n}"), format!("{level} = {}", n + more));
        let band = band(&[(id, &few), (id, &many)]);
        let of = |i: usize| part_level(&band.parts[i], pitch(p), Dynamic::ALL[d]).unwrap();
        prop_assert!(of(1) >= of(0));
        prop_assert!(near((of(1) - of(0)).0, 10.0 * (f64::from(n + more) / f64::from(n)).log10(), 1e-6));
    }

    #[test]
    fn louder_is_never_quieter(id in 0_usize..28, p in 24_i32..100, d in 0_usize..6) {
        let instrument = &instruments().unwrap()[id];
        for level in Level::ALL {
            let of = |d| one_player(instrument, level, pitch(p), d).unwrap().unwrap();
            prop_assert!(of(Dynamic::ALL[d + 1]) >= of(Dynamic::ALL[d]));
        }
    }

    #[test]
    fn presence_swapped_is_the_opposite(a in 40_i32..90, b in 40_i32..90, x in 0_usize..7, y in 0_usize..7) {
        let band = band(&[("trumpet", "advanced = 2"), ("sax_tenor", "second_year = 3")]);
        let one = [tone(&band.parts[0], pitch(a), Dynamic::ALL[x]).unwrap().unwrap()];
        let two = [tone(&band.parts[1], pitch(b), Dynamic::ALL[y]).unwrap().unwrap()];
        prop_assert!(near(plain(&one, &two).0 + plain(&two, &one).0, 0.0, 1e-12));
        prop_assert_eq!(presence(&one, &two).plain_db, plain(&one, &two));
        prop_assert!(line_level(one.iter().chain(&two)) >= line_level(&one));
        let both = presence(&one, &[two[0].clone(), two[0].clone()]);
        prop_assert!(both.best_band_db <= presence(&one, &two).best_band_db);
    }
}
