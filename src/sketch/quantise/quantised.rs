//! What comes of quantising: a song on the written grid, and what was decided.

use super::swing::Swing;
use crate::music::Tick;
use crate::sketch::song::Song;

/// Which times are wanted.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Times {
    /// Written times for what was played in; step-entered music stays as it is.
    #[default]
    Auto,
    /// Written times in any case.
    Written,
    /// The times of the file in any case.
    Played,
}

/// What was done with the times.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Taken {
    /// The music stands on a plain grid; the song is as it came.
    StepEntered,
    /// It was played in; the song has written times.
    Quantised,
    /// It was played in; the song is as it came, because that was asked for or no grid was found.
    AsPlayed,
}

impl Taken {
    /// The word for it in JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::StepEntered => "step_entered",
            Self::Quantised => "quantised",
            Self::AsPlayed => "as_played",
        }
    }
}

/// A song with the times to go on with, and what was decided.
#[derive(Clone, PartialEq, Debug)]
pub struct Quantised {
    /// The song. Where it was re-timed, each track tells in [`crate::sketch::Track::played`] how
    /// the file held its notes, and its warnings say what the arranger should know.
    pub song: Song,
    /// What was done.
    pub taken: Taken,
    /// How sure that is, 0 to 1.
    pub confidence: f64,
    /// Stretches of swing, on the written grid.
    pub swing: Vec<Swing>,
    /// The speed that was found by ear, in quarters a minute; `None` where the file's own holds.
    pub tempo_found: Option<f64>,
    /// How many notes are grace notes.
    pub graces: usize,
    /// How many chords were rolled.
    pub rolled: usize,
    /// How far notes were moved, in milliseconds: the mean of the absolute shifts.
    pub mean_shift_ms: f64,
    pub(super) warp: Option<Warp>,
}

impl Quantised {
    /// A song as it came.
    pub(super) fn unchanged(song: &Song, taken: Taken, confidence: f64) -> Self {
        Self {
            song: song.clone(),
            taken,
            confidence,
            swing: Vec::new(),
            tempo_found: None,
            graces: 0,
            rolled: 0,
            mean_shift_ms: 0.0,
            warp: None,
        }
    }

    /// Where in the file music is that stands at a tick of the song.
    #[must_use]
    pub fn file_tick(&self, written: Tick) -> Tick {
        self.warp.as_ref().map_or(written, |w| w.file(written))
    }

    /// The same for what stands on the grid itself (keys, meters, markers): where the file's own
    /// grid holds, they stand where they stood.
    #[must_use]
    pub fn file_mark(&self, written: Tick) -> Tick {
        if self.tempo_found.is_some() {
            self.file_tick(written)
        } else {
            written
        }
    }
}

/// Pairs of times, in the file and written, that both rise; straight between them.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Warp {
    anchors: Vec<(f64, f64)>,
    /// Written ticks of a file tick outside the anchors.
    slope: f64,
}

impl Warp {
    /// From pairs in order; those that do not rise are left out.
    pub(super) fn new(pairs: impl IntoIterator<Item = (f64, f64)>, slope: f64) -> Self {
        let mut anchors: Vec<(f64, f64)> = Vec::new();
        for (file, written) in pairs {
            if anchors.last().is_none_or(|l| l.0 < file && l.1 < written) {
                anchors.push((file, written));
            }
        }
        let slope = if slope.is_finite() && slope > 0.0 {
            slope
        } else {
            1.0
        };
        Self { anchors, slope }
    }

    /// Where a tick of the file is written.
    pub(super) fn written(&self, file: Tick) -> Tick {
        rounded(self.turn(file.0 as f64, |a| *a, self.slope))
    }

    /// Where in the file a written tick is.
    fn file(&self, written: Tick) -> Tick {
        rounded(self.turn(written.0 as f64, |a| (a.1, a.0), 1.0 / self.slope))
    }

    fn turn(&self, at: f64, way: impl Fn(&(f64, f64)) -> (f64, f64), slope: f64) -> f64 {
        let next = self.anchors.partition_point(|a| way(a).0 <= at);
        let before = next
            .checked_sub(1)
            .and_then(|i| self.anchors.get(i))
            .map(&way);
        let after = self.anchors.get(next).map(&way);
        match (before, after) {
            (Some(b), Some(a)) => b.1 + (at - b.0) * (a.1 - b.1) / (a.0 - b.0),
            (Some(b), None) => b.1 + (at - b.0) * slope,
            (None, Some(a)) => a.1 - (a.0 - at) * slope,
            (None, None) => at,
        }
    }
}

fn rounded(at: f64) -> Tick {
    Tick(at.round().max(0.0) as u64)
}
