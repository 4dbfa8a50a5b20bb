//! Random timelines that can be used.

use bandwright::music::{BarBeat, BarNumber, Meter};
use bandwright::plan::timeline::{
    AnyTimeline, Lane, LaneNote, Mark, MarkKind, Movement, Pause, Place, Point, Seconds, Section,
    Share, Show, Silence, TempoPoint, Timeline, Way, bar_line,
};
use proptest::prelude::*;

/// Words, with what a file must quote among them.
fn word() -> impl Strategy<Value = String> {
    prop::sample::select(vec![
        "rise",
        "the \"bell\"",
        "a\\b",
        "Höhe",
        "x = 3 # no",
        "]]",
        "ſhow",
        "1",
    ])
    .prop_map(str::to_owned)
}

fn note() -> impl Strategy<Value = String> {
    prop_oneof![Just(String::new()), Just("two\nlines".to_owned()), word(),]
}

/// What goes into a timeline, places as numbers 0 to 1 in order.
#[derive(Clone, Debug)]
pub struct Raw {
    words: Vec<String>,
    note: String,
    meter: Meter,
    sections: Vec<f64>,
    points: Vec<(f64, f64, Way)>,
    marks: Vec<(f64, MarkKind)>,
    silences: Vec<f64>,
    tempos: Vec<(f64, f64, bool)>,
    pauses: Vec<(f64, f64)>,
    notes: Vec<(f64, f64)>,
}

/// Distinct numbers from 0 to 1, in order.
fn places(most: usize) -> impl Strategy<Value = Vec<f64>> {
    prop::collection::btree_set(0_u32..400, 0..most)
        .prop_map(|set| set.into_iter().map(|n| f64::from(n) / 400.0).collect())
}

fn way() -> impl Strategy<Value = Way> + Clone {
    prop::sample::select(Way::ALL.to_vec())
}

fn with<T: Clone + std::fmt::Debug>(
    most: usize,
    what: impl Strategy<Value = T> + Clone,
) -> impl Strategy<Value = Vec<(f64, T)>> {
    places(most).prop_flat_map(move |places| {
        let count = places.len();
        prop::collection::vec(what.clone(), count)
            .prop_map(move |all| places.iter().copied().zip(all).collect())
    })
}

pub fn raw() -> impl Strategy<Value = Raw> {
    let meters = [(4, 2), (3, 2), (6, 3), (7, 3), (5, 2)];
    let meters: Vec<Meter> = meters
        .iter()
        .filter_map(|(a, b)| Meter::new(*a, *b))
        .collect();
    let kinds = prop::sample::select(MarkKind::ALL.to_vec());
    (
        prop::collection::vec(word(), 12),
        note(),
        prop::sample::select(meters),
        places(6),
        with(9, (0.0..=10.0, way())),
        with(6, kinds),
        places(5),
        with(5, (20.0..=320.0, any::<bool>())),
        with(4, 0.0..=600.0),
        prop::collection::vec((0.0..0.5, 0.51..=1.0), 0..4),
    )
        .prop_map(
            |(words, note, meter, sections, points, marks, silences, tempos, pauses, notes)| Raw {
                words,
                note,
                meter,
                sections,
                points: points.into_iter().map(|(x, (y, w))| (x, y, w)).collect(),
                marks,
                silences,
                tempos: tempos.into_iter().map(|(x, (t, r))| (x, t, r)).collect(),
                pauses,
                notes,
            },
        )
}

impl Raw {
    /// A timeline with its places made from the numbers.
    pub fn timeline<P: Place>(&self, place: impl Fn(f64) -> P, end: P) -> Timeline<P> {
        let word = |i: usize| self.words[i % self.words.len()].clone();
        let mut made = Timeline::new(word(0), end);
        made.note = self.note.clone();
        made.source = word(1);
        made.meter = self.meter;
        let numbered = |all: &[f64]| all.iter().copied().enumerate().collect::<Vec<_>>();
        for (i, at) in numbered(&self.sections) {
            let (name, start) = (word(i), place(at));
            made.sections.push(Section { name, start });
        }
        for (at, intensity, way) in &self.points {
            made.points.push(Point {
                at: place(*at),
                intensity: *intensity,
                way: *way,
            });
        }
        for (i, (at, kind)) in self.marks.iter().enumerate() {
            made.marks.push(Mark {
                kind: *kind,
                at: place(*at),
                name: word(i + 2),
            });
        }
        for pair in self.silences.chunks_exact(2) {
            made.silences.push(Silence {
                from: place(pair[0]),
                to: place(pair[1]),
                name: self.note.replace('\n', " "),
            });
        }
        for (at, beats_per_minute, ramp) in &self.tempos {
            made.tempos.push(TempoPoint {
                at: place(*at),
                beats_per_minute: *beats_per_minute,
                ramp: *ramp,
            });
        }
        for (at, seconds) in &self.pauses {
            made.pauses.push(Pause {
                at: place(*at),
                seconds: *seconds,
                name: String::new(),
            });
        }
        let notes = self.notes.iter().map(|(from, to)| LaneNote {
            from: place(*from),
            to: place(*to),
            text: word(3),
        });
        made.lanes.push(Lane {
            name: word(4),
            notes: notes.collect(),
        });
        made
    }

    pub fn in_bars(&self) -> Timeline<BarBeat> {
        // 400 bars; numbers between bars become beats.
        let beats = if self.meter.is_compound() { 2.0 } else { 3.0 };
        let place = |x: f64| BarBeat {
            bar: BarNumber((x * 400.0).floor() as u32 + 1),
            beat: 1.0 + (x * 400.0).fract() * beats,
        };
        self.timeline(place, bar_line(402))
    }

    pub fn in_seconds(&self) -> Timeline<Seconds> {
        self.timeline(|x| Seconds(x * 700.1), Seconds(720.0))
    }

    pub fn in_shares(&self) -> Timeline<Share> {
        self.timeline(Share, Share(1.0))
    }
}

/// Any timeline that can be used.
pub fn any_timeline() -> impl Strategy<Value = AnyTimeline> {
    (raw(), 0..3).prop_map(|(raw, kind)| match kind {
        0 => raw.in_bars().into(),
        1 => raw.in_seconds().into(),
        _ => raw.in_shares().into(),
    })
}

/// Any show.
pub fn any_show() -> impl Strategy<Value = Show> {
    let movement = (any_timeline(), 0.0..=600.0).prop_map(|(timeline, pause_after)| Movement {
        timeline,
        pause_after,
    });
    (word(), prop::collection::vec(movement, 1..4))
        .prop_map(|(name, movements)| Show { name, movements })
}
