//! Lines of the sketch as one player could play them: one note at a time.

use crate::band::chance::{Flow, NoteTime, flows};
use crate::music::{Dynamic, KeySignature, Sounding, TempoMap, Tick, Ticks};
use crate::score::Role;
use crate::sketch::{Line, ReadNote, Reading};
use std::ops::Range;

/// A note of a line, never of zero length and never overlapping the next.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LineNote {
    /// Where it begins.
    pub onset: Tick,
    /// Where it ends, at the next note's onset at the latest.
    pub end: Tick,
    /// The sketch's pitch.
    pub pitch: Sounding,
    /// The sketch's velocity.
    pub velocity: u8,
    /// What else makes it easy or hard for whoever plays it.
    pub moment: Moment,
}

/// What makes a note easy or hard besides its pitch, whoever plays it.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Moment {
    /// How loud.
    pub dynamic: Dynamic,
    /// How it follows the notes before.
    pub flow: Flow,
    /// The concert key; `None` where none is known.
    pub key: Option<KeySignature>,
}

/// A line of the sketch with its breathing places.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct OneLine {
    /// The notes in order.
    pub notes: Vec<LineNote>,
    /// Stretches between breathing places, as ranges of `notes`; together all notes.
    pub breaths: Vec<Range<usize>>,
}

/// The lines that parts can carry whole.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Lines {
    /// The tune.
    pub melody: OneLine,
    /// The second tune.
    pub counterline: OneLine,
    /// The bass.
    pub bass: OneLine,
    /// The broken-chord or repeated-note pattern.
    pub figure: OneLine,
}

impl Lines {
    /// The lines of a sketch.
    #[must_use]
    pub fn of(reading: &Reading, tempo: &TempoMap) -> Self {
        let one = |line, pedal| one_line(reading, tempo, line, pedal);
        Self {
            melody: one(Line::Melody, false),
            counterline: one(Line::Counterline, false),
            bass: one(Line::Bass, true),
            figure: one(Line::Figure, false),
        }
    }

    /// What of the lines begins from one tick to another.
    #[must_use]
    pub fn cut(&self, start: Tick, end: Tick) -> Self {
        Self {
            melody: self.melody.cut(start, end),
            counterline: self.counterline.cut(start, end),
            bass: self.bass.cut(start, end),
            figure: self.figure.cut(start, end),
        }
    }

    /// The line that a role carries; `None` for harmony and rests.
    #[must_use]
    pub fn of_role(&self, role: Role) -> Option<&OneLine> {
        match role {
            Role::Melody => Some(&self.melody),
            Role::Counterline => Some(&self.counterline),
            Role::Bass => Some(&self.bass),
            Role::Figure => Some(&self.figure),
            Role::Harmony | Role::Rest => None,
        }
    }
}

impl OneLine {
    /// The notes that begin in a stretch of time, as a range of `notes`.
    #[must_use]
    pub fn within(&self, start: Tick, end: Tick) -> Range<usize> {
        let from = self.notes.partition_point(|n| n.onset < start);
        let to = self.notes.partition_point(|n| n.onset < end);
        from..to.max(from)
    }

    /// The breaths inside a range of notes, cut to it.
    pub fn breaths_in(&self, range: &Range<usize>) -> impl Iterator<Item = Range<usize>> + use<'_> {
        let (start, end) = (range.start, range.end);
        let first = self.breaths.partition_point(|b| b.end <= start);
        let breaths = self.breaths[first..]
            .iter()
            .take_while(move |b| b.start < end);
        breaths
            .map(move |b| b.start.max(start)..b.end.min(end))
            .filter(|b| !b.is_empty())
    }

    /// The notes of the breath that has a note at an onset; empty if there is none.
    #[must_use]
    pub fn breath_of(&self, onset: Tick) -> &[LineNote] {
        let at = self.notes.partition_point(|n| n.onset < onset);
        let breath = self.breaths_in(&(at..at + 1)).next();
        let whole = breath.and_then(|b| {
            let next = self.breaths.partition_point(|w| w.start <= b.start);
            self.breaths.get(next.checked_sub(1)?)
        });
        whole.map_or(&[], |b| &self.notes[b.clone()])
    }

    /// What of the line begins from one tick to another, with the breaths cut to it.
    #[must_use]
    pub fn cut(&self, start: Tick, end: Tick) -> Self {
        let range = self.within(start, end);
        let breaths = self.breaths_in(&range);
        Self {
            breaths: breaths
                .map(|b| b.start - range.start..b.end - range.start)
                .collect(),
            notes: self.notes[range.clone()].to_vec(),
        }
    }

    /// The same line with no note following fast, where the speed is judged elsewhere.
    #[must_use]
    pub fn unhurried(mut self) -> Self {
        for note in &mut self.notes {
            note.moment.flow.speed = None;
        }
        self
    }

    /// The note sounding at a tick.
    #[must_use]
    pub fn at(&self, at: Tick) -> Option<&LineNote> {
        let next = self.notes.partition_point(|n| n.onset <= at);
        self.notes.get(next.checked_sub(1)?).filter(|n| at < n.end)
    }
}

fn one_line(reading: &Reading, tempo: &TempoMap, line: Line, pedal: bool) -> OneLine {
    let mut notes: Vec<LineNote> = Vec::new();
    for note in reading.line(line) {
        let end = if pedal {
            note.sounds_until.max(note.end())
        } else {
            note.end()
        };
        let next = LineNote {
            onset: note.onset,
            end,
            pitch: note.pitch,
            velocity: note.velocity,
            moment: Moment::default(),
        };
        add_to_line(&mut notes, next, note, line);
    }
    let breaths = breaths(&notes, reading, tempo);
    let mut line = OneLine { notes, breaths };
    set_moments(&mut line, reading, tempo);
    line
}

/// Tells every note what surrounds it; a breath is taken at every breathing place.
fn set_moments(line: &mut OneLine, reading: &Reading, tempo: &TempoMap) {
    let mut times: Vec<NoteTime> = line.notes.iter().map(|n| time(n, tempo)).collect();
    for breath in &line.breaths {
        if let Some(first) = times.get_mut(breath.start) {
            first.phrase = true;
        }
    }
    for (note, flow) in line.notes.iter_mut().zip(flows(&times)) {
        note.moment = Moment {
            dynamic: Dynamic::of_velocity(note.velocity),
            flow,
            key: reading.key(note.onset).map(|k| k.signature),
        };
    }
}

fn time(note: &LineNote, tempo: &TempoMap) -> NoteTime {
    NoteTime {
        onset: tempo.seconds(note.onset),
        end: tempo.seconds(note.end),
        beats: tempo.quarter().beats(note.onset.since(Tick::ZERO)).0,
        phrase: false,
    }
}

/// Of notes struck together a tune keeps the highest, other lines the lowest.
fn add_to_line(notes: &mut Vec<LineNote>, next: LineNote, note: &ReadNote, line: Line) {
    if let Some(last) = notes.last_mut() {
        if last.onset == next.onset {
            if matches!(line, Line::Melody | Line::Counterline) && last.pitch < note.pitch {
                *last = next;
            }
            return;
        }
        last.end = last.end.min(next.onset);
    }
    notes.push(next);
}

/// Breathing places: where a phrase begins, and at rests of half a beat and more.
fn breaths(notes: &[LineNote], reading: &Reading, tempo: &TempoMap) -> Vec<Range<usize>> {
    let rest = Ticks((u64::from(tempo.quarter().get()) / 2).max(1));
    let mut breaths = Vec::new();
    let mut from = 0;
    for i in 1..notes.len() {
        let (before, now) = (notes[i - 1], notes[i]);
        let phrase = reading.phrases.partition_point(|p| p.start <= now.onset);
        let begins = phrase > 0 && reading.phrases[phrase - 1].start > before.onset;
        if begins || now.onset.since(before.end) >= rest {
            breaths.push(from..i);
            from = i;
        }
    }
    if from < notes.len() {
        breaths.push(from..notes.len());
    }
    breaths
}
