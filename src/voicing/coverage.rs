//! What choirs share at a step: how much of the band's sound each chord tone has, and whether
//! anybody stands under the tune.
//!
//! Choirs meet only in sums. Every note adds to some marks (its chord tone; the octave under the
//! tune), and a mark costs by its sum. That shape is what can be proven: a choir is a chain by
//! itself, a mark a small sum over choirs, and prices tie the two.

use super::candidates::{Around, Choice};
use super::steps::Step;
use super::terms::{Listed, Milli, Sum, Tally, Term, Weights};
use crate::band::loudness::{Decibels, part_level};
use crate::band::{Band, Part};
use crate::music::{ChordTone, Dynamic, PitchClass, Sounding};

/// At most so many marks are told apart: twelve tones, the octave under the tune, what is low.
pub const MOST_MARKS: usize = 14;

/// Sums by mark of a step's [`Coverage`], in its order.
pub type Counts = [u16; MOST_MARKS];

/// The loudest part of a band counts so many units in the balance of chord tones; others by their
/// sound power, one at the least (ours).
const LOUDEST: f64 = 8.0;

/// How much every part of a band counts in the balance: its sound power at mezzo forte in the middle
/// of its range, in eighths of the loudest part.
#[must_use]
pub fn units(band: &Band) -> Vec<u16> {
    let power = |part: &Part| {
        let ends = part.limits.comfortable;
        let middle = (u16::from(ends.low.midi()) + u16::from(ends.high.midi())) / 2;
        let pitch = Sounding::nearest(i32::from(middle));
        part_level(part, pitch, Dynamic::Mf).map_or(0.0, Decibels::power)
    };
    let powers: Vec<f64> = band.parts.iter().map(power).collect();
    let most = powers.iter().copied().fold(0.0, f64::max).max(1e-12);
    let share = |p: &f64| (p / most * LOUDEST).round().clamp(1.0, LOUDEST) as u16;
    powers.iter().map(share).collect()
}

/// What a mark stands for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Mark {
    /// A chord tone, with whether a line or lock sounds it already.
    Tone(PitchClass, bool),
    /// The octave under the tune.
    UnderTune,
    /// All that is below middle C.
    Low,
}

/// What is low, for [`Term::LowWeak`]: below middle C (ours).
const MIDDLE_C: u8 = 60;
/// How much of the harmony's sound should be low (ours).
const LOW_SHARE: f64 = 0.6;

/// The marks of a step, each with what it costs by its sum.
#[derive(Clone, Debug, Default)]
pub struct Coverage {
    marks: Vec<Mark>,
    tables: Vec<Vec<Milli>>,
    under: Option<(u8, u8)>,
    total: u16,
}

impl Coverage {
    /// The marks of a step: `sounding` are the notes of lines and locks, `total` the units of all
    /// parts that are free to fill the chord, `parts` their number. Without any, nothing is shared.
    #[must_use]
    pub fn of(
        step: &Step,
        around: Around,
        sounding: &[Sounding],
        (total, parts): (u16, u16),
        weights: &Weights,
    ) -> Self {
        if total == 0 || step.tones.is_empty() {
            return Self::default();
        }
        let tone = |class| Mark::Tone(class, sounding.iter().any(|p| p.class() == class));
        let mut marks: Vec<Mark> = step.tones.iter().map(tone).collect();
        // Lines that stand in the octave under the tune fill the hole as well.
        let under = around.top.map(|t| (t.midi().saturating_sub(12), t.midi()));
        let filled = |(low, top): (u8, u8)| {
            let inside = |p: &Sounding| p.midi() >= low && p.midi() < top;
            sounding.iter().any(inside)
        };
        let under = under.filter(|u| !filled(*u));
        marks.extend(under.map(|_| Mark::UnderTune));
        // It is a mark only where a style asks for it, so that others pay no time for it.
        marks.extend((weights.points(Term::LowWeak) > 0.0).then_some(Mark::Low));
        let mut own = Self {
            marks,
            tables: Vec::new(),
            under,
            total,
        };
        let table = |mark: &Mark| {
            let most = match mark {
                Mark::Tone(..) | Mark::Low => total,
                Mark::UnderTune => parts,
            };
            let cost = |n| {
                let mut sum = Sum::new(weights);
                own.tell_mark(*mark, step, n, &mut sum);
                sum.milli
            };
            (0..=most).map(cost).collect()
        };
        let tables = own.marks.iter().map(table).collect();
        own.tables = tables;
        own
    }

    /// Marks with given costs, for tests of the solver.
    #[cfg(test)]
    pub(super) fn made(tables: Vec<Vec<Milli>>) -> Self {
        let total = tables.first().map_or(0, |t| t.len() as u16 - 1);
        Self {
            marks: vec![Mark::UnderTune; tables.len()],
            tables,
            under: None,
            total,
        }
    }

    /// How many marks there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.marks.len()
    }

    /// What a mark is about, as a number: the pitch class, or a number of its own from twelve on.
    #[must_use]
    pub fn key(&self, mark: usize) -> Option<u8> {
        self.marks.get(mark).map(|m| match m {
            Mark::Tone(class, _) => class.number(),
            Mark::UnderTune => 12,
            Mark::Low => 13,
        })
    }

    /// Whether nothing is shared.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.marks.is_empty()
    }

    /// What a mark costs by its sum, from none to the most there can be.
    #[must_use]
    pub fn table(&self, mark: usize) -> &[Milli] {
        self.tables.get(mark).map_or(&[], Vec::as_slice)
    }

    /// Adds what a part that counts so many units does to the sums.
    pub fn add(&self, counts: &mut Counts, choice: Choice, units: u16) {
        let Some(pitch) = choice.sounds.filter(|_| !choice.fixed) else {
            return;
        };
        for (mark, count) in self.marks.iter().zip(counts) {
            match mark {
                Mark::Tone(class, _) if *class == pitch.class() => *count += units,
                Mark::UnderTune if self.is_under(pitch) => *count += 1,
                Mark::Low if pitch.midi() < MIDDLE_C => *count += units,
                _ => {}
            }
        }
    }

    fn is_under(&self, pitch: Sounding) -> bool {
        self.under
            .is_some_and(|(low, top)| pitch.midi() >= low && pitch.midi() < top)
    }

    /// The cost of some sums.
    #[must_use]
    pub fn cost(&self, counts: &Counts) -> Milli {
        let of = |(table, n): (&Vec<Milli>, &u16)| table.get(usize::from(*n)).copied();
        self.tables.iter().zip(counts).filter_map(of).sum()
    }

    /// Tells the terms of some sums, with the tone that each is about.
    pub fn tell(
        &self,
        step: &Step,
        counts: &Counts,
        weights: &Weights,
    ) -> Vec<(Option<PitchClass>, Term, f64, Milli)> {
        let mut all = Vec::new();
        for (mark, n) in self.marks.iter().zip(counts) {
            let mut list = Listed::new(weights);
            self.tell_mark(*mark, step, *n, &mut list);
            let class = match mark {
                Mark::Tone(class, _) => Some(*class),
                Mark::UnderTune | Mark::Low => None,
            };
            all.extend(list.costs.into_iter().map(|(t, u, c)| (class, t, u, c)));
        }
        all
    }

    fn tell_mark(&self, mark: Mark, step: &Step, n: u16, tally: &mut impl Tally) {
        let beats = step.weight();
        match mark {
            Mark::UnderTune if n == 0 => tally.add(Term::HoleUnderTune, beats),
            Mark::UnderTune => {}
            Mark::Low => {
                let has = f64::from(n.max(1)) / f64::from(self.total);
                let under = 10.0 * (LOW_SHARE / has).log10();
                let under = if n == 0 { 15.0 } else { under.clamp(0.0, 15.0) };
                tally.add(Term::LowWeak, under * beats);
            }
            Mark::Tone(class, carried) if n == 0 => {
                if !carried {
                    tally.add(missing(step, class), beats);
                }
            }
            Mark::Tone(class, carried) => {
                let sum: f64 = step.tones.iter().map(|c| wish(step.tone(c))).sum();
                let wanted = wish(step.tone(class)) / sum.max(1e-9);
                let has = f64::from(n) / f64::from(self.total);
                let off = 10.0 * (has / wanted).log10();
                // What a line or lock sounds already is never too weak.
                let off = if carried { off.max(0.0) } else { off.abs() };
                tally.add(Term::Share, (off - 3.0).clamp(0.0, 15.0) * beats);
            }
        }
    }
}

fn missing(step: &Step, class: PitchClass) -> Term {
    match step.tone(class) {
        Some(ChordTone::Root) => Term::NoRoot,
        Some(ChordTone::Third | ChordTone::Suspended) => Term::NoThird,
        Some(ChordTone::Seventh) => Term::NoSeventh,
        Some(ChordTone::Fifth) => {
            let perfect = step.chord.is_some_and(|c| c.root.up_to(class) == 7);
            if perfect {
                Term::NoFifth
            } else {
                Term::NoAlteredFifth
            }
        }
        _ => Term::NoOther,
    }
}

fn wish(kind: Option<ChordTone>) -> f64 {
    match kind {
        Some(ChordTone::Root) => 3.0,
        Some(ChordTone::Third | ChordTone::Suspended | ChordTone::Fifth) => 2.2,
        Some(ChordTone::Seventh | ChordTone::Sixth) => 1.4,
        _ => 1.0,
    }
}
