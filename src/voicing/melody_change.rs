//! Changing a note of the tune that nobody can play, where the arranger allows it: the least change.

use super::Problem;
use super::company::Company;
use super::cover::plays;
use super::hand_over::fits_between;
use super::line_terms::{self as terms, IMPOSSIBLE, Milli};
use super::octave_rule::open_octaves;
use super::part_notes::PartNotes;
use super::set_line::{free, moved};
use crate::band::{Part, PartId};
use crate::music::{Interval, Sounding, Tick};
use crate::plan::Apart;
use crate::plan::fit::ChanceCosts;
use crate::plan::line::LineNote;
use crate::score::{MelodyChange, Role};
use std::ops::Range;

/// Notes are changed by an octave at most, in semitones.
const FARTHEST: i16 = 12;

/// Changes notes of the tune that no part plays, where that is allowed: who carries the breath (or
/// else whoever can) plays the note that changes it least, by distance, contour and chord. Gives what
/// was changed.
pub fn change_tune(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &mut [PartNotes],
) -> Vec<MelodyChange> {
    let mut changes = Vec::new();
    if problem.tune.may_change.0.is_empty() {
        return changes;
    }
    for breath in &problem.lines.melody.breaths {
        let change = Changer {
            problem,
            costs,
            breath: breath.clone(),
        };
        change.breath(has, &mut changes);
    }
    changes.sort_by_key(|c| (c.onset, c.sketch));
    changes
}

/// Changes notes of one breath.
struct Changer<'a> {
    problem: &'a Problem<'a>,
    costs: &'a [ChanceCosts],
    breath: Range<usize>,
}

/// A note instead of one of the tune.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Instead {
    /// Which note of the line.
    note: usize,
    /// What is played, in the sketch's octave.
    pitch: Sounding,
}

/// What a part could play instead of some notes.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Offer {
    cost: Milli,
    part: usize,
    octave: i16,
    /// What it plays at each of the notes; `None`: nothing.
    pitches: Vec<Option<Sounding>>,
}

impl Changer<'_> {
    fn note(&self, at: usize) -> Option<&LineNote> {
        self.problem.lines.melody.notes.get(at)
    }

    /// Changes what is lost until nobody can play any of it.
    fn breath(&self, has: &mut [PartNotes], changes: &mut Vec<MelodyChange>) {
        let mut left: Vec<usize> = self
            .breath
            .clone()
            .filter(|i| self.is_lost(*i, has))
            .collect();
        while !left.is_empty() {
            let runs: Vec<Vec<usize>> = left
                .chunk_by(|a, b| a + 1 == *b)
                .map(<[usize]>::to_vec)
                .collect();
            let found = runs.iter().find_map(|run| self.change_run(run, has));
            let Some((done, more)) = found else {
                return;
            };
            left.retain(|i| !done.contains(i));
            changes.extend(more);
        }
    }

    /// Whether nobody plays a note that may be changed.
    fn is_lost(&self, at: usize, has: &[PartNotes]) -> bool {
        let (rules, meters) = (self.problem.tune, self.problem.meters);
        self.note(at).is_some_and(|n| {
            rules.may_change(n.onset, meters)
                && !has.iter().any(|h| plays(h, n.onset, n.pitch.class()))
        })
    }

    /// Changes notes in a row, or some of them; gives which, and how.
    fn change_run(
        &self,
        run: &[usize],
        has: &mut [PartNotes],
    ) -> Option<(Vec<usize>, Vec<MelodyChange>)> {
        let carriers = self.carriers(has);
        let others: Vec<PartId> = self
            .problem
            .band
            .ids()
            .filter(|(id, part)| part.instrument.id != "timpani" && !carriers.contains(id))
            .map(|(id, _)| id)
            .collect();
        for asked in [&carriers, &others] {
            let mut offers: Vec<Offer> = Vec::new();
            for part in asked {
                offers.extend(self.offers(run, *part, &has[part.0]));
            }
            offers.sort();
            for offer in offers {
                let instead: Vec<Instead> = run
                    .iter()
                    .zip(&offer.pitches)
                    .filter_map(|(note, pitch)| Some((*note, (*pitch)?)))
                    .map(|(note, pitch)| Instead { note, pitch })
                    .collect();
                let players = self.players(&offer, &instead, &carriers, has);
                if players.is_empty() || instead.is_empty() {
                    continue;
                }
                let changes = self.apply(&instead, &players, &carriers, has);
                return Some((instead.iter().map(|i| i.note).collect(), changes));
            }
        }
        None
    }

    /// Who plays any of the breath's notes as the tune.
    fn carriers(&self, has: &[PartNotes]) -> Vec<PartId> {
        let carries = |h: &PartNotes| {
            self.breath.clone().filter_map(|i| self.note(i)).any(|n| {
                let mut own = h.struck(n.onset);
                own.any(|o| o.role == Role::Melody && o.pitch.class() == n.pitch.class())
            })
        };
        self.problem
            .band
            .ids()
            .filter(|(id, part)| part.instrument.id != "timpani" && carries(&has[id.0]))
            .map(|(id, _)| id)
            .collect()
    }

    /// What a part could play instead of the notes of a run, in each octave that is open to it.
    fn offers(&self, run: &[usize], part: PartId, has: &PartNotes) -> Vec<Offer> {
        let breath = &self.problem.lines.melody.notes[self.breath.clone()];
        let open = open_octaves(self.problem, Role::Melody, breath, has);
        let of = |octave: i16| {
            let one = OnePart {
                changer: self,
                part: self.problem.band.part(part),
                costs: &self.costs[part.0],
                has,
                octave,
            };
            let (pitches, cost) = one.cheapest(run);
            let away = i64::from(octave.unsigned_abs()) * run.len() as i64;
            pitches.iter().any(Option::is_some).then(|| Offer {
                cost: cost + terms::MOVED.of(away),
                part: part.0,
                octave,
                pitches,
            })
        };
        open.iter().filter_map(of).collect()
    }

    /// Who plays an offer, each with its octave: the part itself, and other carriers who can; nobody
    /// where a part that is never to be heard alone would be.
    fn players(
        &self,
        offer: &Offer,
        instead: &[Instead],
        carriers: &[PartId],
        has: &[PartNotes],
    ) -> Vec<(PartId, i16)> {
        let mut players = vec![(PartId(offer.part), offer.octave)];
        let breath = &self.problem.lines.melody.notes[self.breath.clone()];
        for part in carriers.iter().filter(|p| p.0 != offer.part) {
            let open = open_octaves(self.problem, Role::Melody, breath, &has[part.0]);
            let can = |octave: &i16| {
                let one = OnePart {
                    changer: self,
                    part: self.problem.band.part(*part),
                    costs: &self.costs[part.0],
                    has: &has[part.0],
                    octave: *octave,
                };
                one.can_play(instead)
            };
            let nearest = open
                .iter()
                .filter(can)
                .min_by_key(|k| (k.unsigned_abs(), *k));
            players.extend(nearest.map(|k| (*part, k)));
        }
        let needed =
            |p: &(PartId, i16)| Company::of(self.problem.band.part(p.0)) == Company::Needed;
        if players.len() == 1 && players.iter().any(needed) {
            return Vec::new();
        }
        players.sort_unstable();
        players
    }

    fn apply(
        &self,
        instead: &[Instead],
        players: &[(PartId, i16)],
        carriers: &[PartId],
        has: &mut [PartNotes],
    ) -> Vec<MelodyChange> {
        let mut changes = Vec::new();
        for one in instead {
            let Some(note) = self.note(one.note) else {
                continue;
            };
            let mut parts = Vec::new();
            for (part, octave) in players {
                let has = &mut has[part.0];
                let new = LineNote {
                    pitch: one.pitch,
                    ..*note
                };
                let own = free(new, Tick(u64::MAX), has);
                let own: Vec<_> = moved(own.as_slice(), *octave, Role::Melody).collect();
                parts.extend(own.iter().map(|n| (*part, n.pitch)));
                has.add(own);
            }
            let main = players.iter().map(|p| p.0);
            let carrier = main.clone().find(|p| carriers.contains(p));
            let reason = self.reason(note, one.pitch, carrier.or(main.min()));
            changes.push(MelodyChange {
                onset: note.onset,
                sketch: note.pitch,
                new: Some(one.pitch),
                parts,
                reason,
            });
        }
        changes
    }

    fn reason(&self, note: &LineNote, new: Sounding, part: Option<PartId>) -> String {
        let name = part.map_or("", |p| self.problem.band.part(p).name.as_str());
        let by = note.pitch.to(new).0;
        let way = if by > 0 { "higher" } else { "lower" };
        let chord = self.problem.reading.chord(note.onset);
        let what = if by % 12 == 0 {
            "the same note"
        } else if chord.is_some_and(|c| c.chord.tone(new.class()).is_some()) {
            "a tone of the chord"
        } else {
            "a tone of the key"
        };
        let size = by.unsigned_abs();
        let steps = if size == 1 { "semitone" } else { "semitones" };
        format!(
            "no free part can play {}; {name} plays {new} for it, {what}, {size} {steps} {way}",
            note.pitch
        )
    }
}

/// A part in an octave, asked for other notes.
struct OnePart<'a> {
    changer: &'a Changer<'a>,
    part: &'a Part,
    costs: &'a ChanceCosts,
    has: &'a PartNotes,
    octave: i16,
}

impl OnePart<'_> {
    /// The cheapest notes instead of those of a run, and their cost.
    fn cheapest(&self, run: &[usize]) -> (Vec<Option<Sounding>>, Milli) {
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
    fn can_play(&self, instead: &[Instead]) -> bool {
        let mut before: Option<(Tick, Sounding)> = None;
        let apart = self.apart();
        for one in instead {
            let Some(note) = self.changer.note(one.note).filter(|n| self.is_free(n)) else {
                return false;
            };
            let pitch = one.pitch.up(Interval::octaves(self.octave));
            let Some(pitch) = pitch.filter(|p| self.costs.reaches(*p)) else {
                return false;
            };
            let here = (note.onset, pitch);
            let own = self.has.last_before(note.onset).map(|n| (n.onset, n.pitch));
            let last = before.max(own);
            if last.is_some_and(|l| !apart.may_follow(l, here)) {
                return false;
            }
            let after = self.has.first_from(note.onset);
            if after.is_some_and(|n| !apart.may_follow(here, (n.onset, n.pitch))) {
                return false;
            }
            before = Some(here);
        }
        true
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
