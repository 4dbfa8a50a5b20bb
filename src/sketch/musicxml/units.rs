//! Ticks that all parts share, whatever divisions each of them counts in.

use super::layout::Layout;
use super::tree::{child, children, name, number, text};
use crate::music::TicksPerQuarter;
use crate::sketch::track_bytes::LAST_TICK;

/// Ticks that the common number is made a multiple of, where that fits: fine enough for ornaments.
const USUAL: u64 = 480;
/// Most ticks of a quarter (SMF 1.0, 15 bits).
const MOST: u64 = 32_767;
/// The ticks where no common number fits: 2^5 x 3^3 x 5 x 7, so that all usual tuplets are exact.
const ROUNDED: u64 = 30_240;

/// The unit of time.
#[derive(Clone, Copy, Debug)]
pub(super) struct Units {
    /// Ticks of a quarter.
    pub(super) quarter: u64,
}

/// A length in ticks.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Counted {
    /// The nearest number of ticks.
    pub(super) ticks: u64,
    /// Whether it is exact.
    pub(super) exact: bool,
}

impl Units {
    /// The ticks that make every length of a score exact, if there are such.
    pub(super) fn of(layout: &Layout<'_, '_>) -> Self {
        let mut common = 1_u64;
        for measure in layout
            .parts
            .iter()
            .flat_map(|p| p.measures.iter().flatten())
        {
            let attributes = children(*measure).filter(|n| name(*n) == "attributes");
            for divisions in attributes.filter_map(|a| child(a, "divisions")) {
                let Some(count) = number(text(divisions)).filter(|n| *n >= 1.0 && n.fract() == 0.0)
                else {
                    continue;
                };
                let count = count.min(1e9) as u64;
                common = common.saturating_mul(count / common_divisor(common, count));
                if common > MOST {
                    return Self { quarter: ROUNDED };
                }
            }
        }
        let fine = common * (USUAL / common_divisor(common, USUAL));
        let quarter = if fine <= MOST {
            fine
        } else {
            common * (USUAL / common).max(1)
        };
        Self { quarter }
    }

    /// Ticks of a quarter, as a song has it.
    pub(super) fn ticks_per_quarter(self) -> TicksPerQuarter {
        TicksPerQuarter::nearest(self.quarter as f64)
    }

    /// A length in divisions as ticks; negative ones are nothing. Never beyond what a song may last.
    pub(super) fn count(self, length: f64, divisions: f64) -> Counted {
        let wanted = (length * self.quarter as f64 / divisions).clamp(0.0, 2.0 * LAST_TICK as f64);
        let nearest = wanted.round();
        Counted {
            ticks: nearest as u64,
            exact: (wanted - nearest).abs() < 1e-6,
        }
    }
}

fn common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 {
        a.max(1)
    } else {
        common_divisor(b, a % b)
    }
}
