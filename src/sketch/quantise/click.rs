//! Whether a song was played to the beats that its file holds.

use super::ruler::Ruler;
use super::strikes::Attack;

/// Attacks of a window.
const WINDOW: usize = 48;
/// Parts of a beat that attacks may keep to.
const PARTS: [f64; 5] = [1.0, 2.0, 3.0, 4.0, 6.0];
/// How well a window must keep to one of them: the mean cosine of the phase; attacks at random
/// have a deviation of `1 / sqrt(2 n)`, 0.1 for a window. Chosen by trial.
const KEPT: f64 = 0.42;
/// Share of the windows that must keep to the beats.
const ENOUGH: f64 = 0.75;

/// How well attacks keep to the beats of the file: the share of windows that do, and how well
/// they do at the middle.
pub(super) fn keeping(attacks: &[Attack], ruler: &Ruler<'_>) -> (f64, f64) {
    let phases: Vec<(f64, f64)> = attacks
        .iter()
        .map(|a| {
            (
                ruler.cell(a.tick.max(0.0) as u64).fraction(a.tick),
                a.weight,
            )
        })
        .collect();
    let windows = (phases.len() / WINDOW).max(1);
    let size = phases.len().div_ceil(windows).max(1);
    let mut fits: Vec<f64> = phases.chunks(size).map(fit).collect();
    fits.sort_by(f64::total_cmp);
    let kept = fits.iter().filter(|f| **f >= KEPT).count();
    let middle = fits.get(fits.len() / 2).copied().unwrap_or(0.0);
    (kept as f64 / fits.len().max(1) as f64, middle)
}

/// Whether they keep to them.
pub(super) fn is_kept((share, _): (f64, f64)) -> bool {
    share >= ENOUGH
}

/// How well weighed phases keep to one of the parts.
fn fit(phases: &[(f64, f64)]) -> f64 {
    let all: f64 = phases.iter().map(|p| p.1).sum();
    let mean = |parts: f64| {
        let turn = std::f64::consts::TAU * parts;
        phases
            .iter()
            .map(|(p, w)| w * (turn * p).cos())
            .sum::<f64>()
            / all.max(1e-9)
    };
    PARTS.into_iter().map(mean).fold(-1.0, f64::max)
}
