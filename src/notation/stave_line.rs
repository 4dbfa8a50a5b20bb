//! The notes of a stave as written bars.

use super::accidentals::{Comes, Signs};
use super::bar_time::BarTime;
use super::beams::beams;
use super::names::Writing;
use super::pulse::{Kind, Span, groups};
use super::snap::{Grid, Leaf, NEAR};
use super::spell_time::{Piece, Written, in_span, spell};
use super::value::{Base, Grains, Value};
use super::voices::{Chord, Placed, voices};
use super::written::{Event, WrittenBar, WrittenNote, WrittenTuplet, WrittenVoice};
use crate::music::Transposition;
use crate::music::{BarNumber, KeySignature, MeterMap, Sounding, SpelledName, Tick, Ticks};

/// A note that is to be written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct StaveInput {
    /// Where it begins.
    pub onset: Tick,
    /// How long it is.
    pub duration: Ticks,
    /// Concert pitch.
    pub pitch: Sounding,
    /// Its name at concert pitch.
    pub name: SpelledName,
    /// What the writer calls it; comes back with its noteheads.
    pub index: usize,
}

/// What a stave's notes stand in.
#[derive(Clone, Copy, Debug)]
pub struct StaveFrame<'a> {
    /// The bars.
    pub meters: &'a MeterMap,
    /// Signatures at concert pitch from a tick on, in order. One inside a bar holds from the next
    /// bar on. No sharps or flats before the first.
    pub keys: &'a [(Tick, KeySignature)],
    /// How the player's part is transposed; `None`: at concert pitch.
    pub transposition: Option<Transposition>,
    /// Whether signatures are written; without one every altered note has its sign.
    pub signatures: bool,
    /// The first bar wanted.
    pub first: BarNumber,
    /// The last bar wanted.
    pub last: BarNumber,
}

impl StaveFrame<'_> {
    /// The signature at concert pitch that holds in a bar which begins at a tick.
    fn concert_key(&self, start: Tick) -> KeySignature {
        let next = self.keys.partition_point(|(at, _)| *at <= start);
        let before = next.checked_sub(1).and_then(|i| self.keys.get(i));
        before.map_or(KeySignature::C_MAJOR, |(_, key)| *key)
    }
}

/// The bars of a stave. Each bar follows from its own notes alone, so one bar may be written again
/// without the others.
///
/// Notes are put on a grid of 64ths (128ths where the meter counts them) or tuplets, bar by bar. What
/// begins within half a 64th before a barline and lasts beyond it is written after it; what ends so
/// soon after one is written up to it. No note is lost: each keeps at least one place of the grid.
///
/// ```
/// use bandwright::music::{BarNumber, MeterMap, Sounding, SpelledName, Tick, Ticks, TicksPerQuarter};
/// use bandwright::notation::{StaveFrame, StaveInput, write_stave};
/// let meters = MeterMap::new(TicksPerQuarter::new(480).unwrap(), []);
/// let frame = StaveFrame {
///     meters: &meters,
///     keys: &[],
///     transposition: None,
///     signatures: true,
///     first: BarNumber(1),
///     last: BarNumber(1),
/// };
/// let note = StaveInput {
///     onset: Tick(480),
///     duration: Ticks(720),
///     pitch: Sounding::new(60).unwrap(),
///     name: SpelledName::from_fifths(0),
///     index: 0,
/// };
/// let bars = write_stave(&[note], &frame);
/// let words: Vec<String> = bars[0].voices[0].events.iter().map(|e| e.value.words()).collect();
/// assert_eq!(words, ["quarter", "quarter", "eighth", "eighth", "quarter"]);
/// ```
#[must_use]
pub fn write_stave(notes: &[StaveInput], frame: &StaveFrame<'_>) -> Vec<WrittenBar> {
    let mut coming: Vec<Trimmed> = notes.iter().map(|n| Trimmed::of(n, frame.meters)).collect();
    // Each bar looks at what sounds in it alone; from its onset on a note is looked at until it ends.
    coming.sort_by_key(|n| n.onset);
    let mut coming = coming.into_iter().peekable();
    let mut sounding: Vec<Trimmed> = Vec::new();
    let bars = (frame.first.0..=frame.last.0).map(BarNumber);
    bars.map(|number| {
        let bar = BarTime::of(frame.meters, number);
        sounding.retain(|n| n.end > bar.start);
        while let Some(note) = coming.next_if(|n| n.onset < bar.end) {
            sounding.extend(Some(note).filter(|n| n.end > bar.start));
        }
        write_bar(&sounding, frame, number)
    })
    .collect()
}

/// A note without what hangs over a barline by less than half a 64th.
#[derive(Clone, Copy, Debug)]
struct Trimmed<'a> {
    note: &'a StaveInput,
    onset: Tick,
    end: Tick,
}

impl<'a> Trimmed<'a> {
    fn of(note: &'a StaveInput, meters: &MeterMap) -> Self {
        let end = note.onset + note.duration.max(Ticks(1));
        let first = BarTime::of(meters, meters.bar(note.onset));
        let late = f64::from(first.length.0) - first.exact(note.onset) < NEAR;
        let onset = if late && end > first.end {
            let next = BarTime::of(meters, meters.bar(first.end));
            let reaches = next.exact(end) >= NEAR;
            if reaches { first.end } else { note.onset }
        } else {
            note.onset
        };
        let last = BarTime::of(meters, meters.bar(end));
        let hangs = last.start > onset && last.exact(end) < NEAR;
        Self {
            note,
            onset,
            end: if hangs { last.start } else { end },
        }
    }
}

fn write_bar(notes: &[Trimmed<'_>], frame: &StaveFrame<'_>, number: BarNumber) -> WrittenBar {
    let bar = BarTime::of(frame.meters, number);
    let concert = frame.concert_key(bar.start);
    let writing = Writing::of(frame.transposition, concert);
    let key = frame.signatures.then(|| writing.signature(concert));
    let before = number.0.checked_sub(1).filter(|n| *n >= 1);
    let before = before.map(|n| BarTime::of(frame.meters, BarNumber(n)));
    let old_key = before.and_then(|b| {
        let concert = frame.concert_key(b.start);
        let old = Writing::of(frame.transposition, concert).signature(concert);
        key.filter(|k| k.fifths() != old.fifths()).map(|_| old)
    });
    let writer = BarWriter {
        bar: &bar,
        groups: groups(&bar),
        notes,
        writing,
    };
    let mut voices = writer.voices();
    put_signs(&mut voices, key, &bar, notes);
    WrittenBar {
        number,
        start: bar.start,
        end: bar.end,
        length: bar.length,
        meter: bar.meter,
        new_meter: before.is_some_and(|b| b.meter != bar.meter),
        key,
        old_key,
        voices,
    }
}

struct BarWriter<'a> {
    bar: &'a BarTime,
    groups: Vec<Span>,
    notes: &'a [Trimmed<'a>],
    writing: Writing,
}

impl BarWriter<'_> {
    fn voices(&self) -> Vec<WrittenVoice> {
        let sounding = |n: &Trimmed<'_>| n.onset < self.bar.end && n.end > self.bar.start;
        let here: Vec<(usize, f64, f64)> = (self.notes.iter().enumerate())
            .filter(|(_, n)| sounding(n))
            .map(|(i, n)| (i, self.bar.exact(n.onset), self.bar.exact(n.end)))
            .collect();
        let mut places: Vec<f64> = here.iter().flat_map(|(_, from, to)| [*from, *to]).collect();
        places.sort_by(f64::total_cmp);
        places.dedup();
        let grid = Grid::of(self.bar, &places);
        let placed = here.iter().map(|(index, from, to)| {
            let (from, to) = grid.stretch(*from, *to);
            Placed {
                from,
                to,
                pitch: self.notes[*index].note.pitch.midi(),
                index: *index,
            }
        });
        let placed: Vec<Placed> = placed.collect();
        if placed.is_empty() {
            return vec![self.silent()];
        }
        let divided = voices(&placed);
        divided
            .iter()
            .map(|v| self.voice(v, &grid.leaves))
            .collect()
    }

    /// A voice with the rest of a whole bar.
    fn silent(&self) -> WrittenVoice {
        let mut rest = self.event((0, Value::plain(Base::Whole)));
        rest.grains = self.bar.length;
        rest.length = self.bar.end.since(self.bar.start);
        rest.whole_bar = true;
        WrittenVoice {
            events: vec![rest],
            ..WrittenVoice::default()
        }
    }

    fn voice(&self, chords: &[Chord], leaves: &[Leaf]) -> WrittenVoice {
        let edge = |at: u32| chords.iter().any(|c| c.from == at || c.to == at);
        let used = |l: &&Leaf| l.tuplet.is_some() && (l.start + 1..l.end()).any(edge);
        let tuplets: Vec<Leaf> = leaves.iter().filter(used).copied().collect();
        let mut events = Vec::new();
        let mut at = 0;
        for chord in chords {
            self.rest(at, chord.from, &tuplets, &mut events);
            self.chord(chord, &tuplets, &mut events);
            at = chord.to;
        }
        self.rest(at, self.bar.length.0, &tuplets, &mut events);
        let written: Vec<WrittenTuplet> = (tuplets.iter())
            .filter_map(|l| written_tuplet(l, &events))
            .collect();
        WrittenVoice {
            beams: beams(self.bar, &events, &written),
            events,
            tuplets: written,
        }
    }

    fn rest(&self, from: u32, to: u32, tuplets: &[Leaf], events: &mut Vec<Event>) {
        let pieces = self.pieces(from, to, tuplets, Written::Rest);
        events.extend(pieces.into_iter().map(|p| self.event(p)));
    }

    fn chord(&self, chord: &Chord, tuplets: &[Leaf], events: &mut Vec<Event>) {
        let pieces = self.pieces(chord.from, chord.to, tuplets, Written::Note);
        let last = pieces.len().saturating_sub(1);
        for (i, piece) in pieces.into_iter().enumerate() {
            let mut event = self.event(piece);
            let heads = chord.notes.iter().map(|placed| {
                let trimmed = &self.notes[placed.index];
                let (name, place) = self.writing.note(trimmed.note.name, trimmed.note.pitch);
                WrittenNote {
                    index: trimmed.note.index,
                    name,
                    place,
                    accidental: None,
                    tied_from: i > 0 || trimmed.onset < self.bar.start,
                    tied_to: i < last || trimmed.end > self.bar.end,
                }
            });
            event.notes = heads.collect();
            event.notes.sort_by_key(|n| (n.place, n.index));
            events.push(event);
        }
    }

    /// The values of a stretch: tuplets by their own thirds or halves, all else by the meter.
    fn pieces(&self, from: u32, to: u32, tuplets: &[Leaf], what: Written) -> Vec<Piece> {
        let mut pieces = Vec::new();
        let mut at = from;
        for leaf in tuplets.iter().filter(|l| l.start < to && from < l.end()) {
            if at < leaf.start {
                pieces.extend(spell(&self.groups, at, leaf.start, what));
            }
            let (start, end) = (from.max(leaf.start), to.min(leaf.end()));
            pieces.extend(in_tuplet(leaf, start, end, what));
            at = end;
        }
        if at < to {
            pieces.extend(spell(&self.groups, at, to, what));
        }
        pieces
    }

    fn event(&self, piece: Piece) -> Event {
        let (place, value) = (Grains(piece.0), piece.1);
        let grains = value.grains();
        let at = self.bar.tick(place);
        Event {
            place,
            grains,
            at,
            length: self.bar.tick(place + grains).since(at),
            value,
            whole_bar: false,
            notes: Vec::new(),
        }
    }
}

/// The values of a stretch inside a tuplet: as if it were as long as it is written.
fn in_tuplet(leaf: &Leaf, from: u32, to: u32, what: Written) -> Vec<Piece> {
    let Some(tuplet) = leaf.tuplet else {
        return Vec::new();
    };
    let (actual, normal) = (u32::from(tuplet.actual), u32::from(tuplet.normal));
    let written = |place: u32| (place - leaf.start) * actual / normal;
    let kind = if actual == 3 {
        Kind::BeatOfThree
    } else {
        Kind::Two
    };
    let span = Span::new(0, written(leaf.end()), kind);
    let mut pieces = Vec::new();
    in_span(span, written(from), written(to), what, &mut pieces);
    let sounding = |(place, value): Piece| {
        let tuplet = Some(tuplet);
        (
            leaf.start + place * normal / actual,
            Value { tuplet, ..value },
        )
    };
    pieces.into_iter().map(sounding).collect()
}

fn written_tuplet(leaf: &Leaf, events: &[Event]) -> Option<WrittenTuplet> {
    let inside = |e: &Event| leaf.start <= e.place.0 && e.place.0 < leaf.end();
    Some(WrittenTuplet {
        from: events.iter().position(inside)?,
        to: events.iter().rposition(inside)?,
        number: leaf.tuplet?.actual,
    })
}

/// Gives the heads of a bar their signs, from left to right over all voices.
fn put_signs(
    voices: &mut [WrittenVoice],
    key: Option<KeySignature>,
    bar: &BarTime,
    notes: &[Trimmed<'_>],
) {
    let mut order: Vec<(Grains, usize, usize)> = Vec::new();
    for (v, voice) in voices.iter().enumerate() {
        order.extend((voice.events.iter().enumerate()).map(|(e, event)| (event.place, v, e)));
    }
    order.sort_unstable();
    let over: Vec<usize> = (notes.iter())
        .filter(|n| n.onset < bar.start && n.end > bar.start)
        .map(|n| n.note.index)
        .collect();
    let mut signs = Signs::new(key);
    for (place, v, e) in order {
        let Some(event) = voices.get_mut(v).and_then(|v| v.events.get_mut(e)) else {
            continue;
        };
        for note in &mut event.notes {
            let comes = if !note.tied_from {
                Comes::Struck
            } else if place == Grains::ZERO && over.contains(&note.index) {
                Comes::TiedOver
            } else {
                Comes::TiedInside
            };
            note.accidental = signs.next(note.place, comes);
        }
    }
}
