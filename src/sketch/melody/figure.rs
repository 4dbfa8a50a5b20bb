//! Figures that run evenly round the tones of a chord, and slow lines against them.

use super::attacks::{Attack, Attacks, Struck};
use super::context::Context;
use super::feature::Feature;

/// So many equal steps in a row make a run.
const RUN: usize = 6;
/// A note as long as so many steps of the run around it is slow.
const SLOW: f64 = 2.5;
/// How many quarters before or after tell which tones a figure goes round.
const ROUND: f64 = 2.0;
/// A figure's notes are at most so many times as long as one another.
const ALIKE: f64 = 1.3;
/// How many slow notes within eight quarters on either side make a line.
pub(super) const SLOW_LINE: f64 = 3.0;

/// Sets what tells of a figure or of a slow line against one, for a note of attack `k`.
pub(super) fn features(
    attacks: &Attacks,
    context: &Context,
    k: usize,
    note: &Struck,
    set: &mut impl FnMut(Feature, f64),
) {
    if context.motor < RUN {
        return;
    }
    let limit = SLOW * context.step;
    if note.length() < limit {
        let before = tones(attacks, k, note, (ROUND, 0.0));
        let after = tones(attacks, k, note, (0.0, ROUND));
        set(Feature::Figure, before.max(after));
        return;
    }
    let attack = &attacks.list[k];
    let (over, others) = slow_with(attacks, attack, note, limit);
    let feature = if note.pitch == attack.bottom() {
        Feature::SlowLowest
    } else if over > 0 {
        Feature::SlowInner
    } else {
        Feature::Slow
    };
    set(feature, if others > 1 { 0.3 } else { 1.0 });
}

/// How many other slow notes are struck with a note: above it, and at all.
fn slow_with(attacks: &Attacks, attack: &Attack, note: &Struck, limit: f64) -> (usize, usize) {
    let slow = |n: &&Struck| n.pitch != note.pitch && n.length() >= limit;
    let all = attacks.of(attack).iter().filter(slow);
    all.fold((0, 0), |(over, count), n| {
        (over + usize::from(n.pitch > note.pitch), count + 1)
    })
}

/// How surely the notes as short as this one, within so many quarters before and after, go round
/// the tones of one chord: 1 for three classes of pitch or fewer, 0 for six.
fn tones(attacks: &Attacks, k: usize, note: &Struck, within: (f64, f64)) -> f64 {
    let (mut classes, mut count) = (0_u16, 0);
    for attack in &attacks.list[attacks.around(k, within.0, within.1)] {
        let short = |n: &&Struck| n.length() <= ALIKE * note.length().max(0.05);
        for n in attacks.of(attack).iter().filter(short) {
            classes |= 1 << (n.pitch % 12);
            count += 1;
        }
    }
    if count < 4 {
        return 0.0;
    }
    match classes.count_ones() {
        0..=3 => 1.0,
        4 => 0.6,
        5 => 0.25,
        _ => 0.0,
    }
}
