//! A draft in work: lines to write in, and what is held to when an edit is finished.

use super::desk::{Desk, Done, Refused, line_of};
use super::locked::{agree, differs};
use super::selection::Selection;
use super::words::bars_in_words;
use crate::band::{Part, PartId};
use crate::music::{BarNumber, Sounding, Tick};
use crate::score::{Draft, DraftNote, PartLine};
use std::collections::BTreeSet;

/// A draft in work.
pub(super) struct Sheet<'a> {
    pub desk: &'a Desk<'a>,
    draft: Draft,
    touched: BTreeSet<PartId>,
    told: Vec<String>,
}

impl<'a> Sheet<'a> {
    pub fn of(desk: &'a Desk<'a>) -> Self {
        Self {
            desk,
            draft: desk.draft.clone(),
            touched: BTreeSet::new(),
            told: Vec::new(),
        }
    }

    /// The notes of a part, to be changed; their order does not matter.
    pub fn line(&mut self, part: PartId) -> &mut Vec<DraftNote> {
        self.touched.insert(part);
        let lines = &mut self.draft.lines;
        let at = lines.iter().position(|l| l.part == part);
        let at = at.unwrap_or_else(|| {
            let at = lines.partition_point(|l| l.part < part);
            let notes = Vec::new();
            lines.insert(at, PartLine { part, notes });
            at
        });
        &mut lines[at].notes
    }

    /// Something that the arranger should know.
    pub fn tell(&mut self, sentence: String) {
        if !self.told.contains(&sentence) {
            self.told.push(sentence);
        }
    }

    /// The draft as it is, where only its marks were changed.
    pub fn marked(self) -> Draft {
        self.draft
    }

    /// Puts the lines in order, holds them to what a hand may do, and brings locks to agree.
    pub fn finish(mut self, name: String, selection: Selection) -> Result<Done, Refused> {
        let desk = self.desk;
        let mut locks = desk.locks.clone();
        let mut edited: Vec<String> = Vec::new();
        let mut said: Vec<String> = Vec::new();
        for part in self.touched.clone() {
            let about = desk.part(part).ok_or(Refused::NoPart)?;
            let before = desk.line(part);
            let line = self.line(part);
            line.sort();
            one_at_a_time(desk, about, before, line)?;
            said.extend(range(desk, about, before, line)?);
            let grown = agree(&mut locks, part, line, desk.meters);
            if let Some(bars) = differs(desk.locks.of(part), locks.of(part), desk.meters) {
                let where_ = bars_in_words(bars);
                edited.push(format!("this edits a lock: {}, {where_}", about.name));
            }
            if let Some(bars) = grown {
                said.push(format!(
                    "the lock of {} now holds {} too, for a note sounds over the barline",
                    about.name,
                    bars_in_words(bars)
                ));
            }
        }
        self.keep_changes_true();
        if self.draft == *desk.draft && locks == *desk.locks {
            return Err(Refused::NothingChanges);
        }
        Ok(Done {
            draft: self.draft,
            locks,
            selection,
            name,
            notes: [edited, self.told, said].concat(),
        })
    }

    /// Takes from the list of changed notes of the tune what is not played so any more.
    fn keep_changes_true(&mut self) {
        let lines = &self.draft.lines;
        let plays = |part: PartId, onset: Tick, pitch: Sounding| {
            let line = lines.iter().find(|l| l.part == part);
            line.is_some_and(|l| l.notes.iter().any(|n| n.onset == onset && n.pitch == pitch))
        };
        let sung = |onset: Tick, sketch: Sounding| {
            let mut notes = lines.iter().flat_map(|l| &l.notes);
            notes.any(|n| n.onset == onset && n.pitch.class() == sketch.class())
        };
        let touched = &self.touched;
        let mut kept = std::mem::take(&mut self.draft.melody_changes);
        kept.retain_mut(|change| {
            let (onset, sketch) = (change.onset, change.sketch);
            if change.new.is_none() {
                return !sung(onset, sketch);
            }
            let had = change.parts.len();
            change
                .parts
                .retain(|(p, pitch)| !touched.contains(p) || plays(*p, onset, *pitch));
            had == 0 || !change.parts.is_empty()
        });
        self.draft.melody_changes = kept;
    }
}

/// Where two notes of a line sound at once that cannot: any two on a part that plays one at a time,
/// two of one pitch on others.
pub(super) fn clash(part: &Part, line: &[DraftNote]) -> Option<Tick> {
    let mut until: Vec<(Sounding, Tick)> = Vec::new();
    for note in line {
        until.retain(|(_, end)| *end > note.onset);
        let mut held = until.iter();
        if held.any(|(pitch, _)| !part.instrument.chordal || *pitch == note.pitch) {
            return Some(note.onset);
        }
        until.push((note.pitch, note.end()));
    }
    None
}

/// Refuses two notes at once where there were none before.
fn one_at_a_time(
    desk: &Desk<'_>,
    part: &Part,
    before: &[DraftNote],
    line: &[DraftNote],
) -> Result<(), Refused> {
    match clash(part, line) {
        Some(at) if clash(part, before).is_none() => Err(Refused::TwoAtOnce {
            part: part.name.clone(),
            place: desk.meters.place(at),
        }),
        _ => Ok(()),
    }
}

/// Refuses what nobody plays on the instrument; tells what these players cannot reach.
fn range(
    desk: &Desk<'_>,
    part: &Part,
    before: &[DraftNote],
    line: &[DraftNote],
) -> Result<Option<String>, Refused> {
    let had: BTreeSet<(Tick, Sounding)> = before.iter().map(|n| (n.onset, n.pitch)).collect();
    let new = || line.iter().filter(|n| !had.contains(&(n.onset, n.pitch)));
    let written = |pitch| part.instrument.transposition.written(pitch);
    let widest = part.instrument.professional;
    let far = before.iter().map(|n| written(n.pitch));
    let low = far.clone().min().map_or(widest.low, |p| p.min(widest.low));
    let high = far.max().map_or(widest.high, |p| p.max(widest.high));
    if let Some(note) = new().find(|n| written(n.pitch) < low || written(n.pitch) > high) {
        return Err(Refused::BeyondInstrument {
            part: part.name.clone(),
            place: desk.meters.place(note.onset),
            pitch: written(note.pitch).to_string(),
            range: widest.to_string(),
        });
    }
    let reach = part.limits.range;
    let out: Vec<&DraftNote> = new().filter(|n| !reach.contains(n.pitch)).collect();
    let worst = out.iter().max_by_key(|n| {
        let over = n.pitch.midi().saturating_sub(reach.high.midi());
        over.max(reach.low.midi().saturating_sub(n.pitch.midi()))
    });
    Ok(worst.map(|n| {
        let bar = desk.meters.bar(n.onset);
        let (side, limit) = if n.pitch > reach.high {
            ("highest", written(reach.high))
        } else {
            ("lowest", written(reach.low))
        };
        let more = match out.len() {
            1 => String::new(),
            all => format!(" ({all} notes are out of reach)"),
        };
        format!(
            "written {} in bar {bar} is outside what {} can play: {limit} is the {side} that its players reach{more}",
            written(n.pitch),
            part.name
        )
    }))
}

/// The notes of a draft's part that begin in a stretch of time.
pub(super) fn begun_in(draft: &Draft, part: PartId, span: (Tick, Tick)) -> Vec<DraftNote> {
    let begun = |n: &&DraftNote| span.0 <= n.onset && n.onset < span.1;
    line_of(draft, part).iter().filter(begun).copied().collect()
}

/// The bars from the first of some to the last.
pub(super) fn hull(mut bars: impl Iterator<Item = BarNumber>) -> Option<(BarNumber, BarNumber)> {
    let first = bars.next()?;
    Some(bars.fold((first, first), |(a, b), bar| (a.min(bar), b.max(bar))))
}
