//! Players who hold one note breathe in turns.

use super::BreathFrame;
use super::air::Held;
use crate::music::{MeterMap, Tick};

/// So many groups of players breathe in turns at the most: more need not be told apart (ours).
const MOST: u8 = 4;

/// The latest beat of a note, or where there is none the latest tick, that comes no more than some seconds after a
/// place in it; never before that place.
pub(super) fn latest(note: &Held, after: Tick, seconds: f64, frame: &BreathFrame<'_>) -> Tick {
    let tick = last_tick(note, after, seconds, frame);
    let bar = frame.meters.bar_start(frame.meters.bar(tick));
    let beat = frame.meters.meter(tick).beat(frame.tempo.quarter());
    let on_beat = Tick(bar.0 + tick.since(bar).0 / beat.0.max(1) * beat.0.max(1));
    if on_beat > after { on_beat } else { tick }
}

/// The last tick of a note that comes no more than some seconds after a place in it, by halves.
fn last_tick(note: &Held, after: Tick, seconds: f64, frame: &BreathFrame<'_>) -> Tick {
    let until = frame.tempo.seconds(after) + seconds;
    let (mut low, mut high) = (after.0, note.end.0);
    while low + 1 < high {
        let middle = low + (high - low) / 2;
        if frame.tempo.seconds(Tick(middle)) <= until {
            low = middle;
        } else {
            high = middle;
        }
    }
    Tick(low)
}

/// Breaths of one who holds a note alone, as late as may be.
pub(super) fn on_end(note: &Held, planned: f64, frame: &BreathFrame<'_>) -> Vec<Tick> {
    from(
        note,
        note.onset,
        &|at| latest(note, at, planned, frame),
        planned,
        frame,
    )
}

/// Breaths from a first one on, each as late as may be.
fn from(
    note: &Held,
    first: Tick,
    next_after: &dyn Fn(Tick) -> Tick,
    planned: f64,
    frame: &BreathFrame<'_>,
) -> Vec<Tick> {
    let mut ticks = Vec::new();
    let mut at = first;
    if at > note.onset {
        ticks.push(at);
    }
    let end = frame.tempo.seconds(note.end);
    while end - frame.tempo.seconds(at) > planned {
        let next = next_after(at);
        if next <= at {
            break;
        }
        ticks.push(next);
        at = next;
    }
    ticks
}

/// When each group of a part's players breathes: as many groups as never breathe at the same beat, or where there is
/// no room for two, two between the beats.
pub(super) fn turns(
    note: &Held,
    planned: f64,
    players: u8,
    frame: &BreathFrame<'_>,
) -> Vec<Vec<Tick>> {
    let most = players.min(MOST);
    let all = (2..=most)
        .rev()
        .map(|g| evenly(note, planned, g, frame, true));
    let mut all = all.filter(|t| apart(t));
    all.next()
        .unwrap_or_else(|| evenly(note, planned, 2, frame, false))
}

/// When each of so many groups breathes, at beats if no two then breathe at once.
pub(super) fn turns_of(
    note: &Held,
    planned: f64,
    groups: u8,
    frame: &BreathFrame<'_>,
) -> Vec<Vec<Tick>> {
    let on_beats = evenly(note, planned, groups, frame, true);
    if apart(&on_beats) {
        on_beats
    } else {
        evenly(note, planned, groups, frame, false)
    }
}

fn apart(turns: &[Vec<Tick>]) -> bool {
    let mut all: Vec<Tick> = turns.iter().flatten().copied().collect();
    let count = all.len();
    all.sort_unstable();
    all.dedup();
    all.len() == count
}

/// The first breaths of the groups lie evenly in the time of one breath.
fn evenly(
    note: &Held,
    planned: f64,
    groups: u8,
    frame: &BreathFrame<'_>,
    on_beats: bool,
) -> Vec<Vec<Tick>> {
    let place = |after: Tick, seconds: f64| {
        if on_beats {
            latest(note, after, seconds, frame)
        } else {
            last_tick(note, after, seconds, frame)
        }
    };
    let of = |group: u8| {
        let share = f64::from(group + 1) / f64::from(groups);
        let first = place(note.onset, planned * share);
        from(note, first, &|at| place(at, planned), planned, frame)
    };
    (0..groups).map(of).collect()
}

/// `player 1 of 2 breathes at bar 3, beat 2; player 2 at bar 4, beat 1`.
pub(super) fn in_words(turns: &[(usize, Vec<Tick>)], players: u32, meters: &MeterMap) -> String {
    let alone = players == 1;
    let name = |group: usize| match (alone, players as usize == turns.len()) {
        (true, _) => "the player breathes".to_owned(),
        (false, true) => format!("player {} of {players} breathes", group + 1),
        (false, false) => format!("group {} of {} breathes", group + 1, turns.len()),
    };
    let one = |(group, ticks): &(usize, Vec<Tick>)| {
        let places: Vec<String> = ticks.iter().map(|t| meters.place(*t).to_string()).collect();
        format!("{} at {}", name(*group), places.join(" and "))
    };
    let all: Vec<String> = turns.iter().map(one).collect();
    all.join("; ")
}
