//! Carrying a draft and its locks over to the band that a roster has become.

use super::roster_done::RosterDone;
use crate::band::{Band, PartId};
use crate::music::{BarNumber, MeterMap};
use crate::score::{BarSet, Draft, Lock, Locks, PartLine};
use crate::voicing::Scope;
use std::collections::BTreeSet;

/// A draft carried over to another band.
#[derive(Clone, PartialEq, Debug)]
pub struct Carried {
    /// The draft: a line for every part of the band after. Notes stay as they are, playable or not.
    pub draft: Draft,
    /// The locks of the parts that are still there.
    pub locks: Locks,
    /// For every part of the band before, which part it is now; `None` where it is gone.
    pub parts: Vec<Option<PartId>>,
    /// What should be solved again, so that the draft follows the change; empty where nothing need be.
    pub scope: Scope,
    /// What the arranger should know: whose notes and locks are gone.
    pub notes: Vec<String>,
}

/// Carries a draft and its locks over to the band that an edit of the roster has made.
///
/// A part stays the same part while it stays in its section with its number there, whatever it is called.
/// To be solved again is: of a part whose limits or players changed, what should follow that
/// ([`Scope::after_change`]); of a new part, all of it; where a part that is gone had notes, all parts.
#[must_use]
pub fn carried(
    before: &Band,
    done: &RosterDone,
    draft: &Draft,
    locks: &Locks,
    meters: &MeterMap,
) -> Carried {
    let after = &done.band;
    let parts: Vec<Option<PartId>> = before
        .ids()
        .map(|(id, _)| same_part(before, id, done))
        .collect();
    let now = |part: PartId| parts.get(part.0).copied().flatten();
    let mut lines: Vec<PartLine> = after
        .ids()
        .map(|(part, _)| PartLine {
            part,
            notes: Vec::new(),
        })
        .collect();
    let mut notes = Vec::new();
    let mut scope = Scope::default();
    for line in &draft.lines {
        let place = now(line.part).and_then(|p| lines.get_mut(p.0));
        match place {
            Some(place) => place.notes.clone_from(&line.notes),
            None if line.notes.is_empty() => {}
            None => {
                let bars = line.notes.iter().map(|n| meters.bar(n.onset));
                let bars: BTreeSet<BarNumber> = bars.collect();
                let spans: Vec<_> = bars.iter().map(|b| (*b, *b)).collect();
                scope = scope.and(Scope::bars(meters, after.parts.len(), &spans, &[]));
                let name = before.parts.get(line.part.0).map_or("", |p| &p.name);
                notes.push(format!(
                    "{name} is gone from the draft with {} notes; others take over where they can",
                    line.notes.len()
                ));
            }
        }
    }
    let mut melody_changes = draft.melody_changes.clone();
    melody_changes.retain_mut(|change| {
        let had = change.parts.len();
        let moved = change.parts.iter();
        change.parts = moved
            .filter_map(|(p, pitch)| Some((now(*p)?, *pitch)))
            .collect();
        had == 0 || !change.parts.is_empty()
    });
    let draft = Draft {
        lines,
        melody_changes,
    };
    scope = scope.and(touched(before, after, &parts, (&draft, meters)));
    let mut kept: Vec<Lock> = Vec::new();
    for lock in &locks.0 {
        match now(lock.part) {
            Some(part) => kept.push(Lock {
                part,
                bars: BarSet(lock.bars.0.clone()),
                notes: lock.notes.clone(),
            }),
            None => {
                let name = before.parts.get(lock.part.0).map_or("", |p| &p.name);
                notes.push(format!("what was locked of {name} is gone with it"));
            }
        }
    }
    kept.sort_by_key(|l| l.part);
    Carried {
        draft,
        locks: Locks(kept),
        parts,
        scope,
        notes,
    }
}

/// The part of the band after that a part was: of the same section, with the same number in it.
fn same_part(before: &Band, id: PartId, done: &RosterDone) -> Option<PartId> {
    let part = before.parts.get(id.0)?;
    let was = part.seats.first()?.section;
    let is = done.sections.get(was).copied().flatten()?;
    let name = |band: &Band, section: usize| {
        let section = band.roster.sections.get(section);
        section.map(|s| s.name.clone()).unwrap_or_default()
    };
    let number = part.name.strip_prefix(&name(before, was)).unwrap_or("");
    let stem = name(&done.band, is);
    let of_section = |p: &crate::band::Part| p.seats.first().is_some_and(|s| s.section == is);
    let mut own = done.band.ids().filter(|(_, p)| of_section(p));
    own.find(|(_, p)| p.name.strip_prefix(&stem) == Some(number))
        .map(|(id, _)| id)
}

/// What should follow the changes of parts, and new parts.
fn touched(
    before: &Band,
    after: &Band,
    parts: &[Option<PartId>],
    (draft, meters): (&Draft, &MeterMap),
) -> Scope {
    let mut scope = Scope::default();
    for (id, now) in after.ids() {
        let was = parts.iter().position(|p| *p == Some(id));
        let more = match was.and_then(|w| before.parts.get(w)) {
            None => Scope::whole(after.parts.len(), &[id]),
            Some(was)
                if was.limits == now.limits
                    && was.players == now.players
                    && was.remarks == now.remarks
                    && was.instrument == now.instrument =>
            {
                continue;
            }
            Some(_) => Scope::after_change(after, meters, draft, id),
        };
        scope = scope.and(more);
    }
    scope
}
