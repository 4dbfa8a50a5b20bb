//! The notation of all staves, written and spaced bar by bar. What did not change is kept.

use super::lanes::{Lane, Whose, lanes};
use crate::band::{Instrument, PartId};
use crate::music::{BarNumber, KeySignature, MeterMap, Sounding, Tick, Ticks, Transposition};
use crate::notation::{
    Clef, Columns, Opening, PartStave, StaveFrame, StaveInput, Symbol, WrittenBar, concert_name,
    openings, place_bar, sketch_inputs, write_stave,
};
use crate::project::standing::Look;
use crate::score::Draft;
use std::cell::OnceCell;

/// A note of a stave, as the sheet knows it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Source {
    /// What it is called where it comes from: for the sketch, its index in the reading; else unused.
    pub index: usize,
    /// Where it begins.
    pub onset: Tick,
    /// How long it is.
    pub duration: Ticks,
    /// Concert pitch.
    pub pitch: Sounding,
}

/// One stave: whose, and what its notes stand in.
#[derive(Clone, PartialEq, Debug)]
struct Stave {
    lane: usize,
    /// Upper 0, lower 1.
    within: usize,
    clef: Clef,
    transposition: Option<Transposition>,
    signatures: bool,
    notes: Vec<StaveInput>,
}

/// One bar of all staves.
#[derive(Clone, Debug)]
struct Bar {
    /// What was written, by stave; with its own notes, of which heads tell the index.
    inputs: Vec<Vec<StaveInput>>,
    written: Vec<WrittenBar>,
    columns: Columns,
    placed: OnceCell<Vec<Vec<Symbol>>>,
}

/// The notation of the whole sheet.
#[derive(Clone, Debug, Default)]
pub struct Engraved {
    lanes: Vec<Lane>,
    staves: Vec<Stave>,
    bars: Vec<Bar>,
    /// Where each bar begins, in staff spaces; one more at the end.
    lefts: Vec<f32>,
    keys: Vec<(Tick, KeySignature)>,
    meters: Option<MeterMap>,
}

/// So many bars a note is looked for before the one that it sounds in.
const LONGEST: u32 = 64;

impl Engraved {
    /// Writes anew what changed: `draft` may be another than the look's, for the same band and sketch.
    pub fn renew(&mut self, look: &Look, draft: &Draft, written: bool) {
        let lanes = lanes(&look.document.band);
        let staves = staves(look, draft, &lanes, written);
        let keys: Vec<(Tick, KeySignature)> = look
            .ready
            .reading
            .keys
            .iter()
            .map(|k| (k.start, k.signature))
            .collect();
        let meters = look.song.meters.clone();
        let same_frame = self.keys == keys
            && self.meters.as_ref() == Some(&meters)
            && self.staves.len() == staves.len()
            && self.staves.iter().zip(&staves).all(|(a, b)| {
                (a.clef, a.transposition, a.signatures) == (b.clef, b.transposition, b.signatures)
            });
        let end = look.song.end();
        let count = if end == Tick::ZERO {
            0
        } else {
            meters.bar(Tick(end.0 - 1)).0
        };
        let mut old = if same_frame {
            std::mem::take(&mut self.bars)
        } else {
            Vec::new()
        };
        old.truncate(count as usize);
        let mut bars = Vec::with_capacity(count as usize);
        let mut old = old.into_iter();
        for number in 1..=count {
            bars.push(bar_of(
                &staves,
                (&meters, &keys),
                BarNumber(number),
                old.next(),
            ));
        }
        let mut left = 0.0;
        let mut lefts = vec![0.0];
        for bar in &bars {
            left += bar.columns.width;
            lefts.push(left);
        }
        *self = Self {
            lanes,
            staves,
            bars,
            lefts,
            keys,
            meters: Some(meters),
        };
    }

    /// The lanes from top to bottom.
    #[must_use]
    pub fn lanes(&self) -> &[Lane] {
        &self.lanes
    }

    /// How many bars there are.
    #[must_use]
    pub fn bars(&self) -> usize {
        self.bars.len()
    }

    /// How wide all bars are together, in staff spaces.
    #[must_use]
    pub fn width(&self) -> f32 {
        self.lefts.last().copied().unwrap_or_default()
    }

    /// Where a bar begins and ends, in staff spaces from the first.
    #[must_use]
    pub fn bar_span(&self, bar: BarNumber) -> Option<(f32, f32)> {
        let at = bar.0.checked_sub(1)? as usize;
        Some((*self.lefts.get(at)?, *self.lefts.get(at + 1)?))
    }

    /// The bar at a distance from the first one's left end; the nearest, beyond the ends.
    #[must_use]
    pub fn bar_at(&self, x: f32) -> Option<BarNumber> {
        if self.bars.is_empty() {
            return None;
        }
        let next = self.lefts.partition_point(|l| *l <= x.max(0.0));
        let bar = next.clamp(1, self.bars.len());
        u32::try_from(bar).ok().map(BarNumber)
    }

    /// The bars that are seen between two distances, from 0.
    #[must_use]
    pub fn seen(&self, from: f32, to: f32) -> std::ops::Range<usize> {
        let first = self.lefts.partition_point(|l| *l <= from).saturating_sub(1);
        let last = self.lefts.partition_point(|l| *l < to);
        first.min(self.bars.len())..last.min(self.bars.len())
    }

    /// Where a tick stands, in staff spaces from the first bar's left end.
    #[must_use]
    pub fn x_at(&self, at: Tick) -> f32 {
        let Some(meters) = &self.meters else {
            return 0.0;
        };
        let bar = meters.bar(at).0.saturating_sub(1) as usize;
        match (self.bars.get(bar), self.lefts.get(bar)) {
            (Some(bar), Some(left)) => left + bar.columns.x_at(at),
            _ => self.width(),
        }
    }

    /// The tick at a distance from the first bar's left end: that of the nearest moment at which
    /// something stands.
    #[must_use]
    pub fn tick_at(&self, x: f32) -> Option<Tick> {
        let bar = self.bar_at(x)?;
        let at = bar.0.checked_sub(1)? as usize;
        let (cell, left) = (self.bars.get(at)?, self.lefts.get(at)?);
        let written = cell.written.first()?;
        let moments = cell.columns.places.iter();
        let nearest = moments.min_by(|a, b| {
            let far = |m: &(_, f32)| (left + m.1 - x).abs();
            far(a).total_cmp(&far(b))
        });
        let whole = written.end.since(written.start).0 as f64;
        let share = nearest.map_or(0.0, |(g, _)| {
            f64::from(g.0) / f64::from(written.length.0.max(1))
        });
        Some(written.start + Ticks((share * whole).round() as u64))
    }

    /// The staves, each with its lane and its place in it.
    pub fn staves(&self) -> impl Iterator<Item = (usize, &Lane, usize)> {
        let staves = self.staves.iter().enumerate();
        staves.filter_map(|(i, s)| Some((i, self.lanes.get(s.lane)?, s.within)))
    }

    /// What stands on a stave in a bar, both from 0.
    #[must_use]
    pub fn symbols(&self, stave: usize, bar: usize) -> &[Symbol] {
        let Some(cell) = self.bars.get(bar) else {
            return &[];
        };
        let all = cell.placed.get_or_init(|| {
            let staves = cell.written.iter().zip(&self.staves);
            staves
                .map(|(w, s)| place_bar(w, &cell.columns, s.clef))
                .collect()
        });
        all.get(stave).map_or(&[], Vec::as_slice)
    }

    /// The note of a stave in a bar that a symbol tells the index of.
    #[must_use]
    pub fn source(&self, stave: usize, bar: usize, index: usize) -> Option<Source> {
        let input = self.bars.get(bar)?.inputs.get(stave)?.get(index)?;
        let index = self.sketch_index(stave, input).unwrap_or_default();
        Some(Source {
            index,
            onset: input.onset,
            duration: input.duration,
            pitch: input.pitch,
        })
    }

    /// The index in the reading of a note of the sketch.
    fn sketch_index(&self, stave: usize, input: &StaveInput) -> Option<usize> {
        let notes = &self.staves.get(stave)?.notes;
        let from = notes.partition_point(|n| n.onset < input.onset);
        let same = notes[from..].iter().take_while(|n| n.onset == input.onset);
        let mut found = same.filter(|n| (n.pitch, n.duration) == (input.pitch, input.duration));
        found.next().map(|n| n.index)
    }

    /// What stands at the left of every stave when a bar is the first that is seen.
    #[must_use]
    pub fn openings(&self, bar: usize) -> Vec<Opening> {
        let Some(cell) = self.bars.get(bar) else {
            return Vec::new();
        };
        let staves = self.staves.iter().zip(&cell.written);
        let all: Vec<_> = staves.map(|(s, w)| (s.clef, w.key)).collect();
        let meter = cell.written.first().map(|w| w.meter);
        openings(&all, meter)
    }
}

/// The bar anew where something of it changed.
fn bar_of(
    staves: &[Stave],
    (meters, keys): (&MeterMap, &[(Tick, KeySignature)]),
    number: BarNumber,
    old: Option<Bar>,
) -> Bar {
    let (start, end) = (meters.bar_start(number), meters.bar_end(number));
    let inputs: Vec<Vec<StaveInput>> = staves
        .iter()
        .map(|s| notes_in(&s.notes, start, end, meters, number))
        .collect();
    if let Some(old) = old {
        if old.inputs == inputs {
            return old;
        }
        let kept = old.inputs.into_iter().zip(old.written);
        let written: Vec<WrittenBar> = kept
            .zip(staves.iter().zip(&inputs))
            .filter_map(|((was, bar), (stave, now))| {
                if was == *now {
                    Some(bar)
                } else {
                    written(stave, now, (meters, keys), number)
                }
            })
            .collect();
        if written.len() == staves.len() {
            return spaced(staves, inputs, written);
        }
        return fresh(staves, inputs, (meters, keys), number);
    }
    fresh(staves, inputs, (meters, keys), number)
}

fn fresh(
    staves: &[Stave],
    inputs: Vec<Vec<StaveInput>>,
    frame: (&MeterMap, &[(Tick, KeySignature)]),
    number: BarNumber,
) -> Bar {
    let all = staves.iter().zip(&inputs);
    let written = all.filter_map(|(s, i)| written(s, i, frame, number));
    let written = written.collect();
    spaced(staves, inputs, written)
}

fn spaced(staves: &[Stave], inputs: Vec<Vec<StaveInput>>, written: Vec<WrittenBar>) -> Bar {
    let all: Vec<(&WrittenBar, Clef)> = written
        .iter()
        .zip(staves)
        .map(|(w, s)| (w, s.clef))
        .collect();
    let columns = Columns::of(&all);
    Bar {
        inputs,
        written,
        columns,
        placed: OnceCell::new(),
    }
}

fn written(
    stave: &Stave,
    notes: &[StaveInput],
    (meters, keys): (&MeterMap, &[(Tick, KeySignature)]),
    number: BarNumber,
) -> Option<WrittenBar> {
    let frame = StaveFrame {
        meters,
        keys,
        transposition: stave.transposition,
        signatures: stave.signatures,
        first: number,
        last: number,
    };
    // Heads tell the place of their note among those of the bar.
    let numbered = notes.iter().enumerate();
    let numbered: Vec<StaveInput> = numbered
        .map(|(index, n)| StaveInput { index, ..*n })
        .collect();
    write_stave(&numbered, &frame).pop()
}

/// The notes that may sound in a bar, numbers left out.
fn notes_in(
    notes: &[StaveInput],
    start: Tick,
    end: Tick,
    meters: &MeterMap,
    number: BarNumber,
) -> Vec<StaveInput> {
    // A note that ends or begins within a hair of the bar line belongs to the bar beside it, so both are
    // looked at.
    let far = meters.bar_start(BarNumber(number.0.saturating_sub(LONGEST).max(1)));
    let from = notes.partition_point(|n| n.onset < far);
    let to = notes.partition_point(|n| n.onset < end);
    let here = notes[from..to.max(from)].iter();
    here.filter(|n| n.onset + n.duration >= start)
        .map(|n| StaveInput { index: 0, ..*n })
        .collect()
}

fn staves(look: &Look, draft: &Draft, lanes: &[Lane], written: bool) -> Vec<Stave> {
    let mut all = Vec::new();
    for (at, lane) in lanes.iter().enumerate() {
        match lane.whose {
            Whose::Part(id) => {
                if let Some(part) = look.document.band.parts.get(id.0) {
                    all.push(part_stave(look, draft, (id, &part.instrument), at, written));
                }
            }
            Whose::Sketch => all.extend(sketch_staves(look, at)),
        }
    }
    all
}

fn part_stave(
    look: &Look,
    draft: &Draft,
    (id, instrument): (PartId, &Instrument),
    lane: usize,
    written: bool,
) -> Stave {
    let notes = draft.lines.get(id.0).map_or(&[][..], |l| &l.notes);
    let name = |at: Tick, pitch: Sounding| concert_name(&look.ready.reading, at, pitch);
    let stave = PartStave::of(instrument, notes, !written, name);
    Stave {
        lane,
        within: 0,
        clef: stave.clef,
        transposition: stave.transposition,
        signatures: true,
        notes: stave.notes,
    }
}

fn sketch_staves(look: &Look, lane: usize) -> [Stave; 2] {
    let [upper, lower] = sketch_inputs(&look.ready.reading);
    let of = |within, clef, notes| Stave {
        lane,
        within,
        clef,
        transposition: None,
        signatures: true,
        notes,
    };
    [of(0, Clef::Treble, upper), of(1, Clef::Bass, lower)]
}
