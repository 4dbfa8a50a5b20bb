//! Rows under the landscape: each measure alone, the load of each choir with its rests, lanes of notes.

use super::{RIGHT, Stand, fitted, label, soft};
use crate::export::svg::{INK, SOFT, put, tint};
use crate::music::BarBeat;
use crate::plan::timeline::{LaneNote, Place as _};
use crate::review::Measure;
use std::fmt::Write as _;

/// How high the row of a measure is.
const MEASURE: f64 = 30.0;
/// How high a row of load is.
const LOAD: f64 = 15.0;
/// How high a lane is.
const LANE: f64 = 20.0;

/// What each measure alone speaks for, with what is wanted as a fine line.
pub(super) fn measures(body: &mut String, stands: &[Stand<'_>], mut y: f64) -> f64 {
    for measure in Measure::ALL {
        let bottom = y + MEASURE;
        label(body, bottom - 8.0, measure.word());
        let height = |intensity: f64| bottom - (MEASURE - 4.0) * (intensity / 10.0).clamp(0.0, 1.0);
        for stand in stands {
            let course = stand.what.course;
            let mut path = format!("M{:.1} {bottom:.1}", stand.left);
            for (bar, value) in course.alone(measure).iter().enumerate() {
                let (from, to) = (stand.x(bar as f64), stand.x(bar as f64 + 1.0));
                let _ = write!(path, "L{from:.1} {0:.1}L{to:.1} {0:.1}", height(*value));
            }
            let wanted = course.wanted.iter().enumerate();
            let wanted = wanted
                .map(|(bar, w)| format!("{:.1},{:.1}", stand.x(bar as f64 + 0.5), height(*w)));
            let wanted: Vec<String> = wanted.collect();
            let _ = writeln!(
                body,
                "<path d=\"{path}L{:.1} {bottom:.1}Z\" fill=\"#e3ded0\" stroke=\"{SOFT}\" stroke-width=\".6\"/>\
                 <polyline points=\"{}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\".9\"/>",
                stand.right,
                wanted.join(" ")
            );
        }
        y = bottom + 7.0;
    }
    y
}

/// How tired lips are: the darker, the more; a thin line where a choir rests.
pub(super) fn loads(body: &mut String, stands: &[Stand<'_>], mut y: f64) -> f64 {
    let mut names: Vec<&'static str> = Vec::new();
    for (name, _) in stands.iter().flat_map(|s| &s.what.course.load) {
        if !names.contains(name) {
            names.push(name);
        }
    }
    if names.is_empty() {
        return y;
    }
    soft(
        body,
        super::LEFT,
        y + 4.0,
        "how tired the lips are: pale, fresh; dark, worn out; a thin line, resting",
    );
    y += 12.0;
    for name in names {
        label(body, y + LOAD - 4.0, name);
        for stand in stands {
            let load = stand.what.course.load.iter().find(|(n, _)| *n == name);
            let Some((_, load)) = load else { continue };
            for (bar, tired) in load.iter().enumerate() {
                cell(
                    body,
                    (stand.x(bar as f64), stand.x(bar as f64 + 1.0)),
                    y,
                    *tired,
                );
            }
        }
        y += LOAD + 5.0;
    }
    y
}

fn cell(body: &mut String, (from, to): (f64, f64), y: f64, tired: f64) {
    let wide = to - from + 0.15;
    let _ = if tired > 0.0 {
        // From a tint that is seen to nearly ink.
        let dark = (0.12 + 0.88 * (tired / 0.6).min(1.0)).min(0.95);
        writeln!(
            body,
            "<rect x=\"{from:.1}\" y=\"{y:.1}\" width=\"{wide:.2}\" height=\"{LOAD}\" fill=\"{}\"/>",
            tint(dark)
        )
    } else {
        writeln!(
            body,
            "<rect x=\"{from:.1}\" y=\"{:.1}\" width=\"{wide:.2}\" height=\"1\" fill=\"{SOFT}\"/>",
            y + LOAD / 2.0
        )
    };
}

/// Lanes of notes for drill, flags, voice-over.
pub(super) fn lanes(body: &mut String, stands: &[Stand<'_>], mut y: f64) -> f64 {
    let mut names: Vec<&str> = Vec::new();
    for stand in stands {
        for lane in stand.what.laid.iter().flat_map(|l| &l.timeline.lanes) {
            if !names.contains(&lane.name.as_str()) {
                names.push(&lane.name);
            }
        }
    }
    for name in names {
        y += 4.0;
        label(
            body,
            y + LANE - 6.0,
            &fitted(name, 11.5, super::LEFT - 20.0),
        );
        for stand in stands {
            let all = stand.what.laid.iter().flat_map(|l| &l.timeline.lanes);
            for lane in all.filter(|l| l.name == name) {
                for (i, note) in lane.notes.iter().enumerate() {
                    note_box(body, stand, (note, lane.notes.get(i + 1)), y);
                }
            }
        }
        y += LANE;
    }
    y
}

type Note = LaneNote<BarBeat>;

fn note_box(body: &mut String, stand: &Stand<'_>, (note, next): (&Note, Option<&Note>), y: f64) {
    let meter = stand.what.laid.map(|l| l.timeline.meter);
    let Some(meter) = meter else { return };
    let (from, to) = (
        stand.x(note.from.along(meter)),
        stand.x(note.to.along(meter)),
    );
    if from >= to || from >= RIGHT {
        return;
    }
    let _ = writeln!(
        body,
        "<path d=\"M{from:.1} {:.1}V{1:.1}H{to:.1}v4\" fill=\"none\" stroke=\"{SOFT}\" stroke-width=\"1.2\"/>",
        y + LANE,
        y + 3.0
    );
    // Words may go on beyond their stretch, up to the next one.
    let free = next.map_or(stand.right, |n| stand.x(n.from.along(meter)));
    let room = free.max(to) - from - 10.0;
    put(
        body,
        from + 5.0,
        y + LANE - 3.0,
        11.0,
        INK,
        &fitted(&note.text, 11.0, room),
    );
}
