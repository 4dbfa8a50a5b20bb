//! The course of a show: worked values of loudness, density and register, what is off, what lips remember.

use bandwright::band::load::Conditions;
use bandwright::band::{Band, PartId, read_band};
use bandwright::music::{BarNumber, MeterMap, Sounding, TempoMap, Tick, Ticks, TicksPerQuarter};
use bandwright::review::{Before, Course, CourseOf, Measure, misses};
use bandwright::score::{Draft, DraftNote, PartLine, Passage, Role};
use proptest::prelude::*;

const BAR: u64 = 1920;

/// Two trumpets that are alike.
fn band() -> Band {
    let part = |name| {
        format!(
            "[[part]]\nname = \"{name}\"\ninstrument = \"trumpet\"\nplayers = {{ advanced = 2 }}\n"
        )
    };
    read_band(&format!(
        "name = \"Duo\"\n{}{}",
        part("Trumpet 1"),
        part("Trumpet 2")
    ))
    .unwrap()
}

fn middle(band: &Band) -> Sounding {
    let range = band.parts[0].limits.comfortable;
    Sounding::nearest((i32::from(range.low.midi()) + i32::from(range.high.midi())) / 2)
}

fn note(from: u64, length: u64, pitch: Sounding, velocity: u8) -> DraftNote {
    DraftNote {
        onset: Tick(from),
        pitch,
        duration: Ticks(length),
        velocity,
        role: Role::Harmony,
        locked: false,
    }
}

fn draft(parts: [Vec<DraftNote>; 2]) -> Draft {
    let line = |(i, notes)| PartLine {
        part: PartId(i),
        notes,
    };
    Draft {
        lines: parts.into_iter().enumerate().map(line).collect(),
        melody_changes: Vec::new(),
    }
}

/// The course of a draft over some bars, all wanted at 5.
fn course(draft: &Draft, bars: u64, before: Option<&Before>) -> Course {
    let (band, quarter) = (band(), TicksPerQuarter::new(480).unwrap());
    let (meters, tempo) = (MeterMap::new(quarter, []), TempoMap::new(quarter, []));
    let end = Tick(bars * BAR);
    let passage = Passage {
        start: Tick::ZERO,
        end,
        first_bar: BarNumber(1),
        last_bar: BarNumber(bars as u32),
        intensity: 5.0,
        repeats: None,
        peak: false,
    };
    Course::of(&CourseOf {
        band: &band,
        draft,
        passages: &[passage],
        wanted: None,
        meters: &meters,
        tempo: &tempo,
        conditions: Conditions::default(),
        before,
        end,
    })
}

fn first(course: &Course, measure: Measure) -> f64 {
    course.measure(measure)[0].unwrap()
}

#[test]
fn loudness_is_the_sum_of_powers_against_the_loudest() {
    let pitch = middle(&band());
    let full = |length| vec![note(0, length, pitch, 127)];
    let loudness = |draft| first(&course(&draft, 1, None), Measure::Loudness);
    // Everybody at fff in the middle of the range is all that there is.
    assert!((loudness(draft([full(BAR), full(BAR)])) - 10.0).abs() < 1e-9);
    // Half of the players, or half of the time: 3.01 dB less, at 3 dB a step.
    let half = 10.0 - 10.0 * 2.0_f64.log10() / 3.0;
    assert!((loudness(draft([full(BAR), Vec::new()])) - half).abs() < 1e-9);
    assert!((loudness(draft([full(BAR / 2), full(BAR / 2)])) - half).abs() < 1e-9);
    // A note over a bar line counts in each bar for what sounds there.
    let over = draft([
        vec![note(BAR / 2, BAR, pitch, 127)],
        vec![note(BAR / 2, BAR, pitch, 127)],
    ]);
    let over = course(&over, 2, None);
    for bar in 0..2 {
        assert!((over.measure(Measure::Loudness)[bar].unwrap() - half).abs() < 1e-9);
    }
}

#[test]
fn density_counts_who_plays() {
    let pitch = middle(&band());
    let density = |a: u64, b: u64| {
        let line = |length| {
            if length == 0 {
                Vec::new()
            } else {
                vec![note(0, length, pitch, 80)]
            }
        };
        first(
            &course(&draft([line(a), line(b)]), 1, None),
            Measure::Density,
        )
    };
    assert_eq!(density(BAR, BAR), 1.0);
    assert_eq!(density(BAR, 0), 0.5);
    // Half as long as the longest is playing; a quarter is half of that.
    assert_eq!(density(BAR, BAR / 2), 1.0);
    assert_eq!(density(BAR, BAR / 4), 0.75);
    // Short notes of everybody are everybody.
    assert_eq!(density(BAR / 8, BAR / 8), 1.0);
}

#[test]
fn register_is_the_place_in_the_comfortable_range() {
    let range = band().parts[0].limits.comfortable;
    let of = |pitch| {
        let line = || vec![note(0, BAR, pitch, 80)];
        course(&draft([line(), line()]), 1, None)
    };
    assert!((first(&of(range.low), Measure::Register)).abs() < 1e-9);
    assert!((first(&of(range.high), Measure::Register) - 1.0).abs() < 1e-9);
    // Louder is brighter, pitch being the same.
    let line = |velocity| vec![note(0, BAR, range.low, velocity)];
    let (soft, loud) = (draft([line(40), line(40)]), draft([line(120), line(120)]));
    let bright = |draft| first(&course(draft, 1, None), Measure::Brightness);
    assert!(bright(&loud) > 1.1 * bright(&soft));
    // Partials k = 1 to 12 at amplitudes r^(k-1), r = 0.75 at p for trumpets: the mean of k is (1 - 13 r^12 + 12 r^13) /
    // ((1 - r) (1 - r^12)); r = 0.95 at ff.
    let mean =
        |r: f64| (1.0 - 13.0 * r.powi(12) + 12.0 * r.powi(13)) / ((1.0 - r) * (1.0 - r.powi(12)));
    let line = |velocity| vec![note(0, BAR, range.low, velocity)];
    let piano = draft([line(49), line(49)]);
    assert!(
        (bright(&piano) - mean(0.75)).abs() < 1e-6,
        "{}",
        bright(&piano)
    );
    let loud = draft([line(112), line(112)]);
    assert!(
        (bright(&loud) - mean(0.95)).abs() < 1e-6,
        "{}",
        bright(&loud)
    );
}

#[test]
fn bars_of_silence_reach_nothing() {
    let pitch = middle(&band());
    let some = draft([vec![note(BAR, BAR, pitch, 100)], Vec::new()]);
    let course = course(&some, 3, None);
    assert_eq!((course.reached[0], course.reached[2]), (0.0, 0.0));
    assert!(course.reached[1] > 1.0);
    for measure in Measure::ALL {
        assert_eq!(course.measure(measure)[0], None);
        assert_eq!(course.alone(measure)[2], 0.0);
    }
    assert_eq!(course.load[0].1[0], 0.0);
    assert!(course.load[0].1[1] > 0.0);
    assert_eq!(Course::default().together(), None);
}

#[test]
fn what_is_off_is_told_with_what_would_mend_it() {
    let same = |values: [f64; 4]| values.map(|v| vec![Some(v); 8]);
    let made = |reached: [f64; 8], values| Course {
        starts: (0..=8).map(|b| Tick(b * BAR)).collect(),
        wanted: vec![8.0; 8],
        reached: reached.to_vec(),
        measures: same(values),
        load: Vec::new(),
    };
    // Off in one bar alone is no miss; less than 1.5 neither.
    let reached = [8.0, 2.0, 7.0, 6.0, 5.0, 6.0, 6.6, 9.4];
    let thin = made(reached, [7.0, 0.4, 0.6, 3.0]);
    let found = misses(&thin);
    assert_eq!(found.len(), 1, "{found:?}");
    let miss = &found[0];
    assert_eq!(
        (miss.first, miss.last, miss.furthest),
        (BarNumber(4), BarNumber(6), Measure::Density)
    );
    assert_eq!(miss.what(), "bars 4-6: 2.3 under what is wanted (8.0)");
    assert_eq!(
        miss.mend(),
        "density is furthest off: more players (40% of the wind players sound; about 96% would fit)"
    );
    let soft = made([4.0; 8], [3.0, 0.9, 0.6, 3.0]);
    assert_eq!(
        misses(&soft)[0].mend(),
        "loudness is furthest off: about 5 dynamic steps louder would do"
    );
    let low = made([4.0; 8], [8.0, 0.97, 0.2, 3.0]);
    assert!(
        misses(&low)[0]
            .mend()
            .contains("lay the parts higher (at 20%")
    );
    // Too much is mended the other way; two sides are two misses.
    let mut loud = made(
        [3.0, 3.0, 3.0, 3.0, 10.0, 10.0, 10.0, 10.0],
        [10.0, 0.97, 0.6, 3.0],
    );
    loud.wanted = vec![6.0; 8];
    let found = misses(&loud);
    assert_eq!(found.len(), 2);
    assert!(found[1].what().contains("4.0 over what is wanted (6.0)"));
    assert_eq!(
        found[1].mend(),
        "loudness is furthest off: about 4 dynamic steps softer would do"
    );
}

#[test]
fn lips_remember_the_movement_before() {
    let (pitch, quarter) = (middle(&band()), TicksPerQuarter::new(480).unwrap());
    let long = |bars: u64| {
        (0..bars)
            .map(|b| note(b * BAR, BAR, pitch, 110))
            .collect::<Vec<_>>()
    };
    let own = draft([long(8), Vec::new()]);
    let (meters, tempo) = (MeterMap::new(quarter, []), TempoMap::new(quarter, []));
    let band = band();
    let of = CourseOf {
        band: &band,
        draft: &own,
        passages: &[],
        wanted: None,
        meters: &meters,
        tempo: &tempo,
        conditions: Conditions::default(),
        before: None,
        end: Tick(8 * BAR),
    };
    let after = |pause| Before::default().with(&of, 16.0, pause);
    let last = |c: &Course| c.load[0].1[7];
    let fresh = course(&own, 8, None);
    let tired = course(&own, 8, Some(&after(2.0)));
    let rested = course(&own, 8, Some(&after(3000.0)));
    assert!(last(&tired) > last(&rested) && last(&rested) >= last(&fresh) - 1e-9);
    assert!((last(&rested) - last(&fresh)).abs() < 0.02);
    assert_eq!(after(2.0).seconds, 18.0);
    // One movement of sixteen bars is the same as two of eight without a pause.
    let whole = course(&draft([long(16), Vec::new()]), 16, None);
    let halves = course(&own, 8, Some(&after(0.0)));
    assert!((last(&halves) - whole.load[0].1[15]).abs() < 1e-9);
}

proptest! {
    /// Scales rise, and each is the other way of the other.
    #[test]
    fn scales_go_both_ways(a in 0.0..=10.0_f64, b in 0.0..=10.0_f64, far in -5.0..3000.0_f64) {
        for measure in Measure::ALL {
            prop_assert!((measure.intensity(measure.value(a)) - a).abs() < 1e-9);
            prop_assert!((a <= b) == (measure.value(a) <= measure.value(b)));
            prop_assert!((0.0..=10.0).contains(&measure.intensity(far)));
        }
        let weights: f64 = Measure::ALL.iter().map(|m| m.weight()).sum();
        prop_assert!((weights - 1.0).abs() < 1e-12);
    }

    /// A course is within its bounds, whatever is played.
    #[test]
    fn courses_stay_within_bounds(
        notes in prop::collection::vec((0_u64..8 * BAR, 1_u64..3 * BAR, 0_i32..128, 1_u8..=127), 0..40),
    ) {
        let mut parts = [Vec::new(), Vec::new()];
        for (i, (from, length, pitch, velocity)) in notes.into_iter().enumerate() {
            parts[i % 2].push(note(from, length, Sounding::nearest(pitch), velocity));
        }
        for part in &mut parts {
            part.sort();
        }
        let course = course(&draft(parts), 8, None);
        prop_assert_eq!(course.reached.len(), 8);
        prop_assert!(course.reached.iter().all(|r| (0.0..=10.0).contains(r)));
        for measure in Measure::ALL {
            prop_assert!(course.alone(measure).iter().all(|r| (0.0..=10.0).contains(r)));
        }
        let shares = course.measure(Measure::Density).iter().flatten();
        prop_assert!(shares.into_iter().all(|d| (0.0..=1.0).contains(d)));
        prop_assert!(course.together().is_none_or(|c| (-1.001..=1.001).contains(&c)));
    }
}
