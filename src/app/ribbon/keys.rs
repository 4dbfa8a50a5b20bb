//! Keys while the ribbon has the focus: from point to point, and moving the one that is selected.

use super::id;
use super::wanted::Wanted;
use crate::app::actions::Action;
use crate::app::scene::Scene;
use crate::app::wants::Want;
use crate::music::{BarBeat, BarNumber};
use crate::project::work::TimelineEdit;
use eframe::egui::{EventFilter, Key, Modifiers, Ui};

/// Keys that the ribbon takes from the table of actions while it has the focus.
pub const KEYS: [(Modifiers, Key); 5] = [
    (Modifiers::ALT, Key::ArrowLeft),
    (Modifiers::ALT, Key::ArrowRight),
    (Modifiers::ALT, Key::ArrowUp),
    (Modifiers::ALT, Key::ArrowDown),
    (Modifiers::NONE, Key::Delete),
];

/// How much more or less intense a key makes a point.
const STEP: f64 = 0.5;

/// Does what keys ask for.
pub(super) fn keys(ui: &Ui, scene: &Scene<'_>, wanted: &Wanted, wants: &mut Vec<Want>) {
    let own = EventFilter {
        horizontal_arrows: true,
        vertical_arrows: true,
        ..EventFilter::default()
    };
    ui.memory_mut(|m| m.set_focus_lock_filter(id(), own));
    let pressed = |modifiers, key| ui.input_mut(|i| i.consume_key(modifiers, key));
    let alt = Modifiers::ALT;
    let along = i64::from(pressed(alt, Key::ArrowRight)) - i64::from(pressed(alt, Key::ArrowLeft));
    let up = i64::from(pressed(alt, Key::ArrowUp)) - i64::from(pressed(alt, Key::ArrowDown));
    let bare = Modifiers::NONE;
    let on = pressed(bare, Key::ArrowRight) | pressed(bare, Key::ArrowUp);
    let back = pressed(bare, Key::ArrowLeft) | pressed(bare, Key::ArrowDown);
    let removed = pressed(bare, Key::Delete);
    for (key, action) in [(Key::Home, Action::ToStart), (Key::End, Action::ToEnd)] {
        if pressed(bare, key) {
            wants.push(Want::Do(action));
        }
    }
    let count = wanted.points().len();
    if count == 0 {
        return;
    }
    let here = scene.point.filter(|p| *p < count);
    if on || back {
        let next = match here {
            None if on => 0,
            None => count - 1,
            Some(here) if on => (here + 1).min(count - 1),
            Some(here) => here.saturating_sub(1),
        };
        wants.push(Want::SelectPoint(Some(next)));
        if let Some(point) = wanted.points().get(next) {
            wants.push(Want::GoTo(point.at.bar, None));
        }
        return;
    }
    let Some((index, point)) = here.and_then(|i| Some((i, wanted.points().get(i)?))) else {
        return;
    };
    if removed {
        wants.push(Want::Shape(TimelineEdit::RemovePoint(index)));
    } else if along != 0 || up != 0 {
        let bar = (i64::from(point.at.bar.0) + along).max(1);
        let at = BarBeat {
            bar: BarNumber(u32::try_from(bar).unwrap_or(u32::MAX)),
            ..point.at
        };
        let intensity = (point.intensity + STEP * up as f64).clamp(0.0, 10.0);
        wants.push(Want::Shape(TimelineEdit::MovePoint {
            point: index,
            at,
            intensity,
        }));
    }
}
