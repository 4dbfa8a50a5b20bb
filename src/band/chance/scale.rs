//! The one scale of all causes: points of log-odds.
//!
//! A note that is easy in every way has the log-odds [`CAP`]. Every cause takes points off, and
//! points add (the linear logistic test model, Fischer 1973). A demand costs so much that a note
//! easy in every other way comes out at 0.95 at the demand's comfortable limit and at 0.60 at its
//! stretch limit; between and beyond it grows in a straight line. With the pitch as the demand
//! this is the two-parameter logistic (Birnbaum 1968; Rasch 1960). The three chances are ours.

/// Log-odds of 0.99: nobody is perfect.
pub const CAP: f64 = 4.595_119_850_134_59;
/// Log-odds of 0.95: the chance at a comfortable limit.
pub const AT_COMFORTABLE: f64 = 2.944_438_979_166_440_3;
/// Log-odds of 0.60: the chance at a stretch limit.
pub const AT_STRETCH: f64 = 0.405_465_108_108_164_4;

/// Points of a demand at its comfortable limit.
pub const COMFORTABLE: f64 = CAP - AT_COMFORTABLE;
/// Points of a demand at its stretch limit.
pub const STRETCH: f64 = CAP - AT_STRETCH;
/// Points of a demand that an otherwise easy note still survives at 0.98: hardly worth a word.
pub const SLIGHT: f64 = CAP - 3.891_820_298_110_627;
/// Points of a mild trouble: an otherwise easy note comes out at 0.97.
pub const MILD: f64 = CAP - 3.476_098_689_834_997_7;
/// Points of a hard thing: an otherwise easy note comes out at 0.85.
pub const HARD: f64 = CAP - 1.734_601_055_388_106_3;
/// Points of a thing to be avoided: an otherwise easy note comes out at 0.60.
pub const AVOID: f64 = STRETCH;

/// No demand counts for more points than this; the chance is 0 long before.
const MOST: f64 = 1_000.0;

/// The chance, 0 to 1, of some log-odds.
///
/// ```
/// use bandwright::band::chance::scale::{CAP, chance_of};
/// assert!((chance_of(CAP) - 0.99).abs() < 1e-12);
/// ```
#[must_use]
pub fn chance_of(log_odds: f64) -> f64 {
    1.0 / (1.0 + (-log_odds).exp())
}

/// The points that a demand costs, never below 0: a straight line through [`COMFORTABLE`] at its
/// comfortable limit and [`STRETCH`] at its stretch limit. Limits that coincide, or are in the
/// wrong order, are taken a hair apart. No points for a demand that is no number.
///
/// ```
/// use bandwright::band::chance::scale::{CAP, chance_of, demand_points};
/// let chance = |x| chance_of(CAP - demand_points(x, 67.0, 72.0));
/// assert!((chance(67.0) - 0.95).abs() < 1e-12 && (chance(72.0) - 0.60).abs() < 1e-12);
/// ```
#[must_use]
pub fn demand_points(demand: f64, comfortable: f64, stretch: f64) -> f64 {
    let width = (stretch - comfortable).max(1e-6);
    let points = COMFORTABLE + (demand - comfortable) / width * (STRETCH - COMFORTABLE);
    if points.is_nan() {
        0.0
    } else {
        points.clamp(0.0, MOST)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn constants_are_the_log_odds_that_they_name() {
        let logit = |p: f64| (p / (1.0 - p)).ln();
        for (points, chance) in [
            (0.0, 0.99),
            (SLIGHT, 0.98),
            (MILD, 0.97),
            (COMFORTABLE, 0.95),
            (HARD, 0.85),
            (STRETCH, 0.60),
        ] {
            assert!((CAP - points - logit(chance)).abs() < 1e-12, "{chance}");
        }
    }

    /// The worked values of the reference; the highest is capped here.
    #[test]
    fn worked_values() {
        let chance = |at, low, high| chance_of(CAP - demand_points(at, low, high));
        for (at, expected) in [
            (65.0, 0.9813),
            (67.0, 0.95),
            (69.0, 0.8731),
            (70.0, 0.8055),
            (72.0, 0.6),
            (73.0, 0.4744),
            (75.0, 0.2464),
        ] {
            assert!((chance(at, 67.0, 72.0) - expected).abs() < 6e-5, "{at}");
        }
        assert!((chance(18.0, 12.0, 16.0) - 0.2965).abs() < 6e-5);
    }

    #[test]
    fn no_demand_is_out_of_bounds() {
        for demand in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, 1e300] {
            for (a, b) in [
                (0.0, 0.0),
                (2.0, 1.0),
                (f64::NAN, 1.0),
                (0.0, f64::INFINITY),
            ] {
                let points = demand_points(demand, a, b);
                assert!((0.0..=MOST).contains(&points), "{demand} {a} {b}");
            }
        }
    }
}
