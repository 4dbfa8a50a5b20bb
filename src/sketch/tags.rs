//! Re-tags: what the arranger says of the sketch's lines. They outrank what was found.

use super::reading::{Line, ReadNote};
use super::song::{Song, Track, Warning};
use crate::music::{BarNumber, Interval, MeterMap, Sounding, Tick};
use std::collections::BTreeMap;
use std::ops::Range;

/// Which track a tag is about.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum TrackChoice {
    /// By its number in the file, from 1.
    Number(usize),
    /// By its name; case and white space at the ends do not matter.
    Name(String),
}

/// Which of the notes that begin together a tag is about.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Among {
    /// All.
    #[default]
    All,
    /// The highest of those that the tag would else cover.
    Highest,
    /// The lowest of them.
    Lowest,
}

/// One statement of the arranger: these notes are this line. What a tag leaves open does not
/// limit it, so an empty one covers the whole sketch.
#[derive(Clone, PartialEq, Debug)]
pub struct Tag {
    /// The line that the notes belong to.
    pub line: Line,
    /// Only notes of this track.
    pub track: Option<TrackChoice>,
    /// Only notes that begin in one of these stretches of bars (first and last); empty for all.
    pub bars: Vec<(BarNumber, BarNumber)>,
    /// Only notes that begin on this beat of the bar, counted from 1 in the meter's felt beats.
    pub beat: Option<f64>,
    /// Only notes that begin at this tick of the file, as played.
    pub tick: Option<Tick>,
    /// Only notes from the first to the second pitch.
    pub pitches: Option<(Sounding, Sounding)>,
    /// Which of the notes that begin together.
    pub among: Among,
}

impl Tag {
    /// A tag that covers the whole sketch.
    #[must_use]
    pub const fn all(line: Line) -> Self {
        Self {
            line,
            track: None,
            bars: Vec::new(),
            beat: None,
            tick: None,
            pitches: None,
            among: Among::All,
        }
    }

    /// For each track whether it is meant.
    fn tracks(&self, song: &Song) -> Vec<bool> {
        let meant = |(i, track): (usize, &Track)| match &self.track {
            None => true,
            Some(TrackChoice::Number(n)) => i + 1 == *n,
            Some(TrackChoice::Name(n)) => n.trim().to_lowercase() == track.name.to_lowercase(),
        };
        song.tracks.iter().enumerate().map(meant).collect()
    }

    /// The stretches of notes that begin in the tag's bars.
    fn stretches(&self, song: &Song, notes: &[ReadNote]) -> Vec<Range<usize>> {
        let from = |at: Tick| notes.partition_point(|n| n.onset < at);
        let stretch = |(first, last): &(BarNumber, BarNumber)| {
            from(song.meters.bar_start(*first))..from(song.meters.bar_end(*last))
        };
        let all = self.bars.is_empty().then_some(0..notes.len());
        self.bars.iter().map(stretch).chain(all).collect()
    }

    fn covers(&self, song: &Song, note: &ReadNote) -> bool {
        self.tick.is_none_or(|t| t == file_onset(song, note))
            && self.beat.is_none_or(|b| is_on(&song.meters, note.onset, b))
            && self
                .pitches
                .is_none_or(|(low, high)| (low..=high).contains(&note.pitch))
    }
}

/// What a tag weighs against all that is found, in points (log odds).
const SURE: f64 = 40.0;
/// What it weighs against other notes of its line while a tagged one is held: a line plays one
/// note at a time.
const MEANWHILE: f64 = -20.0;

/// What the arranger's tags say of each note's being of one line, as points.
pub(super) struct TagPoints {
    line: Line,
    /// When notes tagged as the line are held, in order and without overlaps.
    held: Vec<(Tick, Tick)>,
}

impl TagPoints {
    /// For notes in order of onset.
    pub(super) fn new(notes: &[ReadNote], line: Line) -> Self {
        let mut held: Vec<(Tick, Tick)> = Vec::new();
        for note in notes.iter().filter(|n| n.tag == Some(line)) {
            match held.last_mut() {
                Some(last) if note.onset <= last.1 => last.1 = last.1.max(note.end()),
                _ => held.push((note.onset, note.end())),
            }
        }
        Self { line, held }
    }

    /// Points for a note.
    pub(super) fn of(&self, note: &ReadNote) -> f64 {
        let next = self.held.partition_point(|h| h.0 <= note.onset);
        let before = next.checked_sub(1).and_then(|i| self.held.get(i));
        match note.tag {
            Some(tag) if tag == self.line => SURE,
            Some(_) => -SURE,
            None if before.is_some_and(|h| note.onset < h.1) => MEANWHILE,
            None => 0.0,
        }
    }
}

/// Where a note of a song's reading begins in the file, as played.
#[must_use]
pub fn file_onset(song: &Song, note: &ReadNote) -> Tick {
    let played = song.played(note.track, note.index);
    played.map_or(note.onset, |p| p.onset)
}

/// How far from its beat a note may begin, as a share of the beat: less than half of the
/// shortest value in use, a quarter of an eighth.
const NEAR: f64 = 1.0 / 16.0;

fn is_on(meters: &MeterMap, at: Tick, beat: f64) -> bool {
    (meters.place(at).beat - beat).abs() < NEAR
}

/// All that the arranger says of a sketch's lines; where two tags cover a note, the later holds.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Tags(pub Vec<Tag>);

impl Tags {
    /// The tags for the same music moved by an interval. Pitches that leave MIDI stop at its ends.
    #[must_use]
    pub fn moved(&self, by: Interval) -> Self {
        let pitch = |p: Sounding| Sounding::nearest(i32::from(p.midi()) + i32::from(by.0));
        let tag = |tag: &Tag| Tag {
            pitches: tag.pitches.map(|(low, high)| (pitch(low), pitch(high))),
            ..tag.clone()
        };
        Self(self.0.iter().map(tag).collect())
    }

    /// The line that each note is tagged with, and a warning for each tag that covers none.
    ///
    /// `notes` are those of the song's [`super::Reading`], in order of onset. Time grows with the
    /// notes in each tag's bars.
    #[must_use]
    pub fn lines(&self, song: &Song, notes: &[ReadNote]) -> (Vec<Option<Line>>, Vec<Warning>) {
        let mut lines = vec![None; notes.len()];
        let mut warnings = Vec::new();
        for (i, tag) in self.0.iter().enumerate() {
            let covered = covered(tag, song, notes);
            if covered.is_empty() {
                warnings.push(Warning::music(format!(
                    "tag {} ({}) covers no note of the sketch",
                    i + 1,
                    tag.line.word()
                )));
            }
            for note in covered {
                lines[note] = Some(tag.line);
            }
        }
        (lines, warnings)
    }
}

fn covered(tag: &Tag, song: &Song, notes: &[ReadNote]) -> Vec<usize> {
    let tracks = tag.tracks(song);
    let meant = |note: &ReadNote| tracks.get(note.track) == Some(&true) && tag.covers(song, note);
    let all = tag.stretches(song, notes).into_iter().flatten();
    let all = all.filter(|i| notes.get(*i).is_some_and(meant));
    if tag.among == Among::All {
        return all.collect();
    }
    let mut chosen: BTreeMap<Tick, usize> = BTreeMap::new();
    for i in all {
        let kept = chosen.entry(notes[i].onset).or_insert(i);
        let higher = notes[i].pitch > notes[*kept].pitch;
        let lower = notes[i].pitch < notes[*kept].pitch;
        if higher && tag.among == Among::Highest || lower && tag.among == Among::Lowest {
            *kept = i;
        }
    }
    chosen.into_values().collect()
}
