//! A timeline whose places are of whichever kind it was planned in.

use super::place::{Seconds, Share};
use super::{Fault, Timeline, tie};
use crate::music::{BarBeat, MeterMap, TempoMap, Tick};

/// A timeline in bars, in seconds, or in shares of any length.
#[derive(Clone, PartialEq, Debug)]
pub enum AnyTimeline {
    /// In bars.
    Bars(Timeline<BarBeat>),
    /// In seconds.
    Seconds(Timeline<Seconds>),
    /// In shares: a template.
    Shares(Timeline<Share>),
}

impl AnyTimeline {
    /// What it is called.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Bars(t) => &t.name,
            Self::Seconds(t) => &t.name,
            Self::Shares(t) => &t.name,
        }
    }

    /// What it is for.
    #[must_use]
    pub fn note(&self) -> &str {
        match self {
            Self::Bars(t) => &t.note,
            Self::Seconds(t) => &t.note,
            Self::Shares(t) => &t.note,
        }
    }

    /// The word of its kind of places in files.
    #[must_use]
    pub const fn unit(&self) -> &'static str {
        match self {
            Self::Bars(_) => "bars",
            Self::Seconds(_) => "seconds",
            Self::Shares(_) => "shares",
        }
    }

    /// Whether it can be used.
    ///
    /// # Errors
    /// As [`Timeline::check`].
    pub fn check(&self) -> Result<(), Fault> {
        match self {
            Self::Bars(t) => t.check(),
            Self::Seconds(t) => t.check(),
            Self::Shares(t) => t.check(),
        }
    }

    /// The same in the bars of some music that ends at a tick: as it is, tied, or stretched to as many bars.
    #[must_use]
    pub fn in_bars_of(&self, meters: &MeterMap, tempo: &TempoMap, end: Tick) -> Timeline<BarBeat> {
        match self {
            Self::Bars(t) => t.clone(),
            Self::Seconds(t) => tie(t, meters, tempo),
            Self::Shares(t) => {
                let mut t = t.clone();
                t.meter = meters.meter(Tick::ZERO);
                t.in_bars(meters.bar(Tick(end.0.saturating_sub(1))).0)
            }
        }
    }
}

impl From<Timeline<BarBeat>> for AnyTimeline {
    fn from(timeline: Timeline<BarBeat>) -> Self {
        Self::Bars(timeline)
    }
}

impl From<Timeline<Seconds>> for AnyTimeline {
    fn from(timeline: Timeline<Seconds>) -> Self {
        Self::Seconds(timeline)
    }
}

impl From<Timeline<Share>> for AnyTimeline {
    fn from(timeline: Timeline<Share>) -> Self {
        Self::Shares(timeline)
    }
}
