//! The three sentences of the first start.

use super::theme::Palette;
use eframe::egui::{Frame, Margin, Rect, Stroke, Ui, UiBuilder, pos2};

const SENTENCES: [&str; 3] = [
    "This is a demo: a piano sketch, voiced for an invented band that you may take as your own.",
    "The space bar plays. Press a note to see why it is there; drag over bars you are sure of and press L to lock them, then Ctrl+Enter to solve the rest.",
    "Bring in your own sketch with Ctrl+I and your band with Ctrl+B; F1 shows all keys.",
];

/// Shows them over the sheet; true when they were read.
pub fn welcome_ui(ui: &mut Ui, over: Rect, palette: &Palette) -> bool {
    let width = 460.0_f32.min(over.width() - 40.0);
    let at = Rect::from_min_size(
        pos2(over.right() - width - 24.0, over.top() + 24.0),
        [width, 200.0].into(),
    );
    let mut read = false;
    let mut inner = ui.new_child(UiBuilder::new().max_rect(at));
    Frame::new()
        .fill(palette.paper)
        .stroke(Stroke::new(1.5, palette.accent))
        .corner_radius(8)
        .inner_margin(Margin::same(14))
        .show(&mut inner, |ui| {
            for (number, sentence) in SENTENCES.iter().enumerate() {
                ui.label(format!("{}.  {sentence}", number + 1));
            }
            read = ui.button("I see").clicked();
        });
    read
}
