//! The octave at which a part would carry a whole line, and the places of a part's roles in tables.

use crate::band::Limits;
use crate::music::{Interval, Sounding};
use crate::plan::fit::OCTAVES;
use crate::plan::solve::PartRole;
use crate::score::Role;

/// Octaves above the sketch's line that may be wished for.
pub const WISHES: std::ops::RangeInclusive<i16> = -2..=2;

/// Places of roles: the tune at each wish, counterline, bass, figure, harmony.
pub(super) const PLACES: usize = 9;
/// The place of the chords.
pub(super) const CHORDS: usize = 8;

/// The place of a role; `None` for a rest.
pub(super) fn place(role: PartRole) -> Option<usize> {
    match role.role {
        Role::Melody => {
            let wish = role.octave.clamp(*WISHES.start(), *WISHES.end());
            usize::try_from(wish - WISHES.start()).ok()
        }
        Role::Counterline => Some(5),
        Role::Bass => Some(6),
        Role::Figure => Some(7),
        Role::Harmony => Some(CHORDS),
        Role::Rest => None,
    }
}

/// The line that a place is of, as an index into the lines of a passage, and its wish.
pub(super) fn line_of(place: usize) -> (usize, i16) {
    match i16::try_from(place) {
        Ok(wish @ 0..=4) => (0, WISHES.start() + wish),
        _ => (place.saturating_sub(4), 0),
    }
}

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
/// let low = band.parts.iter().find(|p| p.instrument.id == "sousaphone").unwrap();
/// let (octave, reached) = best_octave(&low.limits, &tune, 0);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_lead_back_to_their_lines() {
        for octave in WISHES {
            let role = PartRole {
                role: Role::Melody,
                octave,
            };
            assert_eq!(place(role).map(line_of), Some((0, octave)));
        }
        let lines = [(Role::Counterline, 1), (Role::Bass, 2), (Role::Figure, 3)];
        for (role, line) in lines {
            let role = PartRole { role, octave: 0 };
            assert_eq!(place(role).map(line_of), Some((line, 0)));
        }
    }
}
