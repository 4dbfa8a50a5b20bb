//! Timelines tied to music, stretched and laid.

use super::build::raw;
use bandwright::music::{
    BarBeat, BarNumber, Meter, MeterMap, TempoMap, Tick, TicksPerQuarter, meter::MeterChange,
    tempo::TempoChange,
};
use bandwright::plan::passages::follow;
use bandwright::plan::timeline::{
    AnyTimeline, Laid, Mark, MarkKind, Pause, Place, Point, Seconds, Section, Silence, TempoPoint,
    Timeline, Way, bar_line, template, tie,
};
use bandwright::score::Passage;
use proptest::prelude::*;

fn quarter() -> TicksPerQuarter {
    TicksPerQuarter::new(480).unwrap()
}

/// Eight bars of 4/4 at 120, then 3/4 at 90 from bar 9 on.
fn music() -> (MeterMap, TempoMap) {
    let at = Tick(8 * 1920);
    let meter = Meter::new(3, 2).unwrap();
    let micros_per_quarter = 666_667;
    let (from, four) = (Tick::ZERO, Meter::COMMON);
    let usual = 500_000;
    (
        MeterMap::new(
            quarter(),
            [
                MeterChange {
                    at: from,
                    meter: four,
                },
                MeterChange { at, meter },
            ],
        ),
        TempoMap::new(
            quarter(),
            [
                TempoChange {
                    at: from,
                    micros_per_quarter: usual,
                },
                TempoChange {
                    at,
                    micros_per_quarter,
                },
            ],
        ),
    )
}

fn mark(kind: MarkKind, at: f64, name: &str) -> Mark<Seconds> {
    let (at, name) = (Seconds(at), name.to_owned());
    Mark { kind, at, name }
}

#[test]
fn seconds_become_bars() {
    let (meters, tempo) = music();
    let mut plan = Timeline::new("Ride", Seconds(40.0));
    // 16 s are eight bars; a bar of three quarters at 90 lasts two seconds as well.
    plan.marks = vec![
        mark(MarkKind::Crest, 7.9, "near bar 5"),
        mark(MarkKind::Peak, 22.2, "near bar 12"),
        mark(MarkKind::Hush, 30.6, "crowded"),
        mark(MarkKind::Crest, 30.9, "too"),
    ];
    let tied = tie(&plan, &meters, &tempo);
    let words: Vec<String> = tied.marks.iter().map(|m| m.at.words()).collect();
    assert_eq!(words[..2], ["bar 5", "bar 12"]);
    // 14.6 s of triple time: 7.3 bars after bar 8, so beat 1.9 of bar 16; both stay where they are.
    assert_eq!(words[2..], ["bar 16, beat 1.9", "bar 16, beat 2.35"]);
    assert_eq!(tied.bars(), 20);
    assert_eq!(tied.check(), Ok(()));
}

#[test]
fn a_pause_takes_no_bars() {
    let (meters, tempo) = music();
    let mut plan = Timeline::new("Ride", Seconds(40.0));
    let (at, seconds) = (Seconds(8.0), 10.0);
    plan.pauses.push(Pause {
        at,
        seconds,
        name: "applause".into(),
    });
    plan.marks.push(mark(MarkKind::Peak, 20.0, "after it"));
    let tied = tie(&plan, &meters, &tempo);
    // 20 s are 10 s of playing: bar 6.
    assert_eq!(
        (tied.pauses[0].at, tied.marks[0].at),
        (bar_line(5), bar_line(6))
    );
    assert_eq!(tied.bars(), 15);
}

#[test]
fn bars_become_seconds_by_their_own_tempo() {
    let mut plan = Timeline::new("March", bar_line(33));
    plan.sections = vec![
        Section {
            name: "A".into(),
            start: bar_line(1),
        },
        Section {
            name: "B".into(),
            start: bar_line(17),
        },
    ];
    let tempo = |bar, beats_per_minute| TempoPoint {
        at: bar_line(bar),
        beats_per_minute,
        ramp: false,
    };
    plan.tempos = vec![tempo(1, 120.0), tempo(17, 60.0)];
    plan.pauses.push(Pause {
        at: bar_line(9),
        seconds: 5.0,
        name: String::new(),
    });
    let timed = plan.in_seconds();
    // 64 beats at 120 and the pause, then 64 beats at 60.
    assert_eq!(
        (timed.sections[1].start, timed.end),
        (Seconds(37.0), Seconds(101.0))
    );
    plan.meter = Meter::new(6, 3).unwrap();
    // Two felt beats a bar.
    assert_eq!(plan.in_seconds().end, Seconds(16.0 + 5.0 + 32.0));
}

#[test]
fn longer_and_shorter_than_the_music_is_said() {
    let (meters, tempo) = music();
    let clock = (&meters, &tempo);
    let mut plan = Timeline::new("Ride", bar_line(25));
    let point = |bar, intensity| Point {
        at: bar_line(bar),
        intensity,
        way: Way::Straight,
    };
    plan.points = vec![point(1, 2.0), point(21, 10.0)];
    let name = "the bell".to_owned();
    plan.marks.push(Mark {
        kind: MarkKind::Peak,
        at: bar_line(21),
        name,
    });
    let end = meters.bar_end(BarNumber(12));
    let laid = Laid::of(&AnyTimeline::from(plan.clone()), clock, end);
    assert_eq!(
        laid.warnings,
        [
            "the timeline `Ride` has 24 bars and the music 12; what is planned after bar 12 is left out, with peak `the bell` in bar 21"
        ]
    );
    assert!(laid.marks.is_empty() && laid.at(end).unwrap() < 10.0);
    let end = meters.bar_end(BarNumber(40));
    let laid = Laid::of(&AnyTimeline::from(plan.clone()), clock, end);
    assert_eq!(
        laid.warnings,
        [
            "the timeline `Ride` has 24 bars and the music 40; from bar 25 on its last intensity is held"
        ]
    );
    assert_eq!(
        (laid.at(end), laid.marks[0].level),
        (Some(10.0), Some(10.0))
    );
    plan.points.insert(
        1,
        Point {
            at: BarBeat {
                beat: 4.0,
                ..bar_line(12)
            },
            intensity: 5.0,
            way: Way::Held,
        },
    );
    let laid = Laid::of(&AnyTimeline::from(plan), clock, end);
    assert!(
        laid.warnings[1].contains("names a beat of bar 12"),
        "{:?}",
        laid.warnings
    );
}

#[test]
fn a_passage_takes_its_peak_then_its_hush_then_its_mean() {
    let mut plan = Timeline::new("Ride", bar_line(17));
    let point = |bar, intensity| Point {
        at: bar_line(bar),
        intensity,
        way: Way::Straight,
    };
    plan.points = vec![
        point(1, 2.0),
        point(5, 10.0),
        point(9, 2.0),
        point(13, 1.0),
        point(17, 5.0),
    ];
    let mark = |kind, bar| Mark {
        kind,
        at: bar_line(bar),
        name: "x".into(),
    };
    plan.marks = vec![mark(MarkKind::Peak, 5), mark(MarkKind::Hush, 13)];
    plan.silences.push(Silence {
        from: bar_line(10),
        to: bar_line(11),
        name: String::new(),
    });
    let clock = (&MeterMap::new(quarter(), []), &TempoMap::new(quarter(), []));
    let laid = Laid::of(&AnyTimeline::from(plan), clock, Tick(16 * 1920));
    let bar = |b: u64| Tick((b - 1) * 1920);
    let wanted = |bars: &[(u64, u64)]| {
        let passage = |(from, to): &(u64, u64)| Passage {
            start: bar(*from),
            end: bar(*to),
            first_bar: BarNumber(*from as u32),
            last_bar: BarNumber(*to as u32 - 1),
            intensity: 3.3,
            repeats: None,
            peak: false,
        };
        let mut passages: Vec<Passage> = bars.iter().map(passage).collect();
        follow(&mut passages, &laid);
        let told = passages.iter().map(|p| (p.intensity, p.peak));
        told.collect::<Vec<(f64, bool)>>()
    };
    // Bars 9 to 12 fall from 2 to 1, with a bar of silence in it.
    let silent = 2.0 - 1.5 / 4.0;
    let four = wanted(&[(1, 5), (5, 9), (9, 13), (13, 17)]);
    assert_eq!(
        (four[0], four[1], four[3]),
        ((6.0, false), (10.0, true), (1.0, false))
    );
    assert!((four[2].0 - (6.0 - silent) / 4.0).abs() < 1e-9);
    // A place belongs to the passage that begins nearest to it.
    let other = wanted(&[(1, 6), (6, 17)]);
    assert!(!other[0].1 && other[1] == (10.0, true));
    assert_eq!(wanted(&[(1, 17)]), [(10.0, true)]);
    assert_eq!(laid.cuts().count(), 3);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// A tied timeline is one that can be used, its places in the order that they had.
    #[test]
    fn ties_keep_order(raw in raw()) {
        let (meters, tempo) = music();
        let plan = raw.in_seconds();
        let tied = tie(&plan, &meters, &tempo);
        if plan.pauses.is_empty() {
            prop_assert_eq!(tied.check(), Ok(()));
        }
        let curve = (plan.curve().is_empty(), tied.curve().is_empty());
        prop_assert_eq!(curve.0, curve.1);
        let laid = Laid::of(&AnyTimeline::from(plan), (&meters, &tempo), Tick(300_000));
        for tick in [0, 5000, 200_000, u64::MAX].map(Tick) {
            prop_assert!(laid.at(tick).is_none_or(|i| (0.0..=10.0).contains(&i)));
        }
    }

    /// What is planned in bars lasts the same told in seconds, and keeps its order.
    #[test]
    fn seconds_keep_order(raw in raw()) {
        let plan = raw.in_bars();
        let timed = plan.in_seconds();
        let ends: Vec<f64> = plan.places().into_iter().map(|p| plan.seconds_to(p).0).collect();
        prop_assert!(ends.is_sorted());
        prop_assert_eq!(timed.points.len(), plan.points.len());
    }
}

#[test]
fn templates_lie_on_the_bars_of_the_music() {
    let (meters, tempo) = music();
    let end = meters.bar_end(BarNumber(100));
    let rise = AnyTimeline::from(template("long-rise").unwrap());
    let laid = Laid::of(&rise, (&meters, &tempo), end);
    assert!(laid.warnings.is_empty(), "{:?}", laid.warnings);
    assert_eq!(meters.place(laid.marks[0].at).to_string(), "bar 67, beat 1");
    assert_eq!(laid.marks[0].level, Some(10.0));
    assert_eq!(laid.sections.len(), 4);
    let starts: Vec<Tick> = (1..=101).map(|b| meters.bar_start(BarNumber(b))).collect();
    assert_eq!(laid.by_bar(&starts).map(|w| w.len()), Some(100));
}
