//! Figuration: the patterns of piano playing, found from the turns of the low notes and from what
//! is struck together.

mod chords;
pub mod figure;
mod lines;
mod turn;

pub(super) use self::turn::Turn;

use self::figure::Figure;
use crate::music::MeterMap;
use crate::sketch::onsets::onsets;
use crate::sketch::reading::{Line, ReadNote};

/// All figures, by start, then kind. A note is in at most one figure of a kind. Time grows with the
/// number of notes.
pub(super) fn find_figures(notes: &[ReadNote], turns: &[Turn], meters: &MeterMap) -> Vec<Figure> {
    let quarter = u64::from(meters.quarter().get());
    let onsets = onsets(notes);
    // What the arranger tagged as a tune is in no pattern.
    let plain = |i: &usize| !matches!(notes[*i].line, Line::Melody | Line::Counterline);
    let turns: Vec<Turn> = turns
        .iter()
        .filter(|t| t.notes.iter().all(plain))
        .cloned()
        .collect();
    let mut taken = vec![false; notes.len()];
    for i in turns.iter().flat_map(|t| &t.notes) {
        taken[*i] = true;
    }
    let rolled = chords::rolled(notes, &onsets, quarter);
    let mut all = turns.clone();
    for i in rolled.iter().flat_map(|f| &f.notes) {
        taken[*i] = true;
    }
    all.extend(over_held_bass(notes, &taken, meters));
    all.sort_by_key(|t| t.notes.first().map(|i| (notes[*i].onset, *i)));
    let mut found = turn::figures_of(&all, notes, quarter);
    for i in found.iter().flat_map(|f| &f.notes) {
        taken[*i] = true;
    }
    found.extend(chords::repeated(notes, &onsets, &taken, quarter));
    found.extend(rolled);
    found.extend(lines::octaves(notes, &onsets));
    found.extend(lines::runs(notes, quarter));
    found.extend(lines::ostinatos(notes, meters));
    found.sort_by_key(|f| (f.start, f.kind, f.notes.first().copied()));
    found
}

/// Turns of single figure notes that are in no other turn: what runs over a held bass. They are
/// cut where a bar or a bass note begins.
fn over_held_bass(notes: &[ReadNote], taken: &[bool], meters: &MeterMap) -> Vec<Turn> {
    let quarter = u64::from(meters.quarter().get());
    let mut found = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    let mut bass: Option<usize> = None;
    for (i, note) in notes.iter().enumerate() {
        if note.line == Line::Bass && !taken[i] {
            close(notes, &mut open, bass, &mut found);
            bass = Some(i);
        }
        if note.line != Line::Figure || taken[i] {
            continue;
        }
        let apart = open.last().is_some_and(|l| {
            note.onset.since(notes[*l].onset).0 > quarter
                || meters.bar(notes[*l].onset) != meters.bar(note.onset)
        });
        if apart {
            close(notes, &mut open, bass, &mut found);
        }
        open.push(i);
    }
    close(notes, &mut open, bass, &mut found);
    found
}

fn close(notes: &[ReadNote], open: &mut Vec<usize>, bass: Option<usize>, found: &mut Vec<Turn>) {
    let mut members = std::mem::take(open);
    if members.len() < 2 {
        return;
    }
    let first = notes[members[0]].onset;
    if let Some(held) = bass.filter(|b| notes[*b].end() > first && notes[*b].onset <= first) {
        members.insert(0, held);
    }
    let classes = members
        .iter()
        .fold(0, |c, i| c | 1_u16 << (notes[*i].pitch.midi() % 12));
    found.push(Turn {
        low: members.clone(),
        notes: members,
        answered: false,
        chordal: crate::sketch::bass::is_chordal(classes),
    });
}
