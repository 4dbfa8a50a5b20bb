//! The timeline: how a show is to go, planned before or beside the music, as plain values.
//!
//! A [`Timeline`] names sections, wanted intensity as points with ways between, peaks, crests and hushes, silences,
//! tempos, pauses, and lanes of notes for whoever moves, carries flags or speaks. Its places are of one kind each: bars
//! ([`crate::music::BarBeat`]), [`Seconds`] before the music exists, or [`Share`]s of any length in the templates
//! ([`template`]). [`tie`] brings one that was planned in seconds to the bars of a sketch, [`Laid`] lays any on music.
//! Several movements make a [`Show`].

mod any;
mod check;
mod curve;
mod laid;
mod lane;
mod mark;
mod place;
mod point;
mod section;
mod shows;
mod silence;
mod stretch;
mod templates;
mod tempo;
mod tie;
mod timeline_file;
mod timeline_write;

pub use any::AnyTimeline;
pub use check::{Fault, Item};
pub use curve::{Curve, INTENSITIES};
pub use laid::{Laid, LaidMark};
pub use lane::{Lane, LaneNote};
pub use mark::{Mark, MarkKind};
pub use place::{MOST_BARS, MOST_SECONDS, Place, Seconds, Share, at_bars, beats_in_bar};
pub use point::{Point, Way};
pub use section::Section;
pub use shows::{Movement, Offset, Show};
pub use silence::{Pause, Silence};
pub use templates::{template, template_source, template_words};
pub use tempo::{BeatClock, TEMPOS, TempoPoint, USUAL_TEMPO};
pub use tie::tie;
pub use timeline_file::{TimelineError, read_show, read_timeline};
pub use timeline_write::{write_show, write_timeline};

use crate::music::Meter;

/// How a movement is to go, with places of one kind.
#[derive(Clone, PartialEq, Debug)]
pub struct Timeline<P> {
    /// What it is called.
    pub name: String,
    /// What it is for, or what it does to an audience, in a few sentences.
    pub note: String,
    /// Where its shape comes from; may be empty.
    pub source: String,
    /// The meter that its beats are counted in, where there is no music yet.
    pub meter: Meter,
    /// Where it ends; of bars the first beat of the bar after the last.
    pub end: P,
    /// Sections, in order.
    pub sections: Vec<Section<P>>,
    /// Points of the wanted curve, in order.
    pub points: Vec<Point<P>>,
    /// Peaks, crests and hushes, in order.
    pub marks: Vec<Mark<P>>,
    /// Silences, in order.
    pub silences: Vec<Silence<P>>,
    /// Tempos, in order.
    pub tempos: Vec<TempoPoint<P>>,
    /// Pauses, in order.
    pub pauses: Vec<Pause<P>>,
    /// Lanes of words.
    pub lanes: Vec<Lane<P>>,
}

impl<P: Place> Timeline<P> {
    /// An empty timeline of some length.
    #[must_use]
    pub fn new(name: impl Into<String>, end: P) -> Self {
        Self {
            name: name.into(),
            note: String::new(),
            source: String::new(),
            meter: Meter::COMMON,
            end,
            sections: Vec::new(),
            points: Vec::new(),
            marks: Vec::new(),
            silences: Vec::new(),
            tempos: Vec::new(),
            pauses: Vec::new(),
            lanes: Vec::new(),
        }
    }

    /// Its wanted curve, over how far along places are.
    #[must_use]
    pub fn curve(&self) -> Curve {
        let along = |place: P| place.along(self.meter);
        let points = self.points.iter();
        let silences = self.silences.iter();
        Curve::new(
            points.map(|p| (along(p.at), p.intensity, p.way)),
            silences.map(|s| (along(s.from), along(s.to))),
        )
    }

    /// Wanted intensity at a place, 0 to 10; `None` where no point is set.
    ///
    /// ```
    /// use bandwright::plan::timeline::{Point, Seconds, Timeline, Way};
    /// let mut plan = Timeline::new("Night ride", Seconds(60.0));
    /// assert_eq!(plan.intensity(Seconds(10.0)), None);
    /// for (at, intensity) in [(0.0, 2.0), (40.0, 10.0)] {
    ///     let way = Way::Straight;
    ///     plan.points.push(Point { at: Seconds(at), intensity, way });
    /// }
    /// assert_eq!(plan.intensity(Seconds(10.0)), Some(4.0));
    /// assert_eq!(plan.mean(Seconds(0.0), Seconds(40.0)), Some(6.0));
    /// ```
    #[must_use]
    pub fn intensity(&self, at: P) -> Option<f64> {
        self.curve().at(at.along(self.meter))
    }

    /// Mean wanted intensity over a stretch; `None` where no point is set.
    #[must_use]
    pub fn mean(&self, from: P, to: P) -> Option<f64> {
        let along = |place: P| place.along(self.meter);
        self.curve().mean(along(from), along(to))
    }

    /// Peaks, crests and hushes with how intense each is wanted; `None` where no point is set.
    #[must_use]
    pub fn levels(&self) -> Vec<(&Mark<P>, Option<f64>)> {
        let curve = self.curve();
        let level = |mark: &Mark<P>| curve.at(mark.at.along(self.meter));
        self.marks.iter().map(|m| (m, level(m))).collect()
    }

    /// The section that a place lies in; `None` before the first.
    #[must_use]
    pub fn section(&self, at: P) -> Option<&Section<P>> {
        let along = |place: P| place.along(self.meter);
        let mut begun = self.sections.iter();
        begun.rfind(|s| along(s.start) <= along(at))
    }

    /// The same with every place put elsewhere; the meter stays.
    #[must_use]
    pub fn moved<Q>(&self, to: &impl Fn(P) -> Q) -> Timeline<Q> {
        let lane = |lane: &Lane<P>| Lane {
            name: lane.name.clone(),
            notes: lane
                .notes
                .iter()
                .map(|n| LaneNote {
                    from: to(n.from),
                    to: to(n.to),
                    text: n.text.clone(),
                })
                .collect(),
        };
        let point = |p: &Point<P>| Point {
            at: to(p.at),
            intensity: p.intensity,
            way: p.way,
        };
        let mark = |m: &Mark<P>| Mark {
            kind: m.kind,
            at: to(m.at),
            name: m.name.clone(),
        };
        let section = |s: &Section<P>| Section {
            name: s.name.clone(),
            start: to(s.start),
        };
        let silence = |s: &Silence<P>| Silence {
            from: to(s.from),
            to: to(s.to),
            name: s.name.clone(),
        };
        let tempo = |t: &TempoPoint<P>| TempoPoint {
            at: to(t.at),
            beats_per_minute: t.beats_per_minute,
            ramp: t.ramp,
        };
        let pause = |p: &Pause<P>| Pause {
            at: to(p.at),
            seconds: p.seconds,
            name: p.name.clone(),
        };
        Timeline {
            name: self.name.clone(),
            note: self.note.clone(),
            source: self.source.clone(),
            meter: self.meter,
            end: to(self.end),
            sections: self.sections.iter().map(section).collect(),
            points: self.points.iter().map(point).collect(),
            marks: self.marks.iter().map(mark).collect(),
            silences: self.silences.iter().map(silence).collect(),
            tempos: self.tempos.iter().map(tempo).collect(),
            pauses: self.pauses.iter().map(pause).collect(),
            lanes: self.lanes.iter().map(lane).collect(),
        }
    }

    /// Every place of it, each once, in order; the end is among them.
    #[must_use]
    pub fn places(&self) -> Vec<P> {
        let mut all: Vec<P> = vec![self.end];
        all.extend(self.sections.iter().map(|s| s.start));
        all.extend(self.points.iter().map(|p| p.at));
        all.extend(self.marks.iter().map(|m| m.at));
        all.extend(self.silences.iter().flat_map(|s| [s.from, s.to]));
        all.extend(self.tempos.iter().map(|t| t.at));
        all.extend(self.pauses.iter().map(|p| p.at));
        let notes = self.lanes.iter().flat_map(|l| &l.notes);
        all.extend(notes.flat_map(|n| [n.from, n.to]));
        let along = |place: &P| place.along(self.meter);
        all.sort_by(|a, b| along(a).total_cmp(&along(b)));
        all.dedup();
        all
    }
}

/// The bar that a place's bar line begins, where the first beat of it is meant.
#[must_use]
pub const fn bar_line(bar: u32) -> crate::music::BarBeat {
    crate::music::BarBeat {
        bar: crate::music::BarNumber(bar),
        beat: 1.0,
    }
}

impl Timeline<crate::music::BarBeat> {
    /// How many bars it has.
    #[must_use]
    pub fn bars(&self) -> u32 {
        let after = u32::from(self.end.beat > 1.0);
        (self.end.bar.0 + after).saturating_sub(1).min(MOST_BARS)
    }

    /// Mean wanted intensity of every bar from the first; empty where no point is set.
    ///
    /// ```
    /// use bandwright::plan::timeline::{Point, Timeline, Way, bar_line};
    /// let mut plan = Timeline::new("Rise", bar_line(5));
    /// for (bar, intensity) in [(1, 0.0), (5, 8.0)] {
    ///     let at = bar_line(bar);
    ///     plan.points.push(Point { at, intensity, way: Way::Straight });
    /// }
    /// assert_eq!(plan.by_bar(), [1.0, 3.0, 5.0, 7.0]);
    /// ```
    #[must_use]
    pub fn by_bar(&self) -> Vec<f64> {
        let curve = self.curve();
        let bars = (0..self.bars()).map(f64::from);
        bars.filter_map(|bar| curve.mean(bar, bar + 1.0)).collect()
    }
}
