//! A part's written range on a stave with the time of every pitch beside it.

use super::told::PartTold;
use crate::export::page::{Figure, Table};
use crate::export::range_svg::{WIDTH, draw_stave};
use crate::export::svg::{INK, SOFT, escaped, line, put};
use crate::music::Written;
use crate::notation::{Mark, RangeStave, StaveNote};
use std::fmt::Write as _;

/// Half the distance of two lines of the stave: a step.
const STEP: f64 = 5.0;
/// How thick the bar of a pitch is.
const BAR: f64 = 4.0;
/// Where the bars begin, and how long the longest is.
const LEFT: f64 = WIDTH + 12.0;
const LONGEST: f64 = 118.0;
/// Where the names of the ends stand.
const RIGHT: f64 = LEFT + LONGEST + 62.0;
/// Over and under the drawing: room for the ends of the clef.
const MARGIN: f64 = 21.0;

/// In which of the ranges a pitch lies.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Zone {
    /// May be relied on.
    Comfortable,
    /// Can be reached.
    Stretch,
    /// Beyond what the players reach, or what the director allows.
    Beyond,
}

impl Zone {
    /// The zone of a written pitch.
    #[must_use]
    pub fn of(stave: &RangeStave, written: Written) -> Self {
        let inside = |mark: Mark| {
            let end = |upper| stave.note(mark, upper).map(|n| n.written);
            end(false).is_none_or(|low| low <= written)
                && end(true).is_none_or(|high| written <= high)
        };
        match (
            inside(Mark::Limit) && inside(Mark::Stretch),
            inside(Mark::Comfortable),
        ) {
            (false, _) => Self::Beyond,
            (true, true) => Self::Comfortable,
            (true, false) => Self::Stretch,
        }
    }

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Comfortable => "comfortable",
            Self::Stretch => "stretch",
            Self::Beyond => "beyond",
        }
    }
}

/// Seconds in words.
pub(crate) fn seconds(time: f64) -> String {
    format!("{time:.1} s")
}

/// The drawing of a part, with its caption and the same in rows.
pub(super) fn figure(part: &PartTold) -> Figure {
    let row = |(written, time): &(Written, f64)| {
        let zone = Zone::of(&part.stave, *written);
        vec![written.to_string(), seconds(*time), zone.word().to_owned()]
    };
    Figure {
        svg: drawing(part),
        caption: caption(part),
        table: Table {
            class: "times",
            head: vec![("written", false), ("sounds for", true), ("range", false)],
            rows: part.times.iter().map(row).collect(),
        },
    }
}

fn caption(part: &PartTold) -> String {
    let name = |mark, upper| {
        let note = part.stave.note(mark, upper);
        note.map_or_else(String::new, |n| n.written.to_string())
    };
    let span = |mark| format!("{} to {}", name(mark, false), name(mark, true));
    let mut text = format!(
        "comfortable {}; stretch {}",
        span(Mark::Comfortable),
        span(Mark::Stretch)
    );
    for (upper, way) in [(false, "below"), (true, "above")] {
        if let Some(limit) = part.stave.note(Mark::Limit, upper) {
            let _ = write!(text, "; director: nothing {way} {}", limit.written);
        }
    }
    text
}

/// Where a pitch stands: sharps half a step over, flats half a step under their letter.
fn place(written: Written) -> f64 {
    let note = StaveNote::of(written);
    f64::from(note.step) + 0.5 * f64::from(note.accidental)
}

fn drawing(part: &PartTold) -> String {
    let (high, low) = part.stave.steps();
    let places = || part.times.iter().map(|(w, _)| place(*w));
    let high = places().fold(f64::from(high), f64::max).ceil();
    let low = places().fold(f64::from(low), f64::min).floor();
    let y = |place: f64| (high - place).mul_add(STEP, MARGIN);
    let height = y(low) + MARGIN;
    let mut body = String::new();
    zones(&mut body, part, &y);
    let step_y = |step: i16| y(f64::from(step));
    draw_stave(&mut body, &part.stave, 2.0, &step_y);
    for clef in &part.stave.clefs {
        for step in (clef.bottom_line()..=clef.top_line()).step_by(2) {
            let at = y(f64::from(step));
            // Writing to a string cannot fail, here and below.
            let _ = writeln!(
                body,
                "<path d=\"M{LEFT} {at:.1}h{LONGEST}\" stroke=\"#999\" stroke-width=\"0.5\"/>"
            );
        }
    }
    line(&mut body, (LEFT, y(high) - 4.0), (LEFT, y(low) + 4.0), 0.9);
    let longest = part.times.iter().map(|t| t.1).fold(0.0, f64::max);
    for (written, time) in &part.times {
        let long = if longest > 0.0 {
            LONGEST * time / longest
        } else {
            0.0
        };
        let (fill, stroke) = match Zone::of(&part.stave, *written) {
            Zone::Comfortable => (INK, 0.0),
            // What is no longer comfortable is told by an open bar, what is beyond by a thick edge.
            Zone::Stretch => ("#fff", 0.9),
            Zone::Beyond => ("#fff", 2.0),
        };
        let top = y(place(*written)) - BAR / 2.0;
        let _ = writeln!(
            body,
            "<rect class=\"time\" x=\"{LEFT}\" y=\"{top:.1}\" width=\"{:.1}\" height=\"{BAR}\" fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\"{stroke}\"><title>{written}: {}</title></rect>",
            long.max(0.8),
            seconds(*time)
        );
    }
    names(&mut body, part, &y);
    let label = escaped(&format!(
        "{}: written range and time of each pitch",
        part.name
    ));
    format!(
        "<svg class=\"range\" viewBox=\"0 0 {RIGHT:.0} {height:.0}\" role=\"img\" aria-label=\"{label}\" font-family=\"'Liberation Sans', Arial, sans-serif\" fill=\"{INK}\">\n{body}</svg>\n"
    )
}

/// The comfortable range as a grey ground, the stretch as a lighter one.
fn zones(body: &mut String, part: &PartTold, y: &impl Fn(f64) -> f64) {
    for (mark, fill) in [(Mark::Stretch, "#f1f1f1"), (Mark::Comfortable, "#dcdcdc")] {
        let ends = [true, false].map(|upper| part.stave.note(mark, upper));
        if let [Some(top), Some(bottom)] = ends {
            let (top, bottom) = (y(place(top.written)), y(place(bottom.written)));
            let _ = writeln!(
                body,
                "<rect x=\"{LEFT}\" y=\"{:.1}\" width=\"{LONGEST}\" height=\"{:.1}\" fill=\"{fill}\"/>",
                top - STEP / 2.0,
                bottom - top + STEP
            );
        }
    }
}

/// The lowest, the longest and the highest pitch, with their times at the ends of their bars.
fn names(body: &mut String, part: &PartTold, y: &impl Fn(f64) -> f64) {
    let longest = part.times.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    let ends = [part.times.last(), part.times.first()];
    let mut told: Vec<f64> = Vec::new();
    for (written, time) in longest.into_iter().chain(ends.into_iter().flatten()) {
        let at = y(place(*written));
        if told.iter().any(|other| (other - at).abs() < 11.0) {
            continue;
        }
        told.push(at);
        let words = format!("{written} {time:.0} s");
        put(body, LEFT + LONGEST + 5.0, at + 4.0, 11.0, SOFT, &words);
    }
}
