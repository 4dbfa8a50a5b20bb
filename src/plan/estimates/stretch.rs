//! What a passage gives to play, line by line, in seconds: what all estimates start from.

use super::octave::best_octave;
use crate::band::load::TimedNote;
use crate::band::{Limits, SoundingRange};
use crate::music::{Dynamic, Interval, Sounding, Tick};
use crate::plan::line::OneLine;
use crate::plan::solve::Setting;
use crate::score::{Passage, Role};
use crate::sketch::{Line, ReadNote};
use std::collections::BTreeSet;

/// The roles that are notes of a line, in the order of [`Stretch::lines`].
pub(super) const LINES: [Role; 4] = [Role::Melody, Role::Counterline, Role::Bass, Role::Figure];

/// A passage in seconds.
pub(super) struct Stretch {
    /// Where it begins, seconds.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// The notes of each line at the sketch's pitch.
    pub lines: [Vec<TimedNote>; 4],
    /// Where chords sound.
    pub chords: Vec<(f64, f64)>,
    /// How loud the chords are.
    pub dynamic: Dynamic,
    /// What share of the onsets of the tune and of all else fall together: of the one with more.
    pub same_rhythm: f64,
}

impl Stretch {
    /// All passages of a piece.
    pub fn all(setting: &Setting<'_>) -> Vec<Self> {
        let passages = setting.passages.iter();
        passages.map(|p| Self::of(setting, p)).collect()
    }

    fn of(setting: &Setting<'_>, passage: &Passage) -> Self {
        let notes = &setting.reading.notes;
        let from = notes.partition_point(|n| n.onset < passage.start);
        let to = notes.partition_point(|n| n.onset < passage.end).max(from);
        let notes = &notes[from..to];
        Self {
            from: setting.tempo.seconds(passage.start),
            to: setting.tempo.seconds(passage.end),
            lines: LINES.map(|role| {
                let line = setting.lines.of_role(role);
                line.map_or_else(Vec::new, |l| line_notes(setting, passage, l))
            }),
            chords: chords(setting, passage),
            dynamic: chord_dynamic(notes),
            same_rhythm: same_rhythm(notes),
        }
    }

    /// The dynamics that come in it.
    pub fn dynamics(&self) -> impl Iterator<Item = Dynamic> + use<'_> {
        let notes = self.lines.iter().flatten().map(|n| n.dynamic);
        notes.chain([self.dynamic])
    }

    /// How long it is, seconds, never zero.
    pub fn seconds(&self) -> f64 {
        (self.to - self.from).max(1e-9)
    }

    /// What a part would play of a line, at the octave nearest to the wish that suits it; nothing
    /// outside its hard limits.
    pub fn line(&self, line: usize, limits: &Limits, wish: i16) -> Moved {
        let notes = self.lines.get(line).map_or(&[][..], Vec::as_slice);
        let pitches: Vec<Sounding> = notes.iter().map(|n| n.pitch).collect();
        let (octave, _) = best_octave(limits, &pitches, wish);
        let up = |n: &TimedNote| {
            let pitch = n.pitch.up(Interval::octaves(octave))?;
            let inside = limits.range.contains(pitch);
            inside.then_some(TimedNote { pitch, ..*n })
        };
        Moved {
            octave,
            notes: notes.iter().filter_map(up).collect(),
        }
    }

    /// What a part would play of the chords: the middle of its comfortable range stands for all.
    pub fn harmony(&self, limits: &Limits) -> Vec<TimedNote> {
        let pitch = middle(limits.comfortable);
        let note = |(from, to): &(f64, f64)| TimedNote {
            from: *from,
            to: *to,
            pitch,
            dynamic: self.dynamic,
        };
        self.chords.iter().map(note).collect()
    }
}

/// A line as a part would play it.
pub(super) struct Moved {
    pub octave: i16,
    pub notes: Vec<TimedNote>,
}

fn middle(range: SoundingRange) -> Sounding {
    let (low, high) = (range.low.midi(), range.high.midi());
    Sounding::nearest(i32::from(low.midpoint(high)))
}

fn line_notes(setting: &Setting<'_>, passage: &Passage, line: &OneLine) -> Vec<TimedNote> {
    let tempo = setting.tempo;
    let notes = &line.notes[line.within(passage.start, passage.end)];
    let one = |n: &crate::plan::LineNote| TimedNote {
        from: tempo.seconds(n.onset),
        to: tempo.seconds(n.end.min(passage.end)),
        pitch: n.pitch,
        dynamic: n.moment.dynamic,
    };
    notes.iter().map(one).collect()
}

/// Stretches in which something sounds under a chord, adjoining ones joined.
fn chords(setting: &Setting<'_>, passage: &Passage) -> Vec<(f64, f64)> {
    let slices = &setting.reading.slices;
    let first = slices.partition_point(|s| s.end <= passage.start);
    let mut ticks: Vec<(Tick, Tick)> = Vec::new();
    for slice in slices.iter().skip(first) {
        if slice.start >= passage.end {
            break;
        }
        if slice.sounding.is_empty() || slice.chord.is_none() {
            continue;
        }
        let (start, end) = (slice.start.max(passage.start), slice.end.min(passage.end));
        match ticks.last_mut() {
            Some(last) if last.1 == start => last.1 = end,
            _ => ticks.push((start, end)),
        }
    }
    let seconds = |at| setting.tempo.seconds(at);
    ticks
        .iter()
        .map(|(s, e)| (seconds(*s), seconds(*e)))
        .collect()
}

/// The dynamic of the mean velocity of what accompanies; of everything, where nothing does.
fn chord_dynamic(notes: &[ReadNote]) -> Dynamic {
    let mean = |of: &dyn Fn(&&ReadNote) -> bool| {
        let some: Vec<u32> = notes.iter().filter(of).map(|n| n.velocity.into()).collect();
        let count = u32::try_from(some.len()).unwrap_or(u32::MAX);
        some.iter().sum::<u32>().checked_div(count)
    };
    let accompanies = |n: &&ReadNote| matches!(n.line, Line::Harmony | Line::Figure);
    let velocity = mean(&accompanies).or_else(|| mean(&|_| true));
    let velocity = velocity.and_then(|v| u8::try_from(v).ok());
    velocity.map_or(Dynamic::Mf, Dynamic::of_velocity)
}

fn same_rhythm(notes: &[ReadNote]) -> f64 {
    let onsets = |tune: bool| -> BTreeSet<Tick> {
        let of = notes.iter().filter(|n| (n.line == Line::Melody) == tune);
        of.map(|n| n.onset).collect()
    };
    let (tune, rest) = (onsets(true), onsets(false));
    let both = tune.intersection(&rest).count() as f64;
    both / tune.len().max(rest.len()).max(1) as f64
}
