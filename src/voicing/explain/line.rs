//! Why a part carries this note of a line, in this octave.

use super::rest::words;
use super::words::percent;
use super::{Explainer, Explanation, NoteCost, Place, RuledOut, RuledOutBy, RunnerUp};
use crate::band::PartId;
use crate::music::{Interval, Sounding};
use crate::plan::fit::{OCTAVES, moved_cost};
use crate::plan::line::LineNote;
use crate::score::{DraftNote, Role};
use crate::voicing::line_terms::{self as terms, LineTerm, Milli};

/// Some notes of a breath that a part plays in one octave, with what stands around them.
struct Breath {
    notes: Vec<LineNote>,
    octave: i16,
    /// The octave that the plan wishes; `None` where the part took the notes over.
    wish: Option<i16>,
    /// The part's notes of the line before and after, with their octaves.
    beside: [Option<(DraftNote, i16)>; 2],
}

impl Explainer<'_> {
    /// A note of the tune, the second tune, the bass or a figure.
    pub(super) fn line_note(&self, part: PartId, note: &DraftNote) -> Explanation {
        let mut reasons = vec![self.carries(part, note)];
        reasons.extend(self.changed(part, note));
        let breath = self.breath(part, note);
        if breath.as_ref().is_some_and(|b| b.wish.is_none()) {
            reasons.push(format!(
                "takes this breath over: those whom the plan gives the {} do not have these notes",
                words(note.role)
            ));
        }
        reasons.extend(self.plan_reason(part, note.onset));
        let mut why = Explanation {
            part,
            start: note.onset,
            end: note.end(),
            sounds: Some(note.pitch),
            role: note.role,
            locked: false,
            reasons,
            costs: Vec::new(),
            total: 0.0,
            runners_up: Vec::new(),
            ruled_out: Vec::new(),
        };
        if let Some(breath) = breath {
            self.octaves(&breath, &mut why);
        }
        why
    }

    fn carries(&self, part: PartId, note: &DraftNote) -> String {
        let same = |n: &DraftNote| n.role == note.role && n.pitch.class() == note.pitch.class();
        let at = note.onset;
        let lines = self.draft().lines.iter().filter(|l| l.part != part);
        let along = lines.filter(|l| {
            let from = l.notes.partition_point(|n| n.onset < at);
            l.notes[from..]
                .iter()
                .take_while(|n| n.onset == at)
                .any(same)
        });
        let along: Vec<PartId> = along.map(|l| l.part).collect();
        let who = if along.is_empty() {
            "alone".to_owned()
        } else {
            format!("with {}", self.names(&along))
        };
        format!("carries the {} here, {who}", words(note.role))
    }

    /// A note of the tune that is not as the sketch has it.
    fn changed(&self, part: PartId, note: &DraftNote) -> Option<String> {
        let changes = self.draft().melody_changes.iter();
        let mut here = changes.filter(|c| c.onset == note.onset);
        let change = here.find(|c| c.parts.contains(&(part, note.pitch)))?;
        Some(format!(
            "the sketch has {} here in concert pitch; it was changed: {}",
            self.concert(change.sketch, note.onset),
            change.reason
        ))
    }

    /// The notes that the part plays of the breath of a note, in the same octave.
    fn breath(&self, part: PartId, note: &DraftNote) -> Option<Breath> {
        let line = self.problem.lines.of_role(note.role)?;
        let octave_of = |n: &DraftNote| -> Option<i16> {
            let own = line.at(n.onset).filter(|l| l.onset == n.onset)?;
            let up = own.pitch.to(n.pitch).0;
            (n.role == note.role && up % 12 == 0).then_some(up / 12)
        };
        let octave = octave_of(note)?;
        let has = self.line(part);
        let plays = |l: &&LineNote| {
            let from = has.partition_point(|n| n.onset < l.onset);
            let mut here = has[from..].iter().take_while(|n| n.onset == l.onset);
            here.any(|n| !n.locked && octave_of(n) == Some(octave))
        };
        let whole = line.breath_of(note.onset).iter();
        let notes: Vec<LineNote> = whole.filter(plays).copied().collect();
        let (first, last) = (notes.first()?.onset, notes.last()?.onset);
        let before = has[..has.partition_point(|n| n.onset < first)].last();
        let after = has.get(has.partition_point(|n| n.onset <= last));
        // After something else a line begins wherever it likes.
        let goes_on = |n: &DraftNote| {
            let (from, to) = (n.onset.min(first), n.onset.max(last));
            let passages = self.problem.plan.passages.iter();
            let mut within = passages.filter(|p| p.passage.start <= to && from < p.passage.end);
            within.all(|p| p.roles.get(part.0).is_some_and(|r| r.role == note.role))
        };
        let beside = [before, after].map(|n| n.filter(|n| goes_on(n)));
        let beside = beside.map(|n| n.and_then(|n| Some((*n, octave_of(n)?))));
        let role = self.passage(note.onset)?.roles.get(part.0)?;
        Some(Breath {
            notes,
            octave,
            wish: (role.role == note.role).then_some(role.octave),
            beside,
        })
    }

    /// What the breath costs in its octave, and what others would cost more, all else as it is.
    fn octaves(&self, breath: &Breath, why: &mut Explanation) {
        let costs = &self.costs[why.part.0];
        let own = self.octave_terms(breath, why, breath.octave);
        let sum = |terms: &[(LineTerm, Milli)]| terms.iter().map(|t| t.1).sum::<Milli>();
        let Some(own) = own else { return };
        why.total = sum(&own) as f64 / 1000.0;
        let mean = own.first().map_or(0, |t| t.1) as f64
            / (terms::CLEAN.weight * breath.notes.len() as Milli) as f64;
        let cost = |(term, cost): &(LineTerm, Milli)| NoteCost {
            term: term.name,
            place: Place::Note,
            points: *cost as f64 / 1000.0,
            text: if term.name == terms::CLEAN.name {
                let chance = percent((-mean / 1000.0).exp());
                format!("its notes in this breath come out clean at {chance} in the mean")
            } else {
                format!("a unit: {}", term.unit)
            },
        };
        why.costs = own.iter().filter(|t| t.1 != 0).map(cost).collect();
        let as_written = why.role == Role::Melody
            && self
                .problem
                .tune
                .is_as_written(why.start, self.problem.meters);
        let (mut far, mut fixed) = (Vec::new(), Vec::new());
        for octave in OCTAVES.filter(|k| *k != breath.octave) {
            let first = breath
                .notes
                .first()
                .and_then(|n| n.pitch.up(Interval::octaves(octave)));
            let Some(first) = first else { continue };
            match self.octave_terms(breath, why, octave) {
                _ if as_written => fixed.push(first),
                None => far.push((octave, first)),
                Some(other) => why.runners_up.push(runner_up(first, octave, &own, &other)),
            }
        }
        why.runners_up
            .sort_by(|a, b| a.cost_more.total_cmp(&b.cost_more));
        if why.runners_up.first().is_some_and(|r| r.cost_more < 0.0) {
            why.reasons.push(
                "an octave that looks cheaper below was not taken: octaves are chosen for the whole line, and the ways into fixed notes and octaves bound by the rest of the breath are not counted here".to_owned(),
            );
        }
        let reach = |octave: i16| {
            let pitches = breath
                .notes
                .iter()
                .filter_map(|n| n.pitch.up(Interval::octaves(octave)));
            pitches.filter(|p| costs.reaches(*p)).count()
        };
        // Octaves in which nothing at all is in reach need no word.
        far.retain(|(octave, _)| reach(*octave) > 0);
        let out = far.iter().map(|(octave, first)| RuledOut {
            notes: vec![*first],
            by: RuledOutBy::Limits,
            text: format!(
                "from written {}: {} of the {} notes of this breath would be out of its limits",
                self.written(why.part, *first, why.start),
                breath.notes.len() - reach(*octave),
                breath.notes.len()
            ),
        });
        why.ruled_out.extend(out);
        if as_written {
            why.ruled_out.push(RuledOut {
                notes: fixed,
                by: RuledOutBy::Limits,
                text: "every other octave: the arranger wants the tune as written here".to_owned(),
            });
        }
    }

    /// The terms of a breath in an octave; `None` where a note of it is out of limits.
    fn octave_terms(
        &self,
        breath: &Breath,
        why: &Explanation,
        octave: i16,
    ) -> Option<Vec<(LineTerm, Milli)>> {
        let count = breath.notes.len() as Milli;
        let clean = moved_cost(&self.costs[why.part.0], &breath.notes, octave)?;
        let away = |from: i16| Milli::from((octave - from).unsigned_abs()) * count;
        let mut all = vec![(terms::CLEAN, terms::CLEAN.of(clean))];
        match breath.wish {
            Some(wish) => all.push((terms::OCTAVE, terms::OCTAVE.of(away(wish)))),
            None if why.role == Role::Bass && octave > 0 => {
                all.push((terms::BASS_RAISED, terms::BASS_RAISED.of(away(0))));
            }
            None => all.push((terms::MOVED, terms::MOVED.of(away(0)))),
        }
        let up = |n: Option<&LineNote>| n.and_then(|n| n.pitch.up(Interval::octaves(octave)));
        let ends: [Option<Sounding>; 2] = [up(breath.notes.first()), up(breath.notes.last())];
        let (mut changes, mut over) = (0, 0);
        for (end, beside) in ends.into_iter().zip(&breath.beside) {
            if let (Some(end), Some((note, own))) = (end, beside) {
                changes += Milli::from(*own != octave);
                over += (Milli::from(end.distance(note.pitch)) - 12).max(0);
            }
        }
        all.push((terms::CHANGE, terms::CHANGE.of(changes)));
        all.push((terms::LEAP, terms::LEAP.of(over)));
        Some(all)
    }
}

fn runner_up(
    first: Sounding,
    octave: i16,
    own: &[(LineTerm, Milli)],
    other: &[(LineTerm, Milli)],
) -> RunnerUp {
    let of = |all: &[(LineTerm, Milli)], name: &str| {
        let cost = all.iter().find(|t| t.0.name == name);
        cost.map_or(0, |t| t.1)
    };
    let mut names: Vec<&'static str> = own.iter().chain(other).map(|t| t.0.name).collect();
    names.sort_unstable();
    names.dedup();
    let each = names
        .into_iter()
        .map(|name| (name, of(other, name) - of(own, name)));
    let mut terms: Vec<(&'static str, Milli)> = each.filter(|t| t.1 != 0).collect();
    terms.sort_by_key(|(name, more)| (-more.abs(), *name));
    let more: Milli = terms.iter().map(|t| t.1).sum();
    RunnerUp {
        sounds: Some(first),
        octave: Some(octave),
        cost_more: more as f64 / 1000.0,
        terms: terms
            .into_iter()
            .map(|(name, more)| (name, more as f64 / 1000.0))
            .collect(),
        moves_others: false,
    }
}
