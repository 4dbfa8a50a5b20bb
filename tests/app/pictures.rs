//! Pictures of the window's main states, held against those that were looked at. They need a graphics
//! driver and the feature `image-tests`; DEVELOPERS.md says how they are renewed.
#![cfg(feature = "image-tests")]

use super::Window;
use bandwright::app::actions::Action;

#[test]
fn the_main_states_look_as_they_did() {
    let mut window = Window::demo();
    window.app().session.messages.clear();
    window.harness.run_steps(2);
    window.harness.snapshot("first_start");
    window.app().welcome = false;
    window.select((18, 20), &["Trumpet 1", "Trumpet 2"]);
    window.press(Action::Lock);
    window.settle();
    window.app().session.messages.clear();
    window.select((18, 18), &["Clarinet 2"]);
    window.press(Action::NoteAfter);
    window.settle();
    window.harness.snapshot("why_a_note");
    window.press(Action::ShowFindings);
    window.harness.snapshot("findings");
    window.press(Action::EditRoster);
    window.harness.snapshot("roster");
    window.press(Action::ShowWays);
    window.press(Action::Dark);
    window.harness.snapshot("ways_dark");
    window.press(Action::WholeShow);
    window.harness.snapshot("whole_show_dark");
}
