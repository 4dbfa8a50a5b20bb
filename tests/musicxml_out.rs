//! The draft as MusicXML, read back by an outside reader of XML.

mod files;
pub mod random;
mod read_back;
mod tiny;

use bandwright::band::{Band, read_band};
use bandwright::export::ScoreInput;
use bandwright::review::Breath;
use bandwright::score::{Draft, Locks};
use bandwright::sketch::{Reading, Song, read_sketch};

/// All that a score is written from, owned.
#[derive(Clone, Debug)]
pub struct Score {
    pub title: String,
    pub song: Song,
    pub band: Band,
    pub reading: Reading,
    pub draft: Draft,
    pub breaths: Vec<Breath>,
    pub locks: Locks,
}

impl Score {
    /// A score of a song without remarks, for a draft.
    pub fn of(song: Song, band: Band, draft: Draft) -> Self {
        Self {
            title: "Test".to_owned(),
            reading: read_sketch(&song, &[]),
            song,
            band,
            draft,
            breaths: Vec::new(),
            locks: Locks::default(),
        }
    }

    pub fn input(&self) -> ScoreInput<'_> {
        ScoreInput {
            title: &self.title,
            song: &self.song,
            own: &[],
            band: &self.band,
            reading: &self.reading,
            draft: &self.draft,
            breaths: &self.breaths,
            locks: &self.locks,
            plain: false,
        }
    }
}

/// A band of some parts, by instrument, each named as its instrument with a number.
pub fn band_of(instruments: &[&str]) -> Band {
    let part = |(number, id): (usize, &&str)| {
        format!(
            "[[part]]\nname = \"{id} {number}\"\ninstrument = \"{id}\"\nplayers = {{ advanced = 2 }}\n"
        )
    };
    let parts: String = (1..).zip(instruments).map(part).collect();
    read_band(&format!("name = \"Fern Hollow Winds\"\n{parts}")).unwrap()
}
