//! What of the sketch nobody may play, under the remarks and locks as they are.

use super::relaxation::reach;
use super::{Change, Conflict, Kind};
use crate::band::{Exposure, NotesPerSecond, Part, PartId};
use crate::music::{BarNumber, ChordTone, Interval, PitchClass, Sounding, Tick};
use crate::plan::fit::OCTAVES;
use crate::plan::line::{LineNote, OneLine};
use crate::score::{Draft, DraftNote, Role, Why};
use crate::score::{as_ranges, bars_in_words};
use crate::voicing::Problem;
use crate::voicing::part_notes::PartNotes;
use crate::voicing::steps::{Step, steps_within};

/// Notes of tune and bass that no part plays, breath by breath, where remarks or locks are why.
pub(super) fn lines(problem: &Problem<'_>, draft: &Draft, within: (Tick, Tick)) -> Vec<Conflict> {
    let lines = [
        (Kind::NobodyTune, "the tune", &problem.lines.melody),
        (Kind::NobodyBass, "the bass", &problem.lines.bass),
    ];
    let mut all = Vec::new();
    for (kind, name, line) in lines {
        let here = line.within(within.0, within.1);
        for breath in line.breaths_in(&here) {
            let notes = line.notes.get(breath).unwrap_or(&[]);
            let lost: Vec<LineNote> = notes
                .iter()
                .filter(|n| !is_played(draft, n))
                .copied()
                .collect();
            all.extend(of_notes(problem, draft, (kind, name, line), &lost));
        }
    }
    all
}

/// Whether any part strikes or holds the pitch class of a note at its onset.
fn is_played(draft: &Draft, note: &LineNote) -> bool {
    draft
        .lines
        .iter()
        .any(|l| sounds(&l.notes, note.onset, note.pitch.class()))
}

fn sounds(notes: &[DraftNote], at: Tick, class: PitchClass) -> bool {
    let past = notes.partition_point(|n| n.onset <= at);
    let near = notes[..past].iter().rev().take(8);
    near.into_iter()
        .any(|n| at < n.end() && n.pitch.class() == class)
}

fn of_notes(
    problem: &Problem<'_>,
    draft: &Draft,
    (kind, name, line): (Kind, &str, &OneLine),
    lost: &[LineNote],
) -> Option<Conflict> {
    let bars = as_ranges(lost.iter().map(|n| problem.meters.bar(n.onset)));
    if bars.is_empty() {
        return None;
    }
    let asked = Asked {
        problem,
        draft,
        line,
        lost,
        bars: &bars,
    };
    let ids = problem.band.ids().map(|(id, _)| id);
    let ways = ids.flat_map(|id| OCTAVES.map(move |octave| (id, octave)));
    let ways = ways.filter_map(|(id, octave)| {
        let (size, changes) = asked.changes(id, octave)?;
        Some((
            (
                asked.is_carrying(id),
                changes.len(),
                size,
                octave.unsigned_abs(),
                id.0,
            ),
            id,
            changes,
        ))
    });
    let (_, id, relaxation) = ways.min_by_key(|w| w.0)?;
    let places = bars_in_words(&bars);
    let count = lost.len();
    let notes = if count == 1 {
        "a note".to_owned()
    } else {
        format!("{count} notes")
    };
    Some(Conflict {
        kind,
        says: format!(
            "nobody may play {notes} of {name} in {places}: remarks or locks keep it from every part that could"
        ),
        bars,
        parts: vec![id],
        relaxation,
    })
}

/// Notes of a line for which a part is sought.
struct Asked<'a> {
    problem: &'a Problem<'a>,
    draft: &'a Draft,
    line: &'a OneLine,
    lost: &'a [LineNote],
    bars: &'a [(BarNumber, BarNumber)],
}

impl Asked<'_> {
    /// Whether a part carries a line in that time already, which it would have to leave.
    fn is_carrying(&self, id: PartId) -> bool {
        let own = self.draft.lines.get(id.0).map_or(&[][..], |l| &l.notes);
        let carried = |n: &&DraftNote| n.role != Role::Harmony;
        let meets = |n: &DraftNote| {
            let lost = self.lost.iter();
            lost.clone().any(|l| n.onset < l.end && l.onset < n.end())
        };
        own.iter().filter(carried).any(meets)
    }

    /// What would have to give way for a part to play the notes in an octave, and how much it is in
    /// semitones; `None` where its players cannot, nothing keeps them from it, or what keeps them from
    /// it is neither remark nor lock.
    fn changes(&self, id: PartId, octave: i16) -> Option<(i32, Vec<Change>)> {
        let part = self.problem.band.part(id);
        let pitch = |n: &LineNote| n.pitch.up(Interval::octaves(octave));
        let pitches: Option<Vec<Sounding>> = self.lost.iter().map(pitch).collect();
        let pitches = pitches?;
        let (top, low) = (*pitches.iter().max()?, *pitches.iter().min()?);
        let (first, last) = (self.lost.first()?, self.lost.last()?);
        let mut changes = Vec::new();
        let mut size = 0;
        for pitch in [top, low] {
            let change = reach(part, id, pitch)?;
            if let Some(change) = change.filter(|c| !changes.contains(c)) {
                size += beyond(part, pitch);
                changes.push(change);
            }
        }
        changes.extend(self.leap(id, &pitches));
        changes.extend(self.speed(id));
        if part.remarks.exposure == Exposure::Never {
            changes.push(Change::Alone(id));
        }
        for closed in self.problem.plan.closed.of(id) {
            if closed.start < last.end && first.onset < closed.end {
                match closed.why {
                    Why::Key(written) => {
                        changes.push(Change::Accidentals(id, written.fifths().unsigned_abs()));
                    }
                    _ => return None,
                }
            }
        }
        let locks = self.problem.locks.of(id);
        let locked = |bar: &BarNumber| locks.is_some_and(|l| l.bars.0.contains(bar));
        let bars = self
            .bars
            .iter()
            .flat_map(|(a, b)| (a.0..=b.0).map(BarNumber));
        let held = as_ranges(bars.filter(locked));
        if !held.is_empty() {
            changes.push(Change::Unlock(id, held));
        }
        (!changes.is_empty()).then_some((size, changes))
    }

    /// The greatest leap among the notes and from and to what the part plays beside them.
    fn leap(&self, id: PartId, pitches: &[Sounding]) -> Option<Change> {
        let most = self.problem.band.part(id).limits.max_leap?.size();
        let (first, last) = (self.lost.first()?, self.lost.last()?);
        let own = self.draft.lines.get(id.0).map_or(&[][..], |l| &l.notes);
        let before = own[..own.partition_point(|n| n.onset < first.onset)].last();
        let after = own.get(own.partition_point(|n| n.onset <= last.onset));
        let all: Vec<Sounding> = before
            .map(|n| n.pitch)
            .into_iter()
            .chain(pitches.iter().copied())
            .chain(after.map(|n| n.pitch))
            .collect();
        let widest = all.windows(2).map(|w| w[0].distance(w[1])).max()?;
        (u16::from(widest) > most).then(|| Change::Leap(id, Interval(i16::from(widest))))
    }

    fn speed(&self, id: PartId) -> Option<Change> {
        let most = self.problem.band.part(id).limits.max_speed?.0;
        let seconds = |n: &LineNote| self.problem.tempo.seconds(n.onset);
        // The notes of the line around them count too: whoever plays some of a breath plays on.
        let (first, last) = (self.lost.first()?, self.lost.last()?);
        let range = self.line.within(first.onset, Tick(last.onset.0 + 1));
        let notes = self.line.notes.get(range)?;
        let gaps = notes.windows(2).map(|w| seconds(&w[1]) - seconds(&w[0]));
        let rate = 1.0 / gaps.fold(f64::INFINITY, f64::min).max(1e-3);
        let up = NotesPerSecond((rate * 10.0).ceil() / 10.0);
        (rate > most).then_some(Change::Speed(id, up))
    }
}

/// By how many semitones a pitch lies outside a part's range.
fn beyond(part: &Part, pitch: Sounding) -> i32 {
    let range = part.limits.range;
    let over = |high: Sounding, low: Sounding| i32::from(high.midi()) - i32::from(low.midi());
    over(pitch, range.high).max(over(range.low, pitch)).max(0)
}

/// Chords whose third nobody sounds and nobody who is free may play, where a remark is why.
pub(super) fn thirds(problem: &Problem<'_>, draft: &Draft, within: (Tick, Tick)) -> Vec<Conflict> {
    let ids = problem.band.ids().map(|(id, _)| id);
    let locked: Vec<PartNotes> = ids.map(|id| PartNotes::locked(problem, id)).collect();
    let mut by_change: Vec<(Change, PartId, Vec<BarNumber>)> = Vec::new();
    for step in steps_within(problem, &locked, within) {
        let third = |c: &PitchClass| step.tone(*c) == Some(ChordTone::Third);
        let Some(third) = step.tones.iter().find(third) else {
            continue;
        };
        if draft
            .lines
            .iter()
            .any(|l| sounds(&l.notes, step.start, third))
        {
            continue;
        }
        let Some((id, change)) = smallest(problem, &locked, &step, third) else {
            continue;
        };
        let bar = problem.meters.bar(step.start);
        match by_change.iter_mut().find(|c| c.0 == change) {
            Some(group) => group.2.push(bar),
            None => by_change.push((change, id, vec![bar])),
        }
    }
    let conflict = |(change, id, bars): (Change, PartId, Vec<BarNumber>)| {
        let bars = as_ranges(bars);
        let places = bars_in_words(&bars);
        Conflict {
            kind: Kind::NobodyThird,
            says: format!("no part that fills the chords in {places} may play the third"),
            bars,
            parts: vec![id],
            relaxation: vec![change],
        }
    };
    by_change.into_iter().map(conflict).collect()
}

/// The smallest change of a range by which a free part could play a tone; `None` where one can
/// already, or none could.
fn smallest(
    problem: &Problem<'_>,
    locked: &[PartNotes],
    step: &Step,
    class: PitchClass,
) -> Option<(PartId, Change)> {
    let passage = problem.plan.passage(step.start)?;
    let is_free = |id: &PartId| {
        let role = passage.roles.get(id.0).map(|r| r.role);
        role == Some(Role::Harmony)
            && locked
                .get(id.0)
                .is_some_and(|l| !l.is_busy(step.start, step.end))
    };
    let free: Vec<PartId> = problem
        .band
        .ids()
        .map(|(id, _)| id)
        .filter(is_free)
        .collect();
    let pitches = || {
        (0..=127)
            .filter_map(Sounding::new)
            .filter(|p| p.class() == class)
    };
    let mut best: Option<((i32, usize), PartId, Change)> = None;
    for id in free {
        let part = problem.band.part(id);
        for pitch in pitches() {
            match reach(part, id, pitch) {
                Some(None) => return None,
                Some(Some(change)) => {
                    let by = beyond(part, pitch);
                    if best.as_ref().is_none_or(|b| (by, id.0) < b.0) {
                        best = Some(((by, id.0), id, change));
                    }
                }
                None => {}
            }
        }
    }
    best.map(|(_, id, change)| (id, change))
}
