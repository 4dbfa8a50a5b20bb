//! Selecting by keyboard.

use super::{bars, demo, id, part, small};
use bandwright::band::PartId;
use bandwright::music::BarNumber;
use bandwright::project::work::{Selection, Side};

#[test]
fn keys_go_from_note_to_note() {
    let mut table = small();
    table.write(0, &[(0, 72, 480), (960, 74, 480), (1920, 76, 480)]);
    let desk = table.desk();
    let first =
        Selection::of(BarNumber(1), BarNumber(1), [PartId(0)]).next_note(&desk, Side::After);
    assert_eq!(first.note, Some(id(0, 0, 72)));
    let second = first.next_note(&desk, Side::After);
    assert_eq!(second.note, Some(id(0, 960, 74)));
    let third = second.next_note(&desk, Side::After);
    assert_eq!(
        (third.note, third.bars),
        (Some(id(0, 1920, 76)), bars(2, 2))
    );
    assert_eq!(third.next_note(&desk, Side::After), third);
    assert_eq!(second.next_note(&desk, Side::Before), first);
    assert_eq!(first.next_note(&desk, Side::Before), first);
}

#[test]
fn keys_go_through_a_chord_of_the_marimba() {
    let mut table = small();
    let marimba = part(&table.band, "Marimba");
    table.write(marimba, &[(0, 60, 480), (0, 64, 480), (0, 67, 480)]);
    let desk = table.desk();
    let lowest = Selection::of_note(&desk, id(marimba, 0, 60));
    let next = lowest.next_note(&desk, Side::After);
    assert_eq!(next.note, Some(id(marimba, 0, 64)));
    assert_eq!(next.next_note(&desk, Side::Before), lowest);
}

#[test]
fn keys_go_from_part_to_part() {
    let mut table = small();
    table.write(0, &[(960, 74, 480)]);
    table.write(1, &[(0, 60, 1920), (1920, 62, 480)]);
    let desk = table.desk();
    let above = Selection::of_note(&desk, id(0, 960, 74));
    // What sounds at the same time, though it began before.
    let below = above.next_part(&desk, Side::After);
    assert_eq!(below.note, Some(id(1, 0, 60)));
    assert_eq!(below.next_part(&desk, Side::Before).note, above.note);
    // A part without notes is selected by its bar.
    let silent = below.next_part(&desk, Side::After);
    assert_eq!((silent.note, silent.parts), (None, vec![PartId(2)]));
    assert_eq!(above.next_part(&desk, Side::Before), above);
}

#[test]
fn selections_grow_and_shrink_to_the_ends() {
    let table = small();
    let desk = table.desk();
    let one = Selection::of(BarNumber(8), BarNumber(8), [PartId(5)]);
    assert_eq!(one.with_bar(&desk, Side::After), one);
    let two = one.with_bar(&desk, Side::Before);
    assert_eq!(two.bars, bars(7, 8));
    assert_eq!(two.without_bar(Side::Before), one);
    assert_eq!(one.without_bar(Side::After), one);
    assert_eq!(one.with_part(&desk, Side::After), one);
    let parts = one.with_part(&desk, Side::Before);
    assert_eq!(parts.parts, [PartId(4), PartId(5)]);
    assert_eq!(parts.without_part(Side::Before), one);
    assert_eq!(one.without_part(Side::After), one);
    assert_eq!(one.bars_beside(&desk, Side::After), one);
    assert_eq!(one.bars_beside(&desk, Side::Before).bars, bars(7, 7));
    assert_eq!(one.toggled(PartId(1)).parts, [PartId(1), PartId(5)]);
    assert_eq!(one.toggled(PartId(1)).toggled(PartId(1)), one);
    assert_eq!(one.whole_parts(&desk).bars, bars(1, 8));
    assert_eq!(one.whole_bars(&desk).parts.len(), 6);
    let all = Selection::all(&desk);
    assert_eq!((all.bars, all.parts.len()), (bars(1, 8), 6));
}

#[test]
fn a_passage_is_selected_with_its_bars() {
    let desk = demo().desk();
    let passage = desk.passages[1];
    let inside = Selection::of(passage.last_bar, passage.last_bar, [PartId(2)]);
    let whole = inside.whole_passage(&desk);
    assert_eq!(whole.bars, (passage.first_bar, passage.last_bar));
    assert_eq!(whole.parts, [PartId(2)]);
}

#[test]
fn a_note_belongs_to_the_bar_that_it_begins_in() {
    let mut table = small();
    table.write(0, &[(1440, 72, 960), (2880, 74, 480)]);
    let desk = table.desk();
    let notes = |bar| Selection::of(BarNumber(bar), BarNumber(bar), [PartId(0)]).notes(&desk);
    assert_eq!(notes(1), [id(0, 1440, 72)]);
    assert_eq!(notes(2), [id(0, 2880, 74)]);
    assert_eq!(notes(99), []);
    assert_eq!(notes(0), []);
}
