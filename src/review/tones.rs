//! The tones of a band's parts, and what each covers of another: worked out once, and kept.

use crate::band::loudness::{LISTENED, Tone, covering, tone};
use crate::band::{Band, Family, Part, PartId};
use crate::music::{Dynamic, Sounding};

/// Pitches and dynamics of a part.
const PITCHES: usize = 128;
/// What is not worked out yet, and what is left out of balance.
const UNKNOWN: u32 = u32::MAX;
const SILENT: u32 = u32::MAX - 1;

/// A tone with what is known of it.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Known {
    pub tone: Tone,
    pub part: PartId,
    pub power: f64,
    pub family: Family,
    pub pitch: Sounding,
}

/// All tones that were asked for, by index.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Tones {
    parts: Vec<Part>,
    known: Vec<Known>,
    /// For each part, by pitch and dynamic: the index.
    index: Vec<Vec<u32>>,
    /// For each tone that was covered by something, by the index of the other: where it stands in `values`.
    covers: Vec<Vec<u32>>,
    values: Vec<[f64; LISTENED]>,
}

impl Tones {
    pub(super) fn of(band: &Band) -> Self {
        Self {
            parts: band.parts.clone(),
            index: vec![Vec::new(); band.parts.len()],
            ..Self::default()
        }
    }

    /// The tone of a note; `None` for what is silent or left out of balance.
    pub(super) fn find(&mut self, id: PartId, pitch: Sounding, dynamic: Dynamic) -> Option<usize> {
        let part = self.parts.get(id.0)?;
        let row = self.index.get_mut(id.0)?;
        if row.is_empty() {
            row.resize(PITCHES * Dynamic::ALL.len(), UNKNOWN);
        }
        let cell = row.get_mut(dynamic.steps() * PITCHES + usize::from(pitch.midi()))?;
        if *cell == UNKNOWN {
            // The built-in table reads; a test shows it.
            let found = tone(part, pitch, dynamic).ok().flatten();
            *cell = found.map_or(SILENT, |tone| {
                self.known.push(Known {
                    power: tone.level.power(),
                    tone,
                    part: id,
                    family: part.instrument.family,
                    pitch,
                });
                self.covers.push(Vec::new());
                u32::try_from(self.known.len() - 1).unwrap_or(SILENT)
            });
        }
        (*cell != SILENT).then_some(*cell as usize)
    }

    /// A tone that was found.
    pub(super) fn get(&self, tone: usize) -> &Known {
        &self.known[tone]
    }

    /// What another tone excites at the places of a tone's partials, as power.
    pub(super) fn cover(&mut self, tone: usize, other: usize) -> [f64; LISTENED] {
        let row = &mut self.covers[tone];
        if row.len() <= other {
            row.resize(self.known.len(), UNKNOWN);
        }
        if row[other] == UNKNOWN {
            let found = covering(&self.known[tone].tone, &self.known[other].tone);
            row[other] = u32::try_from(self.values.len()).unwrap_or(UNKNOWN);
            self.values.push(found);
        }
        self.values[row[other] as usize]
    }
}
