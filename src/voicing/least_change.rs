//! What a part in an octave would best play instead of notes of the tune that nobody can play.

use super::hand_over::fits_between;
use super::line_terms::{self as terms, IMPOSSIBLE, Milli};
use super::melody_change::{Changer, Instead};
use super::part_notes::PartNotes;
use crate::band::Part;
use crate::music::{Interval, Sounding, Tick};
use crate::plan::Apart;
use crate::plan::fit::ChanceCosts;
use crate::plan::line::LineNote;
use crate::score::DraftNote;

/// Notes are changed by an octave at most, in semitones.
const FARTHEST: i16 = 12;

/// A part in an octave, asked for other notes.
pub(super) struct OnePart<'a> {
    pub changer: &'a Changer<'a>,
    pub part: &'a Part,
    pub costs: &'a ChanceCosts,
    pub has: &'a PartNotes,
    pub octave: i16,
}

impl OnePart<'_> {
    /// The cheapest notes instead of those of a run, and their cost.
    pub fn cheapest(&self, run: &[usize]) -> (Vec<Option<Sounding>>, Milli) {
        let mut before: Vec<(Option<Sounding>, Milli)> = Vec::new();
        let mut backs: Vec<Vec<(Option<Sounding>, usize)>> = Vec::new();
        for (place, note) in run.iter().enumerate() {
            let mut now = Vec::new();
            let mut back = Vec::new();
            for (pitch, own) in self.candidates(*note) {
                let arrive = |(i, (from, cost)): (usize, &(Option<Sounding>, Milli))| {
                    let way = self.way(*note, *from, pitch);
                    (cost.saturating_add(way), i)
                };
                let (cost, at) = if place == 0 {
                    (self.first_way(*note, pitch), 0)
                } else {
                    before
                        .iter()
                        .enumerate()
                        .map(arrive)
                        .min()
                        .unwrap_or((0, 0))
                };
                now.push((pitch, cost.saturating_add(own).min(IMPOSSIBLE)));
                back.push((pitch, at));
            }
            before = now;
            backs.push(back);
        }
        let last = run.last().copied().unwrap_or(0);
        let end = |(i, (pitch, cost)): (usize, &(Option<Sounding>, Milli))| {
            (cost.saturating_add(self.last_way(last, *pitch)), i)
        };
        let (cost, mut at) = before.iter().enumerate().map(end).min().unwrap_or((0, 0));
        let mut path = Vec::with_capacity(run.len());
        for back in backs.iter().rev() {
            let Some((pitch, from)) = back.get(at) else {
                break;
            };
            path.push(*pitch);
            at = *from;
        }
        path.reverse();
        if cost >= IMPOSSIBLE {
            return (vec![None; run.len()], cost);
        }
        (path, cost)
    }

    /// What may be played instead of a note, with its cost; nothing comes first.
    fn candidates(&self, at: usize) -> Vec<(Option<Sounding>, Milli)> {
        let mut all = vec![(None, terms::NOBODY.of(1))];
        let Some(note) = self.changer.note(at).filter(|n| self.is_free(n)) else {
            return all;
        };
        for by in (-FARTHEST..=FARTHEST).filter(|by| *by != 0) {
            let Some(pitch) = note.pitch.up(Interval(by)) else {
                continue;
            };
            let Some(own) = pitch.up(Interval::octaves(self.octave)) else {
                continue;
            };
            let Some(clean) = self.costs.cost(own, &note.moment, None) else {
                continue;
            };
            if let Some(lost) = self.chord_cost(note, pitch) {
                let away = terms::CHANGED_BY.of(i64::from(by.unsigned_abs()));
                all.push((Some(pitch), terms::CLEAN.of(clean) + away + lost));
            }
        }
        all
    }

    fn is_free(&self, note: &LineNote) -> bool {
        !self.has.is_shut(note.onset) && self.has.sounding(note.onset).is_none()
    }

    /// What it costs that a note is no tone of the chord; `None` where it is of neither chord nor key.
    fn chord_cost(&self, note: &LineNote, pitch: Sounding) -> Option<Milli> {
        let problem = self.changer.problem;
        let chord = problem.reading.chord(note.onset).map(|c| c.chord);
        let in_chord = |p: Sounding| chord.is_some_and(|c| c.tone(p.class()).is_some());
        let in_key = problem
            .reading
            .key(note.onset)
            .is_some_and(|k| k.signature.key().has(pitch.class()));
        if in_chord(pitch) || (!in_chord(note.pitch) && pitch.class() == note.pitch.class()) {
            return Some(0);
        }
        if !in_key && pitch.class() != note.pitch.class() {
            return None;
        }
        if !in_chord(note.pitch) {
            return Some(0);
        }
        let length = note.end.since(note.onset).0;
        let quarters = length
            .div_ceil(u64::from(problem.quarter.get()))
            .clamp(1, 4);
        Some(terms::CHORD_LOST.of(i64::try_from(quarters).unwrap_or(4)))
    }

    /// What the way to a note of the run costs from the one before it in the run.
    fn way(&self, at: usize, from: Option<Sounding>, to: Option<Sounding>) -> Milli {
        let (Some(from), Some(to)) = (from, to) else {
            return 0;
        };
        let before = at.checked_sub(1).and_then(|b| self.changer.note(b));
        let (Some(before), Some(note)) = (before, self.changer.note(at)) else {
            return 0;
        };
        let own = self.own_way((before.onset, from), (note.onset, to), note);
        own.saturating_add(contour((before.pitch, note.pitch), (from, to)))
    }

    /// What the way from the note before the run costs.
    fn first_way(&self, at: usize, to: Option<Sounding>) -> Milli {
        let (Some(to), Some(note)) = (to, self.changer.note(at)) else {
            return 0;
        };
        let turned = match self.neighbour(at.checked_sub(1)) {
            Some(before) => contour((before.pitch, note.pitch), (before.pitch, to)),
            None => 0,
        };
        let Some(here) = to.up(Interval::octaves(self.octave)) else {
            return IMPOSSIBLE;
        };
        let own = self.has.last_before(note.onset);
        match own {
            Some(own)
                if !self
                    .apart()
                    .may_follow((own.onset, own.pitch), (note.onset, here)) =>
            {
                IMPOSSIBLE
            }
            Some(own) if note.moment.flow.near => {
                let way = self.costs.way_cost(own.pitch, here, &note.moment);
                turned + terms::CLEAN.of(way)
            }
            _ => turned,
        }
    }

    /// What the way to the note after the run costs.
    fn last_way(&self, at: usize, from: Option<Sounding>) -> Milli {
        let (Some(from), Some(note)) = (from, self.changer.note(at)) else {
            return 0;
        };
        let turned = match self.neighbour(at.checked_add(1)) {
            Some(after) => contour((note.pitch, after.pitch), (from, after.pitch)),
            None => 0,
        };
        let Some(here) = from.up(Interval::octaves(self.octave)) else {
            return IMPOSSIBLE;
        };
        let own = self.has.first_from(note.onset);
        match own {
            Some(own)
                if !self
                    .apart()
                    .may_follow((note.onset, here), (own.onset, own.pitch)) =>
            {
                IMPOSSIBLE
            }
            _ => turned,
        }
    }

    fn apart(&self) -> Apart<'_> {
        Apart::of(self.part, self.changer.problem.tempo)
    }

    /// A note of the same breath.
    fn neighbour(&self, at: Option<usize>) -> Option<&LineNote> {
        let at = at.filter(|at| self.changer.breath.contains(at))?;
        self.changer.note(at)
    }

    /// What the way between two notes, in the sketch's octave, costs the part.
    fn own_way(&self, from: (Tick, Sounding), to: (Tick, Sounding), note: &LineNote) -> Milli {
        let moved =
            |(at, pitch): (Tick, Sounding)| Some((at, pitch.up(Interval::octaves(self.octave))?));
        let (Some(from), Some(to)) = (moved(from), moved(to)) else {
            return IMPOSSIBLE;
        };
        let apart = self.apart();
        if !apart.is_any() && !fits_between(self.has, &apart, from, to) {
            return IMPOSSIBLE;
        }
        if note.moment.flow.near {
            terms::CLEAN.of(self.costs.way_cost(from.1, to.1, &note.moment))
        } else {
            0
        }
    }

    /// Whether the part can play some notes instead, just as they are.
    pub fn can_play(&self, instead: &[Instead]) -> bool {
        let mut played: Vec<(Tick, Sounding)> = Vec::with_capacity(instead.len());
        for one in instead {
            let Some(note) = self.changer.note(one.note).filter(|n| self.is_free(n)) else {
                return false;
            };
            let pitch = one.pitch.up(Interval::octaves(self.octave));
            let Some(pitch) = pitch.filter(|p| self.costs.reaches(*p)) else {
                return false;
            };
            played.push((note.onset, pitch));
        }
        let apart = self.apart();
        let (Some(first), Some(last)) = (played.first(), played.last()) else {
            return false;
        };
        let at = |n: &DraftNote| (n.onset, n.pitch);
        let before = self.has.last_before(first.0).map(at);
        let after = self.has.first_from(last.0).map(at);
        apart.is_any()
            || (before.is_none_or(|b| apart.may_follow(b, *first))
                && after.is_none_or(|a| apart.may_follow(*last, a))
                && played
                    .windows(2)
                    .all(|w| fits_between(self.has, &apart, w[0], w[1])))
    }
}

/// What it costs that the way between two notes is turned, or made level, or no longer level.
fn contour(was: (Sounding, Sounding), now: (Sounding, Sounding)) -> Milli {
    let sign = |(a, b): (Sounding, Sounding)| i64::from(a.to(b).0.signum());
    terms::CONTOUR.of((sign(was) - sign(now)).abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contour_counts_what_is_turned_twice() {
        let p = |m| Sounding::nearest(m);
        let up = (p(60), p(64));
        assert_eq!(contour(up, (p(60), p(62))), 0);
        assert_eq!(contour(up, (p(60), p(60))), terms::CONTOUR.of(1));
        assert_eq!(contour(up, (p(60), p(59))), terms::CONTOUR.of(2));
    }
}
