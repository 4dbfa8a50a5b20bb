//! A timeline laid on music: all that it wants, by ticks.

use super::mark::MarkKind;
use super::place::Place;
use super::tie::tick_of;
use super::{AnyTimeline, Curve, Timeline};
use crate::music::{BarBeat, BarNumber, MeterMap, TempoMap, Tick};

/// A peak, crest or hush in the music.
#[derive(Clone, PartialEq, Debug)]
pub struct LaidMark {
    /// What it is.
    pub kind: MarkKind,
    /// Where.
    pub at: Tick,
    /// What it is called.
    pub name: String,
    /// How intense it is wanted; `None` where no point is set.
    pub level: Option<f64>,
}

/// A timeline laid on music. What lies after the end of the music is left out; where the timeline is shorter, its
/// last intensity is held.
#[derive(Clone, PartialEq, Debug)]
pub struct Laid {
    /// The timeline in the bars of the music.
    pub timeline: Timeline<BarBeat>,
    /// Where sections begin, with their names.
    pub sections: Vec<(Tick, String)>,
    /// Peaks, crests and hushes, in order.
    pub marks: Vec<LaidMark>,
    /// Silences, from and to.
    pub silences: Vec<(Tick, Tick)>,
    /// What did not fit, one sentence each.
    pub warnings: Vec<String>,
    /// Over ticks.
    curve: Curve,
}

impl Laid {
    /// Lays a timeline on music that ends at a tick.
    ///
    /// ```
    /// use bandwright::music::{MeterMap, TempoMap, Tick, TicksPerQuarter};
    /// use bandwright::plan::timeline::{AnyTimeline, Laid, template};
    /// let quarter = TicksPerQuarter::new(480).unwrap();
    /// let clock = (&MeterMap::new(quarter, []), &TempoMap::new(quarter, []));
    /// let arch = AnyTimeline::from(template("arch").unwrap());
    /// let laid = Laid::of(&arch, clock, Tick(64 * 1920));
    /// assert!(laid.at(Tick(32 * 1920)) > laid.at(Tick(0)));
    /// assert!(laid.warnings.is_empty());
    /// ```
    #[must_use]
    pub fn of(any: &AnyTimeline, (meters, tempo): (&MeterMap, &TempoMap), end: Tick) -> Self {
        let timeline = any.in_bars_of(meters, tempo, end);
        let mut warnings = fit(&timeline, meters, end);
        let mut short = Vec::new();
        for place in timeline.places() {
            if !tick_of(place, meters).1 && !short.contains(&place.bar) {
                short.push(place.bar);
            }
        }
        warnings.extend(short.iter().map(|bar| {
            format!("the timeline names a beat of bar {bar} that the music does not have there; the bar's end is taken")
        }));
        let tick = |place: BarBeat| tick_of(place, meters).0;
        let curve = Curve::new(
            timeline
                .points
                .iter()
                .map(|p| (tick(p.at).0 as f64, p.intensity, p.way)),
            timeline
                .silences
                .iter()
                .map(|s| (tick(s.from).0 as f64, tick(s.to).0 as f64)),
        );
        let inside = |at: &Tick| *at < end;
        let sections = timeline.sections.iter();
        let sections = sections.map(|s| (tick(s.start), s.name.clone()));
        let marks = timeline.marks.iter().map(|m| LaidMark {
            kind: m.kind,
            at: tick(m.at),
            name: m.name.clone(),
            level: curve.at(tick(m.at).0 as f64),
        });
        let silences = timeline.silences.iter();
        let silences = silences.map(|s| (tick(s.from), tick(s.to).min(end)));
        Self {
            sections: sections.filter(|(at, _)| inside(at)).collect(),
            marks: marks.filter(|m| inside(&m.at)).collect(),
            silences: silences.filter(|(from, to)| from < to).collect(),
            warnings,
            curve,
            timeline,
        }
    }

    /// Whether it says anywhere how intense it is wanted.
    #[must_use]
    pub fn has_points(&self) -> bool {
        !self.curve.is_empty()
    }

    /// Wanted intensity at a tick, 0 to 10; `None` where no point is set.
    #[must_use]
    pub fn at(&self, tick: Tick) -> Option<f64> {
        self.curve.at(tick.0 as f64)
    }

    /// Mean wanted intensity over a stretch; `None` where no point is set.
    #[must_use]
    pub fn mean(&self, from: Tick, to: Tick) -> Option<f64> {
        self.curve.mean(from.0 as f64, to.0 as f64)
    }

    /// Mean wanted intensity of every bar; `starts` are where bars begin, and one end more. `None` where no point
    /// is set.
    #[must_use]
    pub fn by_bar(&self, starts: &[Tick]) -> Option<Vec<f64>> {
        let bars = starts.windows(2).map(|bar| match bar {
            [from, to] => self.mean(*from, *to),
            _ => None,
        });
        bars.collect()
    }

    /// Where a new way of scoring may begin, as at a marker: sections, peaks, crests and hushes.
    pub fn cuts(&self) -> impl Iterator<Item = Tick> + '_ {
        let sections = self.sections.iter().map(|(at, _)| *at);
        let marks = self.marks.iter().map(|m| m.at);
        let silences = self.silences.iter().map(|(_, to)| *to);
        sections.chain(marks).chain(silences)
    }
}

/// What is to be said where a timeline is longer or shorter than the music.
fn fit(timeline: &Timeline<BarBeat>, meters: &MeterMap, end: Tick) -> Vec<String> {
    let (planned, bars) = (timeline.bars(), meters.bar(Tick(end.0.saturating_sub(1))).0);
    let name = timeline.name.replace(char::is_control, "\u{fffd}");
    if planned > bars {
        let after = |at: BarBeat| at.bar > BarNumber(bars);
        let lost = timeline.marks.iter().filter(|m| after(m.at));
        let lost: Vec<String> = lost
            .map(|m| format!("{} `{}` in {}", m.kind.word(), m.name, m.at.words()))
            .collect();
        let lost = if lost.is_empty() {
            String::new()
        } else {
            format!(", with {}", lost.join(", "))
        };
        return vec![format!(
            "the timeline `{name}` has {planned} bars and the music {bars}; what is planned after bar {bars} is left out{lost}"
        )];
    }
    if planned < bars {
        return vec![format!(
            "the timeline `{name}` has {planned} bars and the music {bars}; from bar {} on its last intensity is held",
            planned.saturating_add(1)
        )];
    }
    Vec::new()
}
