//! One thing that a reviewer would mark.

use crate::music::{BarBeat, Tick};
use std::fmt;

/// How bad a finding is, worst first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Severity {
    /// Outside a hard limit: the players cannot play it, or were ruled out of it.
    OutOfLimit,
    /// The music loses something.
    Loss,
    /// Worth a look.
    Caution,
}

impl Severity {
    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::OutOfLimit => "out_of_limit",
            Self::Loss => "loss",
            Self::Caution => "caution",
        }
    }
}

/// One thing that a reviewer would mark.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding {
    /// How bad it is.
    pub severity: Severity,
    /// A stable word for its kind, such as `above_range`.
    pub kind: &'static str,
    /// The part, if it is about one.
    pub part: Option<String>,
    /// Where.
    pub at: Tick,
    /// Where, as musicians say it.
    pub place: BarBeat,
    /// What is the matter, one sentence.
    pub message: String,
    /// What would mend it, one sentence.
    pub remedy: String,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let part = self
            .part
            .as_deref()
            .map(|p| format!("{p}, "))
            .unwrap_or_default();
        write!(f, "{part}{}: {} {}", self.place, self.message, self.remedy)
    }
}
