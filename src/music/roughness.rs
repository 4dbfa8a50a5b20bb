//! Roughness: how much the partials of two notes beat against each other.
//!
//! Plomp & Levelt 1965 in the parameters of Sethares 1993, the amplitudes weighted by the smaller of
//! each pair (Sethares 2005), six partials that fall to 88 % each. Only pairs of partials from
//! different notes count, so that the constant roughness of each tone alone does not.

use super::pitch::Sounding;

/// Partials of a note that count.
const PARTIALS: i32 = 6;
/// Amplitude of each partial against the one before.
const FALL: f64 = 0.88;

/// Pairs of notes are clear up to this roughness: with it the lowest clear bottom notes of the
/// intervals come out as the trade's tables have them, within 2.2 semitones (root mean square).
pub const CLEAR: f64 = 0.70;

/// The roughness of two notes sounded together, equally loud, without a unit.
///
/// ```
/// use bandwright::music::{Sounding, roughness::roughness};
/// let note = |m| Sounding::new(m).unwrap();
/// assert!((roughness(note(36), note(40)) - 1.0932).abs() < 1e-4); // C2 and E2
/// assert!((roughness(note(60), note(64)) - 0.3844).abs() < 1e-4); // C4 and E4
/// ```
#[must_use]
pub fn roughness(a: Sounding, b: Sounding) -> f64 {
    let partials = |note: Sounding| {
        (1..=PARTIALS).map(move |k| (note.hertz() * f64::from(k), FALL.powi(k - 1)))
    };
    let pairs = partials(a).flat_map(|p| partials(b).map(move |q| (p, q)));
    pairs
        .map(|((f, fa), (g, ga))| fa.min(ga) * beating(f, g))
        .sum()
}

/// How much two partials of full amplitude beat (constants of Sethares 1993).
fn beating(f: f64, g: f64) -> f64 {
    let (low, high) = (f.min(g), f.max(g));
    let x = 0.24 / (0.0207 * low + 18.96) * (high - low);
    (-3.5 * x).exp() - (-5.75 * x).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cross-only roughness by interval (1 to 12 semitones) and bottom note C1 to C5, as worked out
    /// from the published formula.
    const WORKED: [[f64; 5]; 12] = [
        [1.8332, 1.1643, 0.8740, 0.7589, 0.6439],
        [1.9589, 1.2922, 0.8502, 0.5334, 0.3064],
        [1.8595, 1.1796, 0.7221, 0.4195, 0.2495],
        [1.7660, 1.0932, 0.6519, 0.3844, 0.2586],
        [1.6927, 1.0125, 0.5395, 0.2565, 0.1356],
        [1.6567, 1.0322, 0.6158, 0.3765, 0.2629],
        [1.4262, 0.7644, 0.3345, 0.1280, 0.0679],
        [1.4632, 0.8999, 0.5470, 0.3535, 0.2596],
        [1.3631, 0.7993, 0.4327, 0.2273, 0.1391],
        [1.3272, 0.8134, 0.4849, 0.2771, 0.1532],
        [1.1639, 0.6871, 0.4647, 0.3692, 0.2943],
        [0.8405, 0.2943, 0.0602, 0.0096, 0.0021],
    ];

    fn note(midi: u8) -> Sounding {
        Sounding::new(midi).unwrap()
    }

    #[test]
    fn every_worked_value_comes_out() {
        for (semitones, row) in (1..).zip(WORKED) {
            for (bottom, worked) in (24..).step_by(12).zip(row) {
                let found = roughness(note(bottom), note(bottom + semitones));
                assert!((found - worked).abs() < 1e-4, "{semitones} over {bottom}");
            }
        }
    }

    /// The lowest bottom note at which an interval is clear, scanned from above.
    fn lowest(semitones: u8) -> u8 {
        (17..96)
            .rev()
            .take_while(|b| roughness(note(*b), note(b + semitones)) <= CLEAR)
            .last()
            .unwrap()
    }

    #[test]
    fn one_threshold_gives_the_limits_of_the_trade() {
        // Minor second to major seventh: a retailer's glossary, raised to middle C = C4. The minor
        // second is rough everywhere and is left out.
        let trade = [51, 48, 47, 45, 47, 37, 41, 41, 41, 41];
        let error = |(semitones, limit): (u8, i32)| i32::from(lowest(semitones)) - limit;
        let errors: Vec<i32> = (2..).zip(trade).map(error).collect();
        let square = errors.iter().map(|e| e * e).sum::<i32>();
        let rms = (f64::from(square) / errors.len() as f64).sqrt();
        assert!(rms < 2.3, "{errors:?}");
    }
}
