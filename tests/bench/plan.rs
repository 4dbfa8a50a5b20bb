//! How long the scoring plan alone takes, over the demo (64 bars) and four and sixteen times as much, and for
//! bands of several sizes: the plan of a 200-bar, 30-part show has to take well under 100 ms.

#![allow(
    clippy::expect_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

use bandwright::band::{Band, preset};
use bandwright::cli::files::demo_song;
use bandwright::music::Tick;
use bandwright::plan::passages::passages;
use bandwright::plan::{
    FigurePlan, Lines, PlanWeights, ScoringPlan, Setting, figure_plans, plan, played,
};
use bandwright::score::{Locks, Passage};
use bandwright::sketch::{Reading, Song, read_sketch};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use std::collections::BTreeMap;

fn main() {
    divan::main();
}

/// All that a plan starts from.
struct Given {
    song: Song,
    band: Band,
    reading: Reading,
    lines: Lines,
    passages: Vec<Passage>,
    figures: Vec<Option<FigurePlan>>,
    locks: Locks,
    weights: PlanWeights,
}

impl Given {
    /// The demo's first bars, so many times over.
    fn of(band: &str, times: u64) -> Self {
        let band = preset(band).expect("it is built in");
        let mut song = demo_song().expect("it is built in");
        let bars = song.meters.bar(Tick(song.end().0 - 1)).0;
        let end = song.meters.bar_end(bandwright::music::BarNumber(bars));
        for track in &mut song.tracks {
            let once = track.notes.clone();
            let later = (1..times).flat_map(|t| {
                once.iter().map(move |n| {
                    let mut n = *n;
                    n.onset = Tick(n.onset.0 + t * end.0);
                    n
                })
            });
            let later: Vec<_> = later.collect();
            track.notes.extend(later);
        }
        let reading = read_sketch(&song, &[]);
        let passages = passages(&reading, &song.meters, &song.markers);
        let figures = figure_plans(&band, &reading, &passages, &song.tempo, &BTreeMap::new());
        let way = |at| {
            let next = passages.partition_point(|p| p.start <= at);
            figures.get(next.checked_sub(1)?)?.as_ref().map(|f| f.way)
        };
        let reading = played(&reading, way);
        Self {
            lines: Lines::of(&reading, &song.tempo),
            song,
            band,
            reading,
            passages,
            figures,
            locks: Locks::default(),
            weights: PlanWeights::default(),
        }
    }

    fn plan(&self) -> ScoringPlan {
        let setting = Setting {
            band: &self.band,
            reading: &self.reading,
            lines: &self.lines,
            passages: &self.passages,
            meters: &self.song.meters,
            tempo: &self.song.tempo,
            signatures: &[],
            locks: &self.locks,
            weights: &self.weights,
            taken: &BTreeMap::new(),
        };
        plan(black_box(&setting), self.figures.clone())
    }
}

#[divan::bench(args = [1, 4, 16], sample_count = 5, sample_size = 1)]
fn demo(bencher: Bencher<'_, '_>, times: u64) {
    let given = Given::of("demo", times);
    assert!(given.plan().cost > 0.0);
    bencher
        .counter(ItemsCount::new(64 * times))
        .bench(|| given.plan());
}

#[divan::bench(args = ["thin", "concert", "large-marching"], sample_count = 5, sample_size = 1)]
fn two_hundred_bars(bencher: Bencher<'_, '_>, band: &str) {
    let given = Given::of(band, 3);
    bencher
        .counter(ItemsCount::new(64_u64 * 3))
        .bench(|| given.plan());
}
