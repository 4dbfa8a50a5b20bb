//! Some bars solved by themselves, to be held against other solvers.

use super::network::network;
use super::solve::Ready;
use super::{Effort, Problem, Status};
use crate::music::{BarNumber, Tick};
use thiserror::Error;

/// Some bars solved by themselves: around the same lines and locks as the whole, with no harmony
/// before them.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Excerpt {
    /// Cost of the chords in points.
    pub cost: f64,
    /// What they cannot cost less than.
    pub lower_bound: f64,
    /// How good they are known to be.
    pub status: Status,
    /// The very model as a cost function network, if it was asked for.
    pub network: Option<String>,
}

/// Why there is no excerpt of some bars.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
pub enum ExcerptError {
    /// No step of the harmony begins in them.
    #[error("no chord begins in bars {0}-{1}; name bars in which the sketch sounds")]
    Empty(BarNumber, BarNumber),
    /// They are too long to be solved at once.
    #[error("bars {0}-{1} are too many to be solved at once; name fewer")]
    TooLong(BarNumber, BarNumber),
}

/// Solves some bars by themselves; with `network`, writes them as a cost function network too.
///
/// # Errors
/// Where no chord begins in the bars, or they are too many to be solved at once.
pub fn excerpt(
    problem: &Problem<'_>,
    (first, last): (BarNumber, BarNumber),
    with_network: bool,
    effort: &Effort<'_>,
) -> Result<Excerpt, ExcerptError> {
    let ready = Ready::of(problem);
    let around = ready.around(problem);
    let chords = ready.chords(&around);
    let (start, end) = (
        problem.meters.bar_start(first),
        problem.meters.bar_end(last),
    );
    let steps = chords.within(start, end);
    if steps.is_empty() {
        return Err(ExcerptError::Empty(first, last));
    }
    let (stretch, to) = chords.stretch(steps.clone(), None, effort);
    if to < steps.end {
        return Err(ExcerptError::TooLong(first, last));
    }
    let network = with_network.then(|| {
        let parts: Vec<String> = problem.band.parts.iter().map(|p| p.name.clone()).collect();
        let starts = chords.steps[steps.clone()].iter().map(|s| s.start);
        let steps: Vec<String> = starts.map(|at| place(problem, at)).collect();
        let title = format!("bars {first}-{last}");
        network(&stretch, &title, &parts, &steps)
    });
    let solved = chords.solve(steps, effort, &mut |_| {});
    Ok(Excerpt {
        cost: solved.cost as f64 / 1000.0,
        lower_bound: solved.bound as f64 / 1000.0,
        status: solved.status,
        network,
    })
}

/// The bar of a step and how far into it the step begins, in quarter notes.
fn place(problem: &Problem<'_>, at: Tick) -> String {
    let bar = problem.meters.bar(at);
    let into = at.since(problem.meters.bar_start(bar));
    format!("bar{bar}_{:.3}", problem.quarter.beats(into).0)
}
