//! Every action can be reached by its name in a menu, by its key, and in the list of actions.

use super::Window;
use bandwright::app::actions::{ACTIONS, Action, Menu};
use egui_kittest::kittest::Queryable;

#[test]
fn every_action_stands_in_its_menu_under_its_name() {
    let mut window = Window::demo();
    for menu in Menu::ALL {
        window.click(menu.name());
        for about in ACTIONS.iter().filter(|a| a.menu == menu) {
            let found = window
                .harness
                .query_all_by_label_contains(about.name)
                .count();
            assert!(found > 0, "{} is not in {}", about.name, menu.name());
        }
        window.harness.key_press(eframe::egui::Key::Escape);
        window.harness.run_steps(3);
    }
}

#[test]
fn the_list_of_actions_finds_by_words_and_does_what_is_chosen() {
    let mut window = Window::demo();
    window.press(Action::FindAction);
    let field = "Words of what it is called or does";
    window.harness.get_by_label(field).focus();
    window.harness.run_steps(2);
    window.harness.get_by_label(field).type_text("dark rooms");
    window.harness.run_steps(2);
    assert!(!window.harness.state().session.view.dark);
    window.harness.key_press(eframe::egui::Key::Enter);
    window.harness.run_steps(3);
    assert!(window.harness.state().session.view.dark);
}

#[test]
fn every_key_does_something_or_says_why_not() {
    // Pressed one after the other on the demo with something selected: nothing panics, and what asks is left.
    let mut window = Window::demo();
    for about in ACTIONS {
        // These let the show go; they are tested by themselves.
        if matches!(about.action, Action::Quit | Action::New) {
            continue;
        }
        window.select((17, 18), &["Clarinet 1"]);
        window.press(about.action);
        if !matches!(
            window.harness.state().dialog,
            bandwright::app::dialogs::Dialog::None
        ) {
            window.harness.key_press(eframe::egui::Key::Escape);
            window.harness.run_steps(3);
        }
        window.settle();
    }
    // All that was done can be taken back.
    let start = bandwright::app::session::demo().unwrap();
    let ctx = window.harness.ctx.clone();
    while window.app().session.open.project.can_undo() {
        window.app().act(&ctx, Action::Undo);
    }
    assert_eq!(*window.harness.state().session.document(), start);
}
