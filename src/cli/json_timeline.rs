//! A timeline laid on music, as JSON.

use super::rounded::thousandths;
use crate::music::{BarNumber, MeterMap, Tick};
use crate::plan::timeline::{Laid, LaidMark};
use crate::sketch::Song;
use serde::Serialize;

/// A timeline laid on music.
#[derive(Serialize, Debug)]
pub struct TimelineJson {
    name: String,
    sections: Vec<SectionJson>,
    marks: Vec<MarkJson>,
    silences: Vec<SilenceJson>,
    wanted: Vec<f64>,
}

#[derive(Serialize, Debug)]
struct SectionJson {
    name: String,
    bar: u32,
    beat: f64,
}

#[derive(Serialize, Debug)]
struct MarkJson {
    kind: &'static str,
    name: String,
    bar: u32,
    beat: f64,
    wanted: Option<f64>,
}

#[derive(Serialize, Debug)]
struct SilenceJson {
    bar: u32,
    beat: f64,
    to_bar: u32,
    to_beat: f64,
}

fn place(meters: &MeterMap, at: Tick) -> (u32, f64) {
    let place = meters.place(at);
    (place.bar.0, thousandths(place.beat))
}

impl TimelineJson {
    /// That of a timeline on a song; `wanted` is empty where it sets no points.
    #[must_use]
    pub fn of(laid: &Laid, song: &Song) -> Self {
        let meters = &song.meters;
        let last = meters.bar(Tick(song.end().0.saturating_sub(1)));
        let starts: Vec<Tick> = (1..=last.0.saturating_add(1))
            .map(|b| meters.bar_start(BarNumber(b)))
            .collect();
        let wanted = laid.by_bar(&starts).unwrap_or_default();
        let section = |(at, name): &(Tick, String)| {
            let (bar, beat) = place(meters, *at);
            let name = name.clone();
            SectionJson { name, bar, beat }
        };
        let mark = |mark: &LaidMark| {
            let (bar, beat) = place(meters, mark.at);
            MarkJson {
                kind: mark.kind.word(),
                name: mark.name.clone(),
                bar,
                beat,
                wanted: mark.level.map(thousandths),
            }
        };
        let silence = |(from, to): &(Tick, Tick)| {
            let ((bar, beat), (to_bar, to_beat)) = (place(meters, *from), place(meters, *to));
            SilenceJson {
                bar,
                beat,
                to_bar,
                to_beat,
            }
        };
        Self {
            name: laid.timeline.name.clone(),
            sections: laid.sections.iter().map(section).collect(),
            marks: laid.marks.iter().map(mark).collect(),
            silences: laid.silences.iter().map(silence).collect(),
            wanted: wanted.into_iter().map(thousandths).collect(),
        }
    }
}
