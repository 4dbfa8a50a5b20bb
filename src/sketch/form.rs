//! Form: what each phrase repeats, and how; and the sections by letters.

use super::reading::{ChordSpan, Line, Phrase, ReadNote};
use super::sections::{Section, find_sections};
use super::song::Song;
use super::tune::{Held, likeness, tune};
use super::tune_repeats::{RepeatedStretch, repeated_stretches};
use crate::music::Tick;

/// How a phrase repeats an earlier one.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum RepeatKind {
    /// As it was.
    Same,
    /// The same tune over another accompaniment of the same chords.
    OtherAccompaniment,
    /// The same tune over other chords.
    Reharmonised,
    /// The tune with ornaments or other changes.
    Varied,
    /// The tune higher or lower by so many semitones.
    Transposed(i32),
}

impl RepeatKind {
    /// A stable word for files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::OtherAccompaniment => "other_accompaniment",
            Self::Reharmonised => "reharmonised",
            Self::Varied => "varied",
            Self::Transposed(_) => "transposed",
        }
    }
}

/// What a phrase repeats.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Repeat {
    /// Index of the earlier phrase.
    pub of: usize,
    /// Where what it repeats begins (a phrase may repeat the middle of a longer one).
    pub from: Tick,
    /// How.
    pub kind: RepeatKind,
    /// The share of its time in which the tune is the same, 0 to 1.
    pub likeness: f32,
}

/// The form of the sketch.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Form {
    /// What each phrase repeats, one for each of the reading's phrases.
    pub phrases: Vec<Option<Repeat>>,
    /// Stretches of bars in which the tune comes again, in order, without overlaps.
    pub stretches: Vec<RepeatedStretch>,
    /// Sections in order, without gaps; at least one but for an empty sketch.
    pub sections: Vec<Section>,
}

impl Form {
    /// The sections' letters in a row: `A A' B A`.
    #[must_use]
    pub fn letters(&self) -> String {
        let labels: Vec<String> = self.sections.iter().map(Section::label).collect();
        labels.join(" ")
    }
}

/// A phrase less alike than this to what it might repeat repeats nothing.
const LEAST: f64 = 0.6;
/// From here on the tune is the same.
const SAME: f64 = 0.9;
/// Under this share of time the chords are others; of its notes, the accompaniment is another.
const SAME_CHORDS: f64 = 0.5;
const SAME_ACCOMPANIMENT: f64 = 0.4;

/// Where the tune comes again, bar by bar; the first step, before phrases are known.
pub(super) fn find_stretches(song: &Song, notes: &[ReadNote]) -> Vec<RepeatedStretch> {
    repeated_stretches(&tune(notes, song.quarter), &song.meters)
}

/// The form over the phrases.
pub(super) fn find_form(
    song: &Song,
    notes: &[ReadNote],
    chords: &[ChordSpan],
    phrases: &[Phrase],
    stretches: Vec<RepeatedStretch>,
) -> Form {
    let view = View {
        tune: tune(notes, song.quarter),
        roots: roots(chords),
        notes,
        phrases,
    };
    let repeats = |p: &Phrase| view.repeat(*p, &stretches);
    Form {
        phrases: phrases.iter().map(repeats).collect(),
        sections: find_sections(song, &view.tune, phrases, &stretches),
        stretches,
    }
}

fn roots(chords: &[ChordSpan]) -> Vec<Held> {
    let held = |c: &ChordSpan| Held {
        start: c.start,
        end: c.end,
        what: i32::from(c.chord.root.number()),
    };
    chords.iter().map(held).collect()
}

struct View<'a> {
    tune: Vec<Held>,
    roots: Vec<Held>,
    notes: &'a [ReadNote],
    phrases: &'a [Phrase],
}

impl View<'_> {
    /// What a phrase repeats: what the stretches in it point to, taken for the whole phrase.
    fn repeat(&self, phrase: Phrase, stretches: &[RepeatedStretch]) -> Option<Repeat> {
        let span = (phrase.start, phrase.end);
        let first = stretches.partition_point(|s| s.end <= phrase.start);
        let inside = stretches.iter().skip(first);
        let mut best: Option<(f64, Tick, i32)> = None;
        for stretch in inside.take_while(|s| s.start < phrase.end) {
            let back = stretch.start.since(stretch.source);
            let Some(from) = phrase.start.0.checked_sub(back.0).map(Tick) else {
                continue;
            };
            let by = stretch.semitones;
            let like = likeness(&self.tune, span, from, |a, b| a == b + by).unwrap_or(0.0);
            if like >= LEAST && best.is_none_or(|b| like > b.0) {
                best = Some((like, from, by));
            }
        }
        let (like, from, by) = best?;
        let of = self.phrase_at(from, phrase.end.since(phrase.start).0)?;
        let itself = self.phrases.get(of).is_none_or(|p| p.start >= phrase.start);
        (!itself).then(|| Repeat {
            of,
            from,
            kind: self.kind(span, from, by, like),
            likeness: like as f32,
        })
    }

    /// The phrase that most of a stretch lies in.
    fn phrase_at(&self, from: Tick, length: u64) -> Option<usize> {
        let end = Tick(from.0.saturating_add(length));
        let first = self.phrases.partition_point(|p| p.end <= from);
        let inside = self.phrases.iter().enumerate().skip(first);
        let shared = |p: &Phrase| p.end.min(end).since(p.start.max(from));
        inside
            .take_while(|(_, p)| p.start < end)
            .max_by(|a, b| shared(a.1).cmp(&shared(b.1)).then(b.0.cmp(&a.0)))
            .map(|(i, _)| i)
    }

    fn kind(&self, span: (Tick, Tick), from: Tick, by: i32, like: f64) -> RepeatKind {
        if by != 0 {
            return RepeatKind::Transposed(by);
        }
        if like < SAME {
            return RepeatKind::Varied;
        }
        let chords = likeness(&self.roots, span, from, |a, b| a == b);
        if chords.is_some_and(|c| c < SAME_CHORDS) {
            return RepeatKind::Reharmonised;
        }
        match self.accompaniment(span, from) {
            Some(alike) if alike < SAME_ACCOMPANIMENT => RepeatKind::OtherAccompaniment,
            _ => RepeatKind::Same,
        }
    }

    /// Of the notes that are not tune in either stretch, the share that is in both: struck at
    /// the same time of it, at the same pitch. `None` where there are none.
    fn accompaniment(&self, span: (Tick, Tick), from: Tick) -> Option<f64> {
        let length = span.1.since(span.0);
        let (now, then) = (
            self.others(span.0, span.1),
            self.others(from, from + length),
        );
        let (mut i, mut j, mut both) = (0, 0, 0);
        while let (Some(a), Some(b)) = (now.get(i), then.get(j)) {
            both += usize::from(a == b);
            i += usize::from(a <= b);
            j += usize::from(b <= a);
        }
        let all = now.len() + then.len() - both;
        (all > 0).then(|| both as f64 / all as f64)
    }

    fn others(&self, from: Tick, to: Tick) -> Vec<(u64, u8)> {
        let first = self.notes.partition_point(|n| n.onset < from);
        let inside = self.notes.iter().skip(first).take_while(|n| n.onset < to);
        inside
            .filter(|n| n.line != Line::Melody)
            .map(|n| (n.onset.since(from).0, n.pitch.midi()))
            .collect()
    }
}
