//! What a score is written from: for what came of the whole way, and for an open document.

use super::document::Document;
use super::standing::Look;
use super::whole_way::WholeWay;
use crate::band::Band;
use crate::export::ScoreInput;
use crate::sketch::Song;

impl WholeWay {
    /// What its score is written from. `plain` leaves out remarks for the arranger.
    #[must_use]
    pub fn score<'a>(
        &'a self,
        title: &'a str,
        song: &'a Song,
        band: &'a Band,
        plain: bool,
    ) -> ScoreInput<'a> {
        ScoreInput {
            title,
            song,
            own: &self.own_tracks,
            band,
            reading: &self.reading,
            draft: &self.voiced.draft,
            breaths: &self.breathing.breaths,
            locks: &self.locks,
            plain,
        }
    }
}

impl Look {
    /// What the score of a document is written from that it [fits](Self::fits): the document's notes and locks, and
    /// what was read and judged. `plain` leaves out remarks for the arranger.
    #[must_use]
    pub fn score<'a>(&'a self, document: &'a Document, plain: bool) -> ScoreInput<'a> {
        ScoreInput {
            title: &document.title,
            song: &self.song,
            own: &self.own_tracks,
            band: &document.band,
            reading: &self.ready.reading,
            draft: &document.draft,
            breaths: &self.judged.breathing.breaths,
            locks: &document.locks,
            plain,
        }
    }
}
