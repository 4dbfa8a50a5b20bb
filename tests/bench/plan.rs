//! How long the scoring plan alone takes, over the demo (64 bars) and four and sixteen times as much, and for
//! bands of several sizes: the plan of a 200-bar, 30-part show has to take well under 100 ms.

#![allow(
    clippy::expect_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

use bandwright::band::{Band, preset};
use bandwright::cli::files::demo_song;
use bandwright::music::{BarNumber, Tick};
use bandwright::plan::ScoringPlan;
use bandwright::project::made_ready::MadeReady;
use bandwright::score::Locks;
use bandwright::sketch::{ReadOptions, Song};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};

fn main() {
    divan::main();
}

/// All that a plan starts from.
struct Given {
    song: Song,
    band: Band,
    ready: MadeReady,
}

impl Given {
    /// The demo's first bars, so many times over.
    fn of(band: &str, times: u64) -> Self {
        let band = preset(band).expect("it is built in");
        let mut song = demo_song().expect("it is built in");
        let bars = song.meters.bar(Tick(song.end().0 - 1)).0;
        let end = song.meters.bar_end(BarNumber(bars));
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
        let ready = MadeReady::of(&song, &band, &ReadOptions::default());
        Self { song, band, ready }
    }

    fn plan(&self) -> ScoringPlan {
        let ready = black_box(&self.ready);
        ready.plan(&self.song, &self.band, &Locks::default())
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
