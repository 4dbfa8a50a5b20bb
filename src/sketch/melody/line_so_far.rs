//! What is usual for the line that a first look found, near each attack.

use super::attacks::{Attacks, Struck};
use super::context::median;

/// How many quarters on either side count as near.
const NEAR: f64 = 12.0;
/// How many count as close.
const CLOSE: f64 = 3.0;

/// What is usual for the line near an attack.
#[derive(Clone, Copy, Debug)]
pub(super) struct Usual {
    /// Its register: three tenths the line's median pitch, the rest the
    /// median of what is near.
    pub(super) centre: f64,
    /// Mean velocity, over all.
    pub(super) velocity: f64,
    /// The share of its notes with nothing above them, over all.
    pub(super) top: f64,
    /// The share of its notes that are struck alone, over all.
    pub(super) alone: f64,
    /// Median length in quarters, over all.
    pub(super) length: f64,
    /// Median pitch within three quarters, if it has notes there.
    pub(super) near: Option<f64>,
    /// How many notes a quarter it has near, at most 1.
    pub(super) there: f64,
}

/// What is usual near each attack, for the line of `chosen` notes (attack and index in
/// [`Attacks::struck`]).
pub(super) fn usual(attacks: &Attacks, chosen: &[(usize, usize)]) -> Vec<Usual> {
    let line: Vec<&Struck> = chosen.iter().map(|c| &attacks.struck[c.1]).collect();
    let count = line.len().max(1) as f64;
    let share = |count_of: usize| {
        if line.is_empty() {
            0.5
        } else {
            count_of as f64 / count
        }
    };
    let top = |c: &&(usize, usize)| attacks.struck[c.1].pitch >= attacks.list[c.0].top();
    let alone = |c: &&(usize, usize)| attacks.list[c.0].pitches == 1;
    let mut lengths: Vec<f64> = line.iter().map(|n| n.length()).collect();
    lengths.sort_by(f64::total_cmp);
    let mut pitches = [0_u32; 128];
    for note in &line {
        pitches[usize::from(note.pitch.min(127))] += 1;
    }
    let whole = median(&pitches).unwrap_or(67.0);
    let over_all = Usual {
        centre: whole,
        velocity: line.iter().map(|n| n.velocity).sum::<f64>() / count,
        top: share(chosen.iter().filter(top).count()),
        alone: share(chosen.iter().filter(alone).count()),
        length: lengths.get(lengths.len() / 2).copied().unwrap_or(1.0),
        there: 0.0,
        near: None,
    };
    let near = medians(attacks, &line, NEAR);
    let close = medians(attacks, &line, CLOSE);
    near.into_iter()
        .zip(close)
        .map(|((around, count), (close, _))| Usual {
            centre: 0.3 * whole + 0.7 * around.unwrap_or(whole),
            there: (count as f64 / (2.0 * NEAR)).min(1.0),
            near: close,
            ..over_all
        })
        .collect()
}

/// For each attack the median pitch of the line's notes within so many quarters, and how many.
fn medians(attacks: &Attacks, line: &[&Struck], within: f64) -> Vec<(Option<f64>, usize)> {
    let mut counts = [0_u32; 128];
    let (mut lo, mut hi) = (0, 0);
    attacks
        .list
        .iter()
        .map(|attack| {
            while let Some(n) = line.get(hi).filter(|n| n.at <= attack.at + within) {
                counts[usize::from(n.pitch.min(127))] += 1;
                hi += 1;
            }
            while let Some(n) = line
                .get(lo)
                .filter(|n| lo < hi && n.at < attack.at - within)
            {
                counts[usize::from(n.pitch.min(127))] -= 1;
                lo += 1;
            }
            (median(&counts).filter(|_| hi > lo), hi - lo)
        })
        .collect()
}
