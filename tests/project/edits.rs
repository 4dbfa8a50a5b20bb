//! Edits: each gives what it was made of, and its inverse takes it back, exactly.

use super::build::{any_document_for, any_documents, note, roster, small, some_band, with_note};
use bandwright::project::{Change, Document, Edit};
use proptest::prelude::*;
use std::sync::Arc;

fn there_and_back(before: &Document, after: &Document) -> Result<(), TestCaseError> {
    let edit = Edit::between("Step", before, after);
    prop_assert_eq!(edit.is_empty(), before == after);
    prop_assert_eq!(&edit.apply(before).unwrap(), after);
    let back = edit.inverse();
    prop_assert_eq!(&back.apply(after).unwrap(), before);
    prop_assert_eq!(&back.inverse(), &edit);
    Ok(())
}

proptest! {
    #[test]
    fn edits_go_there_and_back(documents in any_documents(5)) {
        for pair in documents.windows(2) {
            there_and_back(&pair[0], &pair[1])?;
        }
    }

    #[test]
    fn edits_of_one_band_go_there_and_back(
        (a, b) in some_band().prop_flat_map(|band| {
            (any_document_for(band.clone()), any_document_for(band))
        }),
    ) {
        there_and_back(&a, &b)?;
    }

    /// An edit of one document is made on any other, or refused with what does not fit.
    #[test]
    fn edits_that_do_not_fit_are_refused(documents in any_documents(5)) {
        let [a, b, .., last] = &documents[..] else {
            return Ok(());
        };
        let edit = Edit::between("Step", a, b);
        match edit.apply(last) {
            Ok(other) => {
                let back = edit.inverse().apply(&other).unwrap();
                let in_order = |d: &Document| d.draft.lines.iter().all(|l| l.notes.is_sorted());
                prop_assert!(back == *last || !in_order(last));
            }
            Err(error) => prop_assert!(error.to_string().contains("is not as this step left it")),
        }
    }
}

#[test]
fn a_note_is_one_change_of_its_line_alone() {
    let before = small();
    let after = with_note(&before, 1, note(960, 64, 240));
    let edit = Edit::between("Note", &before, &after);
    let [
        Change::Notes {
            part,
            removed,
            added,
        },
    ] = &edit.changes[..]
    else {
        panic!("{edit:?}");
    };
    assert_eq!(
        (part.as_str(), removed.len(), added.len()),
        ("Clarinet", 0, 1)
    );
    let again = edit.apply(&after).unwrap();
    assert_eq!(again.draft.lines[1].notes.len(), 3, "the same note twice");
    let error = edit.inverse().apply(&before).unwrap_err().to_string();
    assert!(error.starts_with("the line of Clarinet is not"), "{error}");
}

#[test]
fn other_levels_leave_the_notes_where_they_are() {
    let before = small();
    let after = before.with_band(roster(1));
    let edit = Edit::between("Band", &before, &after);
    assert!(matches!(&edit.changes[..], [Change::Band(_)]), "{edit:?}");
    let after = before.with_band(roster(2));
    let edit = Edit::between("Band", &before, &after);
    assert!(matches!(&edit.changes[..], [Change::Seated(_)]), "{edit:?}");
}

#[test]
fn what_is_not_changed_is_shared() {
    let before = small();
    let after = with_note(&before, 0, note(0, 64, 240));
    let made = Edit::between("Note", &before, &after)
        .apply(&before)
        .unwrap();
    assert!(Arc::ptr_eq(&made.band, &before.band));
    assert!(Arc::ptr_eq(&made.sketch, &before.sketch));
}
