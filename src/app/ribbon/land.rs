//! Where bars and intensities stand in the ribbon.

use crate::app::scene::Scene;
use crate::music::{BarBeat, MeterMap, Tick};
use crate::plan::timeline::bar_line;
use eframe::egui::{Painter, Pos2, Rect, Stroke, pos2};

/// The ground of the curve. Bars are counted from 0 here, with fractions.
#[derive(Clone, Copy, Debug)]
pub(super) struct Land<'a> {
    /// Where it is.
    pub rect: Rect,
    /// The first and last bar that are shown.
    pub range: (f32, f32),
    meters: &'a MeterMap,
    starts: &'a [Tick],
}

/// Fewest bars that are shown.
const FEWEST: f32 = 4.0;

impl<'a> Land<'a> {
    /// A ground that shows some bars, or all.
    pub fn new(
        rect: Rect,
        meters: &'a MeterMap,
        starts: &'a [Tick],
        range: Option<(f32, f32)>,
    ) -> Self {
        let all = starts.len().saturating_sub(1).max(1) as f32;
        let (from, to) = range.unwrap_or((0.0, all));
        let width = (to - from).clamp(FEWEST.min(all), all);
        let from = from.clamp(0.0, all - width);
        Self {
            rect,
            range: (from, from + width),
            meters,
            starts,
        }
    }

    /// How many bars there are.
    pub fn bars(&self) -> f32 {
        self.starts.len().saturating_sub(1).max(1) as f32
    }

    /// Whether all bars are shown.
    pub fn is_whole(&self) -> bool {
        self.range.1 - self.range.0 >= self.bars()
    }

    /// How wide a bar is.
    pub fn bar_width(&self) -> f32 {
        self.rect.width() / (self.range.1 - self.range.0)
    }

    /// Where so many bars from the beginning stand.
    pub fn x(&self, bars: f32) -> f32 {
        self.rect.left() + (bars - self.range.0) * self.bar_width()
    }

    /// How many bars from the beginning a place is.
    pub fn bars_at(&self, x: f32) -> f32 {
        let bars = self.range.0 + (x - self.rect.left()) / self.bar_width();
        bars.clamp(0.0, self.bars())
    }

    /// Where an intensity stands.
    pub fn y(&self, intensity: f64) -> f32 {
        self.rect.bottom() - self.rect.height() * (intensity / 10.0).clamp(0.0, 1.0) as f32
    }

    /// The intensity at a height.
    pub fn intensity_at(&self, y: f32) -> f64 {
        let share = (self.rect.bottom() - y) / self.rect.height().max(1.0);
        f64::from(share.clamp(0.0, 1.0)) * 10.0
    }

    /// How many bars from the beginning a tick is.
    pub fn bars_of(&self, at: Tick) -> f32 {
        let bar = self.starts.partition_point(|s| *s <= at).saturating_sub(1);
        let within = self.starts.get(bar).zip(self.starts.get(bar + 1));
        let within = within.map_or(0.0, |(from, to)| {
            at.since(*from).0 as f32 / to.since(*from).0.max(1) as f32
        });
        bar as f32 + within
    }

    /// The tick so many bars from the beginning.
    pub fn tick_at(&self, bars: f32) -> Tick {
        let bar = (bars.max(0.0) as usize).min(self.starts.len().saturating_sub(2));
        let within = self.starts.get(bar).zip(self.starts.get(bar + 1));
        within.map_or(Tick::ZERO, |(from, to)| {
            let length = to.since(*from).0;
            let ticks = f64::from(bars - bar as f32) * length as f64;
            Tick(from.0 + (ticks.max(0.0) as u64).min(length))
        })
    }

    /// How many bars from the beginning a place of a timeline is; none after the end of the music.
    pub fn bars_of_place(&self, at: BarBeat) -> Option<f32> {
        let (start, end) = (self.meters.bar_start(at.bar), self.meters.bar_end(at.bar));
        let beat = self.meters.meter(start).beat(self.meters.quarter()).0 as f64;
        let ticks = ((at.beat - 1.0).max(0.0) * beat).round() as u64;
        let tick = Tick(start.0.saturating_add(ticks.min(end.since(start).0)));
        let last = *self.starts.last()?;
        (tick <= last).then(|| self.bars_of(tick))
    }

    /// The bar line nearest to so many bars from the beginning.
    pub fn line_at(&self, bars: f32) -> BarBeat {
        bar_line(bars.round().clamp(0.0, self.bars()) as u32 + 1)
    }

    /// The place where something is that began so many bars from the beginning, if it is still there; else the bar
    /// line nearest to where it began.
    pub fn line_or_place(&self, began: f32, now: BarBeat) -> BarBeat {
        let is_there = self
            .bars_of_place(now)
            .is_some_and(|b| (b - began).abs() < 0.01);
        if is_there { now } else { self.line_at(began) }
    }

    /// Where a point of the curve stands.
    pub fn place(&self, bars: f32, intensity: f64) -> Pos2 {
        pos2(self.x(bars), self.y(intensity))
    }

    /// Whether something there is shown.
    pub fn shows(&self, bars: f32) -> bool {
        (self.range.0 - 0.01..=self.range.1 + 0.01).contains(&bars)
    }

    /// The same around a place, closer or further by a factor, moved by some bars.
    pub fn looked_at(&self, around: f32, factor: f32, by: f32) -> Option<(f32, f32)> {
        let (from, to) = self.range;
        let width = ((to - from) / factor).clamp(FEWEST.min(self.bars()), self.bars());
        let share = (around - from) / (to - from).max(0.1);
        let from = (around - share * width + by).clamp(0.0, self.bars() - width);
        (width < self.bars()).then_some((from, from + width))
    }
}

/// Lines at the bottom, the middle and the top; bar lines where there is room for them.
pub(super) fn grid(painter: &Painter, scene: &Scene<'_>, land: &Land<'_>) {
    let rule = scene.palette.rule;
    let across = land.rect.x_range();
    painter.hline(across, land.rect.bottom(), Stroke::new(1.0, rule));
    for y in [land.y(5.0), land.rect.top()] {
        painter.hline(across, y, Stroke::new(0.6, rule.gamma_multiply(0.55)));
    }
    if land.bar_width() > 14.0 {
        for bar in land.range.0.ceil() as u32..=land.range.1 as u32 {
            let line = Stroke::new(0.6, rule.gamma_multiply(0.55));
            painter.vline(land.x(bar as f32), land.rect.y_range(), line);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::TicksPerQuarter;

    #[test]
    fn places_go_to_the_screen_and_back() {
        let meters = MeterMap::new(TicksPerQuarter::new(480).unwrap(), []);
        let starts: Vec<Tick> = (0..=64).map(|b| Tick(b * 1920)).collect();
        let rect = Rect::from_min_max(pos2(100.0, 20.0), pos2(740.0, 100.0));
        let land = Land::new(rect, &meters, &starts, None);
        assert!(land.is_whole());
        assert_eq!((land.x(32.0), land.bars_at(420.0)), (420.0, 32.0));
        assert_eq!((land.y(5.0), land.intensity_at(60.0)), (60.0, 5.0));
        assert_eq!(land.bars_of(Tick(960)), 0.5);
        assert_eq!(land.tick_at(64.0), Tick(64 * 1920));
        assert_eq!(land.bars_of_place(bar_line(65)), Some(64.0));
        assert_eq!(land.bars_of_place(bar_line(66)), None);
        let closer = land.looked_at(16.0, 2.0, 0.0);
        assert_eq!(closer, Some((8.0, 40.0)));
        let closer = Land::new(rect, &meters, &starts, closer);
        assert_eq!(closer.bars_at(closer.x(16.0)), 16.0);
        assert_eq!(closer.looked_at(16.0, 0.1, 0.0), None);
        let end = closer.looked_at(16.0, 1.0, 900.0);
        assert_eq!(end, Some((32.0, 64.0)));
    }
}
