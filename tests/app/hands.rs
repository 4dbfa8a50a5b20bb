//! What hands do on the sheet: dragging, frames, the wheel, keys through the sketch; and what dialogs ask.

use super::Window;
use bandwright::app::actions::Action;
use bandwright::app::wants::Want;
use bandwright::music::{BarNumber, Sounding};
use bandwright::project::work::{NoteId, RosterEdit, edit_roster};
use bandwright::sketch::Line;
use eframe::egui::{Modifiers, PointerButton, Pos2, pos2};
use egui_kittest::kittest::{NodeT, Queryable};

/// The first note of a part from a bar on.
fn note_of(window: &Window, part: &str, bar: u32) -> NoteId {
    let session = &window.harness.state().session;
    let document = session.document();
    let id = document.band.ids().find(|(_, p)| p.name == part).unwrap().0;
    let start = session
        .look()
        .unwrap()
        .song
        .meters
        .bar_start(BarNumber(bar));
    let line = &document.draft.lines[id.0].notes;
    let note = line.iter().find(|n| n.onset >= start).unwrap();
    NoteId {
        part: id,
        onset: note.onset,
        pitch: note.pitch,
    }
}

fn steps(window: &mut Window) -> usize {
    let mut count = 0;
    while window.app().session.open.project.undo_name().is_some() {
        window.app().session.act(Action::Undo);
        count += 1;
    }
    for _ in 0..count {
        window.app().session.act(Action::Redo);
    }
    count
}

fn button(window: &mut Window, pos: Pos2, pressed: bool) {
    window.harness.event(eframe::egui::Event::PointerButton {
        pos,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    });
    window.harness.step();
}

/// Presses at a place, goes to another in one leap, and lets go.
fn pull(window: &mut Window, from: Pos2, to: Pos2) {
    window.harness.hover_at(from);
    window.harness.step();
    button(window, from, true);
    window.harness.hover_at(to);
    window.harness.run_steps(2);
    button(window, to, false);
    window.harness.run_steps(2);
}

/// Where on the screen a note that is seen stands.
fn head_of(window: &Window, said: &str) -> Pos2 {
    let note = window.harness.query_all_by_label_contains(said).next();
    note.expect(said).rect().center()
}

#[test]
fn each_drag_is_a_step_of_its_own() {
    let mut window = Window::demo();
    let note = note_of(&window, "Clarinet 1", 18);
    let before = steps(&mut window);
    let session = &mut window.app().session;
    let up = |by: i32| Sounding::nearest(i32::from(note.pitch.midi()) + by);
    for by in [1, 2, 3] {
        let now = session
            .selection
            .as_ref()
            .and_then(|s| s.note)
            .unwrap_or(note);
        session.want(Want::Drag(now, up(by)));
    }
    session.want(Want::LetGo);
    let now = session.selection.as_ref().unwrap().note.unwrap();
    assert_eq!(now.pitch, up(3));
    session.want(Want::Drag(now, up(1)));
    session.want(Want::LetGo);
    assert_eq!(steps(&mut window), before + 2);
    window.press(Action::Undo);
    assert_eq!(note_of(&window, "Clarinet 1", 18).pitch, up(3));
    window.press(Action::Undo);
    assert_eq!(note_of(&window, "Clarinet 1", 18).pitch, note.pitch);
}

#[test]
fn a_quick_hand_drags_as_far_as_a_slow_one() {
    let mut window = Window::demo();
    window.app().welcome = false;
    let note = note_of(&window, "Flute 1", 18);
    window.app().session.go_to(BarNumber(18), Some(note.part));
    window.harness.run_steps(3);
    // A screen reader's names say where the heads stand.
    let look = window.harness.state().session.look().unwrap();
    let place = look.song.meters.place(note.onset);
    let head = head_of(&window, &format!("{place}, Flute 1: "));
    let half = window.app().session.view.space() / 2.0;
    pull(
        &mut window,
        head,
        head + eframe::egui::vec2(0.0, 4.0 * half),
    );
    window.settle();
    let now = note_of(&window, "Flute 1", 18);
    // Four steps of a scale are six or seven half steps.
    let fell = i32::from(note.pitch.midi()) - i32::from(now.pitch.midi());
    assert!((6..=7).contains(&fell), "{fell}: {}", window.told());
}

#[test]
fn keys_lead_from_the_woodwinds_through_the_sketch_to_the_brass() {
    let mut window = Window::demo();
    let parts: Vec<String> = {
        let band = &window.harness.state().session.document().band;
        band.parts.iter().map(|p| p.name.clone()).collect()
    };
    window.select((18, 18), &[parts[0].as_str()]);
    let mut met = Vec::new();
    for _ in 0..60 {
        window.press(Action::PartBelow);
        let session = &window.harness.state().session;
        if !session.sketch_notes.is_empty() {
            met.push(None);
        } else if let Some(selection) = &session.selection {
            met.push(Some(selection.parts[0].0));
        }
    }
    met.dedup();
    let places: Vec<usize> = (0..met.len()).filter(|i| met[*i].is_none()).collect();
    assert_eq!(places.len(), 1, "{met:?}");
    let all: Vec<usize> = met.iter().flatten().copied().collect();
    assert_eq!(all, (1..parts.len()).collect::<Vec<_>>());
    // In the sketch: notes one by one, more of them, what they are.
    while window.harness.state().session.sketch_notes.is_empty() {
        window.press(Action::PartAbove);
    }
    let first = window.harness.state().session.sketch_notes.clone();
    window.press(Action::NoteAfter);
    let next = window.harness.state().session.sketch_notes.clone();
    assert_eq!((first.len(), next), (1, vec![first[0] + 1]));
    window.press(Action::ExtendOn);
    assert_eq!(window.harness.state().session.sketch_notes.len(), 2);
    window.press(Action::TagCounterline);
    window.settle();
    let session = &window.harness.state().session;
    let notes = &session.look().unwrap().ready.reading.notes;
    let lines: Vec<Line> = session
        .sketch_notes
        .iter()
        .map(|i| notes[*i].line)
        .collect();
    assert_eq!(lines, [Line::Counterline; 2]);
    window.press(Action::SelectPart);
    let session = &window.harness.state().session;
    let notes = &session.look().unwrap().ready.reading.notes;
    assert!(session.sketch_notes.len() >= 2);
    let of_line = |i: &usize| notes[*i].line == Line::Counterline;
    assert!(session.sketch_notes.iter().all(of_line));
}

#[test]
fn a_frame_within_the_sketch_takes_its_notes() {
    let mut window = Window::demo();
    window.app().welcome = false;
    window.select((18, 18), &["Flute 1"]);
    while window.harness.state().session.sketch_notes.is_empty() {
        window.press(Action::PartBelow);
    }
    window.press(Action::SelectNothing);
    let heads: Vec<Pos2> = window
        .harness
        .query_all_by_label_contains(", sketch: ")
        .filter(|n| words(n).starts_with("bar 18,"))
        .map(|n| n.rect().center())
        .collect();
    assert!(heads.len() > 3, "{} heads", heads.len());
    let (mut low, mut high) = (heads[0], heads[0]);
    for head in &heads {
        low = pos2(low.x.min(head.x), low.y.min(head.y));
        high = pos2(high.x.max(head.x), high.y.max(head.y));
    }
    let room = eframe::egui::vec2(2.0, 7.0);
    pull(&mut window, low - room, high + room);
    let session = &window.harness.state().session;
    assert!(session.sketch_notes.len() >= heads.len());
    assert!(session.selection.is_none());
}

#[test]
fn a_line_is_handed_over_from_one_part_that_is_selected() {
    let mut window = Window::demo();
    window.press(Action::SelectNothing);
    for (parts, asks) in [
        (&[][..], false),
        (&["Flute 1", "Clarinet 1"][..], false),
        (&["Flute 1"][..], true),
    ] {
        if !parts.is_empty() {
            window.select((18, 18), parts);
        }
        window.press(Action::HandOver);
        let title = window.harness.query_by_label("Hand the line over to");
        assert_eq!(title.is_some(), asks, "{parts:?}");
        if !asks {
            assert!(window.told().contains("one part"), "{}", window.told());
        }
    }
}

#[test]
fn what_is_selected_goes_along_with_its_part_when_the_band_changes() {
    let mut window = Window::demo();
    let before = window.harness.state().session.document().band.clone();
    let edit = RosterEdit::Remove(0);
    let done = edit_roster(&before.roster, &edit).unwrap();
    let name = done.band.parts[2].name.clone();
    assert_ne!(before.parts[2].name, name);
    let want = Want::Roster(Box::new(done));
    window.app().session.want(want);
    window.settle();
    window.select((18, 18), &[name.as_str()]);
    // The solve that followed, and the band.
    for _ in 0..2 {
        window.press(Action::Undo);
        window.settle();
    }
    let session = &window.harness.state().session;
    assert_eq!(session.document().band, before);
    let selected = session.selection.as_ref().unwrap().parts.clone();
    let part = session.document().band.part(selected[0]);
    assert_eq!((selected.len(), part.name.as_str()), (1, name.as_str()));
}

#[test]
fn the_page_of_keys_goes_where_one_says() {
    let mut window = Window::demo();
    let path = window.path("page.html");
    window.press(Action::KeySheet);
    window.click("Write it as a page to print");
    let field = window.harness.get_by_label("Path of the file");
    assert_eq!(field.value().as_deref(), Some("keys.html"));
    window.click("Leave it");
    assert!(!std::path::Path::new("keys.html").exists());
    let session = &mut window.app().session;
    session.act(Action::KeySheet);
    assert!(!path.exists());
    window.press(Action::BringInBand);
    window.click("Look for it…");
    window.harness.get_by_label("Path of the file");
}

/// What a screen reader says of something.
fn words(node: &egui_kittest::Node<'_>) -> String {
    let node = node.accesskit_node();
    node.label().or_else(|| node.value()).unwrap_or_default()
}
