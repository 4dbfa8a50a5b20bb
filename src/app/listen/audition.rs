//! What is auditioned: a draft and its sketch on one set of chairs, with what is heard of them, where, how quick.

use crate::band::{Band, PartId, TableError};
use crate::music::{Sounding, TempoMap, Tick};
use crate::project::made_ready::MadeReady;
use crate::score::{Draft, DraftNote, Locks, PartLine};
use crate::sketch::Song;
use crate::sound::events::SoundScore;
use crate::sound::heard::Heard;
use crate::sound::of_draft::{Span, heard_lines, of_draft, of_sketch, piano, piano_note};
use crate::sound::render::{CountIn, SLOWEST};
use crate::sound::seated::Seated;
use crate::sound::seating::Place;
use std::sync::Arc;

/// How long a note or a chord is held that is heard by itself, seconds (ours).
const HELD: f64 = 1.2;

/// What is auditioned. Cheap to copy; nothing of it changes.
#[derive(Clone)]
pub struct Audition {
    /// Who plays.
    pub band: Arc<Band>,
    /// What they play.
    pub draft: Arc<Draft>,
    /// What is locked.
    pub locks: Arc<Locks>,
    /// Tempos and bars.
    pub song: Arc<Song>,
    /// What was read of the sketch.
    pub ready: Arc<MadeReady>,
    /// What is heard.
    pub heard: Heard,
    /// Where.
    pub place: Place,
    /// The factor of the tempo.
    pub speed: f64,
}

/// What is heard by itself.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Alone {
    /// A note of a part, by its onset and pitch.
    Note(PartId, Tick, Sounding),
    /// Notes of the sketch, by their index in the reading.
    Sketch(Vec<usize>),
    /// All that sounds at a tick of what is heard.
    Slice(Tick),
}

impl Audition {
    /// Whether two sound the same throughout.
    #[must_use]
    pub fn is(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.band, &other.band)
            && Arc::ptr_eq(&self.draft, &other.draft)
            && Arc::ptr_eq(&self.locks, &other.locks)
            && Arc::ptr_eq(&self.song, &other.song)
            && Arc::ptr_eq(&self.ready, &other.ready)
            && self.heard == other.heard
            && self.place == other.place
            && self.speed == other.speed
    }

    fn is_locked(&self, line: &PartLine, note: usize) -> bool {
        let lock = self.locks.of(line.part);
        let onset = line.notes.get(note).map(|n| n.onset);
        lock.zip(onset)
            .is_some_and(|(lock, onset)| lock.bars.contains(onset, &self.song.meters))
    }

    fn lines(&self) -> Vec<PartLine> {
        heard_lines(&self.draft.lines, &self.heard, |l, n| self.is_locked(l, n))
    }

    fn tempo(&self) -> &TempoMap {
        &self.song.tempo
    }

    /// All of it as events, in seconds of its own tempo: a chair for every part, and one for the piano.
    ///
    /// # Errors
    /// If the built-in table of loudness were unreadable (a test shows that it is not).
    pub fn score(&self) -> Result<SoundScore, TableError> {
        let source = self.heard.source;
        let lines = if source.has_draft() {
            self.lines()
        } else {
            Vec::new()
        };
        let mut score = of_draft(&self.band, &lines, self.tempo(), Span::ALL, self.place)?;
        let chair = score.chairs.len();
        score.chairs.extend(piano());
        if source.has_sketch() {
            let sketch = of_sketch(&self.ready.reading, self.tempo(), Span::ALL, &self.heard);
            let seated = sketch.notes.into_iter().map(|mut note| {
                note.chair = chair;
                note
            });
            score.notes.extend(seated);
        }
        Ok(score)
    }

    /// Something that is heard by itself, on the same chairs, at its beginning.
    ///
    /// # Errors
    /// If the built-in table of loudness were unreadable.
    pub fn alone(&self, what: &Alone) -> Result<SoundScore, TableError> {
        let seated = Seated::at(&self.band, self.place);
        let mut chairs = seated.chairs();
        let piano_chair = chairs.len();
        chairs.extend(piano());
        let mut notes = Vec::new();
        for (line, note) in self.struck(what) {
            notes.extend(seated.note(line, &note, (0.0, HELD))?);
        }
        let reading = &self.ready.reading;
        let of_sketch = |i: &usize| {
            let note = reading.notes.get(*i)?;
            Some(piano_note(piano_chair, note, (0.0, HELD)))
        };
        notes.extend(self.sketched(what).iter().filter_map(of_sketch));
        Ok(SoundScore { chairs, notes })
    }

    fn struck(&self, what: &Alone) -> Vec<(PartId, DraftNote)> {
        let mut found = Vec::new();
        match *what {
            Alone::Note(part, onset, pitch) => {
                let line = self.draft.lines.iter().find(|l| l.part == part);
                let note = line.and_then(|l| {
                    let same = |n: &&DraftNote| (n.onset, n.pitch) == (onset, pitch);
                    l.notes.iter().find(same)
                });
                found.extend(note.map(|n| (part, *n)));
            }
            Alone::Slice(at) if self.heard.source.has_draft() => {
                for line in self.lines() {
                    let here = line.notes.iter().filter(|n| n.onset <= at && at < n.end());
                    found.extend(here.map(|n| (line.part, *n)));
                }
            }
            Alone::Slice(_) | Alone::Sketch(_) => {}
        }
        found
    }

    fn sketched(&self, what: &Alone) -> Vec<usize> {
        match what {
            Alone::Sketch(notes) => notes.clone(),
            Alone::Slice(at) if self.heard.source.has_sketch() => {
                let notes = self.ready.reading.notes.iter().enumerate();
                let here = notes.filter(|(_, n)| {
                    n.onset <= *at && *at < n.onset + n.duration && self.heard.only.has_line(n.line)
                });
                here.map(|(i, _)| i).collect()
            }
            Alone::Slice(_) | Alone::Note(..) => Vec::new(),
        }
    }

    /// A bar of ticks before a tick: the beats of its meter at its tempo.
    #[must_use]
    pub fn count_in(&self, from: Tick) -> CountIn {
        let meter = self.song.meters.meter(from);
        let (bar, beat) = (meter.bar(self.song.quarter), meter.beat(self.song.quarter));
        let seconds = |ticks: u64| {
            let end = self.tempo().seconds(Tick(from.0.saturating_add(ticks)));
            (end - self.tempo().seconds(from)) / self.speed.max(SLOWEST)
        };
        let beats = (0..bar.0.div_ceil(beat.0)).map(|i| seconds(i * beat.0));
        CountIn::new(&beats.collect::<Vec<f64>>(), seconds(bar.0))
    }
}
