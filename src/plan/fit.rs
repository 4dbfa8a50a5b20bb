//! How well a part can play a stretch of a line, at its best octave.

use super::apart::Apart;
use super::line::{LineNote, Moment, OneLine};
use crate::band::chance::{ChanceTable, NoteContext, usual_posture};
use crate::band::playing::{Posture, level_dynamics};
use crate::band::{Band, Part, SoundingRange};
use crate::music::{Dynamic, Interval, KeySignature, Mode, PartNames, Sounding};
use std::ops::Range;

/// Octaves that are tried above and below the sketch's line.
pub const OCTAVES: std::ops::RangeInclusive<i16> = -4..=4;

/// What notes cost a part: `-ln(clean chance)` in thousandths; nothing outside its hard limits.
#[derive(Clone, Debug)]
pub struct ChanceCosts {
    range: SoundingRange,
    posture: Posture,
    /// The dynamics that all its players have.
    dynamics: (Dynamic, Dynamic),
    table: ChanceTable,
    /// Sharps or flats of the written key, for concert keys of seven flats to seven sharps.
    signs: [u8; 15],
}

impl ChanceCosts {
    /// The costs of a part that marches or not.
    #[must_use]
    pub fn of(part: &Part, posture: Posture) -> Self {
        Self {
            range: part.limits.range,
            posture,
            dynamics: dynamics(part),
            table: ChanceTable::of(part),
            signs: std::array::from_fn(|i| signs(part, i as i8 - 7)),
        }
    }

    /// The costs of all parts of a band, in its order.
    #[must_use]
    pub fn of_band(band: &Band) -> Vec<Self> {
        let posture = usual_posture(band);
        band.parts.iter().map(|p| Self::of(p, posture)).collect()
    }

    /// Whether a pitch is inside the hard limits.
    #[must_use]
    pub fn reaches(&self, pitch: Sounding) -> bool {
        self.range.contains(pitch)
    }

    /// The cost of a pitch at a moment, after a note or alone; `None` outside the hard limits.
    #[must_use]
    pub fn cost(&self, pitch: Sounding, moment: &Moment, from: Option<Sounding>) -> Option<i32> {
        self.reaches(pitch)
            .then(|| self.any_cost(pitch, &self.context(pitch, moment, from)))
    }

    /// What the way from one note to another adds to the cost of the second: leap, break, slide and
    /// speed. With the cost of the note alone it makes exactly the cost of the note after the other.
    #[must_use]
    pub fn way_cost(&self, from: Sounding, pitch: Sounding, moment: &Moment) -> i32 {
        self.way_beyond(from, pitch, moment, self.alone(pitch, moment))
    }

    /// What a pitch costs at a moment where it comes from nowhere, inside the limits or not.
    #[must_use]
    pub fn alone(&self, pitch: Sounding, moment: &Moment) -> i32 {
        self.any_cost(pitch, &self.context(pitch, moment, None))
    }

    /// [`Self::way_cost`] where the cost of the note alone is known, as for many ways to one note.
    #[must_use]
    pub fn way_beyond(&self, from: Sounding, pitch: Sounding, moment: &Moment, alone: i32) -> i32 {
        let context = self.context(pitch, moment, Some(from));
        if self.table.is_easy_way(pitch, &context) {
            return 0;
        }
        self.any_cost(pitch, &context) - alone
    }

    fn any_cost(&self, pitch: Sounding, context: &NoteContext) -> i32 {
        let chance = self.table.value(pitch, context);
        (-1000.0 * chance.clamp(1e-3, 1.0).ln()).round() as i32
    }

    /// All that the chance of a pitch at a moment depends on, after a note or alone.
    #[must_use]
    pub fn context(&self, pitch: Sounding, moment: &Moment, from: Option<Sounding>) -> NoteContext {
        let key = |k: KeySignature| {
            let place = usize::try_from(k.fifths() + 7).ok();
            let signs = place.and_then(|p| self.signs.get(p)).copied();
            (signs.unwrap_or(0), k.key().has(pitch.class()))
        };
        let (accidentals, in_key) = moment.key.map_or((0, true), key);
        NoteContext {
            from,
            speed: from.and(moment.flow.speed),
            run_beats: moment.flow.run_beats,
            // A part is written at a dynamic that its players have; what a register cannot do stays.
            dynamic: moment.dynamic.clamp(self.dynamics.0, self.dynamics.1),
            accidentals,
            in_key,
            breath: moment.flow.breath,
            posture: self.posture,
            ..NoteContext::default()
        }
    }
}

/// The dynamics that may be relied on from every player of a part; mezzo forte where they have none
/// in common.
fn dynamics(part: &Part) -> (Dynamic, Dynamic) {
    let of = part.players.levels();
    let each = of.filter_map(|(level, _)| Some(level_dynamics(level).ok()?.reliable));
    let all = each.reduce(|a, b| (a.0.max(b.0), a.1.min(b.1)));
    all.filter(|(soft, loud)| soft <= loud)
        .unwrap_or((Dynamic::Mf, Dynamic::Mf))
}

fn signs(part: &Part, fifths: i8) -> u8 {
    let concert = KeySignature::new(fifths, Mode::Major).unwrap_or(KeySignature::C_MAJOR);
    let names = PartNames::of(part.instrument.transposition, concert);
    names.signature(concert).fifths().unsigned_abs()
}

/// The cost of some notes moved by whole octaves; `None` where one of them is out of limits.
#[must_use]
pub fn moved_cost(costs: &ChanceCosts, notes: &[LineNote], octaves: i16) -> Option<i64> {
    let mut sum = 0;
    let mut from = None;
    for note in notes {
        let pitch = note.pitch.up(Interval::octaves(octaves))?;
        sum += i64::from(costs.cost(pitch, &note.moment, before(note, from))?);
        from = Some(pitch);
    }
    Some(sum)
}

/// The note before, where it is near enough for the way from it to count.
#[must_use]
pub fn before(note: &LineNote, from: Option<Sounding>) -> Option<Sounding> {
    from.filter(|_| note.moment.flow.near)
}

/// How many of some notes moved by whole octaves are inside the limits, and what those cost.
fn reached(costs: &ChanceCosts, notes: &[LineNote], octaves: i16) -> (usize, i64) {
    let (mut count, mut sum, mut from) = (0, 0, None);
    for note in notes {
        let pitch = note.pitch.up(Interval::octaves(octaves));
        let cost = pitch.and_then(|p| costs.cost(p, &note.moment, before(note, from)));
        if let Some(cost) = cost {
            count += 1;
            sum += i64::from(cost);
        }
        from = cost.and(pitch);
    }
    (count, sum)
}

/// How a part takes to a stretch of a line.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Fit {
    /// Share of the notes that it can play, breath by breath, 0 to 1.
    pub share: f64,
    /// Mean `-ln(clean chance)` of those, at each breath's best octave.
    pub mean_cost: f64,
}

/// The fit of a part to the notes of a line in a range: each breath at the octave that has most
/// of its notes in reach. A breath with a leap or a speed that the director ruled out is not for the
/// part at all.
#[must_use]
pub fn fit(apart: &Apart<'_>, costs: &ChanceCosts, line: &OneLine, range: &Range<usize>) -> Fit {
    let (mut played, mut total) = (0, 0);
    for breath in line.breaths_in(range) {
        let notes = &line.notes[breath];
        if !apart.holds_in(notes) {
            continue;
        }
        let octaves = OCTAVES.map(|k| reached(costs, notes, k));
        let (count, cost) = octaves.max_by_key(|(n, c)| (*n, -*c)).unwrap_or((0, 0));
        played += count;
        total += cost;
    }
    Fit {
        share: played as f64 / range.len().max(1) as f64,
        mean_cost: total as f64 / 1000.0 / played.max(1) as f64,
    }
}
