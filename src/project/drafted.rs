//! A draft with all that is known of it, for pages that tell of it: an open document's, or one that came as a file.

use super::aside::is_aside;
use super::document::PutAside;
use super::judged::Judged;
use super::made_ready::keys_found;
use super::shape::sections;
use super::standing::Look;
use crate::band::load::Conditions;
use crate::band::{Band, PartId};
use crate::music::{
    KeySignature, MeterMap, Sounding, SpelledName, TempoMap, Tick, Ticks, TicksPerQuarter,
};
use crate::notation::concert_name;
use crate::review::{Finding, Frame};
use crate::score::{DraftNote, MelodyChange, PartLine};
use crate::sketch::Reading;

/// A draft with all that is known of it.
#[derive(Clone, Debug)]
pub struct Drafted<'a> {
    /// What is played.
    pub title: String,
    /// Who plays.
    pub band: &'a Band,
    /// The notes, with their roles where they are known.
    pub lines: &'a [PartLine],
    /// The notes of the tune that were changed; `None` where that is not known.
    pub changes: Option<&'a [MelodyChange]>,
    /// Whether it is known what the sketch has.
    pub has_sketch: bool,
    /// The sketch as read, in the ticks of the draft; without it notes are named in their key.
    pub reading: Option<&'a Reading>,
    /// Ticks of a quarter note.
    pub quarter: TicksPerQuarter,
    /// Bars.
    pub meters: &'a MeterMap,
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// Concert keys, each from a tick on, in order, as the clean chances have them.
    pub keys: Vec<(Tick, KeySignature)>,
    /// Where the music ends.
    pub end: Tick,
    /// Rehearsal marks.
    pub marks: Vec<(Tick, String)>,
    /// Under what conditions it is played.
    pub conditions: Conditions,
    /// The draft as a reviewer sees it.
    pub judged: &'a Judged,
    /// Findings that the arranger put aside.
    pub aside: &'a [PutAside],
}

impl<'a> Drafted<'a> {
    /// An open document where it stands.
    #[must_use]
    pub fn of(look: &'a Look) -> Self {
        let document = &look.document;
        let song = &look.song;
        let ends = document.draft.lines.iter().flat_map(|l| &l.notes);
        let end = ends.map(DraftNote::end).max().unwrap_or(Tick::ZERO);
        Self {
            title: document.title.clone(),
            band: &document.band,
            lines: &document.draft.lines,
            changes: Some(&document.draft.melody_changes),
            has_sketch: true,
            reading: Some(&look.ready.reading),
            quarter: song.quarter,
            meters: &song.meters,
            tempo: &song.tempo,
            keys: keys_found(&look.ready.reading),
            end: end.max(song.end()),
            marks: sections(song, look.ready.timeline.as_ref()),
            conditions: document.conditions,
            judged: &look.judged,
            aside: &document.aside,
        }
    }

    /// The notes of a part; none for one that is not drafted.
    #[must_use]
    pub fn notes(&self, part: PartId) -> &'a [DraftNote] {
        let line = self.lines.iter().find(|l| l.part == part);
        line.map_or(&[], |l| &l.notes)
    }

    /// What clean chances are taken in.
    #[must_use]
    pub fn frame(&self) -> Frame<'_> {
        Frame {
            tempo: self.tempo,
            meters: self.meters,
            keys: &self.keys,
        }
    }

    /// A quarter note.
    #[must_use]
    pub fn quarter_ticks(&self) -> Ticks {
        Ticks(u64::from(self.quarter.get()))
    }

    /// The name of a pitch at a place, at concert pitch.
    #[must_use]
    pub fn name(&self, at: Tick, pitch: Sounding) -> SpelledName {
        if let Some(reading) = self.reading {
            return concert_name(reading, at, pitch);
        }
        let next = self.keys.partition_point(|(start, _)| *start <= at);
        let key = next.checked_sub(1).and_then(|i| self.keys.get(i));
        let signature = key.map_or(KeySignature::C_MAJOR, |k| k.1);
        SpelledName::in_key(pitch.class(), signature)
    }

    /// The findings that were not put aside.
    pub fn findings(&self) -> impl Iterator<Item = &'a Finding> + '_ {
        let all = self.judged.findings.iter();
        all.filter(|f| !is_aside(self.aside, f))
    }
}
