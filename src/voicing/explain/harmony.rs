//! Why a part that fills the chord plays this note, or rests.

use super::marginals::Marginal;
use super::words::{At, tone_word};
use super::{Explainer, Explanation, NoteCost, Place, RunnerUp};
use crate::band::PartId;
use crate::music::{KeySignature, PitchClass, Sounding};
use crate::score::{DraftNote, Role};
use crate::voicing::account::{About, Entry};
use crate::voicing::candidates::Choice;
use crate::voicing::chords::NOTHING_YET;
use crate::voicing::terms::Term;
use std::collections::BTreeMap;
use std::ops::Range;

impl Explainer<'_> {
    /// A part that is free to fill the chord of a step; `note` is what it has in the draft.
    pub(super) fn harmony(
        &mut self,
        part: PartId,
        step: usize,
        note: Option<&DraftNote>,
    ) -> Explanation {
        let (start, end) = (self.tick(step), self.chords.steps[step].end);
        let costs = self.note_costs(part, step);
        let total = costs.iter().filter(|c| c.place != Place::WayOut);
        let total = total.map(|c| c.points).sum();
        let (marginals, excess) = self.choices(part, step);
        let runners_up = self.runners_up(part, step, &marginals);
        let mut reasons = self.harmony_reasons(part, step, note, &runners_up);
        if excess > 0 {
            reasons.push(format!(
                "the search stopped {:.3} points short of the best for this choir as the others are",
                excess as f64 / 1000.0
            ));
        }
        Explanation {
            part,
            start,
            end,
            sounds: note.map(|n| n.pitch),
            role: Role::Harmony,
            locked: false,
            reasons,
            costs,
            total,
            ruled_out: self.ruled_out(part, step, &marginals),
            runners_up,
        }
    }

    fn chosen(&self, part: PartId, step: usize) -> Choice {
        let of_step = self.voiced.chosen.get(step);
        let choice = of_step.and_then(|all| all.get(part.0));
        choice.copied().unwrap_or(NOTHING_YET)
    }

    fn at(&self, part: PartId, step: usize, class: Option<PitchClass>) -> At {
        let before = step.checked_sub(1).map(|b| self.chosen(part, b));
        At {
            part,
            step,
            before: before.unwrap_or_else(|| self.chords.nothing_yet(part)),
            now: self.chosen(part, step),
            class,
        }
    }

    /// What a part's note costs at a step by term; of what it shares with others, its share. Over
    /// all parts and steps that is the cost of the chords, ways out left out.
    #[must_use]
    pub fn note_costs(&self, part: PartId, step: usize) -> Vec<NoteCost> {
        let end = (step + 2).min(self.chords.steps.len());
        let entries = self
            .chords
            .account(&self.voiced.chosen, step..end, self.problem.weights);
        let mut sums: BTreeMap<(Place, Term, Option<PitchClass>), (f64, f64)> = BTreeMap::new();
        for entry in &entries {
            let class = match entry.about {
                About::Band(class) => class,
                _ => None,
            };
            let Some((place, share)) = self.share(part, step, entry) else {
                continue;
            };
            let sum = sums.entry((place, entry.term, class)).or_default();
            sum.0 += f64::from(entry.cost) / 1000.0 * share;
            sum.1 += entry.units;
        }
        let cost = |((place, term, class), (points, units)): ((Place, Term, _), _)| {
            let step = if place == Place::WayOut {
                step + 1
            } else {
                step
            };
            NoteCost {
                term: term.facts().name,
                place,
                points,
                text: self.in_words(term, units, self.at(part, step, class)),
            }
        };
        let mut costs: Vec<NoteCost> = sums.into_iter().map(cost).collect();
        costs.sort_by(|a, b| a.place.cmp(&b.place).then(b.points.total_cmp(&a.points)));
        costs
    }

    /// Which share of an entry of the account is a part's at a step.
    fn share(&self, part: PartId, step: usize, entry: &Entry) -> Option<(Place, f64)> {
        match entry.about {
            About::Note(id) => (id == part && entry.step == step).then_some((Place::Note, 1.0)),
            About::Way(id) if id == part => {
                let place = if entry.step == step {
                    Place::WayIn
                } else {
                    Place::WayOut
                };
                Some((place, 1.0))
            }
            About::Way(_) => None,
            _ if entry.step != step => None,
            About::Choir(c) | About::Together(c) => {
                let parts = self.chords.choirs().get(c)?;
                Some((Place::Choir, self.even_share(part, step, parts)?))
            }
            About::Band(class) => {
                let free = |id: &PartId| self.chords.is_free(*id, step);
                let all: Vec<PartId> = self
                    .problem
                    .band
                    .ids()
                    .map(|(id, _)| id)
                    .filter(free)
                    .collect();
                let has = |id: &PartId| {
                    let sounds = self.chosen(*id, step).sounds;
                    sounds.is_some_and(|p| Some(p.class()) == class)
                };
                let bearers: Vec<PartId> = all.iter().copied().filter(has).collect();
                let bearers = if bearers.is_empty() { all } else { bearers };
                Some((Place::Band, self.even_share(part, step, &bearers)?))
            }
        }
    }

    /// The share of a part among those that are free, or among all where none is.
    fn even_share(&self, part: PartId, step: usize, parts: &[PartId]) -> Option<f64> {
        let free: Vec<&PartId> = parts
            .iter()
            .filter(|id| self.chords.is_free(**id, step))
            .collect();
        let all = if free.is_empty() {
            parts.iter().collect()
        } else {
            free
        };
        all.contains(&&part).then(|| 1.0 / all.len() as f64)
    }

    /// What the part could do, and what the draft costs beyond the choir's best.
    fn choices(&mut self, part: PartId, step: usize) -> (Vec<Marginal>, i64) {
        let Some((choir, place)) = self.choir(part) else {
            return (Vec::new(), 0);
        };
        match self.marginals(choir, step) {
            Some((found, _)) => (found.of(step, place), found.excess()),
            None => (Vec::new(), 0),
        }
    }

    fn runners_up(&mut self, part: PartId, step: usize, all: &[Marginal]) -> Vec<RunnerUp> {
        let own = self.chosen(part, step).sounds;
        let mut others: Vec<(i64, Marginal)> = all
            .iter()
            .filter(|m| m.sounds != own)
            .filter_map(|m| Some((m.more?, *m)))
            .collect();
        others.sort_by_key(|(more, m)| (*more, m.sounds));
        let each = others.into_iter().map(|(more, m)| {
            let (terms, moves_others) = self.difference(part, step, &m);
            RunnerUp {
                sounds: m.sounds,
                octave: None,
                cost_more: more as f64 / 1000.0,
                terms,
                moves_others,
            }
        });
        each.collect()
    }

    /// By which terms the cheapest way through another note differs from the draft, and whether any
    /// other note differs.
    fn difference(
        &mut self,
        part: PartId,
        step: usize,
        other: &Marginal,
    ) -> (Vec<(&'static str, f64)>, bool) {
        let Some((choir, _)) = self.choir(part) else {
            return (Vec::new(), false);
        };
        let Some((found, stretch)) = self.marginals(choir, step) else {
            return (Vec::new(), false);
        };
        let (steps, picked) = found.detour(step, other);
        let parts = self.chords.choirs().get(choir).cloned().unwrap_or_default();
        let within = steps.start..(steps.end + 1).min(stretch.end);
        // Only the steps around are looked at.
        let from = within.start.saturating_sub(1);
        let mut now: Vec<Vec<Choice>> = vec![Vec::new(); from];
        now.extend(self.voiced.chosen[from..within.end].iter().cloned());
        let mut moves_others = false;
        let before = self.by_term(&now, within.clone());
        for (s, choices) in steps.zip(picked) {
            for (id, choice) in parts.iter().zip(choices) {
                let own = &mut now[s][id.0];
                let same = own.sounds == choice.sounds;
                moves_others |= !same && (s, *id) != (step, part);
                *own = choice;
            }
        }
        let after = self.by_term(&now, within);
        let more = |term: &Term| {
            let of = |sums: &BTreeMap<Term, i64>| sums.get(term).copied().unwrap_or(0);
            of(&after) - of(&before)
        };
        let mut terms: Vec<(i64, Term)> = Term::ALL.iter().map(|t| (more(t), *t)).collect();
        terms.retain(|t| t.0 != 0);
        terms.sort_by_key(|(more, term)| (-more.abs(), *term));
        let told = |(more, term): (i64, Term)| (term.facts().name, more as f64 / 1000.0);
        (terms.into_iter().map(told).collect(), moves_others)
    }

    fn by_term(&self, chosen: &[Vec<Choice>], steps: Range<usize>) -> BTreeMap<Term, i64> {
        let entries = self.chords.account(chosen, steps, self.problem.weights);
        let mut sums = BTreeMap::new();
        for entry in entries {
            *sums.entry(entry.term).or_insert(0) += i64::from(entry.cost);
        }
        sums
    }

    fn harmony_reasons(
        &self,
        part: PartId,
        step: usize,
        note: Option<&DraftNote>,
        others: &[RunnerUp],
    ) -> Vec<String> {
        let chosen = self.chosen(part, step).sounds;
        let mut reasons = Vec::new();
        match (note, chosen) {
            (Some(note), _) => reasons.push(self.fills(note.pitch, step)),
            (None, Some(_)) => {}
            (None, None) => reasons.push(self.rests_in_chord(part, step, others)),
        }
        if note.map(|n| n.pitch) != chosen {
            reasons.extend(chosen.map(|pitch| self.thinned(part, step, pitch, note)));
        }
        reasons.extend(self.plan_reason(part, self.tick(step)));
        reasons
    }

    /// What a note is in its chord.
    fn fills(&self, pitch: Sounding, step: usize) -> String {
        let of = &self.chords.steps[step];
        let key = self.problem.reading.key(of.start);
        let key = key.map_or(KeySignature::C_MAJOR, |k| k.signature);
        match of.chord {
            Some(chord) => {
                let label = chord.label(key);
                match chord.tone(pitch.class()) {
                    Some(tone) => format!("fills the chord: the {} of {label}", tone_word(tone)),
                    None => format!("fills the chord: a tone that the sketch sounds with {label}"),
                }
            }
            None => "fills in: a tone that the sketch sounds".to_owned(),
        }
    }

    fn rests_in_chord(&self, part: PartId, step: usize, others: &[RunnerUp]) -> String {
        if self.chords.steps[step].tones.is_empty() {
            return "rests: the sketch sounds no tone here that could be doubled".to_owned();
        }
        match others.iter().find(|o| o.sounds.is_some()) {
            Some(other) => {
                let note = other.sounds.map(|p| self.written(part, p, self.tick(step)));
                let most = other.terms.first().filter(|t| t.1 > 0.0);
                let most = most.map_or(String::new(), |t| format!(", most by {}", t.0));
                format!(
                    "rests: its cheapest note, written {}, would cost {:.1} points more than silence{most}",
                    note.unwrap_or_default(),
                    other.cost_more
                )
            }
            None => "rests: no note of the chord is in its reach".to_owned(),
        }
    }

    /// Why the draft has something else than what was chosen for the chord.
    fn thinned(
        &self,
        part: PartId,
        step: usize,
        pitch: Sounding,
        note: Option<&DraftNote>,
    ) -> String {
        let name = self.written(part, pitch, self.tick(step));
        let speed = self.band_part(part).limits.max_speed;
        match (note, speed) {
            (Some(_), Some(most)) => format!(
                "holds on: written {name} was chosen, but would come sooner than {} notes a second allow",
                most.0
            ),
            (None, Some(most)) => format!(
                "rests: written {name} was chosen, but would come sooner than {} notes a second allow, or be heard alone",
                most.0
            ),
            (_, None) => format!(
                "written {name} was chosen and left out again: the part is not to be heard alone, or leaps too far without it"
            ),
        }
    }
}
