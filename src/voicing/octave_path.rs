//! The octave of every breath of a line for a part: the cheapest choice along the line.

use super::line_terms::{self as terms, IMPOSSIBLE, Milli};
use super::octave_rule::Octaves;
use crate::music::Interval;
use crate::plan::Apart;
use crate::plan::fit::{ChanceCosts, before, moved_cost};
use crate::plan::line::LineNote;
use crate::score::DraftNote;

/// Some notes of one breath that a part is free to play.
pub(super) struct Piece {
    /// The breath's place in the line.
    pub breath: usize,
    pub notes: Vec<LineNote>,
    /// Whether the part does something else in a passage between it and the piece before.
    pub begins: bool,
    pub wish: i16,
    /// Octaves that the rest of the breath leaves open.
    pub open: Octaves,
    /// Whether the notes stay as written: all of them are played, or nothing of the breath is.
    pub as_written: bool,
    /// What the part plays before and after, where that is fixed and nothing of the line between.
    pub beside: [Option<Beside>; 2],
}

/// A fixed note beside a piece.
#[derive(Clone, Copy)]
pub(super) struct Beside {
    pub note: DraftNote,
    /// Its octave over the line, where it is the line's.
    pub octave: Option<i16>,
    /// Whether it is so near that the way between counts.
    pub near: bool,
}

/// What is done with a piece.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Choice {
    /// Nothing of its breath is played.
    Out,
    /// It is left out of a breath that is played in an octave.
    Left(i16),
    /// It is played in an octave.
    Played(i16),
}

impl Choice {
    fn all() -> Vec<Self> {
        let octaves = || Octaves::ALL.iter();
        let out = std::iter::once(Self::Out);
        out.chain(octaves().map(Self::Left))
            .chain(octaves().map(Self::Played))
            .collect()
    }

    /// The octave of the breath.
    const fn octave(self) -> Option<i16> {
        match self {
            Self::Out => None,
            Self::Left(octave) | Self::Played(octave) => Some(octave),
        }
    }

    const fn played(self) -> Option<i16> {
        match self {
            Self::Played(octave) => Some(octave),
            _ => None,
        }
    }
}

/// The octave of every piece, or `None` to leave it out: the cheapest choice along the line in which
/// all that is played of a breath is in one octave.
pub(super) fn best_octaves(
    apart: &Apart<'_>,
    costs: &ChanceCosts,
    pieces: &[Piece],
) -> Vec<Option<i16>> {
    let choices = Choice::all();
    let mut best: Vec<Milli> = vec![0; choices.len()];
    let mut back: Vec<Vec<usize>> = Vec::with_capacity(pieces.len());
    for (i, piece) in pieces.iter().enumerate() {
        let before = i.checked_sub(1).map(|b| &pieces[b]);
        let (mut now, mut from) = (Vec::new(), Vec::new());
        for choice in &choices {
            let own = piece_cost(apart, costs, piece, *choice);
            let arrive = choices.iter().zip(&best).map(|(b, cost)| {
                let joint =
                    before.map_or(0, |p| joint_cost(apart, costs, (p, *b), (piece, *choice)));
                cost.saturating_add(joint)
            });
            let (at, cost) = arrive
                .enumerate()
                .min_by_key(|(i, c)| (*c, *i))
                .unwrap_or((0, 0));
            now.push(own.saturating_add(cost).min(IMPOSSIBLE));
            from.push(at);
        }
        best = now;
        back.push(from);
    }
    let least = best.iter().enumerate().min_by_key(|(i, c)| (**c, *i));
    let mut at = least.map_or(0, |(i, _)| i);
    let mut path = Vec::with_capacity(pieces.len());
    for from in back.iter().rev() {
        path.push(choices[at].played());
        at = from[at];
    }
    path.reverse();
    path
}

fn piece_cost(apart: &Apart<'_>, costs: &ChanceCosts, piece: &Piece, choice: Choice) -> Milli {
    let count = piece.notes.len() as Milli;
    if choice.octave().is_some_and(|k| !piece.open.has(k)) {
        return IMPOSSIBLE;
    }
    let octave = match choice {
        Choice::Left(_) if piece.as_written => return IMPOSSIBLE,
        Choice::Out | Choice::Left(_) => return terms::LEFT.of(count),
        Choice::Played(octave) => octave,
    };
    if !apart.holds_in(&piece.notes) {
        return IMPOSSIBLE;
    }
    let away = i64::from((octave - piece.wish).unsigned_abs());
    let clean = match moved_cost(costs, &piece.notes, octave) {
        Some(cost) => terms::CLEAN.of(cost),
        // Where the director limits leaps, holes could open greater ones.
        None if piece.as_written || apart.most_leap().is_some() => return IMPOSSIBLE,
        None => cost_with_holes(costs, &piece.notes, octave),
    };
    let lead = lead_cost(apart, costs, piece, octave);
    clean + lead + terms::OCTAVE.of(away * count)
}

/// The cost of what of a breath is in reach at an octave, the rest left out.
fn cost_with_holes(costs: &ChanceCosts, notes: &[LineNote], octave: i16) -> Milli {
    let mut cost = 0;
    let mut hole = false;
    let mut from = None;
    for note in notes {
        let pitch = note.pitch.up(Interval::octaves(octave));
        let reached = pitch.and_then(|p| costs.cost(p, &note.moment, before(note, from)));
        from = reached.and(pitch);
        cost += match reached {
            Some(clean) => terms::CLEAN.of(clean),
            None if hole => terms::LEFT.of(1),
            None => terms::LEFT.of(1) + terms::HOLE.of(1),
        };
        hole = reached.is_none();
    }
    cost
}

/// What it costs to come out of the fixed note before a piece and to lead into the one after it.
fn lead_cost(apart: &Apart<'_>, costs: &ChanceCosts, piece: &Piece, octave: i16) -> Milli {
    let at = |n: &LineNote| Some((n.onset, n.pitch.up(Interval::octaves(octave))?));
    let (Some(first), Some(last)) = (piece.notes.first(), piece.notes.last()) else {
        return 0;
    };
    let (Some(from), Some(to)) = (at(first), at(last)) else {
        return IMPOSSIBLE;
    };
    let mut cost = 0;
    for (beside, leads_in) in piece.beside.iter().zip([false, true]) {
        let Some(beside) = beside else { continue };
        let fixed = (beside.note.onset, beside.note.pitch);
        let (a, b) = if leads_in { (to, fixed) } else { (fixed, from) };
        if !apart.may_follow(a, b) {
            // A note will have to go.
            cost += terms::LEFT.of(1) + terms::HOLE.of(1);
        }
        if !beside.near {
            continue;
        }
        let leap = i64::from(a.1.to(b.1).size());
        cost += terms::LEAP.of((leap - 12).max(0));
        cost += terms::LEAD.of((leap.min(12) - 7).max(0));
        if !leads_in && first.moment.flow.near {
            cost += terms::CLEAN.of(costs.way_cost(a.1, b.1, &first.moment));
        }
        if beside.octave.is_some_and(|k| k != octave) {
            cost += terms::CHANGE.of(1);
        }
    }
    cost
}

/// What it costs that one piece follows another.
fn joint_cost(
    apart: &Apart<'_>,
    costs: &ChanceCosts,
    (before, a): (&Piece, Choice),
    (now, b): (&Piece, Choice),
) -> Milli {
    if before.breath == now.breath && a.octave() != b.octave() {
        return IMPOSSIBLE;
    }
    let (Some(a), Some(b)) = (a.played(), b.played()) else {
        return 0;
    };
    // After something else a line begins wherever it likes.
    let change = if now.begins {
        0
    } else {
        terms::CHANGE.of(i64::from(a != b))
    };
    if now.beside[0].is_some() {
        // What is fixed between them is led into, and out of.
        return change;
    }
    let (Some(from), Some(first)) = (before.notes.last(), now.notes.first()) else {
        return 0;
    };
    let (then, here) = (from.onset, first.onset);
    let (Some(from), Some(to)) = (
        from.pitch.up(Interval::octaves(a)),
        first.pitch.up(Interval::octaves(b)),
    ) else {
        return IMPOSSIBLE;
    };
    let leap = i64::from(from.to(to).size());
    if !apart.may_follow((then, from), (here, to)) {
        return IMPOSSIBLE;
    }
    if now.begins {
        return 0;
    }
    let way = if first.moment.flow.near {
        terms::CLEAN.of(costs.way_cost(from, to, &first.moment))
    } else {
        0
    };
    change + way + terms::LEAP.of((leap - 12).max(0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::preset;
    use crate::music::{Sounding, TempoMap, Tick, TicksPerQuarter};
    use crate::plan::Moment;
    use proptest::prelude::*;

    /// Breath, notes (MIDI), wish, whether the octaves are bound, whether they stay as written.
    type Drawn = (bool, Vec<u8>, i16, Option<i16>, bool);

    fn drawn() -> impl Strategy<Value = Vec<Drawn>> {
        let pitches = prop::collection::vec(36..96_u8, 1..4);
        let one = (
            any::<bool>(),
            pitches,
            -1..2_i16,
            prop::option::of(-1..2_i16),
            any::<bool>(),
        );
        prop::collection::vec(one, 1..4)
    }

    fn pieces(drawn: &[Drawn]) -> Vec<Piece> {
        let (mut breath, mut at) = (0, 0);
        let mut all: Vec<Piece> = Vec::new();
        for (same, pitches, wish, bound, as_written) in drawn {
            breath += usize::from(!same);
            let notes = pitches.iter().enumerate().map(|(i, p)| LineNote {
                onset: Tick(at + 480 * i as u64),
                end: Tick(at + 480 * i as u64 + 480),
                pitch: Sounding::nearest(i32::from(*p)),
                velocity: 80,
                moment: Moment::default(),
            });
            let open = bound.map_or(Octaves::ALL, |k| Octaves::NONE.with(k));
            all.push(Piece {
                breath,
                notes: notes.collect(),
                begins: !same && pitches.len() % 2 == 1,
                wish: *wish,
                // What a breath leaves open is the same for all of it.
                open: all
                    .last()
                    .filter(|p| p.breath == breath)
                    .map_or(open, |p| p.open),
                as_written: *as_written,
                beside: [None; 2],
            });
            at += 480 * (pitches.len() as u64 + 2);
        }
        all
    }

    /// The cost of choices, counted up; nothing where they may not be.
    fn cost(
        apart: &Apart<'_>,
        costs: &ChanceCosts,
        pieces: &[Piece],
        path: &[Choice],
    ) -> Option<Milli> {
        let mut sum = 0;
        for (i, (piece, choice)) in pieces.iter().zip(path).enumerate() {
            sum += Some(piece_cost(apart, costs, piece, *choice)).filter(|c| *c < IMPOSSIBLE)?;
            if let Some(b) = i.checked_sub(1) {
                let joint = joint_cost(apart, costs, (&pieces[b], path[b]), (piece, *choice));
                sum += Some(joint).filter(|c| *c < IMPOSSIBLE)?;
            }
        }
        Some(sum)
    }

    fn every_path(length: usize) -> Vec<Vec<Choice>> {
        let mut all = vec![Vec::new()];
        for _ in 0..length {
            let longer = |path: &Vec<Choice>| {
                let path = path.clone();
                Choice::all()
                    .into_iter()
                    .map(move |c| [path.clone(), vec![c]].concat())
            };
            all = all.iter().flat_map(longer).collect();
        }
        all
    }

    #[test]
    fn a_line_leads_into_a_lock_and_comes_out_of_it() {
        let band = preset("demo").unwrap();
        let part = band.parts.iter().find(|p| p.name == "Flute 1").unwrap();
        let tempo = TempoMap::new(TicksPerQuarter::new(480).unwrap(), []);
        let apart = Apart::of(part, &tempo);
        let costs = ChanceCosts::of(part, crate::band::playing::Posture::Seated);
        let drawn = [(false, vec![72, 74], 0, None, false)];
        let octave = |beside: [Option<Beside>; 2]| {
            let mut pieces = pieces(&drawn);
            pieces[0].beside = beside;
            best_octaves(&apart, &costs, &pieces)[0]
        };
        let fixed = |pitch: i32, octave: Option<i16>| {
            Some(Beside {
                note: DraftNote {
                    onset: Tick(0),
                    pitch: Sounding::nearest(pitch),
                    duration: crate::music::Ticks(480),
                    velocity: 80,
                    role: crate::score::Role::Harmony,
                    locked: true,
                },
                octave,
                near: true,
            })
        };
        assert_eq!(octave([None, None]), Some(0));
        // The line's own note, an octave higher, on either side.
        assert_eq!(octave([fixed(83, Some(1)), None]), Some(1));
        assert_eq!(octave([None, fixed(88, Some(1))]), Some(1));
        // Another note, far away.
        assert_eq!(octave([fixed(90, None), None]), Some(1));
        let far = fixed(90, None).map(|b| Beside { near: false, ..b });
        assert_eq!(octave([far, None]), Some(0));
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

        #[test]
        fn the_choice_is_the_cheapest_and_has_one_octave_in_a_breath(drawn in drawn(), part in 0..20_usize) {
            let band = preset("demo").unwrap();
            let part = &band.parts[part % band.parts.len()];
            let tempo = TempoMap::new(TicksPerQuarter::new(480).unwrap(), []);
            let apart = Apart::of(part, &tempo);
            let costs = ChanceCosts::of(part, crate::band::playing::Posture::Seated);
            let pieces = pieces(&drawn);
            let chosen = best_octaves(&apart, &costs, &pieces);
            for (i, piece) in pieces.iter().enumerate() {
                for (j, other) in pieces.iter().enumerate().filter(|(_, p)| p.breath == piece.breath) {
                    if let (Some(a), Some(b)) = (chosen[i], chosen[j]) {
                        prop_assert_eq!(a, b, "one octave in a breath");
                    }
                    // What stays as written is played with all else of its breath, or nothing is.
                    if chosen[i].is_some() {
                        prop_assert!(!other.as_written || chosen[j].is_some());
                    }
                }
                if let Some(octave) = chosen[i] {
                    prop_assert!(piece.open.has(octave));
                }
            }
            let all = every_path(pieces.len());
            let least = all.iter().filter_map(|p| cost(&apart, &costs, &pieces, p)).min();
            let same = |p: &&Vec<Choice>| p.iter().map(|c| c.played()).eq(chosen.iter().copied());
            let own = all.iter().filter(same).filter_map(|p| cost(&apart, &costs, &pieces, p)).min();
            prop_assert_eq!(own, least);
        }
    }
}
