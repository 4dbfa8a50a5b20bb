//! Each note's name by what sounds with it, what is near it and where it moves.
//!
//! A note has two names worth thinking of, twelve places apart on the line of fifths: the sharper
//! and the flatter one around the middle of its scale. The sum of a few weights decides: above
//! zero for the sharper. The weights were fitted by logistic regression to published scores
//! (chorales, madrigals, piano pieces) and rounded.

use super::neighbours::{Neighbours, Steps};
use super::scales::nearest;
use crate::music::TicksPerQuarter;
use crate::sketch::reading::ReadNote;

/// How many notes before and after count as near.
const NEAR: usize = 12;
/// All notes are gone through twice, as names change their neighbours' names. The first time other
/// notes of the same pitch class have no say, so that a first guess does not uphold itself.
const SWEEPS: [bool; 2] = [false, true];

/// What a note sounding together says for the sharper name, by how many places that name lies
/// above the other note (0 and below in the first, 12 and above in the last): 3 is a minor third
/// below or a major sixth above, 4 a major third above, 9 the diminished seventh.
const TOGETHER: [f64; 13] = [
    2.4, 0.9, 0.2, 2.1, 1.9, -0.4, -0.1, -1.0, -0.9, -1.5, -0.2, -0.5, -3.0,
];
/// The same for the notes near by.
const NEARBY: [f64; 13] = [
    9.0, 1.3, 1.5, 5.5, 3.5, 1.5, 0.8, -2.0, -1.2, -4.0, -3.0, -1.3, -11.0,
];
/// A semitone up to a follower, or down to one, speaks for sharp or flat.
const LEADS: f64 = 1.4;
/// Coming down by a semitone speaks for sharp a little.
const FROM_HIGHER: f64 = 0.5;
/// Coming up by a semitone speaks for flat a little: a new letter for a new tone.
const FROM_LOWER: f64 = 0.85;

/// The ends of what is written, as places on the line of fifths.
const F_DOUBLE_FLAT: i32 = -15;
const B_DOUBLE_SHARP: i32 = 19;

/// How well a name sits in its scale, by its place above the scale's major tonic.
fn degree(above: i32) -> f64 {
    match above {
        0..=7 => 0.6,
        -1 => 0.5,
        -2 => 0.3,
        8 | 9 => 0.2,
        -4 | -3 => -0.2,
        10 => -0.3,
        11 => -0.5,
        -6 | -5 => -0.8,
        _ => -1.2,
    }
}

/// For each note its place on the line of fifths. `scales` has each note's scale.
pub(super) fn names(notes: &[ReadNote], scales: &[i32], quarter: TicksPerQuarter) -> Vec<i32> {
    let neighbours = Neighbours::new(notes, quarter);
    let sharper: Vec<i32> = notes
        .iter()
        .zip(scales)
        .map(|(n, scale)| {
            let middle = scale + 2;
            let place = nearest(n.pitch.class(), middle);
            if place > middle { place } else { place + 12 }
        })
        .collect();
    let mut names: Vec<i32> = sharper
        .iter()
        .zip(scales)
        .map(|(s, scale)| plainer(*s, *scale))
        .collect();
    for same_class in SWEEPS {
        for (i, (high, scale)) in sharper.iter().zip(scales).enumerate() {
            let own = degree(high - scale) - degree(high - 12 - scale);
            let say = |weights| Say {
                high: *high,
                weights,
                same_class,
            };
            let with = say(&TOGETHER).mean(&names, neighbours.together(i));
            let near = i.saturating_sub(NEAR)..(i + NEAR + 1).min(names.len());
            let near = say(&NEARBY).mean(&names, near.filter(|j| *j != i));
            let sharp = own + with + near + movement(neighbours.steps(i)) > 0.0;
            names[i] = writable(if sharp { *high } else { high - 12 });
        }
    }
    names
}

/// The name to start from: the one nearer to the scale's middle, between the flat seventh's and
/// the leading tone of the relative minor's.
fn plainer(sharper: i32, scale: i32) -> i32 {
    if sharper - scale <= 8 {
        sharper
    } else {
        sharper - 12
    }
}

/// The name, or the next one to it that needs no triple sharp or flat.
fn writable(place: i32) -> i32 {
    match place {
        ..F_DOUBLE_FLAT => place + 12,
        _ if place > B_DOUBLE_SHARP => place - 12,
        _ => place,
    }
}

/// What other notes say of a note's sharper name.
struct Say<'a> {
    high: i32,
    weights: &'a [f64; 13],
    same_class: bool,
}

impl Say<'_> {
    fn mean(&self, names: &[i32], others: impl IntoIterator<Item = usize>) -> f64 {
        let (mut sum, mut count) = (0.0, 0.0);
        for other in others.into_iter().filter_map(|j| names.get(j)) {
            let place = (self.high - other).clamp(0, 12) as usize;
            let heard = self.same_class || (1..12).contains(&place);
            sum += if heard { self.weights[place] } else { 0.0 };
            count += 1.0;
        }
        if count > 0.0 { sum / count } else { 0.0 }
    }
}

fn movement(steps: Steps) -> f64 {
    let one = |higher: bool, lower: bool, up: f64, down: f64| match (higher, lower) {
        (true, false) => up,
        (false, true) => down,
        _ => 0.0,
    };
    one(steps.to_higher, steps.to_lower, LEADS, -LEADS)
        + one(
            steps.from_higher,
            steps.from_lower,
            FROM_HIGHER,
            -FROM_LOWER,
        )
}
