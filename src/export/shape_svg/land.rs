//! The landscape: the ground that is reached, the line that is wanted, and the named places on it.

use super::frame::{pennant, ring};
use super::{LEFT, Stand, put_end, width_of};
use crate::export::svg::{ACCENT, INK, SOFT, escaped};
use crate::music::Tick;
use crate::plan::timeline::{LaidMark, MarkKind};
use std::fmt::Write as _;

/// How high ten of ten is.
const HIGH: f64 = 250.0;
/// Room above it for names.
const NAMES: f64 = 58.0;
/// Points of the wanted line in a bar.
const FINE: usize = 8;

/// Where the landscape lies.
pub(super) struct Land {
    /// Where nothing stands.
    pub bottom: f64,
}

/// Draws it from a height downwards.
pub(super) fn draw(body: &mut String, stands: &[Stand<'_>], top: f64) -> Land {
    let bottom = top + NAMES + HIGH;
    let y = |intensity: f64| bottom - HIGH * (intensity / 10.0).clamp(0.0, 1.0);
    for level in [2, 4, 6, 8, 10] {
        let at = y(f64::from(level));
        for stand in stands {
            let _ = writeln!(
                body,
                "<line x1=\"{:.1}\" y1=\"{at:.1}\" x2=\"{:.1}\" y2=\"{at:.1}\" stroke=\"#d9d2bf\" stroke-width=\".7\"/>",
                stand.left, stand.right
            );
        }
        put_end(body, LEFT - 12.0, at + 4.0, 11.0, SOFT, &level.to_string());
    }
    for stand in stands {
        sections(body, stand, (top + 6.0, bottom));
        ground(body, stand, &y);
        missed(body, stand, &y);
        silences(body, stand, bottom);
        wanted(body, stand, &y);
        let _ = writeln!(
            body,
            "<line x1=\"{:.1}\" y1=\"{bottom:.1}\" x2=\"{:.1}\" y2=\"{bottom:.1}\" stroke=\"{INK}\" stroke-width=\"1\"/>",
            stand.left, stand.right
        );
    }
    names(body, stands, &y);
    Land { bottom }
}

/// Fine lines where sections begin.
fn sections(body: &mut String, stand: &Stand<'_>, (top, bottom): (f64, f64)) {
    for (at, _) in stand
        .what
        .sections
        .iter()
        .filter(|(at, _)| *at > Tick::ZERO)
    {
        let x = stand.x_of(*at);
        let _ = writeln!(
            body,
            "<line x1=\"{x:.1}\" y1=\"{top:.1}\" x2=\"{x:.1}\" y2=\"{bottom:.1}\" stroke=\"{SOFT}\" stroke-width=\".5\" stroke-dasharray=\"2 4\"/>"
        );
    }
}

/// What is reached: one step a bar.
fn ground(body: &mut String, stand: &Stand<'_>, y: &impl Fn(f64) -> f64) {
    let mut path = format!("M{:.1} {:.1}", stand.left, y(0.0));
    for (bar, reached) in stand.what.course.reached.iter().enumerate() {
        let (from, to) = (stand.x(bar as f64), stand.x(bar as f64 + 1.0));
        let _ = write!(path, "L{from:.1} {0:.1}L{to:.1} {0:.1}", y(*reached));
    }
    let _ = writeln!(
        body,
        "<path d=\"{path}L{:.1} {:.1}Z\" fill=\"#cfdedb\" stroke=\"{ACCENT}\" stroke-width=\".8\"/>",
        stand.right,
        y(0.0)
    );
}

/// Between wanted and reached where the draft is off.
fn missed(body: &mut String, stand: &Stand<'_>, y: &impl Fn(f64) -> f64) {
    let course = stand.what.course;
    for miss in stand.what.misses {
        let first = miss.first.0.saturating_sub(1) as usize;
        for bar in first..miss.last.0 as usize {
            let pair = course.wanted.get(bar).zip(course.reached.get(bar));
            let Some((wanted, reached)) = pair else {
                continue;
            };
            let (a, b) = (y(*wanted), y(*reached));
            let (x, to) = (stand.x(bar as f64), stand.x(bar as f64 + 1.0));
            let _ = writeln!(
                body,
                "<rect x=\"{x:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"url(#missed)\" opacity=\".55\"/>",
                a.min(b),
                to - x,
                (a - b).abs()
            );
        }
    }
}

/// Silences that the timeline wants.
fn silences(body: &mut String, stand: &Stand<'_>, bottom: f64) {
    for (from, to) in stand.what.laid.iter().flat_map(|l| &l.silences) {
        let (from, to) = (stand.x_of(*from), stand.x_of(*to));
        let _ = writeln!(
            body,
            "<rect x=\"{from:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"6\" fill=\"#fbf8f1\" stroke=\"{INK}\" stroke-width=\"1.1\"/>",
            bottom - 6.0,
            (to - from).max(1.0)
        );
    }
}

/// The wanted line: the timeline's own curve, or a step for each passage.
fn wanted(body: &mut String, stand: &Stand<'_>, y: &impl Fn(f64) -> f64) {
    let course = stand.what.course;
    let mut points: Vec<(f64, f64)> = Vec::new();
    for (bar, own) in course.wanted.iter().enumerate() {
        let ends = course.starts.get(bar).zip(course.starts.get(bar + 1));
        let Some((from, to)) = ends else { continue };
        let steps = stand.what.laid.and_then(|laid| {
            let tick = |i: usize| Tick(from.0 + to.since(*from).0 * i as u64 / FINE as u64);
            let all = (0..FINE).map(|i| {
                let x = stand.x(bar as f64 + i as f64 / FINE as f64);
                Some((x, y(laid.at(tick(i))?)))
            });
            all.collect::<Option<Vec<_>>>()
        });
        points.extend(steps.unwrap_or_else(|| {
            let (from, to) = (stand.x(bar as f64), stand.x(bar as f64 + 1.0));
            vec![(from, y(*own)), (to, y(*own))]
        }));
    }
    if let Some(level) = last_level(stand) {
        points.push((stand.right, y(level)));
    }
    let path: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{x:.1},{y:.1}"))
        .collect();
    let _ = writeln!(
        body,
        "<polyline points=\"{}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"2.2\" stroke-linejoin=\"round\"/>",
        path.join(" ")
    );
}

/// Where the wanted line ends.
fn last_level(stand: &Stand<'_>) -> Option<f64> {
    let end = stand.what.course.starts.last()?;
    stand.what.laid?.at(Tick(end.0.saturating_sub(1)))
}

/// Pennants, rings and their names, moved up or down where they would meet.
fn names(body: &mut String, stands: &[Stand<'_>], y: &impl Fn(f64) -> f64) {
    let mut taken: Vec<(f64, f64, f64)> = Vec::new();
    for stand in stands {
        for mark in stand.marks() {
            name(body, stand, mark, y, &mut taken);
        }
    }
}

fn name(
    body: &mut String,
    stand: &Stand<'_>,
    mark: &LaidMark,
    y: &impl Fn(f64) -> f64,
    taken: &mut Vec<(f64, f64, f64)>,
) {
    const SIZE: f64 = 13.0;
    let (x, foot) = (stand.x_of(mark.at), y(mark.level.unwrap_or(5.0)));
    let wide = width_of(&mark.name, SIZE);
    // Near the right edge the words stand left of their sign.
    let left_of = x + 18.0 + wide > stand.right.max(x) + 30.0;
    let (from, to) = if left_of {
        (x - 8.0 - wide, x - 6.0)
    } else {
        (x + 14.0, x + 18.0 + wide)
    };
    let free = |at: f64| {
        taken
            .iter()
            .all(|(a, b, y)| to < *a || from > *b || (at - y).abs() > 13.0)
    };
    let (start, step) = match mark.kind {
        MarkKind::Peak => (foot - 24.0, -14.0),
        MarkKind::Crest => (foot - 14.0, -14.0),
        // Above the line that a hush often lies on.
        MarkKind::Hush => (foot - 9.0, -14.0),
    };
    let at = (0..4)
        .map(|i| start + step * f64::from(i))
        .find(|at| free(*at));
    let at = at.unwrap_or(start);
    match mark.kind {
        MarkKind::Peak => pennant(body, (x, foot), foot - at + 9.0, true),
        MarkKind::Crest => pennant(body, (x, foot), foot - at + 9.0, false),
        MarkKind::Hush => ring(body, (x, foot)),
    }
    taken.push((from, to, at));
    let _ = writeln!(
        body,
        "<text x=\"{from:.1}\" y=\"{at:.1}\" font-size=\"{SIZE}\" font-style=\"italic\" fill=\"{INK}\" paint-order=\"stroke\" stroke=\"#fbf8f1\" stroke-width=\"3\">{}</text>",
        escaped(&mark.name)
    );
}
