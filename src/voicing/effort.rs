//! How much work a solve may be, and when it stops.

use std::sync::atomic::{AtomicBool, Ordering};

/// How much work a solve may be.
#[derive(Clone, Copy)]
pub struct Effort<'a> {
    /// Threads at the most; the answer is the same with any number.
    pub threads: usize,
    /// A stretch is good enough where bound and cost are this near, as a share of the cost.
    pub gap: f64,
    /// Prices are improved at most so often.
    pub rounds: usize,
    /// Set from outside to stop: the best so far is given, with its bound.
    pub stop: Option<&'a AtomicBool>,
    /// Asked whether it is time to stop, often and from several threads; whoever gives it may look at
    /// a clock. Without one the same input gives the same answer.
    pub late: Option<&'a (dyn Fn() -> bool + Sync)>,
}

impl std::fmt::Debug for Effort<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self {
            threads,
            gap,
            rounds,
            stop,
            late,
        } = self;
        f.debug_struct("Effort")
            .field("threads", threads)
            .field("gap", gap)
            .field("rounds", rounds)
            .field("stop", stop)
            .field("late", &late.is_some())
            .finish()
    }
}

impl Default for Effort<'_> {
    fn default() -> Self {
        Self {
            threads: 2,
            gap: 0.005,
            rounds: 40,
            stop: None,
            late: None,
        }
    }
}

impl Effort<'_> {
    /// Whether it has been told to stop.
    #[must_use]
    pub fn is_stopped(&self) -> bool {
        self.stop.is_some_and(|s| s.load(Ordering::Relaxed)) || self.late.is_some_and(|late| late())
    }
}

/// How far a solve has come.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Progress {
    /// The share that is done, 0 to 1.
    pub share: f64,
    /// What is solved so far costs, in points.
    pub cost: f64,
    /// What it cannot cost less than, in points.
    pub lower_bound: f64,
}

impl Progress {
    /// So many steps of so many, with cost and bound in thousandths of a point.
    pub(super) fn of(done: usize, all: usize, cost: i64, bound: i64) -> Self {
        Self {
            share: done as f64 / all.max(1) as f64,
            cost: cost as f64 / 1000.0,
            lower_bound: bound as f64 / 1000.0,
        }
    }

    /// How far what is solved so far may be above the best, as a share of its cost.
    #[must_use]
    pub fn gap(self) -> f64 {
        super::gap(self.cost, self.lower_bound)
    }
}

/// How good an answer is known to be.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub enum Status {
    /// No answer is better: bound and cost are equal.
    #[default]
    Optimal,
    /// An answer with its bound.
    Feasible,
    /// Stopped before its time: the best answer so far, with its bound.
    Stopped,
    /// Locks and remarks contradict each other, so that no answer keeps to all of them. The answer
    /// stands around that, and its bound holds for what is left.
    Impossible,
}

impl Status {
    /// Its word in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Optimal => "optimal",
            Self::Feasible => "feasible",
            Self::Stopped => "stopped",
            Self::Impossible => "impossible",
        }
    }
}
