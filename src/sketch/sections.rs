//! Sections: the piece cut at markers and at repeats of four bars or more, with a letter each.

use super::reading::Phrase;
use super::song::Song;
use super::tune::{Held, likeness};
use super::tune_repeats::RepeatedStretch;
use crate::music::{Tick, Ticks};
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
/// Markers may stand closer.
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

/// A bar line where a section may start.
struct Place {
    /// The bar line, or the start of the piece.
    line: Tick,
    /// The start of the phrase there, with its pickup.
    start: Tick,
    /// How much speaks for it.
    worth: f64,
    marker: Option<String>,
}

/// How much more a marker says than any repeats.
const MARKED: f64 = 1000.0;
/// So many places are looked back at, at the most.
const REACH: usize = 64;

/// Where sections start: at markers, and at the ends of long repeats, so that sections have
/// rather eight or sixteen bars than others. The best-scored path over the places.
fn starts(
    song: &Song,
    phrases: &[Phrase],
    stretches: &[RepeatedStretch],
) -> Vec<(Tick, Option<String>)> {
    let places = places(song, phrases, stretches);
    let end = phrases.last().map_or(Tick::ZERO, |p| p.end);
    let mut best: Vec<(f64, usize)> = Vec::with_capacity(places.len());
    let before = |best: &[(f64, usize)], until: Tick| {
        let mut choice = (f64::NEG_INFINITY, 0);
        for (i, (place, (score, _))) in places.iter().zip(best).enumerate().rev().take(REACH) {
            let score = score - length_cost(song, place.line, until);
            if score > choice.0 {
                choice = (score, i);
            }
        }
        choice
    };
    for (k, place) in places.iter().enumerate() {
        let (score, from) = if k == 0 {
            (0.0, 0)
        } else {
            before(&best, place.line)
        };
        best.push((score + place.worth, from));
    }
    let mut at = before(&best, end).1;
    let mut path = Vec::new();
    loop {
        path.extend(places.get(at).map(|p| (p.start, p.marker.clone())));
        match best.get(at) {
            Some((_, from)) if at > 0 => at = *from,
            _ => break,
        }
    }
    path.reverse();
    path
}

/// What the length of a section costs, in bars of its first meter. Chosen by trial.
fn length_cost(song: &Song, start: Tick, end: Tick) -> f64 {
    let bar = song.meters.meter(start).bar(song.quarter).0.max(1);
    let bars = end.since(start).0 as f64 / bar as f64;
    let whole = bars.round() as u64;
    let short = if bars < LEAST_BARS as f64 - 0.5 {
        5.0
    } else {
        0.0
    };
    let uneven = match whole {
        w if w % 8 == 0 => 0.0,
        w if w % 4 == 0 => 0.3,
        _ => 1.0,
    };
    0.8 + short + uneven
}

/// Places in order, the first where the piece begins; no two with the same phrase.
fn places(song: &Song, phrases: &[Phrase], stretches: &[RepeatedStretch]) -> Vec<Place> {
    let mut lines: BTreeMap<Tick, (f64, Option<String>)> = BTreeMap::new();
    for stretch in stretches.iter().filter(|s| u64::from(s.bars) >= LEAST_BARS) {
        let source_end = stretch.source + stretch.end.since(stretch.start);
        for line in [stretch.start, stretch.source, stretch.end, source_end] {
            lines.entry(line).or_default().0 += (f64::from(stretch.bars) / 8.0).min(1.5);
        }
    }
    for marker in &song.markers {
        let (worth, text) = lines.entry(marker.at).or_default();
        *worth += MARKED;
        text.get_or_insert_with(|| marker.text.clone());
    }
    let mut places: Vec<Place> = Vec::with_capacity(lines.len() + 1);
    places.extend(phrases.first().map(|p| Place {
        line: p.start,
        start: p.start,
        worth: 0.0,
        marker: None,
    }));
    for (line, (worth, marker)) in lines {
        let Some(start) = phrase_at(song, phrases, line) else {
            continue;
        };
        match places.last_mut().filter(|p| p.start == start) {
            Some(same) => {
                // The first section is measured from its first bar line, not from its pickup.
                same.line = line;
                same.worth += worth;
                same.marker = same.marker.take().or(marker);
            }
            None => places.push(Place {
                line,
                start,
                worth,
                marker,
            }),
        }
    }
    places
}

/// The start of the phrase that begins at a bar line, or in the half bar that leads to it.
fn phrase_at(song: &Song, phrases: &[Phrase], line: Tick) -> Option<Tick> {
    let next = phrases.partition_point(|p| p.start <= line);
    let phrase = phrases.get(next.checked_sub(1)?)?;
    let half = song.meters.meter(phrase.start).bar(song.quarter).0 / 2;
    (line.since(phrase.start).0 <= half).then_some(phrase.start)
}
