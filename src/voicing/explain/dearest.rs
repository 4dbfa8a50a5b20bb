//! What costs most in a whole draft, and what could be done about it.

use super::Explainer;
use super::words::percent;
use crate::band::PartId;
use crate::band::chance::chance;
use crate::music::{BarNumber, Sounding};
use crate::voicing::account::{About, Entry};
use crate::voicing::terms::Term;
use std::collections::BTreeMap;

/// One thing that costs much: a term in the passages where the same parts bear it.
#[derive(Clone, PartialEq, Debug)]
pub struct Dearest {
    /// The term.
    pub term: Term,
    /// Where it costs, as first and last bars, in order.
    pub bars: Vec<(BarNumber, BarNumber)>,
    /// Who bears it, those who bear most first; without those who bear less than a tenth of it.
    pub parts: Vec<PartId>,
    /// Its cost in points.
    pub points: f64,
    /// Its share of the cost of all chords, 0 to 1.
    pub share: f64,
    /// What is the matter, in words.
    pub reason: String,
    /// What could be done.
    pub remedy: &'static str,
}

impl Explainer<'_> {
    /// The few things that cost most: terms by passage, the dearest first.
    #[must_use]
    pub fn dearest(&self, most: usize) -> Vec<Dearest> {
        let steps = self.chords.steps.len();
        let account = self
            .chords
            .account(&self.voiced.chosen, 0..steps, self.problem.weights);
        let mut groups: BTreeMap<(Term, usize), Vec<Entry>> = BTreeMap::new();
        for entry in account {
            let passage = self.passage_of(entry.step);
            groups.entry((entry.term, passage)).or_default().push(entry);
        }
        let total: i64 = groups.values().map(|g| sum(g)).sum();
        // The same parts with the same trouble are one thing, wherever it is.
        let mut alike: BTreeMap<(Term, Vec<PartId>), Vec<Entry>> = BTreeMap::new();
        for ((term, _), entries) in groups {
            let mut parts = self.bearers(&entries);
            parts.sort_unstable();
            alike.entry((term, parts)).or_default().extend(entries);
        }
        let mut dear: Vec<(i64, Term, Vec<Entry>)> = alike
            .into_iter()
            .map(|((term, _), entries)| (sum(&entries), term, entries))
            .collect();
        dear.sort_by_key(|(cost, term, _)| (-cost, *term));
        dear.into_iter()
            .take(most)
            .map(|(cost, term, entries)| self.told(term, &entries, (cost, total)))
            .collect()
    }

    fn passage_of(&self, step: usize) -> usize {
        let at = self.tick(step);
        let passages = &self.problem.plan.passages;
        passages
            .partition_point(|p| p.passage.start <= at)
            .saturating_sub(1)
    }

    fn told(&self, term: Term, entries: &[Entry], (cost, total): (i64, i64)) -> Dearest {
        Dearest {
            term,
            bars: self.bars(entries, cost),
            parts: self.bearers(entries),
            points: cost as f64 / 1000.0,
            share: cost as f64 / (total as f64).max(1.0),
            reason: self.reason(term, entries),
            remedy: remedy(term),
        }
    }

    /// The passages that bear a twentieth of a cost or more, what adjoins joined.
    fn bars(&self, entries: &[Entry], cost: i64) -> Vec<(BarNumber, BarNumber)> {
        let mut bars: Vec<(BarNumber, BarNumber)> = Vec::new();
        for passage in entries.chunk_by(|a, b| self.passage_of(a.step) == self.passage_of(b.step)) {
            let bar = |e: &Entry| self.problem.meters.bar(self.tick(e.step));
            let (Some(first), Some(last)) = (passage.first(), passage.last()) else {
                continue;
            };
            if 20 * sum(passage) < cost {
                continue;
            }
            match bars.last_mut() {
                Some(before) if bar(first).0 <= before.1.0 + 1 => before.1 = bar(last),
                _ => bars.push((bar(first), bar(last))),
            }
        }
        bars
    }

    /// Who bears some entries: of a choir's all its parts that are free, of the band's nobody.
    fn bearers(&self, entries: &[Entry]) -> Vec<PartId> {
        let mut by_part: BTreeMap<PartId, f64> = BTreeMap::new();
        let mut sum = 0.0;
        for entry in entries {
            let parts: Vec<PartId> = match entry.about {
                About::Note(id) | About::Way(id) => vec![id],
                About::Choir(c) | About::Together(c) => {
                    let all = self.chords.choirs().get(c).into_iter().flatten();
                    let free = all.filter(|id| self.chords.is_free(**id, entry.step));
                    free.copied().collect()
                }
                About::Band(_) => Vec::new(),
            };
            let cost = f64::from(entry.cost);
            sum += cost;
            for id in &parts {
                *by_part.entry(*id).or_default() += cost / parts.len() as f64;
            }
        }
        let mut bearers: Vec<(PartId, f64)> = by_part.into_iter().collect();
        bearers.retain(|(_, cost)| *cost >= 0.1 * sum);
        bearers.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        bearers.into_iter().map(|(id, _)| id).collect()
    }

    /// What is the matter, from the dearest entry of all.
    fn reason(&self, term: Term, entries: &[Entry]) -> String {
        let Some(worst) = entries.iter().max_by_key(|e| (e.cost, usize::MAX - e.step)) else {
            return String::new();
        };
        let place = self.problem.meters.place(self.tick(worst.step));
        let part = match worst.about {
            About::Note(id) | About::Way(id) => Some(id),
            _ => None,
        };
        let note = part.and_then(|id| {
            let choice = self.voiced.chosen.get(worst.step)?.get(id.0)?;
            Some((id, choice.sounds?))
        });
        match (term, note) {
            (Term::Clean, Some((id, pitch))) => {
                let cause = self.main_cause(id, pitch, worst.step);
                let (name, note) = (
                    self.name(id),
                    self.written(id, pitch, self.tick(worst.step)),
                );
                format!("hardest is {name}'s written {note} at {place}{cause}")
            }
            (Term::AboveTune, _) => self.low_tune(entries),
            (Term::Register | Term::High | Term::Low, Some((id, pitch))) => {
                let (name, note) = (
                    self.name(id),
                    self.written(id, pitch, self.tick(worst.step)),
                );
                format!(
                    "farthest from the middle of its range is {name}'s written {note} at {place}"
                )
            }
            (_, Some((id, pitch))) => {
                let (name, note) = (
                    self.name(id),
                    self.written(id, pitch, self.tick(worst.step)),
                );
                format!("most at {place}, {name}'s written {note}")
            }
            (_, None) => match worst.about {
                About::Band(Some(class)) => {
                    format!("most at {place}, the {}", self.tone(class, worst.step))
                }
                About::Choir(c) | About::Together(c) => {
                    let parts = self.chords.choirs().get(c).cloned().unwrap_or_default();
                    format!("most at {place}, in {}", self.names(&parts))
                }
                _ => format!("most at {place}"),
            },
        }
    }

    fn main_cause(&self, part: PartId, pitch: Sounding, step: usize) -> String {
        let context = self.costs[part.0].context(pitch, &self.chords.steps[step].moment, None);
        let found = chance(self.band_part(part), pitch, &context);
        let cause = found
            .causes
            .first()
            .map_or(String::new(), |c| format!(": {}", c.text));
        format!(", {} clean{cause}", percent(found.value))
    }

    /// Where the tune lies that harmony stands above.
    fn low_tune(&self, entries: &[Entry]) -> String {
        let tops = entries
            .iter()
            .filter_map(|e| Some((self.chords.around(e.step).top?, e.step)));
        let (low, high) = (tops.clone().min(), tops.max());
        match (low, high) {
            (Some((low, a)), Some((high, b))) if low != high => format!(
                "the tune lies low there, from {} to {} in concert pitch",
                self.concert(low, self.tick(a)),
                self.concert(high, self.tick(b))
            ),
            (Some((low, a)), _) => {
                format!(
                    "the tune lies low there, at {} in concert pitch",
                    self.concert(low, self.tick(a))
                )
            }
            _ => String::new(),
        }
    }
}

fn sum(entries: &[Entry]) -> i64 {
    entries.iter().map(|e| i64::from(e.cost)).sum()
}

/// What could be done where a term costs much (common practice, no source).
const fn remedy(term: Term) -> &'static str {
    match term {
        Term::Clean | Term::CleanWay => {
            "give these notes to a stronger part, or let the part rest there"
        }
        Term::Register | Term::High | Term::Low => {
            "let a part whose middle lies there fill the chord instead"
        }
        Term::Tuning => "give long notes to another part, or agree on other fingerings",
        Term::Silent => {
            "nothing, if the silence is wanted; else plan a rest, or another part for the chord"
        }
        Term::Clash | Term::Rub | Term::MinorNinth => {
            "take the rubbing tone out of the sketch's chord, or let fewer parts fill it"
        }
        Term::AboveTune => {
            "move the tune an octave up, let a higher part carry it, or let the high parts rest"
        }
        Term::BelowBass => "let a lower part carry the bass, or plan the low parts to rest",
        Term::LowInterval | Term::LowClose => {
            "let fewer low parts fill the chord, or have them double the bass"
        }
        Term::Share => {
            "let a part of another choir fill the chord as well, or weigh the balance less in the style"
        }
        Term::ChoirIncomplete => "let all of the choir fill the chord, or none of it",
        Term::NoThird
        | Term::NoSeventh
        | Term::NoRoot
        | Term::NoFifth
        | Term::NoAlteredFifth
        | Term::NoOther => "plan one more part to fill the chord",
        Term::Unison
        | Term::Gap
        | Term::Open
        | Term::Close
        | Term::Narrow
        | Term::WideOnTop
        | Term::Crossing
        | Term::Overlap => {
            "choose a style with another position, or let one part fewer of the choir play"
        }
        Term::LeadingDoubled | Term::SeventhDoubled | Term::ThirdDoubled | Term::FifthDoubled => {
            "let one part fewer of the choir fill the chord"
        }
        Term::LoudThird => "let a louder part fill the chord too, or this one carry a line",
        Term::Motion | Term::CommonTone | Term::WideLeap | Term::Awkward | Term::Entry => {
            "let the part hold over the quick chords, or make the sketch's chords change less often"
        }
        Term::ParallelOctave | Term::ParallelFifth | Term::OwnOctave | Term::OwnFifth => {
            "weigh parallels less in the style where chords are to move in block, or change the sketch's bass there"
        }
        Term::LeadingTone | Term::Seventh => "fix the resolution by hand and lock it",
        Term::HoleUnderTune => {
            "plan a part between the tune and the chord, or the tune an octave lower"
        }
        Term::OtherTone => "let the part carry the tune or the bass, or choose another style",
        Term::LowWeak => "let more low parts fill the chord, or plan the bass an octave lower",
        Term::LeapIntoFixed => "move one of the two locks nearer to the other",
        Term::Moved => "nothing: it is what changing the draft costs",
    }
}
