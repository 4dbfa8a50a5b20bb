//! What stands around the landscape: title, sections, tempo, bar numbers, and the misses in words.

use super::{LEFT, RIGHT, ShapePicture, Stand, fitted, label, put_end, put_middle, soft, width_of};
use crate::export::minutes;
use crate::export::svg::{ACCENT, INK, SOFT, put};
use crate::music::Tick;
use crate::review::Miss;
use std::fmt::Write as _;

/// The show's name, the band, and what the signs mean.
pub(super) fn title(body: &mut String, picture: &ShapePicture<'_>) {
    put(
        body,
        40.0,
        46.0,
        25.0,
        INK,
        &fitted(picture.title, 25.0, 700.0),
    );
    put(body, 40.0, 66.0, 12.5, SOFT, picture.under);
    let y = 46.0;
    let _ = writeln!(
        body,
        "<line x1=\"822\" y1=\"{0:.1}\" x2=\"854\" y2=\"{0:.1}\" stroke=\"{INK}\" stroke-width=\"2.2\"/>\
         <rect x=\"930\" y=\"{1:.1}\" width=\"32\" height=\"11\" fill=\"#cfdedb\" stroke=\"{ACCENT}\" stroke-width=\".8\"/>\
         <rect x=\"1042\" y=\"{1:.1}\" width=\"32\" height=\"11\" fill=\"url(#missed)\" stroke=\"none\"/>",
        y - 4.0,
        y - 10.0
    );
    let _ = writeln!(
        body,
        "<defs><pattern id=\"missed\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
         <line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"5\" stroke=\"{INK}\" stroke-width=\"1.1\"/></pattern></defs>"
    );
    for (x, words) in [
        (862.0, "wanted"),
        (970.0, "reached"),
        (1082.0, "off by more than 1.5"),
    ] {
        soft(body, x, y, words);
    }
    pennant(body, (1216.0, y), 14.0, true);
    soft(body, 1231.0, y, "peak");
    pennant(body, (1268.0, y), 14.0, false);
    soft(body, 1283.0, y, "crest");
    ring(body, (1324.0, y - 4.0));
    soft(body, 1333.0, y, "hush");
}

/// A pennant on its pole, whose foot stands at a place; a full one for a peak, an open one for a crest.
pub(super) fn pennant(body: &mut String, (x, y): (f64, f64), high: f64, full: bool) {
    let (top, fill) = (y - high, if full { INK } else { "none" });
    let _ = writeln!(
        body,
        "<path d=\"M{x:.1} {y:.1}V{top:.1}L{0:.1} {1:.1}L{x:.1} {2:.1}\" fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\"1.3\" stroke-linejoin=\"round\"/>",
        x + 11.0,
        top + 4.0,
        top + 8.0
    );
}

/// The ring of a hush.
pub(super) fn ring(body: &mut String, (x, y): (f64, f64)) {
    let _ = writeln!(
        body,
        "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4.6\" fill=\"#fbf8f1\" stroke=\"{INK}\" stroke-width=\"1.6\"/>"
    );
}

/// Movements, sections and tempo above the landscape; answers where that begins.
pub(super) fn heads(body: &mut String, stands: &[Stand<'_>], mut y: f64) -> f64 {
    if stands.len() > 1 {
        for stand in stands {
            let width = stand.right - stand.left;
            let name = fitted(stand.what.name, 14.0, width);
            put(body, stand.left, y + 6.0, 14.0, INK, &name);
        }
        y += 22.0;
    }
    let any = stands.iter().any(|s| !s.what.sections.is_empty());
    if any {
        label(body, y + 8.0, "sections");
        for stand in stands {
            sections(body, stand, y);
        }
        y += 22.0;
    }
    label(body, y + 8.0, "tempo");
    for stand in stands {
        tempos(body, stand, y + 8.0);
    }
    y + 20.0
}

fn sections(body: &mut String, stand: &Stand<'_>, y: f64) {
    let sections = stand.what.sections;
    for (i, (at, name)) in sections.iter().enumerate() {
        let from = stand.x_of(*at);
        let to = sections
            .get(i + 1)
            .map_or(stand.right, |(to, _)| stand.x_of(*to));
        let _ = writeln!(
            body,
            "<line x1=\"{from:.1}\" y1=\"{:.1}\" x2=\"{from:.1}\" y2=\"{:.1}\" stroke=\"{INK}\" stroke-width=\"1\"/>",
            y - 4.0,
            y + 12.0
        );
        let words = fitted(name, 12.5, to - from - 10.0);
        put(body, from + 5.0, y + 8.0, 12.5, INK, &words);
    }
}

/// Felt beats a minute where they change; of many close to one another those that have room.
fn tempos(body: &mut String, stand: &Stand<'_>, y: f64) {
    let (tempo, meters) = (stand.what.tempo, stand.what.meters);
    let mut free = f64::MIN;
    let mut last = 0.0;
    for change in tempo.changes() {
        let beat = meters.meter(change.at).beat(meters.quarter());
        let quarters = meters.quarter().beats(beat).0;
        let now = (tempo.quarters_per_minute(change.at) / quarters).round();
        let x = stand.x_of(change.at);
        if x < free || now == last || (x >= stand.right && change.at > Tick::ZERO) {
            continue;
        }
        let words = format!("{now:.0} a minute");
        let room = stand.right - x;
        let words = if width_of(&words, 11.0) > room {
            format!("{now:.0}")
        } else {
            words
        };
        soft(body, x + 5.0, y, &words);
        (free, last) = (x + width_of(&words, 11.0) + 14.0, now);
    }
}

/// Numbers of bars and times under the landscape; answers where it goes on.
pub(super) fn bars(body: &mut String, stands: &[Stand<'_>], y: f64) -> f64 {
    // Left of the first number, which stands around the first bar line.
    put_end(body, LEFT - 28.0, y + 15.0, 11.5, SOFT, "bar");
    put_end(body, LEFT - 28.0, y + 28.0, 11.5, SOFT, "time");
    for (i, stand) in stands.iter().enumerate() {
        let bars = stand.what.course.bars();
        let wide = (stand.right - stand.left) / bars.max(1) as f64;
        let step = [1, 2, 4, 8, 16, 32, 64, 128, 256]
            .into_iter()
            .find(|s| *s as f64 * wide >= 42.0)
            .unwrap_or(512);
        for bar in (0..bars).step_by(step) {
            let x = stand.x(bar as f64);
            let _ = writeln!(
                body,
                "<line x1=\"{x:.1}\" y1=\"{y:.1}\" x2=\"{x:.1}\" y2=\"{:.1}\" stroke=\"{INK}\" stroke-width=\".9\"/>",
                y + 4.0
            );
            put_middle(body, x, y + 15.0, 11.0, INK, &(bar + 1).to_string());
            let at = stand
                .what
                .course
                .starts
                .get(bar)
                .copied()
                .unwrap_or_default();
            let time = minutes(stand.what.begins + stand.what.tempo.seconds(at));
            put_middle(body, x, y + 28.0, 10.0, SOFT, &time);
        }
        let next = stands.get(i + 1).filter(|_| stand.what.pause_after > 0.0);
        if let Some(next) = next {
            let middle = f64::midpoint(stand.right, next.left);
            let words = format!("{:.0} s", stand.what.pause_after);
            put_middle(body, middle, y - 6.0, 10.0, SOFT, &words);
        }
    }
    y + 32.0
}

/// Misses with what would mend them, at most as many as have room on a page.
pub(super) fn words(body: &mut String, stands: &[Stand<'_>], mut y: f64) -> f64 {
    const MOST: usize = 12;
    let several = stands.len() > 1;
    let all: Vec<(&Stand<'_>, &Miss)> = stands
        .iter()
        .flat_map(|s| s.what.misses.iter().map(move |m| (s, m)))
        .collect();
    y += 14.0;
    if all.is_empty() {
        put(
            body,
            LEFT,
            y,
            12.5,
            SOFT,
            "The draft keeps to the shape: nowhere off by more than 1.5 for two bars or more.",
        );
        return y;
    }
    put(body, LEFT, y, 13.5, INK, "Where the draft is off the shape");
    for (stand, miss) in all.iter().take(MOST) {
        y += 17.0;
        let name = if several {
            format!("{}, ", stand.what.name)
        } else {
            String::new()
        };
        put(
            body,
            LEFT,
            y,
            12.0,
            INK,
            &fitted(&format!("{name}{}", miss.what()), 12.0, 412.0),
        );
        let mend = fitted(&miss.mend(), 12.0, RIGHT - LEFT - 420.0);
        put(body, LEFT + 420.0, y, 12.0, SOFT, &mend);
    }
    if all.len() > MOST {
        y += 17.0;
        let more = format!("and {} more", all.len() - MOST);
        put_end(body, RIGHT, y, 12.0, SOFT, &more);
    }
    y
}
