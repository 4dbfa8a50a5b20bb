//! What the regions of the window may see: nothing that they could change.

use super::theme::Palette;
use super::view::View;
use crate::band::PartId;
use crate::music::Tick;
use crate::project::Document;
use crate::project::standing::Look;
use crate::project::work::Selection;

/// What there is to see.
#[derive(Clone, Copy)]
pub struct Scene<'a> {
    /// Colours.
    pub palette: &'static Palette,
    /// How it is looked at.
    pub view: &'a View,
    /// The document and all that follows from it.
    pub look: &'a Look,
    /// The document as it is now; what follows from it may not be worked out yet.
    pub now: &'a Document,
    /// What is selected.
    pub selection: Option<&'a Selection>,
    /// Notes of the sketch that are selected, by their index in the reading.
    pub sketch_notes: &'a [usize],
}

impl Scene<'_> {
    /// How likely a part plays its note at a tick clean.
    #[must_use]
    pub fn chance(&self, part: PartId, at: Tick) -> Option<f64> {
        let line = self.look.document.draft.lines.get(part.0)?;
        let note = line
            .notes
            .iter()
            .position(|n| n.onset <= at && at < n.end())?;
        let clean = self.look.judged.clean.iter().find(|c| c.part == part)?;
        clean.notes.get(note).copied()
    }

    /// How likely a part plays its notes clean from one tick to another: the mean over them; none where it rests.
    #[must_use]
    pub fn clean_between(&self, part: PartId, start: Tick, end: Tick) -> Option<f64> {
        let line = self.look.document.draft.lines.get(part.0)?;
        let clean = self.look.judged.clean.iter().find(|c| c.part == part)?;
        let here = line.notes.iter().zip(&clean.notes);
        let here = here.filter(|(n, _)| start <= n.onset && n.onset < end);
        let (sum, count) = here.fold((0.0, 0_u32), |(s, n), (_, c)| (s + c, n + 1));
        (count > 0).then(|| sum / f64::from(count))
    }

    /// How likely the whole band plays its notes clean: the mean over all notes.
    #[must_use]
    pub fn clean(&self) -> Option<f64> {
        let notes = || self.look.judged.clean.iter().flat_map(|c| &c.notes);
        let count = notes().count();
        (count > 0).then(|| notes().sum::<f64>() / count as f64)
    }
}
