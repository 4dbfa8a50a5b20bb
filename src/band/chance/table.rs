//! The chances of a part from tables made once.

use super::context::NoteContext;
use super::moves::{Way, is_plain, way};
use super::note::note_points;
use super::points::{Looked, Points};
use super::skill::Skill;
use super::{demands, mean};
use crate::band::instrument::Instrument;
use crate::band::level::Level;
use crate::band::playing::Posture;
use crate::band::roster::Part;
use crate::music::{Dynamic, Sounding, Written};
use std::sync::Arc;

const PITCHES: usize = 128;

/// The chances of a part, with all that does not change from note to note looked up once.
///
/// It gives exactly the value of [`super::chance`], about a hundred times faster.
#[derive(Clone, PartialEq, Debug)]
pub struct ChanceTable {
    instrument: Arc<Instrument>,
    players: Vec<PlayerTable>,
}

/// Seconds planned and reached in a breath, above and in the low third.
type InBreath = [Option<(f64, f64)>; 2];

#[derive(Clone, PartialEq, Debug)]
struct PlayerTable {
    players: u16,
    skill: Skill,
    /// Points of each pitch by itself, seated and marching.
    notes: [Vec<f64>; 2],
    /// Points of each dynamic, for each pitch.
    dynamics: Vec<[f64; Dynamic::ALL.len()]>,
    /// Seated and marching, for each dynamic.
    breaths: [[InBreath; Dynamic::ALL.len()]; 2],
    ways: Ways,
}

impl ChanceTable {
    /// The table of a part.
    #[must_use]
    pub fn of(part: &Part) -> Self {
        let table = |(level, n)| PlayerTable::of(&part.instrument, level, n);
        Self {
            instrument: Arc::clone(&part.instrument),
            players: part.players.levels().map(table).collect(),
        }
    }

    /// The chance, 0 to 1, that a player plays a note clean in a context; the mean over the part's
    /// players, 0 without players.
    #[must_use]
    pub fn value(&self, pitch: Sounding, context: &NoteContext) -> f64 {
        mean(self.players.iter().map(|p| {
            (
                p.players,
                p.points(&self.instrument, pitch, context).chance(),
            )
        }))
    }

    /// Whether the way from the note before costs none of the players anything: then the value is that
    /// of the note without it.
    #[must_use]
    pub fn is_easy_way(&self, pitch: Sounding, context: &NoteContext) -> bool {
        let mut players = self.players.iter();
        players.all(|p| p.points(&self.instrument, pitch, context).is_easy_way())
    }
}

impl PlayerTable {
    fn of(instrument: &Instrument, level: Level, players: u16) -> Self {
        let skill = Skill::of(instrument, level);
        let written = |midi: usize| {
            let pitch = Sounding::nearest(midi as i32);
            instrument.transposition.written(pitch)
        };
        let all = || (0..PITCHES).map(written);
        let notes = |posture| {
            all()
                .map(|n| note_points(instrument, level, n, posture).0)
                .collect()
        };
        let breaths = |posture| {
            Dynamic::ALL.map(|d| [false, true].map(|low| skill.breath_in(low, d, posture)))
        };
        Self {
            players,
            notes: [notes(Posture::Seated), notes(Posture::Marching)],
            dynamics: all()
                .map(|n| Dynamic::ALL.map(|d| demands::dynamic(&skill, n, d)))
                .collect(),
            breaths: [breaths(Posture::Seated), breaths(Posture::Marching)],
            ways: Ways::of(instrument, &skill),
            skill,
        }
    }

    fn points(&self, instrument: &Instrument, pitch: Sounding, context: &NoteContext) -> Points {
        let written = |pitch| instrument.transposition.written(pitch);
        let note = written(pitch);
        let at = usize::from(pitch.midi());
        let posture = match context.posture {
            Posture::Seated => 0,
            Posture::Marching => 1,
        };
        let dynamic = context.dynamic.steps();
        let looked = Looked {
            note: self.notes[posture][at],
            way: context
                .from
                .map(|from| self.ways.way(instrument, &self.skill, written(from), note)),
            dynamic: self.dynamics[at][dynamic],
            breath: self.breaths[posture][dynamic][usize::from(self.skill.is_low(note))],
        };
        Points::of(&self.skill, pitch, &looked, context)
    }
}

/// The ways of one level. Where only the size of a leap counts, by size; where registers or a slide
/// make each pair another, all pairs of the instrument's range.
#[derive(Clone, PartialEq, Debug)]
enum Ways {
    Plain(Vec<Way>),
    Pairs {
        low: Written,
        notes: usize,
        ways: Vec<Way>,
    },
}

impl Ways {
    fn of(instrument: &Instrument, skill: &Skill) -> Self {
        let (low, high) = (instrument.professional.low, instrument.professional.high);
        if is_plain(instrument) {
            let to = |size: usize| Written(low.0.saturating_add(size as i16));
            let sizes = 0..PITCHES;
            return Self::Plain(sizes.map(|n| way(instrument, skill, low, to(n))).collect());
        }
        let all = || (low.0..=high.0).map(Written);
        let pairs = all().flat_map(|from| all().map(move |to| (from, to)));
        Self::Pairs {
            low,
            notes: all().count(),
            ways: pairs
                .map(|(from, to)| way(instrument, skill, from, to))
                .collect(),
        }
    }

    fn way(&self, instrument: &Instrument, skill: &Skill, from: Written, to: Written) -> Way {
        let found = match self {
            Self::Plain(ways) => ways.get(usize::from(from.0.abs_diff(to.0))),
            Self::Pairs { low, notes, ways } => {
                let place = |note: Written| usize::try_from(note.0 - low.0).ok();
                let inside = |note| place(note).filter(|p| p < notes);
                inside(from)
                    .zip(inside(to))
                    .and_then(|(from, to)| ways.get(from * notes + to))
            }
        };
        // Beyond the instrument's range nothing is stored.
        found
            .copied()
            .unwrap_or_else(|| way(instrument, skill, from, to))
    }
}
