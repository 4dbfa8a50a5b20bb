//! The shape of the show in the window: every action by its name, drags, keys, shapes that come along, files.

use super::Window;
use bandwright::app::actions::{ACTIONS, Action, Menu};
use bandwright::app::app::Begin;
use bandwright::app::dialogs::Dialog;
use bandwright::app::view::Panel;
use bandwright::app::wants::Want;
use bandwright::export::Existing;
use bandwright::music::{BarBeat, BarNumber};
use bandwright::plan::timeline::{AnyTimeline, MarkKind, Timeline, Way, bar_line};
use bandwright::project::work::TimelineEdit;
use eframe::egui::{Event, Key, Modifiers, PointerButton, Pos2, vec2};
use egui_kittest::kittest::{NodeT, Queryable};

/// The timeline of the show, in bars.
fn timeline(window: &Window) -> Timeline<BarBeat> {
    let document = window.harness.state().session.document();
    match document.timeline.as_ref() {
        Some(AnyTimeline::Bars(timeline)) => timeline.clone(),
        other => panic!("no timeline in bars: {other:?}"),
    }
}

fn has_timeline(window: &Window) -> bool {
    window.harness.state().session.document().timeline.is_some()
}

fn take(window: &mut Window, word: &str) {
    window.app().session.take_shape(word);
    window.settle();
}

fn button(window: &mut Window, pos: Pos2, button: PointerButton, pressed: bool) {
    window.harness.event(Event::PointerButton {
        pos,
        button,
        pressed,
        modifiers: Modifiers::NONE,
    });
    window.harness.step();
}

fn press_at(window: &mut Window, pos: Pos2, which: PointerButton) {
    window.harness.hover_at(pos);
    window.harness.step();
    button(window, pos, which, true);
    button(window, pos, which, false);
    window.harness.run_steps(2);
}

/// Presses twice, as quick as can be.
fn double_click(window: &mut Window, pos: Pos2) {
    let delay = |window: &Window, seconds| {
        let ctx = &window.harness.ctx;
        ctx.options_mut(|o| o.input_options.max_double_click_delay = seconds);
    };
    window.harness.hover_at(pos);
    window.harness.step();
    // Here every event takes a quarter of a second.
    delay(window, 1.1);
    for pressed in [true, false, true, false] {
        window.harness.event(Event::PointerButton {
            pos,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        });
    }
    window.harness.run_steps(3);
    delay(window, 0.3);
}

/// Presses at a place, goes to others in leaps, and lets go.
fn pull(window: &mut Window, from: Pos2, to: &[Pos2]) {
    window.harness.hover_at(from);
    window.harness.step();
    button(window, from, PointerButton::Primary, true);
    for place in to {
        window.harness.hover_at(*place);
        window.harness.run_steps(2);
    }
    let last = *to.last().unwrap();
    button(window, last, PointerButton::Primary, false);
    window.harness.run_steps(2);
}

/// Where what a screen reader calls so, or begins to, stands.
fn place_of(window: &Window, said: &str) -> Pos2 {
    let found = window.harness.query_all_by_label_contains(said);
    // The ribbon as a whole names the point that is selected, too.
    let mut found = found.filter(|node| {
        let label = node.accesskit_node().label();
        label.is_some_and(|l| l.starts_with(said))
    });
    found.next().expect(said).rect().center()
}

fn type_name(window: &mut Window, name: &str) {
    window.harness.get_by_label("Its name").focus();
    window.harness.run_steps(2);
    window.harness.get_by_label("Its name").type_text(name);
    window.harness.run_steps(2);
    window.click("Name it");
}

#[test]
fn every_action_of_the_shape_is_done_by_its_name() {
    let mut window = Window::demo();
    window.app().welcome = false;
    for about in ACTIONS.iter().filter(|a| a.menu == Menu::Shape) {
        window.select((18, 18), &["Clarinet 1"]);
        window.click(Menu::Shape.name());
        let name = about.name;
        let mut named = window.harness.query_all_by_label_contains(name);
        named.next().expect(name).click();
        drop(named);
        window.harness.run_steps(3);
        let asks = !matches!(window.harness.state().dialog, Dialog::None);
        match about.action {
            Action::AddPoint => assert_eq!(window.told(), hear("add a point at bar 18")),
            Action::NamePeak => {
                type_name(&mut window, "the bell");
                assert_eq!(window.told(), hear("peak `the bell` at bar 18"));
            }
            Action::NameCrest | Action::NameHush => {
                type_name(&mut window, "again");
                assert!(window.told().starts_with("peak `the bell` (bar 18) stands"));
            }
            Action::ShowShape => {
                assert_eq!(window.harness.state().session.view.panel, Panel::Timeline);
            }
            Action::RemoveTimeline => assert!(!has_timeline(&window)),
            _ => assert!(asks, "{name} asks nothing: {}", window.told()),
        }
        if asks && !matches!(window.harness.state().dialog, Dialog::None) {
            window.click("Leave it");
        }
        window.settle();
    }
}

fn hear(what: &str) -> String {
    format!("{what}: solve to hear of it (Ctrl+Enter)")
}

#[test]
fn without_a_bar_or_a_timeline_it_is_told_what_to_do() {
    let mut window = Window::demo();
    window.press(Action::SelectNothing);
    window.press(Action::AddPoint);
    assert!(window.told().starts_with("select a bar first"));
    window.press(Action::NamePeak);
    assert!(window.told().starts_with("select a bar first"));
    window.press(Action::SendOutTimeline);
    assert!(
        window
            .told()
            .starts_with("there is no timeline to send out")
    );
    window.press(Action::RemoveTimeline);
    assert!(window.told().starts_with("there is no timeline"));
}

#[test]
fn a_drag_of_a_point_is_one_step_and_the_first_one_begins_a_timeline() {
    let mut window = Window::demo();
    window.app().welcome = false;
    window.harness.run_steps(2);
    assert!(!has_timeline(&window));
    let draft = window.harness.state().session.document().draft.clone();
    let from = place_of(&window, "point 2 of ");
    let to = [
        from - vec2(0.0, 6.0),
        from + vec2(0.0, 9.0),
        from + vec2(0.0, 14.0),
    ];
    pull(&mut window, from, &to);
    let moved = timeline(&window);
    assert_eq!(window.told(), hear("move point 2 of the shape"));
    window.settle();
    // It changes no note by itself, and stays selected.
    let session = &window.harness.state().session;
    assert_eq!(
        (session.document().draft.clone(), session.point),
        (draft, Some(1))
    );
    let from = place_of(&window, "point 2 of ");
    pull(
        &mut window,
        from,
        &[from + vec2(40.0, 0.0), from + vec2(24.0, 0.0)],
    );
    let again = timeline(&window);
    assert_eq!(again.points[1].intensity, moved.points[1].intensity);
    assert!(again.points[1].at.bar > moved.points[1].at.bar);
    window.press(Action::Undo);
    assert_eq!(timeline(&window), moved);
    window.press(Action::Undo);
    assert!(!has_timeline(&window));
    window.press(Action::Redo);
    assert_eq!(timeline(&window), moved);
}

#[test]
fn a_changed_shape_is_wanted_and_heard_of_once_it_is_solved() {
    let mut window = Window::demo();
    take(&mut window, "deep-hush");
    let session = &window.harness.state().session;
    let look = session.look().unwrap();
    let laid = look.ready.timeline.as_ref().unwrap();
    assert_eq!(
        look.course.wanted,
        laid.by_bar(&look.course.starts).unwrap()
    );
    let before = look.course.together().unwrap();
    window.press(Action::SelectNothing);
    window.press(Action::SolveAll);
    window.settle();
    let look = window.harness.state().session.look().unwrap();
    assert!(look.course.together().unwrap() > before);
}

#[test]
fn points_are_moved_added_and_removed_by_keys() {
    let mut window = Window::demo();
    window.app().welcome = false;
    take(&mut window, "arch");
    let before = timeline(&window);
    let at = place_of(&window, "point 2 of ");
    press_at(&mut window, at, PointerButton::Primary);
    assert_eq!(window.harness.state().session.point, Some(1));
    let mut key = |modifiers, key| {
        window.harness.key_press_modifiers(modifiers, key);
        window.harness.run_steps(3);
    };
    key(Modifiers::NONE, Key::ArrowRight);
    key(Modifiers::ALT, Key::ArrowUp);
    key(Modifiers::ALT, Key::ArrowLeft);
    let after = timeline(&window);
    let (was, is) = (before.points[2], after.points[2]);
    assert_eq!(is.at.bar.0, was.at.bar.0 - 1);
    assert_eq!(is.intensity, (was.intensity + 0.5).min(10.0));
    window.harness.key_press(Key::Delete);
    window.harness.run_steps(3);
    assert_eq!(timeline(&window).points.len(), before.points.len() - 1);
    // With nothing of the ribbon in the hand, the keys are the notes'.
    window.press(Action::SelectNothing);
    window.select((18, 18), &["Clarinet 1"]);
    window.press(Action::AddPoint);
    let points = timeline(&window).points;
    let new = points.iter().find(|p| p.at == bar_line(18)).unwrap();
    let curve = after.intensity(bar_line(18)).unwrap();
    assert!((new.intensity - curve).abs() < 0.8, "{new:?} {curve}");
    window.settle();
}

#[test]
fn a_double_click_adds_a_point_and_the_menu_at_it_changes_its_way() {
    let mut window = Window::demo();
    window.app().welcome = false;
    take(&mut window, "arch");
    let count = timeline(&window).points.len();
    let (one, two) = (
        place_of(&window, "point 1 of "),
        place_of(&window, "point 2 of "),
    );
    let between = one + (two - one) * 0.5;
    double_click(&mut window, between);
    let points = timeline(&window).points;
    assert_eq!(points.len(), count + 1, "{}", window.told());
    let at = place_of(&window, "point 2 of ");
    press_at(&mut window, at, PointerButton::Secondary);
    window.click("straight");
    assert_eq!(timeline(&window).points[1].way, Way::Straight);
    let at = place_of(&window, "point 2 of ");
    press_at(&mut window, at, PointerButton::Secondary);
    window.click("Name a hush here…");
    type_name(&mut window, "breath");
    let mark = timeline(&window)
        .marks
        .into_iter()
        .find(|m| m.name == "breath");
    let mark = mark.unwrap();
    assert_eq!((mark.kind, mark.at), (MarkKind::Hush, points[1].at));
    window.settle();
    // Its ring is dragged, gets another name and goes.
    let ring = place_of(&window, "hush `breath`");
    pull(
        &mut window,
        ring,
        &[ring + vec2(30.0, 0.0), ring + vec2(18.0, 0.0)],
    );
    let find = |window: &Window, name: &str| {
        let marks = timeline(window).marks;
        marks.into_iter().find(|m| m.name == name)
    };
    assert!(find(&window, "breath").unwrap().at.bar > mark.at.bar);
    let ring = place_of(&window, "hush `breath`");
    press_at(&mut window, ring, PointerButton::Secondary);
    window.click("Another name…");
    type_name(&mut window, " held");
    assert!(find(&window, "breath held").is_some());
    window.settle();
    let ring = place_of(&window, "hush `breath held`");
    press_at(&mut window, ring, PointerButton::Secondary);
    window.click("Remove the hush");
    assert!(find(&window, "breath held").is_none());
}

#[test]
fn a_shape_is_taken_saved_opened_again_and_sent_out() {
    let mut window = Window::demo();
    window.press(Action::TakeShape);
    window.click("Arch");
    window.settle();
    let taken = timeline(&window);
    assert_eq!((taken.name.as_str(), taken.bars()), ("Arch", 64));
    window.harness.get_by_label_contains("The show: Arch");
    let (show, toml) = (window.path("mine.bandwright"), window.path("mine.toml"));
    let svg = window.path("mine.svg");
    let session = &mut window.app().session;
    assert!(session.save_as(&show, Existing::Keep));
    session.send_out_timeline(&toml, Existing::Keep);
    assert!(window.told().starts_with("the timeline is in "));
    let session = &mut window.app().session;
    session.send_out_shape(&svg, Existing::Keep);
    assert!(window.told().starts_with("the shape is in "));
    let drawn = std::fs::read_to_string(&svg).unwrap();
    assert!(drawn.starts_with("<?xml") && drawn.contains("Harvest Lights"));
    drop(window.harness);
    let mut again = Window::with(|_| Begin {
        show: Some(show.clone()),
        ..Begin::default()
    });
    assert_eq!(timeline(&again), taken);
    again.press(Action::RemoveTimeline);
    again.settle();
    assert!(!has_timeline(&again));
    again.app().session.bring_in_timeline(&toml);
    again.settle();
    assert_eq!(timeline(&again), taken);
    again.app().session.bring_in_timeline(&show);
    assert!(again.told().contains("mine.bandwright"), "{}", again.told());
    assert_eq!(timeline(&again), taken);
}

#[test]
fn what_misses_the_shape_says_by_how_much_and_leads_there() {
    let mut window = Window::demo();
    window.app().welcome = false;
    // All that there is is wanted in bars that the sketch has quiet.
    let timeline = bandwright::plan::timeline::template("going-home").unwrap();
    let mut timeline = timeline.in_bars(64);
    timeline.points.truncate(1);
    timeline.points[0].intensity = 10.0;
    let toml = window.path("loud.toml");
    let text = bandwright::plan::timeline::write_timeline(&timeline.into());
    std::fs::write(&toml, text).unwrap();
    window.app().session.bring_in_timeline(&toml);
    window.settle();
    let look = window.harness.state().session.look().unwrap();
    let misses = bandwright::review::misses(&look.course);
    let last = misses.last().expect("it is missed").clone();
    let said = format!("{}; {}", last.what(), last.mend());
    let at = place_of(&window, &said);
    press_at(&mut window, at, PointerButton::Primary);
    let session = &window.harness.state().session;
    let (from, _) = session.engraved.bar_span(last.first).unwrap();
    let (left, seen) = (session.view.left, session.seen.0);
    assert!(left <= from && from < left + seen);
}

#[test]
fn the_wheel_looks_closer_and_a_press_goes_there() {
    let mut window = Window::demo();
    window.app().welcome = false;
    take(&mut window, "arch");
    let first = place_of(&window, "point 2 of ");
    let before = place_of(&window, "point 3 of ").x - first.x;
    window.harness.hover_at(first);
    window.harness.step();
    for _ in 0..3 {
        window.harness.event(Event::MouseWheel {
            unit: eframe::egui::MouseWheelUnit::Point,
            delta: vec2(0.0, 60.0),
            source: eframe::egui::MouseWheelSource::Wheel,
            phase: eframe::egui::TouchPhase::Move,
            modifiers: Modifiers::NONE,
        });
        window.harness.run_steps(8);
    }
    let closer = place_of(&window, "point 3 of ").x - place_of(&window, "point 2 of ").x;
    assert!(closer > before * 1.3, "{before} {closer}");
    let session = &mut window.app().session;
    session.want(Want::GoTo(BarNumber(1), None));
    let left = session.view.left;
    let at = place_of(&window, "point 2 of ") + vec2(0.0, 22.0);
    press_at(&mut window, at, PointerButton::Primary);
    assert!(window.harness.state().session.view.left > left);
}

#[test]
fn edits_of_no_point_are_told() {
    let mut window = Window::demo();
    let edit = TimelineEdit::RemovePoint(99);
    window.app().session.want(Want::Shape(edit));
    assert!(window.told().contains("no such point"));
}
