//! A show for another band: notes and locks go with their parts.

use super::build::{any_document, note, roster, small, some_band, with_note};
use bandwright::band::{PartId, same_name};
use bandwright::music::{BarNumber, Sounding, Tick};
use bandwright::project::{Document, PutAside};
use bandwright::score::{BarSet, Draft, Lock, Locks, MelodyChange};
use proptest::prelude::*;
use std::sync::Arc;

#[test]
fn notes_go_with_their_parts_and_gone_parts_take_theirs() {
    let mut document = with_note(&small(), 0, note(960, 80, 1));
    document = with_note(&document, 2, note(480, 40, 2));
    let draft = Arc::make_mut(&mut document.draft);
    let pitch = Sounding::new(70).unwrap();
    draft.melody_changes = vec![MelodyChange {
        onset: Tick(0),
        sketch: pitch,
        new: Some(pitch),
        parts: vec![(PartId(1), pitch), (PartId(0), pitch), (PartId(2), pitch)],
        reason: "too high".to_owned(),
    }];
    let lock = |part| Lock {
        part: PartId(part),
        bars: BarSet([BarNumber(part as u32 + 1)].into()),
        notes: Vec::new(),
    };
    document.locks = Arc::new(Locks(vec![lock(0), lock(1), lock(2)]));
    let aside = |part: &str| PutAside {
        kind: "leap".to_owned(),
        part: Some(part.to_owned()),
        at: Tick(0),
        reason: String::new(),
    };
    document.aside = Arc::new(vec![aside("Flute 1"), aside("Clarinet")]);
    let moved = document.with_band(roster(2));
    let names: Vec<&str> = moved.band.parts.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["flute-1", "Trumpet", "Tuba"]);
    let notes: Vec<usize> = moved.draft.lines.iter().map(|l| l.notes.len()).collect();
    assert_eq!(notes, [2, 0, 2]);
    let bars: Vec<(usize, u32)> = (moved.locks.0.iter())
        .map(|l| (l.part.0, l.bars.0.first().unwrap().0))
        .collect();
    assert_eq!(bars, [(0, 1), (2, 3)]);
    let players = &moved.draft.melody_changes[0].parts;
    assert_eq!(players[..], [(PartId(0), pitch), (PartId(2), pitch)]);
    assert_eq!(moved.aside[..], [aside("flute-1"), aside("Clarinet")]);
}

#[test]
fn what_was_never_drafted_stays_so() {
    let document = Document {
        draft: Arc::new(Draft::default()),
        ..small()
    };
    assert_eq!(*document.with_band(roster(2)).draft, Draft::default());
}

proptest! {
    #[test]
    fn every_part_keeps_its_own(document in any_document(), band in some_band()) {
        let moved = document.with_band(band.clone());
        prop_assert_eq!(&*moved.band, &band);
        if document.draft.lines.is_empty() {
            prop_assert!(moved.draft.lines.is_empty());
            return Ok(());
        }
        for (id, part) in band.ids() {
            let old = document.band.ids().find(|(_, p)| same_name(&p.name) == same_name(&part.name));
            let line = old.and_then(|(old, _)| document.draft.lines.iter().find(|l| l.part == old));
            let notes = line.map_or(&[][..], |l| &l.notes);
            prop_assert_eq!(&moved.draft.lines[id.0].notes[..], notes);
            let lock = old.and_then(|(old, _)| document.locks.of(old));
            prop_assert_eq!(moved.locks.of(id).map(|l| &l.bars), lock.map(|l| &l.bars));
        }
        prop_assert_eq!(document.with_band((*document.band).clone()).locks, document.locks);
    }
}
