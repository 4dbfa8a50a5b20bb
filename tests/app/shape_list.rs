//! The shape of the show as a list: entries added, changed and taken out by hand, and a show planned before its music.

use super::Window;
use bandwright::app::actions::Action;
use bandwright::plan::timeline::{AnyTimeline, MarkKind, Seconds};
use bandwright::project::work::{EntryKind, entries};
use egui_kittest::kittest::Queryable;

fn plan(window: &Window) -> AnyTimeline {
    let document = window.harness.state().session.document();
    document.timeline.as_ref().clone().expect("a timeline")
}

fn count(window: &Window, kind: EntryKind) -> usize {
    entries(&plan(window), kind).len()
}

/// Types into a field; what it held goes.
fn fill(window: &mut Window, label: &str, text: &str) {
    window.harness.get_by_label(label).scroll_to_me();
    window.harness.run_steps(20);
    window.harness.get_by_label(label).focus();
    window.harness.run_steps(2);
    window
        .harness
        .key_press_modifiers(eframe::egui::Modifiers::COMMAND, eframe::egui::Key::A);
    window.harness.run_steps(1);
    window.harness.get_by_label(label).type_text(text);
    window.harness.run_steps(2);
}

fn press(window: &mut Window, name: &str) {
    window.harness.get_by_label(name).scroll_to_me();
    window.harness.run_steps(20);
    window.click(name);
    window.settle();
}

#[test]
fn entries_are_added_changed_and_taken_out_and_each_is_a_step() {
    let mut window = Window::demo();
    window.app().welcome = false;
    window.press(Action::ShowShape);
    press(&mut window, "Begin as the sketch goes");
    let begun = plan(&window);
    assert_eq!(count(&window, EntryKind::Silence), 0);
    window.select((18, 18), &["Clarinet 1"]);
    press(&mut window, "Add a silence");
    press(&mut window, "Keep it");
    // What is missing is told, and the fields stay.
    let said = "`` is no place of this show; type a bar (17), or a bar and a beat (17, beat 3)";
    window.harness.get_by_label(said);
    assert_eq!(plan(&window), begun);
    fill(&mut window, "to", "18, beat 3");
    fill(&mut window, "What for", "all look up");
    press(&mut window, "Keep it");
    assert_eq!(count(&window, EntryKind::Silence), 1);
    assert!(
        window.told().starts_with("add a silence (18)"),
        "{}",
        window.told()
    );
    press(&mut window, "18 to 18, beat 3, all look up");
    fill(&mut window, "to", "19");
    press(&mut window, "Keep it");
    window.harness.get_by_label("18 to 19, all look up");
    press(&mut window, "Add a note");
    for (field, text) in [
        ("Lane", "flags"),
        ("from", "3"),
        ("to", "5"),
        ("What happens", "silks up"),
    ] {
        fill(&mut window, field, text);
    }
    press(&mut window, "Keep it");
    assert_eq!(count(&window, EntryKind::Note), 1);
    press(&mut window, "flags · 3 to 5: silks up");
    press(&mut window, "Take it out");
    assert_eq!(count(&window, EntryKind::Note), 0);
    for _ in 0..4 {
        window.press(Action::Undo);
    }
    window.settle();
    assert_eq!(plan(&window), begun);
}

#[test]
fn a_show_is_planned_in_seconds_and_laid_on_the_music_that_comes() {
    let mut window = Window::demo();
    window.app().welcome = false;
    let sketch = window.path("sketch.mid");
    std::fs::copy("assets/demo/harvest-lights.mid", &sketch).unwrap();
    window.press(Action::New);
    window.settle();
    window.press(Action::ShowShape);
    press(&mut window, "Plan in seconds");
    fill(&mut window, "How long it is", "2:00");
    window.harness.key_press(eframe::egui::Key::Enter);
    window.harness.run_steps(2);
    press(&mut window, "Add a peak, crest or hush");
    fill(&mut window, "Called", "the bell");
    fill(&mut window, "Where", "1:20");
    press(&mut window, "Keep it");
    press(&mut window, "Add a point of the curve");
    fill(&mut window, "Where", "0");
    press(&mut window, "Keep it");
    let AnyTimeline::Seconds(planned) = plan(&window) else {
        panic!("in seconds");
    };
    assert_eq!((planned.end, planned.points.len()), (Seconds(120.0), 1));
    let mark = &planned.marks[0];
    assert_eq!((mark.kind, mark.at), (MarkKind::Peak, Seconds(80.0)));
    window.app().session.bring_in_sketch(&sketch);
    window.settle();
    // The plan stays as it is in seconds; the ribbon shows it on the bars that have come.
    assert!(matches!(plan(&window), AnyTimeline::Seconds(_)));
    window.press(Action::ShowShape);
    press(&mut window, "Lay it on the bars");
    let AnyTimeline::Bars(laid) = plan(&window) else {
        panic!("in bars");
    };
    assert_eq!(laid.marks[0].name, "the bell");
    let document = window.harness.state().session.document().clone();
    assert!(document.draft.lines.is_empty() || laid.marks[0].at.bar.0 > 1);
}
