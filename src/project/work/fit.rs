//! Bringing notes into a part: the octave that suits it, one note at a time, room among what it has.

use super::sheet::Sheet;
use super::words::{bars_in_words, octaves_in_words};
use crate::band::{Part, PartId};
use crate::music::{Interval, Sounding, Tick};
use crate::score::DraftNote;

/// So many octaves up or down at the most: more than MIDI has above any note.
const FURTHEST: i16 = 10;

/// What counts in the choice of an octave.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Suits {
    /// What the players can be relied on for goes before staying where the notes are.
    Best,
    /// Notes stay where they are unless the players cannot reach them.
    Stay,
}

/// How many whole octaves up (down if negative) suit a part: as few notes as can be that nobody plays
/// on the instrument, that its players cannot reach, that they cannot be relied on for; then the least
/// way, and of two as long the one down.
pub(super) fn octaves(part: &Part, notes: &[DraftNote], suits: Suits) -> i16 {
    let written = |p| part.instrument.transposition.written(p);
    let widest = part.instrument.professional;
    let cost = |by: &i16| {
        let (mut nobody, mut out, mut weak) = (0_usize, 0_usize, 0_usize);
        for note in notes {
            match note.pitch.up(Interval::octaves(*by)) {
                None => nobody += 1,
                Some(p) => {
                    nobody += usize::from(written(p) < widest.low || written(p) > widest.high);
                    out += usize::from(!part.limits.range.contains(p));
                    weak += usize::from(!part.limits.comfortable.contains(p));
                }
            }
        }
        let weak = if suits == Suits::Best { weak } else { 0 };
        (nobody, out, weak, by.unsigned_abs(), *by)
    };
    (-FURTHEST..=FURTHEST).min_by_key(cost).unwrap_or(0)
}

/// Notes in whole octaves that suit a part, told to the sheet: all by the same, or where some of them
/// would then be out of reach, each run between two rests by its own. A pitch beyond MIDI stays, and
/// is refused later.
pub(super) fn fitted(
    sheet: &mut Sheet<'_>,
    part: &Part,
    notes: &[DraftNote],
    suits: Suits,
) -> Vec<DraftNote> {
    let reach = |by: i16, notes: &[DraftNote]| {
        let moved = |n: &DraftNote| n.pitch.up(Interval::octaves(by));
        let inside = |p: Option<Sounding>| p.is_some_and(|p| part.limits.range.contains(p));
        notes.iter().all(|n| inside(moved(n)))
    };
    let whole = octaves(part, notes, suits);
    let runs: Vec<&[DraftNote]> = if reach(whole, notes) {
        vec![notes]
    } else {
        runs(notes)
    };
    let mut fitted = Vec::with_capacity(notes.len());
    for run in &runs {
        let by = if reach(whole, run) {
            whole
        } else {
            octaves(part, run, suits)
        };
        if let (Some(how), Some((first, last))) =
            (octaves_in_words(by), run.first().zip(run.last()))
        {
            let bar = |n: &DraftNote| sheet.desk.meters.bar(n.onset);
            let place = bars_in_words((bar(first), bar(last)));
            sheet.tell(format!("{} has {place} {how}", part.name));
        }
        let moved = |n: &DraftNote| DraftNote {
            pitch: n.pitch.up(Interval::octaves(by)).unwrap_or(n.pitch),
            ..*n
        };
        fitted.extend(run.iter().map(moved));
    }
    fitted
}

/// Notes in runs between rests.
pub(super) fn runs(notes: &[DraftNote]) -> Vec<&[DraftNote]> {
    let mut until = Tick::ZERO;
    let ends: Vec<Tick> = notes
        .iter()
        .map(|n| {
            until = until.max(n.end());
            until
        })
        .collect();
    let mut runs = Vec::new();
    let mut from = 0;
    for to in 1..=notes.len() {
        let rest = notes
            .get(to)
            .is_none_or(|n| ends.get(to - 1).is_some_and(|end| n.onset > *end));
        if rest {
            runs.extend(notes.get(from..to));
            from = to;
        }
    }
    runs
}

/// The notes that one part can play one at a time: of those struck together one, the highest or the
/// lowest, each until the next begins. On a part that plays chords all of them, but one of each pitch.
pub(super) fn one_at_a_time(
    part: &Part,
    mut notes: Vec<DraftNote>,
    highest: bool,
) -> Vec<DraftNote> {
    notes.sort();
    if part.instrument.chordal {
        let mut kept: Vec<DraftNote> = Vec::with_capacity(notes.len());
        for note in notes {
            let same = kept.iter_mut().rev().find(|n| n.pitch == note.pitch);
            match same {
                Some(n) if n.onset == note.onset => n.duration = n.duration.max(note.duration),
                Some(n) => {
                    n.duration = n.duration.min(note.onset.since(n.onset));
                    kept.push(note);
                }
                None => kept.push(note),
            }
        }
        return kept;
    }
    let together = notes.chunk_by(|a, b| a.onset == b.onset);
    let one = |all: &[DraftNote]| {
        let chosen = if highest { all.last() } else { all.first() };
        chosen.copied()
    };
    let mut kept: Vec<DraftNote> = together.filter_map(one).collect();
    let onsets: Vec<Tick> = kept.iter().skip(1).map(|n| n.onset).collect();
    for (note, next) in kept.iter_mut().zip(onsets) {
        note.duration = note.duration.min(next.since(note.onset));
    }
    kept
}

/// Puts notes in the place of all that begin in a stretch of a part. What was held over into it ends
/// where the first new note begins; the last new note ends where the part goes on.
pub(super) fn put(
    sheet: &mut Sheet<'_>,
    id: PartId,
    part: &Part,
    span: (Tick, Tick),
    mut notes: Vec<DraftNote>,
) {
    let line = sheet.line(id);
    line.retain(|n| n.onset < span.0 || span.1 <= n.onset);
    let mut cut = false;
    for new in &mut notes {
        let same = |n: &&mut DraftNote| !part.instrument.chordal || n.pitch == new.pitch;
        for old in line.iter_mut().filter(same) {
            if old.onset < new.onset && new.onset < old.end() {
                old.duration = new.onset.since(old.onset);
                cut = true;
            }
            if new.onset < old.onset {
                new.duration = new.duration.min(old.onset.since(new.onset));
            }
        }
    }
    line.extend(notes);
    if cut {
        sheet.tell(format!(
            "a note that {} held over ends where the new ones begin",
            part.name
        ));
    }
}
