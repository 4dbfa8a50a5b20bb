//! What is selected: bars and parts, or one note; and how keys move it.

use super::desk::Desk;
use crate::band::{Band, PartId};
use crate::music::{BarNumber, Sounding, Tick};
use crate::score::DraftNote;

/// One note of a draft. On a part that plays chords the pitch tells which.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct NoteId {
    /// Its part.
    pub part: PartId,
    /// Where it begins.
    pub onset: Tick,
    /// Concert pitch.
    pub pitch: Sounding,
}

/// What is selected: bars of parts, or one note in them.
///
/// A note belongs to the bar that it begins in. Bars and parts that the piece has not are allowed and
/// hold nothing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Selection {
    /// The first bar and the last.
    pub bars: (BarNumber, BarNumber),
    /// The parts, in the band's order.
    pub parts: Vec<PartId>,
    /// The one note that is selected, with its bar and part; `None` where whole bars are.
    pub note: Option<NoteId>,
}

/// Before or after.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Side {
    /// Earlier in time, higher in the score.
    Before,
    /// Later in time, lower in the score.
    After,
}

impl Selection {
    /// Some bars of some parts. The bars may be given in either order, the parts in any.
    #[must_use]
    pub fn of(a: BarNumber, b: BarNumber, parts: impl IntoIterator<Item = PartId>) -> Self {
        let mut parts: Vec<PartId> = parts.into_iter().collect();
        parts.sort_unstable();
        parts.dedup();
        Self {
            bars: (a.min(b), a.max(b)),
            parts,
            note: None,
        }
    }

    /// One note.
    #[must_use]
    pub fn of_note(desk: &Desk<'_>, note: NoteId) -> Self {
        let bar = desk.meters.bar(note.onset);
        Self {
            bars: (bar, bar),
            parts: vec![note.part],
            note: Some(note),
        }
    }

    /// The same parts, by their names, in another band; `None` where it has none of them.
    #[must_use]
    pub fn moved_to(&self, was: &Band, now: &Band) -> Option<Self> {
        let there = |part: PartId| {
            let name = &was.parts.get(part.0)?.name;
            let found = now.ids().find(|(_, p)| p.name == *name);
            found.map(|(id, _)| id)
        };
        let parts: Vec<PartId> = self.parts.iter().filter_map(|p| there(*p)).collect();
        let note = self.note.and_then(|n| {
            Some(NoteId {
                part: there(n.part)?,
                ..n
            })
        });
        let moved = Self::of(self.bars.0, self.bars.1, parts);
        (!moved.parts.is_empty()).then_some(Self { note, ..moved })
    }

    /// The whole piece.
    #[must_use]
    pub fn all(desk: &Desk<'_>) -> Self {
        Self::of(
            BarNumber(1),
            desk.last_bar(),
            desk.band.ids().map(|(id, _)| id),
        )
    }

    /// The parts of the selection from first bar to last.
    #[must_use]
    pub fn whole_parts(&self, desk: &Desk<'_>) -> Self {
        Self::of(BarNumber(1), desk.last_bar(), self.parts.iter().copied())
    }

    /// The bars of the selection in all parts.
    #[must_use]
    pub fn whole_bars(&self, desk: &Desk<'_>) -> Self {
        Self::of(self.bars.0, self.bars.1, desk.band.ids().map(|(id, _)| id))
    }

    /// The bars in which the selection lies, without the note.
    #[must_use]
    pub fn bars_only(&self) -> Self {
        Self {
            note: None,
            ..self.clone()
        }
    }

    /// A bar more, at one end or the other; as it is at the ends of the piece.
    #[must_use]
    pub fn with_bar(&self, desk: &Desk<'_>, side: Side) -> Self {
        let (first, last) = self.bars;
        let bars = match side {
            Side::Before => (first.min(BarNumber(first.0.saturating_sub(1).max(1))), last),
            Side::After => {
                let next = BarNumber(last.0.saturating_add(1)).min(desk.last_bar());
                (first, last.max(next))
            }
        };
        Self {
            bars,
            ..self.bars_only()
        }
    }

    /// A bar less, at one end or the other; the last one stays.
    #[must_use]
    pub fn without_bar(&self, side: Side) -> Self {
        let (first, last) = self.bars;
        let bars = match side {
            _ if first >= last => (first, last),
            Side::Before => (BarNumber(first.0.saturating_add(1)), last),
            Side::After => (first, BarNumber(last.0.saturating_sub(1))),
        };
        Self {
            bars,
            ..self.bars_only()
        }
    }

    /// A part more, above or below; as it is at the ends of the score.
    #[must_use]
    pub fn with_part(&self, desk: &Desk<'_>, side: Side) -> Self {
        let more = self.next_part_id(desk, side);
        let parts = self.parts.iter().copied().chain(more);
        Self::of(self.bars.0, self.bars.1, parts)
    }

    /// A part less, the first or the last; the last one stays.
    #[must_use]
    pub fn without_part(&self, side: Side) -> Self {
        let mut parts = self.parts.clone();
        if parts.len() > 1 {
            match side {
                Side::Before => drop(parts.remove(0)),
                Side::After => drop(parts.pop()),
            }
        }
        Self::of(self.bars.0, self.bars.1, parts)
    }

    /// With a part that was not in it, or without one that was: what a press with a key held does.
    #[must_use]
    pub fn toggled(&self, part: PartId) -> Self {
        let had = self.parts.contains(&part);
        let others = self.parts.iter().copied().filter(|p| *p != part);
        let with = (!had).then_some(part);
        Self::of(self.bars.0, self.bars.1, others.chain(with))
    }

    /// The same parts in the bars before or after, as many of them; as it is at the ends.
    #[must_use]
    pub fn bars_beside(&self, desk: &Desk<'_>, side: Side) -> Self {
        let (first, last) = self.bars;
        let moved = |bar: BarNumber| match side {
            Side::Before => BarNumber(bar.0.saturating_sub(1)),
            Side::After => BarNumber(bar.0.saturating_add(1)),
        };
        let (first, last) = (moved(first), moved(last));
        if first.0 < 1 || last > desk.last_bar() {
            return self.bars_only();
        }
        Self {
            bars: (first, last),
            ..self.bars_only()
        }
    }

    /// The passage that the selection begins in, for its parts; as it is where there is none.
    #[must_use]
    pub fn whole_passage(&self, desk: &Desk<'_>) -> Self {
        let here =
            |p: &&crate::score::Passage| p.first_bar <= self.bars.0 && self.bars.0 <= p.last_bar;
        match desk.passages.iter().find(here) {
            Some(p) => Self::of(p.first_bar, p.last_bar, self.parts.iter().copied()),
            None => self.bars_only(),
        }
    }

    /// The next note of the part, or the one before. Where bars are selected, the first note in them,
    /// or the last. As it is where there is none.
    #[must_use]
    pub fn next_note(&self, desk: &Desk<'_>, side: Side) -> Self {
        let Some(part) = self.note.map(|n| n.part).or(self.parts.first().copied()) else {
            return self.clone();
        };
        let line = desk.line(part);
        let key = |n: &DraftNote| (n.onset, n.pitch);
        let found = match (self.note, side) {
            (Some(id), Side::After) => line.iter().find(|n| key(n) > (id.onset, id.pitch)),
            (Some(id), Side::Before) => line.iter().rfind(|n| key(n) < (id.onset, id.pitch)),
            (None, Side::After) => {
                let (start, _) = desk.span(self.bars);
                line.iter().find(|n| n.onset >= start)
            }
            (None, Side::Before) => {
                let (_, end) = desk.span(self.bars);
                line.iter().rfind(|n| n.onset < end)
            }
        };
        found.map_or_else(|| self.clone(), |n| Self::of_note(desk, id_of(part, n)))
    }

    /// The next part above or below. With a note selected, its note that sounds at the same time, or
    /// else the nearest one; where it has none, or bars are selected, the same bars of that part. As
    /// it is at the ends of the score.
    #[must_use]
    pub fn next_part(&self, desk: &Desk<'_>, side: Side) -> Self {
        let Some(part) = self.next_part_id(desk, side) else {
            return self.clone();
        };
        let near = self.note.and_then(|own| {
            let away = |n: &&DraftNote| {
                let sounds = n.onset <= own.onset && own.onset < n.end();
                (!sounds, n.onset.0.abs_diff(own.onset.0), n.onset)
            };
            desk.line(part).iter().min_by_key(away)
        });
        match near {
            Some(n) => Self::of_note(desk, id_of(part, n)),
            None => Self::of(self.bars.0, self.bars.1, [part]),
        }
    }

    fn next_part_id(&self, desk: &Desk<'_>, side: Side) -> Option<PartId> {
        let last = desk.band.parts.len().checked_sub(1)?;
        let id = match side {
            Side::Before => self.parts.first()?.0.checked_sub(1)?,
            Side::After => self.parts.last()?.0.checked_add(1)?,
        };
        (id <= last).then_some(PartId(id))
    }

    /// The parts of it that the band has.
    #[must_use]
    pub fn known_parts(&self, desk: &Desk<'_>) -> Vec<PartId> {
        let known = |p: &PartId| p.0 < desk.band.parts.len();
        self.parts.iter().copied().filter(known).collect()
    }

    /// The bars of it that the piece has; `None` where there are none.
    #[must_use]
    pub fn known_bars(&self, desk: &Desk<'_>) -> Option<(BarNumber, BarNumber)> {
        let first = self.bars.0.max(BarNumber(1));
        let last = self.bars.1.min(desk.last_bar());
        (first <= last).then_some((first, last))
    }

    /// The notes that are selected: the one, or all that begin in the bars. By part, then time.
    #[must_use]
    pub fn notes(&self, desk: &Desk<'_>) -> Vec<NoteId> {
        let (start, end) = desk.span(self.bars);
        let of = |part: PartId| {
            let line = desk.line(part).iter();
            line.map(move |n| id_of(part, n))
        };
        match self.note {
            Some(id) => of(id.part).filter(|n| *n == id).take(1).collect(),
            None => self
                .known_parts(desk)
                .into_iter()
                .flat_map(of)
                .filter(|n| start <= n.onset && n.onset < end)
                .collect(),
        }
    }
}

/// The id of a note of a part.
#[must_use]
pub fn id_of(part: PartId, note: &DraftNote) -> NoteId {
    NoteId {
        part,
        onset: note.onset,
        pitch: note.pitch,
    }
}
