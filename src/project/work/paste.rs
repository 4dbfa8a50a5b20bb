//! Pasting the scoring of a passage to its repeat.

use super::desk::{Desk, Done, Refused};
use super::fit::{Suits, fitted, one_at_a_time, put};
use super::selection::Selection;
use super::sheet::{Sheet, begun_in};
use super::words::{bars_in_words, parts_in_words};
use crate::band::PartId;
use crate::music::{BarNumber, Interval, Tick};
use crate::score::{DraftNote, Passage};

/// Under this likeness a repeat is told to be varied (as the form has it: from here on the tune is the
/// same).
const SAME: f64 = 0.9;

/// Bars that have the same tune as others.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct RepeatOf {
    /// The bars.
    pub bars: (BarNumber, BarNumber),
    /// By how many semitones the tune stands higher there.
    pub semitones: i32,
    /// The least share of time in which the tune is the same, 0 to 1.
    pub likeness: f64,
}

/// A passage of some bars, without pickup, as a selection is one.
#[must_use]
pub fn passage_of_bars(desk: &Desk<'_>, (first, last): (BarNumber, BarNumber)) -> Passage {
    let (start, end) = desk.span((first, last));
    Passage {
        start,
        end,
        first_bar: first,
        last_bar: last,
        intensity: 5.0,
        repeats: None,
        peak: false,
    }
}

/// Where the tune of some bars comes again or came before, in the order of the piece. Bars that begin in
/// no repeat found in the sketch, or that the piece has not, have none.
#[must_use]
pub fn repeats_of(desk: &Desk<'_>, (first, last): (BarNumber, BarNumber)) -> Vec<RepeatOf> {
    let count = last.0.saturating_sub(first.0);
    let mut found = Vec::new();
    if first.0 < 1 || last < first || desk.last_bar() < last {
        return found;
    }
    for bar in 1..=desk.last_bar().0 {
        let end = BarNumber(bar.saturating_add(count));
        let apart = bar > last.0 || end < first;
        if !apart || end > desk.last_bar() {
            continue;
        }
        let shift = relation(desk, first, BarNumber(bar));
        let shift = shift.filter(|_| {
            // Its last bar repeats the last bar by the same interval.
            let at_end = relation(desk, last, end).map(|r| r.0);
            at_end == relation(desk, first, BarNumber(bar)).map(|r| r.0)
        });
        found.extend(shift.map(|(semitones, likeness)| RepeatOf {
            bars: (BarNumber(bar), end),
            semitones,
            likeness,
        }));
    }
    found
}

/// By how many semitones the tune stands higher in one bar than in another that it repeats or that repeats
/// it, and how like it is.
fn relation(desk: &Desk<'_>, from: BarNumber, to: BarNumber) -> Option<(i32, f64)> {
    let here = origins(desk, desk.meters.bar_start(from));
    let there = origins(desk, desk.meters.bar_start(to));
    there.iter().find_map(|b| {
        let a = here.iter().find(|a| a.0 == b.0)?;
        Some((b.1 - a.1, a.2.min(b.2)))
    })
}

/// What a place repeats, and what that repeats, and so on: where, how much higher the tune stands here,
/// and the least likeness on the way. The first is the place itself.
fn origins(desk: &Desk<'_>, at: Tick) -> Vec<(Tick, i32, f64)> {
    let mut all = vec![(at, 0, 1.0)];
    let stretches = &desk.reading.form.stretches;
    while let Some((at, up, like)) = all.last().copied() {
        let inside = stretches.iter().find(|s| s.start <= at && at < s.end);
        let Some(stretch) = inside.filter(|s| s.source < s.start) else {
            break;
        };
        let back = stretch.source + at.since(stretch.start);
        all.push((back, up + stretch.semitones, stretch.likeness.min(like)));
    }
    all
}

/// Carries the notes of parts (all of the band where none is named) over from a passage to another, in the
/// place of what they have there: the first bar of one to the first bar of the other, a pickup with
/// it. Where the tune stands higher or lower in the repeat, by that interval; where a part cannot reach
/// what comes of it, by an octave more or less. A part that rests in the passage rests in its repeat.
///
/// # Errors
/// Where the two are the same bars or overlap, no part has notes in either, or nobody plays what would come
/// of it.
pub fn paste_scoring(
    desk: &Desk<'_>,
    from: &Passage,
    to: &Passage,
    parts: &[PartId],
) -> Result<Done, Refused> {
    let pasting = Pasting::of(desk, from, to)?;
    let all: Vec<PartId> = desk.band.ids().map(|(id, _)| id).collect();
    let parts = if parts.is_empty() { &all } else { parts };
    let mut sheet = Sheet::of(desk);
    let related = relation(desk, from.first_bar, to.first_bar);
    let place = bars_in_words((to.first_bar, to.last_bar));
    match related {
        None => sheet.tell(format!(
            "the sketch does not repeat these bars in {place}; the notes are carried over as they are"
        )),
        Some((_, like)) if like < SAME => sheet.tell(format!(
            "the tune is varied in {place}; look through the findings there"
        )),
        Some(_) => {}
    }
    let by = related.map_or(0, |r| r.0);
    if by != 0 {
        let side = if by > 0 { "higher" } else { "lower" };
        sheet.tell(format!(
            "{place} stands {} semitones {side}, and so do the notes",
            by.abs()
        ));
    }
    let mut any = false;
    for id in parts {
        let part = desk.part(*id).ok_or(Refused::NoPart)?;
        let notes = pasting.notes(desk, *id, by);
        let had = !begun_in(desk.draft, *id, pasting.onto).is_empty();
        any |= had || !notes.is_empty();
        if had || !notes.is_empty() {
            let notes = one_at_a_time(part, notes, true);
            let notes = fitted(&mut sheet, part, &notes, Suits::Stay);
            put(&mut sheet, *id, part, pasting.onto, notes);
        }
    }
    if !any {
        let bars = bars_in_words((from.first_bar, from.last_bar));
        return Err(Refused::NoNotes(bars));
    }
    let name = format!(
        "paste the scoring of {} for {} to {place}",
        bars_in_words((from.first_bar, from.last_bar)),
        parts_in_words(desk.band, parts)
    );
    let after = Selection::of(to.first_bar, to.last_bar, parts.iter().copied());
    sheet.finish(name, after)
}

/// From where to where notes are carried.
struct Pasting {
    /// What is taken.
    taken: (Tick, Tick),
    /// What is replaced.
    onto: (Tick, Tick),
    /// The two first barlines.
    lines: (Tick, Tick),
}

impl Pasting {
    /// The stretch that both passages have, measured from their first barlines.
    fn of(desk: &Desk<'_>, from: &Passage, to: &Passage) -> Result<Self, Refused> {
        let lines = (
            desk.meters.bar_start(from.first_bar),
            desk.meters.bar_start(to.first_bar),
        );
        let pickup = |p: &Passage, line: Tick| line.since(p.start).0;
        let before = pickup(from, lines.0).min(pickup(to, lines.1));
        let after = |p: &Passage, line: Tick| p.end.since(line).0;
        let after = after(from, lines.0).min(after(to, lines.1));
        let span = |line: Tick| {
            let start = Tick(line.0.saturating_sub(before));
            (start, Tick(line.0.saturating_add(after)))
        };
        let (taken, onto) = (span(lines.0), span(lines.1));
        if taken.0 < onto.1 && onto.0 < taken.1 {
            return Err(Refused::OnItself);
        }
        Ok(Self { taken, onto, lines })
    }

    fn notes(&self, desk: &Desk<'_>, part: PartId, by: i32) -> Vec<DraftNote> {
        let semitones = i16::try_from(by).unwrap_or(0);
        let carried = |n: DraftNote| {
            let onset = match n.onset.0.checked_sub(self.lines.0.0) {
                Some(after) => Tick(self.lines.1.0.saturating_add(after)),
                None => Tick(self.lines.1.0.saturating_sub(self.lines.0.since(n.onset).0)),
            };
            DraftNote {
                onset,
                pitch: n.pitch.up(Interval(semitones)).unwrap_or(n.pitch),
                locked: false,
                ..n
            }
        };
        let notes = begun_in(desk.draft, part, self.taken);
        notes.into_iter().map(carried).collect()
    }
}
