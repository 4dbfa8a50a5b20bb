//! How every part of a band takes to the lines of a passage.

use super::apart::Apart;
use super::fit::{ChanceCosts, Fit, fit};
use super::line::LineNote;
use super::solve::Setting;
use crate::band::Part;
use crate::music::Interval;
use crate::score::{Closed, Passage, Role};

/// The tune goes to a part that can play more than this share of it.
pub(super) const MORE_THAN: f64 = 0.5;

/// How every part takes to the lines of a passage.
pub(super) struct Fits {
    melody: Vec<Fit>,
    counterline: Vec<Fit>,
    bass: Vec<Fit>,
    /// Whether each part has most of the bass at the sketch's octave or the one next to it.
    bass_is_low: Vec<bool>,
    /// Parts that may play nothing in the passage.
    pub closed: Vec<bool>,
    /// Whether it has a melody, a counterline, a bass, a figure.
    pub has: [bool; 4],
}

impl Fits {
    /// Those of a passage.
    pub fn of(
        setting: &Setting<'_>,
        costs: &[ChanceCosts],
        closed: &Closed,
        passage: &Passage,
    ) -> Self {
        let (band, lines) = (setting.band, setting.lines);
        let is_closed = |id| closed.covers(id, passage.start, passage.end);
        let closed: Vec<bool> = band.ids().map(|(id, _)| is_closed(id)).collect();
        let within = |role| {
            lines
                .of_role(role)
                .map_or(0..0, |l| l.within(passage.start, passage.end))
        };
        let fits = |role| {
            let range = within(role);
            let line = lines.of_role(role).unwrap_or(&lines.melody);
            let parts = band.parts.iter().zip(costs).zip(&closed);
            let one = |((part, costs), closed): ((&_, &_), &bool)| {
                if *closed {
                    Fit::default()
                } else {
                    fit(&Apart::of(part, setting.tempo), costs, line, &range)
                }
            };
            parts.map(one).collect::<Vec<Fit>>()
        };
        let bass = &lines.bass.notes[within(Role::Bass)];
        let low = |part: &Part| {
            let near = |n: &&LineNote, octave| {
                let pitch = n.pitch.up(Interval::octaves(octave));
                pitch.is_some_and(|p| part.limits.range.contains(p))
            };
            let most = |octave| bass.iter().filter(|n| near(n, octave)).count();
            let most = (-1..=1).map(most).max().unwrap_or(0);
            most as f64 > MORE_THAN * bass.len() as f64
        };
        // A few stray notes make no figure.
        let bars = passage.last_bar.0 - passage.first_bar.0 + 1;
        let has = |role| match role {
            Role::Figure => within(role).len() >= 2 * bars as usize,
            _ => !within(role).is_empty(),
        };
        Self {
            melody: fits(Role::Melody),
            counterline: fits(Role::Counterline),
            bass: fits(Role::Bass),
            bass_is_low: band.parts.iter().map(low).collect(),
            has: [
                has(Role::Melody),
                has(Role::Counterline),
                has(Role::Bass),
                has(Role::Figure),
            ],
            closed,
        }
    }

    /// Those for the line of a role; a figure is for those who were found to keep it, chords for all.
    pub fn of_role(&self, role: Role) -> Option<&[Fit]> {
        match role {
            Role::Melody => Some(&self.melody),
            Role::Counterline => Some(&self.counterline),
            Role::Bass => Some(&self.bass),
            Role::Figure | Role::Harmony | Role::Rest => None,
        }
    }

    /// Whether a part can carry the tune.
    pub fn carries_tune(&self, part: usize) -> bool {
        self.has[0] && self.melody.get(part).is_some_and(|f| f.share > MORE_THAN)
    }

    /// Whether a part can carry some of the bass.
    pub fn carries_bass(&self, part: usize) -> bool {
        self.has[2] && self.bass.get(part).is_some_and(|f| f.share > 0.0)
    }

    /// Whether a part can take the bass from the parts that usually have it: more than half of it, and
    /// low enough to be heard as a bass.
    pub fn can_be_bass(&self, part: usize) -> bool {
        let share = self.bass.get(part).map_or(0.0, |f| f.share);
        share > MORE_THAN && self.bass_is_low.get(part) == Some(&true)
    }

    /// Whether a part can carry some of the counterline.
    pub fn carries_counterline(&self, part: usize) -> bool {
        self.has[1]
            && self
                .counterline
                .get(part)
                .is_some_and(|f| f.share > MORE_THAN)
    }
}
