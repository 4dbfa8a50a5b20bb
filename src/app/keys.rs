//! Which actions' keys were pressed, with respect for what has the focus.

use super::actions::{ACTIONS, Action};
use super::ribbon;
use eframe::egui::{Context, Key};

/// Keys that what has the focus uses itself: a button, a slider.
const TAKEN: [Key; 8] = [
    Key::Enter,
    Key::Space,
    Key::ArrowLeft,
    Key::ArrowRight,
    Key::ArrowUp,
    Key::ArrowDown,
    Key::Home,
    Key::End,
];

/// The actions whose keys were pressed since the last frame; their presses are used up. While something is typed
/// only saving and closing have keys.
#[must_use]
pub fn pressed(ctx: &Context) -> Vec<Action> {
    let typing = ctx.text_edit_focused();
    // Who went to a button by Tab presses it with Enter.
    let focused = ctx.egui_wants_keyboard_input();
    let on_ribbon = ctx.memory(|m| m.has_focus(ribbon::id()));
    let mut done = Vec::new();
    ctx.input_mut(|input| {
        // Keys with more modifiers come first, so that Ctrl+Shift+Z is not taken for Ctrl+Z.
        let mut all: Vec<_> = ACTIONS
            .iter()
            .filter_map(|a| a.key.map(|k| (k, a.action)))
            .collect();
        all.sort_by_key(|(k, _)| {
            let m = k.modifiers;
            std::cmp::Reverse(u8::from(m.command) + u8::from(m.shift) + u8::from(m.alt))
        });
        for (key, action) in all {
            let bare = !key.modifiers.command && !key.modifiers.alt;
            let taken = focused && TAKEN.contains(&key.logical_key);
            let stays = matches!(action, Action::Save | Action::Quit);
            let of_ribbon = on_ribbon && ribbon::KEYS.contains(&(key.modifiers, key.logical_key));
            if (typing && !stays) || (bare && taken) || of_ribbon {
                continue;
            }
            if input.consume_shortcut(&key) {
                done.push(action);
            }
        }
    });
    done
}
