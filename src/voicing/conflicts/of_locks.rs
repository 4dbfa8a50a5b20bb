//! Locked notes against what the director said of their part.

use super::relaxation::{reach, written};
use super::{Change, Conflict, Kind};
use crate::band::{Exposure, NotesPerSecond, Part, PartId, shared_players};
use crate::music::{BarNumber, Interval, Tick};
use crate::plan::closed::ChangeTime;
use crate::score::{Draft, DraftNote, Lock, Role, Why};
use crate::score::{as_ranges, bars_in_words};
use crate::sketch::Note;
use crate::voicing::Problem;
use crate::voicing::part_notes::PartNotes;

/// Notes may come so much sooner than the greatest speed allows, in seconds: half of what the
/// reviewer lets pass (ours).
const TOLERANCE: f64 = 0.000_5;

/// Every conflict of every lock.
pub(super) fn of_locks(problem: &Problem<'_>, draft: &Draft) -> Vec<Conflict> {
    let mut all = Vec::new();
    for lock in &problem.locks.0 {
        let own = OfLock {
            problem,
            id: lock.part,
            part: problem.band.part(lock.part),
            lock,
        };
        all.extend(own.range());
        all.extend(own.leap());
        all.extend(own.speed());
        all.extend(own.key());
        all.extend(own.players());
        all.extend(own.rest());
        all.extend(own.alone(draft));
    }
    all
}

struct OfLock<'a> {
    problem: &'a Problem<'a>,
    id: PartId,
    part: &'a Part,
    lock: &'a Lock,
}

impl OfLock<'_> {
    fn bar(&self, at: Tick) -> BarNumber {
        self.problem.meters.bar(at)
    }

    fn conflict(
        &self,
        kind: Kind,
        bars: Vec<(BarNumber, BarNumber)>,
        says: impl FnOnce(&str) -> String,
        relaxation: Vec<Change>,
    ) -> Option<Conflict> {
        if bars.is_empty() {
            return None;
        }
        let says = says(&bars_in_words(&bars));
        Some(Conflict {
            kind,
            bars,
            parts: vec![self.id],
            says,
            relaxation,
        })
    }

    fn bars_of(&self, notes: &[&Note]) -> Vec<(BarNumber, BarNumber)> {
        as_ranges(notes.iter().map(|n| self.bar(n.onset)))
    }

    /// Notes outside the range: above and below, what a remark rules out and what no player reaches.
    fn range(&self) -> Vec<Conflict> {
        let range = self.part.limits.range;
        let out = |n: &&Note| !range.contains(n.pitch);
        let said = |n: &&&Note| matches!(reach(self.part, self.id, n.pitch), Some(Some(_)));
        let outside: Vec<&Note> = self.lock.notes.iter().filter(out).collect();
        let sides = [true, false].into_iter().flat_map(|high| {
            let side = move |n: &&&Note| (n.pitch > range.high) == high;
            let here: Vec<&Note> = outside.iter().filter(side).copied().collect();
            let by_remark: Vec<&Note> = here.iter().filter(said).copied().collect();
            let by_players: Vec<&Note> = here.iter().filter(|n| !said(n)).copied().collect();
            [(high, true, by_remark), (high, false, by_players)]
        });
        let one = |(high, by_remark, notes): (bool, bool, Vec<&Note>)| {
            let pitches = notes.iter().map(|n| n.pitch);
            let worst = if high { pitches.max() } else { pitches.min() }?;
            let name = &self.part.name;
            let to = written(self.part, worst);
            let (side, end) = if high {
                ("above", range.high)
            } else {
                ("below", range.low)
            };
            let end = written(self.part, end);
            let bars = self.bars_of(&notes);
            let unlock = Change::Unlock(self.id, bars.clone());
            let says = |bars: &str| {
                let against = if by_remark {
                    format!("but the director allows {name} nothing {side} written {end}")
                } else {
                    format!("but the players of {name} reach nothing {side} written {end}")
                };
                format!("{name} is locked to written {to} in {bars}, {against}")
            };
            let relax = match reach(self.part, self.id, worst) {
                Some(Some(change)) if by_remark => change,
                _ => unlock,
            };
            self.conflict(Kind::LockRange, bars, says, vec![relax])
        };
        sides.filter_map(one).collect()
    }

    /// Locked notes in a row, with rests between; of notes struck together any pair counts.
    fn pairs(&self) -> impl Iterator<Item = (&Note, &Note)> {
        let notes = &self.lock.notes;
        notes.windows(2).filter_map(|w| {
            let (a, b) = (w.first()?, w.get(1)?);
            (a.onset < b.onset && self.adjoins(a, b)).then_some((a, b))
        })
    }

    /// Whether no bar that is open stands between two locked notes, in which something could be played.
    fn adjoins(&self, a: &Note, b: &Note) -> bool {
        let bars = (self.bar(a.onset).0..=self.bar(b.onset).0).map(BarNumber);
        bars.into_iter().all(|bar| self.lock.bars.0.contains(&bar))
    }

    fn leap(&self) -> Option<Conflict> {
        let most = self.part.limits.max_leap?.size();
        let far = |(a, b): &(&Note, &Note)| u16::from(a.pitch.distance(b.pitch)) > most;
        let pairs: Vec<(&Note, &Note)> = self.pairs().filter(far).collect();
        let size = |p: &(&Note, &Note)| p.0.pitch.distance(p.1.pitch);
        let widest = pairs.iter().copied().max_by_key(size)?;
        let bars = as_ranges(
            pairs
                .iter()
                .flat_map(|(a, b)| [self.bar(a.onset), self.bar(b.onset)]),
        );
        let name = &self.part.name;
        let says = |bars: &str| {
            let (a, b) = (
                written(self.part, widest.0.pitch),
                written(self.part, widest.1.pitch),
            );
            format!(
                "{name} is locked to a leap of {} semitones ({a} to {b}) in {bars}, but the director allows {name} none over {most}",
                size(&widest)
            )
        };
        let to = Interval(i16::from(size(&widest)));
        self.conflict(Kind::LockLeap, bars, says, vec![Change::Leap(self.id, to)])
    }

    fn speed(&self) -> Option<Conflict> {
        let most = self.part.limits.max_speed?.0;
        let seconds = |n: &Note| self.problem.tempo.seconds(n.onset);
        let gap = |(a, b): &(&Note, &Note)| seconds(b) - seconds(a);
        let soon = |p: &(&Note, &Note)| gap(p) < 1.0 / most - TOLERANCE;
        let pairs: Vec<(&Note, &Note)> = self.pairs().filter(soon).collect();
        let least = pairs.iter().map(gap).fold(f64::INFINITY, f64::min);
        let rate = 1.0 / least.max(1e-3);
        let bars = as_ranges(pairs.iter().map(|(_, b)| self.bar(b.onset)));
        let name = &self.part.name;
        let says = |bars: &str| {
            format!(
                "{name} is locked to {rate:.1} notes a second in {bars}, but the director allows {name} no more than {most}"
            )
        };
        // Rounded up, so that it does.
        let to = NotesPerSecond((rate * 10.0).ceil() / 10.0);
        self.conflict(
            Kind::LockSpeed,
            bars,
            says,
            vec![Change::Speed(self.id, to)],
        )
    }

    fn key(&self) -> Option<Conflict> {
        let most = self.part.limits.max_accidentals?;
        let closed = self.problem.plan.closed.of(self.id).iter();
        let hard = closed.filter_map(|s| match s.why {
            Why::Key(written) => Some((s, written.fifths().unsigned_abs())),
            _ => None,
        });
        let met = hard.flat_map(|(s, signs)| {
            let meets = move |n: &&Note| n.onset < s.end && s.start < n.end();
            let notes = self.lock.notes.iter().filter(meets);
            notes.map(move |n| (self.bar(n.onset), signs))
        });
        let met: Vec<(BarNumber, u8)> = met.collect();
        let needed = met.iter().map(|m| m.1).max()?;
        let bars = as_ranges(met.iter().map(|m| m.0));
        let name = &self.part.name;
        let says = |bars: &str| {
            format!(
                "{name} is locked in {bars}, in a written key of {needed} sharps or flats, but the director allows {name} no more than {most}"
            )
        };
        let change = Change::Accidentals(self.id, needed);
        self.conflict(Kind::LockKey, bars, says, vec![change])
    }

    /// Locked notes of the same players' other part, at once or with no time to change between; told
    /// of the later part of the two.
    fn players(&self) -> Vec<Conflict> {
        let time = ChangeTime {
            meters: self.problem.meters,
            tempo: self.problem.tempo,
        };
        let shared = shared_players(self.problem.band).into_iter();
        let others = shared.filter_map(|(a, b)| match (a == self.id, b == self.id) {
            (true, _) => Some(b),
            (_, true) => Some(a),
            _ => None,
        });
        let one = |other: PartId| {
            let lock = self.problem.locks.of(other)?;
            let apart = |n: &Note, o: &Note| {
                time.is_enough(n.end(), o.onset) || time.is_enough(o.end(), n.onset)
            };
            let meets = |n: &&Note| lock.notes.iter().any(|o| !apart(n, o));
            let notes: Vec<&Note> = self.lock.notes.iter().filter(meets).collect();
            let bars = self.bars_of(&notes);
            let (name, other) = (&self.part.name, &self.problem.band.part(other).name);
            let says = |bars: &str| {
                format!(
                    "{name} is locked in {bars}, but its players are locked to {other} there, or with no time to change"
                )
            };
            let unlock = Change::Unlock(self.id, bars.clone());
            self.conflict(Kind::LockPlayers, bars, says, vec![unlock])
        };
        others.filter(|o| *o < self.id).filter_map(one).collect()
    }

    fn rest(&self) -> Option<Conflict> {
        let most = self.part.limits.rests_every?;
        let sounds = self.lock.notes.iter().flat_map(|n| {
            let last = self.bar(Tick(n.end().0.saturating_sub(1)));
            (self.bar(n.onset).0..=last.0).map(BarNumber)
        });
        let on_end = |(a, b): &(BarNumber, BarNumber)| b.0 - a.0 + 1;
        let mut bars = as_ranges(sounds);
        bars.retain(|b| on_end(b) > u32::from(most));
        let longest = bars.iter().map(on_end).max()?;
        let name = &self.part.name;
        let says = |bars: &str| {
            format!(
                "{name} is locked to play {bars} on end, but the director asks for a bar of rest after {most} at the latest"
            )
        };
        let to = u16::try_from(longest).unwrap_or(u16::MAX);
        self.conflict(
            Kind::LockRest,
            bars,
            says,
            vec![Change::BarsOnEnd(self.id, to)],
        )
    }

    /// Locked notes that no other part goes with: of a line in the same pitch class, of anything in time.
    fn alone(&self, draft: &Draft) -> Option<Conflict> {
        if self.part.remarks.exposure != Exposure::Never {
            return None;
        }
        let locked = PartNotes::locked(self.problem, self.id);
        let others = || draft.lines.iter().filter(|l| l.part != self.id);
        let near = |notes: &[DraftNote], at: Tick| notes.partition_point(|n| n.onset < at);
        let struck = |n: &DraftNote| {
            others().any(|l| {
                let from = near(&l.notes, n.onset);
                let mut here = l.notes[from..].iter().take_while(|o| o.onset == n.onset);
                here.any(|o| o.pitch.class() == n.pitch.class())
            })
        };
        let sounds = |n: &DraftNote| {
            others().any(|l| {
                let past = near(&l.notes, Tick(n.onset.0 + 1));
                let before = l.notes[..past].iter().rev().take(8);
                before.into_iter().any(|o| n.onset < o.end())
            })
        };
        let alone = |n: &&DraftNote| {
            let line = n.role != Role::Harmony;
            n.locked && ((line && !struck(n)) || !sounds(n))
        };
        let notes = locked.notes.iter().filter(alone);
        let bars = as_ranges(notes.map(|n| self.bar(n.onset)));
        let name = &self.part.name;
        let says = |bars: &str| {
            format!(
                "{name} is locked to notes in {bars} that nobody else plays with it, but the director never wants {name} heard alone"
            )
        };
        self.conflict(Kind::LockAlone, bars, says, vec![Change::Alone(self.id)])
    }
}
