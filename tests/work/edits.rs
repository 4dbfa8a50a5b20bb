//! Edits of notes, worked through.

use super::{bars, demo, id, part, small};
use bandwright::band::PartId;
use bandwright::music::{BarNumber, Sounding, Tick, Ticks};
use bandwright::project::work::{
    Refused, Selection, Way, add, delete, double_into, drafts_differ, hand_over, join, longer,
    next_chord_tone, octave, passage_of_bars, paste_scoring, repeats_of, shorter, sketch_line_into,
    split, step, to_pitch,
};
use bandwright::score::{MelodyChange, Role};
use bandwright::sketch::Line;

fn pitch(midi: u8) -> Sounding {
    Sounding::new(midi).unwrap()
}

#[test]
fn a_note_moves_by_chord_tone_step_and_octave() {
    let mut table = small();
    let trumpet = part(&table.band, "Trumpet");
    table.write(trumpet, &[(480, 64, 480), (1920, 67, 480)]);
    let desk = table.desk();
    let at = Selection::of_note(&desk, id(trumpet, 480, 64));
    // The sketch holds C, E and G.
    let up = next_chord_tone(&desk, &at, Way::Up).unwrap();
    assert_eq!(
        up.name,
        "move a note of Trumpet in bar 1 up to the next chord tone"
    );
    assert_eq!(up.selection.note, Some(id(trumpet, 480, 67)));
    assert_eq!(
        table.after(&up).plays(trumpet),
        [(480, 67, 480), (1920, 67, 480)]
    );
    let moved = |done: Result<bandwright::project::work::Done, _>| {
        done.unwrap().selection.note.unwrap().pitch.midi()
    };
    assert_eq!(moved(next_chord_tone(&desk, &at, Way::Down)), 60);
    assert_eq!(moved(step(&desk, &at, Way::Up)), 65);
    assert_eq!(moved(step(&desk, &at, Way::Down)), 62);
    assert_eq!(moved(octave(&desk, &at, Way::Up)), 76);
    assert_eq!(moved(to_pitch(&desk, &at, pitch(70))), 70);
    assert_eq!(
        to_pitch(&desk, &at, pitch(64)),
        Err(Refused::NothingChanges)
    );
    let both = Selection::of(BarNumber(1), BarNumber(2), [PartId(trumpet)]);
    assert_eq!(to_pitch(&desk, &both, pitch(70)), Err(Refused::NotOneNote));
    let raised = octave(&desk, &both, Way::Up).unwrap();
    assert_eq!(
        raised.name,
        "move 2 notes of Trumpet in bars 1-2 up an octave"
    );
    assert_eq!(raised.selection, both);
}

#[test]
fn out_of_the_players_reach_is_told_and_off_the_instrument_refused() {
    let mut table = small();
    let trumpet = part(&table.band, "Trumpet");
    let reach = table.band.parts[trumpet].limits.range.high.midi();
    table.write(trumpet, &[(0, reach - 11, 480), (1920, reach, 480)]);
    let desk = table.desk();
    let at = Selection::of_note(&desk, id(trumpet, 0, reach - 11));
    let told = octave(&desk, &at, Way::Up).unwrap();
    assert_eq!(told.notes.len(), 1, "{:?}", told.notes);
    assert!(
        told.notes[0].contains("is outside what Trumpet can play"),
        "{:?}",
        told.notes
    );
    let high = Selection::of_note(&desk, id(trumpet, 1920, reach));
    let refused = octave(&desk, &high, Way::Up).unwrap_err();
    assert!(
        matches!(refused, Refused::BeyondInstrument { .. }),
        "{refused}"
    );
    // What is out already may come back in steps.
    let mut far = small();
    far.write(trumpet, &[(0, 110, 480)]);
    let at = Selection::of_note(&far.desk(), id(trumpet, 0, 110));
    assert!(octave(&far.desk(), &at, Way::Down).is_ok());
    assert!(octave(&far.desk(), &at, Way::Up).is_err());
}

#[test]
fn notes_are_cut_joined_and_stretched() {
    let mut table = small();
    table.write(0, &[(0, 72, 480), (480, 72, 240), (960, 76, 480)]);
    let desk = table.desk();
    let first = Selection::of_note(&desk, id(0, 0, 72));
    let halves = table.after(&split(&desk, &first, None).unwrap());
    assert_eq!(halves.plays(0)[..2], [(0, 72, 240), (240, 72, 240)]);
    let at = table.after(&split(&desk, &first, Some(Tick(120))).unwrap());
    assert_eq!(at.plays(0)[..2], [(0, 72, 120), (120, 72, 360)]);
    assert_eq!(
        split(&desk, &first, Some(Tick(480))),
        Err(Refused::NotInside)
    );
    let joined = table.after(&join(&desk, &first).unwrap());
    assert_eq!(joined.plays(0), [(0, 72, 720), (960, 76, 480)]);
    let second = Selection::of_note(&desk, id(0, 480, 72));
    assert_eq!(join(&desk, &second), Err(Refused::NotAdjoining));
    assert_eq!(longer(&desk, &first, Ticks(120)), Err(Refused::NoRoom));
    let grown = longer(&desk, &second, Ticks(120)).unwrap();
    assert_eq!(table.after(&grown).plays(0)[1], (480, 72, 360));
    // There is room for 240 ticks alone.
    let full = longer(&desk, &second, Ticks(480)).unwrap();
    assert_eq!(table.after(&full).plays(0)[1], (480, 72, 480));
    assert_eq!(full.notes.len(), 1);
    assert_eq!(shorter(&desk, &second, Ticks(240)), Err(Refused::TooShort));
    let less = shorter(&desk, &second, Ticks(120)).unwrap();
    assert_eq!(table.after(&less).plays(0)[1], (480, 72, 120));
    let bar = Selection::of(BarNumber(1), BarNumber(1), [PartId(0)]);
    let all = table.after(&join(&desk, &bar).unwrap());
    assert_eq!(all.plays(0), [(0, 72, 720), (960, 76, 480)]);
}

#[test]
fn notes_are_added_and_deleted() {
    let mut table = small();
    table.write(0, &[(0, 72, 480), (960, 79, 480)]);
    let desk = table.desk();
    let flute = PartId(0);
    let added = add(&desk, flute, (Tick(480), Ticks(960)), None).unwrap();
    assert_eq!(added.name, "add a note to Flute in bar 1");
    // The chord tone nearest to the note before, until the next note.
    assert_eq!(table.after(&added).plays(0)[1], (480, 72, 480));
    assert_eq!(added.notes, ["the note ends where the next one begins"]);
    let wanted = add(&desk, flute, (Tick(480), Ticks(240)), Some(pitch(77))).unwrap();
    assert_eq!(table.after(&wanted).plays(0)[1], (480, 77, 240));
    let taken = add(&desk, flute, (Tick(240), Ticks(240)), None).unwrap_err();
    assert_eq!(
        taken.to_string(),
        "Flute sounds C5 at bar 1, beat 1.5; split or delete that note first"
    );
    let late = add(&desk, flute, (Tick(8 * 1920), Ticks(240)), None).unwrap_err();
    assert!(matches!(late, Refused::AfterEnd(_)));
    let marimba = part(&table.band, "Marimba");
    let first = add(
        &desk,
        PartId(marimba),
        (Tick(0), Ticks(480)),
        Some(pitch(60)),
    )
    .unwrap();
    let table = table.after(&first);
    let second = add(
        &table.desk(),
        PartId(marimba),
        (Tick(240), Ticks(480)),
        Some(pitch(64)),
    );
    let table = table.after(&second.unwrap());
    assert_eq!(table.plays(marimba), [(0, 60, 480), (240, 64, 480)]);
    let bar = Selection::of(BarNumber(1), BarNumber(1), [flute, PartId(marimba)]);
    let gone = delete(&table.desk(), &bar).unwrap();
    assert_eq!(gone.name, "delete 4 notes of Flute and Marimba in bar 1");
    let table = table.after(&gone);
    assert_eq!((table.plays(0), table.plays(marimba)), (vec![], vec![]));
    let none = delete(&table.desk(), &bar).unwrap_err().to_string();
    assert!(
        none.starts_with("no note begins in bar 1 of Flute and Marimba"),
        "{none}"
    );
}

#[test]
fn a_line_is_handed_over_in_the_octave_that_suits() {
    let mut table = small();
    let (clarinet, trombone) = (part(&table.band, "Clarinet"), part(&table.band, "Trombone"));
    table.write(0, &[(0, 84, 960), (960, 86, 960), (1920, 88, 1920)]);
    table.write(trombone, &[(0, 50, 480), (1440, 48, 1920)]);
    let desk = table.desk();
    let to = [PartId(trombone), PartId(clarinet)];
    let done = hand_over(&desk, PartId(0), &to, bars(1, 1)).unwrap();
    assert_eq!(
        done.name,
        "hand 2 notes of Flute in bar 1 to Clarinet and Trombone"
    );
    let after = table.after(&done);
    assert_eq!(after.plays(0), [(1920, 88, 1920)]);
    for (part, plays) in [
        (clarinet, after.plays(clarinet)),
        (trombone, after.plays(trombone)),
    ] {
        let easy = table.band.parts[part].limits.comfortable;
        assert_eq!((plays[0].0, plays[1].0), (0, 960));
        assert_eq!(plays[1].1 - plays[0].1, 2);
        assert_eq!(plays[0].1 % 12, 0);
        assert!(plays.iter().all(|p| easy.contains(pitch(p.1))), "{plays:?}");
    }
    // What the trombone had there is gone.
    assert_eq!(after.plays(trombone).len(), 2);
    assert!(
        done.notes
            .iter()
            .any(|n| n.starts_with("Trombone has bar 1 ") && n.ends_with("lower"))
    );
    let doubled = table.after(&double_into(&desk, PartId(0), &to, bars(1, 1)).unwrap());
    assert_eq!(doubled.plays(0), table.plays(0));
    assert_eq!(doubled.plays(clarinet), after.plays(clarinet));
    let nobody = hand_over(&desk, PartId(0), &[PartId(0)], bars(1, 1));
    assert_eq!(nobody, Err(Refused::NobodyToTake("Flute".to_owned())));
    assert!(matches!(
        hand_over(&desk, PartId(0), &to, bars(7, 7)),
        Err(Refused::NoNotes(_))
    ));
    assert_eq!(
        hand_over(&desk, PartId(77), &to, bars(1, 1)),
        Err(Refused::NoPart)
    );
    assert_eq!(
        hand_over(&desk, PartId(0), &[PartId(77)], bars(1, 1)),
        Err(Refused::NoPart)
    );
}

#[test]
fn what_is_held_over_ends_where_new_notes_begin() {
    let mut table = small();
    let clarinet = part(&table.band, "Clarinet");
    table.write(0, &[(2400, 72, 1920)]);
    table.write(clarinet, &[(960, 67, 1920), (3840, 65, 480)]);
    let done = double_into(&table.desk(), PartId(0), &[PartId(clarinet)], bars(2, 2)).unwrap();
    // The flute's note ends where the clarinet goes on in bar 3.
    let after = table.after(&done);
    assert_eq!(
        after.plays(clarinet),
        [(960, 67, 1440), (2400, 72, 1440), (3840, 65, 480)]
    );
    assert_eq!(
        done.notes,
        ["a note that Clarinet held over ends where the new ones begin"]
    );
}

#[test]
fn a_line_of_the_sketch_goes_into_parts() {
    let table = small();
    let desk = table.desk();
    let (trumpet, tuba) = (part(&table.band, "Trumpet"), part(&table.band, "Tuba"));
    let at = Selection::of(BarNumber(1), BarNumber(2), [PartId(trumpet)]);
    let done = sketch_line_into(&desk, Line::Melody, &at).unwrap();
    assert_eq!(
        done.name,
        "copy the sketch's melody in bars 1-2 into Trumpet"
    );
    let after = table.after(&done);
    let sung: Vec<_> = desk.reading.line(Line::Melody).take(8).collect();
    let played = &after.draft.lines[trumpet].notes;
    assert_eq!(played.len(), 8);
    let shift = i16::from(played[0].pitch.midi()) - i16::from(sung[0].pitch.midi());
    assert_eq!(shift % 12, 0);
    for (note, sung) in played.iter().zip(sung) {
        assert_eq!((note.onset, note.role), (sung.onset, Role::Melody));
        let by = i16::from(note.pitch.midi()) - i16::from(sung.pitch.midi());
        assert_eq!(by, shift);
    }
    let low = Selection::of(BarNumber(1), BarNumber(8), [PartId(tuba)]);
    let bass = table.after(&sketch_line_into(&desk, Line::Bass, &low).unwrap());
    assert_eq!(bass.plays(tuba).len(), 8);
    let none = sketch_line_into(&desk, Line::Figure, &at).unwrap_err();
    assert_eq!(
        none.to_string(),
        "the sketch's figure has no note that begins in bars 1-2; choose other bars or another line"
    );
}

#[test]
fn a_passage_is_pasted_to_its_repeat() {
    let mut table = small();
    let clarinet = part(&table.band, "Clarinet");
    table.write(0, &[(0, 72, 480), (480, 74, 480)]);
    table.write(clarinet, &[(4 * 1920, 60, 480), (6 * 1920, 62, 480)]);
    let desk = table.desk();
    let found = repeats_of(&desk, bars(1, 2));
    assert!(
        found
            .iter()
            .any(|r| r.bars == bars(5, 6) && r.semitones == 0),
        "{found:?}"
    );
    let (from, to) = (
        passage_of_bars(&desk, bars(1, 2)),
        passage_of_bars(&desk, bars(5, 6)),
    );
    let done = paste_scoring(&desk, &from, &to, &[]).unwrap();
    assert_eq!(
        done.name,
        "paste the scoring of bars 1-2 for all parts to bars 5-6"
    );
    let after = table.after(&done);
    let at = 4 * 1920;
    let flute = [
        (0, 72, 480),
        (480, 74, 480),
        (at, 72, 480),
        (at + 480, 74, 480),
    ];
    assert_eq!(after.plays(0), flute);
    // The clarinet rests in the passage, so it rests in the repeat, but not after it.
    assert_eq!(after.plays(clarinet), [(6 * 1920, 62, 480)]);
    assert_eq!(done.notes, Vec::<String>::new());
    let other = paste_scoring(
        &desk,
        &from,
        &passage_of_bars(&desk, bars(3, 4)),
        &[PartId(0)],
    );
    assert!(other.unwrap().notes[0].starts_with("the sketch does not repeat these bars"));
    let same = paste_scoring(&desk, &from, &from, &[]);
    assert_eq!(same, Err(Refused::OnItself));
}

#[test]
fn a_repeat_in_another_key_is_moved_with_it() {
    let mut table = small();
    table.write(0, &[(0, 72, 480)]);
    let mut stretches = table.reading.form.stretches.clone();
    assert_eq!(stretches.len(), 1, "{stretches:?}");
    stretches[0].semitones = 2;
    table.reading.form.stretches = stretches;
    let desk = table.desk();
    let (from, to) = (
        passage_of_bars(&desk, bars(1, 2)),
        passage_of_bars(&desk, bars(5, 6)),
    );
    let done = paste_scoring(&desk, &from, &to, &[]).unwrap();
    assert_eq!(table.after(&done).plays(0)[1], (4 * 1920, 74, 480));
    assert_eq!(
        done.notes,
        ["bars 5-6 stands 2 semitones higher, and so do the notes"]
    );
    let back = paste_scoring(&table.after(&done).desk(), &to, &from, &[]).unwrap_err();
    assert_eq!(back, Refused::NothingChanges);
}

#[test]
fn the_list_of_changed_notes_stays_true() {
    let mut table = demo().clone();
    let flute = &table.draft.lines[0].notes;
    let note = *flute.first().unwrap();
    let change = MelodyChange {
        onset: note.onset,
        sketch: pitch(note.pitch.midi() + 1),
        new: Some(note.pitch),
        parts: vec![(PartId(0), note.pitch)],
        reason: "of the test".to_owned(),
    };
    let listed = table.draft.melody_changes.len();
    table.draft.melody_changes.push(change);
    let desk = table.desk();
    let at = Selection::of_note(&desk, id(0, note.onset.0, note.pitch.midi()));
    let shorter = shorter(&desk, &at, Ticks(1)).unwrap();
    assert_eq!(shorter.draft.melody_changes.len(), listed + 1);
    let gone = delete(&desk, &at).unwrap();
    assert_eq!(gone.draft.melody_changes.len(), listed);
}

#[test]
fn what_changed_is_told_by_part_and_bars() {
    let mut before = small();
    before.write(
        0,
        &[
            (0, 72, 480),
            (480, 74, 480),
            (1920, 76, 480),
            (7680, 72, 480),
        ],
    );
    let mut after = small();
    after.write(
        0,
        &[
            (0, 71, 480),
            (480, 74, 480),
            (1920, 77, 480),
            (2400, 72, 480),
        ],
    );
    after.write(1, &[(9600, 60, 480)]);
    let told = drafts_differ(
        &before.band,
        &before.song.meters,
        &before.draft,
        &after.draft,
    );
    assert_eq!(
        told,
        [
            "Flute: 2 notes in bars 1-2 are others, a note in bars 1-2 is new",
            "Flute: a note in bar 5 is gone",
            "Clarinet: a note in bar 6 is new",
        ]
    );
    let none = drafts_differ(
        &before.band,
        &before.song.meters,
        &before.draft,
        &before.draft,
    );
    assert!(none.is_empty());
}

#[test]
fn an_empty_draft_refuses_in_words() {
    let mut table = small();
    table.draft = Default::default();
    let desk = table.desk();
    let all = Selection::all(&desk);
    assert!(matches!(
        octave(&desk, &all, Way::Up),
        Err(Refused::NoNotes(_))
    ));
    assert!(matches!(split(&desk, &all, None), Err(Refused::NoNotes(_))));
    let added = add(&desk, PartId(3), (Tick(0), Ticks(480)), None).unwrap();
    assert_eq!(added.draft.lines.len(), 1);
    let sketch = sketch_line_into(&desk, Line::Melody, &all).unwrap();
    assert_eq!(sketch.draft.lines.len(), 6);
}
