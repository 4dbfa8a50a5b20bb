//! The tune as a line to be held against itself.

use super::reading::{Line, ReadNote};
use crate::music::{Tick, Ticks, TicksPerQuarter};

/// Something that lasts: a note of the tune by its pitch, or a chord by its root.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Held {
    pub(super) start: Tick,
    pub(super) end: Tick,
    pub(super) what: i32,
}

/// The melody, each note held until the next where less than a beat is between them: how short
/// notes are played is no change of the tune.
pub(super) fn tune(notes: &[ReadNote], quarter: TicksPerQuarter) -> Vec<Held> {
    let beat = Ticks(u64::from(quarter.get()));
    let mut tune: Vec<Held> = Vec::new();
    for note in notes.iter().filter(|n| n.line == Line::Melody) {
        if let Some(last) = tune.last_mut() {
            if note.onset.since(last.end) < beat || last.end > note.onset {
                last.end = note.onset;
            }
            if last.end <= last.start {
                tune.pop();
            }
        }
        tune.push(Held {
            start: note.onset,
            end: note.end(),
            what: i32::from(note.pitch.midi()),
        });
    }
    tune
}

/// How much of a stretch is like an earlier one: of the time in which either line sounds, the
/// share in which `same` holds of what sounds in the stretch and in the earlier one. `None` where
/// neither sounds. Time grows with the number of things in the two stretches.
pub(super) fn likeness(
    line: &[Held],
    stretch: (Tick, Tick),
    earlier: Tick,
    same: impl Fn(i32, i32) -> bool,
) -> Option<f64> {
    let length = stretch.1.since(stretch.0);
    let mut now = within(line, stretch.0, length).peekable();
    let mut then = within(line, earlier, length).peekable();
    let (mut at, mut alike, mut either) = (0, 0, 0);
    while let Some(next) = [now.peek(), then.peek()]
        .into_iter()
        .flatten()
        .map(|h| h.0)
        .min()
    {
        at = at.max(next);
        let here = now.peek().filter(|h| h.0 <= at).copied();
        let there = then.peek().filter(|h| h.0 <= at).copied();
        // Until something ends or, where only one sounds, the other begins.
        let ends = [here.map(|h| h.1), there.map(|h| h.1)];
        let begins = [now.peek(), then.peek()].map(|h| h.map(|h| h.0).filter(|b| *b > at));
        let until = ends.into_iter().chain(begins).flatten().min().unwrap_or(at);
        either += until - at;
        if let (Some(a), Some(b)) = (here, there)
            && same(a.2, b.2)
        {
            alike += until - at;
        }
        at = until;
        for side in [&mut now, &mut then] {
            side.next_if(|h| h.1 <= at);
        }
    }
    (either > 0).then(|| alike as f64 / either as f64)
}

/// What sounds within a stretch: start and end from its start, in ticks, and what.
fn within(line: &[Held], from: Tick, length: Ticks) -> impl Iterator<Item = (u64, u64, i32)> {
    let end = from + length;
    let first = line.partition_point(|h| h.end <= from);
    let inside = line.iter().skip(first).take_while(move |h| h.start < end);
    inside.map(move |h| (h.start.since(from).0, h.end.min(end).since(from).0, h.what))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(notes: &[(u64, u64, i32)]) -> Vec<Held> {
        let held = |(start, end, what): &(u64, u64, i32)| Held {
            start: Tick(*start),
            end: Tick(*end),
            what: *what,
        };
        notes.iter().map(held).collect()
    }

    #[test]
    fn shares_are_of_the_time_in_which_either_sounds() {
        let tune = line(&[
            (0, 2, 60),
            (2, 4, 62),
            (8, 10, 60),
            (10, 11, 64),
            (11, 12, 62),
        ]);
        let share = |t: i32| likeness(&tune, (Tick(8), Tick(12)), Tick(0), |a, b| a == b + t);
        assert_eq!(share(0), Some(0.75));
        assert_eq!(share(1), Some(0.0));
        assert_eq!(
            likeness(&tune, (Tick(20), Tick(24)), Tick(16), |a, b| a == b),
            None
        );
        // The second half rests now.
        let half = line(&[(0, 2, 60), (2, 4, 62), (8, 10, 60)]);
        assert_eq!(
            likeness(&half, (Tick(8), Tick(12)), Tick(0), |a, b| a == b),
            Some(0.5)
        );
    }
}
