//! The shape of a show as a picture to pin up (SVG 1.1, W3C): wanted and reached intensity, peaks, crests and hushes,
//! what makes the intensity, loads and rests, sections, tempo and lanes of notes. Made so that it prints in grey.

mod frame;
mod land;
mod strips;

use super::svg::{INK, PAPER, SOFT, escaped, put};
use crate::music::{MeterMap, TempoMap, Tick};
use crate::plan::timeline::{Laid, LaidMark};
use crate::review::{Course, Miss};
use std::fmt::Write as _;

/// Width of the whole.
pub(super) const WIDTH: f64 = 1400.0;
/// Where bars begin and end.
pub(super) const LEFT: f64 = 128.0;
pub(super) const RIGHT: f64 = WIDTH - 40.0;
/// Between two movements.
pub(super) const GAP: f64 = 26.0;

/// A movement of the picture.
#[derive(Clone, Copy, Debug)]
pub struct ShapeMovement<'a> {
    /// What it is called.
    pub name: &'a str,
    /// What is wanted and reached.
    pub course: &'a Course,
    /// Its timeline, where there is one.
    pub laid: Option<&'a Laid>,
    /// Where sections begin.
    pub sections: &'a [(Tick, String)],
    /// Where the draft misses the shape.
    pub misses: &'a [Miss],
    /// Bars.
    pub meters: &'a MeterMap,
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// When it begins, seconds from the beginning of the show.
    pub begins: f64,
    /// How long the pause after it is, seconds.
    pub pause_after: f64,
}

/// What is drawn.
#[derive(Clone, Debug)]
pub struct ShapePicture<'a> {
    /// The show's name.
    pub title: &'a str,
    /// What stands beside it: the band, the length.
    pub under: &'a str,
    /// Its movements.
    pub movements: Vec<ShapeMovement<'a>>,
}

/// A movement with where it stands.
pub(super) struct Stand<'a> {
    pub what: ShapeMovement<'a>,
    pub left: f64,
    pub right: f64,
}

impl Stand<'_> {
    /// Where a place stands, in bars from the movement's beginning.
    pub fn x(&self, bars: f64) -> f64 {
        let all = self.what.course.bars().max(1) as f64;
        self.left + (self.right - self.left) * (bars / all).clamp(0.0, 1.0)
    }

    /// Where a tick stands.
    pub fn x_of(&self, at: Tick) -> f64 {
        let starts = &self.what.course.starts;
        let bar = starts.partition_point(|s| *s <= at).saturating_sub(1);
        let (from, to) = (starts.get(bar), starts.get(bar + 1));
        let within = from.zip(to).map_or(0.0, |(from, to)| {
            at.since(*from).0 as f64 / to.since(*from).0.max(1) as f64
        });
        self.x(bar as f64 + within)
    }

    pub fn marks(&self) -> &[LaidMark] {
        self.what.laid.map_or(&[], |l| &l.marks)
    }
}

/// The shape of a show as the text of an SVG file.
#[must_use]
pub fn shape_svg(picture: &ShapePicture<'_>) -> String {
    let stands = stands(picture);
    let mut body = String::new();
    frame::title(&mut body, picture);
    let top = frame::heads(&mut body, &stands, 92.0);
    let land = land::draw(&mut body, &stands, top);
    let mut y = frame::bars(&mut body, &stands, land.bottom);
    y = strips::measures(&mut body, &stands, y + 16.0);
    y = strips::loads(&mut body, &stands, y + 14.0);
    y = strips::lanes(&mut body, &stands, y);
    y = frame::words(&mut body, &stands, y + 10.0);
    let height = (y + 24.0).ceil();
    let title = escaped(&format!("{}: the shape of the show", picture.title));
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
         width=\"{WIDTH:.0}\" height=\"{height:.0}\" viewBox=\"0 0 {WIDTH:.0} {height:.0}\" \
         role=\"img\" font-family=\"Georgia, 'Times New Roman', serif\" fill=\"{INK}\">\n\
         <title>{title}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"{PAPER}\"/>\n{body}</svg>\n"
    )
}

/// Where the movements stand: as wide as they have bars.
fn stands<'a>(picture: &ShapePicture<'a>) -> Vec<Stand<'a>> {
    let bars: usize = picture.movements.iter().map(|m| m.course.bars()).sum();
    let gaps = picture.movements.len().saturating_sub(1) as f64 * GAP;
    let wide = (RIGHT - LEFT - gaps).max(1.0) / bars.max(1) as f64;
    let mut left = LEFT;
    let stand = |what: &ShapeMovement<'a>| {
        let right = left + wide * what.course.bars() as f64;
        let stand = Stand {
            what: *what,
            left,
            right,
        };
        left = right + GAP;
        stand
    };
    picture.movements.iter().map(stand).collect()
}

/// Words that end at a place.
pub(super) fn put_end(body: &mut String, x: f64, y: f64, size: f64, fill: &str, words: &str) {
    anchored(body, (x, y), size, fill, ("end", words));
}

/// Words around a place.
pub(super) fn put_middle(body: &mut String, x: f64, y: f64, size: f64, fill: &str, words: &str) {
    anchored(body, (x, y), size, fill, ("middle", words));
}

fn anchored(body: &mut String, (x, y): (f64, f64), size: f64, fill: &str, said: (&str, &str)) {
    let (anchor, words) = (said.0, escaped(said.1));
    // Writing to a string cannot fail.
    let _ = writeln!(
        body,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size}\" fill=\"{fill}\" text-anchor=\"{anchor}\">{words}</text>"
    );
}

/// About how wide words are: letters of this type are half as wide as high (ours).
pub(super) fn width_of(words: &str, size: f64) -> f64 {
    0.5 * size * words.chars().count() as f64
}

/// Words shortened to a width.
pub(super) fn fitted(words: &str, size: f64, width: f64) -> String {
    if width_of(words, size) <= width {
        return words.to_owned();
    }
    let most = (width / (0.5 * size)).floor().max(0.0) as usize;
    let kept: String = words.chars().take(most.saturating_sub(1)).collect();
    let kept = kept.trim_end();
    if kept.is_empty() {
        String::new()
    } else {
        format!("{kept}…")
    }
}

/// A label left of the bars.
pub(super) fn label(body: &mut String, y: f64, words: &str) {
    put_end(body, LEFT - 12.0, y, 11.5, SOFT, words);
}

/// Small words in the soft ink.
pub(super) fn soft(body: &mut String, x: f64, y: f64, words: &str) {
    put(body, x, y, 11.0, SOFT, words);
}
