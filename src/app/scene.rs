//! What the regions of the window may see: nothing that they could change.

use super::theme::Palette;
use super::view::View;
use crate::band::PartId;
use crate::music::Tick;
use crate::project::Document;
use crate::project::judged::Judged;
use crate::project::standing::Look;
use crate::project::work::Selection;
use crate::score::{Draft, DraftNote};
use crate::sound::heard::Heard;

/// What there is to see.
#[derive(Clone, Copy)]
pub struct Scene<'a> {
    /// Colours.
    pub palette: &'static Palette,
    /// How it is looked at.
    pub view: &'a View,
    /// The document and all that follows from it.
    pub look: &'a Look,
    /// A draft that was judged, and how: that of the look, or the one before the last solve where that is shown.
    pub judged: (&'a Draft, &'a Judged),
    /// The document as it is now; what follows from it may not be worked out yet.
    pub now: &'a Document,
    /// What is selected.
    pub selection: Option<&'a Selection>,
    /// Notes of the sketch that are selected, by their index in the reading.
    pub sketch_notes: &'a [usize],
    /// The point of the wanted curve that is selected, by its index.
    pub point: Option<usize>,
    /// What is heard.
    pub heard: &'a Heard,
    /// Where the music is that is heard.
    pub line: Option<Tick>,
}

impl Scene<'_> {
    /// The notes of a part in the draft that was judged, and how likely each is played clean.
    fn line(&self, part: PartId) -> Option<(&[DraftNote], &[f64])> {
        let (draft, judged) = self.judged;
        let notes = &draft.lines.get(part.0)?.notes;
        let clean = judged.clean.iter().find(|c| c.part == part)?;
        Some((notes, &clean.notes))
    }

    /// How likely a part plays its note at a tick clean.
    #[must_use]
    pub fn chance(&self, part: PartId, at: Tick) -> Option<f64> {
        let (notes, clean) = self.line(part)?;
        // Of notes that are struck together the first; locked ones may overlap, so that a few back are looked at.
        let next = notes.partition_point(|n| n.onset <= at);
        let from = next.saturating_sub(8);
        let here = (from..next).find(|i| notes[*i].onset <= at && at < notes[*i].end());
        clean.get(here?).copied()
    }

    /// How likely a part plays its notes clean from one tick to another: the mean over them; none where it rests.
    #[must_use]
    pub fn clean_between(&self, part: PartId, start: Tick, end: Tick) -> Option<f64> {
        mean(self.chances(part, start, end))
    }

    /// How likely the band plays its notes clean from one tick to another: the mean over them.
    #[must_use]
    pub fn band_clean_between(&self, start: Tick, end: Tick) -> Option<f64> {
        let parts = self.judged.1.clean.iter().map(|c| c.part);
        mean(parts.flat_map(|part| self.chances(part, start, end)))
    }

    fn chances(&self, part: PartId, start: Tick, end: Tick) -> impl Iterator<Item = f64> {
        let (notes, clean) = self.line(part).unwrap_or((&[], &[]));
        let from = notes.partition_point(|n| n.onset < start);
        let to = notes.partition_point(|n| n.onset < end).max(from);
        clean.get(from..to).unwrap_or(&[]).iter().copied()
    }

    /// How likely the whole band plays its notes clean: the mean over all notes.
    #[must_use]
    pub fn clean(&self) -> Option<f64> {
        mean(self.judged.1.clean.iter().flat_map(|c| &c.notes).copied())
    }
}

fn mean(chances: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = chances.fold((0.0, 0_u32), |(s, n), c| (s + c, n + 1));
    (count > 0).then(|| sum / f64::from(count))
}

/// How likely something comes out clean, in words.
#[must_use]
pub fn in_100(chance: f64) -> String {
    format!("{:.0} in 100", 100.0 * chance)
}
