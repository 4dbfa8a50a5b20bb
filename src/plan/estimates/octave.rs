//! The octave at which a part would carry a whole line.

use crate::band::Limits;
use crate::music::{Interval, Sounding};
use crate::plan::fit::OCTAVES;

/// Octaves above the sketch's line that may be wished for.
pub const WISHES: std::ops::RangeInclusive<i16> = -2..=2;

/// Costs of an octave, in points a note. Those of setting a line (ours): a note left out,
const OUT_OF_REACH: f64 = 2.5;
/// an octave away from the wish,
const AWAY: f64 = 0.25;
/// and a note over the comfortable range, where about three in five come out clean (`-ln 0.6`).
const UNCOMFORTABLE: f64 = 0.5;

/// The octave at which a part would carry a line as a whole, and how many of its notes are then within
/// its hard limits. The nearest to the wish that leaves out the fewest notes and asks least of the
/// players; of equals the lower one. No notes at all: the wish.
///
/// ```
/// use bandwright::band::preset;
/// use bandwright::music::Sounding;
/// use bandwright::plan::estimates::best_octave;
/// let band = preset("demo").unwrap();
/// let tune: Vec<Sounding> = [72, 74, 76, 77, 79].into_iter().filter_map(Sounding::new).collect();
/// let tuba = band.parts.iter().find(|p| p.name.starts_with("Tuba") || p.name.starts_with("Sousa"));
/// let (octave, reached) = best_octave(&tuba.unwrap().limits, &tune, 0);
/// assert!(octave <= -2 && reached == 5);
/// ```
#[must_use]
pub fn best_octave(limits: &Limits, line: &[Sounding], wish: i16) -> (i16, usize) {
    let tried = |octave: i16| {
        let (mut reached, mut easy) = (0, 0);
        for pitch in line.iter().filter_map(|p| p.up(Interval::octaves(octave))) {
            reached += usize::from(limits.range.contains(pitch));
            easy += usize::from(limits.comfortable.contains(pitch));
        }
        let count = |notes: usize| notes as f64;
        let cost = OUT_OF_REACH * count(line.len() - reached)
            + UNCOMFORTABLE * count(reached.saturating_sub(easy))
            + AWAY * f64::from((octave - wish).abs()) * count(line.len());
        (octave, reached, cost)
    };
    let best = OCTAVES.map(tried).min_by(|a, b| {
        let away = |t: &(i16, usize, f64)| (t.0 - wish).abs();
        a.2.total_cmp(&b.2).then(away(a).cmp(&away(b)))
    });
    best.map_or((wish, 0), |(octave, reached, _)| (octave, reached))
}
