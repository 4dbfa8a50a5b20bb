//! How much work a solve may be, and when it stops.

use std::sync::atomic::{AtomicBool, Ordering};

/// How much work a solve may be.
#[derive(Clone, Copy, Debug)]
pub struct Effort<'a> {
    /// Threads at the most; the answer is the same with any number.
    pub threads: usize,
    /// A stretch is good enough where bound and cost are this near, as a share of the cost.
    pub gap: f64,
    /// Prices are improved at most so often.
    pub rounds: usize,
    /// Set from outside to stop: the best so far is given, with its bound.
    pub stop: Option<&'a AtomicBool>,
}

impl Default for Effort<'_> {
    fn default() -> Self {
        Self {
            threads: 2,
            gap: 0.005,
            rounds: 40,
            stop: None,
        }
    }
}

impl Effort<'_> {
    /// Whether it has been told to stop.
    #[must_use]
    pub fn is_stopped(&self) -> bool {
        self.stop.is_some_and(|s| s.load(Ordering::Relaxed))
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
