//! Small changes of a draft's balance: softer, louder, an octave away, fewer doublings, another carrier.

use super::presence::Stretch;
use crate::band::loudness::part_level;
use crate::band::playing::level_dynamics;
use crate::band::{Band, Part, PartId};
use crate::music::{Dynamic, Interval};
use crate::score::{DraftNote, PartLine, Role};
use std::fmt;

/// A step of dynamics in velocities ([`Dynamic::of_velocity`]).
const STEP: u8 = 16;
/// Dynamics by which something becomes softer or louder at the most (ours).
const STEPS: u8 = 2;
/// So many parts that only double are left out at the most, and so many others may carry a line too (ours).
const DOUBLING: usize = 3;
const CARRIERS: usize = 2;
/// More parts are not told by name.
const NAMED: usize = 3;
/// What a change of one part counts, to tell the least change: a dynamic step, an octave, a rest, a line given to
/// one more part (ours).
const OF_STEP: usize = 1;
const OF_OCTAVE: usize = 2;
const OF_REST: usize = 3;
const OF_CARRIER: usize = 4;

/// A change of some notes that begin in a stretch. Locked notes are left alone: parts that have some there are not
/// asked.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Change {
    /// What these parts play besides the line is so many dynamics softer.
    Softer(Vec<PartId>, u8),
    /// The line is so many dynamics louder in these parts.
    Louder(Vec<PartId>, u8),
    /// The line goes an octave up in these parts.
    Up(Vec<PartId>),
    /// The line goes an octave down in these parts.
    Down(Vec<PartId>),
    /// These parts, which only double tones that others have, rest.
    Rest(Vec<PartId>),
    /// A part plays the line too, in the place of what it had, so many octaves from where another plays it.
    PlayToo {
        /// Whose notes it takes.
        from: PartId,
        /// Who takes them.
        with: PartId,
        /// Octaves up, negative down.
        octaves: i16,
    },
}

impl Change {
    /// How great a change it is: small numbers are little changes.
    #[must_use]
    pub const fn size(&self) -> usize {
        match self {
            Self::Softer(parts, steps) | Self::Louder(parts, steps) => {
                OF_STEP * parts.len() * *steps as usize
            }
            Self::Up(parts) | Self::Down(parts) => OF_OCTAVE * parts.len(),
            Self::Rest(parts) => OF_REST * parts.len(),
            Self::PlayToo { .. } => OF_CARRIER,
        }
    }

    /// The change in words that follow `with`.
    #[must_use]
    pub fn in_words(&self, band: &Band) -> String {
        let names = |parts: &[PartId]| {
            if parts.len() > NAMED {
                return format!("all {} parts that cover it", parts.len());
            }
            let all: Vec<&str> = parts.iter().map(|p| band.part(*p).name.as_str()).collect();
            listed(&all)
        };
        let carriers = |parts: &[PartId]| {
            if parts.len() > NAMED {
                return format!("{} parts", parts.len());
            }
            names(parts)
        };
        match self {
            Self::Softer(parts, steps) => format!("{} {} softer", names(parts), dynamics(*steps)),
            Self::Louder(parts, steps) => format!(
                "the line {} louder in {}",
                dynamics(*steps),
                carriers(parts)
            ),
            Self::Up(parts) => format!("the line an octave higher in {}", carriers(parts)),
            Self::Down(parts) => format!("the line an octave lower in {}", carriers(parts)),
            Self::Rest(parts) => format!("{} resting, whose tones others have", names(parts)),
            Self::PlayToo { with, .. } => format!("{} playing it too", names(&[*with])),
        }
    }

    /// Lines as they are after it. `role` is that of the line.
    #[must_use]
    pub fn made(
        &self,
        band: &Band,
        lines: &[PartLine],
        stretch: &Stretch,
        role: Role,
    ) -> Vec<PartLine> {
        let mut lines = lines.to_vec();
        let begins = |n: &DraftNote| stretch.start <= n.onset && n.onset < stretch.end;
        let mut each = |parts: &[PartId], of_line: bool, change: &dyn Fn(&mut DraftNote)| {
            for line in lines.iter_mut().filter(|l| parts.contains(&l.part)) {
                let notes = line.notes.iter_mut();
                let notes = notes.filter(|n| begins(n) && (n.role == role) == of_line);
                notes.for_each(change);
            }
        };
        match self {
            Self::Softer(parts, steps) => each(parts, false, &|n| {
                n.velocity = n.velocity.saturating_sub(steps.saturating_mul(STEP)).max(1);
            }),
            Self::Louder(parts, steps) => each(parts, true, &|n| {
                let by = steps.saturating_mul(STEP);
                n.velocity = n.velocity.saturating_add(by).min(127);
            }),
            Self::Up(parts) => each(parts, true, &|n| {
                n.pitch = n.pitch.up(Interval::OCTAVE).unwrap_or(n.pitch);
            }),
            Self::Down(parts) => each(parts, true, &|n| {
                n.pitch = n.pitch.up(Interval::octaves(-1)).unwrap_or(n.pitch);
            }),
            Self::Rest(parts) => {
                for line in lines.iter_mut().filter(|l| parts.contains(&l.part)) {
                    line.notes.retain(|n| !begins(n));
                }
            }
            Self::PlayToo {
                from,
                with,
                octaves,
            } => {
                let taken = line_of(&lines, *from).iter();
                let taken = taken.filter(|n| begins(n) && n.role == role).copied();
                let by = Interval::octaves(*octaves);
                let moved = |n: DraftNote| n.pitch.up(by).map(|pitch| DraftNote { pitch, ..n });
                let taken: Vec<DraftNote> = taken.filter_map(moved).collect();
                play(&mut lines, band, *with, &taken);
            }
        }
        lines
    }
}

/// Puts notes into a part in the place of what begins or sounds there.
fn play(lines: &mut Vec<PartLine>, band: &Band, with: PartId, taken: &[DraftNote]) {
    let (Some(first), Some(last)) = (taken.first(), taken.last()) else {
        return;
    };
    let (first, last) = (first.onset, last.onset);
    if !lines.iter().any(|l| l.part == with) && with.0 < band.parts.len() {
        lines.push(PartLine {
            part: with,
            notes: Vec::new(),
        });
    }
    for line in lines.iter_mut().filter(|l| l.part == with) {
        line.notes.retain(|n| n.onset < first || last < n.onset);
        for note in line.notes.iter_mut().filter(|n| n.onset < first) {
            note.duration = note.duration.min(first.since(note.onset));
        }
        line.notes.extend(taken.iter().copied());
        line.notes.sort();
    }
}

/// All changes that are worth a try, the least first. `named` cover the line most, `all` at all.
pub(super) fn changes(
    band: &Band,
    lines: &[PartLine],
    stretch: &Stretch,
    role: Role,
    (named, all): (&[PartId], &[PartId]),
) -> Vec<Change> {
    let case = Case {
        band,
        lines,
        stretch,
        role,
    };
    let mut found = case.dynamics(named, all);
    found.extend(case.octaves());
    found.extend(case.doublings(all));
    found.extend(case.carriers());
    found.sort_by_key(Change::size);
    found.dedup();
    found
}

struct Case<'a> {
    band: &'a Band,
    lines: &'a [PartLine],
    stretch: &'a Stretch,
    role: Role,
}

impl<'a> Case<'a> {
    /// What a part begins in the stretch.
    fn begun(&self, part: PartId) -> impl Iterator<Item = &'a DraftNote> + use<'a> {
        let (start, end) = (self.stretch.start, self.stretch.end);
        let notes = line_of(self.lines, part).iter();
        notes.filter(move |n| start <= n.onset && n.onset < end)
    }

    fn free(&self, part: PartId) -> bool {
        self.begun(part).all(|n| !n.locked)
    }

    /// Whether a part has no line to carry here, and may therefore be left out or given one.
    fn only_fills(&self, part: PartId) -> bool {
        let fills = |n: &DraftNote| matches!(n.role, Role::Harmony | Role::Figure);
        self.free(part) && self.begun(part).all(fills)
    }

    fn carriers_now(&self) -> Vec<PartId> {
        let ids = self.lines.iter().map(|l| l.part);
        ids.filter(|p| self.begun(*p).any(|n| n.role == self.role))
            .collect()
    }

    fn dynamics(&self, named: &[PartId], all: &[PartId]) -> Vec<Change> {
        let mut found = Vec::new();
        for steps in 1..=STEPS {
            let softer =
                |p: &&PartId| self.can(**p, false, |d| d.steps() >= usize::from(steps), steps);
            let few: Vec<PartId> = named.iter().filter(softer).copied().collect();
            for count in 1..=few.len() {
                found.push(Change::Softer(few[..count].to_vec(), steps));
            }
            let every: Vec<PartId> = all.iter().filter(softer).copied().collect();
            if every.len() > few.len() {
                found.push(Change::Softer(every, steps));
            }
            let louder = self.carriers_now().into_iter();
            let louder: Vec<PartId> = louder
                .filter(|p| self.can(*p, true, |_| true, steps))
                .collect();
            if !louder.is_empty() {
                found.push(Change::Louder(louder, steps));
            }
        }
        found
    }

    /// Whether the weakest players of a part have the dynamics that its notes would then have.
    fn can(&self, part: PartId, louder: bool, room: impl Fn(Dynamic) -> bool, steps: u8) -> bool {
        let weakest = self
            .band
            .parts
            .get(part.0)
            .and_then(|p| p.players.weakest());
        let Some(have) = weakest.and_then(|level| level_dynamics(level).ok()) else {
            return false;
        };
        let mut notes = self.begun(part).filter(|n| (n.role == self.role) == louder);
        let mut any = false;
        let all = notes.by_ref().all(|n| {
            any = true;
            let now = Dynamic::of_velocity(n.velocity);
            let by = usize::from(steps);
            if louder {
                now.steps() + by <= have.loudest.steps()
            } else {
                room(now) && now.steps().saturating_sub(by) >= have.softest.steps()
            }
        });
        all && any && self.free(part)
    }

    fn octaves(&self) -> Vec<Change> {
        let mut found = Vec::new();
        for (by, make) in [
            (1, Change::Up as fn(Vec<PartId>) -> Change),
            (-1, Change::Down),
        ] {
            let fits = |p: &PartId| {
                let part = self.band.part(*p);
                let mut notes = self.begun(*p).filter(|n| n.role == self.role);
                self.free(*p)
                    && notes.all(|n| {
                        let moved = n.pitch.up(Interval::octaves(by));
                        moved.is_some_and(|p| part.limits.comfortable.contains(p))
                    })
            };
            let can: Vec<PartId> = self.carriers_now().into_iter().filter(fits).collect();
            found.extend(can.iter().map(|p| make(vec![*p])));
            if can.len() > 1 {
                found.push(make(can));
            }
        }
        found
    }

    /// Parts that cover the line and have no tone that nobody else has, left out: the first, two, three.
    fn doublings(&self, all: &[PartId]) -> Vec<Change> {
        let mut out: Vec<PartId> = Vec::new();
        let mut found = Vec::new();
        for part in all {
            if out.len() == DOUBLING {
                break;
            }
            let plays = self.begun(*part).next().is_some();
            out.push(*part);
            let doubled = plays
                && self.only_fills(*part)
                && out
                    .iter()
                    .all(|p| self.begun(*p).all(|n| self.had(n, &out)));
            if doubled {
                found.push(Change::Rest(out.clone()));
            } else {
                out.pop();
            }
        }
        found
    }

    /// Whether another part has a note's tone, in any octave, when it begins.
    fn had(&self, note: &DraftNote, but: &[PartId]) -> bool {
        let others = self.lines.iter().filter(|l| !but.contains(&l.part));
        let mut notes = others.flat_map(|l| &l.notes);
        notes.any(|o| {
            o.onset <= note.onset && note.onset < o.end() && o.pitch.class() == note.pitch.class()
        })
    }

    /// Parts that could play the line too: those that bring most to it.
    fn carriers(&self) -> Vec<Change> {
        let now = self.carriers_now();
        let count = |p: &PartId| self.begun(*p).filter(|n| n.role == self.role).count();
        let Some(from) = now
            .iter()
            .max_by_key(|p| (count(p), std::cmp::Reverse(**p)))
        else {
            return Vec::new();
        };
        let notes: Vec<&DraftNote> = self.begun(*from).filter(|n| n.role == self.role).collect();
        let mut can: Vec<(f64, PartId, i16)> = Vec::new();
        for (id, part) in self.band.ids() {
            if now.contains(&id) || !self.only_fills(id) {
                continue;
            }
            if let Some(octaves) = suits(part, &notes) {
                can.push((power(part, &notes, octaves), id, octaves));
            }
        }
        can.retain(|c| c.0 > 0.0);
        can.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let play = |(_, with, octaves)| Change::PlayToo {
            from: *from,
            with,
            octaves,
        };
        can.into_iter().take(CARRIERS).map(play).collect()
    }
}

/// The least number of octaves by which all notes come into what a part's players can be relied on for; of two as
/// near the one down.
pub(super) fn suits(part: &Part, notes: &[&DraftNote]) -> Option<i16> {
    let fits = |by: &i16| {
        notes.iter().all(|n| {
            let moved = n.pitch.up(Interval::octaves(*by));
            moved.is_some_and(|p| part.limits.comfortable.contains(p))
        })
    };
    [0, -1, 1, -2, 2, -3, 3].into_iter().find(fits)
}

/// The energy of notes in a part.
fn power(part: &Part, notes: &[&DraftNote], octaves: i16) -> f64 {
    let one = |n: &&DraftNote| {
        let pitch = n.pitch.up(Interval::octaves(octaves))?;
        let level = part_level(part, pitch, Dynamic::of_velocity(n.velocity)).ok()?;
        Some(level.power() * n.duration.0 as f64)
    };
    notes.iter().filter_map(one).sum()
}

fn line_of(lines: &[PartLine], part: PartId) -> &[DraftNote] {
    let line = lines.iter().find(|l| l.part == part);
    line.map_or(&[][..], |l| &l.notes)
}

fn dynamics(steps: u8) -> impl fmt::Display {
    match steps {
        1 => "a dynamic",
        _ => "two dynamics",
    }
}

/// `A`, `A and B`, `A, B and C`.
pub(super) fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
