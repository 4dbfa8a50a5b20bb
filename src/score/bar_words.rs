//! Bars as stretches, and in words.

use crate::music::BarNumber;
use std::collections::BTreeSet;

/// Bars as stretches, first and last, in order; whatever order they come in, and however often.
#[must_use]
pub fn as_ranges(bars: impl IntoIterator<Item = BarNumber>) -> Vec<(BarNumber, BarNumber)> {
    let all: BTreeSet<BarNumber> = bars.into_iter().collect();
    let mut ranges: Vec<(BarNumber, BarNumber)> = Vec::new();
    for bar in all {
        match ranges.last_mut() {
            Some(range) if range.1.0.saturating_add(1) == bar.0 => range.1 = bar,
            _ => ranges.push((bar, bar)),
        }
    }
    ranges
}

/// Stretches of bars as names of tracks give them: `5-8, 12`.
#[must_use]
pub fn listed(bars: &[(BarNumber, BarNumber)]) -> String {
    let one = |(a, b): &(BarNumber, BarNumber)| {
        if a == b {
            a.to_string()
        } else {
            format!("{a}-{b}")
        }
    };
    let all: Vec<String> = bars.iter().map(one).collect();
    all.join(", ")
}

/// Stretches of bars in words: `bar 5`, `bars 5-8, 12`.
///
/// ```
/// use bandwright::music::BarNumber;
/// use bandwright::score::{as_ranges, bars_in_words};
/// let words = |bars: &[u32]| bars_in_words(&as_ranges(bars.iter().map(|b| BarNumber(*b))));
/// assert_eq!(words(&[12, 5, 6, 8, 7]), "bars 5-8, 12");
/// assert_eq!(words(&[5]), "bar 5");
/// ```
#[must_use]
pub fn bars_in_words(bars: &[(BarNumber, BarNumber)]) -> String {
    let plural = if matches!(bars, [(a, b)] if a == b) {
        ""
    } else {
        "s"
    };
    format!("bar{plural} {}", listed(bars))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_in_a_row_are_one_stretch() {
        let bars = [1, 2, 3, 7, 9, 10].map(BarNumber);
        let told: Vec<(u32, u32)> = as_ranges(bars).iter().map(|s| (s.0.0, s.1.0)).collect();
        assert_eq!(told, [(1, 3), (7, 7), (9, 10)]);
        assert_eq!(as_ranges([]), []);
    }
}
