//! The wanted curve: worked values, and what always holds.

use bandwright::plan::timeline::{BeatClock, Curve, Way};
use proptest::prelude::*;

fn near(a: Option<f64>, b: f64) -> bool {
    a.is_some_and(|a| (a - b).abs() < 1e-9)
}

#[test]
fn values_worked_by_hand() {
    // A curved piece between level ends is a smooth step: 3 t^2 - 2 t^3.
    let step = Curve::new([(0.0, 2.0, Way::Curved), (4.0, 10.0, Way::Curved)], []);
    assert!(near(step.at(1.0), 2.0 + 8.0 * (3.0 / 16.0 - 2.0 / 64.0)));
    assert!(near(step.at(2.0), 6.0));
    assert!(near(step.mean(0.0, 4.0), 6.0));
    // Its first half: 8 (t^3 - t^4 / 2) at 1/2 is 8 * 3/32, over half a piece: 1.5.
    assert!(near(step.mean(0.0, 2.0), 2.0 + 1.5));
    // Chords of 1 and 3 a unit over 2 and 1 units: weights 2*1+2 = 4 and 1+2*2 = 5, and the slope 9 / (4/1 + 5/3) =
    // 27/17. In the middle of the first piece: (0 + 2)/2 + (0 - 27/17) * 2 / 8.
    let two = Curve::new(
        [
            (0.0, 0.0, Way::Curved),
            (2.0, 2.0, Way::Curved),
            (3.0, 5.0, Way::Curved),
        ],
        [],
    );
    assert!(near(two.at(1.0), 1.0 - 27.0 / 68.0));
    // A held piece changes at once.
    let held = Curve::new([(0.0, 3.0, Way::Held), (8.0, 7.0, Way::Straight)], []);
    assert!(near(held.at(7.999), 3.0) && near(held.at(8.0), 7.0));
    assert!(near(held.mean(4.0, 12.0), 5.0));
    // A silence takes its part of the mean.
    let silent = Curve::new(
        [(0.0, 4.0, Way::Straight), (8.0, 4.0, Way::Straight)],
        [(2.0, 4.0)],
    );
    assert!(near(silent.at(2.0), 0.0) && near(silent.at(4.0), 4.0));
    assert!(near(silent.mean(0.0, 8.0), 3.0));
    assert_eq!(Curve::default().at(1.0), None);
    assert_eq!(Curve::default().mean(0.0, 8.0), None);
}

#[test]
fn what_is_no_number_harms_nothing() {
    let points = [
        (f64::NAN, 3.0, Way::Curved),
        (2.0, f64::NAN, Way::Curved),
        (1.0, -4.0, Way::Curved),
        (3.0, 40.0, Way::Curved),
        (f64::INFINITY, 2.0, Way::Curved),
    ];
    let curve = Curve::new(points, [(f64::NAN, 2.0), (5.0, 4.0)]);
    assert_eq!((curve.at(0.0), curve.at(9.0)), (Some(0.0), Some(10.0)));
    for (from, to) in [
        (f64::NAN, 2.0),
        (3.0, 1.0),
        (0.0, f64::INFINITY),
        (2.0, 2.0),
    ] {
        assert!(
            curve
                .mean(from, to)
                .is_some_and(|m| (0.0..=10.0).contains(&m))
        );
    }
    assert!(curve.at(f64::NAN).is_some());
}

#[test]
fn a_tempo_that_grows_by_the_beat() {
    // From 60 to 120 over 60 beats: the integral of 60 / (60 + b) is 60 ln 2 seconds.
    let clock = BeatClock::new([(0.0, 60.0, true), (60.0, 120.0, false)]);
    assert!((clock.seconds(60.0) - 60.0 * 2.0_f64.ln()).abs() < 1e-9);
    assert!((clock.tempo(30.0) - 90.0).abs() < 1e-9);
    assert!((clock.seconds(120.0) - 60.0 * 2.0_f64.ln() - 30.0).abs() < 1e-9);
    assert_eq!(BeatClock::new([]).seconds(4.0), 2.0);
}

fn points() -> impl Strategy<Value = Vec<(f64, f64, Way)>> {
    let way = prop::sample::select(Way::ALL.to_vec());
    prop::collection::vec((0.2..9.0_f64, 0.0..=10.0_f64, way), 1..9).prop_map(|steps| {
        let mut x = 0.0;
        let mut point = |(step, y, way)| {
            x += step;
            (x, y, way)
        };
        steps.into_iter().map(&mut point).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Between two points the curve stays between them and goes one way.
    #[test]
    fn never_beyond_its_points_and_never_back(points in points()) {
        let curve = Curve::new(points.clone(), []);
        for pair in points.windows(2) {
            let ((x0, y0, _), (x1, y1, _)) = (pair[0], pair[1]);
            let mut last = y0;
            for i in 0..=64 {
                let x = x0 + (x1 - x0) * f64::from(i) / 64.0;
                let y = curve.at(x.min(x1)).unwrap();
                prop_assert!(y >= y0.min(y1) - 1e-12 && y <= y0.max(y1) + 1e-12);
                prop_assert!((y - last) * (y1 - y0) >= -1e-9, "{last} to {y}");
                last = y;
            }
            prop_assert!((curve.at(x1).unwrap() - y1).abs() < 1e-9);
        }
    }

    /// No jumps but at the end of held pieces.
    #[test]
    fn continuous_where_nothing_is_held(points in points()) {
        let joined: Vec<_> = points.into_iter().map(|(x, y, way)| {
            (x, y, if way == Way::Held { Way::Curved } else { way })
        }).collect();
        let curve = Curve::new(joined.clone(), []);
        let (first, last) = (joined[0].0, joined[joined.len() - 1].0);
        // No slope is over three times the steepest chord: 10 over 0.2.
        let step = (last - first + 2.0) / 2000.0;
        for i in 0..2000 {
            let x = first - 1.0 + step * f64::from(i);
            let jump = curve.at(x + step).unwrap() - curve.at(x).unwrap();
            prop_assert!(jump.abs() <= 150.0 * step + 1e-9);
        }
    }

    /// The mean is that of many small steps, and means add up.
    #[test]
    fn the_mean_is_exact(points in points(), from in -5.0..40.0_f64, length in 0.1..30.0_f64,
                         silence in (0.0..20.0_f64, 0.0..5.0_f64)) {
        let curve = Curve::new(points, [(silence.0, silence.0 + silence.1)]);
        let to = from + length;
        let count = 20_000;
        let step = length / f64::from(count);
        let sum: f64 = (0..count)
            .map(|i| curve.at(from + step * (f64::from(i) + 0.5)).unwrap())
            .sum();
        let mean = curve.mean(from, to).unwrap();
        prop_assert!((mean - sum / f64::from(count)).abs() < 0.02, "{mean}");
        let middle = from + length * 0.3;
        let halves = 0.3 * curve.mean(from, middle).unwrap() + 0.7 * curve.mean(middle, to).unwrap();
        prop_assert!((mean - halves).abs() < 1e-9);
    }

    /// Beats and seconds lead to each other.
    #[test]
    fn the_clock_goes_both_ways(
        tempos in prop::collection::vec((0.5..40.0_f64, 20.0..320.0_f64, any::<bool>()), 0..6),
        beat in 0.0..300.0_f64,
    ) {
        let mut at = 0.0;
        let places: Vec<_> = tempos.into_iter().map(|(step, tempo, ramp)| {
            at += step;
            (at - 0.5, tempo, ramp)
        }).collect();
        let clock = BeatClock::new(places);
        let seconds = clock.seconds(beat);
        prop_assert!((clock.beat(seconds) - beat).abs() < 1e-6);
        prop_assert!(clock.seconds(beat + 0.1) > seconds);
    }
}
