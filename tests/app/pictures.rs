//! Pictures of the window's main states, held against those that were looked at. They need a graphics
//! driver and the feature `image-tests`; DEVELOPERS.md says how they are renewed.
#![cfg(feature = "image-tests")]

use super::Window;
use bandwright::app::actions::Action;

/// Takes a picture of what is the same in every run: what was told has times in it, and notes that a solve
/// changed are marked for a while only.
fn picture(window: &mut Window, name: &str) {
    window.settle();
    let session = &mut window.app().session;
    session.messages.clear();
    session.changed = None;
    window.harness.run_steps(2);
    window.harness.snapshot(name);
}

#[test]
fn the_main_states_look_as_they_did() {
    let mut window = Window::demo();
    // Large enough to judge by eye, small enough for a repository.
    window.harness.set_size(eframe::egui::vec2(1000.0, 640.0));
    picture(&mut window, "first_start");
    window.app().welcome = false;
    window.select((18, 20), &["Trumpet 1", "Trumpet 2"]);
    window.press(Action::Lock);
    window.settle();
    window.select((18, 18), &["Clarinet 2"]);
    window.press(Action::NoteAfter);
    picture(&mut window, "why_a_note");
    window.press(Action::ShowFindings);
    picture(&mut window, "findings");
    window.press(Action::EditRoster);
    picture(&mut window, "roster");
    window.press(Action::ShowWays);
    window.press(Action::Dark);
    picture(&mut window, "ways_dark");
    window.press(Action::WholeShow);
    picture(&mut window, "whole_show_dark");
}
