//! What sounds in a stretch of cells, and how well each chord explains it: inside less outside
//! less missing, after Pardo & Birmingham, "Algorithms for Chordal Analysis", Computer Music
//! Journal 26(2), 2002, with the terms of `weights.rs` added.

use super::bound::Bound;
use super::cells::Cell;
use super::labels::Label;
use super::weights::Weights;
use crate::music::{Chord, ChordTone, PitchClass};

/// How much the first bass note says, against all later ones together.
const FIRST_BASS: f64 = 0.6;

/// A stretch of cells.
#[derive(Clone, Debug, Default)]
pub(super) struct Segment {
    inside: [f64; 12],
    outside: [f64; 12],
    tune: [f64; 12],
    sounding: u16,
    /// The classes that are struck by others than a tune that moves by itself.
    struck: u16,
    /// How long each class is the lowest.
    low: [f64; 12],
    first_low: Option<PitchClass>,
}

/// The parts of a chord's score, in slots; costs are negative.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct ChordScore {
    /// Length of the notes that the chord explains.
    pub explained: f32,
    /// Length of the notes foreign to it, ornaments counting less.
    pub foreign: f32,
    /// Tones that it lacks.
    pub missing: f32,
    /// What its kind costs for being rare.
    pub rarity: f32,
    /// What the bass says.
    pub bass: f32,
    /// What the key says.
    pub key: f32,
}

impl ChordScore {
    /// The sum.
    #[must_use]
    pub fn total(&self) -> f32 {
        self.explained + self.foreign + self.missing + self.rarity + self.bass + self.key
    }
}

impl Segment {
    /// Adds the cell before.
    pub(super) fn add_before(&mut self, cell: &Cell) {
        for class in 0..12 {
            self.inside[class] += cell.inside[class];
            self.outside[class] += cell.outside[class];
            self.tune[class] += cell.tune[class];
        }
        self.sounding |= cell.sounding;
        self.struck |= cell.struck;
        if let Some(low) = cell.low {
            let class = PitchClass::of(i32::from(low));
            self.low[usize::from(class.number())] += cell.slots;
            self.first_low = Some(class);
        }
    }

    /// The classes that sound, C in the lowest bit.
    pub(super) fn sounding(&self) -> u16 {
        self.sounding
    }

    /// The classes that the accompaniment strikes, C in the lowest bit.
    pub(super) fn struck(&self) -> u16 {
        self.struck
    }

    /// Whether a chord's needed tones all sound.
    pub(super) fn may_be(&self, label: &Label) -> bool {
        label.needed & !self.sounding == 0
    }

    /// The most that any label can score here.
    pub(super) fn most(&self, bound: &Bound, w: &Weights) -> f64 {
        let gains = std::array::from_fn(|c| self.inside[c] + self.outside[c]);
        let all: f64 = self.inside.iter().sum();
        bound.most(gains, self.outside.iter().sum(), w.rarity * all, w.entry)
    }

    /// What the scores of all labels share.
    pub(super) fn sums(&self, w: &Weights) -> Sums {
        let all: f64 = self.inside.iter().sum();
        Sums {
            held: Table::of(|c| self.inside[c] + self.outside[c]),
            outside: self.outside.iter().sum(),
            rarity: w.rarity * all,
            bass: self.bass_weights(),
        }
    }

    /// The score of a label without key, bass and neighbours, as if the tune counted as the rest:
    /// it is no higher with them but for the bass.
    pub(super) fn rough_score(label: &Label, sums: &Sums, w: &Weights) -> f64 {
        sums.held.of_set(label.mask)
            - sums.outside
            - label.entry * w.entry
            - label.rarity * sums.rarity
    }

    /// What the rough score leaves out: missing tones, colour in the tune, and the bass.
    pub(super) fn rest_of_score(
        &self,
        label: &Label,
        sums: &Sums,
        bass: &BassRow,
        w: &Weights,
    ) -> f64 {
        let missing = f64::from((label.mask & !self.sounding).count_ones());
        weighed(&sums.bass, label, bass)
            - missing * w.missing_fifth
            - (1.0 - w.colour_in_tune) * sum_of(&self.tune, label.colour)
    }

    /// How much each class says as the bass; all together one.
    fn bass_weights(&self) -> Vec<(PitchClass, f64)> {
        let all: f64 = self.low.iter().sum();
        let later = (1.0 - FIRST_BASS) / all.max(1e-9);
        PitchClass::all()
            .zip(self.low)
            .filter(|(_, slots)| *slots > 0.0)
            .map(|(class, slots)| {
                let first = self.first_low == Some(class);
                (class, later * slots + if first { FIRST_BASS } else { 0.0 })
            })
            .collect()
    }

    /// The parts of a label's score.
    pub(super) fn parts(&self, label: &Label, bass: &BassRow, key: f64, w: &Weights) -> ChordScore {
        let holds = |class: &usize| label.mask & (1 << class) != 0;
        let colours = |class: &usize| label.colour & (1 << class) != 0;
        let inside: f64 = (0..12).filter(holds).map(|c| self.inside[c]).sum();
        let tune: f64 = (0..12).filter(colours).map(|c| self.tune[c]).sum();
        let inside = inside - (1.0 - w.colour_in_tune) * tune;
        let outside: f64 = (0..12).filter(|c| !holds(c)).map(|c| self.outside[c]).sum();
        let all: f64 = self.inside.iter().sum();
        let missing = f64::from((label.mask & !self.sounding).count_ones());
        ChordScore {
            explained: inside as f32,
            foreign: -outside as f32,
            missing: (-missing * w.missing_fifth) as f32,
            rarity: (-label.entry * w.entry - label.rarity * w.rarity * all) as f32,
            bass: weighed(&self.bass_weights(), label, bass) as f32,
            key: key as f32,
        }
    }

    /// The chord of a label over this stretch: its bass is the first low note, unless that is
    /// foreign and another holds longer.
    pub(super) fn chord(&self, label: &Label) -> Chord {
        let mut chord = Chord::new(label.root, label.quality);
        let slots = |class: PitchClass| self.low[usize::from(class.number())];
        let all: f64 = self.low.iter().sum();
        let Some(first) = self.first_low else {
            return chord;
        };
        chord.bass = first;
        if chord.tone(first).is_none() && 2.0 * slots(first) <= all {
            let own = PitchClass::all().filter(|c| chord.tone(*c).is_some());
            let longest = own.max_by(|a, b| slots(*a).total_cmp(&slots(*b)));
            chord.bass = longest.filter(|c| slots(*c) > 0.0).unwrap_or(first);
        }
        chord
    }

    /// The tones of a chord that nobody sounds here, as classes with C in the lowest bit.
    pub(super) fn lacks(&self, mask: u16) -> u16 {
        mask & !self.sounding
    }
}

/// What chords gain by the classes that they hold.
pub(super) struct Sums {
    held: Table,
    outside: f64,
    rarity: f64,
    bass: Vec<(PitchClass, f64)>,
}

/// The sum over a set of classes.
fn sum_of(values: &[f64; 12], mut set: u16) -> f64 {
    let mut sum = 0.0;
    while set != 0 {
        sum += values[set.trailing_zeros() as usize % 12];
        set &= set - 1;
    }
    sum
}

/// What the bass says of a label.
fn weighed(low: &[(PitchClass, f64)], label: &Label, values: &BassRow) -> f64 {
    let value = |(class, weight): &(PitchClass, f64)| {
        weight * values[usize::from(label.root.up_to(*class))]
    };
    low.iter().map(value).sum()
}

/// Sums over every set of the six lower and of the six upper classes.
struct Table {
    low: [f64; 64],
    high: [f64; 64],
}

impl Table {
    fn of(value: impl Fn(usize) -> f64) -> Self {
        let mut table = Self {
            low: [0.0; 64],
            high: [0.0; 64],
        };
        for mask in 1..64_usize {
            let bit = mask.trailing_zeros() as usize;
            let rest = mask & (mask - 1);
            table.low[mask] = table.low[rest] + value(bit);
            table.high[mask] = table.high[rest] + value(bit + 6);
        }
        table
    }

    fn of_set(&self, mask: u16) -> f64 {
        let mask = usize::from(mask);
        self.low[mask & 63] + self.high[mask >> 6]
    }
}

/// What each class in the bass is worth, by semitones above the root.
pub(super) type BassRow = [f64; 12];

/// The values of the bass for a chord.
pub(super) fn bass_row(chord: Chord, w: &Weights) -> BassRow {
    std::array::from_fn(|above| match chord.tone(chord.root.up(above as i32)) {
        Some(ChordTone::Root) => w.bass_root,
        Some(ChordTone::Third) => w.bass_third,
        Some(ChordTone::Fifth) => w.bass_fifth,
        Some(ChordTone::Seventh) => w.bass_seventh,
        Some(_) => w.bass_added,
        None => w.bass_foreign,
    })
}
