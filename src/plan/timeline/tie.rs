//! Tying: a timeline that was planned in seconds gets the bars of the music that has come.

use super::place::{Place, Seconds, beats_in_bar};
use super::{Timeline, bar_line};
use crate::music::{BarBeat, BarNumber, Meter, MeterMap, TempoMap, Tick};

/// The timeline in the bars of some music. Places go to the nearest bar line, so that sections and peaks begin with a
/// bar; where two would meet there, both stay at the beat that sounds at their second. A way that was straight in
/// seconds is straight in bars. Pauses take no time of the music, so places after one are that much earlier in it.
///
/// ```
/// use bandwright::music::{MeterMap, TempoMap, TicksPerQuarter};
/// use bandwright::plan::timeline::{Mark, MarkKind, Place, Seconds, Timeline, tie};
/// let mut plan = Timeline::new("Night ride", Seconds(120.0));
/// let (kind, name) = (MarkKind::Peak, "the bell".to_owned());
/// plan.marks.push(Mark { kind, at: Seconds(79.5), name });
/// // 120 quarters a minute in common time: a bar lasts two seconds.
/// let quarter = TicksPerQuarter::new(480).unwrap();
/// let tied = tie(&plan, &MeterMap::new(quarter, []), &TempoMap::new(quarter, []));
/// assert_eq!((tied.bars(), tied.marks[0].at.words()), (60, "bar 41".to_owned()));
/// ```
#[must_use]
pub fn tie(plan: &Timeline<Seconds>, meters: &MeterMap, tempo: &TempoMap) -> Timeline<BarBeat> {
    let tick = |at: Seconds| tempo.at_seconds(playing(plan, at));
    let exact: Vec<Tick> = plan.places().into_iter().map(tick).collect();
    let mut lines: Vec<u32> = exact.iter().map(|t| nearest_line(meters, *t)).collect();
    lines.sort_unstable();
    let alone = |line: u32| {
        let next = lines.partition_point(|l| *l < line);
        lines.get(next + 1) != Some(&line)
    };
    let to = |at: Seconds| {
        let (tick, line) = (tick(at), nearest_line(meters, tick(at)));
        if alone(line) {
            bar_line(line)
        } else {
            within(meters, tick)
        }
    };
    let mut tied = plan.moved(&to);
    // Of several meters the one with the most beats, in which every place is one.
    let meters_of = meters.changes().iter().map(|c| c.meter);
    let longest = meters_of.rev().max_by_key(|m| beats_in_bar(*m));
    tied.meter = longest.unwrap_or(Meter::COMMON);
    tied.end = bar_line(nearest_line(meters, tick(plan.end)).max(2));
    tied
}

/// Seconds of playing up to a place: without the pauses before it.
fn playing(plan: &Timeline<Seconds>, at: Seconds) -> f64 {
    let before = plan.pauses.iter().filter(|p| p.at.0 < at.0);
    let past = |(pause, from): (f64, f64)| pause.min((at.0 - from).max(0.0));
    let paused: f64 = before.map(|p| past((p.seconds, p.at.0))).sum();
    at.0 - paused
}

/// The number of the bar whose beginning is nearest; of two as near the later.
fn nearest_line(meters: &MeterMap, at: Tick) -> u32 {
    let bar = meters.bar(at);
    let (before, after) = (
        at.since(meters.bar_start(bar)).0,
        meters.bar_end(bar).since(at).0,
    );
    bar.0.saturating_add(u32::from(after <= before))
}

/// A place inside its bar, beats rounded to thousandths.
fn within(meters: &MeterMap, at: Tick) -> BarBeat {
    let place = meters.place(at);
    let beat = (place.beat * 1000.0).round() / 1000.0;
    if beat - 1.0 >= f64::from(beats_in_bar(meters.meter(at))) {
        return bar_line(place.bar.0.saturating_add(1));
    }
    let bar = BarNumber(place.bar.0);
    BarBeat { bar, beat }
}

/// The tick of a place in some music, and whether its bar has that beat.
pub(super) fn tick_of(at: BarBeat, meters: &MeterMap) -> (Tick, bool) {
    let (start, end) = (meters.bar_start(at.bar), meters.bar_end(at.bar));
    let beat = meters.meter(start).beat(meters.quarter()).0 as f64;
    // `max` takes the number where the other is none.
    let ticks = ((at.beat - 1.0).max(0.0) * beat).round();
    let length = end.since(start).0;
    let inside = ticks < length as f64 || at.beat == BarBeat::START.beat;
    let ticks = (ticks as u64).min(length);
    (Tick(start.0.saturating_add(ticks)), inside)
}
