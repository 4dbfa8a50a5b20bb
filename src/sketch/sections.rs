//! Sections: the piece cut at markers and at repeats of four bars or more, with a letter each.

use super::reading::Phrase;
use super::song::Song;
use super::tune::{Held, likeness};
use super::tune_repeats::RepeatedStretch;
use crate::music::{Tick, Ticks};
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// A section of the piece.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Section {
    /// Where it begins; a pickup belongs to the section it leads into.
    pub start: Tick,
    /// Where the next begins.
    pub end: Tick,
    /// Which letter it has, from 0: sections of the same tune share it.
    pub letter: usize,
    /// How often the tune had been varied by then: 0 for the tune itself, 1 for `A'`.
    pub primes: usize,
    /// The text of the marker at its start.
    pub marker: Option<String>,
}

impl Section {
    /// Its letter with its primes: `A`, `B'`; after `Z` come `AA`, `AB` and so on.
    #[must_use]
    pub fn label(&self) -> String {
        let mut letters = Vec::new();
        let mut rest = self.letter + 1;
        while rest > 0 {
            letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
            rest = (rest - 1) / 26;
        }
        let primes = std::iter::repeat_n('\'', self.primes);
        letters.into_iter().rev().chain(primes).collect()
    }
}

/// The shortest section that a repeat makes, and the shortest repeat that makes one, in bars.
const LEAST_BARS: u64 = 4;
/// How alike a section must be to have the letter of an earlier one, and to have it without prime.
const ALIKE: f64 = 0.5;
const SAME: f64 = 0.9;

pub(super) fn find_sections(
    song: &Song,
    tune: &[Held],
    phrases: &[Phrase],
    stretches: &[RepeatedStretch],
) -> Vec<Section> {
    let (Some(first), Some(last)) = (phrases.first(), phrases.last()) else {
        return Vec::new();
    };
    let starts = starts(song, phrases, stretches);
    let ends = starts.iter().skip(1).map(|s| s.0).chain([last.end]);
    let mut sections: Vec<Section> = Vec::with_capacity(starts.len());
    let mut letters: Vec<usize> = Vec::new(); // primes given so far, by letter
    for ((start, marker), end) in starts.iter().zip(ends) {
        let mut section = Section {
            start: *start.max(&first.start),
            end,
            letter: letters.len(),
            primes: 0,
            marker: marker.clone(),
        };
        match model(tune, &section, &sections, stretches) {
            Some((earlier, same)) => {
                section.letter = earlier.letter;
                section.primes = earlier.primes;
                if let Some(given) = letters.get_mut(earlier.letter).filter(|_| !same) {
                    *given += 1;
                    section.primes = *given;
                }
            }
            None => letters.push(0),
        }
        sections.push(section);
    }
    sections
}

/// The earlier section that most of this one repeats, and whether it is the same.
fn model<'a>(
    tune: &[Held],
    section: &Section,
    earlier: &'a [Section],
    stretches: &[RepeatedStretch],
) -> Option<(&'a Section, bool)> {
    let first = stretches.partition_point(|s| s.end <= section.start);
    let inside = stretches.iter().skip(first);
    let length = section.end.since(section.start);
    let mut best: Option<(f64, &Section, bool)> = None;
    for stretch in inside.take_while(|s| s.start < section.end) {
        let back = stretch.start.since(stretch.source);
        // The section in whose time the middle of what is repeated lies.
        let begin = stretch.start.max(section.start);
        let middle = begin.0 + stretch.end.min(section.end).since(begin).0 / 2;
        let Some(middle) = middle.checked_sub(back.0).map(Tick) else {
            continue;
        };
        let at = earlier.partition_point(|s| s.end <= middle);
        let Some((model, from)) = earlier.get(at).zip(section.start.0.checked_sub(back.0)) else {
            continue;
        };
        let by = stretch.semitones;
        let span = (section.start, section.end);
        let Some(like) = likeness(tune, span, Tick(from), |a, b| a == b + by) else {
            continue;
        };
        let as_long = near(length, model.end.since(model.start));
        let same = like >= SAME && by == 0 && as_long;
        if like >= ALIKE && best.is_none_or(|b| like > b.0) {
            best = Some((like, model, same));
        }
    }
    best.map(|(_, model, same)| (model, same))
}

/// Whether two lengths differ by an eighth at the most: a pickup more or less.
fn near(a: Ticks, b: Ticks) -> bool {
    a.0.abs_diff(b.0) <= a.0.max(b.0) / 8
}

/// Where sections start: at phrases that a marker stands at, then at phrases where repeats begin
/// or end, the longest first, four bars at least from one another.
fn starts(
    song: &Song,
    phrases: &[Phrase],
    stretches: &[RepeatedStretch],
) -> Vec<(Tick, Option<String>)> {
    let mut found: BTreeMap<Tick, Option<String>> = phrases
        .first()
        .map(|p| (p.start, None))
        .into_iter()
        .collect();
    for marker in &song.markers {
        if let Some(start) = phrase_at(song, phrases, marker.at) {
            let text = found.entry(start).or_default();
            text.get_or_insert_with(|| marker.text.clone());
        }
    }
    let mut long: Vec<&RepeatedStretch> = stretches
        .iter()
        .filter(|s| u64::from(s.bars) >= LEAST_BARS)
        .collect();
    long.sort_by_key(|s| (Reverse(s.bars), s.start));
    let end = phrases.last().map_or(Tick::ZERO, |p| p.end);
    for stretch in long {
        let source_end = stretch.source + stretch.end.since(stretch.start);
        for line in [stretch.start, stretch.source, stretch.end, source_end] {
            let Some(start) = phrase_at(song, phrases, line) else {
                continue;
            };
            let bar = song.meters.meter(start).bar(song.quarter).0;
            // A pickup more or less is no bar.
            let least = LEAST_BARS * bar - bar / 2;
            let before = found
                .range(..=start)
                .next_back()
                .map_or(Tick::ZERO, |f| *f.0);
            let after = found.range(start..).next().map_or(end, |f| *f.0);
            if start.since(before).0 >= least && after.since(start).0 >= least {
                found.insert(start, None);
            }
        }
    }
    found.into_iter().collect()
}

/// The start of the phrase that begins at a bar line, or in the half bar that leads to it.
fn phrase_at(song: &Song, phrases: &[Phrase], line: Tick) -> Option<Tick> {
    let next = phrases.partition_point(|p| p.start <= line);
    let phrase = phrases.get(next.checked_sub(1)?)?;
    let half = song.meters.meter(phrase.start).bar(song.quarter).0 / 2;
    (line.since(phrase.start).0 <= half).then_some(phrase.start)
}
