//! How likely each note of a draft comes out clean, in all that surrounds it.

use super::by_line::ByLine;
use super::load::tired;
use crate::band::chance::{
    Chance, ChanceTable, Flow, NoteContext, NoteTime, chance, crosses_the_break, flows,
};
use crate::band::load::Conditions;
use crate::band::playing::Posture;
use crate::band::{Band, Part, PartId};
use crate::music::{BarBeat, Dynamic, KeySignature, MeterMap, PartNames, Sounding, TempoMap, Tick};
use crate::score::{DraftNote, PartLine};

/// At most so many of the hardest spots are told of a part, each in another bar.
pub const MOST_SPOTS: usize = 3;

/// Spots at this chance and above are not hard (ours: a note missed once in ten times).
pub const HARD_BELOW: f64 = 0.9;

/// The time, the bars and the keys that a draft stands in.
#[derive(Clone, Copy, Debug)]
pub struct Frame<'a> {
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Concert keys, each from a tick on, in order; empty where none is known.
    pub keys: &'a [(Tick, KeySignature)],
}

impl Frame<'_> {
    fn key(&self, at: Tick) -> Option<KeySignature> {
        let next = self.keys.partition_point(|(start, _)| *start <= at);
        Some(self.keys.get(next.checked_sub(1)?)?.1)
    }
}

/// One of the hardest spots of a part.
#[derive(Clone, PartialEq, Debug)]
pub struct HardSpot {
    /// Where.
    pub at: Tick,
    /// Where, as musicians say it.
    pub place: BarBeat,
    /// The note.
    pub pitch: Sounding,
    /// Its chance with all causes.
    pub chance: Chance,
}

/// How clean a part's line is.
#[derive(Clone, PartialEq, Debug)]
pub struct CleanLine {
    /// The part.
    pub part: PartId,
    /// The chance of each note, in the order of the line.
    pub notes: Vec<f64>,
    /// Their mean; 1 for a part that rests.
    pub mean: f64,
    /// How many notes each player misses, as is to be expected.
    pub missed: f64,
    /// The hardest spots below [`HARD_BELOW`], hardest first, each in another bar.
    pub hardest: Vec<HardSpot>,
}

/// How clean every line of a draft is, in the order of the lines, its players as tired as the load
/// model says.
#[must_use]
pub fn clean_lines(
    band: &Band,
    lines: &[PartLine],
    frame: &Frame<'_>,
    how: Conditions,
) -> Vec<CleanLine> {
    let of = |line: &PartLine| clean_of(band, line, frame, how);
    lines.iter().map(of).collect()
}

fn clean_of(band: &Band, line: &PartLine, frame: &Frame<'_>, how: Conditions) -> CleanLine {
    let part = band.part(line.part);
    let tired = tired(part, &line.notes, frame.tempo, how);
    let tired = |i: usize| tired.get(i).copied().unwrap_or(0.0);
    let contexts = contexts(part, &line.notes, frame, how.posture, &tired);
    clean_line(part, line, frame, &contexts)
}

/// What clean lines follow from besides the notes of a part: who plays, tempos, meters, keys, conditions.
type From = (
    Vec<Part>,
    TempoMap,
    MeterMap,
    Vec<(Tick, KeySignature)>,
    Conditions,
);

/// Clean lines of one band's drafts, with all that was worked out kept: after an edit only the parts whose notes
/// changed are looked into again. What it says is always what [`clean_lines`] says.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct CleanBook(ByLine<From, CleanLine>);

impl CleanBook {
    /// How clean every line of a draft is, in the order of the lines.
    #[must_use]
    pub fn lines(
        &mut self,
        band: &Band,
        lines: &[PartLine],
        frame: &Frame<'_>,
        how: Conditions,
    ) -> Vec<CleanLine> {
        let from = (
            band.parts.clone(),
            frame.tempo.clone(),
            frame.meters.clone(),
            frame.keys.to_vec(),
            how,
        );
        let find = |line: &PartLine| clean_of(band, line, frame, how);
        let all = self.0.of_all(from, band, lines, find);
        all.map(|(_, line)| line.clone()).collect()
    }
}

/// How clean one note of a line is likely to come out, with all that makes it hard; `None` for a note that the
/// line does not have.
#[must_use]
pub fn chance_of_note(
    part: &Part,
    notes: &[DraftNote],
    index: usize,
    frame: &Frame<'_>,
    how: Conditions,
) -> Option<Chance> {
    let tired = tired(part, notes, frame.tempo, how);
    let tired = |i: usize| tired.get(i).copied().unwrap_or(0.0);
    let contexts = contexts(part, notes, frame, how.posture, &tired);
    let note = notes.get(index)?;
    Some(chance(part, note.pitch, contexts.get(index)?))
}

fn clean_line(
    part: &Part,
    line: &PartLine,
    frame: &Frame<'_>,
    contexts: &[NoteContext],
) -> CleanLine {
    let table = ChanceTable::of(part);
    let each = line.notes.iter().zip(contexts);
    let notes: Vec<f64> = each.map(|(n, c)| table.value(n.pitch, c)).collect();
    let missed: f64 = notes.iter().map(|p| 1.0 - p).sum();
    CleanLine {
        part: line.part,
        mean: 1.0 - missed / notes.len().max(1) as f64,
        missed,
        hardest: hardest(part, line, frame, contexts, &notes),
        notes,
    }
}

fn hardest(
    part: &Part,
    line: &PartLine,
    frame: &Frame<'_>,
    contexts: &[NoteContext],
    values: &[f64],
) -> Vec<HardSpot> {
    let mut order: Vec<usize> = (0..values.len())
        .filter(|i| values[*i] < HARD_BELOW)
        .collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]).then(a.cmp(b)));
    let mut spots: Vec<HardSpot> = Vec::new();
    for i in order {
        if spots.len() == MOST_SPOTS {
            break;
        }
        let note = line.notes[i];
        let place = frame.meters.place(note.onset);
        if spots.iter().all(|s| s.place.bar != place.bar) {
            spots.push(HardSpot {
                at: note.onset,
                place,
                pitch: note.pitch,
                chance: chance(part, note.pitch, &contexts[i]),
            });
        }
    }
    spots
}

/// What surrounds every note of a part.
#[must_use]
pub fn contexts(
    part: &Part,
    notes: &[DraftNote],
    frame: &Frame<'_>,
    posture: Posture,
    tired: &dyn Fn(usize) -> f64,
) -> Vec<NoteContext> {
    let times: Vec<NoteTime> = notes.iter().map(|n| time(n, frame.tempo)).collect();
    let flows = flows(&times);
    let crossings = crossings(part, notes, &times, &flows);
    let mut key = KeyOfPart::default();
    let context = |i: usize| {
        let (note, flow): (&DraftNote, &Flow) = (&notes[i], &flows[i]);
        let near = notes[..i].iter().rev().find(|b| b.onset < note.onset);
        let (accidentals, in_key) = key.of(part, frame.key(note.onset), note.pitch);
        NoteContext {
            from: near.filter(|_| flow.near).map(|b| b.pitch),
            speed: flow.speed,
            run_beats: flow.run_beats,
            slurred: false,
            crossings: crossings[i],
            dynamic: Dynamic::of_velocity(note.velocity),
            accidentals,
            in_key,
            breath: flow.breath,
            posture,
            tired: tired(i),
        }
    };
    (0..notes.len()).map(context).collect()
}

/// How the notes of a line follow one another.
pub(super) fn flows_of(notes: &[DraftNote], tempo: &TempoMap) -> Vec<Flow> {
    let times: Vec<NoteTime> = notes.iter().map(|n| time(n, tempo)).collect();
    flows(&times)
}

fn time(note: &DraftNote, tempo: &TempoMap) -> NoteTime {
    NoteTime {
        onset: tempo.seconds(note.onset),
        end: tempo.seconds(note.end()),
        beats: tempo.quarter().beats(note.onset.since(Tick::ZERO)).0,
        phrase: false,
    }
}

/// The written key of a part, kept while the concert key stays.
#[derive(Default)]
struct KeyOfPart(Option<(KeySignature, u8)>);

impl KeyOfPart {
    fn of(&mut self, part: &Part, concert: Option<KeySignature>, pitch: Sounding) -> (u8, bool) {
        let Some(concert) = concert else {
            return (0, true);
        };
        let signs = match self.0 {
            Some((known, signs)) if known == concert => signs,
            _ => {
                let names = PartNames::of(part.instrument.transposition, concert);
                names.signature(concert).fifths().unsigned_abs()
            }
        };
        self.0 = Some((concert, signs));
        (signs, concert.key().has(pitch.class()))
    }
}

/// For every note, the crossings of the clarinets' break in the beat around it.
fn crossings(part: &Part, notes: &[DraftNote], times: &[NoteTime], flows: &[Flow]) -> Vec<f64> {
    let crosses = |i: usize| {
        let way = i > 0 && flows[i].near;
        way && crosses_the_break(&part.instrument, notes[i - 1].pitch, notes[i].pitch)
    };
    let beats: Vec<f64> = (0..notes.len())
        .filter(|i| crosses(*i))
        .map(|i| times[i].beats)
        .collect();
    let around = |time: &NoteTime| {
        let from = beats.partition_point(|b| *b < time.beats - 0.5);
        let to = beats.partition_point(|b| *b < time.beats + 0.5);
        (to - from) as f64
    };
    times.iter().map(around).collect()
}
