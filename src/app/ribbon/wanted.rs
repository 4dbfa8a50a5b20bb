//! What is wanted: the timeline as it is now, laid on the music.

use super::land::Land;
use crate::app::scene::Scene;
use crate::app::session::begin;
use crate::music::BarBeat;
use crate::plan::timeline::{AnyTimeline, Laid, Place, Point, Way};
use crate::project::work::begin_timeline;
use eframe::egui::{Painter, Pos2, Shape, Stroke};

/// What is wanted.
pub(super) struct Wanted {
    /// Laid on the music.
    pub laid: Laid,
    /// Whether the show has a timeline; else this is how the sketch goes.
    pub is_own: bool,
}

impl Wanted {
    /// What is wanted now.
    pub fn of(scene: &Scene<'_>) -> Self {
        let song = &scene.look.song;
        let lay = |any: &AnyTimeline| Laid::of(any, (&song.meters, &song.tempo), song.end());
        match scene.now.timeline.as_ref() {
            Some(any) => Self {
                laid: lay(any),
                is_own: true,
            },
            None => {
                let begun = begin_timeline(&begin(scene.look));
                let nothing = || crate::plan::timeline::Timeline::new("", BarBeat::START);
                Self {
                    laid: lay(&AnyTimeline::from(begun.unwrap_or_else(|_| nothing()))),
                    is_own: false,
                }
            }
        }
    }

    /// The points of the curve.
    pub fn points(&self) -> &[Point<BarBeat>] {
        &self.laid.timeline.points
    }

    /// What is wanted so many bars from the beginning.
    pub fn at(&self, land: &Land<'_>, bars: f32) -> Option<f64> {
        self.laid.at(land.tick_at(bars))
    }

    /// A point in words: `point 3 of 7: bar 17, intensity 6.5, curved`.
    pub fn point_in_words(&self, index: usize) -> Option<String> {
        let point = self.points().get(index)?;
        Some(format!(
            "point {} of {}: {}, intensity {:.1}, {}",
            index + 1,
            self.points().len(),
            point.at.words(),
            point.intensity,
            point.way.word()
        ))
    }

    /// The ribbon in words, with the point that is selected.
    pub fn words(&self, scene: &Scene<'_>) -> String {
        let name = if self.is_own {
            format!("The show: {}", self.laid.timeline.name)
        } else {
            "The show: as the sketch goes".to_owned()
        };
        let point = scene.point.and_then(|p| self.point_in_words(p));
        match point {
            Some(point) => format!("{name}. {point}. Alt and arrows move it, Delete removes it."),
            None => format!("{name}. Arrows go from point to point."),
        }
    }

    /// Draws the curve as it is.
    pub fn draw(&self, painter: &Painter, scene: &Scene<'_>, land: &Land<'_>) {
        let ink = scene.palette.ink;
        let line = if self.is_own {
            Stroke::new(1.8, ink)
        } else {
            Stroke::new(1.3, scene.palette.faint_ink)
        };
        let mut drawn: Vec<Pos2> = Vec::new();
        let steps = (land.rect.width() / 1.5).max(2.0) as u32;
        let (from, to) = land.range;
        let mut last: Option<(f32, f64)> = None;
        for step in 0..=steps {
            let bars = from + (to - from) * step as f32 / steps as f32;
            // The end of the music is that of its last bar.
            let Some(wanted) = self.at(land, bars.min(land.bars() - 0.001)) else {
                continue;
            };
            // A leap is upright.
            if let Some((x, before)) = last.filter(|(_, b)| (b - wanted).abs() > 0.6) {
                let held = (land.bars_at(x)..bars, before);
                let at = self.leap(land, held.0).unwrap_or(bars);
                drawn.push(land.place(at, held.1));
                drawn.push(land.place(at, wanted));
            }
            drawn.push(land.place(bars, wanted));
            last = Some((land.x(bars), wanted));
        }
        painter.add(Shape::line(drawn, line));
    }

    /// Where between two places a point stands to which the curve leaps.
    fn leap(&self, land: &Land<'_>, between: std::ops::Range<f32>) -> Option<f32> {
        let mut places = self.points().iter().map(|p| land.bars_of_place(p.at));
        places.find_map(|at| at.filter(|at| between.start - 0.02 <= *at && *at <= between.end))
    }
}

/// The shape of a point by how the curve goes on from it.
pub(super) fn sign(way: Way, at: Pos2, size: f32) -> Vec<Pos2> {
    let turned = match way {
        Way::Held => 0.125,
        Way::Straight => 0.0,
        Way::Curved => return (0..20).map(|i| corner(at, size, i as f32 / 20.0)).collect(),
    };
    (0..4)
        .map(|i| corner(at, size * 1.25, i as f32 / 4.0 + turned))
        .collect()
}

fn corner(at: Pos2, size: f32, turn: f32) -> Pos2 {
    let angle = turn * std::f32::consts::TAU;
    at + eframe::egui::vec2(angle.cos(), angle.sin()) * size
}
