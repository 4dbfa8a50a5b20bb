//! What is what in the ribbon, and the choice of what is shown as reached.

use super::land::Land;
use super::{RibbonView, loads};
use crate::app::fonts::{bold, words};
use crate::app::scene::Scene;
use crate::review::Measure;
use eframe::egui::{
    Align, Align2, ComboBox, Layout, Painter, Rect, RichText, Ui, UiBuilder, pos2, vec2,
};

/// The names at the left.
pub(super) fn names(painter: &Painter, scene: &Scene<'_>, rect: Rect, land: &Land<'_>) {
    let (palette, text) = (scene.palette, scene.view.text());
    let at = pos2(rect.left() + 10.0, rect.top() + 6.0);
    let ink = palette.ink;
    painter.text(at, Align2::LEFT_TOP, "The show", bold(13.0 * text), ink);
    let line = if scene.now.timeline.is_some() {
        "line: wanted"
    } else {
        "line: as the sketch goes"
    };
    let at = at + vec2(0.0, 19.0 * text);
    let faint = palette.faint_ink;
    painter.text(at, Align2::LEFT_TOP, line, words(11.0 * text), faint);
    for (row, (name, _)) in scene.look.course.load.iter().enumerate() {
        let at = pos2(land.rect.left() - 8.0, loads::top(land, row) + 3.0);
        painter.text(at, Align2::RIGHT_CENTER, *name, words(9.5), faint);
    }
}

fn named(measure: Option<Measure>) -> &'static str {
    measure.map_or("reached", Measure::word)
}

/// The choice of what the ground is.
pub(super) fn choice(ui: &mut Ui, scene: &Scene<'_>, rect: Rect, view: &mut RibbonView) {
    let text = scene.view.text();
    let at = rect.min + vec2(10.0, 6.0 + 34.0 * text);
    let room = Rect::from_min_size(at, vec2(150.0 * text, 20.0 * text));
    let layout = Layout::left_to_right(Align::Center);
    let mut inner = ui.new_child(UiBuilder::new().max_rect(room).layout(layout));
    inner.spacing_mut().item_spacing.x = 4.0;
    inner.spacing_mut().button_padding = vec2(5.0, 0.0);
    inner.spacing_mut().interact_size.y = 18.0 * text;
    let faint = scene.palette.faint_ink;
    let label = inner.label(
        RichText::new("ground:")
            .font(words(11.0 * text))
            .color(faint),
    );
    let shown = RichText::new(named(view.measure)).font(words(11.0 * text));
    let list = ComboBox::from_id_salt("what is shown as reached")
        .selected_text(shown)
        .width(88.0 * text)
        .show_ui(&mut inner, |ui| {
            let each = Measure::ALL.map(Some);
            for measure in std::iter::once(None).chain(each) {
                let name = match measure {
                    None => "reached: all together",
                    Some(measure) => measure.word(),
                };
                ui.selectable_value(&mut view.measure, measure, name);
            }
        });
    let list = list.response.labelled_by(label.id);
    list.on_hover_text("What the ground shows: all that makes music intense, or one of it alone");
}
