//! A draft that comes back: what was changed in it since it was sent out, note by note.
//!
//! Both are songs with tracks named like the band's parts, whatever file they came from. Bars are held against bars
//! first ([`align`](align()): some may have been put in or cut out), then the notes of each part in each bar.

mod align;
mod bar_map;
mod bar_notes;
mod changes;
mod moved;
mod words;

pub use align::{Alignment, align};
pub use bar_map::BarMap;
pub use changes::{Change, How, PlainNote};

use crate::band::{Band, PartId};
use crate::music::BarNumber;
use crate::score::{as_ranges, listed};
use crate::sketch::{Song, Track};
use bar_notes::Sheet;
use std::collections::{BTreeMap, BTreeSet};
use thiserror::Error;

/// What came back.
#[derive(Clone, PartialEq, Debug)]
pub struct Returned {
    /// Which bar of what was sent out is which of what came back.
    pub bars: Alignment,
    /// What was changed, by bar of what came back, then part.
    pub changes: Vec<Change>,
    /// Bars of what came back in which the sketch is another.
    pub sketch: BTreeSet<BarNumber>,
    /// What came back without its parts: the sketch.
    pub without_parts: Song,
    /// What came back with nothing of its parts but the bars that were changed, so that they are taken as locks.
    pub locks: Song,
    /// The parts as they were sent out, in the bars of what came back; only they.
    pub sent: Song,
}

impl Returned {
    /// How many bars came back.
    #[must_use]
    pub fn bars_back(&self) -> u32 {
        let bars = self.bars.0.iter().filter_map(|p| p.1);
        bars.max().map_or(0, |b| b.0)
    }

    /// Whether nothing is to be taken over: no note and no bar was changed.
    #[must_use]
    pub fn is_unchanged(&self) -> bool {
        self.changes.is_empty() && self.sketch.is_empty() && self.bars.is_straight()
    }

    /// The bars of each part in which notes were changed; not those in which times were only rounded otherwise.
    #[must_use]
    pub fn touched(&self) -> BTreeMap<PartId, BTreeSet<BarNumber>> {
        touched(&self.changes)
    }
}

fn touched(changes: &[Change]) -> BTreeMap<PartId, BTreeSet<BarNumber>> {
    let mut touched: BTreeMap<PartId, BTreeSet<BarNumber>> = BTreeMap::new();
    for change in changes.iter().filter(|c| c.how.is_meant()) {
        touched.entry(change.part).or_default().insert(change.bar);
    }
    touched
}

/// So many bars are compared at the most (ours: far over any show).
const MOST_BARS: u32 = 20_000;

/// A draft of far more bars than any show has.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
#[error(
    "a draft of {bars} bars cannot be compared; {MOST_BARS} are the most, so look for a note far after the end"
)]
pub struct TooManyBars {
    /// How many there are.
    pub bars: u32,
}

/// Compares what came back with what was sent out.
///
/// ```
/// use bandwright::band::preset;
/// use bandwright::cli::files::demo_song;
/// use bandwright::score::returned::returned;
/// let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
/// assert!(returned(&song, &song, &band)?.is_unchanged());
/// # Ok::<(), bandwright::score::returned::TooManyBars>(())
/// ```
///
/// # Errors
/// Where one of them has more than 20 000 bars.
pub fn returned(back: &Song, sent: &Song, band: &Band) -> Result<Returned, TooManyBars> {
    let (ours, theirs) = (Sheet::of(sent, band), Sheet::of(back, band));
    let bars = ours.bars.max(theirs.bars);
    if bars > MOST_BARS {
        return Err(TooManyBars { bars });
    }
    let bars = align(&ours.keys(), &theirs.keys());
    let (changes, sketch) = changes::changes(&ours, &theirs, &bars);
    Ok(Returned {
        locks: only(back, band, &touched(&changes), &theirs),
        without_parts: without_parts(&theirs),
        sent: moved::moved(&ours, &BarMap::new(&bars, sent, back), (back, band)),
        bars,
        changes,
        sketch,
    })
}

/// A song without the tracks that are named like parts.
fn without_parts(sheet: &Sheet<'_>) -> Song {
    let tracks = sheet.song.tracks.iter().enumerate();
    let own = tracks.filter(|(i, _)| !sheet.own.contains(i));
    Song {
        tracks: own.map(|(_, t)| t.clone()).collect(),
        ..sheet.song.clone()
    }
}

/// A song that holds the parts in some bars alone, each track named with them.
fn only(
    song: &Song,
    band: &Band,
    touched: &BTreeMap<PartId, BTreeSet<BarNumber>>,
    sheet: &Sheet,
) -> Song {
    let track = |(part, bars): (&PartId, &BTreeSet<BarNumber>)| Track {
        name: format!(
            "{} bars {}",
            band.part(*part).name,
            listed(&as_ranges(bars.iter().copied()))
        ),
        notes: sheet.notes_of(*part).to_vec(),
        ..Track::default()
    };
    Song {
        tracks: touched.iter().map(track).collect(),
        ..song.clone()
    }
}
