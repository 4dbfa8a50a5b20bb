//! Tempos to practise a hard spot at, from slow to the tempo of the piece.

use super::clean::{Frame, flows_of};
use crate::band::playing::burst_factor;
use crate::band::{Level, Part};
use crate::music::{BarNumber, Tick};
use crate::score::{BeatsAMinute, DraftNote};

/// The first tempo: notes come at so much of the speed that the weakest players keep up (common practice, no source:
/// begin where it is easy; the size is ours).
const EASY: f64 = 0.75;
/// The first tempo is never above this share of the piece's (ours).
const SLOW: f64 = 0.75;
/// It is never under this share (ours: slower, a phrase falls apart).
const SLOWEST: f64 = 0.4;
/// From step to step a tempo rises by about this share (common practice, no source: a few beats a minute at a time).
const STEP: f64 = 0.08;

/// How to climb, for people.
pub const HOW: &str = "Stay on a step until it came clean three times running, then go up one; if it falls apart, go \
back two (common practice). The first tempo lets notes come at three quarters of the speed that the table of speeds \
gives the weakest players of the part, and no faster than three quarters of the piece; steps rise by about 8 % (ours).";

/// Tempos to practise at.
#[derive(Clone, PartialEq, Debug)]
pub struct Ladder {
    /// Beats a minute, each more than the one before; the last is the piece's.
    pub tempos: Vec<u32>,
    /// The piece's tempo, with what its beat is.
    pub goal: BeatsAMinute,
    /// Notes a second at the piece's tempo where they follow one another most quickly; `None` where none do.
    pub speed: Option<f64>,
    /// Notes a second that the weakest players keep up by the table of speeds, each with the tongue.
    pub kept_up: f64,
    /// The most that they may reach in a short burst.
    pub burst: f64,
    /// Whose speed that is.
    pub level: Level,
}

impl Ladder {
    /// Whether the spot asks for more than the players of the table reach even in a short burst.
    #[must_use]
    pub fn too_fast(&self) -> bool {
        self.speed.is_some_and(|s| s > self.burst)
    }
}

/// The ladder of a bar of a part; `None` for a part without players.
#[must_use]
pub fn ladder(
    part: &Part,
    notes: &[DraftNote],
    bar: BarNumber,
    frame: &Frame<'_>,
) -> Option<Ladder> {
    let level = part.players.weakest()?;
    let (start, end) = (frame.meters.bar_start(bar), frame.meters.bar_end(bar));
    let inside = |at: Tick| start <= at && at < end;
    let flows = flows_of(notes, frame.tempo);
    let own = notes.iter().zip(&flows).filter(|(n, _)| inside(n.onset));
    let speeds = own.filter_map(|(_, flow)| flow.speed.map(|s| s.0));
    let speed = speeds.reduce(f64::max);
    let first = notes.iter().map(|n| n.onset).find(|at| inside(*at));
    let at = first.unwrap_or(start);
    let goal = BeatsAMinute::at(frame.tempo, frame.meters, at);
    let kept_up = part.instrument.playing.speeds.tongued.at(level);
    Some(Ladder {
        tempos: tempos(f64::from(goal.beats), speed, kept_up),
        goal,
        speed,
        kept_up,
        burst: kept_up * burst_factor(1.0, 4.0),
        level,
    })
}

/// Whole beats a minute from an easy tempo to the goal.
fn tempos(goal: f64, speed: Option<f64>, kept_up: f64) -> Vec<u32> {
    let goal = goal.round().max(1.0);
    let easy = speed.map_or(SLOW, |s| EASY * kept_up / s.max(f64::EPSILON));
    let first = (goal * easy.clamp(SLOWEST, SLOW)).round().max(1.0);
    let steps = ((goal / first).ln() / STEP.ln_1p()).ceil().max(1.0);
    let mut tempos: Vec<u32> = Vec::new();
    for step in 0..=(steps as u32) {
        let share = f64::from(step) / steps;
        let tempo = (first * (goal / first).powf(share)).round() as u32;
        if tempos.last().is_none_or(|last| *last < tempo) {
            tempos.push(tempo);
        }
    }
    tempos
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_is_easy_begins_at_three_quarters() {
        assert_eq!(tempos(120.0, None, 4.0), [90, 97, 104, 112, 120]);
        assert_eq!(tempos(120.0, Some(2.0), 4.0).first(), Some(&90));
        // Six notes a second where three are kept up: three quarters of three, at 45.
        assert_eq!(tempos(120.0, Some(6.0), 3.0).first(), Some(&48));
        assert_eq!(tempos(120.0, Some(6.0), 4.0).first(), Some(&60));
    }

    proptest! {
        #[test]
        fn ladders_rise_to_the_tempo(
            goal in 0.2_f64..900.0,
            speed in prop::option::of(0.01_f64..60.0),
            kept_up in 0.5_f64..11.0,
        ) {
            let all = tempos(goal, speed, kept_up);
            prop_assert!(all.windows(2).all(|w| w[0] < w[1]), "{all:?}");
            prop_assert_eq!(all.last().copied(), Some(goal.round().max(1.0) as u32));
        }
    }
}
