//! What a note costs a part that fills the chord, by itself.

use super::candidates::{Around, Choice};
use super::steps::Step;
use super::terms::{Sum, Tally, Term, Weights};
use crate::band::Part;
use crate::music::roughness::{CLEAR, roughness};
use crate::music::{ChordTone, Quality, Sounding};
use crate::plan::fit::ChanceCosts;

/// A part at a step, with what stands around it.
#[derive(Clone, Copy)]
pub struct Place<'a> {
    /// The part.
    pub part: &'a Part,
    /// Its clean chances.
    pub costs: &'a ChanceCosts,
    /// The step.
    pub step: &'a Step,
    /// The lines around.
    pub around: Around,
    /// Whether no other part that fills the chord at the step is louder.
    pub loudest: bool,
    /// What the part sounds in the draft before (nothing inside: it rests), where one is solved again.
    pub was: Option<Option<Sounding>>,
}

impl Place<'_> {
    /// Tells the terms of what the part does in the step, all but the way from what it did before;
    /// `None` for what is not allowed.
    pub fn tell(&self, choice: Choice, tally: &mut impl Tally) -> Option<()> {
        match choice.sounds {
            _ if choice.fixed => {}
            Some(pitch) => self.tell_note(pitch, tally)?,
            None if self.step.tones.is_empty() => {}
            None => tally.add(Term::Silent, self.step.weight()),
        }
        if !choice.fixed && self.was.is_some_and(|was| was != choice.sounds) {
            tally.add(Term::Moved, self.step.weight());
        }
        Some(())
    }

    /// The cost of a note; `None` outside the part's limits.
    #[must_use]
    pub fn note_cost(&self, pitch: Sounding, weights: &Weights) -> Option<i32> {
        let mut sum = Sum::new(weights);
        self.tell_note(pitch, &mut sum)?;
        Some(sum.milli)
    }

    fn tell_note(&self, pitch: Sounding, tally: &mut impl Tally) -> Option<()> {
        let beats = self.step.weight();
        let clean = self.costs.cost(pitch, &self.step.moment, None)?;
        tally.add(Term::Clean, f64::from(clean) / 1000.0 * beats);
        self.tell_register(pitch, beats, tally);
        self.tell_tuning(pitch, beats, tally);
        self.tell_lines(pitch, beats, tally);
        let major = self.step.chord.is_some_and(|c| {
            c.quality == Quality::Major && c.tone(pitch.class()) == Some(ChordTone::Third)
        });
        if major && self.loudest {
            tally.add(Term::LoudThird, beats);
        }
        Some(())
    }

    fn tell_register(&self, pitch: Sounding, beats: f64, tally: &mut impl Tally) {
        let comfortable = self.part.limits.comfortable;
        let ends = (comfortable.low.midi(), comfortable.high.midi());
        let middle = (i32::from(ends.0) + i32::from(ends.1)) / 2;
        let above = i32::from(pitch.midi()) - middle;
        let beyond = (above.abs() - 5).max(0);
        tally.add(Term::Register, f64::from(beyond) * beats);
        let side = if above > 0 { Term::High } else { Term::Low };
        tally.add(side, f64::from(above.abs()) * beats);
    }

    /// Cents beyond eight; in the third of a held major chord the just third counts as in tune.
    fn tell_tuning(&self, pitch: Sounding, beats: f64, tally: &mut impl Tally) {
        let instrument = &self.part.instrument;
        let written = instrument.transposition.written(pitch);
        let Some(cents) = instrument.playing.action.cents(written) else {
            return;
        };
        let third = self.step.tone(pitch.class()) == Some(ChordTone::Third);
        let held = self.step.beats >= 2.0;
        let major = self.step.chord.is_some_and(|c| c.quality == Quality::Major);
        let wanted = if third && held && major {
            JUST_THIRD
        } else {
            0.0
        };
        let out = ((cents - wanted).abs() - TOLERATED_CENTS).max(0.0);
        let counts = if third || held { 2.0 } else { 1.0 };
        tally.add(Term::Tuning, out * counts * beats);
    }

    fn tell_lines(&self, pitch: Sounding, beats: f64, tally: &mut impl Tally) {
        let mut lines = [self.around.tune, self.around.bass].into_iter().flatten();
        let alone = lines.clone().next().is_none();
        if !alone && lines.all(|line| line.class() != pitch.class()) {
            tally.add(Term::OtherTone, beats);
        }
        if let Some(top) = self.around.top {
            if pitch > top {
                let above = f64::from(pitch.distance(top).min(6));
                tally.add(Term::AboveTune, above * beats);
            }
            if matches!(pitch.distance(top), 1 | 13) {
                tally.add(Term::Clash, beats);
            }
        }
        if let Some(floor) = self.around.floor {
            if pitch < floor {
                tally.add(Term::BelowBass, beats);
            } else {
                tally.add(Term::LowInterval, unclear(pitch, floor) * beats);
            }
        }
    }
}

/// Cents that nobody hears in a band (ours).
const TOLERATED_CENTS: f64 = 8.0;
/// A just major third against equal temperament, cents (1200 log2(5/4) - 400).
const JUST_THIRD: f64 = -13.69;

/// Units of [`Term::LowInterval`] for two notes: nothing where they are clear, or in octaves.
#[must_use]
pub fn unclear(a: Sounding, b: Sounding) -> f64 {
    let apart = a.distance(b);
    // High up, and wide apart, every interval but the half step is clear.
    if apart.is_multiple_of(12) || apart > 19 || a.min(b).midi() > 60 {
        return 0.0;
    }
    let over = table(a.min(b), apart) - CLEAR;
    if over > 0.0 { 1.0 + 2.0 * over } else { 0.0 }
}

/// Roughness looked up: worked out once.
fn table(low: Sounding, apart: u8) -> f64 {
    static TABLE: std::sync::OnceLock<Vec<f64>> = std::sync::OnceLock::new();
    let table = TABLE.get_or_init(|| {
        let lows = (0..=60).filter_map(Sounding::new);
        let row = |low: Sounding| {
            (0..20).map(move |k| {
                low.up(crate::music::Interval(k))
                    .map_or(0.0, |h| roughness(low, h))
            })
        };
        lows.flat_map(row).collect()
    });
    let at = usize::from(low.midi()) * 20 + usize::from(apart);
    table.get(at).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_major_third_is_clear_from_b2_up_and_octaves_everywhere() {
        let note = |m| Sounding::new(m).unwrap();
        assert!(unclear(note(46), note(50)) > 1.0);
        assert!(unclear(note(47), note(51)) == 0.0);
        assert!(unclear(note(24), note(36)) == 0.0);
        assert!(unclear(note(43), note(36)) > 1.0, "a fifth on C2");
    }
}
