//! The heads at the left of the staves: name, players, what was said of them, and a gauge of the range.

use super::lanes::{Lane, Whose};
use super::marks::line_mark;
use super::pen::Pen;
use super::score::{Place, Shown};
use crate::app::fonts::{bold, words};
use crate::app::wants::Want;
use crate::band::{Level, Part, PartId, Players, remarks_in_words};
use crate::notation::Spot;
use crate::project::work::Selection;
use crate::sketch::Line;
use crate::sound::heard::Heard;
use eframe::egui::text::{LayoutJob, TextWrapping};
use eframe::egui::{
    FontId, Painter, Pos2, Rect, Role as Access, Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};

/// How wide the heads are, in points at the usual text size.
pub const WIDTH: f32 = 172.0;
/// How wide a gauge is.
const GAUGE: f32 = 22.0;

/// Paints the heads beside the lanes that are seen. Pressing one selects the part.
pub fn heads_ui(ui: &Ui, rect: Rect, shown: &Shown<'_>, place: &Place, wants: &mut Vec<Want>) {
    let painter = ui.painter_at(rect);
    let palette = shown.scene.palette;
    painter.rect_filled(rect, 0.0, palette.paper);
    // The strip of bar numbers goes on over the heads.
    let rect = Rect::from_min_max(pos2(rect.left(), place.rect.top()), rect.max);
    let painter = painter.with_clip_rect(rect);
    for lane in shown.engraved.lanes() {
        let band = Rect::from_min_max(
            pos2(rect.left(), place.y(lane.top)),
            pos2(rect.right(), place.y(lane.top + lane.height)),
        );
        if !band.intersects(rect) {
            continue;
        }
        painter.rect_filled(band, 0.0, palette.ground(lane.region));
        if lane.whose == Whose::Sketch {
            let edge = Stroke::new(1.5, palette.sketch_edge);
            painter.hline(band.x_range(), band.top(), edge);
            painter.hline(band.x_range(), band.bottom(), edge);
        }
        head(ui, &painter, band, shown, lane, wants);
    }
    painter.vline(
        rect.right() - 0.5,
        rect.y_range(),
        Stroke::new(1.0, palette.rule),
    );
}

fn head(
    ui: &Ui,
    painter: &Painter,
    band: Rect,
    shown: &Shown<'_>,
    lane: &Lane,
    wants: &mut Vec<Want>,
) {
    match lane.whose {
        Whose::Sketch => sketch_head(ui, painter, band, shown),
        Whose::Part(id) => {
            let part = shown.scene.look.document.band.parts.get(id.0);
            if let Some(part) = part {
                part_head(ui, painter, band, shown, (id, part), wants);
            }
        }
    }
}

/// Lines of words from top to bottom, as many as there is room for.
struct Words<'a> {
    painter: &'a Painter,
    at: Pos2,
    bottom: f32,
    width: f32,
}

impl Words<'_> {
    fn line(&mut self, text: &str, font: FontId, ink: eframe::egui::Color32) {
        let mut job = LayoutJob::simple_singleline(text.to_owned(), font, ink);
        job.wrap = TextWrapping::truncate_at_width(self.width);
        let galley = self.painter.layout_job(job);
        let height = galley.size().y;
        if self.at.y + height > self.bottom {
            return;
        }
        self.painter.galley(self.at, galley, ink);
        self.at.y += height;
    }
}

fn words_in(painter: &Painter, band: Rect, lines: f32, text: f32) -> Words<'_> {
    let high = lines * 15.0 * text;
    let top = (band.center().y - high / 2.0).max(band.top() + 1.0);
    Words {
        painter,
        at: pos2(band.left() + 10.0, top),
        bottom: band.bottom() + 2.0,
        width: (band.width() - GAUGE - 20.0).max(20.0),
    }
}

fn sketch_head(ui: &Ui, painter: &Painter, band: Rect, shown: &Shown<'_>) {
    let (palette, text) = (shown.scene.palette, shown.scene.view.text());
    let edge = Rect::from_min_max(band.min, pos2(band.left() + 5.0, band.bottom()));
    painter.rect_filled(edge, 0.0, palette.sketch_edge);
    let mut say = words_in(painter, band, 6.0, text);
    say.line("Piano sketch", bold(13.5 * text), palette.ink);
    for line in [Line::Melody, Line::Counterline, Line::Bass, Line::Figure] {
        let at = say.at;
        say.at.x += 16.0;
        say.line(line.word(), words(11.0 * text), palette.faint_ink);
        say.at.x = at.x;
        if say.at.y > at.y {
            let pen = Pen {
                painter,
                origin: pos2(at.x + 10.0, (at.y + say.at.y) / 2.0),
                space: 8.0 * text,
                ink: palette.accent,
            };
            line_mark(&pen, Spot::default(), line);
        }
    }
    say.line("no mark: harmony", words(11.0 * text), palette.faint_ink);
    let head = ui.interact(band, ui.scope_id().with("sketch head"), Sense::hover());
    head.widget_info(|| WidgetInfo::labeled(Access::Label, true, "Piano sketch"));
}

fn part_head(
    ui: &Ui,
    painter: &Painter,
    band: Rect,
    shown: &Shown<'_>,
    (id, part): (PartId, &Part),
    wants: &mut Vec<Want>,
) {
    let (palette, text) = (shown.scene.palette, shown.scene.view.text());
    let selected = shown.scene.selection.is_some_and(|s| s.parts.contains(&id));
    if selected {
        let edge = Rect::from_min_max(band.min, pos2(band.left() + 4.0, band.bottom()));
        painter.rect_filled(edge, 0.0, palette.accent);
    }
    let clip = Rect::from_min_max(band.min, pos2(band.right() - GAUGE - 8.0, band.bottom()));
    let inner = painter.with_clip_rect(clip.intersect(painter.clip_rect()));
    let lines = if band.height() < 42.0 { 2.0 } else { 3.0 };
    let mut say = words_in(&inner, band, lines, text);
    let heard = shown.scene.heard;
    let ink = if heard.part(id) {
        palette.ink
    } else {
        palette.faint_ink
    };
    let name_at = say.at;
    say.line(&part.name, bold(13.0 * text), ink);
    if let Some(word) = how_heard(heard, id) {
        let galley = inner.layout_no_wrap(word.to_owned(), words(11.0 * text), palette.accent);
        let right = clip.right() - galley.size().x;
        inner.galley(pos2(right, name_at.y + 1.0), galley, palette.accent);
    }
    if band.height() > 26.0 {
        levels(&mut say, part.players, palette, text);
    }
    let remarks = remarks_in_words(&part.remarks);
    if let Some(first) = remarks.first() {
        let more = if remarks.len() > 1 { " …" } else { "" };
        say.line(
            &format!("{first}{more}"),
            words(11.0 * text),
            palette.faint_ink,
        );
    }
    gauge(painter, band, shown, (id, part));
    let response = ui.interact(
        band.intersect(painter.clip_rect()),
        ui.scope_id().with(("head", id)),
        Sense::click(),
    );
    let mut name = in_words(part);
    if let Some(word) = how_heard(heard, id) {
        name = format!("{name}; {word}");
    }
    response.widget_info(|| WidgetInfo::labeled(Access::Button, true, &name));
    let clicked = response.clicked();
    response.on_hover_text(&name);
    if clicked {
        let bars = shown.scene.selection.map_or_else(
            || {
                let first = crate::music::BarNumber(1);
                let last = shown.engraved.bars().max(1) as u32;
                (first, crate::music::BarNumber(last))
            },
            |s| s.bars,
        );
        let add = ui.input(|i| i.modifiers.shift || i.modifiers.command);
        let mut parts = match shown.scene.selection {
            Some(before) if add => before.parts.clone(),
            _ => Vec::new(),
        };
        match parts.iter().position(|p| *p == id) {
            Some(at) if parts.len() > 1 => {
                parts.remove(at);
            }
            Some(_) => {}
            None => parts.push(id),
        }
        wants.push(Want::Select(Some(Selection::of(bars.0, bars.1, parts))));
    }
}

/// What is to be said of how a part is heard: muted, or solo.
fn how_heard(heard: &Heard, part: PartId) -> Option<&'static str> {
    match (heard.is_muted(part), heard.is_solo(part)) {
        (true, _) => Some("muted"),
        (false, true) => Some("solo"),
        (false, false) => None,
    }
}

/// A part in words, for a tooltip and a screen reader.
fn in_words(part: &Part) -> String {
    let players = part.players.levels();
    let players: Vec<String> = players.map(|(level, n)| format!("{n} {level}")).collect();
    let mut said = format!("{}: {}", part.name, players.join(", "));
    for remark in remarks_in_words(&part.remarks) {
        said.push_str("; ");
        said.push_str(&remark);
    }
    said
}

/// Levels as dots: filled ones of five, and how many players have them.
fn levels(say: &mut Words<'_>, players: Players, palette: &crate::app::theme::Palette, text: f32) {
    let radius = 2.0 * text;
    let step = 5.4 * text;
    let middle = say.at.y + 8.0 * text;
    if middle + radius > say.bottom {
        return;
    }
    let mut x = say.at.x + radius;
    for (level, count) in players.levels() {
        for dot in 0..Level::ALL.len() {
            let filled = dot <= level.index();
            let ink = if filled { palette.ink } else { palette.rule };
            say.painter.circle_filled(pos2(x, middle), radius, ink);
            x += step;
        }
        let galley =
            say.painter
                .layout_no_wrap(format!("×{count}"), words(10.5 * text), palette.faint_ink);
        let size = galley.size();
        say.painter.galley(
            pos2(x - 1.0, middle - size.y / 2.0),
            galley,
            palette.faint_ink,
        );
        x += size.x + 6.0;
    }
    say.at.y += 16.0 * text;
}

/// The gauge: thin for what can be reached, thick for what is comfortable, bars for what the draft uses.
fn gauge(painter: &Painter, band: Rect, shown: &Shown<'_>, (id, part): (PartId, &Part)) {
    let palette = shown.scene.palette;
    let (top, bottom) = (band.top() + 4.0, band.bottom() - 4.0);
    if bottom - top < 16.0 {
        return;
    }
    let (reach, easy) = (part.limits.range, part.limits.comfortable);
    let notes = shown.draft.lines.get(id.0).map_or(&[][..], |l| &l.notes);
    let used = || notes.iter().map(|n| n.pitch.midi());
    let low = used().chain([reach.low.midi()]).min().unwrap_or(0);
    let high = used().chain([reach.high.midi()]).max().unwrap_or(127);
    let per = (bottom - top) / f32::from(high - low + 1);
    let y = |midi: u8| bottom - f32::from(midi - low) * per;
    let right = band.right() - 9.0;
    let span = |lo: u8, hi: u8| Rect::from_x_y_ranges(right..=right, (y(hi) - per)..=y(lo));
    painter.vline(
        right,
        span(reach.low.midi(), reach.high.midi()).y_range(),
        Stroke::new(1.0, palette.faint_ink),
    );
    painter.vline(
        right,
        span(easy.low.midi(), easy.high.midi()).y_range(),
        Stroke::new(3.0, palette.faint_ink),
    );
    let mut count = std::collections::BTreeMap::<u8, u64>::new();
    for note in notes {
        *count.entry(note.pitch.midi()).or_default() += note.duration.0;
    }
    let most = count.values().copied().max().unwrap_or(1).max(1);
    for (midi, long) in count {
        let width = (GAUGE - 8.0) * (long as f32 / most as f32).sqrt();
        let rect = Rect::from_min_size(
            pos2(right - 4.0 - width, y(midi) - per),
            vec2(width, (per - 0.4).max(0.8)),
        );
        let outside = midi < reach.low.midi() || reach.high.midi() < midi;
        let ink = if outside {
            palette.strain
        } else {
            palette.accent
        };
        painter.rect_filled(rect, 0.0, ink);
    }
}
