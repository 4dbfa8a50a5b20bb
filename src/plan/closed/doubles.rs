//! Players of two instruments: which of the two they play when, and time to change.

use super::change_time::ChangeTime;
use crate::band::{Band, PartId, shared_players};
use crate::music::{MeterMap, TempoMap, Tick};
use crate::plan::solve::PassagePlan;
use crate::score::{Closed, ClosedStretch, Locks, Role, Why, joined};

/// A stretch in which one of the two parts is the one that is played.
#[derive(Clone, Copy)]
struct Turn {
    /// 0 for the part of the second instrument, 1 for the part with the remark.
    owner: usize,
    start: Tick,
    end: Tick,
    weight: u8,
}

/// Closes, for two parts that share players, whatever would have them sound at once, or without
/// eight seconds and two bars to change instruments. Passage by passage the part with the weightier
/// role is played (melody, bass, counterline, figure, harmony), of equals the one that was played
/// before; time to change is taken from the lighter role. Around a locked passage of one part the
/// other rests.
pub fn close_for_doubles(
    band: &Band,
    passages: &mut [PassagePlan],
    (meters, tempo): (&MeterMap, &TempoMap),
    locks: &Locks,
    closed: &mut Closed,
) {
    let time = ChangeTime { meters, tempo };
    for (main, second) in shared_players(band) {
        let parts = [main, second];
        let locked = parts.map(|p| locked_time(locks, p));
        let turns = turns(passages, parts, closed);
        let turns = turns.into_iter().flat_map(|t| around(t, &locked, time));
        let turns = with_time_to_change(turns.collect(), time);
        for (own, part) in parts.into_iter().enumerate() {
            let mut from = Tick::ZERO;
            let other = parts[1 - own];
            let mut close = |start: Tick, end: Tick| {
                let why = Why::OtherPart(other);
                closed.close(part, ClosedStretch { start, end, why });
            };
            for turn in turns.iter().filter(|t| t.owner == own) {
                close(from, turn.start);
                from = turn.end;
            }
            close(from, Tick(u64::MAX));
        }
    }
    for (id, _) in band.ids() {
        for planned in passages.iter_mut() {
            let passage = planned.passage;
            if closed.covers(id, passage.start, passage.end) {
                planned.roles[id.0].role = Role::Rest;
            }
        }
    }
}

/// How weighty a role is where only one of two parts can be played.
pub fn weight(role: Role) -> u8 {
    match role {
        Role::Melody => 5,
        Role::Bass => 4,
        Role::Counterline => 3,
        Role::Figure => 2,
        Role::Harmony => 1,
        Role::Rest => 0,
    }
}

fn locked_time(locks: &Locks, part: PartId) -> Vec<(Tick, Tick)> {
    let notes = locks.of(part).map_or(&[][..], |l| &l.notes);
    joined(notes.iter().map(|n| (n.onset, n.end())).collect())
}

/// Who is played in each passage, as far as roles tell.
fn turns(passages: &[PassagePlan], parts: [PartId; 2], closed: &Closed) -> Vec<Turn> {
    let mut owner = 0;
    let turn = |planned: &PassagePlan| {
        let passage = planned.passage;
        let weights = parts.map(|p| {
            if closed.covers(p, passage.start, passage.end) {
                0
            } else {
                weight(planned.roles[p.0].role)
            }
        });
        if weights[0] != weights[1] {
            owner = usize::from(weights[1] > weights[0]);
        }
        Turn {
            owner,
            start: passage.start,
            end: passage.end,
            weight: weights[owner],
        }
    };
    passages.iter().map(turn).collect()
}

/// What is left of a turn between the locked notes of the other part.
fn around(turn: Turn, locked: &[Vec<(Tick, Tick)>; 2], time: ChangeTime<'_>) -> Vec<Turn> {
    let mut left = Vec::new();
    let mut from = turn.start;
    for (start, end) in &locked[1 - turn.owner] {
        let (until, again) = (time.before(*start), time.after(*end));
        if again <= turn.start {
            continue;
        }
        if until >= turn.end {
            break;
        }
        left.push(Turn {
            start: from,
            end: until,
            ..turn
        });
        from = from.max(again);
    }
    left.push(Turn {
        start: from,
        ..turn
    });
    left.retain(|t| t.start < t.end);
    left
}

/// Turns of the two with time to change between them, taken from the lighter role.
fn with_time_to_change(turns: Vec<Turn>, time: ChangeTime<'_>) -> Vec<Turn> {
    let mut kept: Vec<Turn> = Vec::with_capacity(turns.len());
    for mut turn in turns {
        while let Some(last) = kept.last_mut().filter(|l| l.owner != turn.owner) {
            if time.after(last.end) <= turn.start {
                break;
            }
            if last.weight >= turn.weight {
                turn.start = turn.start.max(time.after(last.end));
                break;
            }
            last.end = last.end.min(time.before(turn.start));
            if last.end > last.start {
                break;
            }
            kept.pop();
        }
        if turn.start < turn.end {
            kept.push(turn);
        }
    }
    kept
}
