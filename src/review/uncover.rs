//! What covers a line, and what would uncover it: changes tried one by one, the least first.
//!
//! Every change is reckoned through: the stretch is weighed again with the notes as they would be.

use super::changes::{Change, changes};
use super::moments::{covered_by, sounds, weighed};
use super::presence::{LinePresence, Stretch, StretchPresence};
use super::tones::Tones;
use crate::band::{Band, PartId};
use crate::score::{PartLine, Role};

/// The parts that are named as covering a line: so many at the most, and no more than bring this share (ours).
const NAMED: usize = 3;
const NAMED_SHARE: f64 = 0.6;

/// A part that covers a line.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Cover {
    /// Which.
    pub part: PartId,
    /// Its share of all that covers the line in the bands in which that is listened for, 0 to 1.
    pub share: f64,
}

/// A change that was reckoned through.
#[derive(Clone, PartialEq, Debug)]
pub struct Uncovering {
    /// The change.
    pub change: Change,
    /// How the line would stand after it.
    pub then: LinePresence,
}

/// Why a line is covered, and what would help.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Uncover {
    /// All that cover it, the most first.
    pub covers: Vec<Cover>,
    /// How many changes there are to try.
    pub tried: usize,
    /// Those that uncover it and cover no other line instead, the least change first.
    pub enough: Vec<Uncovering>,
    /// Where none does: the one after which the line stands out most.
    pub nearest: Option<Uncovering>,
}

impl Uncover {
    /// The parts that cover the line most: as few as bring more than half of it, three at the most.
    #[must_use]
    pub fn named(&self) -> &[Cover] {
        let mut sum = 0.0;
        let few = self.covers.iter().take(NAMED).take_while(|c| {
            let more = sum < NAMED_SHARE;
            sum += c.share;
            more
        });
        self.covers.get(..few.count()).unwrap_or_default()
    }
}

/// What covers the line of a role in a stretch, and at most so many changes that uncover it. Empty where the line
/// is not covered there.
#[must_use]
pub fn uncover(
    band: &Band,
    lines: &[PartLine],
    stretch: &Stretch,
    role: Role,
    at_most: usize,
) -> Uncover {
    Trial::of(&mut Tones::of(band), band, lines, stretch).uncover(role, at_most)
}

/// A stretch on which changes are tried.
pub(super) struct Trial<'a> {
    tones: &'a mut Tones,
    band: &'a Band,
    stretch: Stretch,
    /// The notes that sound in it, by part.
    lines: Vec<PartLine>,
}

impl<'a> Trial<'a> {
    pub(super) fn of(
        tones: &'a mut Tones,
        band: &'a Band,
        lines: &[PartLine],
        stretch: &Stretch,
    ) -> Self {
        let here = |line: &PartLine| PartLine {
            part: line.part,
            notes: {
                let until = line.notes.partition_point(|n| n.onset < stretch.end);
                let notes = line.notes.iter().take(until);
                notes.filter(|n| n.end() > stretch.start).copied().collect()
            },
        };
        Self {
            tones,
            band,
            stretch: *stretch,
            lines: lines.iter().map(here).collect(),
        }
    }

    /// What changes are tried on.
    pub(super) fn lines(&self) -> &[PartLine] {
        &self.lines
    }

    fn presence(&mut self, lines: &[PartLine]) -> StretchPresence {
        let span = (self.stretch.start, self.stretch.end);
        let notes = sounds(self.tones, lines);
        StretchPresence::of(self.stretch, &weighed(self.tones, &notes, span))
    }

    pub(super) fn uncover(mut self, role: Role, at_most: usize) -> Uncover {
        let lines = std::mem::take(&mut self.lines);
        let before = self.presence(&lines);
        if !before.line(role).is_some_and(|l| l.covered()) {
            return Uncover::default();
        }
        let mut found = Uncover {
            covers: self.covers(&lines, role),
            ..Uncover::default()
        };
        let named: Vec<PartId> = found.named().iter().map(|c| c.part).collect();
        let all: Vec<PartId> = found.covers.iter().map(|c| c.part).collect();
        let changes = changes(self.band, &lines, &self.stretch, role, (&named, &all));
        found.tried = changes.len();
        for change in changes {
            if found.enough.len() >= at_most {
                break;
            }
            let changed = change.made(self.band, &lines, &self.stretch, role);
            let after = self.presence(&changed);
            let Some(then) = after.line(role) else {
                continue;
            };
            let one = Uncovering { change, then };
            if then.covered() {
                let more = |n: &Uncovering| stands(&n.then) >= stands(&then);
                if !found.nearest.as_ref().is_some_and(more) {
                    found.nearest = Some(one);
                }
            } else if !covers_another(&before, &after, role) {
                found.enough.push(one);
            }
        }
        if !found.enough.is_empty() {
            found.nearest = None;
        }
        found
    }

    fn covers(&mut self, lines: &[PartLine], role: Role) -> Vec<Cover> {
        let span = (self.stretch.start, self.stretch.end);
        let notes = sounds(self.tones, lines);
        let shares = covered_by(self.tones, &notes, span, role);
        let mut covers: Vec<Cover> = shares
            .into_iter()
            .map(|(part, share)| Cover { part, share })
            .collect();
        covers.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.part.cmp(&b.part)));
        covers
    }
}

/// How far a line is from what it should be: what it lacks in decibels.
fn stands(line: &LinePresence) -> f64 {
    line.plain_db.0 - line.target.least
}

/// Whether another line is covered after a change that was not before.
fn covers_another(before: &StretchPresence, after: &StretchPresence, role: Role) -> bool {
    let covered = |p: Option<LinePresence>| p.is_some_and(|l| l.covered());
    let mut others = before.lines().into_iter().zip(after.lines());
    others.any(|((of, b), (_, a))| of != role && covered(a) && !covered(b))
}
