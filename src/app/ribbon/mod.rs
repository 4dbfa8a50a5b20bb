//! The show from the first bar to the last: what intensity is wanted, as a curve to drag, what is reached, how tired
//! lips are. It is also the way to move about.

mod bars;
mod handles;
mod keys;
mod land;
mod legend;
mod loads;
mod marks;
mod missed;
mod pointing;
mod wanted;

pub use keys::KEYS;

use crate::app::scene::Scene;
use crate::app::sheet::engraved::Engraved;
use crate::app::sheet::heads::WIDTH;
use crate::app::wants::Want;
use crate::review::Measure;
use eframe::egui::{
    Id, Pos2, Rect, Role as Access, Sense, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2,
};
use land::Land;
use wanted::Wanted;

/// How high it is, in points.
pub const HEIGHT: f32 = 148.0;
/// How high the names of sections, and of peaks, stand over the curve.
const NAMES: f32 = 34.0;
/// Between the curve and the rows of load: where it is marked that the shape is missed.
const GAP: f32 = 11.0;

/// The focus of the ribbon.
#[must_use]
pub fn id() -> Id {
    Id::unique("the ribbon of the show")
}

/// How the ribbon is looked at, and what a hand does to it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct RibbonView {
    /// What is shown as reached; all together where none is chosen.
    measure: Option<Measure>,
    /// The bars that are shown, from 0; none: all.
    range: Option<(f32, f32)>,
    /// What is being dragged.
    grab: Grab,
    /// Where the sheet was last, so that the ribbon goes along.
    left: f32,
}

/// What a hand holds.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
enum Grab {
    /// Nothing.
    #[default]
    Nothing,
    /// The frame of what the sheet shows; so far left of the hand, in bars.
    Frame(f32),
    /// A point, from where it was.
    Point(Held),
    /// A peak, crest or hush, from the bar where it was.
    Mark(usize, f32),
}

/// A point that is held.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Held {
    /// Its index.
    point: usize,
    /// How many bars from the beginning it was.
    bars: f32,
    /// How intense it was.
    intensity: f64,
    /// Where it was taken.
    origin: Pos2,
}

/// Paints the ribbon; what is done to it is asked for. The sheet comes with how much of it is seen.
pub fn ribbon_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    (engraved, seen): (&Engraved, f32),
    view: &mut RibbonView,
    wants: &mut Vec<Want>,
) {
    let size = vec2(ui.available_width(), HEIGHT);
    let (_, rect) = ui.allocate_space(size);
    let response = ui.interact(rect, id(), Sense::click_and_drag());
    let course = &scene.look.course;
    let rows = loads::height(course.load.len());
    let left = rect.left() + WIDTH * scene.view.text();
    let ground = Rect::from_min_max(
        pos2(left, rect.top() + NAMES),
        pos2(rect.right() - 14.0, rect.bottom() - 6.0 - rows - GAP),
    );
    let land = Land::new(ground, &scene.look.song.meters, &course.starts, view.range);
    let painter = ui.painter_at(rect);
    legend::names(&painter, scene, rect, &land);
    legend::choice(ui, scene, rect, view);
    if course.bars() == 0 {
        response.widget_info(|| said("The show: no music yet"));
        return;
    }
    // What was held went away before the hand let it go.
    if !ui.input(|i| i.pointer.primary_down() || i.pointer.primary_released()) {
        view.grab = Grab::Nothing;
    }
    let wanted = Wanted::of(scene);
    let inside = painter.with_clip_rect(rect.intersect(Rect::everything_right_of(left - 8.0)));
    land::grid(&inside, scene, &land);
    bars::reached(&inside, scene, &land, view.measure);
    loads::draw(&inside, scene, &land);
    pointing::frame(&inside, scene, engraved, &land, seen);
    wanted.draw(&inside, scene, &land);
    if let Some(at) = scene.line {
        let stroke = Stroke::new(1.6, scene.palette.accent);
        inside.vline(land.x(land.bars_of(at)), land.rect.y_range(), stroke);
    }
    marks::sections(&inside, scene, &wanted, &land);
    // What was drawn later is pressed first.
    let held = handles::pressed(ui, &response, &wanted, &land);
    pointing::moved(ui, &response, scene, (engraved, seen), &land, view, wants);
    if let Some(held) = held {
        view.grab = Grab::Point(held);
        wants.push(Want::SelectPoint(Some(held.point)));
    }
    missed::missed(ui, &inside, scene, &land, wants);
    marks::marks(ui, &inside, scene, &wanted, &land, view, wants);
    handles::handles(ui, &inside, scene, &wanted, &land, view, wants);
    if response.has_focus() {
        keys::keys(ui, scene, &wanted, wants);
    }
    if response.double_clicked() {
        response.request_focus();
        handles::added(&response, &wanted, &land, wants);
    }
    let text = wanted.words(scene);
    response.widget_info(|| said(&text));
    bars::told(&response, scene, &wanted, &land, view.measure);
}

fn said(text: &str) -> WidgetInfo {
    WidgetInfo::labeled(Access::Slider, true, text)
}

/// A place to press, of some size around a point.
fn around(at: Pos2, size: f32) -> Rect {
    Rect::from_center_size(at, Vec2::splat(size))
}
