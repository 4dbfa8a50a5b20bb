//! Company: parts that the director never wants heard alone have another part beside them, and
//! weak lone players have one where anybody can go with them.

use super::Problem;
use super::part_notes::PartNotes;
use crate::band::{Exposure, Part, is_weak_alone};
use crate::music::{PitchClass, Tick};
use crate::plan::Apart;
use crate::score::{DraftNote, Role, joined};
use crate::sketch::Line;
use std::collections::BTreeSet;

/// Whether a part needs company on a line.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Company {
    /// It may be heard alone.
    Free,
    /// One weak player: company is wished for.
    Wished,
    /// Never to be heard alone.
    Needed,
}

impl Company {
    /// That of a part.
    #[must_use]
    pub fn of(part: &Part) -> Self {
        match part.remarks.exposure {
            Exposure::Never => Self::Needed,
            _ if is_weak_alone(part) => Self::Wished,
            _ => Self::Free,
        }
    }
}

/// The note of a pitch class that a part strikes at a tick.
#[must_use]
pub fn struck(has: &PartNotes, onset: Tick, class: PitchClass) -> Option<&DraftNote> {
    let from = has.notes.partition_point(|n| n.onset < onset);
    let here = has.notes[from..].iter().take_while(|n| n.onset == onset);
    here.into_iter().find(|n| n.pitch.class() == class)
}

/// Takes out what parts that are never to be heard alone would be heard alone with: notes of a line
/// that no other part strikes with them (in any octave), and time in which nothing else sounds.
/// Notes that then lie too far apart go too, until all holds. Locked notes stay.
///
/// `problem` tells the sketch's tune and bass: a part that fills the chord may not be the only one
/// to strike a note of them either.
pub fn keep_company(problem: &Problem<'_>, has: &mut [PartNotes]) {
    let parts = || problem.band.parts.iter().enumerate();
    let never: Vec<usize> = parts()
        .filter(|(_, p)| Company::of(p) == Company::Needed)
        .map(|(i, _)| i)
        .collect();
    if never.is_empty() {
        return;
    }
    let tune_and_bass: BTreeSet<(Tick, PitchClass)> = [Line::Melody, Line::Bass]
        .into_iter()
        .flat_map(|line| problem.reading.line(line))
        .map(|n| (n.onset, n.pitch.class()))
        .collect();
    let is_line = |n: &DraftNote| {
        let carried = !matches!(n.role, Role::Harmony | Role::Rest);
        carried || tune_and_bass.contains(&(n.onset, n.pitch.class()))
    };
    loop {
        let before: usize = never.iter().map(|i| size(&has[*i])).sum();
        for part in &never {
            leave_lines(*part, has, &is_line);
            leave_silence(*part, has);
            let apart = Apart::of(&problem.band.parts[*part], problem.tempo);
            has[*part].keep_apart(&apart, |n| !n.locked);
        }
        if never.iter().map(|i| size(&has[*i])).sum::<usize>() == before {
            return;
        }
    }
}

/// Takes out notes of lines that parts never to be heard alone have to themselves, before the chords
/// are chosen: what chance has in common with a chord is no company.
pub fn leave_lines_alone(problem: &Problem<'_>, has: &mut [PartNotes]) {
    for (id, part) in problem.band.ids() {
        if Company::of(part) == Company::Needed {
            leave_lines(id.0, has, &|n| n.role != Role::Harmony);
        }
    }
}

/// A number that falls with every note that goes or is cut.
fn size(has: &PartNotes) -> usize {
    let length: u64 = has.notes.iter().map(|n| n.duration.0).sum();
    has.notes.len() + usize::try_from(length).unwrap_or(usize::MAX / 4)
}

/// Takes out notes of lines that only this part strikes.
fn leave_lines(part: usize, has: &mut [PartNotes], is_line: &impl Fn(&DraftNote) -> bool) {
    let with_another = |n: &DraftNote| {
        let mut others = has.iter().enumerate().filter(|(i, _)| *i != part);
        others.any(|(_, h)| struck(h, n.onset, n.pitch.class()).is_some())
    };
    let own = &has[part].notes;
    let kept = own
        .iter()
        .filter(|n| n.locked || !is_line(n) || with_another(n));
    has[part].notes = kept.copied().collect();
}

/// Takes out notes that begin while no other part sounds, and ends the others where they would be
/// left alone.
fn leave_silence(part: usize, has: &mut [PartNotes]) {
    let others = has.iter().enumerate().filter(|(i, _)| *i != part);
    let times = others.flat_map(|(_, h)| h.notes.iter().map(|n| (n.onset, n.end())));
    let sounding = joined(times.collect());
    let until = |at: Tick| {
        let next = sounding.partition_point(|s| s.0 <= at);
        let here = next.checked_sub(1).and_then(|i| sounding.get(i));
        here.map(|s| s.1).filter(|end| *end > at)
    };
    let cut = |note: &DraftNote| {
        if note.locked {
            return Some(*note);
        }
        let end = note.end().min(until(note.onset)?);
        Some(DraftNote {
            duration: end.since(note.onset),
            ..*note
        })
    };
    has[part].notes = has[part].notes.iter().filter_map(cut).collect();
}
