//! What could help, by the kind of a finding: what is about the sketch's lines and who carries them.

use super::desk::Way;
use super::fit::{Suits, octaves, runs};
use super::remedies::{Cure, Remedy};
use super::remedy_edits::{Mend, in_the_octave_of};
use super::remedy_kinds::{Case, by_octaves, octaves_into, only_fills};
use super::selection::{NoteId, id_of};
use super::sketch_line::drafted;
use super::words::bars_in_words;
use crate::band::{Part, PartId};
use crate::music::{BarNumber, Interval, Tick};
use crate::review::{Change, Stretch, presences, uncover};
use crate::score::{DraftNote, Passage, Role};
use crate::sketch::Line;
use std::cmp::Reverse;

/// So many parts are named as able to take notes.
const TAKERS: usize = 2;
/// So many passages are named in which a tired part could rest.
const RESTS: usize = 3;
/// Dynamics by which what covers a line is softened at the most (ours).
const SOFTER: u8 = 2;
/// So many of the least changes that uncover a line are offered (ours).
const LEAST: usize = 3;

impl Case<'_> {
    /// Parts that rest while some notes sound and can reach them, in some octave, best first: those who can be
    /// relied on for most of them, who carry the same line in the passage, of the strongest players.
    fn takers(&self, notes: &[DraftNote], not: Option<PartId>) -> Vec<(PartId, &Part)> {
        let (Some(first), Some(end)) = (
            notes.iter().map(|n| n.onset).min(),
            notes.iter().map(DraftNote::end).max(),
        ) else {
            return Vec::new();
        };
        let role = notes.first().map(|n| n.role);
        let passage = self.passage(first);
        let mut found: Vec<_> =
            self.desk
                .band
                .ids()
                .filter(|(id, _)| Some(*id) != not)
                .filter(|(id, _)| {
                    let mut line = self.desk.line(*id).iter();
                    !line.any(|n| n.onset < end && first < n.end())
                })
                .filter_map(|(id, part)| {
                    let by = Interval::octaves(octaves(part, notes, Suits::Best));
                    let moved: Option<Vec<_>> = notes.iter().map(|n| n.pitch.up(by)).collect();
                    let moved = moved?;
                    let reached = moved.iter().all(|p| part.limits.range.contains(*p));
                    let weak = moved
                        .iter()
                        .filter(|p| !part.limits.comfortable.contains(**p));
                    let carries = self.desk.line(id).iter().any(|n| {
                        Some(n.role) == role && passage.is_some_and(|p| p.contains(n.onset))
                    });
                    let rank = (weak.count(), !carries, Reverse(part.players.weakest()), id);
                    reached.then_some((rank, (id, part)))
                })
                .collect();
        found.sort_by_key(|f| f.0);
        found.into_iter().take(TAKERS).map(|f| f.1).collect()
    }

    pub fn heard_alone(&self) -> Vec<Remedy> {
        let Some((id, _, note)) = self.note(self.at) else {
            return Vec::new();
        };
        let mut all = self.played_too(id, &[*note]);
        all.extend(self.without_note(id, note));
        all
    }

    fn played_too(&self, id: PartId, notes: &[DraftNote]) -> Vec<Remedy> {
        let takers = self.takers(notes, Some(id));
        let ids: Vec<NoteId> = notes.iter().map(|n| id_of(id, n)).collect();
        let one = |(with, part): (PartId, &Part)| {
            let label = format!("let {} play it too", part.name);
            Remedy::edit(label, Mend::PlayToo(ids.clone(), with))
        };
        takers.into_iter().map(one).collect()
    }

    /// The notes of the tune that the part has alone on end, played by another too.
    pub fn weak_alone(&self) -> Vec<Remedy> {
        let Some((id, _)) = self.part else {
            return Vec::new();
        };
        let others: Vec<&DraftNote> = {
            let lines = self.desk.draft.lines.iter().filter(|l| l.part != id);
            lines.flat_map(|l| &l.notes).collect()
        };
        let line = self.desk.line(id);
        let tune = self.desk.reading.line(Line::Melody);
        let mut alone: Vec<DraftNote> = Vec::new();
        for sung in tune.filter(|n| n.onset >= self.at) {
            let strikes =
                |n: &DraftNote| n.onset == sung.onset && n.pitch.class() == sung.pitch.class();
            let own = line.iter().find(|n| strikes(n));
            let Some(own) = own.filter(|_| !others.iter().any(|n| strikes(n))) else {
                break;
            };
            alone.push(*own);
        }
        let mut all = self.played_too(id, &alone);
        let bars = alone.first().zip(alone.last());
        let bars = bars.map(|(a, b)| (self.bar(a.onset), self.bar(b.onset)));
        if !alone.iter().all(|n| n.locked) {
            all.extend(bars.and_then(|b| self.solve_bars(b, &[])));
        }
        all
    }

    /// The lost note, with those after it in its bar that are lost too.
    pub fn lost(&self, line: Line) -> Vec<Remedy> {
        let bar = self.bar(self.at);
        let (_, end) = self.desk.span((bar, bar));
        let lines = &self.desk.draft.lines;
        let played = |n: &DraftNote| {
            let mut all = lines.iter().flat_map(|l| &l.notes);
            all.any(|o| o.onset == n.onset && o.pitch.class() == n.pitch.class())
        };
        let notes = self.desk.reading.line(line);
        let here = notes.filter(|n| self.at <= n.onset && n.onset < end && !n.grace);
        let mut lost: Vec<DraftNote> = here.map(drafted).filter(|n| !played(n)).collect();
        lost.dedup_by(|b, a| a.onset == b.onset && a.pitch.class() == b.pitch.class());
        let first = lost.first().copied();
        let mut all = Vec::new();
        for notes in [Some(lost.clone()), first.map(|f| vec![f])]
            .into_iter()
            .flatten()
        {
            // All of them, or where nobody is free for so long the first alone.
            let takers = self.takers(&notes, None);
            if takers.is_empty() {
                continue;
            }
            for (id, part) in takers {
                let label = format!("give it to {}", part.name);
                all.push(Remedy::edit(label, Mend::Take(id, notes.clone())));
            }
            break;
        }
        all.extend(self.solve_bars((bar, bar), &[]));
        all
    }

    pub fn tune_moved(&self) -> Vec<Remedy> {
        let Some((id, part, note)) = self.note(self.at) else {
            return Vec::new();
        };
        let mut tune = self.desk.reading.line(Line::Melody);
        let sung = tune.find(|n| n.onset == note.onset).map(|n| n.pitch);
        let mut all = Vec::new();
        if let Some(pitch) = sung.filter(|p| part.limits.range.contains(*p)) {
            let mend = Mend::Pitch(id_of(id, note), pitch);
            all.push(Remedy::edit(format!("play {pitch} as written"), mend));
        }
        let bar = self.bar(note.onset);
        all.extend(self.solve_bars((bar, bar), &[]));
        all
    }

    pub fn melody_changed(&self) -> Vec<Remedy> {
        let changes = self.desk.draft.melody_changes.iter();
        let here = changes.filter(|c| c.onset == self.at && c.new.is_some());
        let can = |(id, pitch): &(PartId, crate::music::Sounding), sketch| {
            let back = in_the_octave_of(sketch, *pitch);
            let part = self.desk.part(*id);
            part.is_some_and(|p| p.limits.range.contains(back))
        };
        here.filter(|c| c.parts.iter().all(|p| can(p, c.sketch)))
            .map(|c| {
                let label = format!("put the tune's {} back", c.sketch);
                Remedy::edit(label, Mend::Restore(c.onset, c.sketch))
            })
            .collect()
    }

    /// The least changes that uncover it; the line an octave higher, or what covers it softer, as far as either
    /// does; or another way of scoring.
    pub fn covered(&self, role: Role) -> Vec<Remedy> {
        let found = |p: &&Passage| self.desk.meters.bar_start(p.first_bar) == self.at;
        let Some(passage) = self.desk.passages.iter().find(found) else {
            return Vec::new();
        };
        let bars = (passage.first_bar, passage.last_bar);
        let inside = |wanted: &dyn Fn(&DraftNote) -> bool| -> Vec<(PartId, DraftNote)> {
            let lines = self.desk.draft.lines.iter();
            let all = lines.flat_map(|l| l.notes.iter().map(move |n| (l.part, *n)));
            all.filter(|(_, n)| passage.contains(n.onset) && wanted(n))
                .collect()
        };
        let ids = |notes: &[(PartId, DraftNote)]| -> Vec<NoteId> {
            notes.iter().map(|(p, n)| id_of(*p, n)).collect()
        };
        let own = inside(&|n| n.role == role);
        let mut tried: Vec<Remedy> = Vec::new();
        let high = |(id, n): &(PartId, DraftNote)| {
            let up = n.pitch.up(Interval::OCTAVE);
            let part = self.desk.part(*id);
            up.is_some_and(|p| part.is_some_and(|part| part.limits.comfortable.contains(p)))
        };
        if !own.is_empty() && own.iter().all(high) {
            let what = match role {
                Role::Melody => "the tune",
                Role::Bass => "the bass",
                _ => "the counterline",
            };
            let label = format!("raise {what} an octave in {}", bars_in_words(bars));
            tried.push(Remedy::edit(label, Mend::Octaves(ids(&own), Way::Up, 1)));
        }
        let others = match role {
            Role::Melody | Role::Bass => inside(&|n| n.role != role),
            _ => inside(&|n| n.role == Role::Melody),
        };
        for steps in 1..=SOFTER {
            let how = if steps == 1 {
                "a dynamic"
            } else {
                "two dynamics"
            };
            let what = if role == Role::Counterline {
                "the tune"
            } else {
                "all else"
            };
            let label = format!("{what} {how} softer in {}", bars_in_words(bars));
            tried.push(Remedy::edit(label, Mend::Softer(ids(&others), steps)));
        }
        let mut all: Vec<Remedy> = tried
            .into_iter()
            .filter(|r| self.uncovers(r, passage, role))
            .collect();
        // The least softening that helps is enough.
        let softer = |r: &Remedy| matches!(r.what, Cure::Edit(Mend::Softer(..)));
        let first = all.iter().position(softer);
        let mut at = 0;
        all.retain(|r| {
            let keep = !softer(r) || Some(at) == first;
            at += 1;
            keep
        });
        let mut least = self.least_changes(passage, role);
        let known = |r: &Remedy| least.iter().any(|l| l.what == r.what);
        all.retain(|r| !known(r));
        least.extend(all);
        least.push(other_ways(bars));
        least
    }

    /// The least changes that uncover a line, as the finding names the first of them.
    fn least_changes(&self, passage: &Passage, role: Role) -> Vec<Remedy> {
        let stretch = Stretch::from(passage);
        let lines = &self.desk.draft.lines;
        let found = uncover(self.desk.band, lines, &stretch, role, LEAST);
        let bars = bars_in_words((passage.first_bar, passage.last_bar));
        let of = |parts: &[PartId], wanted: &dyn Fn(&DraftNote) -> bool| -> Vec<NoteId> {
            let notes = parts.iter().flat_map(|p| {
                let line = self.desk.line(*p).iter();
                line.map(move |n| (*p, n))
            });
            let here = notes.filter(|(_, n)| passage.contains(n.onset) && wanted(n));
            here.map(|(p, n)| id_of(p, n)).collect()
        };
        let of_line = |n: &DraftNote| n.role == role;
        let one = |change: &Change| {
            let mend = match change {
                Change::Softer(parts, steps) => {
                    Mend::Softer(of(parts, &|n| n.role != role), *steps)
                }
                Change::Louder(parts, steps) => Mend::Louder(of(parts, &of_line), *steps),
                Change::Up(parts) => Mend::Octaves(of(parts, &of_line), Way::Up, 1),
                Change::Down(parts) => Mend::Octaves(of(parts, &of_line), Way::Down, 1),
                Change::Rest(parts) => Mend::LeaveOut(of(parts, &|_| true)),
                Change::PlayToo { from, with, .. } => Mend::PlayToo(of(&[*from], &of_line), *with),
            };
            let label = format!("{} in {bars}", change.in_words(self.desk.band));
            Remedy::edit(label, mend)
        };
        found.enough.iter().map(|u| one(&u.change)).collect()
    }

    fn uncovers(&self, remedy: &Remedy, passage: &Passage, role: Role) -> bool {
        let Some(Ok(done)) = super::remedies::apply(self.desk, remedy) else {
            return false;
        };
        let stretch = Stretch::from(passage);
        let found = presences(self.desk.band, &done.draft.lines, &[stretch]);
        let line = found.first().and_then(|s| s.line(role));
        line.is_none_or(|l| !l.covered())
    }

    /// Resting in a passage in which the part only fills the chord: from the one of the finding backwards, then
    /// those after it.
    pub fn tired(&self) -> Vec<Remedy> {
        let Some((id, _)) = self.part else {
            return Vec::new();
        };
        let line = self.desk.line(id);
        let of = |p: &Passage| -> Vec<&DraftNote> {
            line.iter().filter(|n| p.contains(n.onset)).collect()
        };
        let (mut before, after): (Vec<&Passage>, Vec<&Passage>) =
            self.desk.passages.iter().partition(|p| p.start <= self.at);
        before.reverse();
        let fills = |p: &&&Passage| {
            let notes = of(p);
            !notes.is_empty() && notes.iter().all(|n| only_fills(n) && !n.locked)
        };
        let near = [before, after].concat();
        let mut all: Vec<Remedy> = near
            .iter()
            .filter(fills)
            .take(RESTS)
            .map(|p| {
                let ids = of(p).into_iter().map(|n| id_of(id, n)).collect();
                let label = format!("rest in {}", bars_in_words((p.first_bar, p.last_bar)));
                Remedy::edit(label, Mend::LeaveOut(ids))
            })
            .collect();
        let carries = |p: &&&Passage| {
            let notes = of(p);
            !notes.iter().all(|n| only_fills(n)) && notes.iter().all(|n| !n.locked)
        };
        for p in near.iter().filter(carries).take(RESTS) {
            let notes: Vec<DraftNote> = of(p).into_iter().copied().collect();
            let bars = (p.first_bar, p.last_bar);
            all.extend(
                self.takers(&notes, Some(id))
                    .into_iter()
                    .take(1)
                    .map(|(to, part)| {
                        let label = format!("hand {} to {}", bars_in_words(bars), part.name);
                        Remedy::edit(label, Mend::HandOver(id, to, bars))
                    }),
            );
        }
        let here = self.passage(self.at);
        all.extend(here.map(|p| other_ways((p.first_bar, p.last_bar))));
        all
    }

    /// The note ended at the last beat of one breath, or played by another part too, so that they breathe in
    /// turns.
    pub fn too_long_a_note(&self) -> Vec<Remedy> {
        let Some((id, _, note)) = self.note(self.at) else {
            return Vec::new();
        };
        let mut all = self.played_too(id, &[*note]);
        let beat = self.desk.meters.meter(note.onset).beat(self.desk.quarter).0;
        let mut before = note.end();
        // Three quarters of it, a half, a quarter: what is enough is kept.
        for quarters in [3, 2, 1] {
            let long = note.duration.0 / 4 * quarters / beat * beat;
            let at = Tick(note.onset.0.saturating_add(long));
            if note.onset < at && at < before {
                let place = self.desk.meters.place(at);
                let mend = Mend::EndAt(id_of(id, note), at);
                all.push(Remedy::edit(format!("end the note at {place}"), mend));
                before = at;
            }
        }
        all
    }

    /// The breath where it is too high for too long an octave lower; or rests.
    pub fn too_high(&self) -> Vec<Remedy> {
        let mut all = Vec::new();
        if let Some((id, part, note)) = self.note(self.at) {
            let line = self.desk.line(id);
            let breath = runs(line).into_iter().find(|r| r.contains(note));
            let breath = breath.filter(|r| self.is_short(r));
            if let Some(breath) = breath
                && let Some(count) = octaves_into(part, breath, Way::Down)
            {
                let ends = breath.first().zip(breath.last());
                let bars = ends.map(|(a, b)| (self.bar(a.onset), self.bar(b.onset)));
                let place = bars.map_or_else(String::new, bars_in_words);
                let label = format!("{} {place}", by_octaves(Way::Down, count));
                let ids = breath.iter().map(|n| id_of(id, n)).collect();
                all.push(Remedy::edit(label, Mend::Octaves(ids, Way::Down, count)));
            }
        }
        all.extend(self.tired());
        all
    }
}

fn other_ways(bars: (BarNumber, BarNumber)) -> Remedy {
    Remedy {
        label: format!("see other ways of scoring {}", bars_in_words(bars)),
        what: Cure::OtherWays(bars),
    }
}
