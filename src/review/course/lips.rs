//! How tired lips are, bar by bar.

use super::sounds::bar_of;
use super::{Before, CourseOf};
use crate::band::load::{TimedNote, tired};
use crate::band::{Choir, Family, Part};
use crate::music::Tick;
use crate::review::load::timed;
use crate::score::PartLine;

/// The group whose lips a part's are counted with.
fn group(part: &Part) -> Option<&'static str> {
    if part.instrument.family != Family::Brass {
        return None;
    }
    Some(match part.instrument.choir {
        Choir::Trumpets => "trumpets",
        Choir::Horns => "horns",
        _ => "low brass",
    })
}

/// How tired the lips of a line are at most in each bar, with the group that they are counted with.
pub(super) type LineLips = Option<(&'static str, Vec<f64>)>;

/// Of one line; `None` for other than brass.
pub(super) fn of_line(
    what: &CourseOf<'_>,
    part: &Part,
    line: &PartLine,
    starts: &[Tick],
) -> LineLips {
    let name = group(part)?;
    let tired = tired_after(what, part, line);
    Some((name, by_bar(&tired, line, starts)))
}

/// The most tired of each group in each bar; 0 where all of it rests.
pub(super) fn loads(lines: &[&LineLips]) -> Vec<(&'static str, Vec<f64>)> {
    let mut all: Vec<(&'static str, Vec<f64>)> = Vec::new();
    for (name, own) in lines.iter().filter_map(|l| l.as_ref()) {
        match all.iter_mut().find(|(n, _)| n == name) {
            Some((_, most)) => {
                for (most, own) in most.iter_mut().zip(own) {
                    *most = most.max(*own);
                }
            }
            None => all.push((*name, own.clone())),
        }
    }
    all
}

/// How tired a part is at the end of each note, with what it played before this movement.
fn tired_after(what: &CourseOf<'_>, part: &Part, line: &PartLine) -> Vec<f64> {
    let (notes, begun) = match what.before {
        Some(before) => {
            let mut notes = before.notes.get(&line.part).cloned().unwrap_or_default();
            let begun = notes.len();
            notes.extend(later(before, timed(&line.notes, what.tempo)));
            (notes, begun)
        }
        None => (timed(&line.notes, what.tempo), 0),
    };
    // The built-in table reads; a test shows it.
    let mut found = tired(part, &notes, what.conditions).unwrap_or_default();
    found.drain(..begun.min(found.len()));
    found
}

/// Notes of this movement at their time in the show.
fn later(before: &Before, notes: Vec<TimedNote>) -> impl Iterator<Item = TimedNote> {
    let by = before.seconds;
    notes.into_iter().map(move |n| TimedNote {
        from: n.from + by,
        to: n.to + by,
        ..n
    })
}

impl Before {
    /// What was played up to the next movement, which begins after this one's `seconds` and a pause.
    #[must_use]
    pub fn with(mut self, what: &CourseOf<'_>, seconds: f64, pause: f64) -> Self {
        for line in &what.draft.lines {
            let notes: Vec<TimedNote> = later(&self, timed(&line.notes, what.tempo)).collect();
            self.notes.entry(line.part).or_default().extend(notes);
        }
        self.seconds += seconds + pause;
        self
    }
}

/// The most that a part is tired in each bar; 0 in bars in which it rests.
fn by_bar(tired: &[f64], line: &PartLine, starts: &[Tick]) -> Vec<f64> {
    let mut own = vec![0.0_f64; starts.len().saturating_sub(1)];
    for (note, tired) in line.notes.iter().zip(tired) {
        if let Some(bar) = own.get_mut(bar_of(starts, note.onset)) {
            *bar = bar.max(*tired);
        }
    }
    own
}
