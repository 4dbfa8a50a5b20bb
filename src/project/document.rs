//! The document: all that one show is.

use crate::band::load::Conditions;
use crate::band::{Band, PartId, same_name};
use crate::music::{Interval, Sounding, Tick};
use crate::plan::timeline::AnyTimeline;
use crate::score::{Draft, Lock, Locks, MelodyChange, PartLine, TuneRules};
use crate::sketch::{ReadError, Song, Tags, Times, quantise, read_any, transposed};
use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

/// The sketch as it came, and how it is to be read.
#[derive(Clone, PartialEq, Eq, Default)]
pub struct SketchFile {
    /// The name of the file that it came from, without folders; for people.
    pub name: String,
    /// The bytes of the file: MIDI or MusicXML.
    pub bytes: Vec<u8>,
    /// Which times count where it was played in.
    pub times: Times,
    /// By how many semitones it is moved before anything else is done.
    pub transpose: i16,
}

impl fmt::Debug for SketchFile {
    /// Without the bytes, of which nobody would read a word.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            name,
            bytes,
            times,
            transpose,
        } = self;
        let size = bytes.len();
        write!(
            f,
            "SketchFile({name:?}, {size} bytes, {times:?}, {transpose})"
        )
    }
}

/// A finding that the arranger looked at and wants to hear no more of.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct PutAside {
    /// The word for its kind.
    pub kind: String,
    /// The name of the part that it is about, if of one.
    pub part: Option<String>,
    /// Where it is, in ticks of the song.
    pub at: Tick,
    /// Why it is put aside, in the arranger's words; may be empty.
    pub reason: String,
}

/// All that one show is. Large fields are shared, so that a copy is cheap.
///
/// Ticks and pitches of locks and draft are those of [`Self::song`]; tags are about the sketch in its
/// own key.
#[derive(Clone, Debug)]
pub struct Document {
    /// The show's title.
    pub title: String,
    /// The sketch.
    pub sketch: Arc<SketchFile>,
    /// The band. Its parts are those that follow from its roster; the roster is what is kept.
    pub band: Arc<Band>,
    /// What the arranger says of the sketch's lines.
    pub tags: Arc<Tags>,
    /// Under what conditions the show is played.
    pub conditions: Conditions,
    /// Names of the styles that it is scored in.
    pub styles: Vec<String>,
    /// Ways of scoring that the arranger took: first and last bar of a passage to the number of the way.
    pub taken: Arc<BTreeMap<(u32, u32), usize>>,
    /// Where the tune stays as written, and where a note of it may change.
    pub tune: Arc<TuneRules>,
    /// What the arranger fixed; own passages of the sketch are not among it.
    pub locks: Arc<Locks>,
    /// The notes: one line for every part of the band, or none at all before anything is drafted.
    pub draft: Arc<Draft>,
    /// Findings put aside.
    pub aside: Arc<Vec<PutAside>>,
    /// How intense the show is wanted; without one the sketch says it, as it was played.
    pub timeline: Arc<Option<AnyTimeline>>,
}

/// Whether two shared things are the same one, or alike.
pub(super) fn same<T: PartialEq>(a: &Arc<T>, b: &Arc<T>) -> bool {
    Arc::ptr_eq(a, b) || a == b
}

/// What is shared is not looked into: documents are held against each other in every frame.
impl PartialEq for Document {
    fn eq(&self, other: &Self) -> bool {
        self.title == other.title
            && self.conditions == other.conditions
            && self.styles == other.styles
            && same(&self.sketch, &other.sketch)
            && same(&self.band, &other.band)
            && same(&self.tags, &other.tags)
            && same(&self.taken, &other.taken)
            && same(&self.tune, &other.tune)
            && same(&self.locks, &other.locks)
            && same(&self.draft, &other.draft)
            && same(&self.aside, &other.aside)
            && same(&self.timeline, &other.timeline)
    }
}

impl Document {
    /// Whether another one is of the same band and sketch, so that what was read for it holds here.
    #[must_use]
    pub fn reads_like(&self, other: &Self) -> bool {
        same(&self.band, &other.band) && same(&self.sketch, &other.sketch)
    }

    /// A show with nothing but a sketch and a band.
    #[must_use]
    pub fn new(title: impl Into<String>, sketch: SketchFile, band: Band) -> Self {
        Self {
            title: title.into(),
            sketch: Arc::new(sketch),
            band: Arc::new(band),
            tags: Arc::default(),
            conditions: Conditions::default(),
            styles: Vec::new(),
            taken: Arc::default(),
            tune: Arc::default(),
            locks: Arc::default(),
            draft: Arc::default(),
            aside: Arc::default(),
            timeline: Arc::default(),
        }
    }

    /// The sketch as music in its own key, with the times that count.
    ///
    /// # Errors
    /// Where nothing of the file can be rescued.
    pub fn song_in_own_key(&self) -> Result<Song, ReadError> {
        let song = read_any(&self.sketch.bytes)?;
        Ok(quantise(&song, self.sketch.times).song)
    }

    /// The sketch as music: read, with the times that count, moved to its key.
    ///
    /// # Errors
    /// Where nothing of the file can be rescued.
    pub fn song(&self) -> Result<Song, ReadError> {
        let song = self.song_in_own_key()?;
        Ok(match self.sketch.transpose {
            0 => song,
            by => transposed(&song, Interval(by)),
        })
    }

    /// The same show for another band: draft and locks go with their parts, which are known by their
    /// names as people take them for the same. Parts that are gone take their notes with them; new
    /// ones have none.
    #[must_use]
    pub fn with_band(&self, band: Band) -> Self {
        let moves = Moves::new(&self.band, &band);
        let draft = Draft {
            lines: if self.draft.lines.is_empty() {
                Vec::new()
            } else {
                moves.lines(&self.draft.lines, &band)
            },
            melody_changes: self
                .draft
                .melody_changes
                .iter()
                .map(|c| moves.change(c))
                .collect(),
        };
        let mut locks: Vec<Lock> = (self.locks.0.iter())
            .filter_map(|lock| {
                let part = moves.part(lock.part)?;
                Some(Lock {
                    part,
                    ..lock.clone()
                })
            })
            .collect();
        locks.sort_by_key(|l| l.part);
        let renamed = |one: &PutAside| PutAside {
            part: one.part.as_ref().map(|name| moves.renamed(name, &band)),
            ..one.clone()
        };
        Self {
            draft: Arc::new(draft),
            locks: Arc::new(Locks(locks)),
            aside: Arc::new(self.aside.iter().map(renamed).collect()),
            band: Arc::new(band),
            ..self.clone()
        }
    }
}

/// Where each part of a band sits in another.
struct Moves {
    /// By the place in the band before.
    to: Vec<Option<PartId>>,
    names: BTreeMap<String, PartId>,
}

impl Moves {
    fn new(before: &Band, after: &Band) -> Self {
        let names: BTreeMap<String, PartId> = after
            .ids()
            .map(|(id, part)| (same_name(&part.name), id))
            .collect();
        let to = before
            .parts
            .iter()
            .map(|part| names.get(&same_name(&part.name)).copied())
            .collect();
        Self { to, names }
    }

    fn part(&self, before: PartId) -> Option<PartId> {
        self.to.get(before.0).copied().flatten()
    }

    fn lines(&self, before: &[PartLine], band: &Band) -> Vec<PartLine> {
        let line = |(part, _)| {
            let old = before.iter().find(|l| self.part(l.part) == Some(part));
            let notes = old.map_or_else(Vec::new, |l| l.notes.clone());
            PartLine { part, notes }
        };
        band.ids().map(line).collect()
    }

    fn change(&self, change: &MelodyChange) -> MelodyChange {
        let moved = |(part, pitch): &(PartId, Sounding)| Some((self.part(*part)?, *pitch));
        let mut parts: Vec<(PartId, Sounding)> = change.parts.iter().filter_map(moved).collect();
        parts.sort();
        MelodyChange {
            parts,
            ..change.clone()
        }
    }

    /// A part's name as the other band spells it; the same where that has no such part.
    fn renamed(&self, name: &str, band: &Band) -> String {
        let id = self.names.get(&same_name(name));
        let part = id.and_then(|id| band.parts.get(id.0));
        part.map_or_else(|| name.to_owned(), |p| p.name.clone())
    }
}
