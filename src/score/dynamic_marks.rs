//! How loud a part's notes are, as it is written: dynamics where they begin, and hairpins where one grows into the next.

use super::draft::DraftNote;
use crate::music::{Dynamic, Tick, Ticks};

/// A note keeps the dynamic that is written as long as its velocity lies so near the borders of it: the velocities of
/// neighbouring dynamics lie 16 apart ([`Dynamic::of_velocity`]), and a part is no list of every quarter of a step
/// (ours).
const NEAR: u8 = 4;
/// Steps that follow one another within so many quarters belong to one hairpin (ours).
const ONE_HAIRPIN: u64 = 8;
/// A rest of so many quarters ends what grows or fades (ours).
const APART: u64 = 4;

/// What a part's stave says of loudness.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DynamicMark {
    /// From here on so loud.
    At(Tick, Dynamic),
    /// From here to there louder and louder.
    Grows(Tick, Tick),
    /// From here to there softer and softer.
    Fades(Tick, Tick),
}

impl DynamicMark {
    /// Where it begins.
    #[must_use]
    pub const fn start(self) -> Tick {
        match self {
            Self::At(at, _) | Self::Grows(at, _) | Self::Fades(at, _) => at,
        }
    }
}

/// A note with the dynamic that holds at it.
#[derive(Clone, Copy)]
struct Held {
    onset: Tick,
    end: Tick,
    dynamic: Dynamic,
}

/// The dynamics and hairpins of a part, in order; a hairpin stands before the dynamic that it leads to.
///
/// A single louder note is an accent, no dynamic. Steps by one dynamic after the other, in one direction and without
/// a rest between, are one hairpin from the note before the first step to the last; a step of more than one dynamic,
/// or after a rest, is sudden and has no hairpin.
///
/// ```
/// use bandwright::music::{Dynamic, Sounding, Tick, Ticks};
/// use bandwright::score::{DraftNote, DynamicMark, Role, dynamic_marks};
/// let note = |i: u64, velocity| DraftNote {
///     onset: Tick(480 * i),
///     pitch: Sounding::nearest(60),
///     duration: Ticks(480),
///     velocity,
///     role: Role::Melody,
///     locked: false,
/// };
/// let loud = [65, 65, 72, 81, 90, 97, 97];
/// let notes: Vec<DraftNote> = (0..).zip(loud).map(|(i, v)| note(i, v)).collect();
/// assert_eq!(
///     dynamic_marks(&notes, Ticks(480)),
///     [
///         DynamicMark::At(Tick(0), Dynamic::Mp),
///         DynamicMark::Grows(Tick(960), Tick(2400)),
///         DynamicMark::At(Tick(2400), Dynamic::F),
///     ]
/// );
/// ```
#[must_use]
pub fn dynamic_marks(notes: &[DraftNote], quarter: Ticks) -> Vec<DynamicMark> {
    let held = held(notes);
    let Some(first) = held.first() else {
        return Vec::new();
    };
    let mut marks = vec![DynamicMark::At(first.onset, first.dynamic)];
    let steps: Vec<usize> = (1..held.len())
        .filter(|i| held[*i].dynamic != held[i - 1].dynamic)
        .collect();
    let mut at = 0;
    while let Some(step) = steps.get(at).copied() {
        let run = run(&held, &steps[at..], quarter);
        let last = steps.get(at + run - 1).copied().unwrap_or(step);
        let (from, to) = (held[step - 1], held[last]);
        if is_gradual(&held, step, quarter) {
            let span = (from.onset, to.onset);
            marks.push(if to.dynamic > from.dynamic {
                DynamicMark::Grows(span.0, span.1)
            } else {
                DynamicMark::Fades(span.0, span.1)
            });
        }
        marks.push(DynamicMark::At(to.onset, to.dynamic));
        at += run;
    }
    marks
}

/// The dynamic that holds at each note; of notes struck together the loudest counts.
fn held(notes: &[DraftNote]) -> Vec<Held> {
    let mut held: Vec<Held> = Vec::new();
    let mut struck: Vec<(Tick, Tick, u8)> = Vec::new();
    for note in notes {
        match struck.last_mut() {
            Some(last) if last.0 == note.onset => {
                last.1 = last.1.max(note.end());
                last.2 = last.2.max(note.velocity);
            }
            _ => struck.push((note.onset, note.end(), note.velocity)),
        }
    }
    for (i, (onset, end, velocity)) in struck.iter().copied().enumerate() {
        let plain = Dynamic::of_velocity(velocity);
        let before = held.last().map(|h| h.dynamic);
        let next = struck.get(i + 1).map(|s| s.2);
        let dynamic = match before {
            Some(before) if is_near(before, velocity) => before,
            // What the next note takes back was an accent, or an echo of one note.
            Some(before) if next.is_some_and(|n| is_near(before, n)) => before,
            _ => plain,
        };
        held.push(Held {
            onset,
            end,
            dynamic,
        });
    }
    held
}

/// Whether a velocity can still be meant by a dynamic.
fn is_near(dynamic: Dynamic, velocity: u8) -> bool {
    let of = Dynamic::of_velocity;
    of(velocity.saturating_sub(NEAR)) <= dynamic
        && dynamic <= of(velocity.saturating_add(NEAR).min(127))
}

/// How many of the steps from the first on make one hairpin.
fn run(held: &[Held], steps: &[usize], quarter: Ticks) -> usize {
    let grows = |step: usize| held[step].dynamic > held[step - 1].dynamic;
    let mut count = 1;
    while let (Some(before), Some(step)) = (steps.get(count - 1), steps.get(count)) {
        let near = held[*step].onset.since(held[*before].onset).0 <= ONE_HAIRPIN * quarter.0;
        let all = is_gradual(held, *before, quarter) && is_gradual(held, *step, quarter);
        if !near || !all || grows(*before) != grows(*step) {
            break;
        }
        count += 1;
    }
    count
}

/// Whether a step goes to the next dynamic, without a rest before it.
fn is_gradual(held: &[Held], step: usize, quarter: Ticks) -> bool {
    let (from, to) = (held[step - 1], held[step]);
    let apart = to.onset.0.saturating_sub(from.end.0);
    from.dynamic.steps().abs_diff(to.dynamic.steps()) == 1 && apart < APART * quarter.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Sounding;
    use crate::score::Role;
    use proptest::prelude::*;

    fn line(loud: &[(u64, u8)]) -> Vec<DraftNote> {
        let note = |(at, velocity): &(u64, u8)| DraftNote {
            onset: Tick(*at),
            pitch: Sounding::nearest(60),
            duration: Ticks(480),
            velocity: *velocity,
            role: Role::Harmony,
            locked: false,
        };
        loud.iter().map(note).collect()
    }

    #[test]
    fn accents_and_quarter_steps_are_not_written() {
        let loud = [80, 84, 91, 78, 110, 80, 81];
        let notes: Vec<(u64, u8)> = (0..).step_by(480).zip(loud).collect();
        let marks = dynamic_marks(&line(&notes), Ticks(480));
        assert_eq!(marks, [DynamicMark::At(Tick(0), Dynamic::Mf)]);
    }

    #[test]
    fn after_a_rest_and_over_two_dynamics_it_is_sudden() {
        let after_rest = line(&[(0, 65), (480, 65), (4800, 81), (5280, 81)]);
        let sudden = line(&[(0, 49), (480, 49), (960, 97), (1440, 97)]);
        for (notes, at) in [(after_rest, 4800), (sudden, 960)] {
            let marks = dynamic_marks(&notes, Ticks(480));
            assert_eq!(marks.len(), 2, "{marks:?}");
            assert!(matches!(marks[1], DynamicMark::At(t, _) if t == Tick(at)));
        }
    }

    proptest! {
        #[test]
        fn marks_are_in_order_hairpins_lead_to_a_dynamic_and_all_is_the_same_again(
            loud in prop::collection::vec((1_u64..2000, 1_u8..=127), 0..60),
        ) {
            let mut at = 0;
            let notes: Vec<(u64, u8)> = loud.iter().map(|(gap, v)| { at += gap; (at, *v) }).collect();
            let notes = line(&notes);
            let marks = dynamic_marks(&notes, Ticks(480));
            prop_assert_eq!(marks.is_empty(), notes.is_empty());
            for pair in marks.windows(2) {
                prop_assert!(pair[0].start() <= pair[1].start());
                match pair[0] {
                    DynamicMark::Grows(from, to) | DynamicMark::Fades(from, to) => {
                        prop_assert!(from < to);
                        prop_assert!(matches!(pair[1], DynamicMark::At(at, _) if at == to));
                    }
                    DynamicMark::At(..) => {}
                }
            }
            let levels: Vec<Dynamic> = marks.iter().filter_map(|m| match m {
                DynamicMark::At(_, d) => Some(*d),
                _ => None,
            }).collect();
            prop_assert!(levels.windows(2).all(|w| w[0] != w[1]));
        }
    }
}
