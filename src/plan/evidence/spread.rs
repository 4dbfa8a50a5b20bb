//! From what was found in locked bars to wishes for all passages, outward in both directions.

use super::found::Found;
use super::{From, Wish};
use crate::score::{Passage, Role};

/// Strengths of wishes, as shares of how surely the role was found (all ours; no source).
///
/// In a passage of the same music,
const REPEAT: f64 = 0.9;
/// less for each passage between, so that the nearer of two locks is followed,
const EACH_AWAY: f64 = 0.98;
/// and less by each step of intensity (of ten) that it is wanted louder or softer: a hush is not scored as the
/// peak is, even if it is the same music.
const EACH_STEP: f64 = 0.2;
/// In the passage beside,
const BESIDE: f64 = 0.25;
/// in each next one this share of it,
const OUTWARD: f64 = 0.5;
/// for the tune less, since passages change their colour,
const TUNE_BESIDE: f64 = 0.5;
/// and only as far as intensity stays near: this far off it is none.
const NEAR: f64 = 2.0;
/// What is fainter is none.
const FAINTEST: f64 = 0.02;

/// The wishes of every passage and part, in no order.
pub(super) fn spread(
    passages: &[Passage],
    found: &[Vec<Found>],
    parts: usize,
) -> Vec<Vec<Vec<Wish>>> {
    let mut wishes = vec![vec![Vec::new(); parts]; passages.len()];
    let music = same_music(passages);
    for (locked, all) in found.iter().enumerate().filter(|(_, all)| !all.is_empty()) {
        for (to, wished) in wishes.iter_mut().enumerate() {
            let reach = reach(passages, &music, locked, to);
            for of in all {
                if let Some((wish, part)) = reach.and_then(|r| wish(of, r, locked.abs_diff(to))) {
                    wished[part].push(wish);
                }
            }
        }
    }
    wishes
}

/// From where, and how strongly, a passage follows a locked one.
fn reach(passages: &[Passage], music: &[usize], locked: usize, to: usize) -> Option<(From, f64)> {
    let step = (passages[locked].intensity - passages[to].intensity).abs();
    let away = i32::try_from(locked.abs_diff(to)).ok()?;
    if away == 0 {
        return Some((From::Here, 1.0));
    }
    if music[locked] == music[to] {
        let less = (1.0 - EACH_STEP * step).max(0.0);
        return Some((From::Repeat, REPEAT * EACH_AWAY.powi(away) * less));
    }
    let less = (1.0 - step / NEAR).max(0.0);
    Some((From::Neighbour, BESIDE * OUTWARD.powi(away - 1) * less))
}

fn wish(of: &Found, (from, share): (From, f64), away: usize) -> Option<(Wish, usize)> {
    let colour = match (from, of.role) {
        (From::Neighbour, Role::Melody) => TUNE_BESIDE,
        _ => 1.0,
    };
    let strength = of.agrees * of.share.min(1.0) * share * colour;
    let wish = Wish {
        role: of.role,
        octave: of.octave,
        strength,
        from,
        away,
        bars: of.bars,
    };
    (strength >= FAINTEST).then_some((wish, of.part.0))
}

/// For each passage the first one of the same music: repeats of repeats, and repeats of the same earlier
/// passage, are all one.
fn same_music(passages: &[Passage]) -> Vec<usize> {
    let mut first: Vec<usize> = Vec::with_capacity(passages.len());
    for (i, passage) in passages.iter().enumerate() {
        let earlier = passage.repeats.and_then(|r| first.get(r));
        first.push(earlier.copied().unwrap_or(i));
    }
    first
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::PartId;
    use crate::music::{BarNumber, Tick};
    use proptest::prelude::*;

    fn passage(at: usize, intensity: f64, repeats: Option<usize>) -> Passage {
        let bar = u32::try_from(at).unwrap_or(0) + 1;
        Passage {
            start: Tick(at as u64),
            end: Tick(at as u64 + 1),
            first_bar: BarNumber(bar),
            last_bar: BarNumber(bar),
            intensity,
            repeats,
            peak: false,
        }
    }

    fn tune() -> Found {
        Found {
            part: PartId(0),
            role: Role::Melody,
            octave: 0,
            agrees: 1.0,
            share: 1.0,
            bars: (BarNumber(1), BarNumber(1)),
        }
    }

    #[test]
    fn repeats_of_repeats_are_one_music() {
        let of = [None, None, Some(0), Some(1), Some(2), Some(9)];
        let passages: Vec<Passage> = (0..).zip(of).map(|(i, r)| passage(i, 5.0, r)).collect();
        assert_eq!(same_music(&passages), [0, 1, 0, 1, 0, 5]);
    }

    #[test]
    fn neighbours_far_in_intensity_follow_nothing() {
        let passages = [
            passage(0, 2.0, None),
            passage(1, 4.5, None),
            passage(2, 3.0, None),
        ];
        let found = [vec![tune()], Vec::new(), Vec::new()];
        let wishes = spread(&passages, &found, 1);
        assert!(wishes[1][0].is_empty() && !wishes[2][0].is_empty());
    }

    proptest! {
        #[test]
        fn wishes_go_out_both_ways_and_grow_fainter(
            intensities in prop::collection::vec(3.0..7.0_f64, 1..12),
            repeats in prop::collection::vec(prop::option::of(0_usize..12), 12),
            locked in 0_usize..12,
        ) {
            let passages: Vec<Passage> = intensities.iter().enumerate().map(|(i, intensity)| {
                passage(i, *intensity, repeats[i].filter(|r| *r < i))
            }).collect();
            let locked = locked % passages.len();
            let mut found = vec![Vec::new(); passages.len()];
            found[locked].push(tune());
            let wishes = spread(&passages, &found, 2);
            let music = same_music(&passages);
            for (i, parts) in wishes.iter().enumerate() {
                prop_assert!(parts[1].is_empty());
                let wish = parts[0].first();
                prop_assert!(wish.is_none_or(|w| (0.0..=1.0).contains(&w.strength) && w.away == locked.abs_diff(i)));
                if music[i] == music[locked] {
                    prop_assert!(wish.is_some_and(|w| w.from != From::Neighbour));
                }
                // At the same intensity and of the same music or not, the one further off is fainter.
                for (j, others) in wishes.iter().enumerate() {
                    let alike = intensities[i] == intensities[j] && (music[i] == music[locked]) == (music[j] == music[locked]);
                    if alike && locked.abs_diff(j) > locked.abs_diff(i) {
                        let of = |w: Option<&Wish>| w.map_or(0.0, |w| w.strength);
                        prop_assert!(of(others[0].first()) <= of(wish));
                    }
                }
            }
        }
    }
}
