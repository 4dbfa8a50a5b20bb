//! A score as a [`Song`]: parts read, measures in playing order, tracks.

use super::bars::{Column, Frame, Grid, frames, grid};
use super::flow::{Turn, playing_order};
use super::instruments::{DRUMS, Instruments};
use super::layout::{Layout, PartNodes};
use super::measure::{Grace, Mark, MarkKind, WrittenNote};
use super::oddities::{Oddities, Place};
use super::part::{ReadPart, read_part};
use super::ties::{Sounded, join_ties};
use super::tree::refused;
use super::units::Units;
use crate::music::tempo::TempoChange;
use crate::music::{KeySignature, MeterMap, TempoMap, Tick, Ticks};
use crate::sketch::budget::Budget;
use crate::sketch::song::{
    Control, KeyChange, Marker, Note, PedalSpan, Played, ReadError, Song, Track,
};
use std::collections::BTreeSet;

/// A grace note is a thirty-second before its main note, or shorter, as where played music is quantised.
const GRACE_PART: u64 = 8;
/// The controller of the sustain pedal (MIDI 1.0).
const SUSTAIN: u8 = 64;

/// Reads a score; its oddities are told, its warnings are empty.
///
/// # Errors
/// Where it is too large, or jumps to nowhere.
pub(super) fn read_score(
    layout: &Layout<'_, '_>,
    oddities: &mut Oddities,
) -> Result<Song, ReadError> {
    let units = Units::of(layout);
    let mut budget = Budget::default();
    let mut parts = Vec::with_capacity(layout.parts.len());
    for nodes in &layout.parts {
        parts.push(read_part(nodes, units, oddities, &mut budget)?);
    }
    let columns = columns(&parts, layout.measures);
    let frames = frames(&columns, units, oddities);
    let order = order(layout, &columns, oddities)?;
    let grid = grid(&frames, &order, units);
    tell_bars(&columns, &order, &grid, oddities);
    let played = AsPlayed {
        units,
        frames: &frames,
        order: &order,
        grid: &grid,
    };
    let mut tracks = Vec::new();
    let mut budget = Budget::default();
    for (nodes, part) in layout.parts.iter().zip(&parts) {
        tracks.extend(played.tracks(nodes, part, &mut budget, oddities)?);
    }
    if tracks.iter().all(|t| t.notes.is_empty()) {
        oddities.add("the file holds no notes", Place::SCORE);
    }
    let quarter = units.ticks_per_quarter();
    Ok(Song {
        quarter,
        tempo: TempoMap::new(quarter, played.tempos(&parts)),
        meters: MeterMap::new(quarter, grid.meters.iter().copied()),
        keys: played.keys(&parts),
        markers: played.markers(&parts),
        tracks,
        warnings: Vec::new(),
    })
}

fn columns(parts: &[ReadPart], count: usize) -> Vec<Column> {
    let mut columns = vec![Column::default(); count];
    for part in parts {
        for (column, measure) in columns.iter_mut().zip(&part.measures) {
            if let Some(measure) = measure {
                column.take(measure);
            }
        }
    }
    columns
}

fn order(
    layout: &Layout<'_, '_>,
    columns: &[Column],
    oddities: &mut Oddities,
) -> Result<Vec<Turn>, ReadError> {
    let flows: Vec<_> = columns.iter().map(|c| c.flow.clone()).collect();
    let order = playing_order(&flows).map_err(|no| {
        let number = columns.get(no.measure).map_or("", |c| &c.number);
        let reason = format!("measure {number}: {}", no.reason);
        let nodes = layout
            .parts
            .iter()
            .filter_map(|p| p.measures.get(no.measure)?.as_ref());
        match nodes.into_iter().next() {
            Some(node) => refused(*node, reason),
            None => ReadError { offset: 0, reason },
        }
    })?;
    let heard: BTreeSet<usize> = order.iter().map(|t| t.measure).collect();
    let silent = (0..columns.len()).find(|i| !heard.contains(i));
    if let Some(column) = silent.and_then(|i| columns.get(i)) {
        oddities.add_many(
            "measures that repeats and jumps never lead to are not played",
            columns.len() - heard.len(),
            Place {
                part: "",
                measure: &column.number,
            },
        );
    }
    Ok(order)
}

fn tell_bars(columns: &[Column], order: &[Turn], grid: &Grid, oddities: &mut Oddities) {
    let number = |turn: usize| {
        let column = columns.get(order.get(turn)?.measure)?;
        Some(column.number.as_str())
    };
    if grid.pickup && number(0) == Some("0") {
        oddities.add(
            "the pickup is bar 1 here, so bars count one more than the measures of the file",
            Place::SCORE,
        );
    }
    if let Some(first) = grid.irregular.first() {
        oddities.add_many(
            "measures that are shorter or longer than their meter are kept as they are",
            grid.irregular.len(),
            Place {
                part: "",
                measure: number(*first).unwrap_or(""),
            },
        );
    }
}

/// Measures as played.
struct AsPlayed<'a> {
    units: Units,
    frames: &'a [Frame],
    order: &'a [Turn],
    grid: &'a Grid,
}

impl AsPlayed<'_> {
    /// The measures as played, with where they begin.
    fn turns(&self) -> impl Iterator<Item = (Turn, u64)> {
        self.order
            .iter()
            .copied()
            .zip(self.grid.starts.iter().copied())
    }

    /// The tracks of a part: one for each staff that has notes.
    fn tracks(
        &self,
        nodes: &PartNodes<'_, '_>,
        part: &ReadPart,
        budget: &mut Budget,
        oddities: &mut Oddities,
    ) -> Result<Vec<Track>, ReadError> {
        let mut notes = Vec::new();
        for (turn, start) in self.turns() {
            let measure = part.measures.get(turn.measure).and_then(Option::as_ref);
            for note in measure.iter().flat_map(|m| &m.notes) {
                if note.passes.is_empty() || note.passes.contains(&turn.pass) {
                    budget.note(0)?;
                    notes.push((note, start));
                }
            }
        }
        let sounded = self.sounded(&notes, nodes.instruments.channel);
        let (sounded, loose) = join_ties(sounded);
        oddities.add_many(
            "ties without a note to lead to, or to come from, were passed over",
            loose,
            Place {
                part: &nodes.name,
                measure: "",
            },
        );
        let mut tracks: Vec<Track> = Vec::new();
        for staff in 1..=part.staves {
            let own: Vec<&Sounded> = sounded.iter().filter(|n| n.staff == staff).collect();
            let last = staff == part.staves && tracks.is_empty();
            if !own.is_empty() || last {
                tracks.push(track(&nodes.name, own));
            }
        }
        if let Some(first) = tracks.first_mut() {
            self.add_controls(first, &nodes.instruments, part);
        }
        Ok(tracks)
    }

    /// Notes with their times; grace notes before what they grace.
    fn sounded(&self, notes: &[(&WrittenNote, u64)], channel: u8) -> Vec<Sounded> {
        let onsets = notes.iter().filter(|(n, _)| n.grace.is_none());
        let mut onsets: Vec<u64> = onsets.map(|(n, start)| start + n.at).collect();
        onsets.sort_unstable();
        let times = |note: &WrittenNote, at: u64| {
            let Some(Grace { left, of }) = note.grace else {
                return (at, note.length);
            };
            let before = onsets.partition_point(|o| *o < at);
            let before = before.checked_sub(1).and_then(|i| onsets.get(i));
            let room = at - before.copied().unwrap_or(0);
            let step = (self.units.quarter / GRACE_PART).min(room / (u64::from(of) + 1));
            (at.saturating_sub(step * u64::from(left)), step.max(1))
        };
        let sounded = |(note, start): &(&WrittenNote, u64)| {
            let (onset, length) = times(note, start + note.at);
            let (onset, duration) = (Tick(onset), Ticks(length));
            Sounded {
                note: Note {
                    onset,
                    pitch: note.pitch,
                    duration,
                    velocity: note.velocity.max(1),
                    channel: if note.drum { DRUMS } else { channel },
                },
                played: Played {
                    onset,
                    duration,
                    grace: note.grace.is_some(),
                    rolled: note.rolled,
                },
                name: note.name,
                staff: note.staff,
                ties_on: note.ties_on,
                tied: note.tied,
                off: note.played_off,
            }
        };
        notes.iter().map(sounded).collect()
    }

    /// Program and pedal of a part.
    fn add_controls(&self, track: &mut Track, instruments: &Instruments, part: &ReadPart) {
        let channel = instruments.channel;
        let control = |at, status: u8, first, second| Control {
            at,
            status: status | channel,
            first,
            second,
        };
        if let Some(program) = instruments.program {
            track.controls.push(control(Tick::ZERO, 0xC0, program, 0));
        }
        let mut down: Option<Tick> = None;
        let mut marks = self.marks(part, |k| match k {
            MarkKind::Pedal(down) => Some(*down),
            _ => None,
        });
        marks.push((self.grid.end, false));
        for (at, goes_down) in marks {
            let at = Tick(at);
            match (down, goes_down) {
                (None, true) => down = Some(at),
                (Some(since), false) => {
                    if since < at {
                        track.pedal.push(PedalSpan {
                            channel,
                            down: since,
                            up: at,
                        });
                        track.controls.push(control(since, 0xB0, SUSTAIN, 127));
                        track.controls.push(control(at, 0xB0, SUSTAIN, 0));
                    }
                    down = None;
                }
                _ => {}
            }
        }
    }

    /// Some marks of a part as played.
    fn marks<T>(&self, part: &ReadPart, wanted: impl Fn(&MarkKind) -> Option<T>) -> Vec<(u64, T)> {
        let mut marks = Vec::new();
        for (turn, start) in self.turns() {
            let measure = part.measures.get(turn.measure).and_then(Option::as_ref);
            let own = measure.iter().flat_map(|m| &m.marks);
            let mut own: Vec<(u64, T)> = own
                .filter_map(|m| Some((start + m.at, wanted(&m.kind)?)))
                .collect();
            own.sort_by_key(|m| m.0);
            marks.extend(own);
        }
        marks
    }

    /// What holds from mark to mark, as played: where the music jumps, what holds there is said again.
    fn states<T: Copy + PartialEq>(
        &self,
        parts: &[&ReadPart],
        wanted: impl Fn(&MarkKind) -> Option<T>,
    ) -> Vec<(u64, T)> {
        let mut at_measure: Vec<Vec<(u64, T)>> = Vec::with_capacity(self.frames.len());
        let mut before: Vec<Option<T>> = Vec::with_capacity(self.frames.len());
        let mut holds = None;
        for index in 0..self.frames.len() {
            let measures = parts.iter().filter_map(|p| p.measures.get(index)?.as_ref());
            let marks = measures.flat_map(|m| &m.marks);
            let own = marks.filter_map(|m: &Mark| Some((m.at, wanted(&m.kind)?)));
            let mut own: Vec<(u64, T)> = own.collect();
            own.sort_by_key(|m| m.0);
            before.push(holds);
            holds = own.last().map(|m| m.1).or(holds);
            at_measure.push(own);
        }
        let mut said: Vec<(u64, T)> = Vec::new();
        let mut say = |at: u64, what: T| {
            if said.last().is_none_or(|l| l.1 != what) {
                said.push((at, what));
            }
        };
        for (turn, start) in self.turns() {
            if let Some(Some(what)) = before.get(turn.measure) {
                say(start, *what);
            }
            for (at, what) in at_measure.get(turn.measure).into_iter().flatten() {
                say(start + at, *what);
            }
        }
        // What holds from the first measure on also holds for the rest before a pickup.
        if let (Some(first), true) = (said.first_mut(), self.grid.pickup)
            && Some(&first.0) == self.grid.starts.first()
        {
            first.0 = 0;
        }
        said
    }

    fn tempos(&self, parts: &[ReadPart]) -> Vec<TempoChange> {
        let all: Vec<&ReadPart> = parts.iter().collect();
        let said = self.states(&all, |k| match k {
            MarkKind::Tempo(micros) => Some(*micros),
            _ => None,
        });
        let change = |(at, micros_per_quarter)| TempoChange {
            at: Tick(at),
            micros_per_quarter,
        };
        said.into_iter().map(change).collect()
    }

    /// The keys of the first part that has such, one that is written as it sounds before others.
    fn keys(&self, parts: &[ReadPart]) -> Vec<KeyChange> {
        let pitched = |part: &&ReadPart| {
            let mut measures = part.measures.iter().flatten();
            measures.any(|m| {
                let key = m.marks.iter().any(|k| matches!(k.kind, MarkKind::Key(_)));
                key && part
                    .measures
                    .iter()
                    .flatten()
                    .any(|m| m.notes.iter().any(|n| !n.drum))
            })
        };
        let first = (parts.iter().filter(pitched)).min_by_key(|p| p.transposes);
        let said: Vec<(u64, KeySignature)> = self.states(first.as_slice(), |k| match k {
            MarkKind::Key(key) => Some(*key),
            _ => None,
        });
        let change = |(at, signature)| KeyChange {
            at: Tick(at),
            signature,
        };
        said.into_iter().map(change).collect()
    }

    fn markers(&self, parts: &[ReadPart]) -> Vec<Marker> {
        let mut all: BTreeSet<(u64, String)> = BTreeSet::new();
        for part in parts {
            all.extend(self.marks(part, |k| match k {
                MarkKind::Marker(text) => Some(text.clone()),
                _ => None,
            }));
        }
        let marker = |(at, text)| Marker { at: Tick(at), text };
        all.into_iter().map(marker).collect()
    }
}

fn track(name: &str, notes: Vec<&Sounded>) -> Track {
    let mut notes = notes;
    notes.sort_by_key(|n| (n.note.onset, n.note.pitch, n.note.duration));
    Track {
        name: name.to_owned(),
        notes: notes.iter().map(|n| n.note).collect(),
        played: notes.iter().map(|n| n.played).collect(),
        names: notes.iter().map(|n| n.name).collect(),
        ..Track::default()
    }
}
