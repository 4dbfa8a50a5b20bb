//! Locking, unlocking, and edits inside a lock.

use super::{bars, demo, disagreements, id, part, small};
use bandwright::band::PartId;
use bandwright::music::BarNumber;
use bandwright::project::work::{Refused, Selection, Way, delete, lock, octave, unlock};
use std::collections::BTreeSet;

fn locked_bars(table: &super::Table, part: usize) -> Vec<u32> {
    let lock = table.locks.of(PartId(part));
    lock.map_or_else(Vec::new, |l| l.bars.0.iter().map(|b| b.0).collect())
}

#[test]
fn bars_are_fixed_as_they_are_rests_too() {
    let mut table = small();
    table.write(0, &[(0, 72, 480), (1920, 74, 480), (3840, 76, 480)]);
    let at = Selection::of(BarNumber(1), BarNumber(2), [PartId(0), PartId(1)]);
    let done = lock(&table.desk(), &at).unwrap();
    assert_eq!(done.name, "lock Flute and Clarinet in bars 1-2");
    assert_eq!(done.notes, Vec::<String>::new());
    let table = table.after(&done);
    assert_eq!(disagreements(&table), Vec::<String>::new());
    assert_eq!(locked_bars(&table, 0), [1, 2]);
    // A locked rest.
    assert_eq!(locked_bars(&table, 1), [1, 2]);
    let marks: Vec<bool> = table.draft.lines[0]
        .notes
        .iter()
        .map(|n| n.locked)
        .collect();
    assert_eq!(marks, [true, true, false]);
    assert_eq!(lock(&table.desk(), &at), Err(Refused::NothingChanges));
    let free = unlock(
        &table.desk(),
        &Selection::of(BarNumber(2), BarNumber(9), [PartId(0)]),
    );
    let free = free.unwrap();
    assert_eq!(free.name, "unlock Flute in bars 2-8");
    let table = table.after(&free);
    assert_eq!(locked_bars(&table, 0), [1]);
    assert_eq!(disagreements(&table), Vec::<String>::new());
    let none = unlock(
        &table.desk(),
        &Selection::of(BarNumber(7), BarNumber(8), [PartId(0)]),
    );
    assert_eq!(none, Err(Refused::NotLocked("bars 7-8".to_owned())));
}

#[test]
fn a_note_over_the_edge_is_locked_and_freed_as_a_whole() {
    let mut table = small();
    table.write(
        0,
        &[
            (0, 72, 1440),
            (1440, 74, 960),
            (2400, 76, 480),
            (3840, 77, 480),
        ],
    );
    let at = Selection::of(BarNumber(2), BarNumber(2), [PartId(0)]);
    let done = lock(&table.desk(), &at).unwrap();
    assert_eq!(
        done.notes,
        ["Flute is locked in bar 1 too, for a note sounds over the barline"]
    );
    let table = table.after(&done);
    assert_eq!(locked_bars(&table, 0), [1, 2]);
    assert_eq!(disagreements(&table), Vec::<String>::new());
    let first = Selection::of(BarNumber(1), BarNumber(1), [PartId(0)]);
    let free = unlock(&table.desk(), &first).unwrap();
    assert_eq!(
        free.notes,
        ["Flute is free in bar 2 too, for a note sounds over the barline"]
    );
    assert_eq!(locked_bars(&table.after(&free), 0), Vec::<u32>::new());
}

#[test]
fn an_edit_in_a_lock_asks_nothing_but_says_so() {
    let mut table = small();
    table.write(0, &[(0, 72, 480), (1920, 74, 480)]);
    let at = Selection::of(BarNumber(1), BarNumber(2), [PartId(0)]);
    let table = table.after(&lock(&table.desk(), &at).unwrap());
    let note = Selection::of_note(&table.desk(), id(0, 1920, 74));
    let raised = octave(&table.desk(), &note, Way::Up).unwrap();
    assert_eq!(raised.notes, ["this edits a lock: Flute, bar 2"]);
    let table = table.after(&raised);
    assert_eq!(disagreements(&table), Vec::<String>::new());
    let held: BTreeSet<u8> = table.locks.0[0]
        .notes
        .iter()
        .map(|n| n.pitch.midi())
        .collect();
    assert_eq!(held, BTreeSet::from([72, 86]));
    let silent = delete(&table.desk(), &at).unwrap();
    let table = table.after(&silent);
    assert_eq!(locked_bars(&table, 0), [1, 2]);
    assert_eq!(table.locks.0[0].notes, []);
    // Beside the lock nothing is said of it.
    let mut beside = table.clone();
    beside.write(0, &[(3840, 72, 480)]);
    let note = Selection::of_note(&beside.desk(), id(0, 3840, 72));
    assert_eq!(
        octave(&beside.desk(), &note, Way::Up).unwrap().notes,
        Vec::<String>::new()
    );
}

#[test]
fn a_lock_grows_where_a_note_comes_to_sound_over_its_edge() {
    let mut table = small();
    table.write(0, &[(1440, 72, 480), (2400, 74, 480)]);
    let at = Selection::of(BarNumber(1), BarNumber(1), [PartId(0)]);
    let table = table.after(&lock(&table.desk(), &at).unwrap());
    let note = Selection::of_note(&table.desk(), id(0, 1440, 72));
    let grid = bandwright::music::Ticks(240);
    let grown = bandwright::project::work::longer(&table.desk(), &note, grid).unwrap();
    let grew = "the lock of Flute now holds bar 2 too, for a note sounds over the barline";
    assert_eq!(grown.notes, ["this edits a lock: Flute, bar 1", grew]);
    let table = table.after(&grown);
    assert_eq!(locked_bars(&table, 0), [1, 2]);
    assert_eq!(disagreements(&table), Vec::<String>::new());
}

#[test]
fn the_channels_of_imported_locks_stay() {
    let mut table = small();
    let marimba = part(&table.band, "Marimba");
    table.write(marimba, &[(0, 72, 480)]);
    let at = Selection::of(BarNumber(1), BarNumber(1), [PartId(marimba)]);
    let mut table = table.after(&lock(&table.desk(), &at).unwrap());
    table.locks.0[0].notes[0].channel = 5;
    let raised = octave(&table.desk(), &at, Way::Up).unwrap();
    assert_eq!(raised.locks.0[0].notes[0].channel, 5);
}

#[test]
fn bars_and_parts_that_are_not_there_lock_nothing() {
    let table = small();
    let nobody = Selection::of(BarNumber(1), BarNumber(2), [PartId(60)]);
    assert_eq!(lock(&table.desk(), &nobody), Err(Refused::NoPart));
    let after = Selection::of(BarNumber(90), BarNumber(95), [PartId(0)]);
    assert!(matches!(
        lock(&table.desk(), &after),
        Err(Refused::AfterEnd(_))
    ));
}

#[test]
fn the_whole_demo_locks_and_unlocks() {
    let table = demo();
    assert_eq!(disagreements(table), Vec::<String>::new());
    let all = Selection::all(&table.desk());
    let locked = table.after(&lock(&table.desk(), &all).unwrap());
    assert_eq!(disagreements(&locked), Vec::<String>::new());
    let notes: usize = locked.locks.0.iter().map(|l| l.notes.len()).sum();
    let drafted: usize = table.draft.lines.iter().map(|l| l.notes.len()).sum();
    assert_eq!(notes, drafted);
    assert_eq!(locked.locks.0.len(), table.band.parts.len());
    let free = unlock(&locked.desk(), &all).unwrap();
    assert!(free.locks.0.is_empty());
    assert_eq!(all.bars, bars(1, table.desk().last_bar().0));
}
