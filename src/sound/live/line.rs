//! Where the music is that is heard just now.

use crate::sound::tones::RATE;
use rtrb::Consumer;
use std::collections::VecDeque;

/// The music goes on from elsewhere than where it was: it begins, jumps back, changes its speed, ends.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Mark {
    /// The frame of the device that this begins with.
    pub frame: u64,
    /// Where the music is then, in seconds of its own tempo; before `from` while it is counted in.
    pub at: f64,
    /// Where the passage begins.
    pub from: f64,
    /// The factor of the music's own tempo.
    pub speed: f64,
    /// Whether it plays.
    pub plays: bool,
    /// The number of the passage.
    pub number: u64,
}

/// The marks of an engine as they come.
pub struct Marks(pub(super) Consumer<Mark>);

impl Marks {
    /// Those that came since they were asked for last, in order.
    pub fn new_ones(&mut self) -> impl Iterator<Item = Mark> + '_ {
        std::iter::from_fn(|| self.0.pop().ok())
    }
}

/// Where the music is that is heard, from the marks of the engine and the frames that the device says it has played.
#[derive(Clone, Debug, Default)]
pub struct Line {
    marks: VecDeque<Mark>,
}

impl Line {
    /// The music goes on from elsewhere, later than all that was told before.
    pub fn told(&mut self, mark: Mark) {
        self.marks.push_back(mark);
    }

    /// Where the music is, in seconds of its own tempo, once so many frames have been heard; `None` where none is heard.
    /// What is past is forgotten: `heard` may not go back.
    pub fn at(&mut self, heard: f64) -> Option<f64> {
        while self.marks.get(1).is_some_and(|m| m.frame as f64 <= heard) {
            self.marks.pop_front();
        }
        let mark = self.marks.front()?;
        let since = heard - mark.frame as f64;
        (mark.plays && since >= 0.0)
            .then(|| (mark.at + since / f64::from(RATE) * mark.speed).max(mark.from))
    }

    /// The number of the passage that is heard, or was last.
    #[must_use]
    pub fn number(&self) -> Option<u64> {
        self.marks.front().map(|m| m.number)
    }

    /// Whether music is heard or about to be: some that was told is not over yet.
    #[must_use]
    pub fn is_moving(&self) -> bool {
        self.marks.iter().any(|m| m.plays)
    }
}
