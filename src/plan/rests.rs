//! Rests for brass players: nobody's lips last a whole show.

use super::habits::Strength;
use super::solve::PassagePlan;
use crate::band::{Band, Family, Level, Part, PartId};
use crate::score::Role;

/// A passage keeps at least so many parts that fill the chord.
const LEAST_HARMONY: usize = 4;

/// How many bars brass players of a level may go without a passage of rest, if one can be given
/// (common practice, no source for the numbers; the director knows better).
const fn most_bars(level: Level) -> u32 {
    match level {
        Level::FirstYear => 12,
        Level::SecondYear => 16,
        Level::Intermediate => 20,
        Level::Advanced => 28,
        Level::AllState => 36,
    }
}

/// Lets brass parts rest that have played for too long: in a passage below a strong one in which
/// they only fill the chord, or share the bass with others, and enough others are left.
pub(super) fn give_rests(band: &Band, passages: &mut [PassagePlan]) {
    for (id, part) in band
        .ids()
        .filter(|(_, p)| p.instrument.family == Family::Brass)
    {
        let most = part.players.weakest().map_or(u32::MAX, most_bars);
        let mut playing = 0;
        for planned in passages.iter_mut() {
            let bars = planned.passage.last_bar.0 - planned.passage.first_bar.0 + 1;
            if planned.roles[id.0].role == Role::Rest {
                playing = 0;
            } else if playing + bars > most && can_rest(band, planned, id) {
                planned.roles[id.0].role = Role::Rest;
                playing = 0;
            } else {
                playing += bars;
            }
        }
    }
}

fn can_rest(band: &Band, planned: &PassagePlan, id: PartId) -> bool {
    let parts = || band.parts.iter().zip(&planned.roles);
    let with = |role| parts().filter(move |(_, r)| r.role == role);
    let quiet = Strength::of(planned.passage.intensity) < Strength::Strong;
    let left = match planned.roles[id.0].role {
        Role::Harmony => with(Role::Harmony).count() > LEAST_HARMONY,
        Role::Bass => {
            with(Role::Bass).any(|(p, _): (&Part, _)| p.instrument.family != Family::Brass)
        }
        _ => false,
    };
    quiet && left
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::preset;
    use crate::music::{BarNumber, Tick};
    use crate::plan::PartRole;
    use crate::score::Passage;

    #[test]
    fn brass_that_only_fills_the_chord_rests_in_time() {
        let band = preset("demo").unwrap();
        let passage = |i: u32| Passage {
            start: Tick(u64::from(i)),
            end: Tick(u64::from(i) + 1),
            first_bar: BarNumber(8 * i + 1),
            last_bar: BarNumber(8 * i + 8),
            intensity: 4.0,
            repeats: None,
        };
        let roles = vec![
            PartRole {
                role: Role::Harmony,
                octave: 0
            };
            band.parts.len()
        ];
        let mut passages: Vec<PassagePlan> = (0..8)
            .map(|i| PassagePlan {
                figure: None,
                passage: passage(i),
                way: String::new(),
                roles: roles.clone(),
            })
            .collect();
        give_rests(&band, &mut passages);
        for (id, part) in band.ids() {
            let rests = passages
                .iter()
                .filter(|p| p.roles[id.0].role == Role::Rest)
                .count();
            assert_eq!(
                rests > 0,
                part.instrument.family == Family::Brass,
                "{}",
                part.name
            );
        }
        let full = |p: &PassagePlan| p.roles.iter().filter(|r| r.role == Role::Harmony).count();
        assert!(passages.iter().all(|p| full(p) >= LEAST_HARMONY));
    }
}
