//! What holds after any edit of any desk.

use super::{Table, changing_song, demo, disagreements, drafted, id, six, small_song};
use bandwright::band::{Part, PartId};
use bandwright::music::{BarNumber, Sounding, Tick, Ticks};
use bandwright::project::work::{
    Done, Refused, Selection, Side, Way, add, delete, double_into, drafts_differ, hand_over, join,
    lock, longer, next_chord_tone, octave, passage_of_bars, paste_scoring, repeats_of, shorter,
    sketch_line_into, split, step, to_pitch, unlock,
};
use bandwright::score::{DraftNote, Role};
use bandwright::sketch::Line;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::Index;

/// Random notes on a grid for every part; on those that play one at a time one after the other.
fn written(mut table: Table, notes: &[(usize, u64, u8, u64, u8)]) -> Table {
    let parts = table.band.parts.len();
    for (part, onset, pitch, length, role) in notes {
        let part = part % parts;
        let chordal = table.band.parts[part].instrument.chordal;
        let note = DraftNote {
            role: [Role::Melody, Role::Harmony, Role::Bass, Role::Figure][usize::from(role % 4)],
            ..drafted((120 * onset, *pitch, 120 * length))
        };
        let line = &mut table.draft.lines[part].notes;
        let apart = |n: &DraftNote| {
            n.end() <= note.onset || note.end() <= n.onset || chordal && n.pitch != note.pitch
        };
        if line.iter().all(apart) {
            line.push(note);
            line.sort();
        }
    }
    table
}

/// The demo, or random notes over a sketch, with some bars locked.
fn tables() -> impl Strategy<Value = Table> {
    let notes = vec(
        (0..6_usize, 0..160_u64, 30..100_u8, 1..24_u64, any::<u8>()),
        0..60,
    );
    let locked = vec((0..12_u32, 0..3_u32, 0..8_usize), 0..4);
    (0..4_u8, notes, locked).prop_map(|(kind, notes, locked)| {
        let mut table = match kind {
            0 => demo().clone(),
            1 => written(Table::bare(changing_song(), six()), &notes),
            _ => written(Table::bare(small_song(), six()), &notes),
        };
        for (bar, more, part) in locked {
            let bars = Selection::of(BarNumber(bar), BarNumber(bar + more), [PartId(part)]);
            if let Ok(done) = lock(&table.desk(), &bars) {
                table = table.after(&done);
            }
        }
        table
    })
}

#[derive(Clone, Debug)]
enum Op {
    Chord(Way),
    Step(Way),
    Octave(Way),
    To(u8),
    Longer(u64),
    Shorter(u64),
    Split(Option<u64>),
    Join,
    Delete,
    Add(u64, u64, Option<u8>),
    Hand(usize),
    Double(usize),
    Sketch(usize),
    Paste(u32),
    Lock,
    Unlock,
}

fn ways() -> impl Strategy<Value = Way> {
    prop_oneof![Just(Way::Up), Just(Way::Down)]
}

fn ops() -> impl Strategy<Value = Op> {
    prop_oneof![
        ways().prop_map(Op::Chord),
        ways().prop_map(Op::Step),
        ways().prop_map(Op::Octave),
        (0..128_u8).prop_map(Op::To),
        (0..1000_u64).prop_map(Op::Longer),
        (0..1000_u64).prop_map(Op::Shorter),
        proptest::option::of(0..20_000_u64).prop_map(Op::Split),
        Just(Op::Join),
        Just(Op::Delete),
        (0..20_000_u64, 0..3000_u64, proptest::option::of(0..128_u8))
            .prop_map(|(at, length, pitch)| Op::Add(at, length, pitch)),
        (0..8_usize).prop_map(Op::Hand),
        (0..8_usize).prop_map(Op::Double),
        (0..5_usize).prop_map(Op::Sketch),
        (0..14_u32).prop_map(Op::Paste),
        Just(Op::Lock),
        Just(Op::Unlock),
    ]
}

/// Some bars of some parts, some of which the piece has not; or a note, as a rule one that there is.
#[derive(Clone, Debug)]
struct Choice {
    bar: u32,
    more: u32,
    parts: Vec<usize>,
    note: Option<Index>,
    bogus: bool,
}

fn choices() -> impl Strategy<Value = Choice> {
    (
        prop_oneof![20 => 0..14_u32, 1 => Just(u32::MAX)],
        prop_oneof![20 => 0..6_u32, 1 => Just(u32::MAX)],
        vec(0..8_usize, 0..4),
        proptest::option::weighted(0.6, any::<Index>()),
        proptest::bool::weighted(0.05),
    )
        .prop_map(|(bar, more, parts, note, bogus)| Choice {
            bar,
            more,
            parts,
            note,
            bogus,
        })
}

impl Choice {
    fn of(&self, table: &Table) -> Selection {
        let parts = self.parts.iter().map(|p| PartId(*p));
        let last = BarNumber(self.bar.saturating_add(self.more));
        let area = Selection::of(BarNumber(self.bar), last, parts);
        let desk = table.desk();
        if self.bogus {
            return Selection::of_note(&desk, id(self.parts.first().copied().unwrap_or(99), 7, 60));
        }
        let all = Selection::all(&desk).notes(&desk);
        match self.note.filter(|_| !all.is_empty()) {
            Some(index) => Selection::of_note(&desk, *index.get(&all)),
            None => area,
        }
    }
}

/// Does it, and answers with the parts and the time in which something may change.
fn run(
    table: &Table,
    op: &Op,
    at: &Selection,
) -> (Result<Done, Refused>, Vec<PartId>, (Tick, Tick)) {
    let desk = table.desk();
    let chosen = at.notes(&desk);
    let mut span = desk.span(at.bars);
    let mut parts = at.known_parts(&desk);
    let first = at.parts.first().copied().unwrap_or(PartId(0));
    let done = match op {
        Op::Chord(way) => next_chord_tone(&desk, at, *way),
        Op::Step(way) => step(&desk, at, *way),
        Op::Octave(way) => octave(&desk, at, *way),
        Op::To(pitch) => to_pitch(&desk, at, Sounding::new(*pitch).unwrap()),
        Op::Longer(grid) => longer(&desk, at, Ticks(*grid)),
        Op::Shorter(grid) => shorter(&desk, at, Ticks(*grid)),
        Op::Split(tick) => {
            let ends = chosen.iter().map(|c| end_of(table, c.part, c.onset));
            span.1 = span.1.max(ends.max().unwrap_or_default());
            split(&desk, at, tick.map(Tick))
        }
        Op::Join => {
            let ends = chosen.iter().map(|c| end_of(table, c.part, c.onset));
            span.1 = span.1.max(Tick(ends.max().unwrap_or_default().0 + 1));
            join(&desk, at)
        }
        Op::Delete => delete(&desk, at),
        Op::Add(tick, length, pitch) => {
            span = (Tick(*tick), Tick(tick + 1));
            parts = vec![first];
            let pitch = pitch.map(|p| Sounding::new(p).unwrap());
            add(&desk, first, (Tick(*tick), Ticks(*length)), pitch)
        }
        Op::Hand(to) => {
            parts = vec![first, PartId(*to)];
            hand_over(&desk, first, &[PartId(*to)], at.bars)
        }
        Op::Double(to) => {
            parts = vec![PartId(*to)];
            double_into(&desk, first, &[PartId(*to)], at.bars)
        }
        Op::Sketch(line) => sketch_line_into(&desk, Line::ALL[*line], at),
        Op::Paste(to) => {
            let from = passage_of_bars(&desk, at.bars);
            let more = at.bars.1.0.saturating_sub(at.bars.0.0);
            let to = (BarNumber(*to), BarNumber(to.saturating_add(more)));
            span = desk.span(to);
            if parts.is_empty() {
                parts = table.band.ids().map(|(id, _)| id).collect();
            }
            let named = at.known_parts(&desk);
            paste_scoring(&desk, &from, &passage_of_bars(&desk, to), &named)
        }
        Op::Lock => lock(&desk, at),
        Op::Unlock => unlock(&desk, at),
    };
    (done, parts, span)
}

fn end_of(table: &Table, part: PartId, onset: Tick) -> Tick {
    let notes = table.desk().line(part).iter();
    let ends = notes.filter(|n| n.onset == onset).map(DraftNote::end);
    ends.max().unwrap_or_default()
}

/// Two notes at once where the part has no such.
fn clashes(part: &Part, line: &[DraftNote]) -> usize {
    let pairs = line.iter().enumerate().flat_map(|(i, a)| {
        let others = line[i + 1..].iter();
        others.map(move |b| (a, b))
    });
    pairs
        .filter(|(a, b)| b.onset < a.end() && a.onset < b.end())
        .filter(|(a, b)| !part.instrument.chordal || a.pitch == b.pitch)
        .count()
}

/// What an edit did that it must not.
fn wrongs(before: &Table, after: &Table, parts: &[PartId], span: (Tick, Tick)) -> Vec<String> {
    let mut wrong = disagreements(after);
    for (id, part) in before.band.ids() {
        let (was, is) = (before.desk().line(id), after.desk().line(id));
        if clashes(part, was) == 0 && clashes(part, is) > 0 {
            wrong.push(format!("{}: two notes at once", part.name));
        }
        if !is.is_sorted() {
            wrong.push(format!("{}: out of order", part.name));
        }
        if is.iter().any(|n| n.duration.is_zero() || n.velocity == 0) {
            wrong.push(format!("{}: a note of nothing", part.name));
        }
        let outside =
            |n: &&DraftNote| !parts.contains(&id) || n.onset < span.0 || span.1 <= n.onset;
        let plain = |n: &DraftNote| DraftNote {
            locked: false,
            ..*n
        };
        let was: Vec<DraftNote> = was.iter().filter(outside).map(plain).collect();
        let is: Vec<DraftNote> = is.iter().filter(outside).map(plain).collect();
        // What was held over into the place may end there.
        let cut = |a: &DraftNote, b: &DraftNote| {
            let shorter = DraftNote {
                duration: b.duration,
                ..*a
            };
            a == b || shorter == *b && b.end() >= span.0 && b.end() < a.end()
        };
        if was.len() != is.len() || !was.iter().zip(&is).all(|(a, b)| cut(a, b)) {
            wrong.push(format!("{}: {was:?} became {is:?}", part.name));
        }
    }
    wrong
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_edits_keep_to_what_they_are_asked(
        table in tables(),
        edits in vec((ops(), choices()), 1..7),
    ) {
        let mut table = table;
        prop_assert_eq!(disagreements(&table), Vec::<String>::new());
        for (op, choice) in edits {
            let at = choice.of(&table);
            let (done, parts, span) = run(&table, &op, &at);
            let Ok(done) = done else { continue };
            prop_assert!(!done.name.is_empty());
            let after = table.after(&done);
            prop_assert_eq!(wrongs(&table, &after, &parts, span), Vec::<String>::new(), "{:?} of {:?}", op, at);
            // The same again gives the same.
            prop_assert_eq!(run(&table, &op, &at).0, Ok(done));
            table = after;
        }
    }

    #[test]
    fn up_and_down_again_is_where_it_was(table in tables(), choice in choices(), kind in 0..3_u8) {
        let at = choice.of(&table);
        let desk = table.desk();
        let go = |desk: &_, at: &Selection, way| match kind {
            0 => octave(desk, at, way),
            1 => step(desk, at, way),
            _ => next_chord_tone(desk, at, way),
        };
        let Ok(up) = go(&desk, &at, Way::Up) else { return Ok(()) };
        let raised = table.after(&up);
        // Defined where the notes are of the scale or of the chord, and where the way back is no way out.
        let Ok(down) = go(&raised.desk(), &up.selection, Way::Down) else { return Ok(()) };
        let of_scale = |n: &bandwright::project::work::NoteId| match kind {
            0 => true,
            1 => desk.reading.key(n.onset).is_some_and(|k| {
                let major = k.signature.key();
                let tonic = if k.signature.mode() == bandwright::music::Mode::Minor { major.tonic.up(3) } else { major.tonic };
                [0, 2, 4, 5, 7, 9, 11].contains(&tonic.up_to(n.pitch.class()))
            }),
            _ => desk.reading.chord(n.onset).is_some_and(|c| {
                let there = c.chord.classes().iter().filter(|k| !c.missing.contains(*k)).count();
                c.chord.classes().contains(n.pitch.class()) && (there == 0 || !c.missing.contains(n.pitch.class()))
            }),
        };
        if at.notes(&desk).iter().all(of_scale) {
            prop_assert_eq!(&down.draft, &table.draft);
            prop_assert_eq!(&down.locks, &table.locks);
            prop_assert_eq!(&down.selection, &at);
        }
    }

    #[test]
    fn longer_and_shorter_again_is_where_it_was(table in tables(), choice in choices(), grid in 1..500_u64) {
        let at = choice.of(&table);
        let Ok(grown) = longer(&table.desk(), &at, Ticks(grid)) else { return Ok(()) };
        let so_far = grown.notes.iter().any(|n| n.contains("only so far"));
        let lock_grew = grown.notes.iter().any(|n| n.contains("sounds over the barline"));
        if !so_far && !lock_grew {
            let back = shorter(&table.after(&grown).desk(), &at, Ticks(grid));
            prop_assert_eq!(back.map(|b| (b.draft, b.locks)), Ok((table.draft.clone(), table.locks.clone())));
        }
    }

    #[test]
    fn split_and_joined_is_where_it_was(table in tables(), index in any::<Index>()) {
        let desk = table.desk();
        let all = Selection::all(&desk).notes(&desk);
        if all.is_empty() { return Ok(()) }
        let at = Selection::of_note(&desk, *index.get(&all));
        let Ok(cut) = split(&desk, &at, None) else { return Ok(()) };
        // On a part that plays chords the next note may be one of another pitch.
        if table.band.parts[at.parts[0].0].instrument.chordal { return Ok(()) }
        let joined = join(&table.after(&cut).desk(), &at);
        prop_assert_eq!(joined.map(|j| (j.draft, j.locks)), Ok((table.draft.clone(), table.locks.clone())));
    }

    #[test]
    fn locked_and_unlocked_is_where_it_was(table in tables(), choice in choices()) {
        let at = choice.of(&table);
        let Ok(free) = unlock(&table.desk(), &Selection::all(&table.desk())) else {
            if let Ok(done) = lock(&table.desk(), &at) {
                let back = unlock(&table.after(&done).desk(), &at);
                prop_assert_eq!(back.map(|b| b.draft), Ok(table.draft.clone()));
            }
            return Ok(());
        };
        prop_assert!(free.locks.0.is_empty());
        prop_assert!(free.draft.lines.iter().flat_map(|l| &l.notes).all(|n| !n.locked));
    }

    #[test]
    fn keys_lead_nowhere_else(table in tables(), choice in choices(), steps in vec(0..14_u8, 0..30)) {
        let desk = table.desk();
        let mut at = choice.of(&table);
        for step in steps {
            let side = if step % 2 == 0 { Side::Before } else { Side::After };
            at = match step / 2 {
                0 => at.next_note(&desk, side),
                1 => at.next_part(&desk, side),
                2 => at.with_bar(&desk, side),
                3 => at.without_bar(side),
                4 => at.with_part(&desk, side),
                5 => at.without_part(side),
                _ => at.bars_beside(&desk, side),
            };
            prop_assert!(at.bars.0 <= at.bars.1);
            prop_assert!(at.parts.is_sorted());
            if let Some(note) = at.note.filter(|_| !choice.bogus) {
                prop_assert_eq!(at.notes(&desk), [note]);
            }
        }
        let _ = (at.whole_passage(&desk), at.whole_bars(&desk), at.whole_parts(&desk));
    }

    #[test]
    fn what_changed_is_told_for_each_part_that_did(table in tables(), op in ops(), choice in choices()) {
        let at = choice.of(&table);
        let Ok(done) = run(&table, &op, &at).0 else { return Ok(()) };
        let told = drafts_differ(&table.band, &table.song.meters, &table.draft, &done.draft);
        for (id, part) in table.band.ids() {
            let plain = |n: &DraftNote| (n.onset, n.pitch, n.duration, n.velocity);
            let after = table.after(&done);
            let was: Vec<_> = table.desk().line(id).iter().map(plain).collect();
            let is: Vec<_> = after.desk().line(id).iter().map(plain).collect();
            let named = told.iter().any(|t| t.starts_with(&format!("{}: ", part.name)));
            prop_assert_eq!(was != is, named, "{:?}", told);
        }
    }

    #[test]
    fn repeats_go_both_ways(first in 0..40_u32, more in 0..9_u32) {
        let desk = demo().desk();
        let bars = (BarNumber(first), BarNumber(first + more));
        for found in repeats_of(&desk, bars) {
            let back = repeats_of(&desk, found.bars);
            prop_assert!(back.iter().any(|b| b.bars == bars && b.semitones == -found.semitones));
        }
    }
}
