//! Changing a note of the tune that nobody can play, where the arranger allows it: the least change.

use super::Problem;
use super::company::Company;
use super::cover::plays;
use super::least_change::OnePart;
use super::line_terms::{self as terms, Milli};
use super::octave_rule::open_octaves;
use super::part_notes::PartNotes;
use super::set_line::{free, moved};
use crate::band::PartId;
use crate::music::{Sounding, Tick};
use crate::plan::fit::ChanceCosts;
use crate::plan::line::LineNote;
use crate::score::{MelodyChange, Role};
use std::ops::Range;

/// Changes notes of the tune that no part plays, where that is allowed: who carries the breath (or
/// else whoever can) plays the note that changes it least, by distance, contour and chord. Gives what
/// was changed.
pub fn change_tune(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &mut [PartNotes],
) -> Vec<MelodyChange> {
    let mut changes = Vec::new();
    if problem.tune.may_change.0.is_empty() {
        return changes;
    }
    for breath in &problem.lines.melody.breaths {
        let change = Changer {
            problem,
            costs,
            breath: breath.clone(),
        };
        change.breath(has, &mut changes);
    }
    changes.sort_by_key(|c| (c.onset, c.sketch));
    changes
}

/// Changes notes of one breath.
pub(super) struct Changer<'a> {
    pub problem: &'a Problem<'a>,
    costs: &'a [ChanceCosts],
    pub breath: Range<usize>,
}

/// A note instead of one of the tune.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Instead {
    /// Which note of the line.
    pub note: usize,
    /// What is played, in the sketch's octave.
    pub pitch: Sounding,
}

/// What a part could play instead of some notes.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Offer {
    cost: Milli,
    part: usize,
    octave: i16,
    /// What it plays at each of the notes; `None`: nothing.
    pitches: Vec<Option<Sounding>>,
}

/// What is played instead of some notes; what is left out is not in it.
fn instead(run: &[usize], pitches: &[Option<Sounding>]) -> Vec<Instead> {
    let played = run.iter().zip(pitches);
    played
        .filter_map(|(note, pitch)| {
            Some(Instead {
                note: *note,
                pitch: (*pitch)?,
            })
        })
        .collect()
}

impl Changer<'_> {
    pub fn note(&self, at: usize) -> Option<&LineNote> {
        self.problem.lines.melody.notes.get(at)
    }

    /// Changes what is lost until nobody can play any of it.
    fn breath(&self, has: &mut [PartNotes], changes: &mut Vec<MelodyChange>) {
        let mut left: Vec<usize> = self
            .breath
            .clone()
            .filter(|i| self.is_lost(*i, has))
            .collect();
        while !left.is_empty() {
            let runs: Vec<Vec<usize>> = left
                .chunk_by(|a, b| a + 1 == *b)
                .map(<[usize]>::to_vec)
                .collect();
            let found = runs.iter().find_map(|run| self.change_run(run, has));
            let Some((done, more)) = found else {
                return;
            };
            left.retain(|i| !done.contains(i));
            changes.extend(more);
        }
    }

    /// Whether nobody plays a note that may be changed.
    fn is_lost(&self, at: usize, has: &[PartNotes]) -> bool {
        let (rules, meters) = (self.problem.tune, self.problem.meters);
        self.note(at).is_some_and(|n| {
            rules.may_change(n.onset, meters)
                && !has.iter().any(|h| plays(h, n.onset, n.pitch.class()))
        })
    }

    /// Changes notes in a row, or some of them; gives which, and how.
    fn change_run(
        &self,
        run: &[usize],
        has: &mut [PartNotes],
    ) -> Option<(Vec<usize>, Vec<MelodyChange>)> {
        let carriers = self.carriers(has);
        let others: Vec<PartId> = self
            .problem
            .band
            .ids()
            .filter(|(id, part)| part.instrument.id != "timpani" && !carriers.contains(id))
            .map(|(id, _)| id)
            .collect();
        for asked in [&carriers, &others] {
            let mut offers: Vec<Offer> = Vec::new();
            for part in asked {
                offers.extend(self.offers(run, *part, &has[part.0]));
            }
            offers.sort();
            for offer in offers {
                let instead = instead(run, &offer.pitches);
                let players = self.players(&offer, &instead, &carriers, has);
                if players.is_empty() {
                    continue;
                }
                let changes = self.apply(&instead, &players, &carriers, has);
                return Some((instead.iter().map(|i| i.note).collect(), changes));
            }
        }
        None
    }

    /// Who plays any of the breath's notes as the tune.
    fn carriers(&self, has: &[PartNotes]) -> Vec<PartId> {
        let carries = |h: &PartNotes| {
            self.breath.clone().filter_map(|i| self.note(i)).any(|n| {
                let mut own = h.struck(n.onset);
                own.any(|o| o.role == Role::Melody && o.pitch.class() == n.pitch.class())
            })
        };
        self.problem
            .band
            .ids()
            .filter(|(id, part)| part.instrument.id != "timpani" && carries(&has[id.0]))
            .map(|(id, _)| id)
            .collect()
    }

    /// What a part could play instead of the notes of a run, in each octave that is open to it.
    fn offers(&self, run: &[usize], part: PartId, has: &PartNotes) -> Vec<Offer> {
        let breath = &self.problem.lines.melody.notes[self.breath.clone()];
        let open = open_octaves(self.problem, Role::Melody, breath, has);
        let of = |octave: i16| {
            let one = OnePart {
                changer: self,
                part: self.problem.band.part(part),
                costs: &self.costs[part.0],
                has,
                octave,
            };
            let (pitches, cost) = one.cheapest(run);
            let away = i64::from(octave.unsigned_abs()) * run.len() as i64;
            let instead = instead(run, &pitches);
            // A part with a limit of leap or speed may have been led astray by what it leaves out.
            one.can_play(&instead).then(|| Offer {
                cost: cost + terms::MOVED.of(away),
                part: part.0,
                octave,
                pitches,
            })
        };
        open.iter().filter_map(of).collect()
    }

    /// Who plays an offer, each with its octave: the part itself, and other carriers who can; nobody
    /// where a part that is never to be heard alone would be.
    fn players(
        &self,
        offer: &Offer,
        instead: &[Instead],
        carriers: &[PartId],
        has: &[PartNotes],
    ) -> Vec<(PartId, i16)> {
        let mut players = vec![(PartId(offer.part), offer.octave)];
        let breath = &self.problem.lines.melody.notes[self.breath.clone()];
        for part in carriers.iter().filter(|p| p.0 != offer.part) {
            let open = open_octaves(self.problem, Role::Melody, breath, &has[part.0]);
            let can = |octave: &i16| {
                let one = OnePart {
                    changer: self,
                    part: self.problem.band.part(*part),
                    costs: &self.costs[part.0],
                    has: &has[part.0],
                    octave: *octave,
                };
                one.can_play(instead)
            };
            let nearest = open
                .iter()
                .filter(can)
                .min_by_key(|k| (k.unsigned_abs(), *k));
            players.extend(nearest.map(|k| (*part, k)));
        }
        let needed =
            |p: &(PartId, i16)| Company::of(self.problem.band.part(p.0)) == Company::Needed;
        if players.len() == 1 && players.iter().any(needed) {
            return Vec::new();
        }
        players.sort_unstable();
        players
    }

    fn apply(
        &self,
        instead: &[Instead],
        players: &[(PartId, i16)],
        carriers: &[PartId],
        has: &mut [PartNotes],
    ) -> Vec<MelodyChange> {
        let mut changes = Vec::new();
        for one in instead {
            let Some(note) = self.note(one.note) else {
                continue;
            };
            let mut parts = Vec::new();
            for (part, octave) in players {
                let has = &mut has[part.0];
                let new = LineNote {
                    pitch: one.pitch,
                    ..*note
                };
                let own = free(new, Tick(u64::MAX), has);
                let own: Vec<_> = moved(own.as_slice(), *octave, Role::Melody).collect();
                parts.extend(own.iter().map(|n| (*part, n.pitch)));
                has.add(own);
            }
            let main = players.iter().map(|p| p.0);
            let carrier = main.clone().find(|p| carriers.contains(p));
            let reason = self.reason(note, one.pitch, carrier.or(main.min()));
            changes.push(MelodyChange {
                onset: note.onset,
                sketch: note.pitch,
                new: Some(one.pitch),
                parts,
                reason,
            });
        }
        changes
    }

    fn reason(&self, note: &LineNote, new: Sounding, part: Option<PartId>) -> String {
        let name = part.map_or("", |p| self.problem.band.part(p).name.as_str());
        let by = note.pitch.to(new).0;
        let way = if by > 0 { "higher" } else { "lower" };
        let chord = self.problem.reading.chord(note.onset);
        let what = if by % 12 == 0 {
            "the same note"
        } else if chord.is_some_and(|c| c.chord.tone(new.class()).is_some()) {
            "a tone of the chord"
        } else {
            "a tone of the key"
        };
        let size = by.unsigned_abs();
        let steps = if size == 1 { "semitone" } else { "semitones" };
        format!(
            "no free part can play {}; {name} plays {new} for it, {what}, {size} {steps} {way}",
            note.pitch
        )
    }
}
