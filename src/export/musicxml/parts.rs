//! The parts of a score in score order, each with its staves as they are written.

use super::abbreviations::abbreviation;
use super::{MusicXmlError, ScoreInput};
use crate::band::{Choir, Part, PartId};
use crate::music::{BarNumber, KeySignature, SpelledName, Tick, Transposition};
use crate::notation::{
    Clef, Region, StaveFrame, StaveInput, Whose, WrittenBar, clefs, part_inputs, score_order,
    shown_transposition, sketch_inputs, write_stave,
};
use crate::score::DraftNote;
use crate::sketch::Note;

/// The most measures of all parts together that a file may have (ours: 200 parts of a thousand bars, far over any
/// score, so that a wrong song does not fill the memory).
const MOST_MEASURES: u64 = 200_000;

/// Whose part it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Owner {
    Part(PartId),
    /// The piano sketch.
    Sketch,
    /// The percussion of a track of the sketch.
    Drums(usize),
}

/// The clef of a stave.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum StaveClef {
    Pitched(Clef),
    Percussion,
}

/// A stave as it is written.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Stave {
    pub(super) clef: StaveClef,
    /// The notes; heads tell their place among them.
    pub(super) inputs: Vec<StaveInput>,
    /// What each note is called where it comes from: its place in the draft's line or in the reading.
    pub(super) sources: Vec<usize>,
    /// How loud each note is struck, 1 to 127.
    pub(super) velocities: Vec<u8>,
    pub(super) bars: Vec<WrittenBar>,
}

/// A part as it is written.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct ScorePart {
    pub(super) owner: Owner,
    /// Its number in the score, from 1.
    pub(super) number: usize,
    pub(super) name: String,
    pub(super) short: String,
    pub(super) group: Option<Group>,
    pub(super) transposition: Transposition,
    pub(super) staves: Vec<Stave>,
}

/// What stands under one bracket.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Group {
    Woodwinds,
    Brass,
    LowBrass,
    Percussion,
}

impl Group {
    fn of(part: &Part, region: Region) -> Option<Self> {
        let low = matches!(
            part.instrument.choir,
            Choir::Trombones | Choir::Euphoniums | Choir::Basses
        );
        match region {
            Region::Woodwinds => Some(Self::Woodwinds),
            Region::Sketch => None,
            Region::Brass if low => Some(Self::LowBrass),
            Region::Brass => Some(Self::Brass),
            Region::Percussion => Some(Self::Percussion),
        }
    }
}

/// The signatures of a song at concert pitch.
pub(super) fn keys(input: &ScoreInput<'_>) -> Vec<(Tick, KeySignature)> {
    let keys = input.reading.keys.iter();
    keys.map(|k| (k.start, k.signature)).collect()
}

/// The signature at concert pitch that holds in a bar.
pub(super) fn concert_key(keys: &[(Tick, KeySignature)], bar: &WrittenBar) -> KeySignature {
    let next = keys.partition_point(|(at, _)| *at <= bar.start);
    let before = next.checked_sub(1).and_then(|i| keys.get(i));
    before.map_or(KeySignature::C_MAJOR, |(_, key)| *key)
}

/// All parts from top to bottom; one of the band alone, where that is wanted.
pub(super) fn parts(
    input: &ScoreInput<'_>,
    only: Option<PartId>,
) -> Result<Vec<ScorePart>, MusicXmlError> {
    let drums = drum_tracks(input);
    let wanted =
        |(owner, _): &(Owner, Option<Region>)| only.is_none_or(|id| *owner == Owner::Part(id));
    let order = score_order(input.band).into_iter().map(|(whose, region)| {
        let owner = match whose {
            Whose::Part(id) => Owner::Part(id),
            Whose::Sketch => Owner::Sketch,
        };
        (owner, Some(region))
    });
    let order = order.chain(drums.iter().map(|track| (Owner::Drums(*track), None)));
    let order: Vec<(Owner, Option<Region>)> = order.filter(wanted).collect();
    let bars = bars(input, &drums);
    if u64::from(bars) * order.len() as u64 > MOST_MEASURES {
        let parts = order.len();
        return Err(MusicXmlError::TooLong { bars, parts });
    }
    let keys = keys(input);
    let writer = Writer {
        input,
        keys: &keys,
        last: BarNumber(bars),
        brackets: only.is_none(),
    };
    let parts = order.into_iter().zip(1..);
    Ok(parts
        .filter_map(|((owner, region), number)| writer.part(owner, region, number))
        .collect())
}

/// Tracks of the sketch that have percussion and are no parts.
fn drum_tracks(input: &ScoreInput<'_>) -> Vec<usize> {
    let tracks = input.song.tracks.iter().enumerate();
    let drums =
        tracks.filter(|(i, t)| !input.own.contains(i) && t.notes.iter().any(Note::is_percussion));
    drums.map(|(i, _)| i).collect()
}

/// How many bars there are: up to where the last note ends, one at the least.
fn bars(input: &ScoreInput<'_>, drums: &[usize]) -> u32 {
    let drafted = input.draft.lines.iter().flat_map(|l| &l.notes);
    let read = input.reading.notes.iter().map(|n| n.onset + n.duration);
    let drums = drums.iter().filter_map(|i| input.song.tracks.get(*i));
    let ends = drafted.map(DraftNote::end).chain(read);
    let ends = ends.chain(drums.flat_map(|t| t.notes.iter().map(Note::end)));
    let end = ends.chain([input.song.end()]).max().unwrap_or(Tick::ZERO);
    input.song.meters.bar(Tick(end.0.saturating_sub(1))).0
}

struct Writer<'a> {
    input: &'a ScoreInput<'a>,
    keys: &'a [(Tick, KeySignature)],
    last: BarNumber,
    /// Whether parts stand under brackets: not one by itself.
    brackets: bool,
}

impl Writer<'_> {
    fn part(&self, owner: Owner, region: Option<Region>, number: usize) -> Option<ScorePart> {
        match owner {
            Owner::Part(id) => self.band_part(id, region, number),
            Owner::Sketch => Some(self.sketch(number)),
            Owner::Drums(track) => self.drums(track, number),
        }
    }

    fn band_part(&self, id: PartId, region: Option<Region>, number: usize) -> Option<ScorePart> {
        let part = self.input.band.parts.get(id.0)?;
        let notes = self.input.draft.lines.iter().find(|l| l.part == id);
        let notes = notes.map_or(&[][..], |l| &l.notes);
        let own = clefs(&part.instrument.clef).first().copied();
        let clef = StaveClef::Pitched(own.unwrap_or(Clef::Treble));
        let inputs = part_inputs(self.input.reading, notes);
        let velocities = notes.iter().map(|n| n.velocity).collect();
        let transposition = part.instrument.transposition;
        Some(ScorePart {
            owner: Owner::Part(id),
            number,
            name: part.name.clone(),
            short: abbreviation(part),
            group: region
                .and_then(|r| Group::of(part, r))
                .filter(|_| self.brackets),
            transposition,
            staves: vec![self.stave(clef, inputs, velocities, transposition)],
        })
    }

    fn sketch(&self, number: usize) -> ScorePart {
        let reading = self.input.reading;
        let clefs = [Clef::Treble, Clef::Bass];
        let staves = sketch_inputs(reading).into_iter().zip(clefs);
        let staves = staves.map(|(inputs, clef)| {
            let note = |n: &StaveInput| reading.notes.get(n.index).map_or(64, |n| n.velocity);
            let velocities = inputs.iter().map(note).collect();
            let none = Transposition::default();
            self.stave(StaveClef::Pitched(clef), inputs, velocities, none)
        });
        ScorePart {
            owner: Owner::Sketch,
            number,
            name: "Piano Sketch".to_owned(),
            short: "Sketch".to_owned(),
            group: None,
            transposition: Transposition::default(),
            staves: staves.collect(),
        }
    }

    fn drums(&self, track: usize, number: usize) -> Option<ScorePart> {
        let track_of = self.input.song.tracks.get(track)?;
        let notes: Vec<&Note> = track_of
            .notes
            .iter()
            .filter(|n| n.is_percussion())
            .collect();
        let input = |(index, n): (usize, &&Note)| StaveInput {
            onset: n.onset,
            duration: n.duration,
            pitch: n.pitch,
            name: SpelledName::in_key(n.pitch.class(), KeySignature::C_MAJOR),
            index,
        };
        let inputs = notes.iter().enumerate().map(input).collect();
        let velocities = notes.iter().map(|n| n.velocity).collect();
        let none = Transposition::default();
        let name = if track_of.name.is_empty() {
            "Percussion"
        } else {
            &track_of.name
        };
        Some(ScorePart {
            owner: Owner::Drums(track),
            number,
            name: name.to_owned(),
            short: "Perc.".to_owned(),
            group: Some(Group::Percussion),
            transposition: none,
            staves: vec![self.stave(StaveClef::Percussion, inputs, velocities, none)],
        })
    }

    fn stave(
        &self,
        clef: StaveClef,
        mut inputs: Vec<StaveInput>,
        velocities: Vec<u8>,
        transposition: Transposition,
    ) -> Stave {
        let sources = inputs.iter().map(|n| n.index).collect();
        for (place, note) in inputs.iter_mut().enumerate() {
            note.index = place;
        }
        let frame = StaveFrame {
            meters: &self.input.song.meters,
            keys: self.keys,
            transposition: shown_transposition(transposition, false),
            signatures: clef != StaveClef::Percussion,
            first: BarNumber(1),
            last: self.last,
        };
        let bars = write_stave(&inputs, &frame);
        Stave {
            clef,
            inputs,
            sources,
            velocities,
            bars,
        }
    }
}
