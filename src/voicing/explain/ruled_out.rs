//! Notes that were not among a part's choices at a step, and why.

use super::Explainer;
use super::marginals::Marginal;
use super::words::percent;
use crate::band::chance::chance;
use crate::band::{BELOW_THE_BREAK, GoEasy, PartId};
use crate::music::{Sounding, Tick, Written};

/// What ruled notes out.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum RuledOutBy {
    /// The part's hard limits, or a remark of the director's.
    Limits,
    /// The greatest leap that the director allows.
    Leap,
    /// They cost more by themselves than all that were tried.
    Dear,
    /// The sketch does not sound them there.
    Foreign,
}

impl RuledOutBy {
    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Limits => "limits",
            Self::Leap => "leap",
            Self::Dear => "dear",
            Self::Foreign => "foreign",
        }
    }
}

/// Notes that were not among the choices.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct RuledOut {
    /// The notes, sounding, lowest first; none named where all others are meant.
    pub notes: Vec<Sounding>,
    /// What ruled them out.
    pub by: RuledOutBy,
    /// In words.
    pub text: String,
}

impl Explainer<'_> {
    /// What was not among the choices of a part that fills the chord of a step.
    pub(super) fn ruled_out(&self, part: PartId, step: usize, all: &[Marginal]) -> Vec<RuledOut> {
        let of = &self.chords.steps[step];
        if of.tones.is_empty() {
            return Vec::new();
        }
        let mut out = Vec::new();
        out.extend(self.below(part, step));
        out.extend(self.above(part, step));
        out.extend(self.too_far(part, all));
        out.extend(self.too_dear(part, step, all));
        let tones: Vec<String> = of.tones.iter().map(|c| self.tone(c, step)).collect();
        out.push(RuledOut {
            notes: Vec::new(),
            by: RuledOutBy::Foreign,
            text: format!(
                "all but the {}: the sketch does not sound them all through this chord",
                tones.join(", ")
            ),
        });
        out
    }

    /// The next chord tone under the part's limits.
    fn below(&self, part: PartId, step: usize) -> Option<RuledOut> {
        let low = self.band_part(part).limits.range.low;
        let under = (0..low.midi()).rev().filter_map(Sounding::new);
        let mut in_chord = under.filter(|p| self.chords.steps[step].tones.contains(p.class()));
        let note = in_chord.next()?;
        let limit = self.written(part, low, self.tick(step));
        let whose = self.whose_low(part);
        Some(self.by_limits(
            part,
            note,
            "and below",
            &format!("lower than written {limit}, {whose}"),
            self.tick(step),
        ))
    }

    fn above(&self, part: PartId, step: usize) -> Option<RuledOut> {
        let high = self.band_part(part).limits.range.high;
        let over = (high.midi() + 1..=127).filter_map(Sounding::new);
        let mut in_chord = over
            .into_iter()
            .filter(|p| self.chords.steps[step].tones.contains(p.class()));
        let note = in_chord.next()?;
        let limit = self.written(part, high, self.tick(step));
        let whose = self.whose_high(part);
        Some(self.by_limits(
            part,
            note,
            "and above",
            &format!("higher than written {limit}, {whose}"),
            self.tick(step),
        ))
    }

    fn by_limits(
        &self,
        part: PartId,
        note: Sounding,
        further: &str,
        why: &str,
        at: Tick,
    ) -> RuledOut {
        RuledOut {
            notes: vec![note],
            by: RuledOutBy::Limits,
            text: format!("written {} {further}: {why}", self.written(part, note, at)),
        }
    }

    fn whose_low(&self, part: PartId) -> String {
        let of = self.band_part(part);
        let low = of.instrument.transposition.written(of.limits.range.low);
        if of.remarks.lowest == Some(low) {
            return "the lowest that the director allows (remark `lowest`)".to_owned();
        }
        self.whose(part, low, |range| range.low)
    }

    fn whose_high(&self, part: PartId) -> String {
        let of = self.band_part(part);
        let high = of.instrument.transposition.written(of.limits.range.high);
        if of.remarks.below_the_break && high == BELOW_THE_BREAK {
            return "since the director keeps it below the break (remark `below_the_break`)"
                .to_owned();
        }
        if of.remarks.highest == Some(high) {
            return "the highest that the director allows (remark `highest`)".to_owned();
        }
        self.whose(part, high, |range| range.high)
    }

    /// Whose limit it is: that of going easy on players, or of the weakest.
    fn whose(
        &self,
        part: PartId,
        limit: Written,
        end: impl Fn(crate::band::WrittenRange) -> Written,
    ) -> String {
        let of = self.band_part(part);
        let weakest = of.players.weakest();
        let own = weakest.map(|level| end(of.instrument.range(level).stretch));
        match (of.remarks.go_easy, weakest) {
            (Some(GoEasy::Braces), _) if own != Some(limit) => {
                "as far as it goes easy on braces (ask the director)".to_owned()
            }
            (Some(GoEasy::Injury), _) if own != Some(limit) => {
                "as far as it goes easy on an injury (ask the director; medical advice goes first)"
                    .to_owned()
            }
            (_, Some(level)) => format!("as far as {level} players reach"),
            (_, None) => "the end of its range".to_owned(),
        }
    }

    /// Notes that were tried, but that no path leads to.
    fn too_far(&self, part: PartId, all: &[Marginal]) -> Option<RuledOut> {
        let most = self.band_part(part).limits.max_leap?.size();
        let lost = all.iter().filter(|m| m.more.is_none());
        let notes: Vec<Sounding> = lost.filter_map(|m| m.sounds).collect();
        (!notes.is_empty()).then(|| RuledOut {
            notes,
            by: RuledOutBy::Leap,
            text: format!("a leap of more than {most} semitones would lie before or after, which the director rules out (remark `no_leaps_over`)"),
        })
    }

    /// Notes in reach that cost more by themselves than those that were tried.
    fn too_dear(&self, part: PartId, step: usize, all: &[Marginal]) -> Option<RuledOut> {
        let of = &self.chords.steps[step];
        let range = self.band_part(part).limits.range;
        let pitches = (range.low.midi()..=range.high.midi()).filter_map(Sounding::new);
        let tried = |p: &Sounding| all.iter().any(|m| m.sounds == Some(*p));
        let notes: Vec<Sounding> = pitches
            .filter(|p| of.tones.contains(p.class()) && !tried(p))
            .collect();
        let place = self.chords.place(part, step);
        let points = |p: &Sounding| place.note_cost(*p, self.problem.weights);
        let least = notes.iter().filter_map(|p| Some((points(p)?, *p))).min()?;
        let context = self.costs[part.0].context(least.1, &of.moment, None);
        let found = chance(self.band_part(part), least.1, &context);
        let tried = all.iter().filter(|m| m.sounds.is_some()).count();
        let cause = found.causes.first().filter(|_| found.value < 0.9);
        let cause = cause.map_or(String::new(), |c| format!(" ({})", c.text));
        let name = self.written(part, least.1, of.start);
        Some(RuledOut {
            text: format!(
                "dearer by themselves than the {tried} notes that were tried; the cheapest of them, written {name}, costs {:.1} points by itself and comes out clean at {}{cause}",
                f64::from(least.0) / 1000.0,
                percent(found.value)
            ),
            notes,
            by: RuledOutBy::Dear,
        })
    }
}
