//! Groups of the low stream: a bass note by itself, or a turn of a pattern over its bass.
//!
//! A least-cost path cuts the stream into groups. A turn begins with its lowest note and goes on
//! above it: a broken chord, or chords that answer a bass note. It gains by being chordal, quick
//! and thin, by beginning on a strong place, and most by coming again; it loses by steps and by
//! all that sounds beside it, which speak for a bass line.

use super::low::{Low, Place, Rank};
use super::weights as w;

/// A turn has at most so many notes.
const MOST_NOTES: usize = 24;
/// So many groups that end at one place are kept in mind.
const MOST_OPEN: usize = 10;
/// Its other notes lie at least so far over its first.
const LEAST_RISE: i16 = 3;
/// By so much an interval may differ from turn to turn: the chord may be major, then minor.
const SAME: i16 = 2;

/// Some notes of the low stream that follow one another.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Group {
    /// The first of its notes in the low stream.
    pub(super) start: usize,
    /// One past the last.
    pub(super) end: usize,
    /// What it gains over single bass notes, with what its likeness to its neighbours adds.
    pub(super) gain: f64,
}

/// What is needed of time: ticks of a quarter and of the bar that each low note is in.
pub(super) struct Clock {
    pub(super) quarter: u64,
    pub(super) bars: Vec<u64>,
}

/// The best way to cut the low stream into groups.
pub(super) fn groups(lows: &[Low], clock: &Clock) -> Vec<Group> {
    // For each place in the stream the groups that may end there: start, own gain, best sum,
    // and which of those ending at the start it goes on from.
    let mut ending: Vec<Vec<Open>> = vec![Vec::new(); lows.len() + 1];
    for start in 0..lows.len() {
        keep_best(&mut ending[start]);
        for (group, own) in starting(lows, start, clock) {
            let from = ending[start].iter().enumerate().map(|(k, before)| {
                let join = join(lows, &before.span, &group, clock);
                (k, before.sum + join, join)
            });
            let best = from.max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
            let (from, sum, join) = best.map_or((None, 0.0, 0.0), |(k, s, j)| (Some(k), s, j));
            ending[group.end].push(Open {
                span: group,
                own,
                sum: sum + own,
                join,
                from,
            });
        }
    }
    trace(&ending)
}

/// Leaves the best few of the groups that end at one place, so that memory stays bounded.
fn keep_best(ending: &mut Vec<Open>) {
    if ending.len() > MOST_OPEN {
        ending.sort_by(|a, b| b.sum.total_cmp(&a.sum));
        ending.truncate(MOST_OPEN);
    }
}

#[derive(Clone, Copy)]
struct Open {
    span: Span,
    own: f64,
    sum: f64,
    join: f64,
    from: Option<usize>,
}

#[derive(Clone, Copy)]
struct Span {
    start: usize,
    end: usize,
    /// The pitch classes of its notes.
    classes: u16,
    /// Its highest low note.
    top: i16,
    /// Whether chords answer its bass.
    answered: bool,
}

impl Span {
    fn len(&self) -> usize {
        self.end - self.start
    }
}

fn trace(ending: &[Vec<Open>]) -> Vec<Group> {
    let last = ending.last().map_or(&[][..], |l| l);
    let best = (0..last.len()).max_by(|a, b| last[*a].sum.total_cmp(&last[*b].sum).then(b.cmp(a)));
    let (mut at, mut end) = (best, ending.len().saturating_sub(1));
    let mut found = Vec::new();
    let mut likeness = 0.0;
    while let Some(open) = at.and_then(|k| ending[end].get(k)) {
        found.push(Group {
            start: open.span.start,
            end,
            gain: open.own + open.join + likeness,
        });
        likeness = open.join;
        (at, end) = (open.from, open.span.start);
    }
    found.reverse();
    found
}

/// All groups that begin with a low note, with what each gains by itself.
fn starting(lows: &[Low], start: usize, clock: &Clock) -> Vec<(Span, f64)> {
    let first = &lows[start];
    let mut span = Span {
        start,
        end: start + 1,
        classes: first.classes,
        top: first.pitch,
        answered: false,
    };
    let mut found = vec![(span, 0.0)];
    let begin = w::TURN
        + match first.place {
            Place::Bar => w::ON_BAR,
            Place::Middle => w::ON_MIDDLE,
            Place::Beat => w::ON_BEAT,
            Place::Off => w::OFF_BEAT,
        }
        + match first.rank {
            Rank::Alone => 0.0,
            Rank::Tenth | Rank::Beside => w::TENTH,
            Rank::Full => w::FULL,
        };
    let mut inner = 0.0;
    for end in start + 1..lows.len().min(start + MOST_NOTES) {
        let (before, low) = (&lows[end - 1], &lows[end]);
        let rise = low.pitch - first.pitch;
        let again = rise == 0 && low.is_lone();
        let over = low.at.since(first.at).0;
        // One bar at most, two of chords, with a little slack for what is played.
        let close = low.chord && !again;
        let chord = answers(&lows[start..=end], end - start);
        let most = if chord { 2 } else { 1 } * clock.bars[start];
        if rise < LEAST_RISE && !again || 16 * over >= 17 * most {
            break;
        }
        // One tone of the other hand makes no chord; more do, and it answers nothing.
        if close && !chord && low.others > 1 {
            break;
        }
        span = Span {
            end: end + 1,
            classes: span.classes | low.classes,
            top: span.top.max(low.pitch),
            answered: span.answered || chord,
            ..span
        };
        let gap = low.at.since(before.at).0;
        inner += match chord {
            true if low.others == first.others => w::THIN_ANSWER,
            true => w::ANSWER,
            false => inner_gain(before, low, gap, clock.quarter),
        };
        // A lone note right before an answering chord is a bass of its own.
        if chord && end > start + 1 && !before.chord && before.is_lone() {
            inner += if before.pitch == first.pitch {
                0.0
            } else {
                w::LONE_BEFORE_CHORD
            };
        }
        if first.let_go.is_some_and(|t| before.at < t && t <= low.at) {
            inner += w::PEDAL;
        }
        let small = match end - start {
            1 if span.answered => 0.0,
            1 if 8 * gap >= 7 * clock.quarter => w::SLOW_PAIR,
            1 => w::PAIR,
            _ => 0.0,
        };
        let chordal = if is_chordal(span.classes) {
            w::CHORDAL
        } else {
            w::NOT_CHORDAL
        };
        if span.top > first.pitch {
            found.push((span, begin + inner + small + chordal));
        }
    }
    found
}

/// Whether a note of a group is of a chord that answers its bass: more tones are struck with it
/// than with the bass.
pub(super) fn answers(group: &[Low], k: usize) -> bool {
    let (Some(first), Some(low)) = (group.first(), group.get(k)) else {
        return false;
    };
    let again = low.pitch == first.pitch && low.is_lone();
    if !low.chord || again || !first.is_lone() || !first.bare {
        return false;
    }
    // Over a tenth the tune may have a tone of the chord.
    let wide = low.pitch - first.pitch >= 10 && first.rank == Rank::Tenth;
    let as_many = wide && low.others == first.others && group[1..k].iter().all(|l| l.chord);
    low.others > first.others || as_many
}

fn inner_gain(before: &Low, low: &Low, gap: u64, quarter: u64) -> f64 {
    let pace = match 100 * gap / quarter.max(1) {
        0..=55 => w::QUICK,
        56..=89 => w::MIDDLING,
        _ => w::SLOW,
    };
    let full = match (low.beside, low.thin) {
        (true, _) => w::BESIDE,
        (_, false) => w::NOT_THIN,
        _ => 0.0,
    };
    let step = (before.pitch - low.pitch).abs();
    let step = match step {
        _ if before.chord => 0.0,
        0 => w::REPEATED,
        1 | 2 if 100 * gap > 89 * quarter => w::SLOW_STEP,
        1 | 2 => w::STEP,
        _ => 0.0,
    };
    pace + full + step
}

/// What two neighbouring groups gain or lose together.
fn join(lows: &[Low], a: &Span, b: &Span, clock: &Clock) -> f64 {
    if a.len() < 2 && b.len() < 2 {
        return 0.0;
    }
    let (first, next, last) = (&lows[a.start], &lows[b.start], &lows[b.start - 1]);
    let rise = next.pitch - first.pitch;
    let inside = a.classes & (1 << next.pitch.rem_euclid(12)) != 0;
    let mut sum = 0.0;
    if rise >= LEAST_RISE && inside && !(a.answered && b.answered) {
        sum += if next.place == Place::Bar {
            w::UPPER_BAR
        } else {
            w::UPPER
        };
    }
    let step = (next.pitch - last.pitch).abs();
    if a.len() > 1 && !a.answered && next.pitch > a.top {
        sum += w::ON_AND_UP;
    }
    if a.len() > 1 && !last.chord && (1..=2).contains(&step) {
        sum += w::STEP_OUT;
    }
    if a.len() == b.len() && is_like(&lows[a.start..a.end], &lows[b.start..b.end], clock.quarter) {
        sum += w::ALIKE + w::ALIKE_NOTE * (a.len() - 1) as f64;
    }
    sum
}

/// Whether two turns do the same: the same rhythm, the same intervals over the first note, or
/// chords at the same places.
fn is_like(a: &[Low], b: &[Low], quarter: u64) -> bool {
    a.iter().zip(b).enumerate().skip(1).all(|(k, (x, y))| {
        let (from, to) = (x.at.since(a[0].at).0, y.at.since(b[0].at).0);
        let (up, over) = (x.pitch - a[0].pitch, y.pitch - b[0].pitch);
        let (chord, other) = (answers(a, k), answers(b, k));
        let same = if chord || other {
            chord == other
        } else {
            (up - over).abs() <= SAME && (up == 0) == (over == 0)
        };
        8 * from.abs_diff(to) <= quarter && same
    })
}

/// Chords as pitch classes over their root: triads, sevenths, suspended.
const CHORDS: [u16; 8] = [
    0b0100_1001_0001, // dominant seventh
    0b1000_1001_0001, // major seventh
    0b0100_1000_1001, // minor seventh
    0b0100_0100_1001, // half diminished
    0b0010_0100_1001, // diminished seventh
    0b0001_0001_0001, // augmented
    0b0100_1010_0001, // suspended, with seventh
    0b0000_1001_0101, // added ninth
];

/// Whether pitch classes are all of one chord.
pub(in crate::sketch) fn is_chordal(classes: u16) -> bool {
    (0..12).any(|root| {
        let over = (classes >> root | classes << (12 - root)) & 0xFFF;
        CHORDS.iter().any(|chord| over & !chord == 0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Tick;

    /// Lone notes of an eighth each, four a half bar.
    fn eighths(pitches: &[i16]) -> Vec<Low> {
        let place = |k: usize| match k % 8 {
            0 => Place::Bar,
            4 => Place::Middle,
            2 | 6 => Place::Beat,
            _ => Place::Off,
        };
        let low = |(k, pitch): (usize, &i16)| Low {
            note: k,
            at: Tick(k as u64 * 240),
            pitch: *pitch,
            rank: Rank::Alone,
            bare: true,
            chord: false,
            others: 0,
            beside: false,
            thin: true,
            let_go: None,
            place: place(k),
            classes: 1 << (pitch % 12),
        };
        pitches.iter().enumerate().map(low).collect()
    }

    fn starts(pitches: &[i16]) -> Vec<usize> {
        let lows = eighths(pitches);
        let clock = Clock {
            quarter: 480,
            bars: vec![1920; lows.len()],
        };
        groups(&lows, &clock).iter().map(|g| g.start).collect()
    }

    #[test]
    fn turns_begin_with_their_bass_and_a_walking_line_has_none() {
        assert_eq!(starts(&[48, 55, 52, 55, 48, 55, 52, 55]), [0, 4]);
        assert_eq!(starts(&[48, 55, 60, 64, 67, 64, 60, 55]), [0]);
        assert_eq!(
            starts(&[48, 50, 52, 53, 55, 53, 52, 50]),
            [0, 1, 2, 3, 4, 5, 6, 7]
        );
        assert_eq!(starts(&[]), [] as [usize; 0]);
    }

    #[test]
    fn chords_are_told_by_their_tones() {
        let set = |all: &[u16]| all.iter().fold(0, |c, p| c | 1 << p);
        assert!(is_chordal(set(&[0, 4, 7])) && is_chordal(set(&[7, 11, 2, 5])));
        assert!(!is_chordal(set(&[0, 1, 2])) && !is_chordal(set(&[0, 4, 7, 6])));
    }
}
